"""What is wished for, as figures that the solver makes small one after another."""

from __future__ import annotations

from collections.abc import Callable
from fractions import Fraction
from itertools import combinations
from typing import TYPE_CHECKING

from setupassist.documents.terms import StrategyName
from setupassist.planner.line import Print
from setupassist.planner.problem import Problem
from setupassist.planner.rules import missing_cooling as lacking_cooling
from setupassist.planner.variables import Variables, total

if TYPE_CHECKING:
    from ortools.sat.python.cp_model import LinearExpr

WISHES = ("laps", "flash_units", "wet_harm", "departures", "missing_cooling", "moves")
"""The wishes in the order in which a plan tells them."""

STRATEGIES: dict[StrategyName, tuple[str, ...]] = {
    StrategyName.LEANEST: WISHES,
    StrategyName.CLEANEST: ("laps", "wet_harm", "flash_units", "departures", "missing_cooling", "moves"),
    StrategyName.QUICKEST_CHANGEOVER: ("laps", "moves", "flash_units", "wet_harm", "departures", "missing_cooling"),
}
"""The order in which each strategy asks them."""


def laps(v: Variables) -> LinearExpr:
    """The highest lap in which a screen prints."""
    return 1 + total(v.lap_used.values())


def flash_units(v: Variables) -> LinearExpr:
    """Stations where a flash unit stands."""
    return total(v.unit.values())


def wet_harm(v: Variables) -> LinearExpr:
    """Tenths of cm²·ΔE over all pairs of inks, each once, that are wet together in that order."""
    place = {ink: i for i, ink in enumerate(v.problem.inks)}
    dirt = []
    for one in v.problem.standard_order:
        for two in v.problem.standard_order:
            harm = v.problem.harm[place[one]][place[two]]
            if one == two or not harm:
                continue
            wet = v.boolean(f"{one} wet under {two}")
            for under in v.all_of(one):
                for over in v.all_of(two):
                    v.apart_or(under, over, wet)
            dirt.append(harm * wet)
    return total(dirt)


def departures(v: Variables) -> LinearExpr:
    """Pairs of inks whose first prints stand the other way round than in the standard order, held pairs left out."""
    held = closed_pairs(v.problem.limits.order)
    return total(
        v.before[Print(b), Print(a)]
        for a, b in combinations(v.problem.standard_order, 2)
        if (a, b) not in held and (b, a) not in held
    )


def missing_cooling(v: Variables) -> LinearExpr:
    """Flash actions with too few idle slots before the next screen of their lap."""
    return total([] if v.line.cooling_required else lacking_cooling(v).values())


def moves(v: Variables) -> LinearExpr:
    """(station, thing) that come or go against what stands on the press now; a shifted screen counts two."""
    now = v.problem.on_press_now
    stay: list[LinearExpr] = []
    for station, thing in sorted(now.items()):
        if station not in v.line.way:
            continue
        place = v.line.way.index(station)
        if thing == "flash":
            stay += [v.unit[place]] if place in v.unit else []
        elif thing in v.problem.ink_of_screen:
            stay.append(v.stands(thing, place))
    planned = len(v.problem.inks) + total(v.two.values()) + total(v.unit.values())
    return len(now) + planned - 2 * total(stay)


FIGURE: dict[str, Callable[[Variables], LinearExpr]] = {
    "laps": laps, "flash_units": flash_units, "wet_harm": wet_harm,
    "departures": departures, "missing_cooling": missing_cooling, "moves": moves,
}  # fmt: skip


def kept(v: Variables) -> LinearExpr:
    """How many standings of the kept plan stand in this one; the only figure that is to be great."""
    found = (v.standing(standing) for standing in dict.fromkeys(v.problem.kept))
    return total(stands for stands in found if stands is not None)


def held_at(problem: Problem, wish: str, best: int) -> int:
    """What a wish is held at once its best is known: the best itself, for wet harm with slack.

    The slack is the greater of ``slack_share`` of the best, rounded down, and ``slack_tenths``.
    """
    if wish != "wet_harm":
        return best
    return best + max(int(Fraction(repr(problem.slack_share)) * best), problem.slack_tenths)


def least(problem: Problem, wish: str, held: dict[str, int]) -> int:
    """A figure that the wish cannot fall below, known without solving; ``held`` are wishes already at their best."""
    if wish == "laps":
        return 1
    if wish == "flash_units":
        return len(set(problem.flash_pins))
    if wish == "moves" and not problem.on_press_now:
        return len(problem.inks) + held.get("flash_units", len(set(problem.flash_pins)))
    return 0


def closed_pairs(pairs: tuple[tuple[str, str], ...]) -> set[tuple[str, str]]:
    """The transitive closure of pairs."""
    after: dict[str, set[str]] = {}
    for a, b in pairs:
        after.setdefault(a, set()).add(b)
    closed = set()
    for a in after:
        found: set[str] = set()
        open_ends = [a]
        while open_ends:
            for b in after.get(open_ends.pop(), ()):
                if b not in found:
                    found.add(b)
                    open_ends.append(b)
        closed |= {(a, b) for b in found}
    return closed


def tie_break(v: Variables) -> LinearExpr:
    """Small where flashes act soon, prints stand early and idle stations lie at the end.

    Each print weighs its slot, the standard order's first inks most, so that equal plans set them first.
    """
    count = len(v.prints)
    weighed = [(2 * count - rank) * v.slot[one] for rank, one in enumerate(v.prints)]
    return total(weighed) + total(2 * count * (k + 1) * var for k, var in v.acts.items())
