"""The grid that a set is measured on: pixels, cells, tiles and strips, and ink counted by cell."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from setupassist.inspection.bits import WORD, Plane
from setupassist.quantities import MM_PER_INCH

Cells = npt.NDArray[np.uint16]

MOST_CELLS, MOST_CELLS_OF_ALL, LEAST_MOST_CELLS = 4_000_000, 36_000_000, 1_000_000
TILE_CELLS = 8
STRIP_CELLS = 64
COARSEST_CELL = 128  # 128 x 128 pixels still count in 16 bits
CELL_MM = 0.34  # 8 pixels at 600 dpi: finer than any printable dot row, coarse enough to keep for a whole plate


@dataclass(frozen=True)
class Grid:
    """Pixels of a plate in cells of ``cell`` x ``cell`` pixels, tiles of 8 x 8 cells and strips of 64 rows of cells.

    ``words`` are the packed words a row; plates are padded with paper to whole tiles and one more across, so that what
    is moved sideways falls on paper, and to whole strips down.
    """

    rows: int
    columns: int
    dpi: float
    cell: int
    words: int
    strips: int

    @property
    def pixels_per_mm(self) -> float:
        """Pixels a millimetre."""
        return self.dpi / MM_PER_INCH

    @property
    def cells_per_mm(self) -> float:
        """Cells a millimetre."""
        return self.pixels_per_mm / self.cell

    @property
    def full(self) -> int:
        """Pixels of a cell."""
        return self.cell * self.cell

    @property
    def cell_columns(self) -> int:
        """Cells a row, padding included."""
        return self.words * WORD // self.cell

    @property
    def cell_rows(self) -> int:
        """Rows of cells, padding included."""
        return self.strips * STRIP_CELLS

    @property
    def plane_rows(self) -> int:
        """Rows of pixels of a packed plane, padding included."""
        return self.cell_rows * self.cell

    @property
    def plane_bytes(self) -> int:
        """Bytes of a packed plane."""
        return self.plane_rows * self.words * WORD // 8

    @property
    def strip(self) -> int:
        """Rows of pixels a strip."""
        return STRIP_CELLS * self.cell

    @property
    def tile(self) -> int:
        """Pixels along the side of a tile."""
        return TILE_CELLS * self.cell

    @property
    def pixel_cm2(self) -> float:
        """Area of a pixel in cm²."""
        return 1 / (self.pixels_per_mm * self.pixels_per_mm) / 100


def grid_for(rows: int, columns: int, dpi: float, *, plates: int = 1) -> Grid:
    """The grid of a set: cells of about a third of a millimetre, coarser where the plates would hold too many."""
    most = max(LEAST_MOST_CELLS, min(MOST_CELLS, MOST_CELLS_OF_ALL // plates))
    cell = 1
    while cell < 64 and cell * 2**0.5 < CELL_MM / MM_PER_INCH * dpi:
        cell *= 2
    while cell < COARSEST_CELL and math.ceil(rows / cell) * math.ceil(columns / cell) > most:
        cell *= 2
    step = max(WORD, TILE_CELLS * cell)
    words = (math.ceil(columns / step) + 1) * step // WORD
    return Grid(rows, columns, dpi, cell, words, math.ceil(rows / (STRIP_CELLS * cell)))


def cell_counts(plane: Plane | npt.NDArray[np.uint8], cell: int) -> Cells:
    """Set pixels of every cell: (rows / cell, columns / cell) of a packed plane (rows, words) or its bytes."""
    raw = np.ascontiguousarray(plane).view(np.uint8)
    if cell < 8:
        return _small_counts(raw, cell)
    small = np.bitwise_count(raw).reshape(-1, 8, raw.shape[1]).sum(1, dtype=np.uint8)
    return _joined(small.astype(np.uint16), cell // 8)


def _small_counts(raw: npt.NDArray[np.uint8], cell: int) -> Cells:
    """Counts where several cells share a byte: bits are added up inside the byte, then the cells are drawn apart."""
    if cell >= 2:
        raw = raw - ((raw >> np.uint8(1)) & np.uint8(0x55))
    if cell == 4:
        raw = (raw & np.uint8(0x33)) + ((raw >> np.uint8(2)) & np.uint8(0x33))
    share = 8 // cell
    out = np.empty((len(raw) // cell, raw.shape[1] * share), np.uint16)
    for part in range(share):
        field = (raw >> np.uint8(part * cell)) & np.uint8((1 << cell) - 1)
        out[:, part::share] = field.reshape(-1, cell, raw.shape[1]).sum(1, dtype=np.uint8)
    return out


def tone_sums(levels: npt.NDArray[np.uint8], cell: int) -> npt.NDArray[np.uint32]:
    """Sum of the levels of every cell (rows / cell, columns / cell), cells at the rim filled up with paper."""
    rows, columns = levels.shape
    short, narrow = -rows % cell, -columns % cell
    if short or narrow:
        levels = np.pad(levels, ((0, short), (0, narrow)))
    down: npt.NDArray[np.uint32] = np.add.reduce(levels.reshape(-1, cell, columns + narrow), axis=1, dtype=np.uint32)
    size = cell
    while size > 1:
        down = down[:, ::2] + down[:, 1::2]
        size //= 2
    return down


def _joined(counts: Cells, by: int) -> Cells:
    while by > 1:
        counts = counts[:, ::2] + counts[:, 1::2]
        counts = counts[::2] + counts[1::2]
        by //= 2
    return counts


def expanded(mask: npt.NDArray[np.bool_], cell: int) -> Plane:
    """Packed plane (rows x cell, words) of a map of cells (rows, cells)."""
    if cell >= 8:
        raw = np.repeat(np.where(mask, np.uint8(255), np.uint8(0)), cell // 8, axis=1)
    else:
        raw = np.packbits(np.repeat(mask, cell, axis=1), axis=1, bitorder="little")
    return np.repeat(np.ascontiguousarray(raw).view(np.uint64), cell, axis=0)
