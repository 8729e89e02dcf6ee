"""The garment after each print as small pictures: what is to be drawn, and the drawing of it."""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np

from setupassist.appearance.thumbnails import CropBox, Picture, Thumb, art_crop, box_crop, garment_picture, union_thumb
from setupassist.desk.desk import Desk
from setupassist.desk.line import Line, shown
from setupassist.documents.measure import Measure
from setupassist.sheet.content import ink_of_screen


@dataclass(frozen=True)
class AfterPrint:
    """One picture: the garment after the print of a screen at a station in a lap."""

    lap: int
    station: int
    screen: str


@dataclass(frozen=True)
class Stages:
    """What is to be drawn: a picture a print, inks in print order with their colours, on cloth of a colour.

    Equal where the pictures are.
    """

    prints: tuple[AfterPrint, ...]
    colours: tuple[str, ...]
    cloth: str
    inks: tuple[str, ...]
    thumbs: tuple[Thumb, ...] = field(compare=False, repr=False)
    crop: CropBox | None = None
    of: int = 0


def stages_of(desk: Desk, line: Line) -> Stages | None:
    """What to draw for that line; None where there are no plates, or where they differ in size."""
    told, results = shown(desk), desk.results
    if told is None or results.measured is None or not results.pictures or not told.planned.steps.groups:
        return None
    steps = told.planned.steps
    pictures = results.pictures
    inked = {need.ink: pictures[need.plate] for need in steps.screens if need.plate and need.plate in pictures}
    if len({thumb.shape for thumb in inked.values()}) != 1:
        return None
    for need in steps.screens:
        carried = [inked[ink] for ink in need.carries if ink in inked]
        if need.plate is None and carried:
            inked[need.ink] = union_thumb(carried)
    known, prints, inks = set(inked), [], []
    for card in line.cards:
        ink = ink_of_screen(card.screen or "", known)
        if ink in inked and card.screen is not None:
            prints.append(AfterPrint(card.lap, card.station, card.screen))
            inks.append(ink)
    if not prints:
        return None
    return Stages(
        prints=tuple(prints),
        colours=tuple(steps.screen(ink).colour for ink in inks),
        cloth=steps.groups[steps.neediest].garment.colour,
        inks=tuple(inks),
        thumbs=tuple(inked[ink] for ink in inks),
        crop=_art_box(results.measured.measure, next(iter(inked.values()))),
        of=id(results.pictures),
    )


def drawn(stages: Stages, *, longest_px: int) -> list[Picture]:
    """The pictures in print order, sRGB (rows, columns, 3) uint8, the longest side about ``longest_px`` at most."""
    crop = stages.crop or art_crop(stages.thumbs)
    small = [_shrunk(thumb, crop, longest_px) for thumb in stages.thumbs]
    return [garment_picture(small[:at], stages.colours[:at], stages.cloth) for at in range(1, len(small) + 1)]


def _shrunk(thumb: Thumb, crop: CropBox, longest_px: int) -> Thumb:
    """The cropped part averaged over square cells; cells that are not whole at its edges are left out."""
    top, bottom, left, right = crop
    part = thumb[top:bottom, left:right]
    cell = max(1, -(-max(part.shape) // longest_px))
    rows, columns = max(1, part.shape[0] // cell), max(1, part.shape[1] // cell)
    if cell == 1 or min(part.shape) < cell:
        return part
    whole = part[: rows * cell, : columns * cell].reshape(rows, cell, columns, cell)
    return np.asarray(np.rint(whole.mean(axis=(1, 3))), dtype=np.uint8)


def _art_box(measure: Measure, thumb: Thumb) -> CropBox | None:
    art = measure.art
    if art.art_box_mm is None or not art.width_mm or not art.height_mm:
        return None
    x, y, width, height = art.art_box_mm
    shares = x / art.width_mm, y / art.height_mm, width / art.width_mm, height / art.height_mm
    return box_crop((thumb.shape[0], thumb.shape[1]), shares, margin_share=0.04)
