"""What is wrong with a planning question before anything is planned."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable

from setupassist.errors import InputFault, InputFaults, did_you_mean
from setupassist.planner.problem import Problem
from setupassist.words import say

FLASH = "flash"


def check_problem(problem: Problem) -> None:
    """Raises InputFault, or InputFaults for several: strangers, cycles, names given twice, stations off the way.

    What is well-formed but cannot be (a pin on a station without a head, two pins on one station, a pin on a station
    kept empty or out of service) is no fault: it is a clash of limits. Raises ValueError where the harm or the
    standard order does not fit the inks, which is our own mistake.
    """
    if len(problem.harm) != len(problem.inks) or any(len(row) != len(problem.inks) for row in problem.harm):
        raise ValueError("the harm matrix does not fit the inks")
    faults = [*_names(problem), *_strangers(problem), *_stations(problem)]
    if not faults:
        if sorted(problem.standard_order) != sorted(problem.inks):
            raise ValueError("the standard order does not hold every ink once")
        faults = _cycle(problem)
    if len(faults) == 1:
        raise faults[0]
    if faults:
        raise InputFaults(faults)


def _fault(where: str, told: str, remedy: str | None = None, **values: object) -> InputFault:
    """A fault by the id of its sentence; the remedy's id is the same with ``-remedy`` where none is given."""
    if remedy is None:
        remedy = say(f"planner.fault.{told}-remedy", **values)
    return InputFault(where, say(f"planner.fault.{told}", **values), remedy)


def _names(problem: Problem) -> list[InputFault]:
    faults = []
    if not problem.inks:
        faults.append(_fault("inks", "no-inks"))
    for name in problem.inks:
        if name.strip().lower() == FLASH:
            faults.append(_fault("inks", "called-flash", name=name))
    for name, count in Counter(problem.inks).items():
        times = problem.times_printed(name)
        if count > 1:
            faults.append(_fault("inks", "twice", name=name, times=count))
        if times == 2 and f"{name} 2" in problem.inks:
            faults.append(_fault("inks", "second-is-an-ink", name=name))
        if times not in (1, 2):
            faults.append(_fault("prints", "prints", name=name, times=times))
    return faults


def _strangers(problem: Problem) -> list[InputFault]:
    limits = problem.limits
    inks, screens = set(problem.inks), set(problem.ink_of_screen)
    faults = []
    named: dict[str, Iterable[str]] = {
        "order": (ink for pair in limits.order for ink in pair),
        "flash_between": (ink for pair in limits.flash_between for ink in pair),
        "no_flash_between": (ink for pair in limits.no_flash_between for ink in pair),
        "never_wet": (ink for pair in limits.never_wet for ink in pair),
        "alone_until_flash": limits.alone_until_flash,
        "no_flash_after": limits.no_flash_after,
        "prints": problem.prints,
    }
    for where, found in named.items():
        for name in sorted(set(found) - inks):
            faults.append(_fault(where, "no-ink-of-this-job", did_you_mean(name, inks), name=name))
    for name in sorted(set(problem.pins) - screens):
        second = name.removesuffix(" 2")
        once = second in inks
        remedy = say("planner.fault.prints-once", name=second) if once else did_you_mean(name, screens)
        faults.append(_fault("pins", "no-screen-of-this-job", remedy, name=name))
    pairs = [("flash_between", p) for p in limits.flash_between] + [("never_wet", p) for p in limits.never_wet]
    pairs += [("no_flash_between", p) for p in limits.no_flash_between]
    for where, (a, b) in pairs:
        if a == b:
            faults.append(_fault(where, "paired-with-itself", name=a))
    return faults


def _stations(problem: Problem) -> list[InputFault]:
    press, way = problem.press, set(problem.press.way)
    named: list[tuple[str, int]] = [("pins", station) for _, station in sorted(problem.pins.items())]
    named += [("flash_pins", station) for station in sorted(set(problem.flash_pins))]
    named += [("keep_empty", station) for station in sorted(set(problem.keep_empty))]
    faults = []
    for where, station in named:
        if not 1 <= station <= press.stations:
            faults.append(_no_such(where, station, press.stations))
        elif station not in way:
            what = say("planner.off-the-way", station=station, load=press.load, unload=press.unload)
            faults.append(InputFault(where, what, say("planner.fault.off-the-way-remedy")))
    for station in sorted(problem.on_press_now):
        if not 1 <= station <= press.stations:
            faults.append(_no_such("on_press_now", station, press.stations))
    return faults


def _no_such(where: str, station: int, stations: int) -> InputFault:
    return _fault(where, "no-station", station=station, stations=stations)


def _cycle(problem: Problem) -> list[InputFault]:
    after: dict[str, list[str]] = {ink: [] for ink in problem.inks}
    for a, b in (*problem.limits.order, *problem.limits.flash_between):
        after[a].append(b)
    shortest: list[str] = []
    for start in problem.inks:
        ring = _way_back(start, after)
        if ring and (not shortest or len(ring) < len(shortest)):
            shortest = ring
    if not shortest:
        return []
    circle: str = say("planner.fault.last", name=shortest[0])
    for name in reversed(shortest):
        circle = say("planner.fault.before", first=name, later=circle)
    return [_fault("order", "circle", ring=circle)]


def _way_back(start: str, after: dict[str, list[str]]) -> list[str]:
    """The inks of a shortest ring through ``start``, empty where there is none."""
    ways = [[start]]
    seen: set[str] = set()
    for way in ways:
        for name in after[way[-1]]:
            if name == start:
                return way
            if name not in seen:
                seen.add(name)
                ways.append([*way, name])
    return []
