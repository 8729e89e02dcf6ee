"""The sheet's pictures, made from the plates: the art on its garment and every screen's plate."""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np

from setupassist.appearance.thumbnails import art_crop, box_crop, garment_picture, thumbnails, union_thumb
from setupassist.art.plates import PlateSet
from setupassist.documents.measure import Measure
from setupassist.documents.plan import Plan
from setupassist.documents.press import Press
from setupassist.sheet.content import Picture, Pictures, ink_of_screen
from setupassist.steps.needs import Steps


def pictures_of(
    plates: PlateSet | None,
    measure: Measure,
    steps: Steps,
    plan: Plan,
    *,
    press: Press | None = None,
    thumbs: Mapping[str, Picture] | None = None,
) -> Pictures:
    """The art on the garment and every plate, cropped to the art box; empty where there are only figures.

    Plates and screens are matched by name. A screen without a plate takes the union of what it carries. Plates that
    differ in size make no garment picture. Inks lie in the order of the ``press``'s way, else of the stations' numbers.
    ``thumbs``, mean ink of each plate by its name, spare reading the plates.
    """
    if plates is None:
        return Pictures()
    if thumbs is None:
        thumbs = dict(zip([plate.name for plate in plates.plates], thumbnails(plates), strict=True))
    whole = {name: _cropped(thumb, measure) for name, thumb in thumbs.items()}
    of_one_size = len({thumb.shape for thumb in whole.values()}) == 1
    inked = {need.ink: whole[need.plate] for need in steps.screens if need.plate in whole}
    for need in steps.screens:
        carried = [inked[ink] for ink in need.carries if ink in inked]
        if need.plate is None and carried and of_one_size:
            inked[need.ink] = union_thumb(carried)
    if not of_one_size or not steps.groups:
        return Pictures(None, inked)
    known = set(inked)
    place = {station: at for at, station in enumerate(press.way)} if press is not None else {}
    printed = (slot for slot in plan.slots if slot.holds == "screen")
    order = sorted(printed, key=lambda slot: (slot.lap, place.get(slot.station, slot.station)))
    inks = dict.fromkeys(ink_of_screen(slot.ink or "", known) for slot in order)
    laid = [ink for ink in inks if ink in inked]
    if not laid:
        return Pictures(None, inked)
    cloth = steps.groups[steps.neediest].garment.colour
    picture = garment_picture([inked[ink] for ink in laid], [steps.screen(ink).colour for ink in laid], cloth)
    return Pictures(picture, inked)


def _cropped(thumb: Picture, measure: Measure) -> Picture:
    """The art box with a margin; what stands outside the box (registration marks) is left out."""
    art = measure.art
    if art.art_box_mm is None or not art.width_mm or not art.height_mm:
        top, bottom, left, right = art_crop([thumb])
        return thumb[top:bottom, left:right]
    x, y, width, height = art.art_box_mm
    shares = x / art.width_mm, y / art.height_mm, width / art.width_mm, height / art.height_mm
    shape = thumb.shape[0], thumb.shape[1]
    top, bottom, left, right = box_crop(shape, shares, margin_share=0.0)
    inked = np.zeros_like(thumb)
    inked[top:bottom, left:right] = thumb[top:bottom, left:right]
    top, bottom, left, right = box_crop(shape, shares)
    return inked[top:bottom, left:right]
