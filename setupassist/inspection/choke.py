"""How far a base is drawn in under the inks above it, strip by strip, measured where both are solid.

Choke: exact distance from edge pixels of the union of the later inks to the nearest pixel of base, negative where the
base lies outside. Edges with no base within 1.2 mm have none to be choked and are left out; so are edges beside dots
or tone, whose own edges are not the art's. Peek-out: base outside of that union. Dots and tone of an ink count as
covering their cells.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field

import numpy as np
import numpy.typing as npt

from setupassist.documents.measure import Choke
from setupassist.inspection.bits import Plane, count, moved, pack, round_about, unpack
from setupassist.inspection.grid import STRIP_CELLS, TILE_CELLS, Grid, expanded
from setupassist.inspection.kind import BELOW
from setupassist.inspection.maps import Mask
from setupassist.inspection.strips import PlateStrip

REACH_MM = 1.2  # a base that is further away does not carry the ink
MOST_SAMPLES = 400  # edge pixels looked at in a strip, evenly spread
LEAST_EDGE_MM = 1.0  # less edge than this tells nothing


@dataclass
class ChokeGauge:
    """Gathers one base's choke; ``later`` are the numbers of the plates that print after it."""

    grid: Grid
    base: int
    later: Sequence[int]
    distances: list[npt.NDArray[np.float64]] = field(default_factory=list)
    weights: list[npt.NDArray[np.float64]] = field(default_factory=list)
    tiles: list[npt.NDArray[np.intp]] = field(default_factory=list)
    peek: npt.NDArray[np.int64] = field(init=False)

    def __post_init__(self) -> None:
        self.peek = np.zeros(self.grid.cell_rows // TILE_CELLS * self._across, np.int64)

    @property
    def _across(self) -> int:
        return self.grid.cell_columns // TILE_CELLS

    @property
    def _reach(self) -> int:
        return int(np.ceil(REACH_MM * self.grid.pixels_per_mm))

    def add(self, strips: Sequence[PlateStrip], dots: Sequence[Mask], number: int) -> None:
        """Takes in one strip: the plates' packed rows and their dots (8 + 64 + 8 rows of cells)."""
        grid = self.grid
        halo_cells = min(BELOW, -(-(self._reach + 1) // grid.cell))
        halo = halo_cells * grid.cell
        base_strip = strips[self.base]
        around = slice(base_strip.halo - halo, base_strip.halo + grid.strip + halo)
        cells = slice(BELOW - halo_cells, BELOW + STRIP_CELLS + halo_cells)
        base = base_strip.ink[around]
        if not base.any():
            return
        union = np.zeros_like(base)
        for index in self.later:
            union |= strips[index].ink[around]
            if dots[index][cells].any():
                union |= expanded(dots[index][cells], grid.cell)
        body = slice(halo, halo + grid.strip)
        out = base[body] & ~union[body]
        if out.any():
            self._book_peek(out, number)
        busy = np.logical_or.reduce([dots[index][cells] for index in (self.base, *self.later)])
        rows, columns, weight = self._edge_pixels(union, busy, body)
        if not len(rows):
            return
        distance = self._signed(base, union, rows, columns)
        known = np.isfinite(distance)
        tiles = (rows - halo) // grid.tile * self._across + columns // grid.tile
        self.distances.append(distance[known])
        self.weights.append(np.full(int(known.sum()), weight))
        self.tiles.append(tiles[known] + number * (STRIP_CELLS // TILE_CELLS) * self._across)

    def _book_peek(self, out: Plane, number: int) -> None:
        grid = self.grid
        counts = np.bitwise_count(out).reshape(STRIP_CELLS // TILE_CELLS, grid.tile, -1).sum(1, dtype=np.int64)
        every = np.zeros((len(counts), self._across), np.int64)
        if grid.tile >= 64:
            every[:] = counts.reshape(len(counts), self._across, -1).sum(2)
        else:
            every[:, :: 64 // grid.tile] = counts
        first = number * every.size
        self.peek[first : first + every.size] += every.ravel()

    def _edge_pixels(
        self, union: Plane, busy: Mask, body: slice
    ) -> tuple[npt.NDArray[np.intp], npt.NDArray[np.intp], float]:
        """Rows, columns and weight of edge pixels of the union, clear of dots, evenly picked."""
        grid = self.grid
        inner = moved(union, 1, 0) & moved(union, -1, 0) & moved(union, 0, 1) & moved(union, 0, -1)
        edge = union & ~inner
        if busy.any():
            reach = -(-self._reach // grid.cell)
            edge &= ~expanded(unpack(round_about(pack(busy), reach), busy.shape[1]), grid.cell)
        total = count(edge[body])
        if not total:
            return np.zeros(0, np.intp), np.zeros(0, np.intp), 0.0
        at = np.flatnonzero(unpack(edge[body], grid.words * 64))
        step = max(1, -(-total // MOST_SAMPLES))
        rows, columns = np.divmod(at[step // 2 :: step], grid.words * 64)
        return rows + body.start, columns, total / max(1, len(rows))

    def _signed(
        self, base: Plane, union: Plane, rows: npt.NDArray[np.intp], columns: npt.NDArray[np.intp]
    ) -> npt.NDArray[np.float64]:
        """Choke in pixels at edge pixels: to the base inward, or how far it lies outside; inf where there is none."""
        distance = self._nearest(base, rows, columns)
        on_base = np.flatnonzero(distance == 0)
        if len(on_base):
            outside = self._nearest(~(base | union), rows[on_base], columns[on_base])
            distance[on_base] = 1 - np.minimum(outside, self._reach)
        return distance

    def _nearest(
        self, plane: Plane, rows: npt.NDArray[np.intp], columns: npt.NDArray[np.intp]
    ) -> npt.NDArray[np.float64]:
        """Distance in pixels from each place to the nearest set pixel, inf beyond the reach."""
        reach = self._reach
        picture = np.pad(unpack(plane, plane.shape[1] * 64), reach)
        side = 2 * reach + 1
        windows = np.lib.stride_tricks.sliding_window_view(picture, (side, side))
        steps = np.arange(-reach, reach + 1)
        squares = (steps[:, None] ** 2 + steps**2).astype(np.float64)
        squares[squares > reach * reach] = np.inf
        found = np.full(len(rows), np.inf)
        for first in range(0, len(rows), 64):
            part = slice(first, first + 64)
            found[part] = np.where(windows[rows[part], columns[part]], squares, np.inf).min((1, 2))
        nearest: npt.NDArray[np.float64] = np.sqrt(found)
        return nearest

    def told(self, name: str, kept: npt.NDArray[np.bool_]) -> Choke:
        """The choke; ``kept`` (tiles down, tiles across) are the tiles that hold art, not marks alone."""
        grid, flat = self.grid, kept.ravel()
        peek_mm2 = float(self.peek[flat].sum()) * grid.pixel_cm2 * 100
        none = Choke(base=name, median_mm=None, p5_mm=None, peek_out_mm2=peek_mm2)
        if not self.distances:
            return none
        use = flat[np.concatenate(self.tiles)]
        distance, weight = np.concatenate(self.distances)[use], np.concatenate(self.weights)[use]
        if weight.sum() < LEAST_EDGE_MM * grid.pixels_per_mm:
            return none
        order = np.argsort(distance, kind="stable")
        share = np.cumsum(weight[order]) / weight.sum()
        median, low = (float(distance[order[np.searchsorted(share, part)]]) for part in (0.5, 0.05))
        mm = grid.pixels_per_mm
        return Choke(base=name, median_mm=median / mm, p5_mm=low / mm, peek_out_mm2=peek_mm2)
