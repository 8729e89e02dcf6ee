"""Clumps of ink: groups of cells that touch, or nearly do, as boxes."""

from __future__ import annotations

from typing import Any

import numpy as np
import numpy.typing as npt

from setupassist.inspection.bits import Mask, closed, pack, unpack
from setupassist.inspection.planes import Box

Boxes = npt.NDArray[np.int64]
"""Boxes (n, 4): top, bottom, left, right in cells."""

MOST_RUNS = 200_000


def boxes_of(occupied: Mask, join: int) -> Boxes:
    """Boxes (n, 4) of the clumps of a map, parts that a square of ``join`` cells does not fit between taken together.

    None are given of a map in more than 200,000 runs of cells: noise all over, of which nobody wants every clump.
    """
    none = np.zeros((0, 4), np.int64)
    rows, columns = np.flatnonzero(occupied.any(1)), np.flatnonzero(occupied.any(0))
    if not len(rows):
        return none
    top, left = int(rows[0]), int(columns[0])
    part = np.pad(occupied[top : int(rows[-1]) + 1, left : int(columns[-1]) + 1], join)
    mass = unpack(closed(pack(part), join), part.shape[1])[join:-join]
    runs = _runs(mass)
    if len(runs[0]) > MOST_RUNS:
        return none
    found = _joined(*runs, mass.shape[1])
    found += np.array([top, top, left - join, left - join])
    return found


def _runs(mass: Mask) -> tuple[Boxes, Boxes]:
    """Where runs of set cells start and end in the rows laid end to end; a map's first and last columns are empty."""
    flat = mass.ravel()
    edges = np.flatnonzero(flat[1:] != flat[:-1]) + 1
    return edges[::2], edges[1::2]


def _joined(starts: Boxes, ends: Boxes, width: int) -> Boxes:
    """Boxes of the groups of runs that touch from row to row, corners included."""
    below = np.searchsorted(ends, starts + width), np.searchsorted(starts, ends + width, side="right")
    some = np.maximum(below[1] - below[0], 0)
    upper = np.repeat(np.arange(len(starts)), some)
    lower = np.arange(len(upper)) - np.repeat(np.cumsum(some) - some, some) + np.repeat(below[0], some)
    group = _groups(upper, lower, len(starts))
    order = np.argsort(group, kind="stable")
    first = np.flatnonzero(np.diff(group[order], prepend=-1))
    row, left, right = starts // width, starts % width, ends - starts + starts % width
    sides = (
        np.minimum.reduceat(row[order], first),
        np.maximum.reduceat(row[order], first) + 1,
        np.minimum.reduceat(left[order], first),
        np.maximum.reduceat(right[order], first),
    )
    found: Boxes = np.stack(sides, axis=1).astype(np.int64)
    return found


def _groups(one: npt.NDArray[Any], two: npt.NDArray[Any], size: int) -> npt.NDArray[np.intp]:
    """The least member of the group of each of ``size`` things, of which ``one`` and ``two`` belong together.

    Every thing points to the least that it is known to belong with, until nothing changes; the pointers halve the way
    each time.
    """
    least = np.arange(size)
    while True:
        lower = np.minimum(least[one], least[two])
        before = least.copy()
        np.minimum.at(least, before[one], lower)
        np.minimum.at(least, before[two], lower)
        while not np.array_equal(least, shorter := least[least]):
            least = shorter
        if np.array_equal(least, before):
            return least


def as_box(row: npt.NDArray[np.int64]) -> Box:
    """One row of ``Boxes``."""
    top, bottom, left, right = row.tolist()
    return top, bottom, left, right
