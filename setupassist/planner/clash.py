"""Where no plan exists: which limits clash, and which changes were tried and would make a plan."""

from __future__ import annotations

import time
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field, replace
from functools import partial
from typing import Any

from setupassist.documents.plan import Clash, Pair
from setupassist.documents.press import Cooling
from setupassist.errors import Cancelled
from setupassist.planner.changes import (
    flash_unpinned,
    in_service,
    printed_once,
    unpinned,
    usable,
    without_ink,
    without_pair,
)
from setupassist.planner.line import Line, line_of, prints_of
from setupassist.planner.problem import Problem
from setupassist.planner.solve import Status, Stop, find_any
from setupassist.planner.ways_out import Candidate, Replan, Way, try_ways_out
from setupassist.words import joined, say

SECONDS_A_LOOK = 2.0
SHARE_FOR_LIMITS = 0.5
MOST_CLASHES = 3


@dataclass(frozen=True)
class Item:
    """One limit that can be let go: how it is said, and the problem or the line without it."""

    rule: str
    sentence: str
    named: Pair | str | int | None = None
    without: Callable[[Problem], Problem] | None = field(default=None, compare=False)
    line_without: Callable[[Line, Problem], Line] | None = field(default=None, compare=False)


def explain_clash(
    problem: Problem,
    *,
    time_limit_seconds: float = 20.0,
    replan: Replan | None = None,
    elsewhere: Sequence[Way] = (),
    stop: Stop | None = None,
) -> Clash:
    """The limits that clash, as sentences, and the ways out that were tried, those that work first.

    The set is minimal: were any one of its limits dropped, the rest could be kept (with the time up it may hold more
    than it must, or be empty). Ways out may touch a second and third clash that stand besides. What the press is (one
    thing a station, the direction of travel) cannot be let go and is not told. Each way out was really solved,
    by ``replan`` from the job on where it is given; ``elsewhere`` are ways to other presses, for where no other helps.
    Raises Cancelled when ``stop`` answers True.
    """
    begun = time.monotonic()
    for_limits = begun + time_limit_seconds * SHARE_FOR_LIMITS
    clash = smallest_clash(problem, deadline=for_limits, stop=stop)
    touched, more = list(clash), clash
    for _ in range(MOST_CLASHES - 1):
        more = smallest_clash(problem, deadline=for_limits, stop=stop, aside=touched) if more else []
        touched += more
    return Clash(
        limits=tuple(item.sentence for item in clash),
        ways_out=try_ways_out(
            problem,
            [Candidate(item.rule, item.named) for item in touched],
            deadline=begun + time_limit_seconds,
            replan=replan,
            elsewhere=elsewhere,
            stop=stop,
        ),
    )


def smallest_clash(
    problem: Problem, *, deadline: float, stop: Stop | None = None, aside: Sequence[Item] = ()
) -> list[Item]:
    """Limits that cannot all be kept, though all but any one of them can; empty where there is no clash.

    Limits put ``aside`` are let go from the start.

    Halves are tried before single limits: U. Junker, "QuickXplain: preferred explanations and relaxations for
    over-constrained problems", AAAI 2004.
    """
    items = items_of(problem)
    held = [item for item in items if item not in aside]

    def clashes(kept: Sequence[Item]) -> bool:
        if stop is not None and stop():
            raise Cancelled()
        left = min(SECONDS_A_LOOK, deadline - time.monotonic())
        return left > 0 and find_any(*without_all(problem, items, kept), seconds=left, stop=stop) is Status.INFEASIBLE

    def shrink(kept: list[Item], added: bool, parts: list[Item]) -> list[Item]:
        if added and clashes(kept):
            return []
        if len(parts) == 1:
            return parts
        first, second = parts[: len(parts) // 2], parts[len(parts) // 2 :]
        late = shrink(kept + first, bool(first), second)
        early = shrink(kept + late, bool(late), first)
        return early + late

    return shrink([], False, held) if clashes(held) else []


def without_all(problem: Problem, items: Sequence[Item], kept: Sequence[Item]) -> tuple[Problem, Line]:
    """The problem and its line without the items that are not kept."""
    gone = [item for item in items if item not in kept]
    for item in gone:
        if item.without is not None:
            problem = item.without(problem)
    line = line_of(problem)
    for item in gone:
        if item.line_without is not None:
            line = item.line_without(line, problem)
    return problem, line


def items_of(problem: Problem) -> list[Item]:
    """Every limit of the problem that can be let go: the press's, the person's, the art's."""
    return [*_press_items(problem), *_person_items(problem), *_ink_items(problem), *_pair_items(problem)]


def _item(rule: str, told: str, named: Pair | str | int | None = None, **values: Any) -> Callable[..., Item]:
    """An item to which only the change remains to be given; ``told`` is the id of its sentence."""
    return partial(Item, rule, say(f"planner.clash.{told}", **values), named)


def _press_items(problem: Problem) -> list[Item]:
    press, screens = problem.press, len(problem.ink_of_screen)
    least = len(problem.inks)
    several = least < screens and press.max_laps > 1
    needed = say(f"planner.clash.screens{'-range' if several else ''}", least=least, count=screens)
    usable_heads = len(line_of(problem).heads)
    told = "heads" if usable_heads == len(press.heads) else "usable-heads"
    heads = say(f"planner.clash.{told}", count=usable_heads, all=len(press.heads))
    items = [_item("head-in-service", "room", heads=heads, screens=needed)(line_without=_more_room)]
    if press.flash_units:
        items.append(_item("flash-units", "flash-units", count=press.flash_units)(line_without=_more_units))
        slots = "flash-slots" if press.flash_slots else "no-flash-slot"
        items.append(_item("flash-slot", slots, stations=_listed(sorted(press.flash_slots)))(line_without=_any_slot))
    else:
        items.append(_item("flash-units", "no-flash-unit")(line_without=_units_anywhere))
    laps = "one-lap" if press.max_laps == 1 else "most-laps"
    items.append(_item("most-laps", laps, laps=press.max_laps)(line_without=_one_more_lap))
    if press.cooling is Cooling.REQUIRED and press.cooling_stations:
        items.append(_item("cooling", "cooling", count=press.cooling_stations)(line_without=_no_cooling))
    for station in sorted(press.out_of_service):
        drop = partial(in_service, station=station)
        items.append(_item("out-of-service", "out-of-service", station, station=station)(drop))
    return items


def _person_items(problem: Problem) -> list[Item]:
    items = []
    for screen, station in sorted(problem.pins.items()):
        told = "pinned" if station in problem.press.heads else "pinned-without-head"
        drop = partial(unpinned, screen=screen)
        items.append(_item("pinned", told, screen, screen=screen, station=station)(drop))
    for station in sorted(set(problem.flash_pins)):
        drop = partial(flash_unpinned, station=station)
        items.append(_item("flash-pinned", "flash-pinned", station, station=station)(drop))
    for station in sorted(set(problem.keep_empty)):
        items.append(_item("kept-empty", "kept-empty", station, station=station)(partial(usable, station=station)))
    return items


def _ink_items(problem: Problem) -> list[Item]:
    items = []
    for ink in problem.inks:
        if problem.times_printed(ink) == 2:
            rule = "printed-flashed-printed"
            items.append(_item(rule, rule, ink, ink=ink)(partial(printed_once, ink=ink)))
    for field_name, rule in (("alone_until_flash", "alone-until-flash"), ("no_flash_after", "no-flash-after")):
        for ink in getattr(problem.limits, field_name):
            items.append(_item(rule, rule, ink, ink=ink)(partial(without_ink, field=field_name, ink=ink)))
    return items


def _pair_items(problem: Problem) -> list[Item]:
    rules = {
        "flash_between": "flash-between", "never_wet": "never-wet", "no_flash_between": "stays-wet", "order": "order",
    }  # fmt: skip
    return [
        _item(rule, rule, pair, first=pair[0], second=pair[1])(partial(without_pair, field=field_name, pair=pair))
        for field_name, rule in rules.items()
        for pair in getattr(problem.limits, field_name)
    ]


def _more_room(line: Line, problem: Problem) -> Line:
    """A line with as many stations with heads at its end as there are prints."""
    last = max(line.way, default=0)
    more = tuple(range(last + 1, last + 1 + len(prints_of(problem))))
    return replace(line, way=line.way + more, heads=line.heads | frozenset(more))


def _more_units(line: Line, problem: Problem) -> Line:
    return replace(line, flash_units=max(line.flash_units, len(prints_of(problem))))


def _any_slot(line: Line, problem: Problem) -> Line:
    """Flash units at any station of the line, added ones too; those kept empty stay so."""
    return replace(line, flash_slots=frozenset(line.way) - frozenset(problem.keep_empty))


def _units_anywhere(line: Line, problem: Problem) -> Line:
    return _any_slot(_more_units(line, problem), problem)


def _one_more_lap(line: Line, _: Problem) -> Line:
    return replace(line, laps=line.laps + 1)


def _no_cooling(line: Line, _: Problem) -> Line:
    return replace(line, cooling_required=False)


def _listed(numbers: Sequence[int]) -> str:
    """``3, 5 and 8``."""
    told = [str(n) for n in numbers]
    return joined(told) if len(told) < 2 else say("planner.and", first=joined(told[:-1]), last=told[-1])
