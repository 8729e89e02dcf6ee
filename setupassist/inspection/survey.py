"""The measure of a set of plates, read once from top to bottom.

Bands of grey levels become packed strips (``strips``), every strip goes through ``kind`` and ``contact``, small maps
of cells stay behind (``record``); marks, boxes and findings are told from those at the end.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from setupassist.art.plates import PlateSet
from setupassist.documents.measure import Art, Finding, Lab, Measure, PlateMeasure
from setupassist.documents.terms import Role
from setupassist.errors import InputFault
from setupassist.inspection import findings as tell
from setupassist.inspection.boxes import art_cells, joined_box, tiles_of
from setupassist.inspection.grid import Grid, grid_for
from setupassist.inspection.marks import find_marks
from setupassist.inspection.reading import Progress, Reading, Stop
from setupassist.quantities import MM_PER_INCH, pixels_per_cm
from setupassist.trade.names import role_from_name
from setupassist.words import say


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
            raise _fault(plates, "no-plates", "no-plates-remedy")
        if dpi is None:
            raise _fault(plates, "no-resolution", "give-dpi")
        if self.base is not None and self.base not in {plate.name for plate in plates.plates}:
            raise _fault(plates, "no-such-plate", "name-the-base", name=self.base)
        odd = tell.odd_sizes(plates)
        if odd:
            return self._unread(odd, dpi)
        first = plates.plates[0]
        grid = grid_for(first.rows, first.columns, dpi, plates=len(plates.plates))
        reading = Reading(plates, grid, [self._role(plate.name) for plate in plates.plates])
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
        return Measure(art=art, plates=measures, findings=(*odd, *tell.reading_notes(self.plates)))

    def _role(self, name: str) -> Role:
        return Role.BASE if name == self.base else self.roles.get(name) or role_from_name(name)

    def _told(self, reading: Reading, progress: Progress | None) -> Measure:
        grid, records = reading.grid, reading.records
        names = [plate.name for plate in self.plates.plates]
        marks = find_marks(records)
        pixel_boxes, art_tiles = [], []
        for record, boxes in zip(records, marks, strict=True):
            cells = art_cells(record, boxes)
            pixel_boxes.append(record.pixel_box(cells))
            art_tiles.append(tiles_of(cells))
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
            *tell.reading_notes(self.plates),
        ]
        if progress:
            progress(1.0)
        return Measure(
            art=art,
            plates=tuple(measures),
            contacts=reading.contacts(names, art_tiles),
            chokes=reading.chokes(names, art_tiles),
            findings=tuple(found),
        )


def _mm_box(box: tuple[int, int, int, int] | None, grid: Grid) -> tuple[float, float, float, float] | None:
    """x, y, width, height in mm of left, top, right, bottom in pixels."""
    if box is None:
        return None
    left, top, right, bottom = (side / grid.pixels_per_mm for side in box)
    return left, top, right - left, bottom - top


def _fault(plates: PlateSet, told: str, remedy: str, **values: object) -> InputFault:
    return InputFault(plates.source, say(f"inspection.fault.{told}", **values), say(f"inspection.fault.{remedy}"))
