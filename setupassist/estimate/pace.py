"""Station times, extra dwell, cycle and running time of a press.

All stations act between two indexes, so the slowest sets the pace; the crew loads and unloads meanwhile, and the
press waits for it by extra dwell within its range; beyond that the crew indexes by hand.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from setupassist.documents.plan import Slot, StationTime
from setupassist.documents.press import DwellRange, Press
from setupassist.words import say

SECONDS_PER_HOUR = 3600.0
SECONDS_PER_MINUTE = 60.0
DIGITS_OF_A_SECOND = 9


@dataclass(frozen=True)
class LapPace:
    """One lap: its cycle, what the crew still lacked, the dwell added for it, and what paces it."""

    lap: int
    cycle_seconds: float
    longest_seconds: float
    extra_dwell_seconds: float
    hand_paced: bool
    paced_by: str


def print_seconds(strokes: int, *, art_height_mm: float, press: Press, travel_margin_mm: float) -> float:
    """How long a screen's station is busy: lift, then a print pass and a flood pass a stroke over the travel."""
    travel_mm = art_height_mm + 2 * travel_margin_mm
    stroke = travel_mm / press.print_mm_per_second + travel_mm / press.flood_mm_per_second
    return press.lift_seconds + strokes * stroke


def station_times(
    slots: Sequence[Slot],
    *,
    press: Press,
    strokes: Mapping[str, int],
    art_height_mm: float,
    travel_margin_mm: float,
    flash_seconds: float,
) -> tuple[StationTime, ...]:
    """One entry a slot in the order given; ``strokes`` of a screen that its slot does not tell, else one."""
    times = []
    for slot in slots:
        if slot.holds == "flash":
            seconds = flash_seconds if slot.seconds is None else slot.seconds
            what: str = say("estimate.flash")
        else:
            what = slot.ink or say("estimate.screen")
            hits = slot.strokes or strokes.get(what, 1)
            seconds = print_seconds(hits, art_height_mm=art_height_mm, press=press, travel_margin_mm=travel_margin_mm)
        times.append(StationTime(lap=slot.lap, station=slot.station, seconds=seconds, what=what))
    return tuple(times)


def extra_dwell_seconds(lack_seconds: float, dwell: DwellRange) -> float | None:
    """Dwell added for a crew that lacks so many seconds: 0 for none, rounded up to the step and at least ``from``.

    None where that goes above ``to``: the job is hand-paced.
    """
    lack = round(lack_seconds, DIGITS_OF_A_SECOND)
    if lack <= 0:
        return 0.0
    steps = math.ceil(round(lack / dwell.step, DIGITS_OF_A_SECOND))
    added = round(max(steps * dwell.step, dwell.from_), DIGITS_OF_A_SECOND)
    return added if added <= dwell.to else None


def lap_pace(lap: int, times: Sequence[StationTime], *, press: Press, crew_seconds: float) -> LapPace:
    """Cycle of one lap: index + longest station time + extra dwell, or index + crew where it is hand-paced."""
    longest = max((t for t in times if t.lap == lap), key=lambda t: t.seconds, default=None)
    seconds = 0.0 if longest is None else longest.seconds
    dwell = extra_dwell_seconds(crew_seconds - seconds, press.dwell_seconds)
    if dwell is None:
        cycle, crew = press.index_seconds + crew_seconds, say("estimate.paced-by.crew")
        return LapPace(lap, cycle, seconds, 0.0, hand_paced=True, paced_by=crew)
    cycle = press.index_seconds + seconds + dwell
    if dwell > 0 or longest is None:
        paced_by = say(f"estimate.paced-by.{'crew' if crew_seconds > 0 else 'index'}")
    else:
        paced_by = say("estimate.paced-by.station", what=longest.what, station=longest.station)
    return LapPace(lap, cycle, seconds, dwell, hand_paced=False, paced_by=paced_by)


def lap_paces(times: Sequence[StationTime], *, laps: int, press: Press, crew_seconds: float) -> tuple[LapPace, ...]:
    """The pace of each of ``laps`` laps; every lap is passed in full, an empty one too."""
    return tuple(lap_pace(lap, times, press=press, crew_seconds=crew_seconds) for lap in range(1, laps + 1))


def pieces_per_hour(cycle_seconds: Sequence[float]) -> float:
    """3600 ÷ the sum of the laps' cycles; 0 where they take no time at all."""
    total = sum(cycle_seconds)
    return SECONDS_PER_HOUR / total if total > 0 else 0.0


def run_minutes(pieces: int, *, laps: int, stations: int, mean_cycle_seconds: float) -> float:
    """Minutes of the run, filling and emptying included: (pieces × laps + stations − 1) passes; 0 without pieces."""
    if pieces <= 0:
        return 0.0
    return (pieces * laps + stations - 1) * mean_cycle_seconds / SECONDS_PER_MINUTE


def setup_minutes(screens: int, flashes: int, *, minutes_per_screen: float, minutes_per_flash: float) -> float:
    """Minutes to set up so many screens and flash units."""
    return screens * minutes_per_screen + flashes * minutes_per_flash


def stations_needed(colours: int, flashes: int, *, cooling_per_flash: int = 1, load_and_unload: int = 0) -> int:
    """Stations for so many screens and flashes, each flash with its cooling stations after it."""
    return colours + flashes * (1 + cooling_per_flash) + load_and_unload
