"""Strokes: chords that follow each other from line to line, with the width and the length of what they cross.

The chord of a straight stroke across rows is its width over the sine of its angle, and the middles of the chords tell
the angle; so width and length come out finer than a pixel. Steep strokes are read from rows, flat ones from columns,
those about 45 degrees from both. A run of dots makes no chain: dots swell and shrink, and their chords part and join.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
from scipy.sparse import coo_array
from scipy.sparse.csgraph import connected_components

from setupassist.inspection.bits import Mask
from setupassist.inspection.chords import Chords, Integers

Floats = npt.NDArray[np.float64]

LEAST_WINDOW, MOST_WINDOW = 5, 24  # lines each way over which width and angle are read
TAPER = 0.15  # width lost a unit of length: a tip of 9 degrees; blunter tips are no strokes
STEP_PX, ROUGH = 1.05, 1.5  # by which the raster alone may change the width inside a window, and rough edges more
TIP = 0.1  # the same over a whole stroke
SHARED = 0.85  # slope up to which strokes are read from their lines alone; about 45 degrees both ways count by half
LONGEST_CHORD = math.sqrt(1 + SHARED**-2)  # over the width
BEADED = 0.35  # mean change from chord to chord over the width: touching dots
UNLIKE_PX = 3.0  # by which the next chord may be longer or shorter
LONG, WIDE_LONG, WIDE_MM = 3.0, 2.0, 0.7  # times as long as wide, at least, is a stroke; one wider than any dot
LEAST_LENGTH_MM, LEAST_LENGTH_PX = 0.42, 5.0
LEAST_SHARE = 0.65  # chords that the shortest stroke makes over its length: its lines may lie at 45 degrees
SQUARE_MM, SHORT_MM = 2.0, 1.0  # squares are dots where few of the short chords in them belong to strokes
CHAINED, CROWDED = 0.3, 3.0  # many: chords a line of a square, rows and columns together
ROW_OF_SQUARES = 1 << 24
SPACING, MOSTLY = 0.12, 0.4  # of the period; of a stroke
REGULAR, LEAST_SPACINGS = 0.6, 15  # of the spacings in a square


@dataclass(frozen=True)
class Strokes:
    """Points along strokes (N): x, y, width and the length that each stands for in pixels, and the stroke's number."""

    x: Floats
    y: Floats
    width: Floats
    length: Floats
    stroke: Integers

    def where(self, held: Mask) -> Strokes:
        """Some of the points."""
        return Strokes(self.x[held], self.y[held], self.width[held], self.length[held], self.stroke[held])

    def times(self, step: int) -> Strokes:
        """The same in pixels of which ``step`` make one of these."""
        return Strokes(self.x * step, self.y * step, self.width * step, self.length * step, self.stroke)

    def middles(self) -> tuple[Integers, Floats]:
        """Index of the middle point of each stroke, and the stroke's length."""
        order = np.argsort(self.stroke, kind="stable")
        first = np.flatnonzero(np.diff(self.stroke[order], prepend=-1))
        if not len(first):
            return order, np.zeros(0)
        middle = order[first + np.diff(first, append=len(order)) // 2]
        return middle, np.add.reduceat(self.length[order], first)


@dataclass(frozen=True)
class Reading:
    """Strokes; of every chord the middle, the length, whether it is short, and whether it belongs to a stroke; and of
    every spacing of neighbours its square, and whether it is the period of a halftone."""

    strokes: Strokes
    x: Floats
    y: Floats
    chord: Floats
    short: Mask
    chained: Mask
    spaced: Integers
    even: Mask


NO_SQUARES = np.zeros(0, np.int64)
NONE = Strokes(np.zeros(0), np.zeros(0), np.zeros(0), np.zeros(0), np.zeros(0, np.int64))
NOTHING = Reading(
    NONE,
    np.zeros(0),
    np.zeros(0),
    np.zeros(0),
    np.zeros(0, np.bool_),
    np.zeros(0, np.bool_),
    NO_SQUARES,
    np.zeros(0, np.bool_),
)


def joined(parts: list[Strokes]) -> Strokes:
    """Strokes of several groups as one, numbered anew."""
    if not parts:
        return NONE
    starts = np.cumsum([0, *(int(part.stroke.max(initial=-1)) + 1 for part in parts)])
    return Strokes(
        np.concatenate([part.x for part in parts]),
        np.concatenate([part.y for part in parts]),
        np.concatenate([part.width for part in parts]),
        np.concatenate([part.length for part in parts]),
        np.concatenate([part.stroke + start for part, start in zip(parts, starts[:-1], strict=True)]),
    )


def strokes_of(
    chords: Chords,
    *,
    pixels_per_mm: float,
    down: bool,
    begin: Floats | None = None,
    chord: Floats | None = None,
    period: float | None = None,
) -> Reading:
    """Strokes of not much more than 45 degrees off the normal of the chords' lines (``down``: chords down columns).

    ``begin`` and ``chord`` (N) are the place and length of each chord where they are known better than by pixels.
    """
    if len(chords.first) < LEAST_LENGTH_PX:
        return NOTHING
    begin = chords.places.astype(np.float64) if begin is None else begin
    chord = chords.length.astype(np.float64) if chord is None else chord
    every: tuple[Floats, Floats] = begin + chord / 2, chords.lines.astype(np.float64) + 0.5
    least = max(LEAST_LENGTH_PX, LEAST_LENGTH_MM * pixels_per_mm)
    order, first, last = _chains(chords, chord, int(least * LEAST_SHARE))
    length, middle, lines = chord[order], every[0][order], every[1][order]
    slope, mean, change, apart, rough = _windows(length, middle, first, last)
    lean = 1 + slope * slope
    width = mean / np.sqrt(lean)
    step = STEP_PX + ROUGH * rough / np.sqrt(np.maximum(apart, 1))
    even = np.abs(change) <= np.maximum(step, TAPER * apart * lean)
    stroke, kept = _long_parts(even, first, width, slope, rough=rough, pixels_per_mm=pixels_per_mm)
    chained = np.zeros(len(chord), np.bool_)
    chained[order[kept]] = True
    x, y = (lines, middle) if down else (middle, lines)
    spaced, even = NO_SQUARES, np.zeros(0, np.bool_)
    if period is not None:
        repeated, near, even = _repeated(lines, middle, lean, stroke=stroke, kept=kept, period=period)
        spaced = squares_of(x[near], y[near], pixels_per_mm)
        kept &= ~repeated
    leaning = np.abs(slope)
    kept &= leaning < 1 / SHARED
    number = np.unique(stroke[kept], return_inverse=True)[1].astype(np.int64)
    along = np.sqrt(lean[kept])
    rows = np.bincount(number, minlength=1)[number] if len(number) else along
    along = along + width[kept] * leaning[kept] / rows  # the slanting ends of a stroke hold shorter chords
    along = np.where(leaning[kept] > SHARED, along / 2, along)
    strokes = Strokes(x[kept], y[kept], width[kept], along, number)
    x, y = every[::-1] if down else every
    return Reading(strokes, x, y, chord, chord <= SHORT_MM * pixels_per_mm, chained, spaced, even)


def _chains(chords: Chords, chord: Floats, least: int) -> tuple[Integers, Integers, Integers]:
    """Order in which the chains of at least so many chords lie one after the other, and for each chord in it its
    chain's first and last."""
    start, end = chords.first, chords.first + chords.length - 1
    size = len(start)
    after = _next(start, end, chords.stride)
    one = np.flatnonzero(after >= 0)
    after = after[one]
    here, there = chord[one], chord[after]
    alike = np.abs(here - there) <= np.maximum(UNLIKE_PX, 0.5 * np.minimum(here, there))
    one, after = one[alike], after[alike]
    held = _next(start, end, -chords.stride, after) == one
    one, after = one[held], after[held]
    links = coo_array((np.ones(len(one), np.bool_), (one, after)), shape=(size, size))  # type: ignore[no-untyped-call]
    label = connected_components(links, directed=False)[1]
    sizes = np.bincount(label, minlength=1)
    held = np.flatnonzero(sizes[label] >= least)
    order = np.sort((label[held].astype(np.int64) << 32) | held) & 0xFFFFFFFF
    sizes = sizes[sizes >= least]
    last = np.cumsum(sizes) - 1
    return order, np.repeat(last - sizes + 1, sizes), np.repeat(last, sizes)


def _next(start: Integers, end: Integers, stride: int, of: Integers | None = None) -> Integers:
    """For each run (``of`` them all) the one that goes on from it in the line ``stride`` further, -1 where none or
    several do.

    Runs may touch by a corner. Lone pixels beside a much longer run are the roughness of an edge.
    """
    first, last = (start, end) if of is None else (start[of], end[of])
    low = np.searchsorted(end, first + (stride - 1))
    several = np.searchsorted(start, last + (stride + 1), side="right") - low
    out = np.where(several == 1, low, -1)
    rough = np.flatnonzero((several == 2) | (several == 3))
    if len(rough):
        which = low[rough, None] + np.arange(3)
        there = np.minimum(which, len(start) - 1)
        begin = np.maximum(start[there], first[rough, None] + stride)
        shared = np.minimum(end[there], last[rough, None] + stride) - begin + 1
        shared = np.where(np.arange(3) < several[rough, None], shared, 0)
        best = shared.argmax(1)
        ranked = np.sort(shared, axis=1)
        clear = (ranked[:, 2] >= 3) & (ranked[:, 1] <= 1)
        out[rough[clear]] = which[clear, best[clear]]
    return out


def _windows(
    chord: Floats, middle: Floats, first: Integers, last: Integers
) -> tuple[Floats, Floats, Floats, Floats, Floats]:
    """For each chord, over the window around it: slope of the middles, mean chord, by how much the mean chord of one
    half differs from that of the other, the lines between the two halves' middles, and the mean step to the next."""
    if not len(chord):
        return chord, chord, chord, chord, chord
    index = np.arange(len(chord))
    reach = np.clip(np.rint(chord), LEAST_WINDOW, MOST_WINDOW).astype(np.int64)
    low, high = np.maximum(first, index - reach), np.minimum(last, index + reach)
    lines = high - low + 1
    run, shift = (index - first).astype(np.float64), middle - middle[first]
    sums, shifts, moments = (_running(values) for values in (chord, shift, shift * run))
    centre = (low + high) / 2 - first
    spread = lines * (lines * lines - 1.0) / 12
    moment = moments[high + 1] - moments[low] - centre * (shifts[high + 1] - shifts[low])
    slope = moment / np.maximum(spread, 1e-9)
    half = np.maximum(lines // 2, 1)
    lower = (sums[low + half] - sums[low]) / half
    upper = (sums[high + 1] - sums[high + 1 - half]) / half
    steps = _running(np.abs(np.diff(chord, append=chord[-1:])))
    rough = (steps[high] - steps[low]) / np.maximum(lines - 1, 1)
    return slope, (sums[high + 1] - sums[low]) / lines, upper - lower, (lines - half).astype(np.float64), rough


def _running(values: Floats) -> Floats:
    out = np.zeros(len(values) + 1)
    np.cumsum(values, out=out[1:])
    return out


def _long_parts(
    even: Mask, first: Integers, width: Floats, slope: Floats, *, rough: Floats, pixels_per_mm: float
) -> tuple[Integers, Mask]:
    """Number of each stretch of even chords of a chain, and which chords lie in a stretch that is long enough, no tip
    from one end to the other and no string of beads."""
    if not len(even):
        return np.zeros(0, np.int64), even
    index = np.arange(len(even))
    begins = (index == first) | (even != np.concatenate([[not even[0]], even[:-1]]))
    part = np.cumsum(begins) - 1
    rows = np.bincount(part)
    wide = np.bincount(part, width) / rows
    length = np.bincount(part, np.sqrt(1 + slope * slope)) + wide * np.bincount(part, np.abs(slope)) / rows
    least = max(LEAST_LENGTH_PX, LEAST_LENGTH_MM * pixels_per_mm)
    times = np.where(wide > WIDE_MM * pixels_per_mm, WIDE_LONG, LONG)
    run = (index - np.flatnonzero(begins)[part]) - (rows[part] - 1) / 2
    change = np.abs(np.bincount(part, run * (width - wide[part]))) * 12 / np.maximum(rows * rows - 1.0, 1)
    tip = (change > STEP_PX) & (change > TIP * length)
    beads = np.bincount(part, rough) / rows > np.maximum(0.9, BEADED * wide)
    return part, even & ((length >= np.maximum(times * wide, least)) & ~tip & ~beads)[part]


def dotted(squares: Integers, inked: list[Reading], bare: list[Reading], pixels_per_mm: float) -> tuple[Mask, Mask]:
    """Which ``squares`` (N, sorted) are dots: few of the short chords of ink, and few of those of paper, belong to
    strokes, or strokes repeat at the period of the halftone. And in which of those there are many short chords of ink.

    Chords half as long as those of the strokes count, shorter ones are the roughness of edges.
    """
    size = len(squares)
    shares, many = np.zeros((2, size)), np.zeros(size, np.bool_)
    for number, readings in enumerate((inked, bare) if size else ()):
        seen = [_in_squares(reading, squares, pixels_per_mm) for reading in readings]
        at, chord, chained = (np.concatenate([part[index] for part in seen]) for index in range(3))
        typical = np.bincount(at, chord * chained, size) / np.maximum(np.bincount(at, chained, size), 1)
        every = np.bincount(at, chord >= 0.5 * typical[at], size)
        shares[number] = np.bincount(at, chained, size) / np.maximum(every, 1)
        if not number:
            many = every > CROWDED * SQUARE_MM * pixels_per_mm
    dots = shares.max(0) < CHAINED
    spaced, even = (np.concatenate(parts) for parts in zip(*((r.spaced, r.even) for r in (*inked, *bare)), strict=True))
    dots |= np.isin(squares, _regular(spaced, even))
    return dots, dots & many


def _in_squares(reading: Reading, squares: Integers, pixels_per_mm: float) -> tuple[Integers, Floats, Mask]:
    """Of the short chords that lie in any of the ``squares``: in which one, length, and whether of a stroke."""
    place = squares_of(reading.x[reading.short], reading.y[reading.short], pixels_per_mm)
    at = np.minimum(np.searchsorted(squares, place), len(squares) - 1)
    here = squares[at] == place
    return at[here], reading.chord[reading.short][here], reading.chained[reading.short][here]


def squares_of(x: Floats, y: Floats, pixels_per_mm: float) -> Integers:
    """Number of the square that each place in pixels lies in."""
    square = max(1.0, SQUARE_MM * pixels_per_mm)
    return (y / square).astype(np.int64) * ROW_OF_SQUARES + np.maximum(x / square, 0).astype(np.int64)


def _repeated(
    lines: Floats, middle: Floats, lean: Floats, *, stroke: Integers, kept: Mask, period: float
) -> tuple[Mask, Integers, Mask]:
    """Chords of strokes that mostly have another beside them at just the period; and the chords that have any other
    beside them within three periods, with whether that one is just a period away."""
    size = int(stroke.max(initial=0)) + 1
    at = np.flatnonzero(kept)
    at = at[np.lexsort((middle[at], lines[at]))]
    rows = np.maximum(np.bincount(stroke[kept], minlength=size), 1)
    tilt = np.sqrt(np.bincount(stroke[kept], lean[kept], minlength=size) / rows)[stroke]
    apart = np.diff(middle[at]) / tilt[at[:-1]]
    near = (np.diff(lines[at]) == 0) & (apart < 3 * period)
    beside = near & (np.abs(apart - period) <= SPACING * period)
    hit = np.zeros(len(kept), np.bool_)
    hit[at[:-1]] |= beside
    hit[at[1:]] |= beside
    mostly = np.bincount(stroke[hit], minlength=size) > MOSTLY * rows
    return mostly[stroke], at[:-1][near], beside[near]


def _regular(squares: Integers, even: Mask) -> Integers:
    """Squares in which most strokes have the next one at just the period."""
    every, at = np.unique(squares, return_inverse=True)
    count = np.bincount(at, minlength=len(every))
    regular = (count >= LEAST_SPACINGS) & (np.bincount(at, even, len(every)) >= REGULAR * count)
    return every[regular]
