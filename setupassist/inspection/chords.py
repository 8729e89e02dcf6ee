"""Chords: runs of ink, and of paper between ink, along the rows and down the columns of a packed plane.

Only the two ends of each run are looked for, so that the work follows the length of the edges and not the area.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any, Literal

import numpy as np
import numpy.typing as npt

from setupassist.errors import Cancelled
from setupassist.inspection.bits import WORD, Mask, Plane, pack

Integers = npt.NDArray[np.signedinteger[Any]]

LONGEST = 62  # px: rows end in a word of paper, so that no longer gap than this may be asked for
BAND = 512  # rows that fit into the nearest memory
PEELED = 3  # set pixels of a word that are taken out one by one; what is left is unpacked


@dataclass(frozen=True)
class Ends:
    """First and last pixels of the runs of ink along some lines, each as sorted keys line x ``stride`` + place."""

    first: Integers
    last: Integers
    stride: int

    def inked(self, longest: int) -> Chords:
        """Runs of ink of at most ``longest`` pixels."""
        return self._paired(self.first, self.last, longest, side="left")

    def bare(self, longest: int) -> Chords:
        """Runs of paper of at most ``longest`` pixels that have ink at both ends."""
        return self._paired(self.last + 1, self.first - 1, longest, side="right")

    def _paired(self, first: Integers, last: Integers, longest: int, *, side: Literal["left", "right"]) -> Chords:
        if self._whole():
            last, first = (last, first) if side == "left" else (last[1:], first[:-1])
        else:
            at = np.searchsorted(self.last, self.first) if side == "left" else np.searchsorted(last, first)
            held = at < len(last)
            first, last = first[held], last[at[held]]
        length = last - first + 1
        held = (length > 0) & (length <= longest)
        return Chords(first[held], length[held], self.stride)

    def _whole(self) -> bool:
        """Whether every first pixel has its last one, none of them hidden."""
        if len(self.first) != len(self.last):
            return False
        return bool((self.first <= self.last).all() and (self.first[1:] > self.last[:-1]).all())


@dataclass(frozen=True)
class Chords:
    """Short runs (N): first pixel as sorted keys line x ``stride`` + place, and length in pixels."""

    first: Integers
    length: Integers
    stride: int

    def where(self, held: Mask) -> Chords:
        """Some of them."""
        return Chords(self.first[held], self.length[held], self.stride)

    @property
    def lines(self) -> Integers:
        """Row of each run along rows, column of each run down columns."""
        return self.first // self.stride

    @property
    def places(self) -> Integers:
        """First pixel along the line."""
        return self.first % self.stride


def ends_of(
    plane: Plane,
    rows: slice,
    *,
    hidden: Mask | None = None,
    cell: int = 1,
    used: Mask | None = None,
    stop: Callable[[], bool] | None = None,
) -> tuple[Ends, Ends]:
    """Ends of the runs along the rows, and down the columns, at pixels of some rows of a plane (rows, words).

    Each row ends in a word of paper. Edges in cells of ``hidden`` (rows / cell, cells) are left out; bands of cells
    with nothing ``used`` (rows / cell) are passed over.
    """
    wide, high = plane.shape[1] * WORD, len(plane) + 2 * WORD
    found: list[list[Integers]] = [[], [], [], []]
    kind = np.int32 if wide * high < 2**31 else np.int64
    top, bottom = max(0, rows.start), min(len(plane), rows.stop)
    for first in range(top, bottom, BAND):
        if stop is not None and stop():
            raise Cancelled
        last = min(bottom, first + BAND)
        cells = slice(first // cell, -(-last // cell))
        if used is not None and not used[cells].any():
            continue
        keep = None if hidden is None or not hidden[cells].any() else _shown(hidden[cells], cell, plane.shape[1])
        if keep is not None:
            keep = keep[first - cells.start * cell :][: last - first]
        for number, edge in enumerate(_edges(plane, first, last)):
            at = _set_pixels(edge if keep is None else edge & keep) + first * wide
            found[number].append((at if number < 2 else at % wide * high + at // wide).astype(kind))
    keys: list[Integers] = [np.sort(np.concatenate(some)) if some else np.zeros(0, kind) for some in found]
    return Ends(keys[0], keys[1], wide), Ends(keys[2], keys[3], high)


def _shown(hidden: Mask, cell: int, words: int) -> Plane:
    wide = np.repeat(hidden, cell, axis=1)[:, : words * WORD]
    return np.repeat(~pack(wide, words), cell, axis=0)


def _edges(plane: Plane, first: int, last: int) -> tuple[Plane, Plane, Plane, Plane]:
    """Ink pixels of some rows with paper on the left, on the right, above and below."""
    band = plane[first:last]
    flat = band.reshape(-1)
    left = flat << np.uint64(1)
    left[1:] |= flat[:-1] >> np.uint64(WORD - 1)
    right = flat >> np.uint64(1)
    right[:-1] |= flat[1:] << np.uint64(WORD - 1)
    out = []
    for beside in (left, right):
        np.bitwise_and(np.invert(beside, out=beside), flat, out=beside)
        out.append(beside.reshape(band.shape))
    for step in (-1, 1):
        near = np.zeros_like(band)
        source = plane[max(0, first + step) : last + step]
        near[max(0, -step - first) :][: len(source)] = source
        out.append(np.bitwise_and(np.invert(near, out=near), band, out=near))
    return out[0], out[1], out[2], out[3]


def _set_pixels(plane: Plane) -> Integers:
    """Flat places of the set pixels of a plane, in no order."""
    flat = plane.reshape(-1)
    at = np.flatnonzero(flat)
    words, found = flat[at], []
    for _ in range(PEELED):
        if not len(at):
            break
        lowest = words & (~words + np.uint64(1))
        found.append(at * WORD + np.bitwise_count(lowest - np.uint64(1)))
        words = words ^ lowest
        left = np.flatnonzero(words)
        at, words = at[left], words[left]
    if len(at):
        which, bit = np.divmod(np.flatnonzero(np.unpackbits(words.view(np.uint8), bitorder="little")), WORD)
        found.append(at[which] * WORD + bit)
    return np.concatenate(found) if found else at
