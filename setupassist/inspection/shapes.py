"""Shapes of marks by the pixel: cut out of a plate, and laid on each other to a fraction of a pixel.

Two shapes are laid on each other first by the sums of their rows and of their columns, then pixel by pixel uphill to
where most ink lies on ink, edges softened over three pixels; a parabola through the neighbours gives the fraction. What
does not cover the other's ink there, a tenth of a millimetre allowed, is another shape.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator

import numpy as np
import numpy.typing as npt

from setupassist.inspection.bits import WORD, Mask, unpack
from setupassist.inspection.grid import Grid
from setupassist.inspection.planes import Box, PackedPlate

Move = tuple[float, float]
"""To the right and down, in pixels."""

NEAR_MM = 0.1
COVERED = 0.9
MOST_CLIMB = 9


def crop(plate: PackedPlate, box: Box) -> Mask:
    """The pixels of a box of cells."""
    top, bottom, left, right = (side * plate.grid.cell for side in box)
    first, last = left // WORD, -(-right // WORD)
    part = unpack(plate.bits[top:bottom, first:last], (last - first) * WORD)
    return part[:, left - first * WORD : right - first * WORD]


def near_pixels(grid: Grid) -> int:
    """How far in pixels ink of one shape may lie from that of another that is called the same."""
    return max(1, round(NEAR_MM * grid.pixels_per_mm))


def ways_of(picture: Mask) -> Iterator[Mask]:
    """The eight ways in which a picture may lie: straight, mirrored, and either by quarter turns."""
    for turned in (picture, picture.T):
        yield from (turned, turned[::-1], turned[:, ::-1], turned[::-1, ::-1])


def fit(fixed: Mask, other: Mask, near: int, covered: float = COVERED) -> Move | None:
    """What ``other`` must be moved by to fall on ``fixed``, counted from upper left corner on upper left corner.

    None where it is another shape: of either's ink less than a share of ``covered`` has some of the other's within
    ``near`` pixels.
    """
    if not fixed.any() or not other.any():
        return None
    down, right = (_shift(fixed.sum(axis), other.sum(axis)) for axis in (1, 0))
    rim = MOST_CLIMB + near + 3
    top, left = rim + max(0, -down), rim + max(0, -right)
    high = rim + max(top + fixed.shape[0], top + down + other.shape[0])
    wide = rim + max(left + fixed.shape[1], left + right + other.shape[1])
    frame, second = np.zeros((2, high, wide), np.uint8)
    frame[top : top + fixed.shape[0], left : left + fixed.shape[1]] = fixed
    second[top + down : top + down + other.shape[0], left + right : left + right + other.shape[1]] = other
    soft, inked = _softened(frame).ravel(), np.flatnonzero(second)
    scores: dict[tuple[int, int], int] = {}

    def score(dx: int, dy: int) -> int:
        if (dx, dy) not in scores:
            scores[dx, dy] = int(soft[inked + (dy * wide + dx)].sum(dtype=np.int64))
        return scores[dx, dy]

    dx, dy = _uphill(score)
    move = dy * wide + dx
    theirs = np.flatnonzero(frame)
    if np.count_nonzero(_grown(frame, near).ravel()[inked + move]) < covered * len(inked) or np.count_nonzero(
        _grown(second, near).ravel()[theirs - move]
    ) < covered * len(theirs):
        return None
    return right + dx + _peak(score, dx, dy, 1, 0), down + dy + _peak(score, dx, dy, 0, 1)


def _shift(fixed: npt.NDArray[np.int64], other: npt.NDArray[np.int64]) -> int:
    """Where a row of sums fits best on another."""
    match = np.correlate(fixed.astype(np.float64), other.astype(np.float64), "full")
    return int(np.argmax(match)) - len(other) + 1


def _softened(frame: npt.NDArray[np.uint8]) -> npt.NDArray[np.uint8]:
    """Set pixels in the 3 x 3 pixels round each."""
    down = frame.copy()
    down[1:] += frame[:-1]
    down[:-1] += frame[1:]
    out = down.copy()
    out[:, 1:] += down[:, :-1]
    out[:, :-1] += down[:, 1:]
    return out


def _grown(frame: npt.NDArray[np.uint8], reach: int) -> npt.NDArray[np.uint8]:
    """What lies within ``reach`` pixels of a set pixel, row- and columnwise."""
    done = 0
    while done < reach:
        step = min(2 * done + 1, reach - done)
        down = frame.copy()
        down[step:] |= frame[:-step]
        down[:-step] |= frame[step:]
        frame = down.copy()
        frame[:, step:] |= down[:, :-step]
        frame[:, :-step] |= down[:, step:]
        done += step
    return frame


def _uphill(score: Callable[[int, int], int]) -> tuple[int, int]:
    """The place near 0, 0 from which no neighbour scores more."""
    dx = dy = 0
    while max(abs(dx), abs(dy)) < MOST_CLIMB:
        around = [(dx, dy), (dx - 1, dy), (dx + 1, dy), (dx, dy - 1), (dx, dy + 1)]
        best = max(around, key=lambda at: score(*at))
        if best == (dx, dy):
            break
        dx, dy = best
    return dx, dy


def _peak(score: Callable[[int, int], int], dx: int, dy: int, right: int, down: int) -> float:
    """How far beyond a whole pixel the top lies along one axis."""
    low, top, high = (score(dx + k * right, dy + k * down) for k in (-1, 0, 1))
    bend = low - 2 * top + high
    return (low - high) / (2 * bend) if bend else 0.0
