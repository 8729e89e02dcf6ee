"""Strips: the plates' rows packed as they come, one strip of rows with its surroundings at a time."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np
import numpy.typing as npt

from setupassist.art.plates import PlateSet
from setupassist.errors import InputFault
from setupassist.inspection.bits import Plane, count, pack
from setupassist.inspection.grid import STRIP_CELLS, Grid, cell_counts, tone_sums
from setupassist.inspection.record import Record
from setupassist.words import say

Levels = npt.NDArray[np.uint8]

HALO_CELLS = 16
BAND_BYTES = 24 * 2**20  # of all plates together: what a band of grey levels may take
MOST_BYTES = 2_000_000_000
# Most memory seen on dense noise in grey, from 4 plates at 64 pixels a cell to 64 plates at 8: what the strips of one
# plate hold for a column, at least and by the pixels of a cell, and what work on a strip takes beside it.
LEAST_HELD_A_COLUMN, HELD_A_CELL_COLUMN, WORKED_A_CELL_COLUMN = 850, 57, 600
HALF_INK = 128
LEAST_GREY, MOST_GREY = 16, 239  # mid-grey: neither paper nor full ink, with room for a camera's or a scaler's noise
LEAST_TONE = 13  # 5 % of 255: lighter ink does not count for the art box


def band_rows_for(grid: Grid, plates: PlateSet) -> int:
    """Rows a band: whole cells, a strip at most, and all plates together within the memory meant for it."""
    return plates.band_rows(BAND_BYTES, most=grid.strip, least=grid.cell) // grid.cell * grid.cell


def check_memory(grid: Grid, plates: PlateSet) -> None:
    """InputFault, before a pixel is read, where the strips of all plates would not fit into ``MOST_BYTES``."""
    across = grid.columns * len(plates.plates)
    held = across * max(LEAST_HELD_A_COLUMN, HELD_A_CELL_COLUMN * grid.cell)
    if held + grid.columns * grid.cell * WORKED_A_CELL_COLUMN > MOST_BYTES:
        count = len(plates.plates)
        told = say("inspection.fault.too-wide", plates=count, columns=grid.columns, dpi=grid.dpi)
        raise InputFault(plates.source, told, say("inspection.fault.too-wide-remedy"))


def even_bands(bands: Iterator[tuple[Levels, ...]], rows: int, total: int) -> Iterator[tuple[Levels, ...]]:
    """The same rows in bands of exactly ``rows`` rows (the last may be shorter), however they came."""
    held: list[tuple[Levels, ...]] = []
    have = done = 0
    for band in bands:
        held.append(band)
        have += len(band[0])
        while have >= rows or (have and done + have >= total):
            joined = held[0] if len(held) == 1 else tuple(np.concatenate(parts) for parts in zip(*held, strict=True))
            yield tuple(part[:rows] for part in joined)
            done += min(rows, have)
            have = max(0, have - rows)
            held = [tuple(part[rows:] for part in joined)] if have else []


class PlateStrip:
    """Packed rows of one plate: a halo from above, the strip to be judged and the strip after it.

    Row ``halo`` of ``ink`` is the first row of the strip to be judged. ``grey`` (mid-grey pixels) and ``light``
    (pixels from 5 % ink, the strip after only) are None while the plate showed only paper and full ink.
    """

    def __init__(self, grid: Grid, record: Record) -> None:
        self.grid, self.record = grid, record
        self.halo = HALO_CELLS * grid.cell
        self.ink: Plane = np.zeros((self.halo + 2 * grid.strip, grid.words), np.uint64)
        self.grey: Plane | None = None
        self.light: Plane | None = None

    def add_band(self, levels: Levels, strip: int, row: int, *, two_level: bool) -> None:
        """Takes in rows of levels; ``row`` is the place of the first one in strip number ``strip``."""
        grid, after = self.grid, self.halo + self.grid.strip
        rows = slice(after + row, after + row + len(levels))
        plain = two_level or not np.any((levels + np.uint8(1)) & np.uint8(254))
        if plain:
            self.ink[rows] = pack(levels, grid.words)
            if self.light is not None:
                self.light[row : row + len(levels)] = self.ink[rows]
        else:
            if self.grey is None or self.light is None:
                self.grey = np.zeros_like(self.ink)
                self.light = self.ink[after:].copy()
            if self.record.tone is None:
                whole = slice(strip * STRIP_CELLS, (strip + 1) * STRIP_CELLS)
                self.record.with_tone()[whole] = cell_counts(self.ink[after:], grid.cell).astype(np.uint32) * 255
            self.ink[rows] = pack(levels >= HALF_INK, grid.words)
            self.grey[rows] = pack((levels - np.uint8(LEAST_GREY)) <= np.uint8(MOST_GREY - LEAST_GREY), grid.words)
            self.light[row : row + len(levels)] = pack(levels >= LEAST_TONE, grid.words)
        if self.record.tone is not None:
            sums = tone_sums(levels, grid.cell)
            first = strip * STRIP_CELLS + row // grid.cell
            self.record.tone[first : first + len(sums), : sums.shape[1]] = sums

    def close_strip(self, number: int) -> None:
        """The strip after is full (or the plate ends): its cells go into the record."""
        after = self.ink[self.halo + self.grid.strip :]
        self.record.add_strip(number, after, self.light)
        self.record.inked_pixels += count(after if self.light is None else self.light)

    def shift(self) -> None:
        """Makes the strip after the one to be judged."""
        strip = self.grid.strip
        for plane in (self.ink, self.grey):
            if plane is not None:
                plane[:-strip] = plane[strip:]
                plane[-strip:] = 0
        if self.light is not None:
            self.light[:] = 0
