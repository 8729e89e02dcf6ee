"""A planning problem with one thing changed: what a clash lets go and what a way out tries."""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import replace

from setupassist.documents.plan import Pair
from setupassist.planner.problem import Problem


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


def wet_together(problem: Problem, *, pairs: Collection[Pair]) -> Problem:
    """The problem with no flash asked for between these pairs."""
    limits = problem.limits
    update = {
        name: tuple(p for p in getattr(limits, name) if p not in pairs) for name in ("flash_between", "never_wet")
    }
    return replace(problem, limits=limits.model_copy(update=update))
