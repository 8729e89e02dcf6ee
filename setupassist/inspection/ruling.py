"""Ruling and angle of a halftone, from the power spectrum of a few windows full of dots.

The strongest spot between 20 and 100 lines an inch is the dot row; a parabola through the log power gives fractions
of a bin, and the spot at right angles is averaged in where it agrees. Nothing is called a lattice unless its spot
stands far out of what lies at the same radius: lettering has spots too, but weak ones. A spectrum without any spot at
all is noise: dispersed dots.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
import numpy.typing as npt

from setupassist.inspection.bits import WORD, Plane, unpack
from setupassist.inspection.grid import Grid
from setupassist.inspection.maps import local_mean

Floats = npt.NDArray[np.floating[Any]]

LEAST_RULING, MOST_RULING = 20.0, 100.0  # lines an inch
LEAST_STRENGTH = 500.0  # times the median at like radius; drawn lettering reached 280, 6 mm of dots at 45 lines 900
LIKE_RADIUS = 0.15
LEAST_LINES = 24.5  # lines an inch; coarser lines without dots are drawn hatching
AGREE = 0.015  # the two spots of a lattice differ by less than this; aliases and neighbours by more
_MULTIPLES = (1 + 1j, 1 - 1j, 2, 2 + 1j, 2 - 1j, 2 + 2j, 2 - 2j, 3, 3 + 1j, 3 - 1j, 4)
_SPOT_LEVEL, _SPOT_SHARE = 100.0, 0.1  # of the ring's median and of the strongest spot, for the dot rows' own spot
VECTOR_MM = 0.9  # shorter lattice vectors find small type alike too


@dataclass(frozen=True)
class Lattice:
    """A dot lattice: ``frequency`` (x, y) in cycles a pixel, y down; whole-pixel ``vectors`` after which it repeats.

    ``weight`` is the ink-and-paper texture that it was read from, in whole windows;
    ``crossed`` where dot rows were seen both ways, not lines only.
    """

    frequency: tuple[float, float]
    vectors: tuple[tuple[int, int], ...]
    weight: float
    crossed: bool = True

    @property
    def period(self) -> float:
        """Pixels a dot row."""
        return float(1 / np.hypot(*self.frequency))

    def lines_per_inch(self, dpi: float) -> float:
        """Dot rows an inch."""
        return dpi / self.period

    @property
    def angle_deg(self) -> float:
        """Angle of the dot rows, counter-clockwise from the horizontal as seen, in [0, 90)."""
        angle = float(np.rad2deg(np.arctan2(-self.frequency[1], self.frequency[0])) % 90)
        return 0.0 if angle >= 89.9995 or angle < 0.0005 else angle

    def like(self, other: Lattice) -> bool:
        """Whether two lattices are one, read twice (spots apart by under 3 %, whichever of the four was taken)."""
        x, y = self.frequency
        turns = ((x, y), (-x, -y), (-y, x), (y, -x))
        apart = min(np.hypot(u - other.frequency[0], v - other.frequency[1]) for u, v in turns)
        return bool(apart < 0.03 * np.hypot(x, y))


@dataclass(frozen=True)
class Sight:
    """What a few windows show: the lattice, if any, and how far the strongest spot stands out of the ring's median
    (under 10 for noise, 90 and more for lettering; infinite where nothing was seen)."""

    lattice: Lattice | None
    contrast: float


def window_size(grid: Grid) -> int:
    """Side of a window in pixels, a power of two: about 18 rows of the coarsest dots."""
    return int(min(1 << int(np.ceil(np.log2(grid.dpi / 25 * 18))), grid.strip))


def find_lattice(plane: Plane, textured: npt.NDArray[np.bool_], grid: Grid, *, windows: int = 6) -> Sight:
    """The dot lattice of the textured cells, or none where no spot stands out.

    ``plane`` (rows, words) holds the pixels, ``textured`` (rows / cell, cells) says which cells to judge.
    """
    from scipy.fft import rfft2

    side = window_size(grid)
    across = side // grid.cell
    need_rows, need_columns = max(textured.shape[0], across), max(textured.shape[1], across)
    room = np.zeros((need_rows, need_columns), np.float32)
    room[: textured.shape[0], : textured.shape[1]] = textured
    hann = np.hanning(side).astype(np.float32)
    power: Floats = np.zeros((side, side // 2 + 1), np.float32)
    weight = 0.0
    for top, left in _places(room, across, windows):
        mask = room[top : top + across, left : left + across]
        share = float(mask.mean())
        if share < 0.05:
            break
        window = _window(plane, top * grid.cell, left * grid.cell, side)
        keep = np.repeat(np.repeat(mask, grid.cell, axis=0), grid.cell, axis=1)
        mean = float((window * keep).sum() / keep.sum())
        window = (window - mean) * keep * hann * hann[:, None]
        power += np.abs(rfft2(window)) ** 2
        weight += share
    if not weight:
        return Sight(None, np.inf)
    return _sight(np.roll(power, side // 2, 0), grid, weight)


def _places(room: Floats, across: int, most: int) -> list[tuple[int, int]]:
    """Upper left cells of up to ``most`` windows that hold the most texture, best first, half overlapping at most."""
    step = max(1, across // 4)
    coarse = local_mean(room, across, shift=across // 2)
    rows, columns = room.shape[0] - across, room.shape[1] - across
    tops, lefts = sorted({*range(0, rows + 1, step), rows}), sorted({*range(0, columns + 1, step), columns})
    score = coarse[np.ix_(tops, lefts)].copy()
    found: list[tuple[int, int]] = []
    while len(found) < most:
        i, j = np.unravel_index(int(np.argmax(score)), score.shape)
        if score[i, j] <= 0:
            break
        top, left = tops[int(i)], lefts[int(j)]
        found.append((top, left))
        near = (np.abs(np.array(tops) - top) < across // 2)[:, None] & (np.abs(np.array(lefts) - left) < across // 2)
        score[near] = 0
    return found


def _window(plane: Plane, top: int, left: int, side: int) -> npt.NDArray[np.float32]:
    """A square of pixels as 0 and 1, paper beyond the plane."""
    out = np.zeros((side, side), np.float32)
    first = left // WORD
    part = plane[top : top + side, first : (left + side - 1) // WORD + 1]
    raw = unpack(part, part.shape[1] * WORD)[:, left - first * WORD :][:, :side]
    out[: raw.shape[0], : raw.shape[1]] = raw
    return out


def _sight(power: Floats, grid: Grid, weight: float) -> Sight:
    side = len(power)
    fy, fx = (np.arange(side) - side // 2)[:, None] / side, np.arange(side // 2 + 1)[None] / side
    radius = np.hypot(fx, fy) * grid.dpi
    ring = (radius > LEAST_RULING) & (radius < MOST_RULING) & (radius < grid.dpi / 2.2)
    level = float(np.median(power[ring])) if ring.any() else 0.0
    if not level > 0:
        return Sight(None, np.inf)
    y, x = (int(v) for v in np.unravel_index(int(np.argmax(np.where(ring, power, 0))), power.shape))
    contrast = float(power[y, x]) / level
    near = ring & (np.abs(radius - radius[y, x]) < LIKE_RADIUS * radius[y, x])
    if power[y, x] < LEAST_STRENGTH * np.median(power[near]):
        return Sight(None, contrast)
    lattice = _lattice_at(power, (y, x), grid, weight)
    coarse = not lattice.crossed and lattice.lines_per_inch(grid.dpi) < LEAST_LINES
    return Sight(None if coarse else lattice, contrast)


def _lattice_at(power: Floats, at: tuple[int, int], grid: Grid, weight: float) -> Lattice:
    """The lattice whose strongest spot is at (row, column) ``at``."""
    side, (y, x) = len(power), at
    level = float(np.median(power))
    y, x = _fundamental(power, y, x, level, grid)
    first = _spot(power, y, x)
    turned = np.array([-first[1], first[0]])
    if turned[0] < 0:
        turned = -turned
    row, column = round(turned[1] * side) + side // 2, round(turned[0] * side)
    top, left = max(1, row - 3), max(0, column - 3)
    box = power[top : row + 4, left : column + 4]
    frequency, crossed = first, False
    if box.size:
        v, u = (int(i) for i in np.unravel_index(int(np.argmax(box)), box.shape))
        if box[v, u] > max(40 * level, 0.001 * power[y, x]):
            second = _spot(power, top + v, left + u)
            back = np.array([second[1], -second[0]])
            back *= np.sign(back @ first)
            if np.hypot(*(back - first)) < AGREE * np.hypot(*first):
                frequency, crossed = (first + back) / 2, True
    return Lattice((float(frequency[0]), float(frequency[1])), _whole_vectors(frequency, grid), weight, crossed)


def _fundamental(power: Floats, y: int, x: int, level: float, grid: Grid) -> tuple[int, int]:
    """The spot of the dot rows themselves, where the strongest one is a multiple or a diagonal of it.

    Small dots and small holes give all multiples nearly alike. With frequencies as complex numbers, dot rows ``e``
    make spots at every ``e`` x (k + m i).
    """
    side = len(power)
    peak = float(power[y, x])
    strongest = complex(x / side, (y - side // 2) / side)
    found = (abs(strongest), (y, x))
    for divisor in _MULTIPLES:
        rows = strongest / divisor
        if rows.real < 0:
            rows = -rows
        if abs(rows) * grid.dpi < LEAST_RULING:
            continue
        v, u = round(rows.imag * side) + side // 2, round(rows.real * side)
        top, left = max(0, v - 1), max(0, u - 1)
        box = power[top : v + 2, left : u + 2]
        if box.size and box.max() > max(_SPOT_LEVEL * level, _SPOT_SHARE * peak) and abs(rows) < found[0]:
            j, i = (int(k) for k in np.unravel_index(int(np.argmax(box)), box.shape))
            found = (abs(rows), (top + j, left + i))
    return found[1]


def _spot(power: Floats, y: int, x: int) -> npt.NDArray[np.float64]:
    """(fx, fy) of a spectral spot in cycles a pixel."""
    side = len(power)
    at = [0.0, 0.0]
    for axis, (dy, dx) in enumerate(((0, 1), (1, 0))):
        a, b, c = (
            float(np.log(power[(y + s * dy) % side, min(abs(x + s * dx), side // 2)] + 1e-9)) for s in (-1, 0, 1)
        )
        bend = 2 * (a - 2 * b + c)
        at[axis] = float(np.clip((a - c) / bend, -0.5, 0.5)) if bend < 0 else 0.0
    return np.array([(x + at[0]) / side, (y - side // 2 + at[1]) / side])


def _whole_vectors(frequency: npt.NDArray[np.float64], grid: Grid) -> tuple[tuple[int, int], ...]:
    """Two lattice vectors, not parallel, nearest to whole pixels, and long enough that type looks unlike itself."""
    length = float(np.hypot(*frequency))
    along = frequency / length**2
    across = np.array([-along[1], along[0]])
    least = max(VECTOR_MM * grid.pixels_per_mm, 1.5 / length)
    most = max(1.6 * least, least + 1.5 / length)
    found: list[tuple[float, tuple[int, int]]] = []
    reach = int(most * length) + 1
    for i in range(-reach, reach + 1):
        for j in range(reach + 1):
            vector = i * along + j * across
            if (j or i > 0) and least <= np.hypot(*vector) < most:
                whole = np.round(vector)
                miss = float(np.hypot(*(vector - whole))) + 0.02 * float(np.hypot(i, j))
                found.append((miss, (int(whole[0]), int(whole[1]))))
    found.sort()
    first = found[0][1]
    for _, (dx, dy) in found[1:]:
        if abs(first[0] * dy - first[1] * dx) > 0.5 * np.hypot(*first) * np.hypot(dx, dy):
            return first, (dx, dy)
    return (first,)
