"""The measure of a set of plates: every pixel read once into packed plates, then asked from coarse to fine.

``reading`` packs the plates; ``marks`` are found, measured and taken out; each plate is looked at by itself
(``kind``, ``fine``), then pairs (``contact``), bases (``choke``) and the set as a whole (``odd``).
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass, field
from itertools import combinations

import numpy as np

from setupassist.art.plates import PlateSet
from setupassist.documents.measure import (
    MOST_PLACES,
    TONE_STEPS,
    Art,
    Choke,
    Contact,
    Finding,
    Lab,
    Measure,
    PlateMeasure,
)
from setupassist.documents.terms import UNDER_ROLES, Role
from setupassist.errors import Cancelled, InputFault
from setupassist.inspection import findings as tell
from setupassist.inspection.boxes import art_cells, joined_box
from setupassist.inspection.choke import ChokeGauge
from setupassist.inspection.contact import Meeting, StripMeeting, cover_of, face_of
from setupassist.inspection.grid import Grid, grid_for
from setupassist.inspection.kind import Texture
from setupassist.inspection.maps import largest_islands
from setupassist.inspection.marks import find_marks
from setupassist.inspection.planes import Box, Planes
from setupassist.inspection.reading import Progress, Stop, read_planes, workers
from setupassist.quantities import MM_PER_INCH, pixels_per_cm
from setupassist.trade.names import role_from_name
from setupassist.words import say

LIGHT = 0.1  # dots of less than this, and of this less than full, are shown by their places
MOST_EXTREMES, MOST_MARKS = 20, 200
READING, MARKS, SURVEY, PAIRS = 0.45, 0.05, 0.3, 0.15  # shares of the work; the rest is bases and findings


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

    The rows are read once and kept as packed bits, in a temporary file where they are many. Plates that differ in size
    or resolution are not read at all: the finding says so, areas are 0 and coverage is None.
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
        return self._inspected(grid, progress or (lambda _: None), stop or (lambda: False))

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

    def _inspected(self, grid: Grid, progress: Progress, stop: Stop) -> Measure:
        names = [plate.name for plate in self.plates.plates]
        planes = Planes(grid, len(names))
        plates = read_planes(self.plates, grid, planes, progress=lambda share: progress(READING * share), stop=stop)
        reversed_ = tell.looks_reversed(names, plates)
        marks = find_marks(plates)
        missing = tell.marks_missing(names, plates, marks)
        for plate, taken in zip(plates, marks, strict=True):
            for mark in taken:
                plate.erase(mark)
        same = tell.same_plate_twice(names, plates)
        planes.rest()
        work = _Work(progress, stop)
        work.done = READING + MARKS
        textures = [Texture(plate) for plate in plates]
        boxes: list[tuple[int, int, int, int] | None] = [None] * len(plates)

        def look(index: int) -> None:
            boxes[index] = plates[index].pixel_box(art_cells(plates[index]))
            textures[index].judge(stop)
            planes.rest()

        work.each(look, len(plates), SURVEY)
        box = joined_box(boxes)
        box_cm2 = (box[2] - box[0]) * (box[3] - box[1]) * grid.pixel_cm2 if box else 0.0
        measures = []
        for name, plate, texture, own in zip(names, plates, textures, boxes, strict=True):
            ink = plate.ink_pixels()
            area = ink * grid.pixel_cm2
            tone, light, dark = _tones(texture)
            measures.append(
                PlateMeasure(
                    name=name,
                    kind=texture.kind(ink),
                    ink_area_cm2=area,
                    coverage=min(1.0, area / box_cm2) if box_cm2 else 0.0,
                    halftone=texture.halftone(ink),
                    tone_cm2=tone,
                    light_places_mm=light,
                    dark_places_mm=dark,
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
            marks_mm=_mark_boxes(marks, grid),
        )
        contacts = self._contacts(names, textures, work)
        planes.rest()
        chokes = self._chokes(names, textures, work)
        found = [
            *tell.no_ink(measures),
            *reversed_,
            *same,
            *tell.resolution_low(measures, grid.dpi),
            *missing,
            *tell.reading_notes(self.plates),
        ]
        progress(1.0)
        return Measure(art=art, plates=tuple(measures), contacts=contacts, chokes=chokes, findings=tuple(found))

    def _contacts(self, names: Sequence[str], textures: Sequence[Texture], work: _Work) -> tuple[Contact, ...]:
        """Overlap, shared edge and hairlines of every pair."""
        grid = textures[0].grid
        pairs = list(combinations(range(len(names)), 2))
        under = {index for index, name in enumerate(names) if self._role(name) in UNDER_ROLES}
        coloured = set(range(len(names))) - under
        over = [textures[index] for index in sorted(coloured)]
        strips = [[Meeting() for _ in pairs] for _ in range(grid.strips)]

        def look(number: int) -> None:
            faces = [face_of(texture, number) for texture in textures]
            mine = [(i, j, meeting) for (i, j), meeting in zip(pairs, strips[number], strict=True)]
            StripMeeting(grid, number, faces, cover_of(over or textures, number), coloured).meet(mine)

        work.each(look, grid.strips, PAIRS)
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

    def _chokes(self, names: Sequence[str], textures: Sequence[Texture], work: _Work) -> tuple[Choke, ...]:
        """Choke, peek-out and bare inks of every base that anything prints over."""
        roles = [self._role(name) for name in names]
        later = [index for index, role in enumerate(roles) if role not in UNDER_ROLES]
        bases = [index for index, role in enumerate(roles) if role is Role.BASE]
        if not later:
            return ()
        gauges = [ChokeGauge(textures, names, base, later) for base in bases]
        return tuple(gauge.measure(lambda do, count: work.each(do, count, 0.0)) for gauge in gauges)


@dataclass
class _Work:
    """Work shared out to threads, with its progress."""

    progress: Progress
    stop: Stop
    done: float = 0.0
    finished: int = field(default=0, init=False)

    def each(self, do: Callable[[int], None], count: int, share: float) -> None:
        """Does it for every number below ``count``, which makes up ``share`` of the whole; raises Cancelled."""
        self.finished = 0

        def one(number: int) -> None:
            if self.stop():
                raise Cancelled
            do(number)
            self.finished += 1
            self.progress(min(1.0, self.done + share * self.finished / count))

        with ThreadPoolExecutor(workers()) as pool:
            tasks = [pool.submit(one, number) for number in range(count)]
            try:
                for task in tasks:
                    task.result()
            except BaseException:
                pool.shutdown(cancel_futures=True)
                raise
        self.done += share


def _tones(
    texture: Texture,
) -> tuple[tuple[float, ...] | None, tuple[tuple[float, float], ...], tuple[tuple[float, float], ...]]:
    """Area in cm² of dots and tone by local ink in steps, and the places of the lightest and the darkest."""
    dots, grid = texture.dots, texture.grid
    if not dots.any():
        return None, (), ()
    local = texture.local()
    ink = local[dots]
    steps = np.bincount(np.minimum((ink * TONE_STEPS).astype(np.intp), TONE_STEPS - 1), minlength=TONE_STEPS)
    if texture.plate.tone is not None or ink.min() == 0:  # paper among the dots is no dot
        steps[0] -= int((ink <= 0).sum())
    places = []
    for extreme in ((local > 0) & (local < LIGHT), local > 1 - LIGHT):
        places.append(largest_islands(dots & extreme, grid.cells_per_mm, most=MOST_EXTREMES))
    area = grid.full * grid.pixel_cm2
    return tuple(float(step) * area for step in steps), places[0], places[1]


def _mark_boxes(marks: Sequence[Sequence[Box]], grid: Grid) -> tuple[tuple[float, float, float, float], ...]:
    """Boxes in mm of everything that was taken for a mark or its label, each place once."""
    mm = grid.cells_per_mm
    boxes = sorted({box for boxes in marks for box in boxes})[:MOST_MARKS]
    return tuple((left / mm, top / mm, (right - left) / mm, (bottom - top) / mm) for top, bottom, left, right in boxes)


def _mm_box(box: tuple[int, int, int, int] | None, grid: Grid) -> tuple[float, float, float, float] | None:
    """x, y, width, height in mm of left, top, right, bottom in pixels."""
    if box is None:
        return None
    left, top, right, bottom = (side / grid.pixels_per_mm for side in box)
    return left, top, right - left, bottom - top


def _fault(plates: PlateSet, told: str, remedy: str, **values: object) -> InputFault:
    return InputFault(plates.source, say(f"inspection.fault.{told}", **values), say(f"inspection.fault.{remedy}"))
