"""Planes of fewer pixels, for what is wide, and the exact ends of chords found on them."""

from __future__ import annotations

import numpy as np

from setupassist.inspection.bits import WORD, Plane
from setupassist.inspection.chords import Chords, Integers
from setupassist.inspection.strokes import Floats


def coarser(plane: Plane, step: int, *, any_ink: bool) -> Plane:
    """Plane (rows / step, words): a pixel for step x step (a power of 2), set where all of them are, or any of them.

    Rows end in a word of paper.
    """
    merge = np.bitwise_or if any_ink else np.bitwise_and
    out = plane[::step].copy()
    for row in range(1, step):
        merge(out, plane[row::step], out=out)
    shift = 1
    while shift < step:
        merge(out, out >> np.uint64(shift), out=out)
        shift *= 2
    held, bits = _every(step, 1), 1
    out &= held
    while bits * step < WORD:
        out |= out >> np.uint64((step - 1) * bits)
        bits *= 2
        out &= _every(step, bits)
    words = -(-out.shape[1] // step)
    full = np.zeros((len(out), words * step), np.uint64)
    full[:, : out.shape[1]] = out
    joined = np.zeros((len(out), words + 1), np.uint64)
    for part in range(step):
        joined[:, :-1] |= full[:, part::step] << np.uint64(part * (WORD // step))
    return joined


def _every(step: int, bits: int) -> np.uint64:
    """``bits`` set bits at every ``bits`` x ``step`` bits of a word."""
    return np.uint64(sum(((1 << bits) - 1) << at for at in range(0, WORD, bits * step)))


def sharpened(plane: Plane, chords: Chords, step: int, *, down: bool, bare: bool) -> tuple[Floats, Floats]:
    """Place and length of chords of a coarser plane as the pixels of the middle of their line show them.

    Both in pixels of the coarser plane; each end is looked for within two of those.
    """
    line = chords.lines * step + step // 2
    first = chords.places * step
    last = first + chords.length * step - 1
    before, after = (
        _more(plane, line, end, sign, most=2 * step, down=down, bare=bare) for end, sign in ((first, -1), (last, 1))
    )
    begin = (first - before) / step
    return begin, (last + after + 1) / step - begin


def _more(plane: Plane, line: Integers, end: Integers, sign: int, *, most: int, down: bool, bare: bool) -> Integers:
    """Pixels by which a chord goes on beyond its end."""
    more = np.zeros(len(line), np.int64)
    alive = np.arange(len(line))
    for far in range(1, most + 1):
        place, across = end[alive] + sign * far, line[alive]
        row, x = (place, across) if down else (across, place)
        inside = (row >= 0) & (row < len(plane)) & (x >= 0) & (x < plane.shape[1] * WORD)
        row, x = np.where(inside, row, 0), np.where(inside, x, 0)
        set_ = ((plane[row, x // WORD] >> (x % WORD).astype(np.uint64)) & np.uint64(1)).astype(np.bool_) & inside
        alive = alive[set_ != bare]
        more[alive] = far
    return more
