"""Where no plan exists: which limits clash, and which changes were tried and would make a plan."""

from __future__ import annotations

import time
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field, replace
from functools import partial

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
from setupassist.planner.ways_out import Candidate, Replan, try_ways_out

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
    problem: Problem, *, time_limit_seconds: float = 20.0, replan: Replan | None = None, stop: Stop | None = None
) -> Clash:
    """The limits that clash, as sentences, and the ways out that were tried, those that work first.

    The set is minimal: were any one of its limits dropped, the rest could be kept (with the time up it may hold more
    than it must, or be empty). Ways out may touch a second and third clash that stand besides. What the press is (one
    thing a station, the direction of travel) cannot be let go and is not told. Each way out was really solved,
    by ``replan`` from the job on where it is given.
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


def _press_items(problem: Problem) -> list[Item]:
    press, screens = problem.press, len(problem.ink_of_screen)
    heads = len(press.heads)
    twice = screens - len(problem.inks)
    least = f"{screens - twice} to {screens}" if twice and press.max_laps > 1 else str(screens)
    room = f"the press has {_count(heads, 'head')} for {least} screen{'' if screens == 1 else 's'}"
    items = [Item("head-in-service", room, line_without=_more_room)]
    if press.flash_units:
        units = f"the press takes {_count(press.flash_units, 'flash unit')}"
        slots = f"flash units can stand only at {_listed(sorted(press.flash_slots))}"
        items.append(Item("flash-units", units, line_without=_more_units))
        items.append(
            Item("flash-slot", slots if press.flash_slots else "the press has no flash slot", line_without=_any_slot)
        )
    else:
        items.append(Item("flash-units", "the press has no flash unit", line_without=_units_anywhere))
    laps = "the garment passes the press once" if press.max_laps == 1 else f"it passes at most {press.max_laps} laps"
    items.append(Item("most-laps", laps, line_without=lambda line, _: replace(line, laps=line.laps + 1)))
    if press.cooling is Cooling.REQUIRED and press.cooling_stations:
        asked = f"the press asks for {_count(press.cooling_stations, 'idle station')} after every flash"
        items.append(Item("cooling", asked, line_without=lambda line, _: replace(line, cooling_required=False)))
    for station in sorted(press.out_of_service):
        items.append(
            Item(
                "out-of-service", f"the head at {station} is out of service", station,
                partial(in_service, station=station),
            )
        )  # fmt: skip
    return items


def _person_items(problem: Problem) -> list[Item]:
    items = []
    for screen, station in sorted(problem.pins.items()):
        headless = "" if station in problem.press.heads else ", which has no head"
        items.append(
            Item("pinned", f"{screen} is pinned at {station}{headless}", screen, partial(unpinned, screen=screen))
        )
    for station in sorted(set(problem.flash_pins)):
        text = f"a flash unit is pinned at {station}"
        items.append(Item("flash-pinned", text, station, partial(flash_unpinned, station=station)))
    for station in sorted(set(problem.keep_empty)):
        text = f"station {station} is to stay empty"
        items.append(Item("kept-empty", text, station, partial(usable, station=station)))
    return items


def _ink_items(problem: Problem) -> list[Item]:
    items = []
    for ink in problem.inks:
        if problem.times_printed(ink) == 2:
            text = f"{ink} is printed, flashed and printed again"
            items.append(Item("printed-flashed-printed", text, ink, partial(printed_once, ink=ink)))
    for ink in problem.limits.alone_until_flash:
        text = f"nothing else prints until {ink} is gelled"
        items.append(Item("alone-until-flash", text, ink, partial(without_ink, field="alone_until_flash", ink=ink)))
    for ink in problem.limits.no_flash_after:
        text = f"no flash acts after {ink}"
        items.append(Item("no-flash-after", text, ink, partial(without_ink, field="no_flash_after", ink=ink)))
    return items


def _pair_items(problem: Problem) -> list[Item]:
    worded = {
        "flash_between": ("flash-between", "a flash acts between {} and {}"),
        "never_wet": ("never-wet", "{} and {} are never wet together"),
        "no_flash_between": ("stays-wet", "no flash acts between {} and {}"),
        "order": ("order", "{} prints before {}"),
    }
    return [
        Item(rule, text.format(*pair), pair, partial(without_pair, field=field, pair=pair))
        for field, (rule, text) in worded.items()
        for pair in getattr(problem.limits, field)
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


def _count(number: int, thing: str) -> str:
    return f"{number} {thing}" + ("" if number == 1 else "s")


def _listed(numbers: Sequence[int]) -> str:
    told = [str(n) for n in numbers]
    return told[0] if len(told) == 1 else ", ".join(told[:-1]) + " and " + told[-1] if told else ""
