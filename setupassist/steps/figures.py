"""The job's own figures, as words and numbers to fill into questions and reasons."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Any

from setupassist.documents.shop import Shop
from setupassist.documents.terms import Kind
from setupassist.quantities import per_inch
from setupassist.steps.conditions import base_bare_cm2, flashes_room, flashes_wanted, most_colour_overlap
from setupassist.steps.inks import InkFact
from setupassist.steps.scene import Scene, threshold
from setupassist.words import ENGLISH, joined, say, words_in

RULING_STEP = 5


def figures_of(scene: Scene) -> dict[str, Any]:
    """Figures by the names that the texts of the decision table use in braces; counts are whole numbers."""
    return _cloth(scene) | _base(scene) | _layers(scene) | _press(scene)


def ruling_for(shop: Shop) -> float:
    """Lines per inch for tone plates: the coarsest stock cloth that carries dots ÷ 5, in steps of 5, within bounds."""
    carries = [s.mesh_per_cm for s in shop.screens if s.quantity and s.mesh_per_cm >= threshold("dot_mesh_per_cm")]
    if not carries:
        return threshold("ruling_without_stock")
    ruling = per_inch(min(carries)) / threshold("mesh_per_ruling")
    stepped = int(ruling // RULING_STEP) * RULING_STEP
    return min(max(float(stepped), threshold("ruling_least")), threshold("ruling_most"))


def listed(names: Iterable[str]) -> str:
    """``a, b and c``, or ``none``."""
    found = list(names)
    if not found:
        return say("steps.listed.none")
    return found[0] if len(found) == 1 else say("steps.listed.and", names=joined(found[:-1]), last=found[-1])


def _cloth(scene: Scene) -> dict[str, Any]:
    cloth = scene.cloth
    return {
        "cloth_name": cloth.garment.name,
        "cloth_lightness": f"{cloth.lightness:.0f}",
        "fabric": _fabric(cloth.garment.fabric),
        "polyester_percent": f"{100 * cloth.polyester_share:.0f}",
        "bleed_test": say(f"terms.bleed_test.{cloth.bleed_test.value}"),
    }


def _fabric(name: str) -> str:
    """The usual fabrics in words; one that the shop has named itself stays as it is."""
    key = f"sheet.fabric.{name.replace(' ', '-')}"
    return say(key) if words_in(ENGLISH).knows(key) else name


@dataclass(frozen=True)
class _Worst:
    name: str
    difference: float


def _worst(scene: Scene, inks: Iterable[InkFact]) -> _Worst:
    found = [_Worst(ink.name, scene.difference(ink)) for ink in inks]
    return max(found, key=lambda worst: worst.difference, default=_Worst(say("decisions.figure.no-ink"), 0.0))


def _brings(inks: Iterable[InkFact], nothing: str) -> str:
    names = [ink.name for ink in inks]
    return say("decisions.figure.brings", names=listed(names)) if names else say(f"decisions.figure.{nothing}")


def _base(scene: Scene) -> dict[str, Any]:
    weak, hiding = listed(i.name for i in scene.weak), listed(i.name for i in scene.hiding)
    worst, worst_weak = _worst(scene, scene.tops), _worst(scene, scene.weak)
    area = sum(base.need.ink_area_cm2 for base in scene.bases)
    bare = base_bare_cm2(scene)
    printed = sum(screen.ink_area_cm2 for screen in scene.base_screens)
    own_whites = scene.own_whites
    return {
        "bases": listed(base.name for base in scene.bases),
        "blockers": listed(ink.name for ink in scene.blockers),
        "base_says": _brings(scene.bases, "no-base"),
        "blocker_says": _brings(scene.blockers, "no-blocker"),
        "weak_says": say("decisions.figure.weak", weak_inks=weak, hiding_inks=hiding),
        "weak_inks": weak,
        "weak_count": len(scene.weak),
        "hiding_inks": hiding,
        "hiding_count": len(scene.hiding),
        "weak_worst": worst_weak.name,
        "weak_most": f"{worst_weak.difference:.0f}",
        "shift_worst": worst.name,
        "shift_most": f"{worst.difference:.1f}",
        "dark_weak_inks": listed(i.name for i in scene.weak if i.lightness <= threshold("dark_ink_lightness")),
        "base_delta_e": f"{scene.shop.policies.base_delta_e:g}",
        "base_bare_cm2": f"{bare:.1f}",
        "base_bare_percent": f"{100 * bare / area:.0f}" if area else "0",
        "peek_out_mm2": f"{sum(choke.peek_out_mm2 for choke in scene.chokes):.1f}",
        "base_area_cm2": f"{printed:.0f}",
        "base_lightness": f"{min((lightness for _, lightness in scene.base_lightnesses), default=0.0):.0f}",
        "own_whites": listed(ink.name for ink in own_whites),
        "own_white_count": len(own_whites),
    }


def _groups_told(groups: Sequence[Sequence[str]]) -> str:
    """``a and b, nor among c and d``; "" where there is no group."""
    told = ""
    for group in groups:
        names = listed(group)
        told = say("decisions.figure.nor-among", groups=told, more=names) if told else names
    return told


def _layers(scene: Scene) -> dict[str, Any]:
    under = {screen.ink for screen in scene.under_screens} | {white.name for white in scene.own_whites}
    on_base = {
        screen.ink: max((scene.overlap(screen.ink, base) for base in under), default=0.0)
        for screen in scene.screens
        if screen.ink not in under
    }
    carried = {ink: area for ink, area in on_base.items() if area > threshold("contact")}
    black = scene.black_inks
    bare = min((scene.bare_share(ink) for ink in black), default=0.0)
    return {
        "inks": len(scene.inks),
        "listed": listed(ink.name for ink in scene.inks),
        "blend_plates": len(scene.blend_colours),
        "wet_blends": _groups_told(scene.wet_blends),
        "tone_plates": listed(ink.name for ink in scene.inks if ink.need.kind is Kind.TONE),
        "on_base": len(carried),
        "on_base_cm2": f"{sum(carried.values()):.1f}",
        "highlights": listed(ink.name for ink in scene.highlights),
        "highlight_count": len(scene.highlights),
        "highlight_overlap_cm2": f"{sum(scene.on_other_inks(ink) for ink in scene.highlights):.1f}",
        "specials": listed(ink.name for ink in scene.specials),
        "special_count": len(scene.specials),
        "special_overlap_cm2": f"{sum(scene.on_other_inks(ink) for ink in scene.specials):.1f}",
        "most_colour_overlap_cm2": f"{most_colour_overlap(scene):.1f}",
        "black_inks": listed(ink.name for ink in black),
        "black_count": len(black),
        "near_black_inks": listed(ink.name for ink in black),
        "black_bare_percent": f"{100 * bare:.0f}",
    }


def _press(scene: Scene) -> dict[str, Any]:
    screens, units, wanted = len(scene.screens), scene.press.flash_units, flashes_wanted(scene)
    return {
        "screens": screens,
        "screens_told": say("decisions.figure.screens", count=screens),
        "flash_units": units,
        "units_told": say("decisions.figure.units", count=units),
        "flashes_wanted": wanted,
        "flashes_told": say("decisions.figure.flashes", count=wanted),
        "flashes_room": flashes_room(scene),
        "ruling": f"{ruling_for(scene.shop):g}",
        "policy_tests": str(scene.shop.policies.tests),
        "policy_spoilage": f"{scene.shop.policies.spoilage:g}",
        "press_crew_seconds": f"{scene.press.crew_seconds:g}",
        "pieces_unknown": f"{threshold('pieces_unknown'):.0f}",
    }
