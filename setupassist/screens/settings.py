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
from setupassist.trade.typical import Typical, setting

ENTERED_HERE = "entered for this job"
SHOP_BOOK = "the shop book"


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
    listed = [
        ScreenSetting(
            name="frame",
            value=f"{frame[0]:g} × {frame[1]:g}",
            unit="mm",
            known=Known.ENTERED,
            source=SHOP_BOOK if stock is not None else "the press",
        ),
        _tension(stock, override),
        _stencil(need, cloth, override),
        _chosen("squeegee hardness", override.squeegee_shore, _hardness(need, fabric)),
        _width(ink_box_mm or art_box_mm, frame, policies, override),
        _angle(override),
        _chosen("squeegee pressure", None, setting("squeegee_pressure")),
        _stroke_length(art_box_mm or ink_box_mm, frame, policies, override),
        ScreenSetting(
            name="strokes",
            value=strokes_of(need, override),
            known=Known.ENTERED if override.strokes is not None else Known.TYPICAL,
            source=ENTERED_HERE if override.strokes is not None else "the answer on base hits; else one stroke",
        ),
        _chosen("flood", None, setting("flood")),
        _chosen("off-contact", override.off_contact_mm, _off_contact(fabric)),
    ]
    return tuple(entry for entry in listed if entry is not None)


def _chosen(name: str, entered: float | str | None, typical: Typical) -> ScreenSetting:
    if entered is not None:
        return ScreenSetting(name=name, value=entered, unit=typical.unit, known=Known.ENTERED, source=ENTERED_HERE)
    return ScreenSetting(name=name, value=typical.value, unit=typical.unit, known=Known.TYPICAL, source=typical.cited)


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
        source = stock.sources.get("tension_n_per_cm", SHOP_BOOK)
        return ScreenSetting(
            name="tension", value=stock.tension_n_per_cm, unit="N/cm", known=Known.ENTERED, source=source
        )
    return _chosen("tension", override.tension_n_per_cm, setting("tension"))


def _stencil(need: ScreenNeed, cloth: Cloth | None, override: Override) -> ScreenSetting:
    name, unit = "stencil over mesh", "µm"
    if override.stencil_um is not None:
        return ScreenSetting(name=name, value=override.stencil_um, unit=unit, known=Known.ENTERED, source=ENTERED_HERE)
    if need.role is Role.HIGH_DENSITY:
        return _chosen(name, None, setting("stencil_high_density"))
    share = setting("stencil_share")
    if cloth is None:
        return ScreenSetting(
            name=name, value=share.number * 100, unit="% of the mesh thickness", known=Known.TYPICAL, source=share.cited
        )
    return ScreenSetting(
        name=name,
        value=round(stencil_over_mesh_um(cloth.thickness_um, share.number), 1),
        unit=unit,
        known=Known.ESTIMATED,
        source=f"{share.number:.0%} of a mesh {cloth.thickness_um:.0f} µm thick; {share.cited}",
    )


def _width(box: Box | None, frame: Size, policies: Policies, override: Override) -> ScreenSetting | None:
    if override.squeegee_width_mm is not None:
        return ScreenSetting(
            name="squeegee width",
            value=override.squeegee_width_mm,
            unit="mm",
            known=Known.ENTERED,
            source=ENTERED_HERE,
        )
    if box is None:
        return None
    width = squeegee_width_mm(box[2], frame_mm=frame, policies=policies)
    clipped = width < box[2] + 2 * policies.squeegee_margin_mm
    source = f"ink {box[2]:.0f} mm wide and {policies.squeegee_margin_mm:g} mm on each side"
    if clipped:
        source += ", cut to the frame's inside"
    return ScreenSetting(name="squeegee width", value=width, unit="mm", known=Known.COMPUTED, source=source)


def _stroke_length(box: Box | None, frame: Size, policies: Policies, override: Override) -> ScreenSetting | None:
    if override.stroke_length_mm is not None:
        return ScreenSetting(
            name="stroke length", value=override.stroke_length_mm, unit="mm", known=Known.ENTERED, source=ENTERED_HERE
        )
    if box is None:
        return None
    length = stroke_length_mm(box[3], frame_mm=frame, policies=policies)
    source = f"art {box[3]:.0f} mm high and {policies.travel_margin_mm:g} mm at each end"
    if length < box[3] + 2 * policies.travel_margin_mm:
        source += ", cut to the frame's inside"
    return ScreenSetting(name="stroke length", value=round(length), unit="mm", known=Known.COMPUTED, source=source)


def _angle(override: Override) -> ScreenSetting:
    typical = setting("squeegee_angle")
    entered = override.squeegee_angle_deg
    value = typical.number if entered is None else entered
    return ScreenSetting(
        name="squeegee angle",
        value=value,
        unit=f"° from the screen ({90 - value:g}° from vertical)",
        known=Known.TYPICAL if entered is None else Known.ENTERED,
        source=typical.cited if entered is None else ENTERED_HERE,
    )
