"""The job that comes as a PDF: a moth before the moon in spot colours, black printed over all, a base under all.

Colours knock out what is under them, as a drawing program leaves it; along every edge the lighter one is drawn out
under the darker by an overprinting line. Black overprints, the base is laid last and overprints too.
"""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import numpy as np
from reportlab.lib.colors import CMYKColorSep
from reportlab.pdfgen.canvas import Canvas
from reportlab.pdfgen.pathobject import PDFPathObject
from sample_pictures.shapes import MM_PER_INCH, Line, Points, arc, lettering, spline, taper

FOLDER, FILE, GARMENT = "moth-hour", "moth-hour.pdf", "#1d2230"
WIDTH_MM, HEIGHT_MM = 256.0, 320.0
POINTS_PER_MM = 72 / MM_PER_INCH
CHOKE_MM, TRAP_MM, KEY_MM = 0.35, 0.25, 0.9
MIDDLE, SKY_MM, MOON_MM = (128.0, 150.0), 98.0, 78.0
LETTER_MM = 3.2
INKS = (
    ("white base", "base", "#f3f3ef"),
    ("moon cream", "colour", "#f3e2b8"),
    ("moth copper", "colour", "#c4692f"),
    ("night teal", "colour", "#1b6670"),
    ("soot black", "key", "#15161a"),
)
PROCESS = (
    (0.0, 0.0, 0.03, 0.03),
    (0.02, 0.08, 0.30, 0.0),
    (0.05, 0.62, 0.90, 0.08),
    (0.85, 0.25, 0.35, 0.30),
    (0.20, 0.10, 0.05, 1.0),
)
"""What stands in for each ink where it cannot be mixed: cyan, magenta, yellow, black."""
BASE, CREAM, COPPER, TEAL, BLACK = (
    CMYKColorSep(*process, spotName=ink[0], density=1) for ink, process in zip(INKS, PROCESS, strict=True)
)
ALL = CMYKColorSep(1, 1, 1, 1, spotName="All", density=1)


class Page:
    """The page in millimetres, x right, y down."""

    def __init__(self, path: Path) -> None:
        size = (WIDTH_MM * POINTS_PER_MM, HEIGHT_MM * POINTS_PER_MM)
        self.canvas = Canvas(str(path), pagesize=size, invariant=1, pageCompression=1)
        self.canvas.setTitle("Moth hour")
        self.canvas.transform(POINTS_PER_MM, 0, 0, -POINTS_PER_MM, 0, size[1])
        self.canvas.setLineCap(1)
        self.canvas.setLineJoin(1)

    def _overprint(self, on: bool) -> None:
        self.canvas.setFillOverprint(on)
        self.canvas.setStrokeOverprint(on)

    def _path(self, *lines: Line, closed: bool) -> PDFPathObject:
        path = self.canvas.beginPath()
        for line in lines:
            points = [(round(float(x), 3), round(float(y), 3)) for x, y in np.asarray(line, float)]
            path.moveTo(*points[0])
            for point in points[1:]:
                path.lineTo(*point)
            if closed:
                path.close()
        return path

    def fill(self, line: Line, ink: CMYKColorSep, *, overprint: bool = False) -> None:
        """A closed outline filled; without overprint it takes every other ink away under it."""
        self._overprint(overprint)
        self.canvas.setFillColor(ink)
        self.canvas.drawPath(self._path(line, closed=True), stroke=0, fill=1)

    def stroke(self, *lines: Line, ink: CMYKColorSep, width_mm: float, closed: bool = False) -> None:
        """Lines of even width that overprint, painted at once: where they cross, nothing is printed twice."""
        self._overprint(True)
        self.canvas.setStrokeColor(ink)
        self.canvas.setLineWidth(width_mm)
        self.canvas.drawPath(self._path(*lines, closed=closed), stroke=1, fill=0)

    def drawn_out(self, line: Line, lighter: CMYKColorSep) -> None:
        """The trap along an edge: the lighter ink reaches under the darker."""
        self.stroke(line, ink=lighter, width_mm=2 * TRAP_MM, closed=True)

    @contextmanager
    def within(self, line: Line) -> Iterator[None]:
        """What is drawn inside shows within the outline only."""
        self.canvas.saveState()
        self.canvas.clipPath(self._path(line, closed=True), stroke=0, fill=0)
        yield
        self.canvas.restoreState()

    def save(self) -> None:
        self.canvas.showPage()
        self.canvas.save()


def _mirrored(line: Line) -> Points:
    points = np.asarray(line, float).copy()
    points[:, 0] = 2 * MIDDLE[0] - points[:, 0]
    return points


def _round(x: float, y: float, radius_mm: float) -> Points:
    return arc(x, y, radius_mm, radius_mm, n=max(48, int(radius_mm * 8)))[:-1]


def _wings() -> list[Points]:
    x, y = MIDDLE
    upper = spline(
        [(x - 4, y - 24), (x - 26, y - 46), (x - 58, y - 44), (x - 66, y - 28), (x - 52, y - 2), (x - 28, y + 8),
         (x - 4, y + 4)], closed=True,
    )  # fmt: skip
    lower = spline(
        [(x - 5, y + 8), (x - 27, y + 13), (x - 44, y + 20), (x - 47, y + 38), (x - 33, y + 52), (x - 15, y + 44)],
        closed=True,
    )
    return [upper, lower, _mirrored(upper), _mirrored(lower)]


def _eyes() -> list[tuple[float, float, float]]:
    x, y = MIDDLE
    left = [(x - 42, y - 24, 8.5), (x - 29, y + 33, 7.0)]
    return left + [(2 * x - a, b, r) for a, b, r in left]


def _stars() -> list[tuple[float, float, float]]:
    turns, reach = np.radians(np.arange(24) * 15.0 + 4), np.tile([84.0, 90.0, 87.0], 8)
    sizes = np.tile([1.1, 1.6, 0.9, 1.3], 6)
    return [
        (MIDDLE[0] + r * float(np.cos(t)), MIDDLE[1] + r * float(np.sin(t)), float(s))
        for t, r, s in zip(turns, reach, sizes, strict=True)
    ]


def _letters() -> list[Points]:
    strokes: list[Points] = []
    for text, height, baseline in (("MOTH HOUR", 20.0, 42.0), ("HOLLOWMERE", 17.0, 280.0)):
        length, parts = lettering(text, height, gap=0.36)
        strokes += [part + np.array((MIDDLE[0] - length / 2, baseline)) for part in parts]
    return strokes


def _key_lines() -> list[tuple[Points, float]]:
    x, y = MIDDLE
    lines: list[tuple[Points, float]] = []
    for side in (1, -1):
        veins = [
            [(x - 5 * side, y - 8), (x - 22 * side, y - 26), (x - 54 * side, y - 38)],
            [(x - 5 * side, y - 4), (x - 28 * side, y - 10), (x - 58 * side, y - 14)],
            [(x - 5 * side, y + 2), (x - 22 * side, y + 3), (x - 40 * side, y - 1)],
            [(x - 6 * side, y + 12), (x - 16 * side, y + 20), (x - 40 * side, y + 24)],
            [(x - 6 * side, y + 16), (x - 14 * side, y + 30), (x - 22 * side, y + 46)],
        ]
        lines += [(spline(vein), KEY_MM) for vein in veins]
        lines.append((spline([(x - 2 * side, y - 34), (x - 8 * side, y - 50), (x - 24 * side, y - 58)]), 1.2))
    lines += [(np.vstack([wing, wing[:1]]), 1.1) for wing in _wings()]
    for ex, ey, radius in _eyes():
        lines.append((arc(ex, ey, radius, radius, n=90), KEY_MM))
        lines.append((arc(ex, ey, radius * 0.45, radius * 0.45, n=60), KEY_MM))
    return lines


def _body() -> list[Points]:
    x, y = MIDDLE
    trunk = taper([(x, y - 36), (x, y - 22), (x, y), (x, y + 22), (x, y + 46)], (6.0, 9.5, 10.0, 7.5, 1.6))
    return [trunk, _round(x, y - 36, 4.4), _round(x, y + 46, 0.8)]


def draw(path: Path) -> None:
    """The page as a PDF, always the same bytes."""
    page = Page(path)
    sky, moon = _round(*MIDDLE, SKY_MM), _round(*MIDDLE, MOON_MM)
    page.fill(sky, TEAL)
    page.fill(moon, CREAM)
    page.drawn_out(moon, CREAM)
    for star in _stars():
        page.fill(_round(*star), CREAM)
        page.drawn_out(_round(*star), CREAM)
    for wing in _wings():
        page.fill(wing, COPPER)
        page.drawn_out(wing, CREAM)
    for x, y, radius in _eyes():
        page.fill(_round(x, y, radius), CREAM)
        page.drawn_out(_round(x, y, radius), CREAM)
        page.fill(_round(x, y, radius * 0.45), TEAL)
        page.drawn_out(_round(x, y, radius * 0.45), CREAM)
    page.stroke(*_letters(), ink=CREAM, width_mm=LETTER_MM)
    with page.within(sky):
        page.stroke(sky, ink=BLACK, width_mm=6.0, closed=True)
    for line, width in _key_lines():
        page.stroke(line, ink=BLACK, width_mm=width)
    for part in _body():
        page.fill(part, BLACK, overprint=True)
    page.canvas.setBlendMode(
        "Multiply"
    )  # changes no plate; viewers that know no overprint show the colours all the same
    page.fill(_round(*MIDDLE, SKY_MM - CHOKE_MM), BASE, overprint=True)
    page.stroke(*_letters(), ink=BASE, width_mm=LETTER_MM - 2 * CHOKE_MM)
    page.canvas.setBlendMode("Normal")
    _marks(page)
    page.save()


def _marks(page: Page) -> None:
    """The crosses in circles of the other jobs, in the colour that stands for all plates."""
    for y in (6.0, HEIGHT_MM - 6.0):
        x = WIDTH_MM / 2
        page.stroke(arc(x, y, 2.6, 2.6, n=120)[:-1], ink=ALL, width_mm=0.4, closed=True)
        page.stroke([(x - 4.5, y), (x + 4.5, y)], [(x, y - 4.5), (x, y + 4.5)], ink=ALL, width_mm=0.4)
