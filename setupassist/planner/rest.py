"""Which screens and flashes rest while a garment group that needs less is on the press."""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from dataclasses import replace

from setupassist.documents.plan import Limits
from setupassist.planner.judge import broken_limits, wish_values
from setupassist.planner.problem import Problem, Standing
from setupassist.words import say

SECOND = " 2"


def ink_of(screen: str, inks: Collection[str]) -> str:
    """The ink of a screen's name: ``NAME 2`` is the second screen of NAME."""
    return screen if screen in inks else screen.removesuffix(SECOND)


def rests(
    problem: Problem,
    standings: Sequence[Standing],
    *,
    screens: Collection[str],
    limits: Limits,
    prints: Mapping[str, int],
) -> tuple[str, ...]:
    """Names of the screens that rest, then ``flash at N`` for every unit that may stay off.

    ``prints`` is how often the group prints an ink (once where it is not named): the second print of an ink that it
    prints once rests too, told as ``NAME in lap N`` where one screen prints both. A flash rests where, without it,
    the group's own limits still hold and no more harm is done.
    """
    idle: dict[Standing, str] = {}
    printed: set[str] = set()
    laps_of: dict[str | None, set[int]] = {}
    for standing in standings:
        laps_of.setdefault(standing.ink, set()).add(standing.lap)
    place = {station: at for at, station in enumerate(problem.press.way)}
    for standing in sorted(standings, key=lambda s: (s.lap, place.get(s.station, len(place) + s.station))):
        if standing.ink is None:
            continue
        ink = ink_of(standing.ink, problem.inks)
        if ink not in screens:
            idle[standing] = standing.ink
        elif ink in printed and prints.get(ink, 1) == 1:
            both = len(laps_of[standing.ink]) > 1
            told = say("planner.rest.in-lap", screen=standing.ink, lap=standing.lap)
            idle[standing] = told if both else standing.ink
        printed.add(ink)
    kept = [i for i, ink in enumerate(problem.inks) if ink in screens]
    group = replace(
        problem,
        inks=tuple(problem.inks[i] for i in kept),
        limits=limits,
        harm=tuple(tuple(problem.harm[i][j] for j in kept) for i in kept),
        standard_order=tuple(ink for ink in problem.standard_order if ink in screens),
        prints={problem.inks[i]: prints.get(problem.inks[i], 1) for i in kept},
        pins={},
        flash_pins=(),
        on_press_now={},
    )
    running = [s for s in standings if s not in idle]
    limit_count, harm = len(broken_limits(group, running)), wish_values(group, running)["wet_harm"]
    stations = dict.fromkeys(s.station for s in reversed(standings) if s.ink is None)
    off: list[int] = []
    for station in stations:
        fewer = [s for s in running if s.ink is not None or s.station != station]
        if len(broken_limits(group, fewer)) <= limit_count and wish_values(group, fewer)["wet_harm"] <= harm:
            running = fewer
            off.append(station)
    return (*dict.fromkeys(idle.values()), *(say("planner.rest.flash", station=station) for station in sorted(off)))
