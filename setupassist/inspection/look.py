"""One look at the marks of a set, and one at each of its plates, told as they go into the measure."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field, replace

import numpy as np

from setupassist.documents.measure import (
    MOST_MARK_BOXES,
    SPECK_STEP_MM,
    SPECK_STEPS,
    TONE_STEPS,
    Finding,
    Lab,
    PlateMeasure,
)
from setupassist.documents.terms import Role
from setupassist.inspection import findings as tell
from setupassist.inspection.bits import pack, round_about, unpack
from setupassist.inspection.boxes import art_cells, mm_box
from setupassist.inspection.fine import FineDetail, fine_detail
from setupassist.inspection.islands import Islands
from setupassist.inspection.kind import Texture
from setupassist.inspection.maps import largest_islands
from setupassist.inspection.marks import find_marks
from setupassist.inspection.odd import looks_reversed, looks_turned, paper_not_clear
from setupassist.inspection.planes import PackedPlate
from setupassist.inspection.register import Offset, off_register, offsets
from setupassist.inspection.threads import Stop

LIGHT = 0.1  # dots of less than this, and of this less than full, are shown by their places
MOST_EXTREMES = 20
BESIDE_DOTS_MM = 1.0

PixelBox = tuple[int, int, int, int]
BoxMm = tuple[float, float, float, float]
Points = tuple[tuple[float, float], ...]


class MarksSeen:
    """The marks of a set: what they tell of its plates, and then they are taken out of them."""

    def __init__(self, names: Sequence[str], plates: Sequence[PackedPlate]) -> None:
        self.grid = plates[0].grid
        negatives = looks_reversed(names, plates)
        turned_round = {name for finding in negatives for name in finding.plates}
        # The ink round a negative's rim would hide the marks of all.
        shown = [
            PackedPlate(self.grid, np.zeros_like(plate.bits)) if name in turned_round else plate
            for name, plate in zip(names, plates, strict=True)
        ]
        self.marks = find_marks(shown)
        self.offsets: list[Offset | None] = offsets(plates, self.marks)
        self.findings: list[Finding] = [
            *negatives,
            *paper_not_clear(names, plates),
            *tell.marks_missing(names, shown, self.marks),
            *off_register(names, self.grid, self.offsets),
            *looks_turned(names, plates, self.marks, self.offsets),
        ]
        for plate, boxes in zip(plates, self.marks, strict=True):
            for box in boxes:
                plate.erase(box)

    def boxes_mm(self) -> tuple[BoxMm, ...]:
        """Boxes (x, y, width, height in mm) of everything that was taken for a mark or its label, each place once."""
        mm = self.grid.cells_per_mm
        boxes = sorted({box for boxes in self.marks for box in boxes})[:MOST_MARK_BOXES]
        return tuple(
            (left / mm, top / mm, (right - left) / mm, (bottom - top) / mm) for top, bottom, left, right in boxes
        )

    def register_boxes_mm(self) -> tuple[BoxMm, ...]:
        """Boxes (x, y, width, height in mm) of the marks alone, each moved to where the reference plate has it.

        The smallest box that any plate has of a mark counts: type that touches a mark makes its box larger.
        """
        mm, told = self.grid.cells_per_mm, []
        for mark in self.marks.marks[:MOST_MARK_BOXES]:
            known = {plate: box for plate, box in mark.boxes.items() if self.offsets[plate] is not None} or mark.boxes
            plate, box = min(known.items(), key=lambda item: (item[1][1] - item[1][0]) * (item[1][3] - item[1][2]))
            offset, (top, bottom, left, right) = self.offsets[plate], box
            dx, dy = (0.0, 0.0) if offset is None else (offset.dx, offset.dy)
            x, y = left / mm + dx / self.grid.pixels_per_mm, top / mm + dy / self.grid.pixels_per_mm
            told.append((x, y, (right - left) / mm, (bottom - top) / mm))
        return tuple(told)


@dataclass
class Look:
    """One plate by itself: its box, its kind and dots, its finest detail."""

    name: str
    plate: PackedPlate
    texture: Texture = field(init=False)
    fine: FineDetail = field(init=False)
    tones: tuple[tuple[float, ...] | None, Points, Points] = field(init=False)
    box: PixelBox | None = field(init=False, default=None)

    def __post_init__(self) -> None:
        self.texture = Texture(self.plate)

    def look(self, stop: Stop) -> None:
        """Looks at the whole plate; Cancelled when ``stop`` answers True."""
        self.box = self.plate.pixel_box(art_cells(self.plate))
        self.texture.judge(stop)
        lattice = self.texture.main_lattice
        fine = fine_detail(
            self.plate, self.texture.dots, period_px=None if lattice is None else lattice.period, stop=stop
        )
        self.fine = replace(fine, islands=self._apart_from_dots(fine.islands))
        self.tones = _tones(self.texture)

    def give_back(self) -> None:
        """Lets go of the plate and its maps; nothing can be asked any more."""
        self.texture.release()
        self.plate.release()

    def _apart_from_dots(self, islands: Islands) -> Islands:
        """Islands that no patch of dots lies beside: the dots that its edge cuts off are no specks."""
        dots, cell = self.texture.dots, self.plate.grid.cell
        if not len(islands) or not dots.any():
            return islands
        reach = max(1, round(BESIDE_DOTS_MM * self.plate.grid.cells_per_mm))
        beside = unpack(round_about(pack(dots), reach), dots.shape[1])
        x, y = (islands[:, side].astype(np.intp) // cell for side in (0, 1))
        apart: Islands = islands[~beside[y.clip(max=len(beside) - 1), x.clip(max=beside.shape[1] - 1)]]
        return apart

    def measure(
        self, box: PixelBox | None, role: Role, lab: Lab | None, offset: Offset | None, speck_mm: float
    ) -> PlateMeasure:
        """What is known of the plate; ``box`` is that of the whole art, islands up to ``speck_mm`` are specks."""
        grid, mm = self.plate.grid, self.plate.grid.pixels_per_mm
        ink = self.plate.ink_pixels()
        box_pixels = (box[2] - box[0]) * (box[3] - box[1]) if box else 0
        tone, light, dark = self.tones
        fine = self.fine
        counts = np.histogram(fine.islands[:, 2] / mm, SPECK_STEPS, (0, SPECK_STEPS * SPECK_STEP_MM))[0]
        return PlateMeasure(
            name=self.name,
            kind=self.texture.kind(ink),
            ink_area_cm2=ink * grid.pixel_cm2,
            coverage=min(1.0, ink / box_pixels) if box_pixels else 0.0,
            halftone=self.texture.halftone(ink),
            dot_mm=self.texture.dot_mm(ink),
            finest_line_mm=None if fine.finest_line_px is None else fine.finest_line_px / mm,
            finest_gap_mm=None if fine.finest_gap_px is None else fine.finest_gap_px / mm,
            specks=fine.specks(speck_mm * mm),
            speck_counts=tuple(int(count) for count in counts),
            finest_line_places_mm=_mm_places(fine.line_places, mm),
            finest_gap_places_mm=_mm_places(fine.gap_places, mm),
            speck_places_mm=_mm_places(fine.speck_places(speck_mm * mm), mm),
            register_offset_mm=None if offset is None else (offset.dx / mm, offset.dy / mm),
            register_spread_mm=None if offset is None else offset.spread / mm,
            tone_cm2=tone,
            light_places_mm=light,
            dark_places_mm=dark,
            ink_box_mm=mm_box(self.box, grid),
            role=role,
            lab=lab,
        )


def _mm_places(places: Points, pixels_per_mm: float) -> Points:
    return tuple((x / pixels_per_mm, y / pixels_per_mm) for x, y in places)


def _tones(texture: Texture) -> tuple[tuple[float, ...] | None, Points, Points]:
    """Area in cm² of dots and tone by local ink in steps, and the places of the lightest and the darkest."""
    if not texture.dots.any():
        return None, (), ()
    dots, grid = texture.held_cells(), texture.plate.grid
    local = texture.dot_tones()
    ink = local[dots]
    steps = np.bincount(np.minimum((ink * TONE_STEPS).astype(np.intp), TONE_STEPS - 1), minlength=TONE_STEPS)
    places = [
        largest_islands(dots & extreme, grid.cells_per_mm, most=MOST_EXTREMES)
        for extreme in ((local > 0) & (local < LIGHT), local > 1 - LIGHT)
    ]
    area = grid.full * grid.pixel_cm2
    return tuple(float(step) * area for step in steps), places[0], places[1]
