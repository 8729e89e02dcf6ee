"""What is kept of one plate for good: ink by cell, where its edges lie to the pixel, and marks of its tiles."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Any

import numpy as np
import numpy.typing as npt

from setupassist.inspection.bits import WORD, Plane, unpack
from setupassist.inspection.grid import STRIP_CELLS, TILE_CELLS, Grid, cell_counts

Box = tuple[int, int, int, int]
"""Top, bottom, left, right in cells; bottom and right lie just outside."""

_MIX = np.uint64(0x9E3779B97F4A7C15)


@dataclass
class Record:
    """Ink of one plate by cell; a few MB whatever the plate's size.

    ``ink`` counts the pixels of each cell with half ink or more, ``tone`` sums the levels (0..255) and is None
    while the plate showed only the levels 0 and 255, ``light`` says where any pixel reaches the least tone of the art
    box (None: wherever there is ink). ``row_words`` says for each pixel row which packed words hold such ink,
    ``column_bits`` for each row of tiles which pixel columns do. ``prints`` holds one number for each word column
    of a row of tiles: equal numbers, equal pixels.
    """

    grid: Grid
    ink: npt.NDArray[np.unsignedinteger[Any]] = field(init=False)
    tone: npt.NDArray[np.uint32] | None = None
    light: npt.NDArray[np.bool_] | None = None
    row_words: npt.NDArray[np.uint8] = field(init=False)
    column_bits: Plane = field(init=False)
    prints: Plane = field(init=False)
    inked_pixels: int = 0
    grey_pixels: int = 0

    def __post_init__(self) -> None:
        grid = self.grid
        kind = np.uint8 if grid.full < 256 else np.uint16
        self.ink = np.zeros((grid.cell_rows, grid.cell_columns), kind)
        self.row_words = np.zeros((grid.cell_rows * grid.cell, -(-grid.words // 8)), np.uint8)
        self.column_bits = np.zeros((grid.cell_rows // TILE_CELLS, grid.words), np.uint64)
        self.prints = np.zeros_like(self.column_bits)

    def with_tone(self) -> npt.NDArray[np.uint32]:
        """The sums of levels, begun from the ink counted so far."""
        if self.tone is None:
            self.tone = self.ink.astype(np.uint32) * 255
        return self.tone

    def add_strip(self, number: int, plane: Plane, light: Plane | None) -> None:
        """Takes in the packed rows of one strip; ``light`` where lighter ink than half must count for the box."""
        grid, first = self.grid, number * STRIP_CELLS
        if not plane.any() and light is None:
            return
        rows = slice(first, first + STRIP_CELLS)
        self.ink[rows] = cell_counts(plane, grid.cell)
        seen = plane if light is None else light
        if light is not None or self.light is not None:
            if self.light is None:
                self.light = self.ink > 0
            self.light[rows] = cell_counts(seen, grid.cell) > 0
        pixel_rows = slice(first * grid.cell, (first + STRIP_CELLS) * grid.cell)
        self.row_words[pixel_rows] = np.packbits(seen != 0, axis=1, bitorder="little")
        tiles = slice(first // TILE_CELLS, (first + STRIP_CELLS) // TILE_CELLS)
        self.column_bits[tiles] = np.bitwise_or.reduce(seen.reshape(-1, grid.tile, grid.words), axis=1)
        weights = (np.arange(1, grid.tile + 1, dtype=np.uint64) * _MIX) | np.uint64(1)
        mixed = (plane ^ (plane >> np.uint64(29))) * _MIX
        self.prints[tiles] = (mixed.reshape(-1, grid.tile, grid.words) * weights[:, None]).sum(1)

    def occupied(self) -> npt.NDArray[np.bool_]:
        """Cells that hold ink of at least the art box's least tone."""
        return self.ink > 0 if self.light is None else self.light

    def fractions(self, rows: slice) -> npt.NDArray[np.float32]:
        """Ink fraction 0..1 of the cells of some rows."""
        if self.tone is None:
            return self.ink[rows] * np.float32(1 / self.grid.full)
        return self.tone[rows] * np.float32(1 / (255 * self.grid.full))

    def ink_pixels(self, boxes: list[Box]) -> float:
        """Ink in pixels (levels counted in part) outside of ``boxes``."""
        sums = self.ink if self.tone is None else self.tone
        total = int(sums.sum(dtype=np.int64))
        if boxes:
            inside = np.zeros(sums.shape, np.bool_)
            for top, bottom, left, right in boxes:
                inside[top:bottom, left:right] = True
            total -= int(sums[inside].sum(dtype=np.int64))
        return total if self.tone is None else total / 255

    def pixel_box(self, cells: npt.NDArray[np.bool_]) -> tuple[int, int, int, int] | None:
        """Left, top, right, bottom in pixels (the last two just outside) of the ink in the given cells."""
        rows, columns = np.flatnonzero(cells.any(1)), np.flatnonzero(cells.any(0))
        if not len(rows):
            return None
        cell = self.grid.cell
        top, bottom = (self._rows_used(cells, int(row)) for row in (rows[0], rows[-1]))
        left, right = (self._columns_used(cells, int(column)) for column in (columns[0], columns[-1]))
        return (
            int(columns[0]) * cell + left[0],
            int(rows[0]) * cell + top[0],
            int(columns[-1]) * cell + right[1] + 1,
            int(rows[-1]) * cell + bottom[1] + 1,
        )

    def _rows_used(self, cells: npt.NDArray[np.bool_], row: int) -> tuple[int, int]:
        grid = self.grid
        words = np.unique(np.flatnonzero(cells[row]) * grid.cell // WORD)
        part = self.row_words[row * grid.cell : (row + 1) * grid.cell]
        used = np.flatnonzero(np.unpackbits(part, axis=1, bitorder="little")[:, words].any(1))
        return (int(used[0]), int(used[-1])) if len(used) else (0, grid.cell - 1)

    def _columns_used(self, cells: npt.NDArray[np.bool_], column: int) -> tuple[int, int]:
        grid = self.grid
        part = unpack(self.column_bits[np.unique(np.flatnonzero(cells[:, column]) // TILE_CELLS)], grid.words * WORD)
        used = np.flatnonzero(part[:, column * grid.cell : (column + 1) * grid.cell].any(0))
        return (int(used[0]), int(used[-1])) if len(used) else (0, grid.cell - 1)
