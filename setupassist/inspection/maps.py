"""Maps of cells: local means and islands, by scipy."""

from __future__ import annotations

import importlib
from functools import cache
from typing import Any

import numpy as np
import numpy.typing as npt

Floats = npt.NDArray[np.floating[Any]]
Mask = npt.NDArray[np.bool_]


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


def islands_of(mask: Mask) -> list[tuple[slice, slice]]:
    """Rows and columns of every group of set cells that touch, corners included."""
    places: list[tuple[slice, slice]] = _ndimage().find_objects(labels_of(mask))
    return places


def largest_islands(
    amounts: npt.NDArray[Any], cells_per_mm: float, *, most: int, join: int = 3
) -> tuple[tuple[float, float], ...]:
    """Middles (x, y in mm) of the islands of a map of amounts that hold most, the greatest first; islands up to
    ``join`` cells apart count as one. A middle is always a cell that holds something."""
    rows, columns = np.nonzero(amounts)
    if not len(rows):
        return ()
    top, left = int(rows.min()), int(columns.min())
    held = np.zeros((int(rows.max()) - top + 1 + 2 * join, int(columns.max()) - left + 1 + 2 * join), np.bool_)
    for down in range(2 * join + 1):  # few cells hold anything as a rule: no filter over the whole map
        for right in range(2 * join + 1):
            held[rows - top + down, columns - left + right] = True
    label = labels_of(held)[rows - top + join, columns - left + join]
    sums = np.bincount(label, amounts[rows, columns].astype(np.float64))
    order = [int(island) for island in np.argsort(-sums, kind="stable")[:most] if sums[island] > 0]
    places = []
    for island in order:
        mine = np.flatnonzero(label == island)
        apart = np.hypot(rows[mine] - rows[mine].mean(), columns[mine] - columns[mine].mean())
        at = mine[int(np.argmin(apart))]
        places.append((float((columns[at] + 0.5) / cells_per_mm), float((rows[at] + 0.5) / cells_per_mm)))
    return tuple(places)
