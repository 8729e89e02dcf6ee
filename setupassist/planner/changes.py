"""A planning problem with one thing changed: what a clash lets go and what a way out tries."""

from __future__ import annotations

from dataclasses import replace

from setupassist.documents.plan import Pair
from setupassist.planner.problem import Problem
from setupassist.planner.wishes import closed_pairs


def in_service(problem: Problem, *, station: int) -> Problem:
    """The problem with the head at a station back in service."""
    left = tuple(s for s in problem.press.out_of_service if s != station)
    return replace(problem, press=problem.press.model_copy(update={"out_of_service": left}))


def unpinned(problem: Problem, *, screen: str) -> Problem:
    """The problem without the pin of a screen."""
    return replace(problem, pins={name: at for name, at in problem.pins.items() if name != screen})


def flash_unpinned(problem: Problem, *, station: int) -> Problem:
    """The problem without the flash unit pinned at a station."""
    return replace(problem, flash_pins=tuple(s for s in problem.flash_pins if s != station))


def usable(problem: Problem, *, station: int) -> Problem:
    """The problem with a station no longer kept empty."""
    return replace(problem, keep_empty=tuple(s for s in problem.keep_empty if s != station))


def printed_once(problem: Problem, *, ink: str) -> Problem:
    """The problem with an ink printed once; a pin of its second screen goes with it."""
    pins = {name: at for name, at in problem.pins.items() if name != f"{ink} 2"}
    return replace(problem, prints={**problem.prints, ink: 1}, pins=pins)


def without_ink(problem: Problem, *, field: str, ink: str) -> Problem:
    """The problem with an ink taken out of one kind of limit."""
    left = tuple(name for name in getattr(problem.limits, field) if name != ink)
    return replace(problem, limits=problem.limits.model_copy(update={field: left}))


def without_pair(problem: Problem, *, field: str, pair: Pair) -> Problem:
    """The problem with a pair taken out of one kind of limit."""
    left = tuple(other for other in getattr(problem.limits, field) if other != pair)
    return replace(problem, limits=problem.limits.model_copy(update={field: left}))


def with_press(problem: Problem, **fields: object) -> Problem:
    """The problem on a press with some fields changed."""
    return replace(problem, press=problem.press.model_copy(update=fields))


def wet_on(problem: Problem, *, ink: str) -> Problem:
    """The problem with other inks printed on an ink while it is wet: no flash asked for after it."""
    limits = problem.limits
    left = tuple(pair for pair in limits.flash_between if pair[0] != ink)
    alone = tuple(name for name in limits.alone_until_flash if name != ink)
    return replace(problem, limits=limits.model_copy(update={"flash_between": left, "alone_until_flash": alone}))


def merged(problem: Problem, *, one: str, two: str) -> Problem:
    """The problem with two inks on one screen, called as the first; what held for either holds for it.

    The harm is the greater of the two. Raises ValueError where something must lie between them.
    """
    if any((one, c) in problem.limits.order and (c, two) in problem.limits.order for c in problem.inks) or any(
        (two, c) in problem.limits.order and (c, one) in problem.limits.order for c in problem.inks
    ):
        raise ValueError(f"something lies between {one} and {two}")

    def name(ink: str) -> str:
        return one if ink == two else ink

    def pairs(held: tuple[Pair, ...]) -> tuple[Pair, ...]:
        return tuple(dict.fromkeys((name(a), name(b)) for a, b in held if name(a) != name(b)))

    limits = problem.limits
    inks = tuple(ink for ink in problem.inks if ink != two)
    place = {ink: k for k, ink in enumerate(problem.inks)}
    both = {ink: [place[ink]] + ([place[two]] if ink == one else []) for ink in inks}
    harm = tuple(
        tuple(0 if a == b else max(problem.harm[i][j] for i in both[a] for j in both[b]) for b in inks) for a in inks
    )
    order = closed_pairs(pairs(limits.order))
    return replace(
        problem,
        inks=inks,
        harm=harm,
        standard_order=tuple(ink for ink in problem.standard_order if ink != two),
        limits=limits.model_copy(
            update={
                "order": tuple(sorted(order)),
                "flash_between": pairs(limits.flash_between),
                "no_flash_between": pairs(limits.no_flash_between),
                "never_wet": pairs(limits.never_wet),
                "alone_until_flash": tuple(dict.fromkeys(map(name, limits.alone_until_flash))),
                "no_flash_after": tuple(dict.fromkeys(map(name, limits.no_flash_after))),
            }
        ),
        prints={ink: times for ink, times in problem.prints.items() if ink != two},
        pins={screen: at for screen, at in problem.pins.items() if screen not in (two, f"{two} 2")},
    )
