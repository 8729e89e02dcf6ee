"""Where plates meet: overlap, shared edge and hairlines of every pair, strip by strip.

Overlap: in solids the lesser ink of the two, pixel by pixel; where either is tone or dots the local averages multiply
(Demichel). Shared edge: length along which the solid parts of two plates come within 0.2 mm without overlapping.
Hairline: an unprinted run of 5 mm and more, at most 0.3 mm wide, between two solid edges that face each other.
"""

from __future__ import annotations

from collections.abc import Collection, Sequence
from dataclasses import dataclass, field
from typing import Any

import numpy as np
import numpy.typing as npt

from setupassist.inspection.bits import WORD, Mask, Plane, edge_cells, edge_lengths, grown, moved, pack, round_about
from setupassist.inspection.grid import STRIP_CELLS, TILE_CELLS, Grid, cell_counts, expanded
from setupassist.inspection.kind import Texture
from setupassist.inspection.maps import Floats, labels_of, rows_of

NEAR_MM = 0.2
HAIRLINE_MM, HAIRLINE_LEAST_MM = 0.3, 5.0
TILES_AT_ONCE = 512
STRIP_TILES = STRIP_CELLS // TILE_CELLS


@dataclass
class Face:
    """One plate's side of the meeting in one strip: its ink by tile, its bits and edges where it is solid."""

    local: Floats  # (tiles, 64 cells)
    mixed: Mask  # (tiles, 64 cells): solid, ink and paper both
    inked: Mask  # (tiles)
    bits: npt.NDArray[np.uint8]  # (tiles, rows, bytes)
    edges: Plane | None = None  # packed cells (64, …) beside which a solid edge runs
    reach: Plane | None = None  # the same with the cells round about
    solid: Plane | None = None  # (rim + strip + rim, 1 + words + 1): solid pixels with surroundings


def face_of(texture: Texture, number: int) -> Face | None:
    """The plate's face in a strip, None where it holds no ink."""
    plate, grid, first = texture.plate, texture.grid, number * STRIP_CELLS
    rows = slice(first, first + STRIP_CELLS)
    if not plate.ink[rows].any() and (plate.tone is None or not plate.tone[rows].any()):
        return None
    tiled = _tiled(texture.local(rows))
    body = texture.dots[rows]
    own = plate.fractions(rows)
    mixed = (own > 0) & (own < 1) & ~body
    raw = plate.bits[first * grid.cell : rows.stop * grid.cell].view(np.uint8).reshape(STRIP_TILES, grid.tile, -1)
    face = Face(tiled, _tiled(mixed), tiled.max(1) > 0, raw)
    rim = _rim(grid)
    halo = rim // grid.cell
    near = rows_of(plate.ink, first - halo, rows.stop + halo)
    lying = rows_of(texture.dots, first - halo, rows.stop + halo)
    some, open_cells = pack((near > 0) & ~lying), pack(near < grid.full)
    edges = some & round_about(open_cells, 1)
    if edges.any():
        solid = rows_of(plate.bits, first * grid.cell - rim, rows.stop * grid.cell + rim)
        if lying.any():
            solid = solid & ~expanded(lying, grid.cell)
        face.edges = edges
        face.reach = round_about(edges, -(-_pixels(HAIRLINE_MM, grid) // grid.cell))
        face.solid = np.pad(solid, ((0, 0), (1, _spare(grid) + 1)))
    return face


@dataclass(frozen=True)
class Cover:
    """Pixels of a strip with its surroundings, laid out like ``Face.solid``.

    ``printed`` is what any plate prints; ``fringe`` are the soft rims and faint tints among that, less than half of
    ink, None where no plate has any.
    """

    printed: Plane
    fringe: Plane | None


def cover_of(textures: Sequence[Texture], number: int) -> Cover:
    """What any of the plates prints in a strip."""
    grid, first = textures[0].grid, number * STRIP_CELLS
    rim = _rim(grid)
    halo, top, bottom = rim // grid.cell, first * grid.cell - rim, (first + STRIP_CELLS) * grid.cell + rim
    firm = np.zeros((bottom - top, grid.words), np.uint64)
    faint = None
    for texture in textures:
        plate = texture.plate
        firm |= rows_of(plate.bits, top, bottom)
        if plate.light is not None:
            light = rows_of(plate.light, top, bottom)
            faint = light if faint is None else faint | light
        lying = rows_of(texture.dots, first - halo, first + STRIP_CELLS + halo)
        if lying.any():
            firm |= expanded(lying, grid.cell)
    aside = ((0, 0), (1, _spare(grid) + 1))
    if faint is None:
        return Cover(np.pad(firm, aside), None)
    return Cover(np.pad(firm | faint, aside), np.pad(faint & ~firm, aside))


@dataclass
class Meeting:
    """What is known of a pair: overlap and shared edge in pixels, and where cells hold a piece of a hairline.

    ``pieces`` are (rows, columns, edge length in pixels, paper in pixels) of cells, one array each a strip.
    """

    overlap: float = 0.0
    edge: float = 0.0
    pieces: list[tuple[npt.NDArray[np.intp], npt.NDArray[np.intp], Floats, Floats]] = field(default_factory=list)

    def hairlines(self, grid: Grid) -> tuple[float, float | None, list[tuple[float, float]]]:
        """Length in mm of the runs of 5 mm and more, their mean width in mm, and the middle (x, y in mm) of each."""
        if not self.pieces:
            return 0.0, None, []
        rows, columns, lengths, papers = (np.concatenate(part) for part in zip(*self.pieces, strict=True))
        top, left = int(rows.min()), int(columns.min())
        held = np.zeros((int(rows.max()) - top + 1, int(columns.max()) - left + 1), np.bool_)
        held[rows - top, columns - left] = True
        label = labels_of(held)[rows - top, columns - left]
        sums = np.bincount(label, lengths)
        long = np.flatnonzero(sums >= HAIRLINE_LEAST_MM * grid.pixels_per_mm)
        long = long[np.argsort(-sums[long], kind="stable")]
        places = []
        for run in long:
            mine = np.flatnonzero(label == run)
            apart = np.hypot(rows[mine] - rows[mine].mean(), columns[mine] - columns[mine].mean())
            at = mine[int(np.argmin(apart))]
            places.append(((columns[at] + 0.5) / grid.cells_per_mm, (rows[at] + 0.5) / grid.cells_per_mm))
        if not len(long):
            return 0.0, None, []
        counted = np.isin(label, long)
        length = float(lengths[counted].sum())
        width = float(papers[counted].sum()) / length / grid.pixels_per_mm
        return length / grid.pixels_per_mm, width, places


@dataclass
class StripMeeting:
    """All plates side by side in one strip; hairlines are looked for between plates of ``over`` only.

    The tiles of all pairs are looked at together, for a step over many small tiles costs no more than one over few.
    """

    grid: Grid
    number: int
    faces: Sequence[Face | None]
    cover: Cover
    over: Collection[int]

    def meet(self, meetings: Sequence[tuple[int, int, Meeting]]) -> None:
        """Takes the strip into the meetings of pairs of plates, given by their numbers."""
        found: list[tuple[int, npt.NDArray[np.intp], npt.NDArray[np.intp]]] = []
        for at, (i, j, meeting) in enumerate(meetings):
            one, two = self.faces[i], self.faces[j]
            if one is None or two is None:
                continue
            meeting.overlap += overlap(one, two, self.grid)
            down, right = _places_of_meeting(one, two, self.grid)
            found += [
                (at, down[first : first + TILES_AT_ONCE], right[first : first + TILES_AT_ONCE])
                for first in range(0, len(down), TILES_AT_ONCE)
            ]
        while found:
            tiles = 0
            some: list[tuple[int, npt.NDArray[np.intp], npt.NDArray[np.intp]]] = []
            while found and (not some or tiles + len(found[-1][1]) <= TILES_AT_ONCE):
                some.append(found.pop())
                tiles += len(some[-1][1])
            self._meet_tiles([(*meetings[at], down, right) for at, down, right in some])

    def _stacked(self, plate: int, down: npt.NDArray[np.intp], right: npt.NDArray[np.intp]) -> Plane:
        face = self.faces[plate]
        assert face is not None
        return _stack(face.solid, down, right, self.grid)

    def _meet_tiles(
        self, parts: Sequence[tuple[int, int, Meeting, npt.NDArray[np.intp], npt.NDArray[np.intp]]]
    ) -> None:
        grid = self.grid
        part_of = np.repeat(np.arange(len(parts)), [len(down) for *_, down, _ in parts])
        down, right = (np.concatenate([part[side] for part in parts]) for side in (3, 4))
        a = np.concatenate([self._stacked(i, down, right) for i, _, _, down, right in parts])
        b = np.concatenate([self._stacked(j, down, right) for _, j, _, down, right in parts])
        lengths = np.bincount(part_of, shared_edges(a, b, grid), len(parts))
        for (_, _, meeting, _, _), length in zip(parts, lengths, strict=True):
            meeting.edge += float(length)
        both = np.array([i in self.over and j in self.over for i, j, *_ in parts])
        kept = np.flatnonzero(both[part_of])
        cells = None
        if len(kept):
            places = down[kept], right[kept]
            printed = _stack(self.cover.printed, *places, grid)
            fringe = None if self.cover.fringe is None else _stack(self.cover.fringe, *places, grid)
            cells = hairline_cells(a[kept], b[kept], printed, fringe, grid)
        if cells is None:
            return
        tile, y, x, edge, paper = cells
        tile = kept[tile]
        rows = self.number * STRIP_CELLS + down[tile] * TILE_CELLS + y
        columns = right[tile] * (_stride(grid) * WORD // grid.cell) + x
        for number, (_, _, meeting, _, _) in enumerate(parts):
            mine = part_of[tile] == number
            if mine.any():
                meeting.pieces.append((rows[mine], columns[mine], edge[mine], paper[mine]))


def overlap(one: Face, two: Face, grid: Grid) -> float:
    """Pixels by which two plates overlap in a strip."""
    tiles = np.flatnonzero(one.inked & two.inked)
    if not len(tiles):
        return 0.0
    product = one.local[tiles] * two.local[tiles]
    both = one.mixed[tiles] & two.mixed[tiles]
    hit = np.flatnonzero(both.any(1))
    if len(hit):
        product[both] = 0
    amount = float(product.sum(dtype=np.float64)) * grid.full
    if len(hit):
        stack = _bits(one.bits, tiles[hit], grid) & _bits(two.bits, tiles[hit], grid)
        counts = cell_counts(stack.reshape(-1, stack.shape[-1]), grid.cell)
        amount += int((counts.reshape(len(hit), -1) * both[hit]).sum(dtype=np.int64))
    return amount


def _places_of_meeting(one: Face, two: Face, grid: Grid) -> tuple[npt.NDArray[np.intp], npt.NDArray[np.intp]]:
    """Rows of tiles and stacks across in which solid edges of two plates come near each other."""
    nothing = np.zeros(0, np.intp), np.zeros(0, np.intp)
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
    tiles_a_stack = _stride(grid) * WORD // grid.tile
    wide = -(-across.shape[1] // tiles_a_stack) * tiles_a_stack
    across = np.pad(across, ((0, 0), (0, wide - across.shape[1])))
    down, right = np.nonzero(across.reshape(STRIP_TILES, -1, tiles_a_stack).any(2))
    return down, right


def shared_edges(a: Plane, b: Plane, grid: Grid) -> Floats:
    """Pixels of length over which two plates run along each other in each tile of two stacks: both edges' mean."""
    rim, near = _rim(grid), 2 * _pixels(NEAR_MM, grid) + 1
    lengths = np.zeros(len(a))
    lap = a & b
    clear = ~grown(lap, near) if lap.any() else None
    for edge, other in ((a, b), (b, a)):
        along = grown(other, near) & edge & ~other
        if clear is not None:
            along &= clear
        hit = np.flatnonzero(along.any((1, 2)))
        if len(hit):  # a step of two pixels must find both of the rows that it crosses
            where = round_about(along[hit], 2) & edge[hit]
            if clear is not None:
                where &= clear[hit]
            lengths[hit] += edge_lengths(edge[hit], where, rim) / 2
    return lengths


def hairline_cells(
    a: Plane, b: Plane, printed: Plane, fringe: Plane | None, grid: Grid
) -> tuple[npt.NDArray[np.intp], npt.NDArray[np.intp], npt.NDArray[np.intp], Floats, Floats] | None:
    """Cells of stacks of tiles that hold a piece of a hairline: number of the tile, row and column in it, length of
    edge and amount of paper in pixels; None where there is no hairline. The pixel of ``fringe`` beside an edge is that
    edge's own: paper begins behind it."""
    reach = _pixels(HAIRLINE_MM, grid)
    paper = ~printed
    seen = paper & grown(a, 2 * reach + 1) & grown(b, 2 * reach + 1)
    kept = np.flatnonzero(seen.any((1, 2)))
    if not len(kept):
        return None
    a, b, paper = a[kept], b[kept], paper[kept]
    soft_a, soft_b = a, b
    if fringe is not None:
        soft_a, soft_b = (ink | (round_about(ink, 1) & fringe[kept]) for ink in (a, b))
    # What both see over paper, not through ink: the far side of a thin line sees nothing.
    near_a, near_b = _over_paper(soft_a, paper, reach), _over_paper(soft_b, paper, reach)
    channel = near_a & near_b
    facing = soft_b & ~grown(a & b, 2 * _pixels(NEAR_MM, grid) + 1)
    facing &= grown(near_a, 3) & grown(channel, 3)  # edge of b that faces a over paper
    if not facing.any():
        return None
    channel &= grown(facing, 2 * reach + 1)
    rim = _rim(grid)
    where = round_about(facing, 2) & b  # a step of two pixels must find both of the rows that it crosses
    lengths = edge_cells(b, where, rim, grid.cell)
    inner = np.ascontiguousarray(channel[:, rim:-rim, 1:-1])
    papers = cell_counts(inner.reshape(-1, inner.shape[2]), grid.cell).reshape(lengths.shape)
    tile, row, column = np.nonzero((lengths > 0) | (papers > 0))
    if not len(tile):
        return None
    held = tile, row, column
    return kept[tile], row, column, lengths[held], papers[held].astype(np.float64)


def _over_paper(ink: Plane, paper: Plane, reach: int) -> Plane:
    """Paper within ``reach`` pixels of ink on a way over paper, in stacks of tiles."""
    near = ink
    for step in range(reach):  # two squares among three crosses make an octagon
        wide = moved(near, 1, 0) | near | moved(near, -1, 0)
        tall = wide if step % 5 in {1, 3} else near
        near = ((wide | moved(tall, 0, 1) | moved(tall, 0, -1)) & paper) | ink
    return near & paper


def _pixels(gap_mm: float, grid: Grid) -> int:
    """Pixels over which an edge is reached from the other side of a gap: the gap and the step onto the edge."""
    return int(gap_mm * grid.pixels_per_mm + 1)


def _rim(grid: Grid) -> int:
    """Rows around a strip that edges and hairlines depend on, whole cells."""
    return -(-(2 * _pixels(HAIRLINE_MM, grid) + 4) // grid.cell) * grid.cell


def _stride(grid: Grid) -> int:
    """Words across of a stack: two, or a tile where that is more."""
    return max(2, grid.tile // WORD)


def _spare(grid: Grid) -> int:
    """Words of paper that fill a row up to whole stacks."""
    return -grid.words % _stride(grid)


def _stack(plane: Plane | None, down: npt.NDArray[np.intp], right: npt.NDArray[np.intp], grid: Grid) -> Plane:
    """Tiles of a padded plane with their surroundings: (n, rim + tile + rim, 1 + stride + 1)."""
    assert plane is not None
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
