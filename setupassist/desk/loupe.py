"""A loupe on the plates of the desk: which part is read and kept, what is seen in it, and how it is measured out."""

from __future__ import annotations

import threading
from collections.abc import Callable
from dataclasses import dataclass
from typing import TYPE_CHECKING, TypeGuard

from setupassist.desk.base_making import BASE, BaseMade, base_over
from setupassist.desk.garment_art import GarmentArt, drawn_as_film, drawn_on_garment
from setupassist.documents.measure import Measure
from setupassist.quantities import MM_PER_INCH
from setupassist.sheet.unit_words import UnitWords
from setupassist.words import say

if TYPE_CHECKING:
    from setupassist.appearance.loupe import Box, Crop
    from setupassist.appearance.thumbnails import Picture
    from setupassist.art.plates import PlateSet

Point = tuple[float, float]

SIDES_MM = (1.5, 3.0, 6.0, 12.0, 24.0)
"""What the loupe may show, from near to far; the side of a square."""
USUAL_SIDE = 2
MOST_KEPT_BYTES = 48_000_000
LEAST_INK = 3
"""Levels out of 255 from which an ink is told to lie at a place: 1 %."""


@dataclass(frozen=True)
class Wish:
    """What the loupe is to show: a place, how much around it, and all inks on a garment or one plate as its film.

    ``base`` is one that is not written yet; it lies over the inks that it carries.
    """

    plates: PlateSet
    place_mm: Point
    side_mm: float
    art: GarmentArt | None
    plate: str | None
    base: BaseMade | None = None


@dataclass(frozen=True, eq=False)
class Seen:
    """What the loupe shows: sRGB (rows, columns, 3) of the part ``box_mm``, and the ink 0..1 of each plate at a place.

    ``inks`` lists those that have any there, the most first.
    """

    picture: Picture
    box_mm: Box
    place_mm: Point
    inks: tuple[tuple[str, float], ...]


def can_be_seen(plates: PlateSet | Measure | None) -> TypeGuard[PlateSet]:
    """Whether plates are there that a loupe can read: of one size, with a resolution."""
    if plates is None or isinstance(plates, Measure) or plates.dpi is None or not plates.plates:
        return False
    return len({(plate.rows, plate.columns) for plate in plates.plates}) == 1


def can_show(wish: Wish) -> bool:
    """Whether all that is to be drawn is among the plates: pictures and bases may still be those of others."""
    names = {plate.name for plate in wish.plates.plates}
    wanted = {wish.plate} if wish.art is None else {name for layer in wish.art.layers for name in layer.plates}
    first = wish.plates.plates[0]
    bases = () if wish.base is None else wish.base.plates.plates
    alike = all((base.rows, base.columns) == (first.rows, first.columns) for base in bases)
    return wanted <= names and alike


def pixel_mm(plates: PlateSet) -> float:
    """The side of a pixel of plates that can be seen."""
    assert plates.dpi is not None
    return MM_PER_INCH / plates.dpi


def size_mm(plates: PlateSet) -> Point:
    """Width and height of plates that can be seen."""
    first, pixel = plates.plates[0], pixel_mm(plates)
    return first.columns * pixel, first.rows * pixel


class LoupeReader:
    """Reads parts of plates, and keeps the last band around one, so that a small move reads nothing.

    One thread at a time reads; any may let go of what is kept meanwhile.
    """

    def __init__(self) -> None:
        self._lock = threading.Lock()
        self._kept: dict[bool, tuple[PlateSet, Crop]] = {}
        self._forgotten = 0

    def see(self, wish: Wish, *, stop: Callable[[], bool]) -> Seen:
        """What the wish asks for. Raises what ``appearance.loupe.crop`` does."""
        part = self.part(wish.plates, wish.place_mm, wish.side_mm, stop=stop)
        if wish.base is None or wish.art is None:
            return seen_in(part, wish)
        return seen_in(part, wish, self.part(wish.base.plates, wish.place_mm, wish.side_mm, stop=stop, base=True))

    def forget(self) -> None:
        """Lets go of what is kept; asked for where nobody looks any more. What is being read then is not kept."""
        with self._lock:
            self._forgotten += 1
            self._kept.clear()

    def part(
        self, plates: PlateSet, place_mm: Point, side_mm: float, *, stop: Callable[[], bool], base: bool = False
    ) -> Crop:
        """The square around a place, moved in from the plates' edges; a ``base`` is kept apart from the plates."""
        from setupassist.appearance.loupe import box_around, crop, cut_out

        box = box_around(place_mm, side_mm)
        with self._lock:
            of, kept = self._kept.get(base, (None, None))
            before = self._forgotten
        part = cut_out(kept, plates, box) if kept is not None and of is plates else None
        if part is None:
            kept = None
            with self._lock:
                self._kept.pop(base, None)
            kept = crop(plates, band_around(plates, box), stop=stop)
            with self._lock:
                if before == self._forgotten:
                    self._kept[base] = plates, kept
            part = cut_out(kept, plates, box)
            assert part is not None, "a band holds what it was read for"
        return part


def band_around(plates: PlateSet, box: Box) -> Box:
    """What is read at once around a box: rows as wide as the plates, as many as may be kept, else a smaller part."""
    dpi = plates.dpi
    assert dpi is not None
    scale, first = dpi / MM_PER_INCH, plates.plates[0]
    x, y, width, height = box
    most_pixels = MOST_KEPT_BYTES / len(plates.plates)
    wide = first.columns / scale
    rows = most_pixels / first.columns
    if rows < height * scale * 2:
        wide = max(width, most_pixels / (height * scale * 2) / scale)
        rows = height * scale * 2
    high = max(height, rows / scale)
    return x + width / 2 - wide / 2, y + height / 2 - high / 2, wide, high


def seen_in(crop: Crop, wish: Wish, base: Crop | None = None) -> Seen:
    """What a part shows, with the same part of a base over it where one is to be seen."""
    art, place_mm, levels = wish.art, wish.place_mm, dict(crop.levels)
    if base is not None and art is not None and wish.base is not None:
        (levels[BASE],) = base.levels.values()
        art = base_over(art, wish.base)
    picture = drawn_on_garment(art, levels) if art is not None else drawn_as_film(levels[wish.plate or ""])
    left, top, _, _ = crop.box_mm
    rows, columns = picture.shape[:2]
    column = min(columns - 1, max(0, int((place_mm[0] - left) * crop.pixels_per_mm)))
    row = min(rows - 1, max(0, int((place_mm[1] - top) * crop.pixels_per_mm)))
    inks = [(name, part[row, column] / 255) for name, part in crop.levels.items() if part[row, column] >= LEAST_INK]
    return Seen(picture, crop.box_mm, place_mm, tuple(sorted(inks, key=lambda ink: -ink[1])))


def place_words(place_mm: Point, words: UnitWords) -> str:
    """The coordinates of a place, right and down from the upper left corner of the plates."""
    return words(say("place_art_check.loupe.place", x=words.fine(place_mm[0]), y=words.fine(place_mm[1])))


def inks_words(seen: Seen, words: UnitWords) -> str:
    """Which inks lie at the place, and how full."""
    if not seen.inks:
        return words(say("place_art_check.loupe.no-ink"))
    told = [
        name if share > 0.995 else words(say("place_art_check.loupe.ink", ink=name, percent=round(100 * share)))
        for name, share in seen.inks
    ]
    return ", ".join(told)
