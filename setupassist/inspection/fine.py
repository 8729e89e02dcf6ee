"""Finest line, finest gap and small islands of a plate, halftone dots and tones left out.

Widths up to 24 pixels are read from every pixel, greater ones from a coarser plane, their edges from the pixels again.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field

import numpy as np

from setupassist.inspection.bits import Mask, Plane, pack, round_about, unpack
from setupassist.inspection.chords import LONGEST, Chords, Ends, Integers, ends_of
from setupassist.inspection.coarser import coarser, sharpened
from setupassist.inspection.islands import Islands, confined, islands_at, lone
from setupassist.inspection.planes import PackedPlate
from setupassist.inspection.strokes import (
    LONGEST_CHORD,
    SHORT_MM,
    Floats,
    Reading,
    Strokes,
    dotted,
    joined,
    squares_of,
    strokes_of,
)

MOST_MM = 3.0
NEED_MM = 5.0
NEED_TOLERANCE = 0.97  # the raster rounds off the ends of strokes
FINE_PX = 24.0  # up to this width every pixel is looked at
ISLAND_MM = 0.3
DOT_MM = 0.5  # short strokes of pieces no greater than this are dots
BESIDE_MM, BESIDE_PERIODS = 1.2, 1.5  # from dots to islands that belong to them
GROUP_EDGES = 450_000  # pixels of edges that are worked on at once
HALO_MM = 3.0
PLACES, SPECK_PLACES = 20, 50
SPREAD = 5  # places are drawn from so many parts of the art each way

Place = tuple[float, float]


@dataclass(frozen=True)
class FineDetail:
    """What is finest on a plate, in pixels: widths (None above 3 mm), places (x, y) and islands up to 0.3 mm across.

    ``islands`` (N, 3) hold x, y and the greater of width and height; dots are not among them.
    """

    finest_line_px: float | None
    finest_gap_px: float | None
    line_places: tuple[Place, ...]
    gap_places: tuple[Place, ...]
    islands: Islands

    def specks(self, across_px: float) -> int:
        """Number of islands that fit into a square of ``across_px`` pixels."""
        return int((self.islands[:, 2] <= across_px).sum())

    def speck_places(self, across_px: float, most: int = SPECK_PLACES) -> tuple[Place, ...]:
        """Places of such islands, spread over all of them where there are more than ``most``."""
        some = self.islands[self.islands[:, 2] <= across_px]
        picked = some[np.unique(np.linspace(0, len(some) - 1, min(most, len(some))).astype(int))] if len(some) else some
        return tuple((float(x), float(y)) for x, y in picked[:, :2])


def fine_detail(
    plate: PackedPlate, dots: Mask, *, period_px: float | None = None, stop: Callable[[], bool] | None = None
) -> FineDetail:
    """Finest line and gap that occur over at least 5 mm, and the small islands; ``dots`` (cell_rows, cell_columns)
    are left out.

    Lines and gaps are channels at any angle; tips are none. ``period_px`` is the period of the plate's halftone where
    it has one: what repeats at it is not taken for lines. Errors: Cancelled.
    """
    grid = plate.grid
    most = MOST_MM * grid.pixels_per_mm
    whole = most * LONGEST_CHORD + 2 <= LONGEST
    look = _Look(plate, dots, period_px, stop)
    lines, gaps = _Tally(look.need), _Tally(look.need)
    islands = []
    near = most if whole else FINE_PX
    for ends, rows in look.groups(plate.bits, 1):
        inked, bare = (look.readings(ends, tally, bare=tally is gaps, most=near) for tally in (lines, gaps))
        small, strokes = look.islands(ends[0], rows), [booked(readings, rows) for readings in (inked, bare)]
        places = [(small[:, 0], small[:, 1]), *((part.x, part.y) for part in strokes)]
        squares = [squares_of(x, y, grid.pixels_per_mm) for x, y in places]
        every, where = np.unique(np.concatenate(squares), return_inverse=True)
        dotty, crowded = dotted(every, inked, bare, grid.pixels_per_mm)
        ends_at = np.cumsum([len(some) for some in squares])
        islands.append(small[~crowded[where[: ends_at[0]]]])
        for number, tally in enumerate((lines, gaps)):
            part = strokes[number]
            wide = part.width * LONGEST_CHORD > SHORT_MM * grid.pixels_per_mm
            part = part.where(wide | ~dotty[where[ends_at[number] : ends_at[number + 1]]])
            part = look.without_dots(part, bare=tally is gaps)
            tally.add(part.where(part.width <= near))
    if not whole:
        step = 4
        while most * LONGEST_CHORD / step + 2 > LONGEST:
            step *= 2
        for tally in (lines, gaps):
            if tally.enough is None:
                plane = coarser(plate.bits, step, any_ink=tally is gaps)
                for ends, rows in look.groups(plane, step):
                    found = look.readings(ends, tally, bare=tally is gaps, least=FINE_PX, most=most, step=step)
                    part = booked(found, rows).times(step)
                    tally.add(part.where((part.width > FINE_PX) & (part.width <= most)))
    every = np.concatenate(islands) if islands else np.zeros((0, 3))
    every = every[lone(every, look.beside_dots(every), pixels_per_mm=grid.pixels_per_mm, period_px=period_px)]
    every = every[every[:, 2] <= max(1.0, ISLAND_MM * grid.pixels_per_mm)]
    return FineDetail(lines.finest(), gaps.finest(), lines.places(), gaps.places(), every)


def booked(readings: list[Reading], rows: slice) -> Strokes:
    """The strokes of all readings in some rows."""
    every = joined([reading.strokes for reading in readings])
    return every.where((every.y >= rows.start) & (every.y < rows.stop))


@dataclass
class _Tally:
    """Strokes found so far, and the width up to which they are long enough in all."""

    need: float
    parts: list[Strokes] = field(default_factory=list)
    enough: float | None = None

    def add(self, part: Strokes) -> None:
        if len(part.width):
            self.parts.append(part)
            every = joined(self.parts)
            order = np.argsort(every.width)
            at = int(np.searchsorted(np.cumsum(every.length[order]), self.need))
            if at < len(order):
                self.enough = float(every.width[order[at]])
                self.parts = [every.where(every.width <= self.slack(self.enough))]

    @staticmethod
    def slack(width: float) -> float:
        return width + max(1.0, 0.06 * width)

    def finest(self) -> float | None:
        """Median of the widths round about the greatest that is needed for the length: reading errors even out."""
        if self.enough is None:
            return None
        every = self.parts[0]
        held = np.abs(every.width - self.enough) <= max(0.75, 0.05 * self.enough)
        order = np.argsort(every.width[held])
        length = np.cumsum(every.length[held][order])
        return float(every.width[held][order][np.searchsorted(length, length[-1] / 2)])

    def places(self) -> tuple[Place, ...]:
        """Middles of the strokes, the longest from each part of the art first."""
        if self.enough is None:
            return ()
        every = self.parts[0]
        middle, length = every.middles()
        x, y = every.x[middle], every.y[middle]
        part = _fifths(x) * SPREAD + _fifths(y)
        longest = np.lexsort((-length, part))
        rank = np.empty(len(part), np.int64)
        starts = np.flatnonzero(np.diff(part[longest], prepend=-1))
        rank[longest] = np.arange(len(part)) - np.repeat(starts, np.diff(starts, append=len(part)))
        picked: list[Place] = []
        apart = self.need / NEED_MM  # about a millimetre
        for at in np.lexsort((-length, rank))[: 4 * PLACES]:
            place = float(x[at]), float(y[at])
            if len(picked) < PLACES and all(math.dist(place, other) > apart for other in picked):
                picked.append(place)
        return tuple(picked)


def _fifths(values: Floats) -> Integers:
    low, high = float(values.min()), float(values.max())
    fifths: Integers = np.minimum((values - low) * SPREAD / max(high - low, 1.0), SPREAD - 1).astype(np.int64)
    return fifths


def _around(cells: Mask, reach: int) -> Mask:
    """Cells within ``reach`` cells of any that is set."""
    return unpack(round_about(pack(cells), reach), cells.shape[1])


@dataclass
class _Look:
    """What is needed to look at one plate."""

    plate: PackedPlate
    dots: Mask
    period_px: float | None
    stop: Callable[[], bool] | None
    need: float = field(init=False)
    shown: Mask = field(init=False)
    hidden: Mask | None = field(init=False)

    def __post_init__(self) -> None:
        grid = self.plate.grid
        self.need = NEED_TOLERANCE * NEED_MM * grid.pixels_per_mm
        self.shown = np.logical_and(self.plate.ink > 0, ~self.dots)
        self.hidden = None
        if self.dots.any():  # edges are kept so far into dots as chords reach
            reach = max(1, math.ceil(LONGEST / grid.cell))
            self.hidden = ~_around(~self.dots, reach)

    def groups(self, plane: Plane, step: int) -> Iterator[tuple[tuple[Ends, Ends], slice]]:
        """Ends of runs in groups of rows with not too many edges, with those rows; both in rows of the plane."""
        grid, cell = self.plate.grid, self.plate.grid.cell // step
        part = self.shown & (self.plate.ink < grid.full)
        edges = part.sum(1, dtype=np.int64) * (2 * cell)
        used: Mask = np.logical_or.reduce(self.shown, axis=1)
        halo = math.ceil(HALO_MM * grid.pixels_per_mm / step)
        first = 0
        while first < grid.cell_rows:
            total = np.cumsum(edges[first:])
            last = first + max(1, int(np.searchsorted(total, GROUP_EDGES, side="right")))
            rows = slice(first * cell, last * cell)
            if used[first:last].any():
                seen = slice(rows.start - halo, rows.stop + halo)
                yield ends_of(plane, seen, hidden=self.hidden, cell=cell, used=used, stop=self.stop), rows
            first = last

    def readings(
        self, ends: tuple[Ends, Ends], tally: _Tally, *, bare: bool, most: float, least: float = 0.0, step: int = 1
    ) -> list[Reading]:
        """Strokes of about ``least`` .. ``most`` pixels of the plate along rows and down columns."""
        grid = self.plate.grid
        reach = most if tally.enough is None else min(most, tally.slack(tally.enough))
        longest = min(LONGEST, math.ceil(max(reach * LONGEST_CHORD, SHORT_MM * grid.pixels_per_mm) / step + 1))
        found = []
        for way, down in zip(ends, (False, True), strict=True):
            chords = way.bare(longest) if bare else way.inked(longest)
            if least:
                chords = chords.where(chords.length >= least / step - 2)
            chords = self._outside_dots(chords, down=down, step=step)
            begin = chord = None
            if step > 1 and len(chords.first):
                begin, chord = sharpened(self.plate.bits, chords, step, down=down, bare=bare)
            period = None if self.period_px is None else self.period_px / step
            found.append(
                strokes_of(
                    chords, pixels_per_mm=grid.pixels_per_mm / step, down=down, begin=begin, chord=chord, period=period
                )
            )
        return found

    def without_dots(self, strokes: Strokes, *, bare: bool) -> Strokes:
        """Strokes without those that are but a dot or a hole between dots."""
        most = max(2, round(DOT_MM * self.plate.grid.pixels_per_mm))
        middle, length = strokes.middles()
        middle = middle[length <= 1.5 * most]
        x, y = strokes.x[middle].astype(np.int64), strokes.y[middle].astype(np.int64)
        dots = strokes.stroke[middle[confined(self.plate.bits, x, y, most, bare=bare)]]
        return strokes.where(~np.isin(strokes.stroke, dots)) if len(dots) else strokes

    def islands(self, ends: Ends, rows: slice) -> Islands:
        """Small islands whose top lies in some rows."""
        most = max(1, round(DOT_MM * self.plate.grid.pixels_per_mm))
        runs = self._outside_dots(ends.inked(most), down=False, step=1)
        runs = runs.where((runs.lines >= rows.start) & (runs.lines < rows.stop))
        return islands_at(self.plate.bits, runs, most)

    def beside_dots(self, islands: Islands) -> Mask:
        """Which islands lie so near to dots that they are the last ones of these."""
        if self.hidden is None:
            return np.zeros(len(islands), np.bool_)
        grid = self.plate.grid
        reach = BESIDE_MM * grid.pixels_per_mm if self.period_px is None else BESIDE_PERIODS * self.period_px
        near = _around(self.dots, math.ceil(reach / grid.cell))
        row, column = ((islands[:, at] / grid.cell).astype(np.int64) for at in (1, 0))
        return near[row, column]

    def _outside_dots(self, chords: Chords, *, down: bool, step: int) -> Chords:
        if self.hidden is None or not len(chords.first):
            return chords
        cell = self.plate.grid.cell // step
        line, place = chords.lines // cell, (chords.places + chords.length // 2) // cell
        row, column = (place, line) if down else (line, place)
        return chords.where(~self.dots[row, column])
