"""The measure of a set of plates: every pixel read once into packed plates, then asked from coarse to fine.

``reading`` packs the plates; ``marks`` are found, measured and taken out; each plate is looked at by itself
(``kind``, ``fine``), then pairs (``contact``), bases (``choke``) and the set as a whole (``odd``).
"""

from __future__ import annotations

import time
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from itertools import combinations

from setupassist.art.plates import PlateSet
from setupassist.documents.measure import MOST_PLACES, Art, Choke, Contact, Finding, Lab, Measure, PlateMeasure
from setupassist.documents.terms import UNDER_ROLES, Role
from setupassist.errors import InputFault
from setupassist.inspection import findings as tell
from setupassist.inspection.boxes import joined_box, mm_box
from setupassist.inspection.choke import ChokeGauge
from setupassist.inspection.contact import Meeting, StripMeeting, cover_of, face_of
from setupassist.inspection.grid import Grid, grid_for
from setupassist.inspection.kind import Texture
from setupassist.inspection.look import Look, MarksSeen
from setupassist.inspection.odd import same_plate_twice
from setupassist.inspection.planes import Planes
from setupassist.inspection.reading import read_planes
from setupassist.inspection.threads import Progress, Stop, Threads
from setupassist.quantities import MM_PER_INCH, pixels_per_cm
from setupassist.trade.names import role_from_name
from setupassist.words import say

SPECK_MM = 0.12  # about what a mesh of 120 threads a cm holds
READING, MARKS, SURVEY, PAIRS = 0.45, 0.05, 0.3, 0.15  # shares of the work; the rest is bases and findings


def measure_plates(
    plates: PlateSet,
    *,
    base: str | None = None,
    roles: Mapping[str, Role] | None = None,
    labs: Mapping[str, Lab] | None = None,
    speck_mm: float = SPECK_MM,
    progress: Progress | None = None,
    stop: Stop | None = None,
) -> Measure:
    """What the plates show: areas, boxes, kinds, halftones, contacts and the findings that pixels alone can tell.

    The rows are read once and kept as packed bits, in a temporary file where they are many. Plates that differ in size
    or resolution are not read at all: the finding says so, areas are 0 and coverage is None.
    ``base`` names a base plate, ``roles`` and ``labs`` are carried into the measure by ink name; a plate without a
    role has the one that its name tells. Islands up to ``speck_mm`` across are specks. Choke is measured for every
    base against the inks that it carries, where both are solid. ``progress`` is told the share done (0..1).

    Raises InputFault without a resolution, Cancelled when ``stop`` answers True.
    """
    return _Survey(plates, base=base, roles=dict(roles or {}), labs=dict(labs or {}), speck_mm=speck_mm).measure(
        progress, stop
    )


@dataclass
class _Survey:
    plates: PlateSet
    base: str | None
    roles: dict[str, Role]
    labs: dict[str, Lab]
    speck_mm: float

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
        return self._inspected(grid, Threads(progress or (lambda _: None), stop or (lambda: False)))

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

    def _under(self, names: Sequence[str]) -> set[int]:
        """Numbers of the plates that are a base or a blocker."""
        return {index for index, name in enumerate(names) if self._role(name) in UNDER_ROLES}

    def _inspected(self, grid: Grid, threads: Threads) -> Measure:
        names = [plate.name for plate in self.plates.plates]
        planes = Planes(grid, len(names))
        plates = read_planes(self.plates, grid, planes, progress=threads.part(READING), stop=threads.stop)
        with_marks = MarksSeen(names, plates)
        planes.rest()
        threads.done = READING + MARKS
        looks = [Look(name, plate) for name, plate in zip(names, plates, strict=True)]

        def look(index: int) -> None:
            looks[index].look(threads.stop)
            planes.rest()

        threads.each(look, len(plates), SURVEY)
        box = joined_box([look.box for look in looks])
        textures = [look.texture for look in looks]
        measures = [
            look.measure(box, self._role(look.name), self.labs.get(look.name), offset, self.speck_mm)
            for look, offset in zip(looks, with_marks.offsets, strict=True)
        ]
        art = Art(
            source=self.plates.source,
            width_mm=grid.columns / grid.pixels_per_mm,
            height_mm=grid.rows / grid.pixels_per_mm,
            pixels_per_cm=pixels_per_cm(grid.dpi),
            art_box_mm=mm_box(box, grid),
            marks_mm=with_marks.boxes_mm(),
            register_marks_mm=with_marks.register_boxes_mm(),
        )
        contacts = self._contacts(names, textures, threads, planes)
        chokes = self._chokes(names, textures, threads, planes)
        found = [
            *tell.no_ink(measures),
            *with_marks.findings,
            *tell.but_shared_out(same_plate_twice(names, plates, self._under(names)), self.plates),
            *tell.resolution_low(measures, grid.dpi),
            *tell.reading_notes(self.plates),
        ]
        # Given back plate by plate: all at once would hold up a window that waits for the answer.
        for each in looks:
            each.give_back()
            time.sleep(0)
        threads.progress(1.0)
        return Measure(art=art, plates=tuple(measures), contacts=contacts, chokes=chokes, findings=tuple(found))

    def _contacts(
        self, names: Sequence[str], textures: Sequence[Texture], threads: Threads, planes: Planes
    ) -> tuple[Contact, ...]:
        """Overlap, shared edge and hairlines of every pair."""
        grid = textures[0].grid
        pairs = list(combinations(range(len(names)), 2))
        under = self._under(names)
        coloured = set(range(len(names))) - under
        over = [textures[index] for index in sorted(coloured)]
        strips = [[Meeting() for _ in pairs] for _ in range(grid.strips)]

        def look(number: int) -> None:
            faces = [face_of(texture, number) for texture in textures]
            mine = [(i, j, meeting) for (i, j), meeting in zip(pairs, strips[number], strict=True)]
            StripMeeting(grid, number, faces, cover_of(over or textures, number), coloured).meet(mine)
            planes.rest()

        threads.each(look, grid.strips, PAIRS)
        told = []
        for (i, j), meetings in zip(pairs, zip(*strips, strict=True), strict=True):
            whole = Meeting()
            for meeting in meetings:
                whole.overlap += meeting.overlap
                whole.edge += meeting.edge
                whole.pieces += meeting.pieces
            length, width, places = whole.hairlines(grid)
            told.append(
                Contact(
                    plates=(names[i], names[j]),
                    overlap_cm2=whole.overlap * grid.pixel_cm2,
                    shared_edge_cm=whole.edge / grid.pixels_per_mm / 10,
                    hairline_cm=length / 10,
                    hairline_mm=width,
                    hairline_places_mm=tuple(places[:MOST_PLACES]),
                )
            )
        return tuple(told)

    def _chokes(
        self, names: Sequence[str], textures: Sequence[Texture], threads: Threads, planes: Planes
    ) -> tuple[Choke, ...]:
        """Choke, peek-out and bare inks of every base that anything prints over."""
        roles = [self._role(name) for name in names]
        later = [index for index, role in enumerate(roles) if role not in UNDER_ROLES]
        bases = [index for index, role in enumerate(roles) if role is Role.BASE]
        if not later:
            return ()
        gauges = [ChokeGauge(textures, names, base, later) for base in bases]
        told = []
        for gauge in gauges:
            told.append(gauge.measure(lambda do, count: threads.each(do, count, 0.0)))
            planes.rest()
        return tuple(told)


def _fault(plates: PlateSet, told: str, remedy: str, **values: object) -> InputFault:
    return InputFault(plates.source, say(f"inspection.fault.{told}", **values), say(f"inspection.fault.{remedy}"))
