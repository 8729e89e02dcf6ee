"""What a change of places would cost: for a card that hovers over a station, before it is let go.

The functions that change places take standings and give new ones; a station's things go together, in every lap.
Nothing here asks whether a thing may stand where it is put: the judge tells.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace

from setupassist.planner.judge import Broken, broken_limits, wish_values
from setupassist.planner.problem import Problem, Standing

Standings = tuple[Standing, ...]


@dataclass(frozen=True)
class Judged:
    """An arrangement with all that the judge says of it: limits broken, and what each wish counts."""

    standings: Standings
    broken: tuple[Broken, ...]
    wishes: Mapping[str, int]


@dataclass(frozen=True)
class Trial:
    """What a change does: limits that it breaks anew and that it mends, and by how much each wish changes.

    ``wishes`` holds every wish, 0 where it stays; wet harm in tenths of cm²·ΔE. Less is better.
    """

    broken: tuple[Broken, ...]
    mended: tuple[Broken, ...]
    wishes: Mapping[str, int]

    @property
    def harmless(self) -> bool:
        """Whether it breaks nothing anew and no wish grows."""
        return not self.broken and all(change <= 0 for change in self.wishes.values())


def judged(problem: Problem, standings: Iterable[Standing]) -> Judged:
    """The arrangement judged; to be handed to several trials of changes of it."""
    kept = tuple(standings)
    return Judged(kept, tuple(broken_limits(problem, kept)), wish_values(problem, kept))


def trial(problem: Problem, standings: Iterable[Standing] | Judged, changed: Iterable[Standing]) -> Trial:
    """What ``changed`` does against ``standings``, by the judge alone.

    A limit is the same one before and after where its rule and what it names are the same, wherever things stand.
    """
    now = standings if isinstance(standings, Judged) else judged(problem, standings)
    then = judged(problem, changed)
    return Trial(
        broken=_beyond(then.broken, now.broken),
        mended=_beyond(now.broken, then.broken),
        wishes={name: value - now.wishes[name] for name, value in then.wishes.items()},
    )


def moved(standings: Iterable[Standing], from_: int, to: int) -> Standings:
    """What stands at one station stands at the other: a move to an idle place, a swap where something stands there."""
    turned = {from_: to, to: from_}
    return tuple(replace(s, station=turned[s.station]) if s.station in turned else s for s in standings)


def slid(standings: Iterable[Standing], from_: int, to: int, way: Sequence[int]) -> Standings:
    """What stands at ``from_`` stands at ``to``, and what is in its way shifts one place towards where it came from.

    ``way`` are the usable places in travel order; what stands elsewhere (flash units, say) stays. The shift ends at
    the first idle place. Where one of the two stations is not on the way it is a move or a swap; where nothing
    stands at ``from_`` nothing changes.
    """
    kept = tuple(standings)
    if all(s.station != from_ for s in kept):
        return kept
    if from_ == to or from_ not in way or to not in way:
        return moved(kept, from_, to)
    start, end = way.index(to), way.index(from_)
    step = 1 if end > start else -1
    held = {s.station for s in kept if s.station != from_}
    new = {from_: to}
    at = start
    while way[at] in held:
        new[way[at]] = way[at + step]
        at += step
    return tuple(replace(s, station=new.get(s.station, s.station)) for s in kept)


def with_flash(standings: Iterable[Standing], station: int, lap: int) -> Standings:
    """The standings with a flash that acts at a station in a lap."""
    kept = tuple(standings)
    flash = Standing(lap, station)
    return kept if flash in kept else (*kept, flash)


def without(standings: Iterable[Standing], station: int) -> Standings:
    """The standings with a station idle in every lap."""
    return tuple(s for s in standings if s.station != station)


def _beyond(some: Sequence[Broken], others: Sequence[Broken]) -> tuple[Broken, ...]:
    """Those that the others do not hold as often."""
    left = Counter((b.rule, b.names) for b in others)
    found = []
    for broken in some:
        if left[broken.rule, broken.names]:
            left[broken.rule, broken.names] -= 1
        else:
            found.append(broken)
    return tuple(found)
