"""Outlines in millimetres, a sheet to fill them on, and hand-drawn capitals; x runs right, y runs down."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise

import numpy as np
import numpy.typing as npt
from PIL import Image, ImageDraw

Points = npt.NDArray[np.float64]
Line = Sequence[tuple[float, float]] | Points
MM_PER_INCH = 25.4


def spline(line: Line, *, closed: bool = False, steps: int = 14) -> Points:
    """A smooth line (N, 2) through the points (centripetal feel by plain Catmull-Rom)."""
    p = np.asarray(line, float)
    ends = (p[-1:], p[:2]) if closed else (2 * p[:1] - p[1:2], 2 * p[-1:] - p[-2:-1])
    q = np.vstack([ends[0], p, ends[1]])
    t = np.linspace(0, 1, steps, endpoint=False)[:, None]
    parts = [
        0.5 * (2 * b + (c - a) * t + (2 * a - 5 * b + 4 * c - d) * t**2 + (3 * b - a - 3 * c + d) * t**3)
        for a, b, c, d in zip(q, q[1:], q[2:], q[3:], strict=False)
    ]
    return np.vstack([*parts, q[-2:-1]])


def arc(x: float, y: float, rx: float, ry: float, turn_deg: tuple[float, float] = (0, 360), *, n: int = 90) -> Points:
    """Points (n, 2) of an elliptic arc; 0° points right and angles grow clockwise on the sheet."""
    a = np.radians(np.linspace(*turn_deg, n))
    return np.stack([x + rx * np.cos(a), y + ry * np.sin(a)], axis=1)


def box(left: float, top: float, right: float, bottom: float) -> Points:
    """The four corners of a box."""
    return np.array([(left, top), (right, top), (right, bottom), (left, bottom)], float)


def taper(line: Line, widths_mm: Sequence[float]) -> Points:
    """Outline of a brush stroke along ``line`` whose width runs through ``widths_mm``."""
    p = np.asarray(line, float)
    along = np.gradient(p, axis=0)
    across = np.stack([-along[:, 1], along[:, 0]], axis=1) / np.maximum(np.hypot(*along.T), 1e-9)[:, None]
    width = np.interp(np.linspace(0, 1, len(p)), np.linspace(0, 1, len(widths_mm)), widths_mm)[:, None] / 2
    return np.vstack([p + across * width, (p - across * width)[::-1]])


class Sheet:
    """An 8-bit sheet of ``width_mm`` x ``height_mm``; values are painted over each other, drawn twice as fine."""

    def __init__(self, width_mm: float, height_mm: float, pixels_per_mm: float) -> None:
        self.columns, self.rows = round(width_mm * pixels_per_mm), round(height_mm * pixels_per_mm)
        self.fine = 2
        self.scale = pixels_per_mm * self.fine
        self.image = Image.new("L", (self.columns * self.fine, self.rows * self.fine), 0)
        self.pen = ImageDraw.Draw(self.image)

    def fill(self, line: Line, value: int = 255) -> None:
        """Paints the inside of a closed outline."""
        points = np.asarray(line, float) * self.scale
        self.pen.polygon([(float(x), float(y)) for x, y in points], fill=value)

    def stroke(self, line: Line, width_mm: float, value: int = 255) -> None:
        """Paints a line of even width with round joints and ends."""
        points, r = np.asarray(line, float) * self.scale, max(width_mm * self.scale / 2, 0.5)
        # Each piece on its own: one wide joined line leaves hairlines in tight bends.
        for (x0, y0), (x1, y1) in pairwise(points):
            length = float(np.hypot(x1 - x0, y1 - y0))
            if length > 0:
                u, v = (y0 - y1) / length * r, (x1 - x0) / length * r
                self.pen.polygon([(x0 + u, y0 + v), (x1 + u, y1 + v), (x1 - u, y1 - v), (x0 - u, y0 - v)], fill=value)
        for x, y in points:
            self.pen.ellipse((x - r, y - r, x + r, y + r), fill=value)

    def keep(self, line: Line) -> None:
        """Clears all that lies outside a closed outline."""
        inside = Image.new("1", self.image.size, 0)
        points = np.asarray(line, float) * self.scale
        ImageDraw.Draw(inside).polygon([(float(x), float(y)) for x, y in points], fill=1)
        self.image = Image.composite(self.image, Image.new("L", self.image.size, 0), inside)
        self.pen = ImageDraw.Draw(self.image)

    def even_out(self, least_mm: float) -> None:
        """Takes out lines of a two-level sheet that are thinner than ``least_mm``, and closes gaps that are."""
        from scipy.ndimage import binary_dilation, binary_erosion

        reach = round((least_mm * self.scale - 1) / 2)
        y, x = np.mgrid[-reach : reach + 1, -reach : reach + 1]
        disc = x * x + y * y <= (reach + 0.5) ** 2
        inked = np.asarray(self.image) > 0
        for steps in ((binary_erosion, binary_dilation), (binary_dilation, binary_erosion)):
            for step in steps:
                inked = step(inked, disc)
        self.image = Image.fromarray(np.where(inked, np.uint8(255), np.uint8(0)))
        self.pen = ImageDraw.Draw(self.image)

    def disc(self, x: float, y: float, radius_mm: float, value: int = 255) -> None:
        """Paints a disc."""
        self.fill(arc(x, y, radius_mm, radius_mm, n=max(24, int(radius_mm * 12))), value)

    def share(self, value: int = 255) -> npt.NDArray[np.uint8]:
        """How much of each pixel (rows, columns) holds ``value``, 0 to 255."""
        ours = np.asarray(self.image) == value
        f = self.fine
        counts = ours.reshape(self.rows, f, self.columns, f).sum(axis=(1, 3), dtype=np.uint16)
        return (counts * 255 // (f * f)).astype(np.uint8)


def _capitals() -> dict[str, tuple[float, list[Points]]]:
    """Width and strokes of each capital in a cell of height 1, baseline at y = 1."""

    def lines(*strokes: Line) -> list[Points]:
        return [np.asarray(stroke, float) for stroke in strokes]

    def bowl(top: float, bottom: float, reach: float) -> Points:
        r = (bottom - top) / 2
        curve = arc(reach - r, top + r, r, r, (-90, 90), n=24)
        return np.vstack([[(0, top)], curve, [(0, bottom)]])

    return {
        "A": (0.72, lines([(0, 1), (0.36, 0), (0.72, 1)], [(0.14, 0.66), (0.58, 0.66)])),
        "B": (0.56, lines([(0, 0), (0, 1)], bowl(0, 0.46, 0.48), bowl(0.46, 1, 0.56))),
        "E": (0.5, lines([(0.5, 0), (0, 0), (0, 1), (0.5, 1)], [(0, 0.46), (0.42, 0.46)])),
        "H": (0.6, lines([(0, 0), (0, 1)], [(0.6, 0), (0.6, 1)], [(0, 0.46), (0.6, 0.46)])),
        "K": (0.6, lines([(0, 0), (0, 1)], [(0.58, 0), (0.02, 0.56)], [(0.17, 0.41), (0.6, 1)])),
        "L": (0.48, lines([(0, 0), (0, 1), (0.48, 1)])),
        "M": (0.8, lines([(0, 1), (0.08, 0), (0.4, 0.66), (0.72, 0), (0.8, 1)])),
        "N": (0.64, lines([(0, 1), (0, 0), (0.64, 1), (0.64, 0)])),
        "O": (0.82, lines(arc(0.41, 0.5, 0.41, 0.5, n=72))),
        "R": (0.58, lines([(0, 1), (0, 0)], bowl(0, 0.54, 0.56), [(0.26, 0.54), (0.58, 1)])),
        "T": (0.6, lines([(0, 0), (0.6, 0)], [(0.3, 0), (0.3, 1)])),
        "U": (0.62, lines(np.vstack([[(0, 0)], arc(0.31, 0.69, 0.31, 0.31, (180, 0), n=30), [(0.62, 0)]]))),
        "W": (0.94, lines([(0, 0), (0.22, 1), (0.47, 0.28), (0.72, 1), (0.94, 0)])),
        "Y": (0.66, lines([(0, 0), (0.33, 0.5), (0.66, 0)], [(0.33, 0.5), (0.33, 1)])),
        " ": (0.06, []),
    }


CAPITALS = _capitals()


def lettering(text: str, height_mm: float, gap: float = 0.3) -> tuple[float, list[Points]]:
    """Length in mm and strokes of a line of capitals that starts at x = 0 with its baseline at y = 0."""
    x, strokes = 0.0, []
    for letter in text:
        width, parts = CAPITALS[letter]
        strokes += [(part + np.array((x, -1.0))) * height_mm for part in parts]
        x += width + gap
    return (x - gap) * height_mm, strokes


def on_arc(strokes: list[Points], length_mm: float, centre: tuple[float, float], radius_mm: float) -> list[Points]:
    """Strokes bent round ``centre`` with the middle of the line on top; a negative radius bends it like a smile."""

    def bend(stroke: Points) -> Points:
        close = np.linspace(0, len(stroke) - 1, 12 * (len(stroke) - 1) + 1)
        fine = np.stack([np.interp(close, np.arange(len(stroke)), stroke[:, k]) for k in (0, 1)], axis=1)
        angle = (fine[:, 0] - length_mm / 2) / radius_mm
        reach = radius_mm - fine[:, 1]
        return np.stack([centre[0] + reach * np.sin(angle), centre[1] - reach * np.cos(angle)], axis=1)

    return [bend(stroke) for stroke in strokes]


def stamp_marks(plate: npt.NDArray[np.uint8], pixels_per_mm: float, *, two_level: bool = False) -> None:
    """Puts a cross in a circle, lines 0.4 mm, 9 mm across, 6 mm from the plate's top and bottom edge, in the middle."""
    side, arm = 10.0, 4.5
    sheet = Sheet(side, side, pixels_per_mm)
    middle = (sheet.columns // 2) / pixels_per_mm
    sheet.stroke(arc(middle, middle, 2.6, 2.6, n=120), 0.4)
    sheet.stroke([(middle - arm, middle), (middle + arm, middle)], 0.4)
    sheet.stroke([(middle, middle - arm), (middle, middle + arm)], 0.4)
    mark = sheet.share()
    if two_level:
        mark = (mark >= 128).astype(np.uint8) * np.uint8(255)
    left = plate.shape[1] // 2 - mark.shape[1] // 2
    for row in (round(6.0 * pixels_per_mm), plate.shape[0] - round(6.0 * pixels_per_mm)):
        window = (
            slice(row - mark.shape[0] // 2, row - mark.shape[0] // 2 + mark.shape[0]),
            slice(left, left + mark.shape[1]),
        )
        plate[window] = np.maximum(plate[window], mark)
