"""The smallest moves that mend an arrangement made by hand: one step, else two, each tried before it is told.

A step moves or swaps what stands at two stations, slides a screen past others, puts a flash into a slot, or takes a
thing out that nothing asks for. The judge alone says what a step does.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass

from setupassist.errors import Cancelled
from setupassist.planner.judge import wish_values
from setupassist.planner.problem import Problem, Standing
from setupassist.planner.trial import Judged, Standings, judged, moved, slid, with_flash, without
from setupassist.planner.wishes import STRATEGIES
from setupassist.words import Said, joined, say

MOST_TOLD = 3
BEAM = 12  # arrangements with the fewest limits broken that a second step is tried on


@dataclass(frozen=True)
class Mend:
    """Steps in words, and the arrangement after them, which breaks no limit."""

    text: Said
    standings: Standings
    steps: int


def mends(problem: Problem, standings: Sequence[Standing], *, stop: Callable[[], bool] | None = None) -> list[Mend]:
    """Up to three ways to mend an arrangement, fewest steps first, then by the strategy's wishes.

    Empty where nothing is broken, and where no two steps mend it. Raises Cancelled when ``stop`` answers True.
    """
    start = judged(problem, standings)
    if not start.broken:
        return []
    told: list[tuple[Said, ...]] = [()]
    tried: list[tuple[Judged, tuple[Said, ...]]] = [(start, told[0])]
    seen = {frozenset(start.standings)}
    for steps in (1, 2):
        found: list[tuple[Judged, tuple[Said, ...]]] = []
        for before, words in tried:
            for text, after in _steps(problem, before.standings):
                if stop is not None and stop():
                    raise Cancelled
                key = frozenset(after)
                if key not in seen:
                    seen.add(key)
                    found.append((judged(problem, after), (*words, text)))
        sound = [(state, words) for state, words in found if not state.broken]
        if sound:
            sound.sort(key=lambda each: _rank(problem, each[0]))
            return [Mend(joined(words, "; "), state.standings, steps) for state, words in sound[:MOST_TOLD]]
        found.sort(key=lambda each: (len(each[0].broken), _rank(problem, each[0])))
        tried = found[:BEAM]
    return []


def _rank(problem: Problem, state: Judged) -> tuple[int, ...]:
    wishes = state.wishes or wish_values(problem, state.standings)
    return tuple(wishes[name] for name in STRATEGIES[problem.strategy])


def _steps(problem: Problem, standings: Standings) -> Iterator[tuple[Said, Standings]]:
    """Every single step with its words."""
    press = problem.press
    way = list(press.way)
    held = {s.station: s for s in standings}
    free = [station for station in way if station in press.heads and station not in problem.keep_empty]
    for station in sorted(held):
        thing = _thing(held[station])
        for other in way:
            if other == station:
                continue
            if other not in held:
                yield say("planner.mend.move", thing=thing, from_=station, to=other), moved(standings, station, other)
            elif other > station:
                swap = say("planner.mend.swap", one=thing, two=_thing(held[other]))
                yield swap, moved(standings, station, other)
            if held[station].ink is not None and other in held:
                yield (
                    say("planner.mend.slide", thing=thing, to=other),
                    slid(standings, station, other, [at for at in free if at not in _flashes(standings)]),
                )
        yield say("planner.mend.take-out", thing=thing, station=station), without(standings, station)
    for lap in range(1, press.max_laps + 1):
        for station in press.flash_slots:
            if station in way and (station not in held or held[station].ink is None):
                yield say("planner.mend.flash", station=station, lap=lap), with_flash(standings, station, lap)


def _flashes(standings: Standings) -> set[int]:
    return {s.station for s in standings if s.ink is None}


def _thing(standing: Standing) -> Said | str:
    if standing.ink is None:
        return say("planner.mend.flash-unit", station=standing.station)
    return standing.ink
