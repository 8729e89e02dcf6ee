"""One look at the marks of a set, and one at each of its plates, told as they go into the measure."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field

import numpy as np

from setupassist.documents.measure import TONE_STEPS, Finding, Lab, PlateMeasure
from setupassist.documents.terms import Role
from setupassist.inspection import findings as tell
from setupassist.inspection.boxes import art_cells, mm_box
from setupassist.inspection.kind import Texture
from setupassist.inspection.maps import largest_islands
from setupassist.inspection.marks import find_marks
from setupassist.inspection.odd import looks_reversed, looks_turned
from setupassist.inspection.planes import PackedPlate
from setupassist.inspection.register import Offset, off_register, offsets
from setupassist.inspection.work import Stop

LIGHT = 0.1  # dots of less than this, and of this less than full, are shown by their places
MOST_EXTREMES, MOST_MARKS = 20, 200

PixelBox = tuple[int, int, int, int]
Points = tuple[tuple[float, float], ...]


class MarksSeen:
    """The marks of a set: what they tell of its plates, and then they are taken out of them."""

    def __init__(self, names: Sequence[str], plates: Sequence[PackedPlate]) -> None:
        self.grid = plates[0].grid
        self.marks = find_marks(plates)
        self.offsets: list[Offset | None] = offsets(plates, self.marks)
        self.findings: list[Finding] = [
            *looks_reversed(names, plates),
            *tell.marks_missing(names, plates, self.marks),
            *off_register(names, self.grid, self.offsets),
            *looks_turned(names, plates, self.marks, self.offsets),
        ]
        for plate, boxes in zip(plates, self.marks, strict=True):
            for box in boxes:
                plate.erase(box)

    def boxes_mm(self) -> tuple[tuple[float, float, float, float], ...]:
        """Boxes (x, y, width, height in mm) of everything that was taken for a mark or its label, each place once."""
        mm = self.grid.cells_per_mm
        boxes = sorted({box for boxes in self.marks for box in boxes})[:MOST_MARKS]
        return tuple(
            (left / mm, top / mm, (right - left) / mm, (bottom - top) / mm) for top, bottom, left, right in boxes
        )


@dataclass
class Look:
    """One plate by itself: its box, its kind and dots, its finest detail."""

    name: str
    plate: PackedPlate
    texture: Texture = field(init=False)
    box: PixelBox | None = field(init=False, default=None)

    def __post_init__(self) -> None:
        self.texture = Texture(self.plate)

    def look(self, stop: Stop) -> None:
        """Looks at the whole plate; Cancelled when ``stop`` answers True."""
        self.box = self.plate.pixel_box(art_cells(self.plate))
        self.texture.judge(stop)

    def measure(self, box: PixelBox | None, role: Role, lab: Lab | None, offset: Offset | None) -> PlateMeasure:
        """What is known of the plate; ``box`` is that of the whole art."""
        grid, mm = self.plate.grid, self.plate.grid.pixels_per_mm
        ink = self.plate.ink_pixels()
        box_pixels = (box[2] - box[0]) * (box[3] - box[1]) if box else 0
        tone, light, dark = _tones(self.texture)
        return PlateMeasure(
            name=self.name,
            kind=self.texture.kind(ink),
            ink_area_cm2=ink * grid.pixel_cm2,
            coverage=min(1.0, ink / box_pixels) if box_pixels else 0.0,
            halftone=self.texture.halftone(ink),
            register_offset_mm=None if offset is None else (offset.dx / mm, offset.dy / mm),
            register_spread_mm=None if offset is None else offset.spread / mm,
            tone_cm2=tone,
            light_places_mm=light,
            dark_places_mm=dark,
            ink_box_mm=mm_box(self.box, grid),
            role=role,
            lab=lab,
        )


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
