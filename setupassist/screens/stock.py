"""Which stock screen each ink gets: the best assignment over the whole job, quantities respected."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from setupassist.documents.plan import Reason
from setupassist.documents.press import Press
from setupassist.documents.shop import Policies, StockScreen
from setupassist.documents.terms import UNDER_ROLES, Role
from setupassist.quantities import Units, per_inch
from setupassist.screens.wants import Miss, Want, detail_misses, mesh_words, misses, policy_source
from setupassist.trade.mesh import Cloth, cloth_of
from setupassist.words import Said, joined, say

Size = tuple[float, float]

# Weights of one common scale, the natural logarithm of a ratio of counts; only their order of size matters.
OUTSIDE_RANGE = 4.0
DETAIL_LOST = 100.0
THICKER_DEPOSIT = 0.02
LISTED_LATER = 1e-4
NO_SCREEN = 1e6
ENTERED_FIRST = 1e8
FRAME_TOLERANCE_MM = 1.0


@dataclass(frozen=True)
class Asked:
    """One screen to assign: its wishes, the art it must hold (mm), and the count or the thread a person entered.

    ``matching`` are the stock screens of the entered count, None where none was entered.
    """

    want: Want
    art_mm: Size | None = None
    entered: Cloth | None = None
    entered_per_inch: float | None = None
    matching: frozenset[int] | None = None
    thread_um: float | None = None


@dataclass(frozen=True)
class Given:
    """The stock screen (an index into the stock) that an ink gets, None where none fits."""

    stock: int | None


def assign(
    asked: Sequence[Asked], stock: Sequence[StockScreen], *, press: Press, policies: Policies
) -> tuple[Given, ...]:
    """One stock screen an ink, at the least total cost and no mesh beyond its quantity.

    A count that a person entered takes its screen first. An ink that no free screen fits gets none.
    """
    from scipy.optimize import linear_sum_assignment  # type: ignore[attr-defined]  # untyped re-export

    if not asked:
        return ()
    cloths = [cloth_of(screen) for screen in stock]
    units = [i for i, screen in enumerate(stock) for _ in range(min(screen.quantity, len(asked)))]
    rows = len(asked)
    costs = np.empty((rows, len(units) + rows), dtype=np.float64)
    for row, ask in enumerate(asked):
        none = NO_SCREEN if ask.matching is None else ENTERED_FIRST
        by_stock = [
            cost(ask, i, screen, cloth, press=press, policies=policies)
            for i, (screen, cloth) in enumerate(zip(stock, cloths, strict=True))
        ]
        costs[row, : len(units)] = [by_stock[i] if math.isfinite(by_stock[i]) else 2 * ENTERED_FIRST for i in units]
        costs[row, len(units) :] = none
    chosen_rows, chosen_columns = linear_sum_assignment(costs)
    column_of = dict(zip(chosen_rows.tolist(), chosen_columns.tolist(), strict=True))
    return tuple(Given(units[column_of[row]] if column_of[row] < len(units) else None) for row in range(rows))


def cost(ask: Asked, index: int, screen: StockScreen, cloth: Cloth, *, press: Press, policies: Policies) -> float:
    """How ill a stock screen suits an ink, 0 at the count aimed at; infinite where a limit forbids it."""
    want = ask.want
    if ask.matching is not None:
        return LISTED_LATER * index if index in ask.matching else math.inf
    if hard_misses(ask, screen, cloth, press=press, policies=policies):
        return math.inf
    count = cloth.mesh_per_inch
    away = abs(math.log(count / want.wish_per_inch))
    outside = max(0.0, math.log(want.low_per_inch / count), math.log(count / want.high_per_inch))
    lost = sum(DETAIL_LOST * (1 + miss.short) for miss in detail_misses(want, cloth))
    deposit = THICKER_DEPOSIT * math.log(cloth.volume_cm3_m2) if want.role in UNDER_ROLES else 0.0
    return away + OUTSIDE_RANGE * outside + lost - deposit + LISTED_LATER * index


def hard_misses(ask: Asked, screen: StockScreen, cloth: Cloth, *, press: Press, policies: Policies) -> list[Miss]:
    """Every limit that forbids this stock screen for that ink: the frame, then ruling, particle and deposit."""
    found = []
    ratio = max(screen.frame_mm[0] / press.frame_mm[0], screen.frame_mm[1] / press.frame_mm[1])
    size = {"width": screen.frame_mm[0], "height": screen.frame_mm[1]}
    if any(screen.frame_mm[i] > press.frame_mm[i] + FRAME_TOLERANCE_MM for i in range(2)):
        text = say("screens.reason.frame", **size, press_width=press.frame_mm[0], press_height=press.frame_mm[1])
        told = Reason(rule="frame", text=text, source=say("sources.press-in-the-shop-book"))
        found.append(Miss(told, math.log(ratio)))
    inside = inside_mm(screen.frame_mm, policies)
    if ask.thread_um is not None and abs(screen.thread_um - ask.thread_um) >= 1:
        text = say("screens.reason.thread", asked=ask.thread_um, thread=screen.thread_um)
        short = abs(math.log(ask.thread_um / screen.thread_um))
        found.append(Miss(Reason(rule="thread", text=text, source=say("sources.entered-for-this-job")), short))
    if ask.art_mm is not None and any(ask.art_mm[i] > inside[i] + 1e-6 for i in range(2)):
        wide, high = ask.art_mm
        margin = policies.frame_margin_mm
        text = say("screens.reason.art-in-frame", art_width=wide, art_height=high, **size, margin=margin)
        source = policy_source(policies, "frame_margin_mm")
        short = max(ask.art_mm[i] / max(inside[i], 1.0) for i in range(2))
        found.append(Miss(Reason(rule="art-in-frame", text=text, source=source), math.log(short)))
    if ask.want.role is not Role.SMOOTHING:
        found += misses(ask.want, cloth, policies=policies)
    return found


def inside_mm(frame_mm: Size, policies: Policies) -> Size:
    """Width and height in which a squeegee can work: the frame less the margin on each side."""
    width, height = (max(side - 2 * policies.frame_margin_mm, 0.0) for side in frame_mm)
    return width, height


def nearest_sentence(
    ask: Asked,
    stock: Sequence[StockScreen],
    *,
    taken: dict[int, list[str]],
    press: Press,
    policies: Policies,
) -> str:
    """For an ink without a screen: the nearest stock screen and what it misses. ``taken`` names who holds which."""
    units = Units(policies.units)
    cloths = [cloth_of(screen) for screen in stock]
    if not stock:
        return say("screens.nearest.no-screens")
    if ask.matching is not None:
        return _entered_sentence(ask, stock, taken=taken, units=units)

    def far(index: int) -> tuple[float, float, int]:
        missed = hard_misses(ask, stock[index], cloths[index], press=press, policies=policies)
        used_up = len(taken.get(index, [])) >= stock[index].quantity
        away = abs(math.log(cloths[index].mesh_per_inch / ask.want.wish_per_inch))
        return sum(m.short for m in missed) + (0.01 if used_up else 0.0), away, index

    index = min(range(len(stock)), key=far)
    missed = hard_misses(ask, stock[index], cloths[index], press=press, policies=policies)
    name = mesh_words(cloths[index], units)
    if missed:
        return say("screens.nearest.misses", mesh=name, why=joined((m.reason.text for m in missed), " "))
    return _taken_sentence("", name, stock[index].quantity, taken.get(index, []))


def _entered_sentence(ask: Asked, stock: Sequence[StockScreen], *, taken: dict[int, list[str]], units: Units) -> str:
    asked_for = ask.entered_per_inch or ask.want.wish_per_inch
    if ask.matching:
        index = min(ask.matching)
        name = mesh_words(cloth_of(stock[index]), units)
        return _taken_sentence("entered-", name, stock[index].quantity, taken.get(index, []))
    near = min(stock, key=lambda screen: abs(math.log(per_inch(screen.mesh_per_cm) / asked_for)))
    return say("screens.nearest.entered-not-in-stock", mesh=mesh_words(cloth_of(near), units))


def _taken_sentence(lead: str, mesh: str, quantity: int, holders: Sequence[str]) -> Said:
    """That a mesh is all taken, and by whom; ``lead`` is ``entered-`` for a mesh that the person entered."""
    told = "all-taken" if quantity else "none-in-stock"
    return say(f"screens.nearest.{lead}{told}", mesh=mesh, quantity=quantity, holders=joined(holders))
