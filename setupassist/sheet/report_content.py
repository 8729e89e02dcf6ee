"""All that a report of an art check says and shows, gathered in one frozen record."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from setupassist.appearance.loupe import Box, Crop, box_around, crops
from setupassist.appearance.thumbnails import cell_px, garment_picture, one_plate_picture, thumbnails
from setupassist.art.plates import PlateSet
from setupassist.colour import hex_of_lab
from setupassist.documents.measure import Finding, Measure, PlateMeasure
from setupassist.documents.terms import SPECIAL_ROLES, UNDER_ROLES, Role

Picture = npt.NDArray[np.uint8]

NEUTRAL = "#b4b4af"
UNKNOWN_COLOUR = "#7d7d7a"
ART_PX = 1800
MARGIN_MM = 4.0
MOST_LOUPES = 6
LOUPE_PX = 480
BESIDE_FINDING = 6.0  # a loupe shows so many times the measured length
AS_FILM = frozenset({"line-too-fine", "gap-too-fine", "specks", "dots-lost", "shadows-fill"})
"""Findings on one plate alone, which a loupe shows as its film: black on white."""
LOUPE_MM = {
    "specks": 3.0,
    "base-missing-under": 12.0,
    "base-leaves-bare": 12.0,
    "off-register": 14.0,
    "marks-differ": 14.0,
}
USUAL_LOUPE_MM, MOST_LOUPE_MM = 5.0, 40.0
SEEN_THROUGH = {"base-missing-under": 0.5, "base-leaves-bare": 0.5, "off-register": 0.7, "marks-differ": 0.7}
"""Findings on what lies under an ink: how much the loupe's inks hide, bases apart."""


@dataclass(frozen=True, eq=False)
class Art:
    """The art as inks over one another, sRGB (rows, columns, 3), and the part of the plates that it shows."""

    picture: Picture
    box_mm: Box


@dataclass(frozen=True, eq=False)
class Loupe:
    """One place at pixel scale: the finding's number, the picture, what it shows and the inks that lie there."""

    number: int
    finding: Finding
    picture: Picture
    box_mm: Box
    place_mm: tuple[float, float]
    inks: tuple[str, ...]


@dataclass(frozen=True, eq=False)
class Report:
    """What is printed. ``about`` are short texts on the set or the job; ``date`` and ``version`` stand as given."""

    title: str
    about: tuple[str, ...]
    measure: Measure
    findings: tuple[Finding, ...]
    date: str
    version: str
    shop: str
    cloth: str | None = None
    art: Art | None = None
    loupes: tuple[Loupe, ...] = ()


def print_order(measure: Measure) -> list[PlateMeasure]:
    """The plates as they lie over one another: bases, colours, keys, highlights, specials; else as listed."""

    def layer(plate: PlateMeasure) -> int:
        if plate.role in UNDER_ROLES:
            return 0 if plate.role is Role.BLOCKER else 1
        if plate.role in SPECIAL_ROLES:
            return 5
        return {Role.KEY: 3, Role.HIGHLIGHT: 4}.get(plate.role, 2)

    return sorted(measure.plates, key=layer)


def colour_of(plate: PlateMeasure) -> str:
    """The ink's colour as a picture shows it; a grey where none is known."""
    return UNKNOWN_COLOUR if plate.lab is None else hex_of_lab(plate.lab)


def art_of(
    plates: PlateSet, measure: Measure, findings: Sequence[Finding], *, cloth: str | None, longest_px: int = ART_PX
) -> Art | None:
    """The art with every finding's place in view; None for plates that cannot be laid over one another."""
    first, per_cm = plates.plates[0], measure.art.pixels_per_cm
    if per_cm is None or len({(plate.rows, plate.columns) for plate in plates.plates}) != 1:
        return None
    names = [plate.name for plate in plates.plates]
    thumbs = dict(zip(names, thumbnails(plates, longest_px=longest_px), strict=True))
    rows, columns = thumbs[names[0]].shape
    box = _in_view(measure, findings)
    scale = per_cm / 10 / cell_px(max(first.rows, first.columns), longest_px)
    top, left = int(box[1] * scale), int(box[0] * scale)
    bottom = max(top + 1, min(rows, round((box[1] + box[3]) * scale)))
    right = max(left + 1, min(columns, round((box[0] + box[2]) * scale)))
    picture = _laid({name: thumb[top:bottom, left:right] for name, thumb in thumbs.items()}, measure, cloth)
    return Art(picture, (left / scale, top / scale, (right - left) / scale, (bottom - top) / scale))


def loupes_of(
    plates: PlateSet, measure: Measure, findings: Sequence[Finding], *, most: int = MOST_LOUPES
) -> tuple[Loupe, ...]:
    """The worst findings that have a place, each at its first one; none without a resolution or of unlike plates.

    Inks lie on grey, on which both a white base and a black key are seen.
    """
    alike = len({(plate.rows, plate.columns) for plate in plates.plates}) == 1
    placed = [(number, finding) for number, finding in enumerate(findings, 1) if finding.places_mm][:most]
    if plates.dpi is None or not alike or not placed:
        return ()
    boxes = [box_around(finding.places_mm[0], _side_mm(finding)) for _, finding in placed]
    return tuple(
        _loupe(number, finding, cut, measure)
        for (number, finding), cut in zip(placed, crops(plates, boxes), strict=True)
    )


def _loupe(number: int, finding: Finding, cut: Crop, measure: Measure) -> Loupe:
    seen = tuple(plate.name for plate in print_order(measure) if cut.levels[plate.name].any())
    if finding.code in AS_FILM and len(finding.plates) == 1 and finding.plates[0] in cut.levels:
        picture, seen = one_plate_picture(cut.levels[finding.plates[0]]), finding.plates
    else:
        picture = _laid(cut.levels, measure, None, hiding=SEEN_THROUGH.get(finding.code, 1.0))
    times = max(1, -(-LOUPE_PX // max(picture.shape[:2])))
    picture = picture.repeat(times, axis=0).repeat(times, axis=1)
    return Loupe(number, finding, picture, cut.box_mm, finding.places_mm[0], seen)


def _laid(levels: Mapping[str, Picture], measure: Measure, cloth: str | None, *, hiding: float = 1.0) -> Picture:
    order = print_order(measure)
    return garment_picture(
        [levels[plate.name] for plate in order],
        [colour_of(plate) for plate in order],
        cloth or NEUTRAL,
        opacities=[1.0 if plate.role in UNDER_ROLES else hiding for plate in order],
    )


def _side_mm(finding: Finding) -> float:
    side = LOUPE_MM.get(finding.code, USUAL_LOUPE_MM)
    if finding.code.startswith("base-peeks") and finding.measured is not None:
        side = max(side, BESIDE_FINDING * finding.measured)
    return min(side, MOST_LOUPE_MM)


def _in_view(measure: Measure, findings: Sequence[Finding]) -> Box:
    """The art box and all places with a margin, within the plates; all of the plates where there is no art box."""
    art = measure.art
    if art.art_box_mm is None:
        return 0.0, 0.0, art.width_mm, art.height_mm
    x, y, wide, high = art.art_box_mm
    places = [place for finding in findings for place in finding.places_mm]
    left, right = min([x, *(p[0] for p in places)]), max([x + wide, *(p[0] for p in places)])
    top, bottom = min([y, *(p[1] for p in places)]), max([y + high, *(p[1] for p in places)])
    left, top = max(0.0, left - MARGIN_MM), max(0.0, top - MARGIN_MM)
    right, bottom = min(art.width_mm, right + MARGIN_MM), min(art.height_mm, bottom + MARGIN_MM)
    return left, top, max(right - left, 1.0), max(bottom - top, 1.0)
