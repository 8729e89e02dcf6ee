"""Which cells of a plate are dots or tone, strip by strip, and from that the plate's kind and halftone.

A cell is textured where neither a 1.3 mm blot of ink nor one of paper fits; textured cells are a lattice where the
plate repeats after whole-pixel lattice vectors of about a millimetre (type and line art do not), dispersed dots where
ink and gap change faster than type can. Tone cells are full of mid-greys with mid-grey neighbours.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Any

import numpy as np
import numpy.typing as npt

from setupassist.documents.measure import Halftone
from setupassist.documents.terms import Kind
from setupassist.errors import Cancelled
from setupassist.inspection.bits import WORD, Mask, Plane, closed, moved, opened, pack, round_about, unpack
from setupassist.inspection.grid import STRIP_CELLS, Grid, cell_counts
from setupassist.inspection.maps import Floats, local_mean, rows_of
from setupassist.inspection.planes import PackedPlate
from setupassist.inspection.ruling import Lattice, Sight, find_lattice, window_size
from setupassist.inspection.threads import Stop

HALO_CELLS = 16  # rows of cells round a strip whose pixels tell of its dots
BLOT_MM = 1.3
UNLIKE = 0.6  # of what unrelated ink of that coverage would differ by
DISPERSED_MM = 0.4  # mean length of ink and gap along a row; text of 4 points has more
COARSE_DISPERSED_MM = 1.0  # the same where the spectrum is noise, as that of text is not
NOISE_CONTRAST = 30.0
LOCAL_MM = 2.0  # over which local averages of dots are taken
LEAST_PATCH_MM = 3.0  # side of the smallest square of texture whose dots are looked for
MOST_LATTICES = 3
DOTS_SHARE, LINES_SHARE = 0.2, 0.5  # of the texture that a new lattice must explain; rings look like lines in places
ENOUGH_WINDOWS = 4.0
TONE_SHARE = 0.02  # of the inked pixels: from here mid-greys among mid-greys make a plate more than two-level
LEAST_INK_CM2 = 0.01
MIDDLE = 0.35  # dots of less than this stand apart from each other
LEAST_HALFTONE = 0.005  # of the plate's ink: less than this is no halftone to speak of


@dataclass
class _Seen:
    """What one strip holds in pixels of ink: of each lattice known by then, and of dispersed dots."""

    held: list[float]
    dispersed: float


@dataclass
class Texture:
    """What one plate's ink is made of.

    ``dots`` (cells) are halftone, stochastic or tone, ``toned`` tone alone; ``lattices`` are those of its halftones.
    """

    plate: PackedPlate
    lattices: list[Lattice] = field(default_factory=list)
    tone: float = 0.0
    misses: int = 0
    dots: Mask = field(init=False)
    toned: Mask = field(init=False)
    _scattered: Mask = field(init=False)
    _seen: dict[int, _Seen] = field(default_factory=dict)
    _local: Floats | None = field(init=False, default=None)

    def __post_init__(self) -> None:
        self.dots = np.zeros(self.plate.ink.shape, np.bool_)
        self.toned, self._scattered = np.zeros_like(self.dots), np.zeros_like(self.dots)

    @property
    def grid(self) -> Grid:
        """The plate's grid."""
        return self.plate.grid

    @property
    def held(self) -> list[float]:
        """Ink in pixels that each lattice holds."""
        return [
            sum(seen.held[index] for seen in self._seen.values() if index < len(seen.held))
            for index in range(len(self.lattices))
        ]

    @property
    def main_lattice(self) -> Lattice | None:
        """The lattice that holds most ink, None without any."""
        return self.lattices[int(np.argmax(self.held))] if self.lattices else None

    @property
    def dispersed(self) -> float:
        """Ink in pixels of dispersed dots."""
        return sum(seen.dispersed for seen in self._seen.values())

    def judge(self, stop: Stop | None = None) -> None:
        """Looks at the whole plate, a strip at a time from the top; Cancelled when ``stop`` answers True."""
        plate, grid = self.plate, self.grid
        if not plate.ink.any() and plate.grey is None:
            return
        wide, narrow = textured_cells(plate.ink, grid)
        if plate.grey is not None and plate.tone is not None and plate.grey.any():
            grey = opened(pack(plate.grey), 3)
            self.toned = unpack(grey, grid.cell_columns)
            self.tone = float(plate.tone[self.toned].sum(dtype=np.int64)) / 255
            beside = unpack(round_about(grey, 2), grid.cell_columns)
            wide, narrow = wide & ~beside, narrow & ~beside
        strips = _strips_of(wide)
        known = {number: self._judge_strip(wide, narrow, number, stop) for number in strips}
        if self.lattices:  # one that was found further down may explain dots further up, and narrow rows of them
            for number in _strips_of(narrow):
                if known.get(number, 0) < len(self.lattices):
                    self._judge_strip(wide, narrow, number, stop)
        self.dots |= self.toned
        if self.dots.any():
            self._local = self._averaged()

    def _judge_strip(self, wide: Mask, narrow: Mask, number: int, stop: Stop | None) -> int:
        """Finds the dots of one strip; the number of lattices that were known to it in the end."""
        if stop is not None and stop():
            raise Cancelled
        first = number * STRIP_CELLS
        self.dots[first : first + STRIP_CELLS] = self._sorted(wide, narrow, number)
        return len(self.lattices)

    def release(self) -> None:
        """Lets go of the maps; nothing can be asked any more."""
        self.dots = self.toned = np.zeros((0, 0), np.bool_)
        self._local = None

    def local(self, rows: slice = slice(None)) -> Floats:
        """Local ink of some rows of cells, 0..1: a cell's own in solids and tone, the average round about in dots."""
        return self.plate.fractions(rows) if self._local is None else self._local[rows]

    def _sorted(self, wide: Mask, narrow: Mask, number: int) -> Mask:
        """Dots (64, cells) among the textured cells of a strip: lattice and dispersed; counts their ink."""
        grid, first = self.grid, number * STRIP_CELLS
        last = first + STRIP_CELLS
        body = slice(HALO_CELLS, HALO_CELLS + STRIP_CELLS)
        share = rows_of(self.plate.ink, first - HALO_CELLS, last + HALO_CELLS) * np.float32(1 / grid.full)
        plane = rows_of(self.plate.bits, (first - HALO_CELLS) * grid.cell, (last + HALO_CELLS) * grid.cell)
        near = rows_of(narrow, first - HALO_CELLS, last + HALO_CELLS)
        after = rows_of(self.plate.bits, first * grid.cell, (last + STRIP_CELLS) * grid.cell)
        around = rows_of(wide, first - HALO_CELLS, last + STRIP_CELLS)
        maps, longest = self._lattices_seen(after, plane, share, around, near)
        known = np.logical_or.reduce([np.zeros_like(near), *maps])
        fine = self._dispersed(plane, share, near, known, longest)
        self._seen[number] = seen = _Seen([0.0] * len(maps), 0.0)
        self._scattered[first:last] = False
        if not (known.any() or fine.any()):
            return np.zeros((STRIP_CELLS, grid.cell_columns), np.bool_)
        dots = self._with_rims(known | fine, share, near)
        left = dots[body].copy()
        for index, held in enumerate(maps):
            mine = unpack(round_about(pack(held), 2 * self._rim), grid.cell_columns)[body] & left
            seen.held[index] = float(share[body][mine].sum(dtype=np.float64)) * grid.full
            left &= ~mine
        self._scattered[first:last] = left
        seen.dispersed = float(share[body][left].sum(dtype=np.float64)) * grid.full
        return dots[body]

    @property
    def _rim(self) -> int:
        """Cells (about a millimetre) by which dots reach beyond where they were recognised."""
        return max(2, round(self.grid.cells_per_mm))

    def _with_rims(self, dots: Mask, share: Floats, near: Mask) -> Mask:
        """Recognised dots with the textured cells round about and the dots that the patch's edge cuts."""
        columns = self.grid.cell_columns
        rim = pack((unpack(round_about(pack(dots), self._rim), columns) & near) | dots)
        cut = round_about(rim, self._rim) & pack((share > 0) & (share < 1))
        return unpack(closed(rim | cut, 4), columns)

    def _lattices_seen(
        self, after: Plane, plane: Plane, share: Floats, wide: Mask, near: Mask
    ) -> tuple[list[Mask], float]:
        """Cells of each lattice among the textured ones, after a look for a new one where none explains them; and
        how long (mm) ink and gap of dispersed dots may be in this strip: longer where the look showed noise."""
        body = slice(HALO_CELLS, HALO_CELLS + STRIP_CELLS)
        grid, longest = self.grid, DISPERSED_MM
        maps = [repeats(plane, share, near, lattice, grid) for lattice in self.lattices]
        unknown = wide[: len(near)] & ~np.logical_or.reduce([np.zeros_like(near), *maps])
        patch = max(2, round(LEAST_PATCH_MM * grid.cells_per_mm))
        if len(self.lattices) < MOST_LATTICES and opened(pack(unknown[body]), patch).any():
            found = self._search(after, wide, unknown[body])
            if found.contrast < NOISE_CONTRAST:
                longest = COARSE_DISPERSED_MM
            if found.lattice is not None:
                new = repeats(plane, share, near, found.lattice, grid)
                least = DOTS_SHARE if found.lattice.crossed else LINES_SHARE
                if (new & unknown)[body].sum() > least * unknown[body].sum():
                    self.lattices.append(found.lattice)
                    maps.append(new)
        self._refine(after, maps, body)
        return maps, longest

    def _search(self, after: Plane, wide: Mask, unknown: Mask) -> Sight:
        """What the cells that no known lattice explains show; the strip after helps while no lattice is known."""
        cells = unknown if self.lattices else np.concatenate([unknown, wide[HALO_CELLS + STRIP_CELLS :]])
        seen = find_lattice(after, cells, self.grid, windows=6 if self.misses < 2 else 3)
        if seen.lattice is not None and any(seen.lattice.like(lattice) for lattice in self.lattices):
            seen = Sight(None, seen.contrast)
        self.misses += seen.lattice is None
        return seen

    def _refine(self, after: Plane, maps: list[Mask], body: slice) -> None:
        """Reads a lattice again where a strip shows much more of it than it was first read from."""
        side = window_size(self.grid) // self.grid.cell
        for index, lattice in enumerate(self.lattices):
            cells = maps[index][body]
            here = float(cells.sum()) / (side * side)
            if lattice.weight < ENOUGH_WINDOWS and here > 1.5 * lattice.weight:
                better = find_lattice(after, cells, self.grid).lattice
                if better is not None and better.weight > lattice.weight and better.like(lattice):
                    self.lattices[index] = better

    def _dispersed(self, plane: Plane, share: Floats, near: Mask, known: Mask, longest: float) -> Mask:
        """Unknown textured cells with ink and gap shorter than ``longest`` (mm), in patches of two millimetres."""
        grid, rest = self.grid, near & ~known
        size = max(3, round(LOCAL_MM * grid.cells_per_mm))
        if not opened(pack(rest), size).any():
            return np.zeros_like(rest)
        across = cell_counts(plane ^ moved(plane, 1, 0), grid.cell)
        weight = np.maximum(local_mean(near, size), 0.02)
        changes = local_mean((across * near), size) / weight
        ink = np.clip(local_mean((share * near), size) / weight, 0, 1)
        length = grid.full * 2 / np.maximum(changes, 0.01) * 4 * ink * (1 - ink)
        fine = pack(rest & (length < longest * grid.pixels_per_mm))
        sure = round_about(opened(fine, size), size) & fine
        return unpack(sure, grid.cell_columns)

    def _averaged(self) -> Floats:
        """Local ink of the whole plate."""
        grid, own = self.grid, self.plate.fractions()
        rows, columns = np.flatnonzero(self.dots.any(1)), np.flatnonzero(self.dots.any(0))
        part = np.s_[rows[0] : rows[-1] + 1, columns[0] : columns[-1] + 1]
        held = self.held_cells()[part] & ~self.toned[part]
        inside = held.astype(np.float32)
        size = max(3, round(LOCAL_MM * grid.cells_per_mm) | 1)
        every = self.plate.ink[part] * np.float32(1 / grid.full)
        mean = local_mean(every * inside, size) / np.maximum(local_mean(inside, size), 1e-3)
        own[part][held] = mean[held]
        return own

    def held_cells(self) -> Mask:
        """Cells of dots and tone without the paper round about that belongs to no dot."""
        grid = self.grid
        reach = max([lattice.period / grid.cell for lattice in self.lattices], default=0.5 * grid.cells_per_mm)
        size = int(np.ceil(1.5 * reach)) + 1  # dots stand a period apart, and corner to corner half as far again
        inked = np.pad(self.plate.ink > 0 if self.plate.tone is None else self.plate.tone > 0, size)
        closed_ = unpack(closed(pack(inked), size), inked.shape[1])[size:-size, size:-size]
        return closed_ & self.dots

    def dot_tones(self) -> Floats:
        """Local ink of the whole plate, 0..1, by the size of its dots where they stand in rows with gaps.

        In highlights some screenings leave dots out rather than make them smaller: what counts for a mesh is then the
        tone that dots of their size would make in full rows; in shadows the same of the holes.
        """
        local = self.local().copy()
        lattice = self.main_lattice
        if lattice is None or not self.dots.any():
            return local
        grid, period = self.grid, lattice.period
        held = self.held_cells() & ~self.toned
        rim = self._rims(held)
        for light, ink in ((True, local), (False, 1 - local)):
            across = 4 * ink * grid.full / rim
            size_tone = np.minimum(np.float32(np.pi / 4) * (across / period) ** 2, 0.5)
            where = held & (ink > 0) & (ink < MIDDLE) & (size_tone > ink)
            local[where] = size_tone[where] if light else 1 - size_tone[where]
        return local

    def dot_mm(self, ink_pixels: float) -> float | None:
        """Typical diameter in mm of the dots of a stochastic plate where they stand apart, None where none do."""
        if self.kind(ink_pixels) is not Kind.STOCHASTIC:
            return None
        held, local = self.held_cells() & self._scattered, self.local()
        apart = held & (local > 0) & (local < MIDDLE)
        if not apart.any():
            return None
        across = 4 * local[apart] * self.grid.full / self._rims(held)[apart]
        return float(np.median(across)) / self.grid.pixels_per_mm

    def _rims(self, held: Mask) -> Floats:
        """Length in pixels of the rims of dots in a cell, averaged round about over the cells ``held``.

        A disc's diameter is four times its area by its rim, and a rim is pi / 4 of the changes that it makes along rows
        and down columns.
        """
        size = max(3, round(LOCAL_MM * self.grid.cells_per_mm) | 1)
        changes = local_mean(self._changes(held) * held, size) / np.maximum(local_mean(held, size), 1e-3)
        return np.maximum(changes * np.float32(np.pi / 4), 1e-3)

    def _changes(self, cells: Mask) -> npt.NDArray[np.uint16]:
        """Changes between ink and paper along rows and down columns, by cell, in strips that hold any of ``cells``."""
        grid = self.grid
        out = np.zeros(cells.shape, np.uint16)
        for first in range(0, len(cells), STRIP_CELLS):
            rows = slice(first, first + STRIP_CELLS)
            if cells[rows].any():
                plane = rows_of(self.plate.bits, first * grid.cell - 1, rows.stop * grid.cell)
                down = plane[1:] ^ plane[:-1]
                across = plane[1:] ^ moved(plane[1:], 1, 0)
                out[rows] = cell_counts(across, grid.cell) + cell_counts(down, grid.cell)
        return out

    def kind(self, ink_pixels: float) -> Kind:
        """The kind that holds most of the plate's ink."""
        if ink_pixels * self.grid.pixel_cm2 < LEAST_INK_CM2:
            return Kind.EMPTY
        shares = {Kind.HALFTONE: sum(self.held), Kind.STOCHASTIC: self.dispersed, Kind.TONE: 0.0}
        if self.plate.grey_pixels >= TONE_SHARE * self.plate.inked_pixels:
            shares[Kind.TONE] = self.tone
        shares[Kind.SOLID] = ink_pixels - sum(shares.values())
        return max(shares, key=lambda kind: shares[kind])

    def halftone(self, ink_pixels: float) -> Halftone | None:
        """Ruling and angle of the lattice that holds most ink, None where dots hold next to none."""
        lattice = self.main_lattice
        if lattice is None or sum(self.held) < LEAST_HALFTONE * ink_pixels:
            return None
        return Halftone(lines_per_inch=lattice.lines_per_inch(self.grid.dpi), angle_deg=lattice.angle_deg)


def _strips_of(cells: Mask) -> list[int]:
    """Numbers of the strips in which any of the cells lie."""
    held: list[int] = np.flatnonzero(cells.reshape(-1, STRIP_CELLS, cells.shape[1]).any((1, 2))).tolist()
    return held


def textured_cells(ink: npt.NDArray[Any], grid: Grid) -> tuple[Mask, Mask]:
    """Cells in patches without a blot of ink or paper: patches of 2.6 mm and more, and of 1.3 mm and more."""
    blot = max(2, round(BLOT_MM * grid.cells_per_mm))
    margin = -(-4 * blot // WORD) * WORD
    columns = ink.shape[1]
    some, full = (np.pad(mask, ((0, 0), (margin, margin))) for mask in (ink > 0, ink == grid.full))
    mesh = closed(pack(some), blot + 1) & ~opened(pack(full), blot + 1)
    if not mesh.any():
        none = np.zeros(ink.shape, np.bool_)
        return none, none
    found = [round_about(opened(mesh, across), across // 2) & mesh for across in (2 * blot, blot)]
    wide, narrow = (unpack(patch, columns + 2 * margin)[:, margin : margin + columns] for patch in found)
    return wide, narrow


def repeats(plane: Plane, share: Floats, where: Mask, lattice: Lattice, grid: Grid) -> Mask:
    """Cells of ``where`` in which the plane looks like itself after a step of the lattice, one way or the other."""
    columns = np.flatnonzero(where.any(0))
    out = np.zeros_like(where)
    if not len(columns):
        return out
    step = max(1, WORD // grid.cell)
    reach = HALO_CELLS
    left = max(0, int(columns[0]) - reach) // step * step
    right = min(where.shape[1], -(-(int(columns[-1]) + 1 + reach) // step) * step)
    words = slice(left * grid.cell // WORD, right * grid.cell // WORD)
    part, ink = plane[:, words], share[:, left:right]
    size = max(3, round(1.5 * lattice.period / grid.cell) | 1)
    worst: Floats | None = None
    for dx, dy in lattice.vectors:
        change = cell_counts(part ^ moved(part, dx, dy), grid.cell).astype(np.float32)
        there = local_mean(change, size)
        back = _stepped(there, round(dy / grid.cell), round(dx / grid.cell))
        least = np.minimum(there, back)
        worst = least if worst is None else np.maximum(worst, least)
    mean = local_mean(ink, size)
    assert worst is not None
    out[:, left:right] = worst / grid.full < UNLIKE * np.maximum(2 * mean * (1 - mean), 0.01)
    alike = pack(out & where)
    across = max(2, round(grid.cells_per_mm))  # type is like itself here and there, dots are all over
    return unpack(round_about(opened(alike, across), across) & alike, where.shape[1])


def _stepped(cells: Floats, down: int, right: int) -> Floats:
    """Cell (y, x) answered by cell (y + down, x + right), infinite beyond the rim."""
    out = np.full_like(cells, np.inf)
    rows, columns = cells.shape
    out[max(0, -down) : rows - max(0, down), max(0, -right) : columns - max(0, right)] = cells[
        max(0, down) : rows - max(0, -down), max(0, right) : columns - max(0, -right)
    ]
    return out
