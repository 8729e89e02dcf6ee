"""Small pictures of the plates, and of the art on its garment.

The garment picture is a simple one, not a colour promise: each ink is a flat colour laid over what is already there,
as much as its tone says. It knows nothing of film thickness, light cloth shining through, or dot gain.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Sequence
from functools import cache

import numpy as np
import numpy.typing as npt

from setupassist.art.plates import PlateSet
from setupassist.colour import linear_to_srgb, parse_colour, srgb_to_linear
from setupassist.errors import Cancelled

Thumb = npt.NDArray[np.uint8]
Picture = npt.NDArray[np.uint8]
CropBox = tuple[int, int, int, int]

BAND_ROWS = 256
BAND_BYTES = 64_000_000
SEEN_INK = 12
ROWS_AT_ONCE = 64
LIGHT_STEPS = 65_535
FULL_INK = 255
BITS = 8  # pixels of a byte of packed ink
NEAR = 1.35  # how much coarser a picture may get for cells of whole bytes


def thumbnails(
    plates: PlateSet, *, longest_px: int = 700, stop: Callable[[], bool] | None = None
) -> list[npt.NDArray[np.uint8]]:
    """Mean ink 0..255 of every plate, one uint8 array (rows, columns) each, the longest side ``longest_px`` at most.

    Every plate is averaged over square cells of whole pixels (the last row and column of cells may be smaller), read
    in bands; memory holds one band and the small pictures. Plates of other sizes keep their own scale.
    Raises Cancelled where ``stop`` says so between bands.
    """
    if longest_px < 1:
        raise ValueError("longest_px is at least 1")
    averages = [_Average(plate.rows, plate.columns, longest_px) for plate in plates.plates]
    whole_bytes = all(average.cell % BITS == 0 for average in averages)
    rows_of_a_band = plates.band_rows(BAND_BYTES, most=BAND_ROWS)
    bands = plates.read_bits(rows_of_a_band) if whole_bytes else plates.read(rows_of_a_band)
    for band in bands:
        if stop is not None and stop():
            raise Cancelled()
        for plate, average, rows in zip(plates.plates, averages, band, strict=True):
            if whole_bytes and plate.two_level:
                average.take_bits(rows)
            else:
                average.take(rows)
    return [average.picture() for average in averages]


def cell_px(longest: int, longest_px: int) -> int:
    """Pixels of a cell's side: as few as the picture's size allows, whole bytes of packed ink where that is near."""
    least = max(1, math.ceil(longest / longest_px))
    bytewise = math.ceil(least / BITS) * BITS
    return bytewise if bytewise <= NEAR * least else least


class _Average:
    """Running sums of ink over square cells, rows taken from the top."""

    def __init__(self, rows: int, columns: int, longest_px: int) -> None:
        self.cell = cell_px(max(rows, columns), longest_px)
        self.columns = columns
        self.sums = np.zeros((math.ceil(rows / self.cell), math.ceil(columns / self.cell)), dtype=np.float64)
        self.rows = rows
        self.at = 0

    def take(self, rows: npt.NDArray[np.uint8]) -> None:
        """The next rows of ink 0..255."""
        for at, cells in self._by_cell(rows):
            self.sums[at] += np.add.reduceat(cells, np.arange(0, self.columns, self.cell))

    def take_bits(self, packed: npt.NDArray[np.uint8]) -> None:
        """The next rows of packed ink; cells are whole bytes wide."""
        starts = np.arange(0, packed.shape[1], self.cell // BITS)
        for at, counts in self._by_cell(np.bitwise_count(packed)):
            self.sums[at] += FULL_INK * np.add.reduceat(counts, starts)

    def _by_cell(self, rows: npt.NDArray[np.uint8]) -> Iterator[tuple[int, npt.NDArray[np.uint32]]]:
        """(row of cells, sums of the rows that fall in it) from the top."""
        rows = rows[: self.rows - self.at]
        while rows.shape[0]:
            row = self.at // self.cell
            count = min((row + 1) * self.cell - self.at, rows.shape[0])
            yield row, np.add.reduce(rows[:count], axis=0, dtype=np.uint32)
            self.at += count
            rows = rows[count:]

    def picture(self) -> Thumb:
        """The means."""
        high = np.minimum(self.cell, self.rows - np.arange(self.sums.shape[0]) * self.cell)
        wide = np.minimum(self.cell, self.columns - np.arange(self.sums.shape[1]) * self.cell)
        return np.asarray(np.rint(self.sums / (high[:, None] * wide[None, :])), dtype=np.uint8)


def union_thumb(thumbs: Sequence[Thumb]) -> Thumb:
    """The most ink of any of them in every cell: what a screen without a plate of its own carries, choke left out."""
    return np.asarray(np.max(np.stack(list(thumbs)), axis=0), dtype=np.uint8)


def art_crop(thumbs: Sequence[Thumb], *, margin_share: float = 0.06) -> CropBox:
    """(top, bottom, left, right) in cells around all ink of all plates, with a margin; the whole where none has ink.

    The margin is a share of the art's longer side. All thumbs have one shape.
    """
    if len({thumb.shape for thumb in thumbs}) != 1:
        raise ValueError("the small pictures differ in shape")
    rows, columns = thumbs[0].shape
    inked = np.zeros((rows, columns), dtype=bool)
    for thumb in thumbs:
        inked |= thumb >= SEEN_INK
    down, along = np.flatnonzero(inked.any(axis=1)), np.flatnonzero(inked.any(axis=0))
    if down.size == 0:
        return 0, rows, 0, columns
    margin = max(1, round(margin_share * max(down[-1] - down[0] + 1, along[-1] - along[0] + 1)))
    return (
        max(0, int(down[0]) - margin),
        min(rows, int(down[-1]) + 1 + margin),
        max(0, int(along[0]) - margin),
        min(columns, int(along[-1]) + 1 + margin),
    )


def box_crop(
    shape: tuple[int, int], box_share: tuple[float, float, float, float], *, margin_share: float = 0.06
) -> CropBox:
    """(top, bottom, left, right) in cells around a box (x, y, width, height) given as shares of the plate's size.

    For sets with registration marks, which stand outside the art box.
    """
    rows, columns = shape
    x, y, width, height = box_share
    margin = margin_share * max(width * columns, height * rows)
    top, left = math.floor(y * rows - margin), math.floor(x * columns - margin)
    bottom, right = math.ceil((y + height) * rows + margin), math.ceil((x + width) * columns + margin)
    top, left = min(max(0, top), rows - 1), min(max(0, left), columns - 1)
    return top, max(top + 1, min(rows, bottom)), left, max(left + 1, min(columns, right))


def garment_picture(
    thumbs: Sequence[Thumb],
    colours_in_print_order: Sequence[str],
    cloth: str,
    *,
    opacities: Sequence[float] | None = None,
    crop: CropBox | None = None,
) -> Picture:
    """SRGB picture (rows, columns, 3) uint8 of the art on cloth of that colour.

    ``thumbs`` are ink amounts in print order with a colour each. Where an ink lies with amount a (times its opacity,
    1 by default) the picture moves that far from what is there to the ink's colour, in linear light. So a base shows
    only where nothing lies on it. A simple picture, not a colour promise.
    """
    if not thumbs or len(thumbs) != len(colours_in_print_order):
        raise ValueError("each small picture needs one colour")
    if len({thumb.shape for thumb in thumbs}) != 1:
        raise ValueError("the small pictures differ in shape")
    shares = [1.0] * len(thumbs) if opacities is None else list(opacities)
    top, bottom, left, right = crop if crop is not None else (0, thumbs[0].shape[0], 0, thumbs[0].shape[1])
    inks = [
        (thumb[top:bottom, left:right], _linear(colour).astype(np.float32), _amounts(share))
        for thumb, colour, share in zip(thumbs, colours_in_print_order, shares, strict=True)
    ]
    picture = np.empty((bottom - top, right - left, 3), dtype=np.uint8)
    ground = _linear(cloth).astype(np.float32)
    for first in range(0, bottom - top, ROWS_AT_ONCE):
        rows = slice(first, first + ROWS_AT_ONCE)
        lights = [np.full(picture[rows].shape[:2], channel, dtype=np.float32) for channel in ground]
        for thumb, colour, amounts in inks:
            if thumb[rows].any():
                amount = amounts[thumb[rows]]
                for light, channel in zip(lights, colour, strict=True):
                    np.add(light, amount * (channel - light), out=light)
        for at, light in enumerate(lights):
            picture[rows, :, at] = _bytes_of_light()[np.rint(light * LIGHT_STEPS).astype(np.intp)]
    return picture


def one_plate_picture(thumb: Thumb, *, crop: CropBox | None = None) -> Picture:
    """The plate as its film shows it: sRGB (rows, columns, 3) uint8, black ink on white."""
    top, bottom, left, right = crop if crop is not None else (0, thumb.shape[0], 0, thumb.shape[1])
    grey = 255 - thumb[top:bottom, left:right]
    return np.repeat(grey[:, :, None], 3, axis=2)


def _amounts(share: float) -> npt.NDArray[np.float32]:
    """How much of an ink lies where its small picture holds 0..255."""
    return np.asarray(np.arange(256) * (min(max(share, 0.0), 1.0) / 255.0), dtype=np.float32)


@cache
def _bytes_of_light() -> npt.NDArray[np.uint8]:
    """SRGB bytes of linear light in steps that are finer than any byte."""
    return np.asarray(np.rint(linear_to_srgb(np.linspace(0.0, 1.0, LIGHT_STEPS + 1)) * 255), dtype=np.uint8)


def _linear(colour: str) -> npt.NDArray[np.float64]:
    return srgb_to_linear(np.array(parse_colour(colour), dtype=np.float64) / 255)
