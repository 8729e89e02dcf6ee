"""Small islands of ink with paper all round, dots left out: what a mesh may not hold."""

from __future__ import annotations

from typing import Any

import numpy as np
import numpy.typing as npt
from scipy.spatial import KDTree

from setupassist.inspection.bits import WORD, Mask, Plane
from setupassist.inspection.chords import Chords, Integers

MOST_ACROSS = 30  # px: an island with its surroundings is looked at in one word a row
BATCH = 20_000
CROWD_MM, CROWD = 1.0, 5  # so many islands so near round about are dots and no accident
ROWS_MM, EVEN, NEIGHBOURS, MOST_ROWS = 1.2, 0.15, 8, 20_000  # step of a row, by how much it may vary, …
ASIDE = 1.6  # steps to the next row
STEPS, FADING = (0.7, 2.3), 3.0  # periods from dot to dot where a lattice is known, straight and slanting; and most

Islands = npt.NDArray[np.float64]
"""Islands (N, 3): x and y of the middle and the greater of width and height, all in pixels."""


def window(plane: Plane, rows: Integers, x: Integers) -> Plane:
    """64 pixels (…) of a plane from places x on, paper outside of it."""
    word, bit = np.divmod(x, WORD)
    inside = (rows >= 0) & (rows < len(plane))
    row = np.where(inside, rows, 0)

    def taken(at: Integers) -> Plane:
        there = inside & (at >= 0) & (at < plane.shape[1])
        return np.where(there, plane[row, np.where(there, at, 0)], np.uint64(0))

    shift = bit.astype(np.uint64)
    beyond = np.where(bit == 0, np.uint64(0), taken(word + 1) << ((np.uint64(WORD) - shift) % np.uint64(WORD)))
    return (taken(word) >> shift) | beyond


def islands_at(plane: Plane, runs: Chords, most: int) -> Islands:
    """Islands of at most ``most`` pixels across whose top row holds one of the ``runs`` (along rows) as its first."""
    most = min(most, MOST_ACROSS)
    runs = runs.where(runs.length <= most)
    found = []
    for first in range(0, len(runs.first), BATCH):
        some = runs.where(np.arange(len(runs.first)) // BATCH == first // BATCH)
        row, place = some.lines, some.places
        around = _ones(some.length + 2)
        top = (window(plane, row - 1, place - 1) & around) == 0
        found.append(_grown(plane, row[top], place[top], some.length[top], most))
    return np.concatenate(found) if found else np.zeros((0, 3))


def _ones(length: Integers) -> Plane:
    return (np.uint64(1) << length.astype(np.uint64)) - np.uint64(1)


def _grown(plane: Plane, row: Integers, place: Integers, length: Integers, most: int) -> Islands:
    """Each run grown within the ink round about; what stays within ``most`` pixels is an island."""
    rows, left = row[:, None] + np.arange(-1, most + 1), place - most - 1
    ink = window(plane, rows, np.broadcast_to(left[:, None], rows.shape))
    part = np.zeros_like(ink)
    part[:, 1] = _ones(length) << np.uint64(most + 1)
    held = _filled(part, ink, most)
    part = part[held]
    first = np.bitwise_count((part[:, 1] & (~part[:, 1] + np.uint64(1))) - np.uint64(1))
    held, part = held[first == most + 1], part[first == most + 1]
    low, high = _span(part)
    height = (part != 0).sum(1)
    x = left[held] + (low + high + 1) / 2
    return np.column_stack([x, row[held] + height / 2, np.maximum(high - low + 1, height)])


def _filled(part: Plane, ink: Plane, most: int) -> Integers:
    """Which of the seeds (N, rows) fill no more than ``most`` pixels of the ink (N, rows) each way; they are filled."""
    alive, done = np.arange(len(part)), []
    while len(alive):
        now, room = part[alive], ink[alive]
        wide = now | (now << np.uint64(1)) | (now >> np.uint64(1))
        tall = wide.copy()
        tall[:, 1:] |= wide[:, :-1]
        tall[:, :-1] |= wide[:, 1:]
        tall &= room
        part[alive] = tall
        low, high = _span(tall)
        fits = (tall[:, 0] == 0) & (tall[:, -1] == 0) & (high - low < most) & ((tall != 0).sum(1) <= most)
        still = (tall == now).all(1)
        done.append(alive[fits & still])
        alive = alive[fits & ~still]
    return np.sort(np.concatenate(done)) if done else alive


def _span(part: Plane) -> tuple[Integers, Integers]:
    """Lowest and highest bit set in any row of each stack of rows (N, rows)."""
    every = np.bitwise_or.reduce(part, axis=1)
    low = np.bitwise_count((every & (~every + np.uint64(1))) - np.uint64(1)).astype(np.int64)
    for step in (1, 2, 4, 8, 16, 32):
        every = every | (every >> np.uint64(step))
    return low, np.bitwise_count(every).astype(np.int64) - 1


def confined(plane: Plane, x: Integers, y: Integers, most: int, *, bare: bool) -> Mask:
    """Which pixels lie in a piece of ink (or of paper) that fits within ``most`` pixels, dots and their holes."""
    most = min(most, MOST_ACROSS)
    out = np.zeros(len(x), np.bool_)
    for first in range(0, len(x), BATCH):
        some = slice(first, first + BATCH)
        rows, left = y[some, None] + np.arange(-most, most + 1), x[some] - most
        ink = window(plane, rows, np.broadcast_to(left[:, None], rows.shape))
        if bare:
            ink = ~ink
        part = np.zeros_like(ink)
        part[:, most] = ink[:, most] & np.uint64(1 << most)
        out[some][_filled(part, ink, most)] = True
    return out


def lone(islands: Islands, beside: Mask, *, pixels_per_mm: float, period_px: float | None) -> Mask:
    """Which islands are no dots: dots lie ``beside`` known ones, stand in a crowd, in rows at even steps beside other
    rows, or a period apart; and so are those that follow them at short steps, as where a tone fades out."""
    if not len(islands):
        return np.ones(0, np.bool_)
    place, reach = islands[:, :2], ROWS_MM * pixels_per_mm
    tree = _tree(place)
    dots: Mask = beside | (tree.query_ball_point(place, CROWD_MM * pixels_per_mm, return_length=True) > CROWD)
    if period_px is not None:
        near, far = (tree.query_ball_point(place, share * period_px, return_length=True) for share in STEPS)
        dots |= far > near
        reach = max(reach, FADING * period_px)
    if 1 < len(islands) <= MOST_ROWS:
        dots |= _in_rows(tree, islands, ROWS_MM * pixels_per_mm)
    new = dots
    while new.any() and not dots.all():
        more = ~dots
        more[more] = _tree(place[new]).query(place[more], distance_upper_bound=reach)[0] <= reach
        new, dots = more, dots | more
    return ~dots


def _tree(place: Islands) -> Any:
    return KDTree(place)  # type: ignore[no-untyped-call]


def _in_rows(tree: Any, islands: Islands, reach: float) -> Mask:
    """Islands midway between two of about their size, with another beside that row about as near."""
    place, size = islands[:, :2], islands[:, 2]
    away, which = tree.query(place, min(NEIGHBOURS + 1, len(place)), distance_upper_bound=reach)
    here, rank = np.nonzero(np.isfinite(away[:, 1:]))
    there = which[here, rank + 1]
    step = place[there] - place[here]
    length = np.maximum(np.hypot(step[:, 0], step[:, 1]), 1e-9)
    off, opposite = tree.query(place[here] - step)
    sizes = np.abs(size[[there, opposite]] - size[here]).max(0) if len(here) else length
    even = (off <= EVEN * length) & (sizes <= np.maximum(1.5, 0.3 * size[here])) & (opposite != here)
    here, step, length = here[even], step[even], length[even]
    near, rank = which[here, 1:], away[here, 1:]
    known = np.isfinite(rank)
    aside = place[np.where(known, near, 0)] - place[here][:, None]
    across = np.abs(aside[..., 0] * step[:, None, 1] - aside[..., 1] * step[:, None, 0]) / length[:, None]
    beside = (known & (across >= 0.5 * length[:, None]) & (rank <= ASIDE * length[:, None])).any(1)
    out = np.zeros(len(place), np.bool_)
    out[here[beside]] = True
    return out
