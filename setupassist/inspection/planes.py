"""Packed plates: every pixel of a plate as one bit and its ink by cell, kept while the set is inspected.

Coarse questions are answered on the cells (a plate of 8400 x 9600 pixels is 1.3 MB of them), exact ones on those bits
where the cells leave doubt.
"""

from __future__ import annotations

import mmap
import os
import tempfile
from dataclasses import dataclass, field
from typing import Any

import numpy as np
import numpy.typing as npt

from setupassist.errors import MachineFault, system_reason
from setupassist.inspection.bits import WORD, Mask, Plane, unpack
from setupassist.inspection.grid import Grid
from setupassist.words import say

Box = tuple[int, int, int, int]
"""Top, bottom, left, right in cells; bottom and right lie just outside."""

MOST_BYTES_IN_MEMORY = 320 * 2**20


@dataclass
class PackedPlate:
    """One plate: packed bits, ink by cell, and what its greys are where it has any.

    ``bits`` (grid.plane_rows, grid.words) are the pixels with half ink or more; rows end in at least one word of
    paper. ``ink`` (grid.cell_rows, grid.cell_columns) counts them by cell. ``tone`` sums the levels 0..255 by cell and
    is None while the plate shows only paper and full ink; so are ``light`` (packed pixels of 5 % ink and more) and
    ``grey`` (cells at least a quarter full of mid-greys that have mid-greys on all four sides).
    """

    grid: Grid
    bits: Plane
    ink: npt.NDArray[np.unsignedinteger[Any]] = field(init=False)
    tone: npt.NDArray[np.uint32] | None = None
    light: Plane | None = None
    grey: Mask | None = None
    grey_pixels: int = 0
    inked_pixels: int = 0

    def __post_init__(self) -> None:
        grid = self.grid
        self.ink = np.zeros((grid.cell_rows, grid.cell_columns), np.uint8 if grid.full < 256 else np.uint16)

    def occupied(self) -> Mask:
        """Cells that hold ink of at least the art box's least tone."""
        if self.light is None:
            return self.ink > 0
        return cells_of(self.light, self.grid.cell)

    def fractions(self, rows: slice = slice(None)) -> npt.NDArray[np.float32]:
        """Ink fraction 0..1 of the cells of some rows of cells."""
        if self.tone is None:
            return self.ink[rows] * np.float32(1 / self.grid.full)
        return self.tone[rows] * np.float32(1 / (255 * self.grid.full))

    def ink_pixels(self) -> float:
        """Ink in pixels, levels counted in part."""
        if self.tone is None:
            return float(self.ink.sum(dtype=np.int64))
        return float(self.tone.sum(dtype=np.int64)) / 255

    def pixel_box(self, cells: Mask) -> tuple[int, int, int, int] | None:
        """Left, top, right, bottom in pixels (the last two just outside) of the ink of 5 % and more in some cells."""
        rows, columns = np.flatnonzero(cells.any(1)), np.flatnonzero(cells.any(0))
        if not len(rows):
            return None
        seen, cell = self.bits if self.light is None else self.light, self.grid.cell
        top, bottom = (self._rows_used(seen, cells, int(row)) for row in (rows[0], rows[-1]))
        left, right = (self._columns_used(seen, cells, int(column)) for column in (columns[0], columns[-1]))
        return (
            int(columns[0]) * cell + left[0],
            int(rows[0]) * cell + top[0],
            int(columns[-1]) * cell + right[1] + 1,
            int(rows[-1]) * cell + bottom[1] + 1,
        )

    def _rows_used(self, seen: Plane, cells: Mask, row: int) -> tuple[int, int]:
        cell = self.grid.cell
        part = unpack(seen[row * cell : (row + 1) * cell], self.grid.words * WORD)
        used = np.flatnonzero((part & np.repeat(cells[row], cell)).any(1))
        return (int(used[0]), int(used[-1])) if len(used) else (0, cell - 1)

    def _columns_used(self, seen: Plane, cells: Mask, column: int) -> tuple[int, int]:
        cell = self.grid.cell
        word, at = divmod(column * cell, WORD)
        part = unpack(seen[:, word : word + max(1, cell // WORD)], max(WORD, cell))[:, at : at + cell]
        used = np.flatnonzero((part & np.repeat(cells[:, column], cell)[:, None]).any(0))
        return (int(used[0]), int(used[-1])) if len(used) else (0, cell - 1)

    def release(self) -> None:
        """Lets go of the pixels and cells; nothing can be asked any more."""
        self.bits, self.ink = np.zeros((0, 0), np.uint64), np.zeros((0, 0), np.uint8)
        self.tone = self.light = self.grey = None

    def erase(self, box: Box) -> None:
        """Takes all ink out of a box of cells."""
        top, bottom, left, right = box
        cell = self.grid.cell
        keep = np.ones(self.grid.words * WORD, np.bool_)
        keep[left * cell : right * cell] = False
        mask = np.packbits(keep, bitorder="little").view(np.uint64)
        for plane in (self.bits, self.light):
            if plane is not None:
                plane[top * cell : bottom * cell] &= mask
        for cells in (self.ink, self.tone, self.grey):
            if cells is not None:
                cells[top:bottom, left:right] = 0


def cells_of(plane: Plane, cell: int) -> Mask:
    """Cells (rows / cell, columns / cell) in which any pixel of a packed plane (rows, words) is set."""
    down = np.bitwise_or.reduce(plane.reshape(-1, cell, plane.shape[1]), axis=1)
    every: npt.NDArray[Any] = down.view(np.uint8) if cell >= 8 else unpack(down, plane.shape[1] * WORD)
    held: Mask = every.reshape(len(down), -1, cell // 8 if cell >= 8 else cell).max(2) > 0
    return held


def _reserve(file: int, size: int) -> None:
    """Takes the disk's room before it is written to through memory, where a full disk could not be told."""
    if hasattr(os, "posix_fallocate"):
        os.posix_fallocate(file, 0, size)
    else:
        os.truncate(file, size)


class Planes:
    """Room for packed planes: in memory while they are few, else in a temporary file that the system pages in and out.

    ``rest`` says that no plane is needed for the moment; pages of the file may leave memory.
    """

    def __init__(self, grid: Grid, planes: int) -> None:
        self.grid = grid
        self._spooled = grid.plane_bytes * planes > MOST_BYTES_IN_MEMORY
        self._maps: list[mmap.mmap] = []

    def new(self) -> Plane:
        """An empty plane (grid.plane_rows, grid.words)."""
        shape = self.grid.plane_rows, self.grid.words
        if not self._spooled:
            return np.zeros(shape, np.uint64)
        try:
            with tempfile.TemporaryFile(prefix="setupassist-") as file:
                _reserve(file.fileno(), self.grid.plane_bytes)
                held = mmap.mmap(file.fileno(), self.grid.plane_bytes)
        except OSError as error:
            raise MachineFault(say("art.file.no-room", reason=system_reason(error))) from None
        self._maps.append(held)
        return np.frombuffer(held, np.uint64).reshape(shape)

    def rest(self) -> None:
        """Lets pages of planes that are kept in a file leave memory."""
        for held in self._maps:
            if hasattr(mmap, "MADV_DONTNEED"):
                held.madvise(mmap.MADV_DONTNEED)
