"""The measure of a set of plates, read once from top to bottom.

Bands of grey levels become packed strips (``strips``), every strip goes through ``kind`` and ``contact``, small maps
of cells stay behind (``record``); marks, boxes and findings are told from those at the end.
"""

from __future__ import annotations

import os
from collections.abc import Callable, Mapping, Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from setupassist.art.plates import PlateSet
from setupassist.documents.measure import Art, Choke, Contact, Finding, Lab, Measure, PlateMeasure
from setupassist.documents.terms import UNDER_ROLES, Role
from setupassist.errors import Cancelled, InputFault
from setupassist.inspection import findings as tell
from setupassist.inspection.boxes import art_cells, joined_box
from setupassist.inspection.choke import ChokeGauge
from setupassist.inspection.contact import Face, Ledger, face_of, meet, pairs_of
from setupassist.inspection.grid import TILE_CELLS, Grid, grid_for
from setupassist.inspection.kind import Texture
from setupassist.inspection.marks import find_marks
from setupassist.inspection.record import Record
from setupassist.inspection.strips import PlateStrip, band_rows_for, even_bands
from setupassist.quantities import MM_PER_INCH, pixels_per_cm
from setupassist.trade.names import role_from_name

Progress = Callable[[float], None]
Stop = Callable[[], bool]

WORKERS = 2
FINISHING = 0.05  # share of the work that is left when the last row is read


def measure_plates(
    plates: PlateSet,
    *,
    base: str | None = None,
    roles: Mapping[str, Role] | None = None,
    labs: Mapping[str, Lab] | None = None,
    progress: Progress | None = None,
    stop: Stop | None = None,
) -> Measure:
    """What the plates show: areas, boxes, kinds, halftones, contacts and the findings that pixels alone can tell.

    The rows are read once; memory depends on the plates' width and number, next to nothing on their height. Plates
    that differ in size or resolution are not read at all: the finding says so, areas are 0 and coverage is None.
    ``finest_line_mm``, ``finest_gap_mm``, ``specks`` and ``register_offset_mm`` are None: not measured here.
    ``base`` names a base plate, ``roles`` and ``labs`` are carried into the measure by ink name; a plate without a
    role has the one that its name tells. Choke is measured for every base against the union of all inks that print
    over it, where both are solid. ``progress`` is told the share done (0..1).

    Raises InputFault without a resolution, Cancelled when ``stop`` answers True.
    """
    return _Survey(plates, base=base, roles=dict(roles or {}), labs=dict(labs or {})).measure(progress, stop)


@dataclass
class _Survey:
    plates: PlateSet
    base: str | None
    roles: dict[str, Role]
    labs: dict[str, Lab]

    def measure(self, progress: Progress | None, stop: Stop | None) -> Measure:
        """Reads the plates once and tells what they show."""
        plates, dpi = self.plates, self.plates.dpi
        if not plates.plates:
            raise InputFault(plates.source, "holds no plates", "name a folder or file with at least one plate")
        if dpi is None:
            raise InputFault(plates.source, "no resolution in the file", "give --dpi")
        if self.base is not None and self.base not in {plate.name for plate in plates.plates}:
            raise InputFault(plates.source, f"no plate is called '{self.base}'", "name the base as its plate is called")
        odd = tell.odd_sizes(plates)
        if odd:
            return self._unread(odd, dpi)
        first = plates.plates[0]
        grid = grid_for(first.rows, first.columns, dpi)
        reading = _Reading(plates, grid, [self._role(plate.name) for plate in plates.plates])
        reading.read(progress, stop)
        return self._told(reading, progress)

    def _unread(self, odd: list[Finding], dpi: float) -> Measure:
        first = self.plates.plates[0]
        art = Art(
            source=self.plates.source,
            width_mm=first.columns / dpi * MM_PER_INCH,
            height_mm=first.rows / dpi * MM_PER_INCH,
            pixels_per_cm=pixels_per_cm(dpi),
        )
        measures = tuple(
            PlateMeasure(name=plate.name, ink_area_cm2=0.0, role=self._role(plate.name), lab=self.labs.get(plate.name))
            for plate in self.plates.plates
        )
        return Measure(art=art, plates=measures, findings=tuple(odd))

    def _role(self, name: str) -> Role:
        return Role.BASE if name == self.base else self.roles.get(name) or role_from_name(name)

    def _told(self, reading: _Reading, progress: Progress | None) -> Measure:
        grid, records = reading.grid, reading.records
        names = [plate.name for plate in self.plates.plates]
        marks = find_marks(records)
        cells = [art_cells(record, boxes) for record, boxes in zip(records, marks, strict=True)]
        pixel_boxes = [record.pixel_box(mask) for record, mask in zip(records, cells, strict=True)]
        box = joined_box(pixel_boxes)
        box_cm2 = (box[2] - box[0]) * (box[3] - box[1]) * grid.pixel_cm2 if box else 0.0
        measures = []
        for name, record, texture, boxes, own in zip(names, records, reading.textures, marks, pixel_boxes, strict=True):
            ink = record.ink_pixels(boxes)
            area = ink * grid.pixel_cm2
            measures.append(
                PlateMeasure(
                    name=name,
                    kind=texture.kind(ink),
                    ink_area_cm2=area,
                    coverage=min(1.0, area / box_cm2) if box_cm2 else 0.0,
                    halftone=texture.halftone(ink),
                    ink_box_mm=_mm_box(own, grid),
                    role=self._role(name),
                    lab=self.labs.get(name),
                )
            )
        art = Art(
            source=self.plates.source,
            width_mm=grid.columns / grid.pixels_per_mm,
            height_mm=grid.rows / grid.pixels_per_mm,
            pixels_per_cm=pixels_per_cm(grid.dpi),
            art_box_mm=_mm_box(box, grid),
        )
        found = [
            *tell.no_ink(measures),
            *tell.looks_reversed(names, records),
            *tell.same_plate_twice(names, records, marks),
            *tell.resolution_low(measures, grid.dpi),
            *tell.marks_missing(names, records, marks),
        ]
        if progress:
            progress(1.0)
        return Measure(
            art=art,
            plates=tuple(measures),
            contacts=reading.contacts(names, cells),
            chokes=reading.chokes(names, cells),
            findings=tuple(found),
        )


class _Reading:
    """One pass over the rows of a set."""

    def __init__(self, plates: PlateSet, grid: Grid, roles: Sequence[Role]) -> None:
        self.plates, self.grid = plates, grid
        self.band_rows = band_rows_for(grid, len(plates.plates))
        self.records = [Record(grid) for _ in plates.plates]
        self.strips = [PlateStrip(grid, record) for record in self.records]
        self.textures = [Texture(grid, record) for record in self.records]
        self.ledger = Ledger(grid, len(plates.plates))
        self.pairs = pairs_of(len(plates.plates))
        later = [index for index, role in enumerate(roles) if role not in UNDER_ROLES]
        bases = [index for index, role in enumerate(roles) if role is Role.BASE]
        self.gauges = [ChokeGauge(grid, index, later) for index in bases if later]

    def read(self, progress: Progress | None, stop: Stop | None) -> None:
        """Takes in every row; raises Cancelled when ``stop`` answers True."""
        grid, row = self.grid, 0
        bands = even_bands(self.plates.read(self.band_rows), self.band_rows, grid.rows)
        with ThreadPoolExecutor(min(WORKERS, os.cpu_count() or 1)) as workers:
            for band in bands:
                if stop is not None and stop():
                    raise Cancelled
                self._check(band, row)
                height, done = len(band[0]), 0
                while done < height:
                    strip, at = divmod(row, grid.strip)
                    take = min(height - done, grid.strip - at)
                    part = slice(done, done + take)
                    list(workers.map(lambda i: self._take(i, band[i][part], strip, at), range(len(band))))  # noqa: B023
                    row, done = row + take, done + take
                    if row % grid.strip == 0 or row == grid.rows:
                        self._close(workers, strip)
                if progress is not None:
                    progress((1 - FINISHING) * row / grid.rows)
            if row != grid.rows:
                raise InputFault(self.plates.source, f"ends after {row} of {grid.rows} rows", "export it again")
            self._judge(workers, grid.strips - 1)

    def _check(self, band: Sequence[npt.NDArray[np.uint8]], row: int) -> None:
        shapes = {levels.shape for levels in band}
        if len(band) != len(self.records) or len(shapes) != 1 or band[0].shape[1] != self.grid.columns:
            raise ValueError("a band must hold one equally large array for each plate")
        if row + len(band[0]) > self.grid.rows:
            raise ValueError("more rows came than the plates have")

    def _take(self, index: int, levels: npt.NDArray[np.uint8], strip: int, row: int) -> None:
        self.strips[index].add_band(levels, strip, row, two_level=self.plates.plates[index].two_level)

    def _close(self, workers: ThreadPoolExecutor, number: int) -> None:
        """A strip is full: book its cells, judge the strip before it, move on."""
        list(workers.map(lambda strip: strip.close_strip(number), self.strips))
        if number > 0:
            self._judge(workers, number - 1)
        for strip in self.strips:
            strip.shift()

    def _judge(self, workers: ThreadPoolExecutor, number: int) -> None:
        def look(index: int) -> Face | None:
            strip, record = self.strips[index], self.records[index]
            dots[index], local = self.textures[index].judge(strip, number)
            return face_of(strip, record, number, dots[index], local)

        dots = [np.zeros((0, 0), np.bool_)] * len(self.strips)
        faces = list(workers.map(look, range(len(self.strips))))
        shares = [self.pairs[i::WORKERS] for i in range(WORKERS)]
        list(workers.map(lambda pairs: meet(faces, self.ledger, number, pairs), shares))
        list(workers.map(lambda gauge: gauge.add(self.strips, dots, number), self.gauges))

    def contacts(self, names: Sequence[str], cells: Sequence[npt.NDArray[np.bool_]]) -> tuple[Contact, ...]:
        """Overlap and shared edge of every pair that meets, marks left out."""
        ledger, grid = self.ledger, self.grid
        told = []
        blocks = [ledger.blocks_of(mask) for mask in cells]
        for pair in self.pairs:
            sums = []
            keep = blocks[pair[0]] | blocks[pair[1]]
            for book in (ledger.overlap, ledger.edge):
                sums.append(float(book[pair][keep].sum(dtype=np.float64)) if pair in book else 0.0)
            told.append(
                Contact(
                    plates=(names[pair[0]], names[pair[1]]),
                    overlap_cm2=sums[0] * grid.pixel_cm2,
                    shared_edge_cm=sums[1] / grid.pixels_per_mm / 10,
                )
            )
        return tuple(told)

    def chokes(self, names: Sequence[str], cells: Sequence[npt.NDArray[np.bool_]]) -> tuple[Choke, ...]:
        """Choke and peek-out of every base, marks left out."""
        every = np.logical_or.reduce(list(cells))
        tiles = every.reshape(len(every) // TILE_CELLS, TILE_CELLS, -1, TILE_CELLS)
        kept = np.logical_or.reduce(tiles, axis=(1, 3))
        return tuple(gauge.told(names[gauge.base], kept) for gauge in self.gauges)


def _mm_box(box: tuple[int, int, int, int] | None, grid: Grid) -> tuple[float, float, float, float] | None:
    """x, y, width, height in mm of left, top, right, bottom in pixels."""
    if box is None:
        return None
    left, top, right, bottom = (side / grid.pixels_per_mm for side in box)
    return left, top, right - left, bottom - top
