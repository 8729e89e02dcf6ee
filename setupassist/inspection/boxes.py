"""Cells of a plate that are art: lone specks left out."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import numpy.typing as npt

from setupassist.inspection.bits import pack, round_about, unpack
from setupassist.inspection.grid import Grid
from setupassist.inspection.maps import islands_of
from setupassist.inspection.planes import PackedPlate

ALONE_MM = 2.0  # a speck has no other ink this near; the dots of the coarsest halftone do
SPECK_MM = 0.3


def art_cells(plate: PackedPlate) -> npt.NDArray[np.bool_]:
    """Cells that hold ink of 5 % and more, without specks."""
    grid, cells = plate.grid, plate.occupied()
    if not cells.any():
        return cells
    reach = max(1, round(ALONE_MM * grid.cells_per_mm / 2))
    groups = islands_of(unpack(round_about(pack(cells), reach), cells.shape[1]))
    speck = (SPECK_MM * grid.pixels_per_mm) ** 2
    small = 2 * reach + 1 + max(2, round(SPECK_MM * grid.cells_per_mm) + 1)
    lone: list[tuple[slice, slice]] = []
    for place in groups:
        if max(place[0].stop - place[0].start, place[1].stop - place[1].start) <= small and (
            plate.fractions(place[0])[:, place[1]].sum() * grid.full <= speck
        ):
            lone.append(place)
    without = cells.copy()
    for place in lone:
        without[place] = False
    return without if without.any() else cells


def joined_box(boxes: Sequence[tuple[int, int, int, int] | None]) -> tuple[int, int, int, int] | None:
    """The smallest box around boxes given as left, top, right, bottom; None where there is none."""
    held = [box for box in boxes if box is not None]
    if not held:
        return None
    left, top, right, bottom = zip(*held, strict=True)
    return min(left), min(top), max(right), max(bottom)


def mm_box(box: tuple[int, int, int, int] | None, grid: Grid) -> tuple[float, float, float, float] | None:
    """x, y, width, height in mm of left, top, right, bottom in pixels."""
    if box is None:
        return None
    left, top, right, bottom = (side / grid.pixels_per_mm for side in box)
    return left, top, right - left, bottom - top
