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
from setupassist.documents.terms import UNDER_ROLES
from setupassist.errors import InputFault
from setupassist.planner.changes import (
    flash_unpinned,
    in_service,
    merged,
    printed_once,
    unpinned,
    usable,
    wet_on,
    with_press,
    without_pair,
)
from setupassist.planner.problem import Problem
from setupassist.planner.solve import Solution, Status, Stop, solve
from setupassist.planner.wishes import STRATEGIES

SECONDS_A_TRY = 3.0
MOST_SINGLE = 16
MOST_DOUBLE = 24
MOST_MERGES = 3
MOST_TOLD = 8


@dataclass(frozen=True)
class Candidate:
    """A limit of a clash: its rule's id and the ink, pair, screen or station that it names."""

    rule: str
    named: Pair | str | int | None = None


@dataclass(frozen=True)
class Way:
    """A change: how it is said, the fields of job or press that it sets, and the problem with it.

    ``gives_up`` counts what the print loses: 0 where only the press or a pin changes, 1 where the art does, 2 where
    a rule of the trade is let go.
    """

    text: str
    change: dict[str, Any]
    apply: Callable[[Problem], Problem]
    gives_up: int = 0


def try_ways_out(
    problem: Problem, clash: Sequence[Candidate], *, deadline: float, stop: Stop | None = None
) -> tuple[WayOut, ...]:
    """Every single change that touches the clash, solved; where none works, changes two at a time.

    Those that work come first: what changes the press or a pin, then the art, then what lets a trade rule go, each
    with the best plan (by the strategy) in front; then those that do not help. With the time
    up the rest stays untried and is not told.
    """
    ways = [*_ways(problem, clash), *_merges(problem, clash)][:MOST_SINGLE]
    tried = list(_try_each(problem, ways, deadline, stop))
    if not any(way.works for way, _ in tried):
        doubles = [_both(a, b) for a, b in combinations(ways, 2) if not set(a.change) & set(b.change)]
        tried += [found for found in _try_each(problem, doubles[:MOST_DOUBLE], deadline, stop) if found[0].works]
    tried.sort(key=lambda found: found[1])
    return tuple(way for way, _ in tried[:MOST_TOLD])


def _try_each(
    problem: Problem, ways: Iterable[Way], deadline: float, stop: Stop | None
) -> Iterable[tuple[WayOut, tuple[float, ...]]]:
    for way in ways:
        left = min(SECONDS_A_TRY, deadline - time.monotonic())
        if left <= 0:
            return
        try:
            solution = solve(way.apply(problem), time_limit_seconds=left, stop=stop)
        except (InputFault, ValueError):
            continue  # the change contradicts the job itself, so it is no way out
        if solution.status is Status.UNKNOWN:
            continue
        works = solution.status is not Status.INFEASIBLE
        told = WayOut(text=way.text, change=way.change, works=works, wishes=solution.wishes)
        yield told, _rank(problem, way, solution)


def _rank(problem: Problem, way: Way, solution: Solution) -> tuple[float, ...]:
    values = {wish.name: wish.value for wish in solution.wishes}
    fails = 0.0 if values else 1.0
    return (fails, way.gives_up, *(values[name] for name in STRATEGIES[problem.strategy] if values))


def _both(a: Way, b: Way) -> Way:
    return Way(f"{a.text}, and {b.text}", a.change | b.change, lambda p: b.apply(a.apply(p)), a.gives_up + b.gives_up)


def _ways(problem: Problem, clash: Sequence[Candidate]) -> list[Way]:
    press, found = problem.press, []
    if press.max_laps < MOST_LAPS:
        laps = press.max_laps + 1
        found.append(Way(f"let the garment pass {laps} laps", {"max_laps": laps}, partial(with_press, max_laps=laps)))
    told = set()
    for limit in clash:
        for way in _ways_of(problem, limit):
            if way.text not in told:
                told.add(way.text)
                found.append(way)
    return found


def _ways_of(problem: Problem, limit: Candidate) -> list[Way]:
    press, named = problem.press, limit.named
    if limit.rule == "cooling":
        change = {"cooling": Cooling.PREFERRED.value}
        return [Way("let cooling be preferred, not required", change, partial(with_press, cooling=Cooling.PREFERRED))]
    if limit.rule == "flash-units":
        units = press.flash_units + 1
        bring = "bring a flash unit" if units == 1 else "bring one more flash unit"
        return [Way(bring, {"flash_units": units}, partial(with_press, flash_units=units))]
    if limit.rule == "out-of-service" and isinstance(named, int):
        left = [s for s in press.out_of_service if s != named]
        text = f"put the head at {named} back in service"
        return [Way(text, {"out_of_service": left}, partial(in_service, station=named))]
    if limit.rule == "kept-empty" and isinstance(named, int):
        left = [s for s in problem.keep_empty if s != named]
        return [Way(f"let station {named} be used", {"keep_empty": left}, partial(usable, station=named))]
    if limit.rule == "pinned" and isinstance(named, str):
        pins = {name: at for name, at in problem.pins.items() if name != named}
        return [Way(f"drop the pin of {named}", {"pins": pins}, partial(unpinned, screen=named))]
    if limit.rule == "flash-pinned" and isinstance(named, int):
        left = [s for s in problem.flash_pins if s != named]
        text = f"drop the flash unit pinned at {named}"
        return [Way(text, {"flash_pins": left}, partial(flash_unpinned, station=named))]
    if limit.rule == "printed-flashed-printed" and isinstance(named, str):
        return [Way(f"print {named} once", {"prints": {named: 1}}, partial(printed_once, ink=named), 1)]
    if limit.rule == "alone-until-flash" and isinstance(named, str):
        return [_wet_on(problem, named)]
    if isinstance(named, tuple):
        return _ways_of_pair(problem, limit.rule, named)
    return []


def _ways_of_pair(problem: Problem, rule: str, pair: Pair) -> list[Way]:
    a, b = pair
    given = problem.given
    if rule == "flash-between":
        return [_wet_on(problem, a)]
    if rule == "stays-wet":
        left = [list(p) for p in problem.limits.no_flash_between if p != pair]
        drop = partial(without_pair, field="no_flash_between", pair=pair)
        return [Way(f"let a flash act between {a} and {b}", {"no_flash_between": left}, drop, 2)]
    if rule == "order" and pair in given.order:
        left = [list(p) for p in given.order if p != pair]
        return [
            Way(f"drop the order {a} before {b}", {"order": left}, partial(without_pair, field="order", pair=pair), 1)
        ]
    return []


def _wet_on(problem: Problem, ink: str) -> Way:
    text = f"print on {ink} while it is wet, without a flash"
    if problem.roles.get(ink) in UNDER_ROLES:
        return Way(text, {"answers": {"flash-after-base": "no"}}, partial(wet_on, ink=ink), 2)
    left = [list(p) for p in problem.limits.flash_between if p[0] != ink]
    return Way(text, {"flash_between": left}, partial(wet_on, ink=ink), 2)


def _merges(problem: Problem, clash: Sequence[Candidate]) -> list[Way]:
    """Two inks on one screen, where heads are short: those that dirty each other least."""
    if not any(limit.rule == "head-in-service" for limit in clash):
        return []
    place = {ink: k for k, ink in enumerate(problem.inks)}
    free = [ink for ink in problem.standard_order if problem.roles.get(ink) not in UNDER_ROLES]
    free = [ink for ink in free if problem.times_printed(ink) == 1]
    pairs = sorted(
        combinations(free, 2),
        key=lambda p: problem.harm[place[p[0]]][place[p[1]]] + problem.harm[place[p[1]]][place[p[0]]],
    )
    return [
        Way(f"print {a} and {b} with one screen and one ink", {"merge": [a, b]}, partial(merged, one=a, two=b), 1)
        for a, b in pairs[:MOST_MERGES]
    ]
