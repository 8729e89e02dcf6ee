"""Frame, squeegee, stroke, off-contact, stencil and tension of one screen, each with how it is known."""

from __future__ import annotations

import math

from setupassist.documents.job import Override
from setupassist.documents.plan import ScreenSetting
from setupassist.documents.press import Press
from setupassist.documents.shop import Policies, StockScreen
from setupassist.documents.terms import SPECIAL_ROLES, UNDER_ROLES, Known, Role
from setupassist.screens.stock import Size, inside_mm
from setupassist.screens.wants import DOTS
from setupassist.steps.needs import Box, ScreenNeed
from setupassist.trade.fabrics import Fabric
from setupassist.trade.mesh import Cloth, stencil_over_mesh_um
from setupassist.trade.typical import Typical, setting, shop_source
from setupassist.words import say

ENTERED_HERE = "sources.entered-for-this-job"
SHOP_BOOK = "sources.the-shop-book"
UNITS = {"mm": "mm", "µm": "um", "N/cm": "n-per-cm", "Shore A": "shore-a"}


def squeegee_width_mm(ink_width_mm: float, *, frame_mm: Size, policies: Policies) -> float:
    """The ink's width with its margin on both sides, rounded up to whole blade steps, within the frame's inside."""
    step = setting("squeegee_width_step").number
    wanted = math.ceil(round((ink_width_mm + 2 * policies.squeegee_margin_mm) / step, 6)) * step
    return min(wanted, inside_mm(frame_mm, policies)[0])


def stroke_length_mm(art_height_mm: float, *, frame_mm: Size, policies: Policies) -> float:
    """The art's height with the travel margin at both ends, within the frame's inside."""
    return min(art_height_mm + 2 * policies.travel_margin_mm, inside_mm(frame_mm, policies)[1])


def strokes_of(need: ScreenNeed, override: Override) -> int:
    """Strokes of one print: the person's, else two where the steps ask for a second stroke, else one."""
    if override.strokes is not None:
        return override.strokes
    return 2 if need.two_strokes else 1


def settings_of(
    need: ScreenNeed,
    *,
    stock: StockScreen | None,
    cloth: Cloth | None,
    ink_box_mm: Box | None,
    art_box_mm: Box | None,
    press: Press,
    policies: Policies,
    override: Override,
    fabric: Fabric | None,
) -> tuple[ScreenSetting, ...]:
    """Every setting of a screen, in the order in which a crew sets them; what cannot be told is left out."""
    frame = stock.frame_mm if stock is not None else press.frame_mm
    own_strokes = override.strokes is not None
    listed = [
        _setting(
            "frame",
            f"{frame[0]:g} × {frame[1]:g}",
            say("screens.unit.mm"),
            known=Known.ENTERED,
            source=say(SHOP_BOOK if stock is not None else "sources.the-press"),
        ),
        _tension(stock, override),
        _stencil(need, cloth, override),
        _chosen("squeegee-hardness", override.squeegee_shore, _hardness(need, fabric)),
        _width(ink_box_mm or art_box_mm, frame, policies, override),
        _angle(override),
        _chosen("squeegee-pressure", None, setting("squeegee_pressure")),
        _stroke_length(art_box_mm or ink_box_mm, frame, policies, override),
        _setting(
            "strokes",
            strokes_of(need, override),
            "",
            known=Known.ENTERED if own_strokes else Known.TYPICAL,
            source=say(ENTERED_HERE if own_strokes else "screens.source.strokes"),
        ),
        _chosen("flood", None, setting("flood")),
        _chosen("off-contact", override.off_contact_mm, _off_contact(fabric)),
    ]
    return tuple(entry for entry in listed if entry is not None)


def _setting(name: str, value: float | str, unit: str, *, known: Known, source: str) -> ScreenSetting:
    """A setting by the id of its name."""
    return ScreenSetting(name=say(f"screens.setting.{name}"), value=value, unit=unit, known=known, source=source)


def _entered(name: str, value: float | str, unit: str) -> ScreenSetting:
    return _setting(name, value, unit, known=Known.ENTERED, source=say(ENTERED_HERE))


def _chosen(name: str, entered: float | str | None, typical: Typical) -> ScreenSetting:
    unit = say(f"screens.unit.{UNITS[typical.unit]}") if typical.unit else ""
    if entered is not None:
        return _entered(name, entered, unit)
    return _setting(name, typical.value, unit, known=Known.TYPICAL, source=typical.cited)


def _hardness(need: ScreenNeed, fabric: Fabric | None) -> Typical:
    if need.role in UNDER_ROLES and fabric is not None and fabric.squeegee_hardness is not None:
        return fabric.squeegee_hardness
    if need.role in SPECIAL_ROLES:
        return setting("squeegee_hardness_heavy")
    if need.kind in DOTS or need.role is Role.KEY:
        return setting("squeegee_hardness_detail")
    if need.role in UNDER_ROLES:
        return setting("squeegee_hardness_opaque")
    return setting("squeegee_hardness_general")


def _off_contact(fabric: Fabric | None) -> Typical:
    if fabric is not None and fabric.off_contact is not None:
        return fabric.off_contact
    return setting("off_contact")


def _tension(stock: StockScreen | None, override: Override) -> ScreenSetting:
    if override.tension_n_per_cm is None and stock is not None and stock.tension_n_per_cm is not None:
        own = stock.sources.get("tension_n_per_cm")
        source = say(SHOP_BOOK) if own is None else shop_source(own)
        unit = say("screens.unit.n-per-cm")
        return _setting("tension", stock.tension_n_per_cm, unit, known=Known.ENTERED, source=source)
    return _chosen("tension", override.tension_n_per_cm, setting("tension"))


def _stencil(need: ScreenNeed, cloth: Cloth | None, override: Override) -> ScreenSetting:
    name, unit = "stencil-over-mesh", say("screens.unit.um")
    if override.stencil_um is not None:
        return _entered(name, override.stencil_um, unit)
    if need.role is Role.HIGH_DENSITY:
        return _chosen(name, None, setting("stencil_high_density"))
    share = setting("stencil_share")
    if cloth is None:
        of_mesh = say("screens.unit.of-the-mesh-thickness")
        return _setting(name, share.number * 100, of_mesh, known=Known.TYPICAL, source=share.cited)
    over = round(stencil_over_mesh_um(cloth.thickness_um, share.number), 1)
    source = say("screens.source.stencil", share=share.number, thickness=cloth.thickness_um, source=share.cited)
    return _setting(name, over, unit, known=Known.ESTIMATED, source=source)


def _width(box: Box | None, frame: Size, policies: Policies, override: Override) -> ScreenSetting | None:
    unit = say("screens.unit.mm")
    if override.squeegee_width_mm is not None:
        return _entered("squeegee-width", override.squeegee_width_mm, unit)
    if box is None:
        return None
    width, margin = squeegee_width_mm(box[2], frame_mm=frame, policies=policies), policies.squeegee_margin_mm
    cut = "-cut" if width < box[2] + 2 * margin else ""
    source = say(f"screens.source.squeegee-width{cut}", ink=box[2], margin=margin)
    return _setting("squeegee-width", width, unit, known=Known.COMPUTED, source=source)


def _stroke_length(box: Box | None, frame: Size, policies: Policies, override: Override) -> ScreenSetting | None:
    unit = say("screens.unit.mm")
    if override.stroke_length_mm is not None:
        return _entered("stroke-length", override.stroke_length_mm, unit)
    if box is None:
        return None
    length, margin = stroke_length_mm(box[3], frame_mm=frame, policies=policies), policies.travel_margin_mm
    cut = "-cut" if length < box[3] + 2 * margin else ""
    source = say(f"screens.source.stroke-length{cut}", art=box[3], margin=margin)
    return _setting("stroke-length", round(length), unit, known=Known.COMPUTED, source=source)


def _angle(override: Override) -> ScreenSetting:
    typical = setting("squeegee_angle")
    entered = override.squeegee_angle_deg
    value = typical.number if entered is None else entered
    unit = say("screens.unit.angle", vertical=90 - value)
    if entered is not None:
        return _entered("squeegee-angle", value, unit)
    return _setting("squeegee-angle", value, unit, known=Known.TYPICAL, source=typical.cited)
