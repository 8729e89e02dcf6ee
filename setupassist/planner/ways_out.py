"""Changes that might make a plan where none exists, each really tried."""

from __future__ import annotations

import time
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from functools import partial
from itertools import combinations
from typing import Any

from setupassist.documents.plan import Pair, WayOut
from setupassist.documents.press import MOST_LAPS, Cooling
from setupassist.documents.terms import SPECIAL_ROLES, UNDER_ROLES, Role
from setupassist.errors import InputFault
from setupassist.planner.changes import (
    flash_unpinned,
    in_service,
    printed_once,
    unpinned,
    usable,
    wet_on,
    wet_together,
    with_press,
    without_pair,
)
from setupassist.planner.problem import Problem
from setupassist.planner.solve import Solution, Status, Stop, solve
from setupassist.planner.wishes import STRATEGIES
from setupassist.words import say

SECONDS_A_TRY = 3.0
MOST_SINGLE = 16
MOST_DOUBLE = 24
MOST_TOLD = 8


Replan = Callable[[dict[str, Any]], Problem]
"""What the whole job asks of the planner under a change of its fields; raises InputFault or ValueError where none."""


@dataclass(frozen=True)
class Candidate:
    """A limit of a clash: its rule's id and the ink, pair, screen or station that it names."""

    rule: str
    named: Pair | str | int | None = None


@dataclass(frozen=True)
class Way:
    """A change: how it is said, the fields of job or press that it sets, and the problem with it.

    ``answers`` and ``inks`` are set in part, every other field as a whole. Two ways of one text do the same.
    ``gives_up`` counts what the print loses: 0 where only the press or a pin changes, 1 where the art does, 2 where
    a rule of the trade is let go.
    """

    text: str
    change: dict[str, Any]
    apply: Callable[[Problem], Problem]
    gives_up: int = 0


def try_ways_out(
    problem: Problem,
    clash: Sequence[Candidate],
    *,
    deadline: float,
    replan: Replan | None = None,
    elsewhere: Sequence[Way] = (),
    stop: Stop | None = None,
) -> tuple[WayOut, ...]:
    """Every single change that touches the clash, solved; where none works, changes two at a time.

    Where none works, the ways ``elsewhere`` (on other presses) are tried besides, and told where they work.
    ``replan`` works the whole job out anew, so that what else hangs on the change is tried too; without it the change
    is tried on the problem alone. A change that changes nothing is not told.

    Those that work come first: what changes the press or a pin, then the art, then what lets a trade rule go, each
    with the best plan (by the strategy) in front; then those that do not help. With the time
    up the rest stays untried and is not told.
    """
    ways = _ways(problem, clash)[:MOST_SINGLE]
    tried = list(_try_each(problem, ways, deadline, replan, stop))
    if not any(way.works for way, _ in tried):
        doubles = [_both(a, b) for a, b in combinations(ways, 2) if not set(a.change) & set(b.change)][:MOST_DOUBLE]
        more = [*elsewhere, *doubles]
        tried += [found for found in _try_each(problem, more, deadline, replan, stop) if found[0].works]
    tried.sort(key=lambda found: found[1])
    return tuple(way for way, _ in tried[:MOST_TOLD])


def _try_each(
    problem: Problem, ways: Iterable[Way], deadline: float, replan: Replan | None, stop: Stop | None
) -> Iterable[tuple[WayOut, tuple[float, ...]]]:
    done: set[str] = set()
    for way in ways:
        if way.text in done:
            continue
        left = min(SECONDS_A_TRY, deadline - time.monotonic())
        if left <= 0:
            return
        try:
            other = way.apply(problem) if replan is None else replan(way.change)
            if other == problem:
                continue
            solution = solve(other, time_limit_seconds=left, stop=stop)
        except (InputFault, ValueError):
            continue  # the change contradicts the job itself, so it is no way out
        if solution.status is Status.UNKNOWN:
            continue
        done.add(way.text)
        works = solution.status is not Status.INFEASIBLE
        told = WayOut(text=way.text, change=way.change, works=works, wishes=solution.wishes)
        yield told, _rank(problem, way, solution)


def _rank(problem: Problem, way: Way, solution: Solution) -> tuple[float, ...]:
    values = {wish.name: wish.value for wish in solution.wishes}
    fails = 0.0 if values else 1.0
    return (fails, way.gives_up, *(values[name] for name in STRATEGIES[problem.strategy] if values))


def _both(a: Way, b: Way) -> Way:
    text = say("planner.way-out.both", one=a.text, other=b.text)
    return Way(text, a.change | b.change, lambda p: b.apply(a.apply(p)), a.gives_up + b.gives_up)


def _ways(problem: Problem, clash: Sequence[Candidate]) -> list[Way]:
    press, found = problem.press, []
    if press.max_laps < MOST_LAPS:
        laps = press.max_laps + 1
        found.append(_way("laps", {"max_laps": laps}, partial(with_press, max_laps=laps), laps=laps))
    for limit in clash:
        found += [way for way in _ways_of(problem, limit) if all(way.change != other.change for other in found)]
    return found


def on_press(name: str, emptied: dict[str, Any]) -> Way:
    """The job on another press of the shop, without what names stations of its own; it wants ``replan`` to be tried."""
    told = "other-press-anew" if emptied else "other-press"
    return _way(told, {"press": name, **emptied}, lambda problem: problem, press=name)


def _way(
    told: str, change: dict[str, Any], apply: Callable[[Problem], Problem], gives_up: int = 0, **values: object
) -> Way:
    """A way by the id of its sentence."""
    return Way(say(f"planner.way-out.{told}", **values), change, apply, gives_up)


def _ways_of(problem: Problem, limit: Candidate) -> list[Way]:
    press, named = problem.press, limit.named
    if limit.rule == "cooling":
        change = {"cooling": Cooling.PREFERRED.value}
        return [_way("cooling", change, partial(with_press, cooling=Cooling.PREFERRED))]
    if limit.rule == "flash-units":
        units = press.flash_units + 1
        bring = "first-unit" if units == 1 else "one-more-unit"
        return [_way(bring, {"flash_units": units}, partial(with_press, flash_units=units))]
    if limit.rule == "out-of-service" and isinstance(named, int):
        left = [s for s in press.out_of_service if s != named]
        return [_way("out-of-service", {"out_of_service": left}, partial(in_service, station=named), station=named)]
    if limit.rule == "kept-empty" and isinstance(named, int):
        left = [s for s in problem.keep_empty if s != named]
        return [_way("kept-empty", {"keep_empty": left}, partial(usable, station=named), station=named)]
    if limit.rule == "pinned" and isinstance(named, str):
        pins = {name: at for name, at in problem.pins.items() if name != named}
        return [_way("pinned", {"pins": pins}, partial(unpinned, screen=named), screen=named)]
    if limit.rule == "flash-pinned" and isinstance(named, int):
        left = [s for s in problem.flash_pins if s != named]
        return [_way("flash-pinned", {"flash_pins": left}, partial(flash_unpinned, station=named), station=named)]
    if limit.rule == "printed-flashed-printed" and isinstance(named, str):
        return _once(problem, named)
    if limit.rule == "alone-until-flash" and isinstance(named, str):
        return [_wet_on(problem, named)]
    if isinstance(named, tuple):
        return _ways_of_pair(problem, limit.rule, named)
    return []


def _once(problem: Problem, ink: str) -> list[Way]:
    """One print instead of two: as the job says of the ink, else by the answer on the base."""
    pins = {name: at for name, at in problem.pins.items() if name != f"{ink} 2"}
    left: dict[str, Any] = {"pins": pins} if pins != problem.pins else {}
    once = partial(printed_once, ink=ink)
    return [
        _way("once", {"inks": {ink: {"prints": 1}}, **left}, once, 1, ink=ink),
        _way("once-two-strokes", {"answers": {"base-hits": "two-strokes"}, **left}, once, 1, ink=ink),
    ]


def _ways_of_pair(problem: Problem, rule: str, pair: Pair) -> list[Way]:
    a, b = pair
    given = problem.given
    if rule == "flash-between":
        return _without_flash(problem, pair)
    if rule == "never-wet":
        answer = {"answers": {"flash-each-colour": "no"}}
        apart = partial(wet_together, pairs=problem.limits.never_wet)
        return [_way("colours-wet", answer, apart, 2), _no_flash(problem, pair)]
    if rule == "stays-wet" and pair in given.no_flash_between:
        left = [list(p) for p in given.no_flash_between if p != pair]
        drop = partial(without_pair, field="no_flash_between", pair=pair)
        return [_way("flash-allowed", {"no_flash_between": left}, drop, 2, first=a, second=b)]
    if rule == "order" and pair in given.order:
        left = [list(p) for p in given.order if p != pair]
        return [_way("order", {"order": left}, partial(without_pair, field="order", pair=pair), 1, first=a, second=b)]
    return []


def _without_flash(problem: Problem, pair: Pair) -> list[Way]:
    """Leaves out the flash between two inks by what asks for it: the job, an answer, or else by forbidding it."""
    a, b = pair
    if pair in problem.given.flash_between:
        left = [list(p) for p in problem.given.flash_between if p != pair]
        drop = partial(without_pair, field="flash_between", pair=pair)
        return [_way("flash-between", {"flash_between": left}, drop, 2, first=a, second=b)]
    if problem.roles.get(a) in UNDER_ROLES:
        return [_wet_on(problem, a)]
    role = problem.roles.get(b)
    alike: frozenset[Role]
    if role is Role.HIGHLIGHT:
        alike, asked, told = frozenset({role}), "flash-before-highlight", "highlight-wet"
    elif role in SPECIAL_ROLES:
        alike, asked, told = SPECIAL_ROLES, "flash-before-specials", "specials-wet"
    else:
        return [_no_flash(problem, pair)]
    pairs = tuple(p for p in problem.limits.flash_between if problem.roles.get(p[1]) in alike)
    pairs = tuple(p for p in pairs if problem.roles.get(p[0]) not in UNDER_ROLES)
    return [_way(told, {"answers": {asked: "no"}}, partial(wet_together, pairs=pairs), 2), _no_flash(problem, pair)]


def _wet_on(problem: Problem, ink: str) -> Way:
    change = {"answers": {"flash-after-base": "no"}}
    return _way("wet-base", change, partial(wet_on, ink=ink), 2, ink=ink)


def _no_flash(problem: Problem, pair: Pair) -> Way:
    own = [list(p) for p in problem.given.no_flash_between]
    change = {"no_flash_between": [*own, list(pair)]}
    return _way("no-flash", change, partial(wet_together, pairs=(pair,)), 2, first=pair[0], second=pair[1])
