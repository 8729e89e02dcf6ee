"""Maps of cells: local means and islands, by scipy."""

from __future__ import annotations

import importlib
from functools import cache
from typing import Any

import numpy as np
import numpy.typing as npt

from setupassist.inspection.bits import Mask, pack, round_about, unpack

MOST_EXACT = 40_000  # cells round the islands whose middles are told to a cell

Floats = npt.NDArray[np.floating[Any]]


@cache
def _ndimage() -> Any:
    """scipy.ndimage, brought in when it is first needed; its names are not typed."""
    return importlib.import_module("scipy.ndimage")


def local_mean(cells: npt.NDArray[Any], size: int, *, shift: int = 0) -> Floats:
    """Mean over a square of ``size`` cells round each cell (M, N) float32, 0 beyond the rim; ``shift`` moves the
    square right and down."""
    mean: Floats = _ndimage().uniform_filter(cells.astype(np.float32), size, mode="constant", origin=-shift)
    return mean


def rows_of(rows: npt.NDArray[Any], first: int, last: int) -> npt.NDArray[Any]:
    """Rows first .. last of a map or plane (rows, columns), zero beyond it."""
    above, below = max(0, -first), max(0, last - len(rows))
    part = rows[max(0, first) : min(len(rows), last)]
    return np.pad(part, ((above, below), (0, 0))) if above or below else part


def labels_of(mask: Mask) -> npt.NDArray[np.int32]:
    """A number from 1 for every group of set cells that touch, corners included, at each of its cells; else 0."""
    labels: npt.NDArray[np.int32] = _ndimage().label(mask, np.ones((3, 3), np.uint8))[0]
    return labels


def boxes_of_labels(labels: npt.NDArray[np.int32]) -> list[tuple[slice, slice]]:
    """Rows and columns of each number from 1 on in a map of numbers."""
    return [place or (slice(0, 0), slice(0, 0)) for place in _ndimage().find_objects(labels)]


def distances(mask: Mask) -> Floats:
    """Distance in cells from each set cell to the nearest that is not set."""
    apart: Floats = _ndimage().distance_transform_edt(mask)
    return apart


def islands_of(mask: Mask) -> list[tuple[slice, slice]]:
    """Rows and columns of every group of set cells that touch, corners included."""
    places: list[tuple[slice, slice]] = _ndimage().find_objects(labels_of(mask))
    return places


def largest_islands(
    amounts: npt.NDArray[Any], cells_per_mm: float, *, most: int, join: int = 3
) -> tuple[tuple[float, float], ...]:
    """Middles (x, y in mm) of the islands of a map of amounts that hold most, the greatest first; islands up to
    ``join`` cells apart count as one. A middle is always a cell that holds something, or one of four by four cells
    where the islands spread far."""
    used, across = np.flatnonzero(amounts.any(1)), np.flatnonzero(amounts.any(0))
    if not len(used):
        return ()
    top, left = int(used[0]), int(across[0])
    part = amounts[top : used[-1] + 1, left : across[-1] + 1]
    if part.size > MOST_EXACT:
        rows, columns = -(-part.shape[0] // 4) * 4, -(-part.shape[1] // 4) * 4
        part = np.pad(part, ((0, rows - part.shape[0]), (0, columns - part.shape[1])))
        part = part.reshape(rows // 4, 4, columns // 4, 4).sum((1, 3), dtype=np.int64)
        at, per_mm, join = 4, cells_per_mm / 4, max(1, join // 4)
    else:
        at, per_mm = 1, cells_per_mm
    padded = np.pad(part > 0, join)
    label = labels_of(unpack(round_about(pack(padded), join), padded.shape[1]))[join:-join, join:-join]
    rows, columns = np.nonzero(part)
    mine = label[rows, columns]
    sums = np.bincount(mine, part[rows, columns].astype(np.float64))
    held = np.maximum(np.bincount(mine), 1)
    apart = np.hypot(rows - (np.bincount(mine, rows) / held)[mine], columns - (np.bincount(mine, columns) / held)[mine])
    nearest = np.lexsort((apart, mine))
    middle = nearest[np.searchsorted(mine[nearest], np.arange(len(sums)))[: len(sums)].clip(max=len(nearest) - 1)]
    order = [int(island) for island in np.argsort(-sums, kind="stable")[:most] if sums[island] > 0]
    return tuple(
        (
            float((left / at + columns[middle[island]] + 0.5) / per_mm),
            float((top / at + rows[middle[island]] + 0.5) / per_mm),
        )
        for island in order
    )
