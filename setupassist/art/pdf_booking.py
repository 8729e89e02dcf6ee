"""What a walk over a page books where it writes no plate: inks, fine detail, missing fonts, and what is no ink."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from setupassist.art.pdf_colour import Family, Space, inks_in, is_grey
from setupassist.art.pdf_content import path_box
from setupassist.art.pdf_images import Image, NotRead, inked, opaque
from setupassist.art.pdf_inks import font_missing
from setupassist.art.pdf_objects import Matrix, moved, moved_box, scale_of, times
from setupassist.art.pdf_page import POINTS_PER_INCH
from setupassist.art.pdf_shading import Shading

if TYPE_CHECKING:
    from setupassist.art.pdf_walk import Walk

SCREEN_COLOURS = {Family.RGB: "art.pdf.note-rgb", Family.LAB: "art.pdf.note-lab"}
INVISIBLE = 3


def colour(walk: Walk, space: Space, values: Sequence[float] | None, at: tuple[float, float] | None) -> None:
    """Books the inks of a colour, and that a colour of a screen is no ink; ``at`` is a point of it on the page."""
    record, page = walk.rewriter.record, walk.rewriter.page
    on_page = at is not None and page.holds(*at)
    for ink in inks_in(space, values):
        record.paint(ink, sure=on_page)
    told = SCREEN_COLOURS.get(space.root.family)
    if told is not None and not is_grey(space, values):
        record.tell(told, page.place_mm(*at) if at is not None and on_page else None)


def middle(walk: Walk, path: bytes) -> tuple[float, float] | None:
    """The middle of a path on the page, None where that is not known."""
    box = path_box(path, times(walk.state.matrix, walk.to_page)) if walk.placed and path else None
    return None if box is None else ((box[0] + box[2]) / 2, (box[1] + box[3]) / 2)


def line(walk: Walk, thickness: float) -> None:
    """Books the thickness of a line or of an upright box, in present units; infinite is none."""
    if thickness != float("inf"):
        record = walk.rewriter.record
        record.least_line = min(record.least_line, thickness * _inches(walk, times(walk.state.matrix, walk.to_page)))


def text(walk: Walk) -> None:
    """Books the size of text, its font where the file lacks it, and its ink as sure where it begins on the page."""
    state, record = walk.state, walk.rewriter.record
    place = times(times(state.text_matrix, state.matrix), walk.to_page)
    size = abs(state.font_size) * _inches(walk, place)
    if size > 0:
        record.least_text = min(record.least_text, size)
    missing = font_missing(state.font)
    if missing is not None:
        record.fonts[missing] = None
    on_page = walk.placed and walk.rewriter.page.holds(*moved(place, 0, 0))
    if on_page and state.text_mode != INVISIBLE and state.fill.pattern is None:
        for ink in inks_in(state.fill.space, state.fill.colour):
            record.paint(ink, sure=True)


def image(walk: Walk, drawn: Image, place: Matrix) -> None:
    """Books the inks that an image holds; surely where all of it lies on the page and nothing hides any of it."""
    assert drawn.space is not None
    record, page = walk.rewriter.record, walk.rewriter.page
    box = moved_box(place, (0.0, 0.0, 1.0, 1.0))
    inside = walk.placed and page.holds(*box[:2]) and page.holds(*box[2:]) and opaque(drawn)
    asked = [ink for ink in inks_in(drawn.space, None) if not record.inks.get(ink)]
    try:
        held, sure = inked(drawn, asked), inside and walk.state.plain
    except NotRead:
        if drawn.space.count > 1:
            raise
        held, sure = asked, False  # the renderer may know how to unpack it
    for ink in held:
        record.paint(ink, sure=sure)
    told, at = SCREEN_COLOURS.get(drawn.space.root.family), moved(place, 0.5, 0.5)
    if told is not None:
        record.tell(told, page.place_mm(*at) if walk.placed and page.holds(*at) else None)


def shading(walk: Walk, drawn: Shading) -> None:
    """Books the inks of a shading, and where its colours are no inks."""
    record = walk.rewriter.record
    for ink in drawn.inks():
        record.paint(ink, sure=False)
    told = SCREEN_COLOURS.get(drawn.space.root.family)
    if told is not None:
        record.tell(told)


def _inches(walk: Walk, matrix: Matrix) -> float:
    """What a unit of a space is in inches, where ``matrix`` leads from it to the page."""
    return scale_of(matrix) * walk.rewriter.page.unit / POINTS_PER_INCH
