"""Tilings, shadings and drawn glyphs of a PDF on one plate.

The renderer rounds the step of a tiling to whole pixels, so that cells drift: where a path is filled, the cells are
written out one by one within the path instead. A shading of two inputs is put there as a picture.
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Any

from pikepdf import Array, Dictionary, Name, Stream

from setupassist.art import pdf_booking
from setupassist.art.pdf_colour import touches
from setupassist.art.pdf_content import Ink, State, path_box
from setupassist.art.pdf_functions import NoFunction
from setupassist.art.pdf_objects import (
    SAME,
    Box,
    Matrix,
    Refused,
    as_key,
    box_of,
    dictionary,
    get,
    inverse,
    items,
    matrix_of,
    moved_box,
    number,
    numbers,
    overlap,
    times,
    whole,
)
from setupassist.art.pdf_shading import FUNCTION_BASED, Shading

if TYPE_CHECKING:
    from setupassist.art.pdf_walk import Walk

TILING, SHADING = 1, 2
COLOURED, UNCOLOURED = 1, 2
MOST_CELLS = 20_000
MOST_CELLS_AT_ONCE = 2_000
"""Cells that every letter of a text filled with a tiling draws."""
MOST_GLYPHS = 4096
NOT_KEPT = frozenset({"/Length", "/Filter", "/DecodeParms", "/Resources", "/PatternType", "/PaintType", "/TilingType"})
NOT_KEPT |= {"/XStep", "/YStep", "/Matrix", "/Type"}


def _kind(side: Ink) -> int:
    return whole(get(side.pattern, "/PatternType"), TILING)


def _coloured(side: Ink) -> bool:
    return whole(get(side.pattern, "/PaintType"), COLOURED) != UNCOLOURED


def _shading(walk: Walk, side: Ink) -> Shading:
    value = get(side.pattern, "/Shading")
    return Shading(value, walk.rewriter.space(get(value, "/ColorSpace"), walk.resources))


def touched(walk: Walk, side: Ink, *, overprints: bool) -> bool:
    """Whether painting with a pattern changes the plate; without a plate its inks are booked."""
    rewriter, ink = walk.rewriter, walk.rewriter.ink
    if side.pattern is None:
        return False
    if _kind(side) == SHADING:
        if not isinstance(get(side.pattern, "/Shading"), Dictionary | Stream):
            return False
        shading = _shading(walk, side)
        if ink is None:
            pdf_booking.shading(walk, shading)
            return True
        return touches(shading.space, None, ink, overprints=overprints, mode=0)
    if not isinstance(side.pattern, Stream) or rewriter.within(side.pattern):
        return False
    if not _coloured(side):
        if side.space.base is None:
            return False
        if ink is None:
            pdf_booking.colour(walk, side.space.base, side.colour, None)
            return True
        return touches(side.space.base, side.colour, ink, overprints=overprints, mode=walk.state.mode)
    if ink is None:
        _cell(walk, side)
    return True  # what it is made of decides


def is_drawn_in_room(walk: Walk, side: Ink) -> bool:
    """Whether filling a path with a pattern goes by clipping to the path and drawing within, where that can be done."""
    if side.pattern is None:
        return False
    return _kind(side) == TILING or _shading(walk, side).kind == FUNCTION_BASED


def in_room(walk: Walk, side: Ink, path: bytes, rule: bytes) -> bytes | None:
    """Steps that fill a path with a tiling or a shading of two inputs; None where that cannot be done.

    Without a plate nothing is written, and what cannot be done is told.
    """
    if walk.rewriter.ink is None:
        if _kind(side) == TILING:
            _check_cells(walk, side, path)
        return b""
    back = inverse(walk.state.matrix)
    if back is None:
        return b""
    place = times(matrix_of(get(side.pattern, "/Matrix")), back)
    tiled = _kind(side) == TILING
    inside = _tiles(walk, side, path) if tiled else _function_shading(walk, _shading(walk, side))
    if inside is None:
        return None
    return b"q\n" + path + b"W" + rule + b" n\n" + _cm(place) + inside + b"Q\n"


def painted_shading(walk: Walk, shading: Shading, ink: str) -> bytes:
    """Steps that paint a shading over the whole clip."""
    if shading.kind == FUNCTION_BASED:
        drawn = _function_shading(walk, shading)
        if drawn is not None:
            return b"q\n" + drawn + b"Q\n"
    made = shading.plate(walk.rewriter.document, ink)
    return walk.put("/Shading", made) + b" sh\n"


def _function_shading(walk: Walk, shading: Shading) -> bytes | None:
    try:
        picture, place = shading.picture(walk.rewriter.document, walk.rewriter.ink or "")
    except NoFunction:
        return None
    return _cm(place) + walk.put("/XObject", picture) + b" Do\n"


def as_colour(walk: Walk, side: Ink, *, stroke: bool) -> bytes:
    """Steps that choose a pattern as colour, for text, strokes and stencils."""
    rewriter, pattern = walk.rewriter, side.pattern
    ink = rewriter.ink or ""
    set_, use = (b" CS\n", b" SCN\n") if stroke else (b" cs\n", b" scn\n")
    if _kind(side) == SHADING:
        made = dictionary({key: value for key, value in items(pattern) if key not in ("/Shading", "/ExtGState")})
        made.Shading = _shading(walk, side).plate(rewriter.document, ink)
        return b"/Pattern" + set_ + walk.put("/Pattern", rewriter.document.make_indirect(made)) + use
    if not isinstance(pattern, Stream) or rewriter.within(pattern):
        return b""
    cell = _one_cell_of_all(walk, side)
    if cell is None:
        cell = _cell(walk, side)
        cell.XStep, cell.YStep = number(get(pattern, "/XStep")), number(get(pattern, "/YStep"))
    cell.PatternType, cell.TilingType = TILING, 1
    cell.PaintType = COLOURED if _coloured(side) else UNCOLOURED
    cell.Matrix = Array([round(part, 6) for part in matrix_of(get(pattern, "/Matrix"))])
    name = walk.put("/Pattern", rewriter.document.make_indirect(cell))
    if _coloured(side) or side.space.base is None:
        return b"/Pattern" + set_ + name + use
    space = walk.put("/ColorSpace", Array([Name.Pattern, Name.DeviceGray]), ("grey pattern",))
    return space + set_ + b"%.5g " % _grey(walk, side) + name + use


def _grey(walk: Walk, side: Ink) -> float:
    assert side.space.base is not None
    return walk.grey(Ink(side.space.base, side.colour)) or 0.0


def _cell(walk: Walk, side: Ink) -> Any:
    """The cell of a tiling written anew, with what a form needs."""
    state = State(Ink(), Ink(), walk.state.overprints_fill, walk.state.overprints_stroke, walk.state.mode)
    pattern = side.pattern
    coloured = _coloured(side)
    if not coloured and side.space.base is not None:
        # an uncoloured cell takes the colour that it is painted with
        state.fill, state.stroke = Ink(side.space.base, side.colour), Ink(side.space.base, side.colour)
        state.overprints_fill = state.overprints_stroke = False
    resources = get(pattern, "/Resources") or walk.resources
    walk.rewriter.check_work()
    made = walk.rewriter.rewritten(pattern, resources, state, SAME, placed=False, fresh=coloured)
    for key in NOT_KEPT - {"/Length", "/Filter", "/DecodeParms", "/Resources"}:
        if key in made:
            del made[key]
    return made


Cells = tuple[tuple[int, int], tuple[int, int]]
"""First and last column, first and last row."""


def _cells(side: Ink, area: Box | None) -> Cells | None:
    """The cells that can show in an area of the stream's first space; None where there is none."""
    pattern = side.pattern
    box = box_of(get(pattern, "/BBox"))
    step_x, step_y = abs(number(get(pattern, "/XStep"))), abs(number(get(pattern, "/YStep")))
    back = inverse(matrix_of(get(pattern, "/Matrix")))
    if box is None or not step_x or not step_y or back is None or area is None:
        return None
    area = moved_box(back, area)
    columns, rows = _span(area, box, 0, step_x), _span(area, box, 1, step_y)
    return (columns, rows) if columns[0] <= columns[1] and rows[0] <= rows[1] else None


def _shown(walk: Walk, path: bytes) -> Box | None:
    """The area that a path can show, in the stream's first space."""
    area = path_box(path, walk.state.matrix)
    return area if area is None or walk.room is None else overlap(area, walk.room)


def repeats_exactly(walk: Walk, side: Ink) -> bool:
    """Whether a tiling as a colour of text, strokes and stencils keeps its step: all its cells are drawn as one."""
    if _kind(side) != TILING or side.inherited:
        return False
    cells = _cells(side, walk.room)
    return cells is not None and _count(cells) <= MOST_CELLS_AT_ONCE


def _one_cell_of_all(walk: Walk, side: Ink) -> Any:
    """A cell so large that it is drawn once, with all cells in it that can show; None where that cannot be done."""
    if not repeats_exactly(walk, side):
        return None
    cells = _cells(side, walk.room)
    assert cells is not None
    every = _every(walk, side, cells)
    made = Stream(walk.rewriter.document, b"/C Do\n", BBox=every.BBox)
    left, bottom, right, top = numbers(every.BBox)
    made.XStep, made.YStep = right - left, top - bottom
    made.Resources = Dictionary(XObject=Dictionary(C=every))
    return made


def _count(cells: Cells) -> int:
    (left, right), (low, high) = cells
    return (right - left + 1) * (high - low + 1)


def _check_cells(walk: Walk, side: Ink, path: bytes) -> None:
    """Tells where a path shows too many cells of a tiling for them to be drawn one by one."""
    cells = _cells(side, _shown(walk, path))
    if cells is not None and _count(cells) > MOST_CELLS:
        walk.rewriter.record.tell("art.pdf.note-fine-tiling")


def _tiles(walk: Walk, side: Ink, path: bytes) -> bytes | None:
    """Steps that draw every cell that a path can show, in the space of the pattern; None where there are too many."""
    cells = _cells(side, _shown(walk, path))
    if cells is None:
        return b""
    if _count(cells) > MOST_CELLS:
        return None
    every = _every(walk, side, cells)
    if not walk.state.plain:
        every.Group = Dictionary(S=Name.Transparency, CS=Name.DeviceGray)
    colour = b""
    if not _coloured(side):
        grey = _grey(walk, side)
        colour = b"%.5g g %.5g G\n" % (grey, grey)
    return colour + walk.put("/XObject", every) + b" Do\n"


def _every(walk: Walk, side: Ink, cells: Cells) -> Any:
    """A form that draws some cells of a tiling, in the space of the pattern."""
    pattern, document, (columns, rows) = side.pattern, walk.rewriter.document, cells
    step_x, step_y = abs(number(get(pattern, "/XStep"))), abs(number(get(pattern, "/YStep")))
    box = box_of(get(pattern, "/BBox"))
    assert box is not None
    before, walk.rewriter.weight = walk.rewriter.weight, 0
    cell = _cell(walk, side)
    walk.rewriter.weight = before + _count(cells) * (walk.rewriter.weight + 1)
    walk.rewriter.check_work()
    cell.Type, cell.Subtype = Name.XObject, Name.Form
    steps_x = [column * step_x for column in range(columns[0], columns[1] + 1)]
    row_box = (steps_x[0] + box[0], box[1], steps_x[-1] + box[2], box[3])
    row = _form(document, _draws([(x, 0.0) for x in steps_x]), document.make_indirect(cell), row_box)
    places = [(0.0, line * step_y) for line in range(rows[0], rows[1] + 1)]
    whole_box = (row_box[0], places[0][1] + box[1], row_box[2], places[-1][1] + box[3])
    return _form(document, _draws(places), row, whole_box)


def _span(area: Box, cell: Box, axis: int, step: float) -> tuple[int, int]:
    """First and last cell along an axis that reach into an area."""
    first = math.ceil((area[axis] - cell[axis + 2]) / step - 1e-9)
    last = math.floor((area[axis + 2] - cell[axis]) / step + 1e-9)
    return first, last


def _draws(places: list[tuple[float, float]]) -> bytes:
    return b"".join(b"q 1 0 0 1 %.6f %.6f cm /C Do Q\n" % place for place in places)


def _form(document: Any, body: bytes, drawn: Any, box: Box) -> Any:
    made = Stream(document, body, Type=Name.XObject, Subtype=Name.Form, BBox=Array([round(side, 6) for side in box]))
    made.Resources = Dictionary(XObject=Dictionary(C=drawn))
    return document.make_indirect(made)


def _cm(matrix: Matrix) -> bytes:
    return b"%.9g %.9g %.9g %.9g %.9g %.9g cm\n" % matrix


def glyphs(walk: Walk, font: Any, key: tuple[Any, ...]) -> tuple[Any, bool]:
    """A font of drawn glyphs written anew as it looks in the present state, and whether glyphs set own colours."""
    rewriter = walk.rewriter
    if key in rewriter.images:
        made, coloured = rewriter.images[key]
        return made, coloured
    procedures = get(font, "/CharProcs")
    made, new, resources, coloured = Dictionary(), Dictionary(), Dictionary(), False
    for part, value in items(font):
        made[as_key(part)] = value
    told = get(font, "/Resources") or walk.resources
    plain = False
    for count, (name, glyph) in enumerate(items(procedures)):
        if count >= MOST_GLYPHS:
            raise Refused("art.pdf.too-heavy")
        if not isinstance(glyph, Stream) or rewriter.within(glyph):
            continue
        steps = rewriter.contents.of(glyph)
        if any(b"d1" in step.raw.split() for step in steps[:2]):
            new[as_key(name)], plain = glyph, True
            continue
        coloured = True
        drawn = rewriter.rewritten(glyph, told, walk.state.copy(), SAME, placed=False)
        for kind, held in items(drawn.Resources):
            _merge(resources, kind, held)
        del drawn["/Resources"]
        new[as_key(name)] = rewriter.document.make_indirect(drawn)
    for kind, held in items(told) if plain else ():
        _merge(resources, kind, held)
    made.CharProcs, made.Resources = new, resources
    made = rewriter.document.make_indirect(made)
    rewriter.kept.append(font)
    rewriter.images[key] = made, coloured
    return made, coloured


def _merge(resources: Any, kind: str, held: Any) -> None:
    if not isinstance(held, Dictionary):
        return
    if get(resources, kind) is None:
        resources[as_key(kind)] = Dictionary()
    for name, value in items(held):
        get(resources, kind)[as_key(name)] = value
