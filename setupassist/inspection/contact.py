"""Where plates meet: overlap and shared edge of every pair, strip by strip, kept by place so that marks can go.

Overlap: in solids the lesser ink of the two, pixel by pixel; where either is tone or dots the local averages multiply
(Demichel). Shared edge: length along which the solid parts of two plates come within 0.2 mm without overlapping.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from itertools import combinations
from typing import Any

import numpy as np
import numpy.typing as npt

from setupassist.inspection.bits import WORD, Plane, edge_lengths, grown, pack, round_about
from setupassist.inspection.grid import STRIP_CELLS, TILE_CELLS, Grid, cell_counts, expanded
from setupassist.inspection.kind import BELOW
from setupassist.inspection.record import Record
from setupassist.inspection.strips import PlateStrip

Mask = npt.NDArray[np.bool_]
Floats = npt.NDArray[np.floating[Any]]

NEAR_MM = 0.2
LEDGER_BYTES = 32 * 2**20
STRIP_TILES = STRIP_CELLS // TILE_CELLS


@dataclass
class Ledger:
    """Overlap and shared edge of every pair by place: (blocks down, blocks across) of ``block`` tiles each way."""

    grid: Grid
    plates: int
    block: int = field(init=False)
    overlap: dict[tuple[int, int], npt.NDArray[np.float32]] = field(default_factory=dict)
    edge: dict[tuple[int, int], npt.NDArray[np.float32]] = field(default_factory=dict)

    def __post_init__(self) -> None:
        self.block = 1
        while self.block < STRIP_TILES and self._bytes() > LEDGER_BYTES:
            self.block *= 2

    def _shape(self) -> tuple[int, int]:
        rows, columns = self.grid.cell_rows // TILE_CELLS, self.grid.cell_columns // TILE_CELLS
        return -(-rows // self.block), -(-columns // self.block)

    def _bytes(self) -> int:
        rows, columns = self._shape()
        return self.plates * (self.plates - 1) // 2 * rows * columns * 8

    def add(
        self,
        book: dict[tuple[int, int], npt.NDArray[np.float32]],
        pair: tuple[int, int],
        strip: int,
        tiles: npt.NDArray[np.intp],
        amounts: Floats,
    ) -> None:
        """Books amounts at the tiles of a strip (numbered along its rows of tiles)."""
        if not np.any(amounts):
            return
        if pair not in book:
            book[pair] = np.zeros(self._shape(), np.float32)
        row, column = np.divmod(tiles, self.grid.cell_columns // TILE_CELLS)
        row = (row + strip * STRIP_TILES) // self.block
        np.add.at(book[pair], (row, column // self.block), amounts)

    def blocks_of(self, tiles: Mask) -> Mask:
        """Blocks in which any of the given tiles lie."""
        rows, columns = self._shape()
        padded = np.zeros((rows * self.block, columns * self.block), np.bool_)
        padded[: tiles.shape[0], : tiles.shape[1]] = tiles
        held: Mask = padded.reshape(rows, self.block, columns, self.block).max((1, 3))
        return held


@dataclass
class Face:
    """One plate's side of the meeting in one strip: its ink by tile, its bits and edges where it is solid."""

    local: Floats  # (tiles, 64 cells)
    blend: Mask  # (tiles, 64 cells): dots or tone
    mixed: Mask  # (tiles, 64 cells): solid, ink and paper both
    inked: Mask  # (tiles)
    bits: npt.NDArray[np.uint8]  # (tiles, rows, bytes)
    edges: Plane | None = None  # packed cells (64, …) beside which a solid edge runs
    reach: Plane | None = None  # the same with the cells round about
    solid: Plane | None = None  # (rim + strip + rim, 1 + words + 1): solid pixels with surroundings


def face_of(strip: PlateStrip, record: Record, number: int, dots: Mask, local: Floats) -> Face | None:
    """The plate's face in a strip, None where it holds no ink."""
    grid = strip.grid
    rows = slice(number * STRIP_CELLS, (number + 1) * STRIP_CELLS)
    ink = record.ink[rows]
    body = dots[BELOW : BELOW + STRIP_CELLS]
    if not local.any():
        return None
    tiled = _tiled(local.astype(np.float32, copy=False))
    own = record.fractions(rows)
    mixed = (own > 0) & (own < 1) & ~body
    plane = strip.ink[strip.halo : strip.halo + grid.strip]
    raw = plane.view(np.uint8).reshape(STRIP_TILES, grid.tile, -1)
    face = Face(tiled, _tiled(body), _tiled(mixed), tiled.max(1) > 0, raw)
    rim = _rim(grid)
    halo = rim // grid.cell
    around = slice(strip.halo - rim, strip.halo + grid.strip + rim)
    near = np.zeros((STRIP_CELLS + 2 * halo, grid.cell_columns), record.ink.dtype)
    first, last = rows.start - halo, rows.stop + halo
    part = record.ink[max(0, first) : last]
    near[max(0, -first) : max(0, -first) + len(part)] = part
    lying = dots[BELOW - halo : BELOW + STRIP_CELLS + halo]
    some, open_cells = pack((near > 0) & ~lying), pack(near < grid.full)
    edges = some & round_about(open_cells, 1)
    if ink.any() and edges.any():
        solid = strip.ink[around]
        if lying.any():
            solid = solid & ~expanded(lying, grid.cell)
        face.edges = edges
        face.reach = round_about(edges, -(-_near(grid) // grid.cell) + 1)
        face.solid = np.pad(solid, ((0, 0), (1, _spare(grid) + 1)))
    return face


def meet(faces: Sequence[Face | None], ledger: Ledger, strip: int, pairs: Sequence[tuple[int, int]]) -> None:
    """Books the overlap and shared edge of the given pairs in one strip."""
    for pair in pairs:
        one, two = faces[pair[0]], faces[pair[1]]
        if one is None or two is None:
            continue
        tiles, amounts = overlap(one, two, ledger.grid)
        ledger.add(ledger.overlap, pair, strip, tiles, amounts)
        tiles, lengths = shared_edge(one, two, ledger.grid)
        ledger.add(ledger.edge, pair, strip, tiles, lengths)


def pairs_of(plates: int) -> list[tuple[int, int]]:
    """Every pair of plates by number."""
    return list(combinations(range(plates), 2))


def overlap(one: Face, two: Face, grid: Grid) -> tuple[npt.NDArray[np.intp], Floats]:
    """Tiles where two plates overlap and by how many pixels."""
    tiles = np.flatnonzero(one.inked & two.inked)
    if not len(tiles):
        return tiles, np.zeros(0)
    product = one.local[tiles] * two.local[tiles]
    both = one.mixed[tiles] & two.mixed[tiles]
    hit = np.flatnonzero(both.any(1))
    if len(hit):
        product[both] = 0
    amounts = product.sum(1, dtype=np.float64) * grid.full
    if len(hit):
        stack = _bits(one.bits, tiles[hit], grid) & _bits(two.bits, tiles[hit], grid)
        counts = cell_counts(stack.reshape(-1, stack.shape[-1]), grid.cell)
        amounts[hit] += (counts.reshape(len(hit), -1) * both[hit]).sum(1, dtype=np.int64)
    return tiles, amounts


def shared_edge(one: Face, two: Face, grid: Grid) -> tuple[npt.NDArray[np.intp], Floats]:
    """Tiles where two plates run along each other and over how many pixels of length: the mean of both edges."""
    nothing = np.zeros(0, np.intp), np.zeros(0)
    if one.edges is None or two.edges is None or one.reach is None or two.reach is None:
        return nothing
    meeting = (one.edges & two.reach) | (one.reach & two.edges)
    if not meeting.any():
        return nothing
    halo = _rim(grid) // grid.cell
    rows_of_tiles = np.bitwise_or.reduce(
        meeting[halo : halo + STRIP_CELLS].reshape(STRIP_TILES, TILE_CELLS, -1), axis=1
    )
    across = np.ascontiguousarray(rows_of_tiles).view(np.uint8)[:, : grid.cell_columns // TILE_CELLS] > 0
    stride = _stride(grid)
    tiles_a_stack = stride * WORD // grid.tile
    wide = -(-across.shape[1] // tiles_a_stack) * tiles_a_stack
    across = np.pad(across, ((0, 0), (0, wide - across.shape[1])))
    stacks = across.reshape(STRIP_TILES, -1, tiles_a_stack)
    down, right = np.nonzero(stacks.any(2))
    if not len(down):
        return nothing
    assert one.solid is not None
    assert two.solid is not None
    rim, near = _rim(grid), 2 * _near(grid) + 1
    a, b = (_stack(face.solid, down, right, grid) for face in (one, two) if face.solid is not None)
    lap = a & b
    clear = ~grown(lap, near) if lap.any() else ~np.zeros_like(lap)
    lengths = np.zeros(len(down))
    for edge, other in ((a, b), (b, a)):
        along = grown(other, near) & edge & ~other & clear
        if along.any():  # a step of two pixels must find both of the rows that it crosses
            lengths += edge_lengths(edge, round_about(along, 2) & edge & clear, rim) / 2
    column = right * tiles_a_stack + stacks[down, right].argmax(1)  # booked where the edges meet, not on empty paper
    return down * (grid.cell_columns // TILE_CELLS) + column, lengths


def _near(grid: Grid) -> int:
    """Pixels within which two edges run along each other: the gap of 0.2 mm and the step onto the other edge."""
    return int(NEAR_MM * grid.pixels_per_mm + 1)


def _rim(grid: Grid) -> int:
    """Rows around a strip that an edge's length depends on, whole cells."""
    return -(-(_near(grid) + 4) // grid.cell) * grid.cell


def _stride(grid: Grid) -> int:
    """Words across of a stack: two, or a tile where that is more."""
    return max(2, grid.tile // WORD)


def _spare(grid: Grid) -> int:
    """Words of paper that fill a row up to whole stacks."""
    return -grid.words % _stride(grid)


def _stack(plane: Plane, down: npt.NDArray[np.intp], right: npt.NDArray[np.intp], grid: Grid) -> Plane:
    """Tiles of a padded plane with their surroundings: (n, rim + tile + rim, 1 + stride + 1)."""
    stride = _stride(grid)
    views = np.lib.stride_tricks.sliding_window_view(plane, (grid.tile + 2 * _rim(grid), stride + 2))
    stack: Plane = views[down * grid.tile, right * stride]
    return np.ascontiguousarray(stack)


def _tiled(cells: npt.NDArray[Any]) -> npt.NDArray[Any]:
    """Cells (64, n) of a strip as (tiles, 64), tiles along the rows of tiles."""
    across = cells.shape[1] // TILE_CELLS
    return np.ascontiguousarray(
        cells.reshape(STRIP_TILES, TILE_CELLS, across, TILE_CELLS).transpose(0, 2, 1, 3)
    ).reshape(STRIP_TILES * across, TILE_CELLS * TILE_CELLS)


def _bits(raw: npt.NDArray[np.uint8], tiles: npt.NDArray[np.intp], grid: Grid) -> npt.NDArray[np.uint8]:
    """Packed bytes (n, rows, bytes a row) of the tiles of a strip."""
    row, column = np.divmod(tiles, grid.cell_columns // TILE_CELLS)
    size = grid.tile // 8
    every = raw.reshape(STRIP_TILES, grid.tile, -1, size)
    return np.ascontiguousarray(every[row, :, column])
