"""The plates at pixel scale around a place: what a loupe on the film shows."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from setupassist.art.plates import Bits, PlateSet, Rows
from setupassist.art.samples import rows_of_bits
from setupassist.errors import Cancelled
from setupassist.quantities import MM_PER_INCH

Box = tuple[float, float, float, float]
BAND_BYTES = 32_000_000
BAND_ROWS = 512


@dataclass(frozen=True, eq=False)
class Crop:
    """A part of every plate, pixel for pixel.

    ``box_mm`` (x, y, width, height) is what was cut: whole pixels, nothing beyond the plates. ``levels`` holds ink
    0..255 as (rows, columns) uint8 by the plate's name.
    """

    box_mm: Box
    pixels_per_mm: float
    levels: Mapping[str, Rows]


def crop(plates: PlateSet, box_mm: Box, *, stop: Callable[[], bool] | None = None) -> Crop:
    """The part of every plate in a box (x, y, width, height in mm from the upper left corner)."""
    return crops(plates, [box_mm], stop=stop)[0]


def crops(plates: PlateSet, boxes_mm: Sequence[Box], *, stop: Callable[[], bool] | None = None) -> tuple[Crop, ...]:
    """Several such parts in one pass, which ends with the lowest row needed; memory holds a band and the parts.

    Boxes are moved in by what lies beyond the plates where they are smaller than the plates, else cut. Raises
    ValueError for plates without a resolution or without a box, InputFault where plates differ in size, Cancelled
    where ``stop`` says so between bands.
    """
    dpi = plates.dpi
    if dpi is None or not plates.plates or not boxes_mm:
        raise ValueError("a loupe needs plates with a resolution and a place")
    first = plates.plates[0]
    scale = dpi / MM_PER_INCH
    spans = [
        (*_span(y, height, first.rows, scale), *_span(x, width, first.columns, scale))
        for x, y, width, height in boxes_mm
    ]
    parts = [
        [np.empty((bottom - top, right - left), np.uint8) for _ in plates.plates] for top, bottom, left, right in spans
    ]
    lowest, at = max(span[1] for span in spans), 0
    for band in plates.read_bits(plates.band_rows(BAND_BYTES, most=BAND_ROWS)):
        if stop is not None and stop():
            raise Cancelled
        high = len(band[0])
        for (top, bottom, left, right), levels in zip(spans, parts, strict=True):
            start, end = max(top, at), min(bottom, at + high)
            if start >= end:
                continue
            for plate, rows, part in zip(plates.plates, band, levels, strict=True):
                part[start - top : end - top] = _columns(rows[start - at : end - at], left, right, plate.two_level)
        at += high
        if at >= lowest:
            break
    return tuple(
        Crop(
            box_mm=(left / scale, top / scale, (right - left) / scale, (bottom - top) / scale),
            pixels_per_mm=scale,
            levels={plate.name: part for plate, part in zip(plates.plates, levels, strict=True)},
        )
        for (top, bottom, left, right), levels in zip(spans, parts, strict=True)
    )


def cut_out(kept: Crop, plates: PlateSet, box_mm: Box) -> Crop | None:
    """The same part of the plates as ``crop`` would read, out of a larger one; None where that does not hold it all."""
    first, scale = plates.plates[0], kept.pixels_per_mm
    x, y, width, height = box_mm
    top, bottom = _span(y, height, first.rows, scale)
    left, right = _span(x, width, first.columns, scale)
    above, beside = round(kept.box_mm[1] * scale), round(kept.box_mm[0] * scale)
    levels = {
        name: part[top - above : bottom - above, left - beside : right - beside] for name, part in kept.levels.items()
    }
    inside = top >= above and left >= beside
    if not inside or any(part.shape != (bottom - top, right - left) for part in levels.values()):
        return None
    return Crop((left / scale, top / scale, (right - left) / scale, (bottom - top) / scale), scale, levels)


def box_around(place_mm: tuple[float, float], side_mm: float) -> Box:
    """A square box with the place in its middle."""
    return place_mm[0] - side_mm / 2, place_mm[1] - side_mm / 2, side_mm, side_mm


def _span(start_mm: float, length_mm: float, pixels: int, scale: float) -> tuple[int, int]:
    """First pixel and the one after the last of a length along one side, within the plate, at least one."""
    count = min(pixels, max(1, math.ceil(length_mm * scale - 1e-6)))
    start = min(max(0, math.floor(start_mm * scale + 1e-6)), pixels - count)
    return start, start + count


def _columns(rows: Bits | Rows, left: int, right: int, two_level: bool) -> Rows:
    if not two_level:
        return rows[:, left:right]
    first = left // 8
    unpacked = rows_of_bits(rows[:, first : -(-right // 8)], right - first * 8)
    return unpacked[:, left - first * 8 :]
