"""The standard order of a set of screens: total, so that every departure from it can be counted."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Literal

from setupassist.documents.terms import Role
from setupassist.steps.needs import ScreenNeed
from setupassist.trade.names import PROCESS_ORDER, process_inks

ColourOrder = Literal["light-to-dark", "small-to-large"]

RANKS = {
    role: rank
    for rank, role in enumerate(
        (
            Role.BLOCKER, Role.BASE, Role.SMOOTHING, Role.COLOUR, Role.KEY, Role.HIGHLIGHT, Role.METALLIC, Role.GLITTER,
            Role.PUFF, Role.HIGH_DENSITY, Role.CLEAR, Role.REFLECTIVE, Role.ADHESIVE,
        )
    )
}  # fmt: skip
LIGHTNESS_DECIMALS = 1


def standard_order(screens: Sequence[ScreenNeed], *, colour_order: ColourOrder = "light-to-dark") -> tuple[str, ...]:
    """Ink names: blocker, base, colours light to dark, key, highlight, then the specials, adhesive last.

    Equal L* (to 0.1) goes by ink area, small first, then by name. ``small-to-large`` orders the colours by area
    first. Process inks stand as yellow, magenta, cyan, black at the yellow's place, or at the place of the first of
    them where there is no yellow.
    """
    process = process_inks([s.ink for s in screens if s.role in (Role.COLOUR, Role.KEY)])

    def place(screen: ScreenNeed) -> tuple[float | str, ...]:
        falling = -round(screen.lab[0], LIGHTNESS_DECIMALS)
        if screen.role is Role.COLOUR and colour_order == "small-to-large":
            return RANKS[screen.role], screen.ink_area_cm2, falling, screen.ink
        return RANKS[screen.role], falling, screen.ink_area_cm2, screen.ink

    ordered = [screen.ink for screen in sorted(screens, key=place)]
    if not process:
        return tuple(ordered)
    block = sorted(
        (ink for ink in ordered if ink in process),
        key=lambda ink: (PROCESS_ORDER.index(process[ink]), ordered.index(ink)),
    )
    anchor = ordered.index(block[0])
    before = [ink for ink in ordered[:anchor] if ink not in process]
    after = [ink for ink in ordered[anchor:] if ink not in process]
    return (*before, *block, *after)
