"""Pages that are nothing but images of one size that fill them: their plates are the images' own pixels.

Nothing is drawn then, so dots of a screened plate stay what they are. Fills of the whole page may lie below, stencils
and overprint are followed; anything else on a page makes it one to be drawn.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from typing import Any

import numpy as np
import numpy.typing as npt
from pikepdf import Dictionary, Stream

from setupassist.art.pdf_colour import CMYK, GREY, NAMED, RGB, Family, Space, Spaces, mentions, tint, touches
from setupassist.art.pdf_content import Contents, Path, State, Step, first_state, path_box
from setupassist.art.pdf_images import Image, NotRead, Samples, image_of, opaque, plane, samples
from setupassist.art.pdf_objects import (
    Box,
    Refused,
    get,
    is_name,
    items,
    matrix_of,
    moved_box,
    name_key,
    number,
    sub,
    times,
    whole,
)
from setupassist.art.pdf_page import Page

Rows = npt.NDArray[np.uint8]

SAME_DPI, WHOLE_DPI = 0.005, 0.0003
PLAIN_STATE = frozenset({"/OP", "/op", "/OPM", "/Type", "/SA", "/LW", "/ca", "/CA", "/BM", "/SMask", "/AIS", "/TK"})
MOST_LAYERS = 64


@dataclass(frozen=True)
class Layer:
    """A fill of the whole page, or an image that fills it; ``space`` and ``colour`` are those of fill and stencil."""

    image: Image | None
    space: Space
    colour: tuple[float, ...] | None
    overprints: bool
    mode: int
    mirrored: bool = False
    upside_down: bool = False

    def touches(self, ink: str) -> bool:
        """Whether the layer changes the plate of an ink."""
        return touches(self.space, self.colour, ink, overprints=self.overprints, mode=self.mode)

    def reads(self, ink: str) -> bool:
        """Whether the plate of an ink that it touches takes anything from samples of the layer's image."""
        return self.image is not None and (self.image.stencil or mentions(self.space, ink))

    def two_level(self, ink: str) -> bool:
        """Whether the layer leaves nothing but full ink and none on the plate of an ink."""
        if not self.touches(ink):
            return True
        if self.colour is not None:
            return float(tint(self.space, self.colour, ink)) in (0.0, 1.0)
        image = self.image
        if image is None or not mentions(self.space, ink):
            return True
        if image.bits != 1:
            return False
        ends = plane(image, np.array([[[0] * self.space.count, [1] * self.space.count]], np.uint8), ink)
        return bool(np.isin(ends, (0, 255)).all())


@dataclass(frozen=True)
class Native:
    """A page of images: its size in pixels, its resolution, and its layers from the bottom."""

    columns: int
    rows: int
    dpi: float
    layers: tuple[Layer, ...]

    def two_level(self, ink: str) -> bool:
        """Whether the plate of an ink has nothing but full ink and none."""
        return all(layer.two_level(ink) for layer in self.layers)

    def bands(self, ink: str) -> Iterator[Rows]:
        """The plate of an ink from the top: packed bits where it is of two levels, else rows of ink.

        It comes as one band where several images make it up, or one that lies upside down.
        """
        packed = self.two_level(ink)
        width = (self.columns + 7) // 8 if packed else self.columns
        layers = [layer for layer in self.layers if layer.touches(ink)]
        read = [layer for layer in layers if layer.reads(ink)]
        if len(read) == 1 and not read[0].upside_down and read[0].image is not None:
            for block in samples(read[0].image):
                band = np.zeros((block.shape[0], width), np.uint8)
                for layer in layers:
                    _lay(band, layer, ink, self.columns, [block], packed=packed)
                yield band
            return
        plate = np.zeros((self.rows, width), np.uint8)
        for layer in layers:
            blocks = samples(layer.image) if layer.image is not None else ()
            _lay(plate, layer, ink, self.columns, blocks, packed=packed)
        yield plate


def _lay(plate: Rows, layer: Layer, ink: str, columns: int, blocks: Iterable[Samples], *, packed: bool) -> None:
    """Puts a layer on rows of a plate; ``blocks`` are its image's samples for them."""
    image = layer.image
    full = 255 if layer.colour is None else round(255 * float(tint(layer.space, layer.colour, ink)))
    if image is None:
        row = np.full((1, columns), full, np.uint8)
        plate[:] = np.packbits(row >= 128, axis=1) if packed else row
        return
    if not layer.reads(ink):
        plate[:] = 0
        return
    top = 0
    for block in blocks:
        count = block.shape[0]
        at = slice(top, top + count)
        if layer.upside_down:
            at = slice(plate.shape[0] - top - count, plate.shape[0] - top)
        top += count
        held = plate[at]
        if image.stencil:
            marks = (block[..., 0] == 0) != (image.decode[:2] == (1.0, 0.0))
            marks = _turned(marks, layer)
            if packed:
                bits = np.packbits(marks, axis=1)
                plate[at] = held | bits if full else held & ~bits
            else:
                plate[at] = np.where(marks, np.uint8(full), held)
        else:
            rows = _turned(np.subtract(255, plane(image, block, ink), dtype=np.uint8), layer)
            plate[at] = np.packbits(rows >= 128, axis=1) if packed else rows


def _turned(rows: Any, layer: Layer) -> Any:
    rows = rows[:, ::-1] if layer.mirrored else rows
    return rows[::-1] if layer.upside_down else rows


class _NotNative(Exception):
    pass


def native_page(page: Page, spaces: Spaces, contents: Contents) -> Native | None:
    """The page as its images' own pixels, None where it is to be drawn."""
    if page.turn or page.contents is None:
        return None
    found = _Layers(page, spaces, contents)
    try:
        found.walk(contents.of(page.object), page.resources, first_state())
    except (_NotNative, NotRead):
        return None
    layers = found.layers
    images = [layer.image for layer in layers if layer.image is not None]
    sizes = {(image.columns, image.rows) for image in images}
    if len(sizes) != 1:
        return None
    columns, rows = sizes.pop()
    width, height = page.inches()
    across, down = columns / width, rows / height
    if abs(across - down) > SAME_DPI * across or not 10 <= across <= 20_000:
        return None
    try:
        page.pixels(across)
    except Refused:
        return None
    dpi = round(across) if abs(across - round(across)) < WHOLE_DPI * across else across
    return Native(columns, rows, float(dpi), tuple(layers))


class _Layers:
    """The layers of a page, from the bottom; ``walk`` raises _NotNative at anything else."""

    def __init__(self, page: Page, spaces: Spaces, contents: Contents) -> None:
        self.page, self.spaces, self.contents = page, spaces, contents
        self.layers: list[Layer] = []

    def walk(self, steps: list[Step], resources: Any, state: State, depth: int = 0) -> None:
        """Books the layers of one stream."""
        saved: list[State] = []
        path: list[Path] = []
        for step in steps:
            name = step.operator
            if name == "q":
                saved.append(state.copy())
            elif name == "Q":
                state = saved.pop() if saved else state
            elif name == "cm" and len(step.operands) == 6:
                a, b, c, d, e, f = (number(value) for value in step.operands)
                state.matrix = times((a, b, c, d, e, f), state.matrix)
            elif name == "gs":
                _set_state(sub(resources, "/ExtGState", str(step.operands[0])), state)
            elif name in ("g", "rg", "k"):
                space = {"g": GREY, "rg": RGB, "k": CMYK}[name]
                _set_colour(state, space, step)
            elif name == "cs":
                key = str(step.operands[0])
                state.fill.space = NAMED.get(key) or self.spaces.of(sub(resources, "/ColorSpace", key), resources)
                state.fill.colour = state.fill.space.first
            elif name in ("sc", "scn"):
                _set_colour(state, state.fill.space, step)
            elif name == "path":
                path.append(step.operands[0])
            elif name in ("n", "f", "F", "f*"):
                _check_whole(b"".join(part.data for part in path), state, self.page.box)
                path = []
                if name != "n":
                    fill = state.fill
                    self.layers.append(Layer(None, fill.space, fill.colour, state.overprints_fill, state.mode))
            elif name == "Do":
                value = sub(resources, "/XObject", str(step.operands[0]))
                if not isinstance(value, Stream) or self.page.hides(get(value, "/OC")):
                    raise _NotNative
                if is_name(get(value, "/Subtype"), "/Form") and depth < 4 and get(value, "/Group") is None:
                    inner = state.copy()
                    inner.matrix = times(matrix_of(get(value, "/Matrix")), state.matrix)
                    told = get(value, "/Resources") or resources
                    self.walk(self.contents.of(value), told, inner, depth + 1)
                else:
                    self.layers.append(_image_layer(value, resources, state, self.spaces, self.page.box))
            elif name not in ("CS", "SC", "SCN", "G", "RG", "K", "BMC", "EMC", "w", ""):
                raise _NotNative
            if len(self.layers) > MOST_LAYERS:
                raise _NotNative


def _set_colour(state: State, space: Space, step: Step) -> None:
    if space.family is Family.PATTERN or any(isinstance(value, str) for value in step.operands):
        raise _NotNative
    values = tuple(number(value) for value in step.operands)
    if len(values) != space.count:
        raise _NotNative
    state.fill.space, state.fill.colour = space, values


def _set_state(told: Any, state: State) -> None:
    if not isinstance(told, Dictionary) or not {key for key, _ in items(told)} <= PLAIN_STATE:
        raise _NotNative
    opaque_ = all(number(get(told, key), 1.0) == 1 for key in ("/ca", "/CA"))
    blend, mask = get(told, "/BM"), get(told, "/SMask")
    plain = blend is None or (not isinstance(blend, list) and name_key(blend) in ("/Normal", "/Compatible"))
    if not opaque_ or not plain or not (mask is None or is_name(mask, "/None")):
        raise _NotNative
    if "/OP" in told and "/op" not in told:
        state.overprints_fill = bool(told["/OP"])
    if "/op" in told:
        state.overprints_fill = bool(told["/op"])
    if "/OPM" in told:
        state.mode = whole(told["/OPM"])


def _check_whole(path: bytes, state: State, view: Box) -> None:
    """_NotNative where a path is no upright box that covers the page."""
    if path.count(b"re") != 1 or len(path.split()) != 5:
        raise _NotNative
    box = path_box(path, state.matrix)
    if box is None or state.matrix[1] or state.matrix[2] or not _covers(box, view, 0.01, 0.01):
        raise _NotNative


def _covers(box: Box, view: Box, across: float, down: float) -> bool:
    near = box[0] <= view[0] + across and box[2] >= view[2] - across
    return near and box[1] <= view[1] + down and box[3] >= view[3] - down


def _image_layer(value: Any, resources: Any, state: State, spaces: Spaces, view: Box) -> Layer:
    if not is_name(get(value, "/Subtype"), "/Image"):
        raise _NotNative
    image = image_of(value, spaces, resources)
    a, b, c, d, _, _ = state.matrix
    box = moved_box(state.matrix, (0.0, 0.0, 1.0, 1.0))
    across, down = abs(a) / image.columns / 2, abs(d) / image.rows / 2
    if b or c or not opaque(image):
        raise _NotNative
    offsets = [abs(one - two) for one, two in zip(box, view, strict=True)]
    if max(offsets[0], offsets[2]) > across or max(offsets[1], offsets[3]) > down:
        raise _NotNative
    fill = state.fill
    space, colour = (fill.space, fill.colour) if image.space is None else (image.space, None)
    if space.root.family in (Family.RGB, Family.LAB):
        raise _NotNative
    return Layer(image, space, colour, state.overprints_fill, state.mode, mirrored=a < 0, upside_down=d < 0)
