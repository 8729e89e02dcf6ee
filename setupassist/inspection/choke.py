"""How a base lies under the inks: drawn in by how much, showing beyond them where, and which inks lie bare.

Choke: exact distance from edge pixels of the union of the carried inks to the nearest pixel of base, negative where the
base lies outside. Edges with no base within 1.2 mm have none to be choked and are left out; so are edges beside dots
or tone, whose own edges are not the art's. Peek-out: base outside of the union of all inks that print after it. Bare:
ink without base, further from the edge of that union than the choke's own margin. Dots and tone count as covering
their cells.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field

import numpy as np
import numpy.typing as npt

from setupassist.documents.measure import MOST_PLACES, Bare, Choke
from setupassist.inspection.bits import Mask, Plane, count, grown, moved, pack, round_about, unpack, worn
from setupassist.inspection.grid import STRIP_CELLS, Grid, cell_counts, expanded
from setupassist.inspection.kind import Texture
from setupassist.inspection.maps import boxes_of_labels, distances, labels_of, largest_islands, rows_of
from setupassist.inspection.planes import cells_of

REACH_MM = 1.2  # a base that is further away does not carry the ink
CARRIED = 0.5  # share of an ink that lies on a base or within reach of it
PEEK_MM = 0.05  # less than this is the raster's, not the art's
DUST_MM, TYPE_MM = 0.3, 6.0  # smaller islands are dust; lower ones off the art are type beside it
DOTS_PEEK_MM = 0.6  # about the period of coarse dots
MARGIN_CHOKES, MARGIN_MM = 2.0, 0.2
MOST_SAMPLES = 400  # edge pixels looked at in a strip, evenly spread
LEAST_EDGE_MM = 1.0  # less edge than this tells nothing

Each = Callable[[Callable[[int], None], int], None]
"""Does something for every number below a count, perhaps in several threads."""


@dataclass
class ChokeGauge:
    """Measures one base; ``base`` and ``later`` (the plates that print after it) are numbers of ``textures``."""

    textures: Sequence[Texture]
    names: Sequence[str]
    base: int
    later: Sequence[int]
    _samples: dict[int, tuple[npt.NDArray[np.float64], float]] = field(default_factory=dict)
    _peek_pixels: dict[int, int] = field(default_factory=dict)

    def __post_init__(self) -> None:
        self.carried = [index for index in self.later if self._is_carried(index)]
        shape = self.textures[self.base].plate.ink.shape
        self._peeking = np.zeros(shape, np.uint16)
        self._beyond = np.zeros(shape, np.uint16)

    @property
    def grid(self) -> Grid:
        """The set's grid."""
        return self.textures[self.base].grid

    @property
    def _reach(self) -> int:
        return int(np.ceil(REACH_MM * self.grid.pixels_per_mm))

    def measure(self, each: Each) -> Choke:
        """The choke of the whole base; strips are worked on by ``each``."""
        grid, strips = self.grid, self.grid.strips
        each(self._look, strips)
        stray = self._without_stray()
        median, low = self._choke()
        bare = self._bare(median or 0.0, each)
        mm = grid.pixels_per_mm
        return Choke(
            base=self.names[self.base],
            median_mm=None if median is None else median / mm,
            p5_mm=None if low is None else low / mm,
            peek_out_mm2=max(0, sum(self._peek_pixels.values()) - stray) * grid.pixel_cm2 * 100,
            peek_out_mm=self._farthest_mm(),
            peek_out_places_mm=largest_islands(self._peeking, grid.cells_per_mm, most=MOST_PLACES),
            bare=bare,
        )

    def _is_carried(self, index: int) -> bool:
        base, ink = self.textures[self.base], self.textures[index].plate
        reach = max(1, round(REACH_MM * self.grid.cells_per_mm))
        near = unpack(round_about(pack((base.plate.ink > 0) | base.dots), reach), self.grid.cell_columns)
        amounts = ink.ink if ink.tone is None else ink.tone
        whole = float(amounts.sum(dtype=np.float64))
        return whole > 0 and float(amounts[near].sum(dtype=np.float64)) > CARRIED * whole

    def _covered(self, indices: Sequence[int], first: int, last: int, halo: int) -> Plane:
        """Pixels that any of some plates covers in rows of cells first - halo .. last + halo."""
        grid = self.grid
        out = np.zeros(((last - first + 2 * halo) * grid.cell, grid.words), np.uint64)
        for index in indices:
            texture = self.textures[index]
            out |= rows_of(texture.plate.bits, (first - halo) * grid.cell, (last + halo) * grid.cell)
            lying = rows_of(texture.dots, first - halo, last + halo)
            if lying.any():
                out |= expanded(lying, grid.cell)
        return out

    def _look(self, number: int) -> None:
        """Takes in one strip: choke at edge pixels, and the base beyond the inks."""
        grid, first = self.grid, number * STRIP_CELLS
        last = first + STRIP_CELLS
        halo_cells = -(-(self._reach + 1) // grid.cell)
        halo = halo_cells * grid.cell
        base_plate = self.textures[self.base].plate
        if not base_plate.ink[max(0, first - halo_cells) : last + halo_cells].any():
            return
        body = slice(halo, halo + grid.strip)
        base = self._covered([self.base], first, last, halo_cells)
        union = self._covered(self.later, first, last, halo_cells)
        raw = rows_of(base_plate.bits, first * grid.cell, last * grid.cell)
        out = raw & ~union[body]
        if out.any():
            self._book_peek(out, base, union, number, halo)
        if len(self.carried) != len(self.later):
            union = self._covered(self.carried, first, last, halo_cells)
        busy = np.logical_or.reduce(
            [rows_of(self.textures[i].dots, first - halo_cells, last + halo_cells) for i in (self.base, *self.carried)]
        )
        rows, columns, weight = self._edge_pixels(union, busy, body)
        if len(rows):
            distance = self._signed(base, union, rows, columns)
            self._samples[number] = distance[np.isfinite(distance)], weight

    def _book_peek(self, out: Plane, base: Plane, union: Plane, number: int, halo: int) -> None:
        """Counts base beyond the inks, and where it lies further out than the raster alone can tell how far."""
        grid, rows = self.grid, slice(number * STRIP_CELLS, (number + 1) * STRIP_CELLS)
        self._peek_pixels[number] = count(out)
        body = slice(halo, halo + grid.strip)
        near = grown(union, 2 * int(PEEK_MM * grid.pixels_per_mm) + 1)
        far = out & ~near[body]
        if far.any():  # a patch of dots ends somewhere between two of its dots
            reach = max(1, round(DOTS_PEEK_MM * grid.cells_per_mm))
            every = [self.textures[index].dots for index in (self.base, *self.later)]
            dotted = np.logical_or.reduce([rows_of(dots, rows.start - reach, rows.stop + reach) for dots in every])
            if dotted.any():
                beside = unpack(round_about(pack(dotted), reach)[reach:-reach], grid.cell_columns)
                dots = grown(union, 2 * int(DOTS_PEEK_MM * grid.pixels_per_mm) + 1)
                far &= ~(expanded(beside, grid.cell) & dots[body])
        if not far.any():
            return
        self._peeking[rows] = counts = cell_counts(far, grid.cell)
        beyond = self._beyond[rows]
        reached, most = int(PEEK_MM * grid.pixels_per_mm), self._reach
        beyond[counts > 0] = reached + 1
        step = max(1, grid.cell // 8)
        while far.any() and reached < most:
            near = grown(near, 2 * step + 1)
            reached += step
            far &= ~near[body]
            beyond[cells_of(far, grid.cell)] = min(reached + 1, most)

    def _without_stray(self) -> int:
        """Takes dust, and type that stands by itself off the art, out of what peeks; its pixels."""
        grid = self.grid
        if not self._peeking.any():
            return 0
        label = labels_of(unpack(round_about(pack(self._peeking > 0), 1), grid.cell_columns))
        label[self._peeking == 0] = 0
        pixels = np.bincount(label.ravel(), self._peeking.ravel())
        nearest = np.full(len(pixels), self._reach, np.int64)
        np.minimum.at(nearest, label[label > 0], self._beyond[label > 0])
        art = self._art_box()
        dust = (DUST_MM * grid.pixels_per_mm) ** 2
        height = TYPE_MM * grid.cells_per_mm
        stray = 0
        for island, (rows, columns) in enumerate(boxes_of_labels(label), 1):
            off = art is None or (
                rows.stop <= art[0] or rows.start >= art[1] or columns.stop <= art[2] or columns.start >= art[3]
            )
            low = min(rows.stop - rows.start, columns.stop - columns.start) <= height
            if pixels[island] <= dust or (off and low and nearest[island] >= self._reach):
                stray += int(pixels[island])
                self._peeking[rows, columns][label[rows, columns] == island] = 0
        self._beyond[self._peeking == 0] = 0
        return stray

    def _art_box(self) -> tuple[int, int, int, int] | None:
        """Top, bottom, left, right in cells of all inks that print after the base."""
        inked = np.logical_or.reduce([self.textures[index].plate.ink > 0 for index in self.later])
        rows, columns = np.flatnonzero(inked.any(1)), np.flatnonzero(inked.any(0))
        if not len(rows):
            return None
        return int(rows[0]), int(rows[-1]) + 1, int(columns[0]), int(columns[-1]) + 1

    def _farthest_mm(self) -> float:
        """How far the base reaches beyond the inks at most; to a cell where that is beyond reach."""
        grid, farthest = self.grid, int(self._beyond.max())
        if farthest < self._reach:
            return farthest / grid.pixels_per_mm
        inked = np.logical_or.reduce(
            [(self.textures[index].plate.ink > 0) | self.textures[index].dots for index in self.later]
        )
        if not inked.any():
            return float(max(grid.rows, grid.columns)) / grid.pixels_per_mm
        return float(distances(~inked)[self._beyond >= self._reach].max()) / grid.cells_per_mm

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
        squares = (steps[:, None] ** 2 + steps**2).astype(np.float32)
        squares[squares > reach * reach] = np.inf
        found = np.full(len(rows), np.inf)
        for first in range(0, len(rows), 64):
            part = slice(first, first + 64)
            found[part] = np.where(windows[rows[part], columns[part]], squares, np.float32(np.inf)).min((1, 2))
        nearest: npt.NDArray[np.float64] = np.sqrt(found)
        return nearest

    def _choke(self) -> tuple[float | None, float | None]:
        """Median and 5th percentile in pixels."""
        parts = [self._samples[number] for number in sorted(self._samples)]
        distance = np.concatenate([distances for distances, _ in parts]) if parts else np.zeros(0)
        weight = np.concatenate([np.full(len(distances), each) for distances, each in parts]) if parts else distance
        if weight.sum() < LEAST_EDGE_MM * self.grid.pixels_per_mm:
            return None, None
        order = np.argsort(distance, kind="stable")
        share = np.cumsum(weight[order]) / weight.sum()
        median, low = (float(distance[order[np.searchsorted(share, part)]]) for part in (0.5, 0.05))
        return median, low

    def _bare(self, median: float, each: Each) -> tuple[Bare, ...]:
        """What of each later ink lies without this base, the margin left out."""
        grid = self.grid
        margin = MARGIN_CHOKES * max(0.0, median) + MARGIN_MM * grid.pixels_per_mm
        across = 2 * int(margin) + 1
        halo = -(-(int(margin) + 1) // grid.cell)
        bare = {index: np.zeros(self._peeking.shape, np.uint16) for index in self.later}

        def look(number: int) -> None:
            first, last = number * STRIP_CELLS, (number + 1) * STRIP_CELLS
            rows = slice(first, last)
            inked = [i for i in self.later if self.textures[i].plate.ink[rows].any()]
            if not inked:
                return
            without = ~self._covered([self.base], first, last, 0)
            union = self._covered(self.later, first, last, halo)
            if not (without & union[halo * grid.cell : halo * grid.cell + grid.strip]).any():
                return
            core = worn(union, across)[halo * grid.cell : halo * grid.cell + grid.strip] & without
            if core.any():
                for index in inked:
                    ink = self.textures[index].plate.bits[first * grid.cell : last * grid.cell]
                    bare[index][rows] = cell_counts(ink & core, grid.cell)

        each(look, grid.strips)
        told = []
        for index, cells in bare.items():
            whole = int(self.textures[index].plate.ink.sum(dtype=np.int64))
            lying = int(cells.sum(dtype=np.int64))
            if lying:
                places = largest_islands(cells, grid.cells_per_mm, most=MOST_PLACES)
                told.append(Bare(ink=self.names[index], share=min(1.0, lying / max(1, whole)), places_mm=places))
        return tuple(told)
