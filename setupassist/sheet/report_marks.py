"""The art with every finding marked at its places: numbers that a black-and-white copy still tells apart."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np
from reportlab.lib.utils import ImageReader
from reportlab.pdfgen.canvas import Canvas

from setupassist.appearance.marks import labels_apart
from setupassist.documents.measure import Finding
from setupassist.documents.terms import Severity
from setupassist.sheet.report_content import Art
from setupassist.sheet.tables import PICTURE_DPI, Drawn
from setupassist.sheet.type import BOLD, HAIRLINE, INK, PAPER, SEMIBOLD

Point = tuple[float, float]

BADGE, BADGE_SIZE = 13.0, 8.5
ROOM = 20.0  # beside the art, for numbers of what lies at its edge
HALO, LEADER, DOT, SMALL_DOT = 2.2, 0.9, 1.8, 0.9
APART = 34.0
MOST_PLACES_MARKED = 5
REACH = 19.0


@dataclass(frozen=True)
class Mark:
    """A number at a place: both in points from the drawing's lower left corner."""

    number: int
    severity: Severity
    place: Point
    at: Point


class Badge(Drawn):
    """The number of a finding as it stands in lists."""

    def __init__(self, number: int | None, severity: Severity) -> None:
        super().__init__(BADGE + 2, BADGE)
        self.number, self.severity = number, severity

    def draw(self) -> None:
        """Draw the number at the origin."""
        draw_badge(self.canv, (BADGE / 2, BADGE / 2), self.number, self.severity, halo=False)


class MarkedArt(Drawn):
    """The art at the greatest size that fits a box, a dot at every finding's place, numbers at some of each."""

    def __init__(self, art: Art, findings: Sequence[Finding], most_wide: float, most_high: float) -> None:
        rows, columns = art.picture.shape[:2]
        scale = min((most_wide - 2 * ROOM) / columns, (most_high - 2 * ROOM) / rows)
        self.picture_wide, self.picture_high = columns * scale, rows * scale
        super().__init__(most_wide, self.picture_high + 2 * ROOM)
        self.left = (most_wide - self.picture_wide) / 2
        self.art = art
        self.marks = marks_placed(findings, self._point, (self.wide, self.high))
        self.places = tuple(self._point(place) for finding in findings for place in finding.places_mm)

    def _point(self, place_mm: Point) -> Point:
        x, y, wide, high = self.art.box_mm
        across, down = (place_mm[0] - x) / wide, (place_mm[1] - y) / high
        return self.left + across * self.picture_wide, ROOM + (1 - down) * self.picture_high

    def draw(self) -> None:
        """Draw the art and its marks at the origin."""
        from PIL import Image

        canvas: Canvas = self.canv
        image = Image.fromarray(np.ascontiguousarray(self.art.picture))
        image = image.reduce(max(1, int(image.width / (self.picture_wide / 72 * PICTURE_DPI))))
        canvas.drawImage(ImageReader(image), self.left, ROOM, self.picture_wide, self.picture_high)
        canvas.setLineWidth(0.4)
        canvas.setStrokeColor(HAIRLINE)
        canvas.rect(self.left, ROOM, self.picture_wide, self.picture_high)
        canvas.setLineCap(1)
        for colour, more in ((PAPER, HALO), (INK, 0.0)):
            canvas.setStrokeColor(colour)
            canvas.setFillColor(colour)
            canvas.setLineWidth(LEADER + more)
            for place in self.places:
                canvas.circle(*place, SMALL_DOT + more / 3, stroke=0, fill=1)
            for mark in self.marks:
                canvas.line(*mark.place, *mark.at)
                canvas.circle(*mark.place, DOT + more / 2, stroke=0, fill=1)
        for mark in self.marks:
            draw_badge(canvas, mark.at, mark.number, mark.severity)


def marks_placed(
    findings: Sequence[Finding], point: Callable[[Point], Point], area: tuple[float, float]
) -> tuple[Mark, ...]:
    """Where the numbers stand: beside their places, off one another and within the drawing.

    Of places of one finding that lie near to one another one is marked. Where no room is left there is no number.
    """
    chosen: list[tuple[int, Severity, Point]] = []
    for number, finding in enumerate(findings, 1):
        own: list[Point] = []
        for where in map(point, finding.places_mm):
            if len(own) < MOST_PLACES_MARKED and all(math.dist(where, other) >= APART for other in own):
                own.append(where)
        chosen += [(number, finding.severity, where) for where in own]
    labels = labels_apart([where for _, _, where in chosen], half=BADGE / 2, reach=REACH, within=(0.0, 0.0, *area))
    return tuple(
        Mark(number, severity, where, at)
        for (number, severity, where), at in zip(chosen, labels, strict=True)
        if at is not None
    )


def draw_badge(canvas: Canvas, at: Point, number: int | None, severity: Severity, *, halo: bool = True) -> None:
    """A number: white on a black square stops, in a heavy ring warns, bare is a note; a white halo around each.

    Without a number a # stands for it.
    """
    x, y = at
    half = BADGE / 2
    canvas.saveState()
    canvas.setLineJoin(1)
    canvas.setFillColor(PAPER)
    canvas.setStrokeColor(PAPER)
    canvas.setLineWidth(2 * HALO)
    if severity is Severity.STOP:
        if halo:
            canvas.rect(x - half, y - half, BADGE, BADGE, fill=1, stroke=1)
        canvas.setFillColor(INK)
        canvas.rect(x - half, y - half, BADGE, BADGE, fill=1, stroke=0)
        canvas.setFillColor(PAPER)
    else:
        if halo:
            canvas.circle(x, y, half, fill=1, stroke=1)
        canvas.setFillColor(INK)
        if severity is Severity.WARN:
            canvas.setStrokeColor(INK)
            canvas.setLineWidth(1.5)
            canvas.circle(x, y, half - 0.4, fill=0, stroke=1)
    told = "#" if number is None else str(number)
    size = BADGE_SIZE if len(told) < 3 else BADGE_SIZE - 2
    canvas.setFont(SEMIBOLD if severity is Severity.NOTE else BOLD, size)
    canvas.drawCentredString(x, y - size * 0.34, told)
    canvas.restoreState()
