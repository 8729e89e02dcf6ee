"""Shadings of a PDF as greys of one plate.

Functions of one input become a table of greys. A shading whose function has two inputs becomes a picture: the
renderer's own way between samples is not the straight one.
"""

from __future__ import annotations

from typing import Any

import numpy as np
import numpy.typing as npt
import pikepdf
from pikepdf import Array, Dictionary, Name, Stream

from setupassist.art.pdf_colour import PROCESS, Family, Space, inks_in, tint
from setupassist.art.pdf_functions import NoFunction, function_of
from setupassist.art.pdf_objects import (
    Matrix,
    Refused,
    as_key,
    get,
    items,
    matrix_of,
    numbers,
    stream_bytes,
    times,
    whole,
)

FUNCTION_BASED, AXIAL, RADIAL = 1, 2, 3
STEPS = 1024
PICTURE_SIDE = 1024
MOST_MESH_BYTES = 1 << 26

Rows = npt.NDArray[np.uint8]


class Shading:
    """A shading and its colour space; ``value`` is its dictionary or stream."""

    def __init__(self, value: Any, space: Space) -> None:
        self.value, self.space = value, space
        self.kind = whole(get(value, "/ShadingType"))
        domain = numbers(get(value, "/Domain"))
        self.domain = domain if len(domain) in (2, 4) else [0.0, 1.0, 0.0, 1.0]

    def tints(self, ink: str) -> npt.NDArray[np.float64]:
        """Tints of an ink along the one input (STEPS,). Raises NoFunction."""
        at = np.linspace(self.domain[0], self.domain[1], STEPS)
        colour = function_of(get(self.value, "/Function"))([at])
        if len(colour) < self.space.count:
            raise NoFunction
        return np.clip(np.asarray(tint(self.space, colour, ink), float) * np.ones(STEPS), 0, 1)

    def inks(self) -> list[str]:
        """Inks that the shading can hold."""
        known = inks_in(self.space, None)
        if self.kind not in (AXIAL, RADIAL):
            return known
        try:
            return [ink for ink in known if self.tints(ink).max() > 0]
        except (NoFunction, Refused, pikepdf.PdfError, ValueError):
            return known

    def plate(self, document: Any, ink: str) -> Any:
        """The shading as greys of one plate."""
        value = self.value
        if isinstance(value, Stream):
            if len(stream_bytes(value, MOST_MESH_BYTES)) == 0:
                raise Refused("art.damage.damaged")
            made: Any = Stream(document, value.read_raw_bytes())
        else:
            made = Dictionary()
        for key, part in items(value):
            if key not in ("/Length", "/ColorSpace", "/Function", "/Background"):
                made[as_key(key)] = part
        background = numbers(get(value, "/Background"))
        if len(background) == self.space.count:
            made.Background = Array([1 - min(1.0, max(0.0, float(tint(self.space, background, ink))))])
        try:
            if get(value, "/Function") is None or self.kind == FUNCTION_BASED:
                raise NoFunction
            made.Function = self._table(document, ink)
            made.ColorSpace = Name.DeviceGray
        except NoFunction:
            made.ColorSpace = grey_of(document, self.space, ink)
            if get(value, "/Function") is not None:
                made.Function = value.Function
        return document.make_indirect(made)

    def _table(self, document: Any, ink: str) -> Any:
        samples = np.rint((1 - self.tints(ink)) * 65535).astype(">u2").tobytes()
        return document.make_indirect(
            Stream(
                document,
                samples,
                FunctionType=0,
                Domain=[round(edge, 6) for edge in self.domain[:2]],
                Range=[0, 1],
                Size=[STEPS],
                BitsPerSample=16,
            )
        )

    def picture(self, document: Any, ink: str) -> tuple[Any, Matrix]:
        """A shading of two inputs as a picture, and the matrix that puts the unit square in its place.

        Raises NoFunction.
        """
        x0, x1, y0, y1 = self.domain if len(self.domain) == 4 else (0.0, 1.0, 0.0, 1.0)
        side = PICTURE_SIDE
        across, down = (np.arange(side) + 0.5) / side, 1 - (np.arange(side) + 0.5) / side
        grid_x, grid_y = np.meshgrid(x0 + across * (x1 - x0), y0 + down * (y1 - y0))
        colour = function_of(get(self.value, "/Function"))([grid_x, grid_y])
        if len(colour) < self.space.count:
            raise NoFunction
        tints = np.clip(np.asarray(tint(self.space, colour, ink), float) * np.ones((side, side)), 0, 1)
        rows = np.rint(255 * (1 - tints)).astype(np.uint8)
        image = grey_picture(document, rows)
        image.Interpolate = True
        place: Matrix = (x1 - x0, 0.0, 0.0, y1 - y0, x0, y0)
        return document.make_indirect(image), times(place, matrix_of(get(self.value, "/Matrix")))


def grey_picture(document: Any, rows: Rows) -> Any:
    """An image of greys (rows, columns)."""
    return Stream(
        document, rows.tobytes(), Type=Name.XObject, Subtype=Name.Image, Width=rows.shape[1], Height=rows.shape[0],
        BitsPerComponent=8, ColorSpace=Name.DeviceGray,
    )  # fmt: skip


def grey_of(document: Any, space: Space, ink: str) -> Any:
    """A colour space in which the components of ``space`` show as greys of one plate."""
    count = space.count
    part: int | None = None
    if space.family is Family.ALL:
        part = 0
    elif space.family is Family.INKS and ink in space.inks:
        part = space.inks.index(ink)
    elif space.family is Family.CMYK and ink in PROCESS:
        part = PROCESS.index(ink)
    if part is not None:
        grey = f"{count - 1 - part} index 1 exch sub"
    elif space.family is Family.GREY and ink == PROCESS[3]:
        grey = "dup"
    elif space.family is Family.RGB and ink in PROCESS:
        most = "2 index 2 index 2 copy lt {exch} if pop 1 index 2 copy lt {exch} if pop"
        at = PROCESS.index(ink)
        grey = most if at == 3 else f"{most} dup 0 eq {{pop 1}} {{{3 - at} index exch div}} ifelse"
    else:
        grey = "1"
    program = "{" + f"{grey} {count + 1} 1 roll" + " pop" * count + "}"
    low, high = space.spans
    domain = [float(edge) for pair in zip(low, high, strict=True) for edge in pair]
    function = document.make_indirect(Stream(document, program.encode(), FunctionType=4, Domain=domain, Range=[0, 1]))
    names = Array([Name(f"/P{index}") for index in range(count)])
    return document.make_indirect(Array([Name.DeviceN, names, Name.DeviceGray, function]))
