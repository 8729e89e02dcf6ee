from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from setupassist.documents.plan import Slot, StationTime
from setupassist.documents.press import DwellRange, Press
from setupassist.estimate.pace import (
    extra_dwell_seconds,
    lap_pace,
    lap_paces,
    pieces_per_hour,
    print_seconds,
    run_minutes,
    station_times,
)
from setupassist.words import words_in

PRESS = Press(
    name="p",
    stations=10,
    load=1,
    unload=10,
    heads=(2, 3, 4, 5),
    index_seconds=2.0,
    print_mm_per_second=500,
    flood_mm_per_second=400,
    lift_seconds=0.6,
)


def test_station_time_by_hand() -> None:
    # travel 320 + 2 × 40 = 400 mm; 400/500 + 400/400 = 1.8 s a stroke
    assert print_seconds(1, art_height_mm=320, press=PRESS, travel_margin_mm=40) == pytest.approx(2.4)
    assert print_seconds(3, art_height_mm=320, press=PRESS, travel_margin_mm=40) == pytest.approx(6.0)


def test_slots_tell_strokes_and_seconds_first() -> None:
    slots = (
        Slot(lap=1, station=2, holds="screen", ink="base", strokes=2),
        Slot(lap=1, station=3, holds="flash", seconds=5.5),
        Slot(lap=1, station=4, holds="screen", ink="red"),
        Slot(lap=1, station=5, holds="flash"),
    )
    times = station_times(
        slots, press=PRESS, strokes={"base": 1, "red": 3}, art_height_mm=320, travel_margin_mm=40, flash_seconds=4
    )
    assert [(t.what, t.station, pytest.approx(t.seconds)) for t in times] == [
        ("base", 2, 4.2), ("flash", 3, 5.5), ("red", 4, 6.0), ("flash", 5, 4.0),
    ]  # fmt: skip


@pytest.mark.parametrize(
    ("lack", "dwell", "added"),
    [
        (-1.0, DwellRange(), 0.0),
        (0.0, DwellRange(), 0.0),
        (1e-12, DwellRange(), 0.0),
        (0.3, DwellRange(), 1.0),
        (2.0, DwellRange(), 2.0),
        (2.0000001, DwellRange(), 3.0),
        (10.0, DwellRange(), 10.0),
        (10.5, DwellRange(), None),
        (6.0 - 5.4, DwellRange(**{"from": 0.1, "to": 5, "step": 0.1}), 0.6),  # 0.5999999999999996 in floats
        (0.1 + 0.2, DwellRange(**{"from": 0.1, "to": 5, "step": 0.1}), 0.3),
        (0.5, DwellRange(**{"from": 2, "to": 10, "step": 1}), 2.0),
        (3.0, DwellRange(**{"from": 1, "to": 10, "step": 2}), 4.0),
        (9.5, DwellRange(**{"from": 1, "to": 10, "step": 4}), None),  # 12 is above the range
    ],
)
def test_extra_dwell(lack: float, dwell: DwellRange, added: float | None) -> None:
    assert extra_dwell_seconds(lack, dwell) == (None if added is None else pytest.approx(added, abs=1e-12))


def times_of(*seconds: float) -> list[StationTime]:
    return [StationTime(lap=1, station=2 + i, seconds=s, what=f"ink {i}") for i, s in enumerate(seconds)]


def test_slowest_station_paces_where_the_crew_keeps_up() -> None:
    pace = lap_pace(1, times_of(2.0, 7.0, 3.0), press=PRESS, crew_seconds=6)
    assert (pace.cycle_seconds, pace.extra_dwell_seconds, pace.hand_paced) == (9.0, 0.0, False)
    assert pace.paced_by == "ink 1 at station 3"


def test_the_crew_paces_by_extra_dwell() -> None:
    pace = lap_pace(1, times_of(2.4), press=PRESS, crew_seconds=6)  # lacks 3.6, so 4 s
    assert (pace.cycle_seconds, pace.extra_dwell_seconds) == (pytest.approx(8.4), 4.0)
    assert pace.paced_by == "the crew"


def test_beyond_the_range_the_crew_indexes_by_hand() -> None:
    pace = lap_pace(1, times_of(2.4), press=PRESS, crew_seconds=14)  # lacks 11.6
    assert (pace.cycle_seconds, pace.extra_dwell_seconds, pace.hand_paced) == (16.0, 0.0, True)
    assert pace.paced_by == "the crew"


def test_an_empty_lap_takes_the_index_and_the_crew() -> None:
    assert lap_pace(2, times_of(5.0), press=PRESS, crew_seconds=0).cycle_seconds == 2.0
    assert lap_pace(2, times_of(5.0), press=PRESS, crew_seconds=0).paced_by == "the index"
    assert lap_pace(2, times_of(5.0), press=PRESS, crew_seconds=3).cycle_seconds == 5.0


def test_two_laps_add_up() -> None:
    assert pieces_per_hour([8.0, 10.0]) == pytest.approx(200)
    assert pieces_per_hour([0.0]) == 0


def test_run_counts_filling_and_emptying() -> None:
    # 100 pieces, 2 laps, 10 stations: 209 passes of 9 s
    assert run_minutes(100, laps=2, stations=10, mean_cycle_seconds=9) == pytest.approx(31.35)
    assert run_minutes(0, laps=1, stations=10, mean_cycle_seconds=9) == 0


seconds = st.floats(min_value=0, max_value=60)


@given(st.lists(seconds, min_size=1, max_size=8), seconds)
def test_laws_of_the_pace(busy: list[float], crew: float) -> None:
    pace = lap_pace(1, times_of(*busy), press=PRESS, crew_seconds=crew)
    assert pace.cycle_seconds >= PRESS.index_seconds + crew - 1e-6
    if pace.hand_paced:
        assert crew - max(busy) > PRESS.dwell_seconds.to - PRESS.dwell_seconds.step
    else:
        assert pace.cycle_seconds >= PRESS.index_seconds + max(busy)
        assert pace.cycle_seconds < PRESS.index_seconds + max(crew, *busy) + PRESS.dwell_seconds.from_ + 1e-6
    slower = lap_pace(1, times_of(*busy), press=PRESS, crew_seconds=crew + 1)
    assert slower.cycle_seconds >= pace.cycle_seconds - 1e-6 or slower.hand_paced


def test_what_paces_is_said_in_the_reader_s_language() -> None:
    times = station_times(
        [Slot(lap=1, station=2, holds="screen"), Slot(lap=1, station=3, holds="flash", seconds=60)],
        press=PRESS, strokes={}, art_height_mm=300, travel_margin_mm=50, flash_seconds=6,
    )  # fmt: skip
    assert [time.what for time in times] == ["screen", "flash"]
    assert [words_in("es")(time.what) for time in times] == ["pantalla", "presecado"]
    (pace,) = lap_paces(times, laps=1, press=PRESS, crew_seconds=1)
    assert pace.paced_by == "flash at station 3"
    assert words_in("es")(pace.paced_by) == "presecado en la estación 3"
