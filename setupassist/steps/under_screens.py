"""Screens without a plate: the base and the blocker that the answers ask for.

Each takes the union of the inks that it carries, drawn in by the choke. Without pixels its area is an estimate: the
inks' areas less what they share, never under the largest of them, less the choke along the box around them.
"""

from __future__ import annotations

from collections.abc import Collection, Sequence

from setupassist.colour import hex_of_lab, lab_of
from setupassist.documents.measure import Lab
from setupassist.documents.terms import InkSystem, Kind, Role
from setupassist.resource_files import read_toml
from setupassist.steps.needs import Box, ScreenNeed
from setupassist.steps.scene import Overlaps, threshold

MM2_PER_CM2 = 100.0


def free_name(wanted: str, taken: Collection[str]) -> str:
    """``wanted``, or ``made wanted`` and so on where a plate bears it already."""
    name = wanted
    while name in taken or f"{name} 2" in taken:
        name = f"made {name}"
    return name


def union_area_cm2(screens: Sequence[ScreenNeed], overlaps: Overlaps) -> float:
    """Estimate of the area of several inks together: the sum less each pair's overlap, at least the largest ink."""
    areas = [screen.ink_area_cm2 for screen in screens]
    shared = sum(
        overlaps.get(frozenset((one.ink, two.ink)), 0.0) for i, one in enumerate(screens) for two in screens[:i]
    )
    return max(sum(areas) - shared, *areas) if areas else 0.0


def made_base(
    carried: Sequence[ScreenNeed],
    overlaps: Overlaps,
    *,
    base_colour: str,
    choke_mm: float,
    ink_system: InkSystem,
    taken: Collection[str],
) -> ScreenNeed:
    """The base under ``carried``; ``base_colour`` is white, grey or tint."""
    lab = _tint(carried) if base_colour == "tint" else lab_of(_colour(base_colour))
    return _made(
        free_name(f"{base_colour} base", taken),
        Role.BASE,
        hex_of_lab(lab) if base_colour == "tint" else _colour(base_colour),
        carried,
        area_cm2=drawn_in(union_area_cm2(carried, overlaps), box_around(carried), choke_mm),
        ink_system=ink_system,
    )


def made_blocker(
    under: Sequence[ScreenNeed], overlaps: Overlaps, *, choke_mm: float, ink_system: InkSystem, taken: Collection[str]
) -> ScreenNeed:
    """The blocker under the bases, or under all the inks where there is no base; no further choke under a base."""
    area = union_area_cm2(under, overlaps)
    if not all(screen.role is Role.BASE for screen in under):
        area = drawn_in(area, box_around(under), choke_mm)
    name = free_name("blocker", taken)
    return _made(name, Role.BLOCKER, _colour("blocker"), under, area_cm2=area, ink_system=ink_system)


def overlaps_of_made(made: ScreenNeed, screens: Sequence[ScreenNeed], overlaps: Overlaps) -> Overlaps:
    """Estimated overlap in cm² of a made screen with each other screen.

    A carried ink lies on it with all of its area but the choke's share; another ink with what it shares with the
    carried ones, or, over a base that is carried, with what it shares with that base.
    """
    by_name = {screen.ink: screen for screen in screens}
    carried = [by_name[ink] for ink in made.carries if ink in by_name]
    union = union_area_cm2(carried, overlaps)
    left = made.ink_area_cm2 / union if union > 0 else 0.0
    found: Overlaps = {}
    for screen in screens:
        if screen.ink == made.ink:
            continue
        if screen in carried:
            shared = screen.ink_area_cm2 * left
        else:
            shared = left * sum(overlaps.get(frozenset((screen.ink, under.ink)), 0.0) for under in carried)
        shared = min(shared, screen.ink_area_cm2, made.ink_area_cm2)
        if shared > 0:
            found[frozenset((made.ink, screen.ink))] = shared
    return found


def drawn_in(area_cm2: float, box_mm: Box | None, choke_mm: float) -> float:
    """Area less a choke along the outline, taken as that of the box around it (a square where there is none)."""
    square_mm = (area_cm2 * MM2_PER_CM2) ** 0.5
    width_mm, height_mm = (square_mm, square_mm) if box_mm is None else box_mm[2:]
    outline_mm = 2.0 * (width_mm + height_mm)
    return max(area_cm2 - outline_mm * choke_mm / MM2_PER_CM2, threshold("least_after_choke") * area_cm2)


def box_around(screens: Sequence[ScreenNeed]) -> Box | None:
    """The box around the inks' boxes, None where any is unknown."""
    boxes = [screen.ink_box_mm for screen in screens]
    known = [box for box in boxes if box is not None]
    if not known or len(known) < len(boxes):
        return None
    left, top = min(b[0] for b in known), min(b[1] for b in known)
    right, bottom = max(b[0] + b[2] for b in known), max(b[1] + b[3] for b in known)
    return left, top, right - left, bottom - top


def _made(
    name: str,
    role: Role,
    colour: str,
    carried: Sequence[ScreenNeed],
    *,
    area_cm2: float,
    ink_system: InkSystem,
) -> ScreenNeed:
    return ScreenNeed(
        ink=name,
        role=role,
        kind=Kind.SOLID if all(screen.kind is Kind.SOLID for screen in carried) else Kind.TONE,
        colour=colour,
        lab=lab_of(colour),
        ink_area_cm2=area_cm2,
        ink_system=ink_system,
        carries=tuple(screen.ink for screen in carried),
        ink_box_mm=box_around(carried),
    )


def _tint(carried: Sequence[ScreenNeed]) -> Lab:
    """Half way between white and the largest carried ink."""
    largest = max(carried, key=lambda screen: screen.ink_area_cm2)
    white = lab_of(_colour("white"))
    return (
        (largest.lab[0] + white[0]) / 2,
        (largest.lab[1] + white[1]) / 2,
        (largest.lab[2] + white[2]) / 2,
    )


def _colour(made: str) -> str:
    return str(read_toml("trade/decisions.toml")["made"]["colours"][made])
