"""Stations, pace, spoilage, ink and dryer against worked examples of the trade press and its common practice."""

from __future__ import annotations

import pytest

from setupassist.documents.press import DwellRange, Press
from setupassist.documents.shop import Dryer
from setupassist.estimate.dryer import belt_pieces_per_hour, dryer_load, fastest_m_per_min
from setupassist.estimate.ink import film_cm3, pieces_to_print
from setupassist.estimate.pace import (
    extra_dwell_seconds,
    pieces_per_hour,
    run_minutes,
    setup_minutes,
    stations_needed,
)
from setupassist.quantities import LITRES_PER_US_GALLON, dozens, feet_per_minute

pytestmark = pytest.mark.outside


def test_stations_for_six_colours_and_one_flash() -> None:
    """A shop's glossary: six colours, one flash and one cool-down need at least eight stations."""
    assert stations_needed(6, 1) == 8


def test_stations_for_sixteen_colours_each_flashed_and_cooled() -> None:
    """Screen Printing, on flash curing: 48 heads for sixteen colours; with load and unload 50 stations."""
    assert stations_needed(16, 16) == 48
    assert stations_needed(16, 16, load_and_unload=2) == 50


def test_a_second_off_the_cycle() -> None:
    """Printwear, May 2014: 600 pieces an hour is a 6 s cycle; 1 s less gives 720."""
    assert pieces_per_hour([6.0]) == pytest.approx(600)
    assert pieces_per_hour([5.0]) == pytest.approx(720)


@pytest.mark.parametrize(
    ("seconds", "minutes"),
    [(3, (25, 50, 60)), (4, (33.3, 66.7, 80)), (5, (41.7, 83.3, 100)), (6, (50, 100, 120))],
)
def test_minutes_of_dwell_over_a_run(seconds: float, minutes: tuple[float, float, float]) -> None:
    """Printwear, May 2014: flash dwell of 3 to 6 s over 500, 1000 and 1200 pieces."""
    for pieces, wanted in zip((500, 1000, 1200), minutes, strict=True):
        took = run_minutes(pieces, laps=1, stations=1, mean_cycle_seconds=seconds)
        assert took == pytest.approx(wanted, abs=0.05)


def test_a_day_of_short_runs_on_an_automatic() -> None:
    """Images, August 2018: ten set-ups of three screens at 9 min; ten runs of 100 at 400 an hour; 36 % uptime."""
    setting_up = 10 * setup_minutes(3, 0, minutes_per_screen=9, minutes_per_flash=3)
    printing = 10 * run_minutes(100, laps=1, stations=1, mean_cycle_seconds=3600 / 400)
    assert setting_up == pytest.approx(270)
    assert printing == pytest.approx(150)
    assert round(100 * printing / (setting_up + printing)) == 36


def test_a_day_of_short_runs_by_hand() -> None:
    """Images, August 2018: eight set-ups of two screens at 10 min; eight runs of 35 at 65 an hour (printed: 259)."""
    setting_up = 8 * setup_minutes(2, 0, minutes_per_screen=10, minutes_per_flash=0)
    printing = 8 * run_minutes(35, laps=1, stations=1, mean_cycle_seconds=3600 / 65)
    assert setting_up == pytest.approx(160)
    assert printing == pytest.approx(259, abs=0.6)


def test_a_five_colour_job_of_a_hundred() -> None:
    """Printwear, a case with published inputs: five colours at 10 min, 100 pieces at 400 an hour: 50 + 15 min."""
    setting_up = setup_minutes(5, 0, minutes_per_screen=10, minutes_per_flash=0)
    printing = run_minutes(100, laps=1, stations=1, mean_cycle_seconds=3600 / 400)
    assert (setting_up, printing) == (pytest.approx(50), pytest.approx(15))


# Published basis (Printwear, May 2014): tunnels of 12, 16 and 24 ft, 18 in of belt a shirt, 1.5 to 3 min in the
# heat. Its own result cells were cut off: the belt speeds and rates were worked out by hand.
TUNNELS = [
    (12, 3.0, 4.00, 160), (12, 2.0, 6.00, 240), (12, 1.5, 8.00, 320),
    (16, 3.0, 5.33, 213), (16, 2.0, 8.00, 320), (16, 1.5, 10.67, 427),
    (24, 3.0, 8.00, 320), (24, 2.0, 12.00, 480), (24, 1.5, 16.00, 640),
]  # fmt: skip


@pytest.mark.parametrize(("feet", "minutes", "feet_per_min", "rate"), TUNNELS)
def test_dryer_row(feet: float, minutes: float, feet_per_min: float, rate: float) -> None:
    dryer = Dryer(name="tunnel", heated_length_mm=feet * 304.8, spacing_mm=457.2)
    speed = fastest_m_per_min(dryer, minutes * 60)
    assert speed is not None
    assert feet_per_minute(speed) == pytest.approx(feet_per_min, abs=0.005)
    assert belt_pieces_per_hour(speed, dryer) == pytest.approx(rate, abs=0.5)
    assert dozens(belt_pieces_per_hour(speed, dryer)) == pytest.approx(rate / 12, abs=0.05)
    assert dryer_load(rate - 1, dryer, dwell_seconds=minutes * 60).limits_pace is False
    assert dryer_load(rate + 1, dryer, dwell_seconds=minutes * 60).limits_pace is True


def test_ink_of_a_thousand_prints() -> None:
    """Worked by hand: 12 × 12 in, 75 % covered, 53 cm³/m² all transferred: 3.69 cm³ a print, 0.976 US gallons."""
    area_cm2 = (12 * 2.54) ** 2 * 0.75
    assert area_cm2 / 10_000 == pytest.approx(0.0697, abs=5e-5)
    one = film_cm3(area_cm2, volume_cm3_m2=53)
    assert one == pytest.approx(3.69, abs=0.005)
    assert one * 1000 / 1000 / LITRES_PER_US_GALLON == pytest.approx(0.976, abs=0.0005)


def test_spoilage() -> None:
    """Two contract printers' pages: 3 % of 50 is 2 pieces, 1.5 % of 50 is 1."""
    assert pieces_to_print(50, tests=0, spoilage=0.03) == 52
    assert pieces_to_print(50, tests=0, spoilage=0.015) == 51


def test_dwell_range() -> None:
    """Common practice: crews add 1 to 10 s in whole seconds; one that cannot keep up is better hand-paced."""
    dwell = DwellRange()
    assert [extra_dwell_seconds(lack, dwell) for lack in (-2, 0, 0.2, 1, 1.01, 9.5, 10)] == [0, 0, 1, 1, 2, 10, 10]
    assert extra_dwell_seconds(10.1, dwell) is None
    press = Press(name="p", stations=4, load=1, unload=4, heads=(2, 3))
    assert press.dwell_seconds == dwell


def test_pieces_and_dozens() -> None:
    """Common practice: rates in pieces or, by an older habit, in dozens an hour: 300 ÷ cycle is 3600 ÷ cycle ÷ 12.

    Clarke and Lynch's handbook: 45 dozen an hour is 540 pieces; Impressions, May 2011: 50 to 60 dozen is 600 to 720.
    """
    assert [dozens(n) for n in (540, 600, 720)] == [45, 50, 60]
    assert dozens(pieces_per_hour([7.5])) == pytest.approx(300 / 7.5)
