"""The simulated-process job: a heron with a lantern at night, painted as light, separated and set in dots."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt
from PIL import Image
from sample_pictures.dots import drawn_in, halftone, separate
from sample_pictures.shapes import MM_PER_INCH, Line, Points, Sheet, arc, spline, stamp_marks, taper

FOLDER, DPI, GARMENT = "night-heron", 600, "#0e0e11"
WIDTH_MM, HEIGHT_MM, MARGIN_MM = 212.0, 256.0, (6.0, 12.0)
ART_MM = (200.0, 232.0)
PIXELS_PER_MM = 8.0
LINES_PER_INCH, ANGLE_DEG = 45.0, 22.5
FAINTEST, FULL_DOT, CHOKE_MM = 0.012, 0.95, 0.25
LEAST_DOT, LEAST_WHITE_DOT = 0.05, 0.075  # the whites print through coarser screens
INKS = (
    ("white base", "base", "#f2f2ee"),
    ("deep blue", "colour", "#2247a8"),
    ("violet", "colour", "#76389f"),
    ("teal", "colour", "#15808a"),
    ("red", "colour", "#c22f2b"),
    ("orange", "colour", "#ee7423"),
    ("gold", "colour", "#f6bd3b"),
    ("heron grey", "colour", "#98a4b3"),
    ("highlight white", "highlight", "#ffffff"),
)
# What a full tone of each ink costs in the fit: the dear ones are used only where nothing else will do.
THRIFT = np.array([0.006, 0.003, 0.003, 0.003, 0.003, 0.003, 0.001, 0.0, 0.014])
Field = npt.NDArray[np.float64]


def light(colour: str) -> Field:
    """Linear red, green and blue of a ``#rrggbb`` colour."""
    v = np.array([int(colour[k : k + 2], 16) for k in (1, 3, 5)]) / 255
    return np.where(v <= 0.04045, v / 12.92, ((v + 0.055) / 1.055) ** 2.4)


class Painting:
    """Linear light (rows, columns, 3) with x and y in mm of each pixel's middle."""

    def __init__(self, pixels_per_mm: float) -> None:
        self.per_mm = pixels_per_mm
        columns, rows = (round(side * pixels_per_mm) for side in ART_MM)
        self.x, self.y = np.meshgrid(
            (np.arange(columns) + 0.5) / pixels_per_mm, (np.arange(rows) + 0.5) / pixels_per_mm
        )
        self.rgb: Field = np.zeros((rows, columns, 3))

    def shape(self, *lines: Line, strokes: tuple[tuple[Line, float], ...] = ()) -> Field:
        """How much of each pixel the outlines and strokes cover, 0 to 1."""
        sheet = Sheet(*ART_MM, self.per_mm)
        for line in lines:
            sheet.fill(line)
        for line, width in strokes:
            sheet.stroke(line, width)
        return sheet.share() / 255.0

    def dab(self, line: Line, colour: str, strength: float = 1.0, within: Field | None = None) -> None:
        """Paints one outline; only the pixels round it are touched."""
        points = np.asarray(line, float)
        low = np.maximum(np.floor(points.min(axis=0) * self.per_mm).astype(int) - 2, 0)
        high = np.minimum(np.ceil(points.max(axis=0) * self.per_mm).astype(int) + 3, self.x.shape[::-1])
        wide, tall = (int(n) for n in high - low)
        if wide < 1 or tall < 1:
            return
        sheet = Sheet(wide / self.per_mm, tall / self.per_mm, self.per_mm)
        sheet.fill(points - low / self.per_mm)
        window = (slice(low[1], high[1]), slice(low[0], high[0]))
        cover = sheet.share() / 255.0 * strength * (1.0 if within is None else within[window])
        self.rgb[window] += cover[..., None] * (light(colour) - self.rgb[window])

    def soft(self, field: Field, mm: float) -> Field:
        """The field blurred by ``mm``."""
        from scipy.ndimage import gaussian_filter

        return np.asarray(gaussian_filter(field, mm * self.per_mm))

    def lay(self, cover: Field, colour: str | Field) -> None:
        """Paints a colour over what is there."""
        paint = light(colour) if isinstance(colour, str) else colour
        self.rgb += cover[..., None] * (paint - self.rgb)

    def glow(self, amount: Field, colour: str) -> None:
        """Adds light."""
        self.rgb += amount[..., None] * light(colour)

    def near(self, x: float, y: float, mm: float) -> Field:
        """Falls from 1 at (x, y) to 0 far away; one half at ``mm``."""
        return 1 / (1 + ((self.x - x) ** 2 + (self.y - y) ** 2) / mm**2)


def cloud(x: Field, y: Field, seed: int) -> Field:
    """Smooth noise about 0, one wave a unit, the same at every scale."""
    from scipy.ndimage import map_coordinates

    table = np.random.default_rng(seed).uniform(-1, 1, (64, 64))
    return np.asarray(map_coordinates(table, [y % 64, x % 64], order=3, mode="grid-wrap"))


def ramp(value: Field, low: float, high: float) -> Field:
    """0 below ``low``, 1 above ``high``, smooth between."""
    t = np.clip((value - low) / (high - low), 0, 1)
    return np.asarray(t * t * (3 - 2 * t))


MOON, MOON_MM, HORIZON, LANTERN = (120.0, 82.0), 45.0, 152.0, (56.0, 105.0)


def _sky(p: Painting) -> None:
    stops = (0, 40, 80, 112, 134, 147, HORIZON)
    colours = ("#060a1c", "#0d1b52", "#26307f", "#5a2f86", "#a83552", "#e06a30", "#f5b04a")
    table = np.stack([light(c) for c in colours])
    wave = p.y + 5 * cloud(p.x / 38, p.y / 13, 1)
    p.rgb = np.stack([np.interp(wave, stops, table[:, k]) for k in range(3)], axis=-1)
    for seed, level, colour in ((2, 126, "#f08a3c"), (3, 112, "#c2456a"), (4, 95, "#5d4fb0"), (8, 62, "#2b4fae")):
        band = np.exp(-(((p.y - level) / 10) ** 2))
        p.lay(
            0.75
            * band
            * ramp(cloud(p.x / 30, p.y / 4.2, seed) + 0.4 * cloud(p.x / 9, p.y / 2.2, seed + 40), 0.05, 0.75),
            colour,
        )
    rng = np.random.default_rng(5)
    for _ in range(80):
        x, y, r = rng.uniform(6, 194), rng.uniform(8, 108), rng.choice([0.35, 0.45, 0.7])
        p.dab(arc(x, y, r, r, n=20), "#f4f2ff", 0.35 + 0.9 * r)


def _moon(p: Painting) -> None:
    x, y = MOON
    far = np.hypot(p.x - x, p.y - y)
    p.glow(
        0.55 * np.exp(-np.maximum(far - MOON_MM, 0) / 9) + 0.10 * np.exp(-np.maximum(far - MOON_MM, 0) / 22), "#d99a3a"
    )
    disc = np.clip((MOON_MM - far) * p.per_mm + 0.5, 0, 1)
    seas = ramp(cloud(p.x / 17, p.y / 17, 11) + 0.5 * cloud(p.x / 7, p.y / 7, 12), 0.05, 0.6)
    shade = np.clip((far / MOON_MM) ** 2.2, 0, 1)
    face = light("#fdf0c8") * (1 - 0.55 * shade[..., None]) + 0.55 * shade[..., None] * light("#eea83c")
    face = face * (1 - 0.5 * seas[..., None]) + 0.5 * seas[..., None] * light("#c08a4c")
    p.lay(disc, face)
    veil = ramp(cloud(p.x / 34, p.y / 3.6, 21) + 0.3 * cloud(p.x / 10, p.y / 1.8, 22), 0.25, 0.8)
    p.lay(0.7 * veil * np.exp(-(((p.y - 118) / 13) ** 2)), "#8a3a6a")


def _headland(p: Painting) -> None:
    far = spline([(-5, 153), (-5, 141), (16, 134), (32, 134.5), (46, 140), (64, 146), (82, 149), (104, 152.4)])
    right = spline([(206, 153), (206, 138), (190, 141), (176, 146), (160, 149), (146, 152.4)])
    p.lay(p.shape(right), "#3a1f52")
    tower = [(21.5, 135), (23.2, 104), (28.8, 104), (30.5, 135)]
    p.lay(p.shape(far), "#0c0d20")
    body = p.shape(tower)
    p.lay(body, "#241f3c")
    p.lay(body * ramp(p.x, 25.2, 30), "#7c4a6c")
    for y in (109.0, 118.0, 127.0):
        p.lay(body * ((p.y > y) & (p.y < y + 4.5)), "#8a2f3a")
    p.lay(
        p.shape([(21, 104.6), (31, 104.6), (31, 103.2), (21, 103.2)], arc(26, 97.6, 3.4, 3.8, (180, 360), n=30)),
        "#0c0d20",
    )
    reach = np.abs(p.x - 26)
    beam = np.exp(-(((p.y - 100.3 + 0.06 * reach) / (1.2 + 0.10 * reach)) ** 2)) * np.exp(-reach / 30)
    p.glow(0.75 * beam, "#f7cf75")
    p.glow(1.3 * p.near(26, 100.3, 2.0) ** 2, "#ffe9b0")
    p.dab([(24, 103), (28, 103), (28, 98), (24, 98)], "#fff6d8")
    for x, y in ((12, 140), (15.5, 141), (37, 140.5), (42, 143), (52, 146.5), (57, 147), (180, 148.2), (187, 146.5)):
        p.glow(np.clip(1.6 - np.hypot(p.x - x, p.y - y) / 0.8, 0, 1) + 0.25 * p.near(x, y, 1.6) ** 2, "#ffb347")


def _water(p: Painting) -> None:
    depth = np.maximum(p.y - HORIZON, 0) + 0.001
    below = ramp(p.y, HORIZON - 0.1, HORIZON + 0.1)
    stops, table = (0, 8, 25, 48, 82), [light(c) for c in ("#c8663c", "#6a3468", "#1d4a86", "#0e3c58", "#04101c")]
    wave = cloud(p.x / (2.2 + 0.16 * depth), 30 * np.log1p(depth / 9), 31)
    fine = cloud(p.x / (1.0 + 0.09 * depth), 55 * np.log1p(depth / 9), 32)
    chop = wave + 0.6 * fine
    table_rows = np.stack(table)
    level = np.clip(depth + 5 * chop, 0, 82)
    p.lay(below, np.stack([np.interp(level, stops, table_rows[:, k]) for k in range(3)], axis=-1))
    p.lay(below * 0.55 * ramp(chop, 0.35, 1.0) * ramp(depth, 2, 14), "#2e9fa8")
    for x, spread, colour, far, might in (
        (MOON[0], 15.0, "#ffd684", 80.0, 1.0),
        (LANTERN[0], 4.5, "#ff8a2a", 60.0, 1.1),
        (26.0, 2.2, "#ffd684", 34.0, 0.8),
        (186.0, 2.5, "#ffa040", 15.0, 0.5),
    ):
        across = np.exp(-((np.abs(p.x - x + 1.5 * wave) / (spread * (0.55 + depth / 55))) ** 2))
        glint = ramp(chop + 1.1 * across, 0.75, 1.25) * across * np.exp(-((depth / far) ** 2))
        p.lay(below * np.clip(might * glint, 0, 1), colour)
        p.lay(below * np.clip(might * ramp(glint, 0.75, 1.0), 0, 1), "#fff1c4")


def _ripples(p: Painting) -> None:
    for x, y in ((127.5, 206.0), (137.5, 209.0)):
        for k, wide in enumerate((6, 11, 17, 24)):
            ring = p.shape(strokes=((arc(x, y, wide, wide * 0.2, n=200), 0.9 - 0.12 * k),))
            p.lay(
                ring * (0.9 - 0.17 * k) * (0.65 + 0.35 * np.cos((p.x - x + 8) / 9)), "#8fd4d2" if k % 2 else "#ffcf7a"
            )


HERON: Line = [
    (86, 75.2),
    (93, 71.2),
    (100, 69.6),
    (107, 71.4),
    (111.5, 77),
    (111, 85),
    (107.5, 92),
    (106.5, 99),
    (110, 107),
    (117.5, 113.5),
    (127, 118),
    (138, 124),
    (150, 133),
    (160, 143.5),
    (168, 155),
    (175.5, 168),
    (169, 166),
    (163, 163.5),
    (165, 171),
    (157, 166),
    (148, 164.5),
    (138, 163),
    (127, 158.5),
    (117, 150),
    (109.5, 139.5),
    (104, 128),
    (99, 117),
    (96.5, 106),
    (97.5, 96),
    (100.5, 89.5),
    (101, 85.6),
    (97, 83.6),
    (91, 82.6),
    (84, 82.2),
]


def _heron(p: Painting) -> None:
    outline = np.vstack([[(70, 80.2)], spline(HERON, steps=10)])
    legs = (
        (spline([(130, 156), (128.5, 176), (129.5, 180), (127.5, 206)]), 1.7),
        (spline([(139, 160), (140.5, 181), (139.5, 186), (137.5, 209)]), 1.7),
    )
    feet = tuple(
        (np.array(q, float), 1.2)
        for q in ([(121.5, 207.4), (127.5, 205.4), (132, 207.2)], [(131, 210.4), (137.5, 208.4), (142, 210.2)])
    )
    limbs = p.shape(strokes=(*legs, *feet))
    p.lay(limbs, "#141a2c")
    body = p.shape(outline)
    rim = np.clip(body - p.soft(np.roll(body, (round(1.0 * p.per_mm), -round(0.9 * p.per_mm)), (0, 1)), 0.5), 0, 1)
    warm = np.clip(body - p.soft(np.roll(body, (-round(0.4 * p.per_mm), round(1.6 * p.per_mm)), (0, 1)), 0.8), 0, 1)
    depth = np.clip(p.soft(body, 3.0) * 1.7 - 0.75, 0, 1)
    tone = np.interp(p.y, (70, 100, 125, 170), (0.62, 0.5, 0.4, 0.22))
    coat = (light("#27406e") * 0.5 + light("#7f93ad") * tone[..., None] ** 1.6) * (0.4 + 0.6 * depth[..., None])
    p.lay(body, coat)
    _plumage(p, body)
    p.lay(body * np.clip(rim * 1.25, 0, 1), "#e9f0f2")
    p.lay(body * np.clip(warm * 1.5 * p.near(*LANTERN, 62), 0, 1), "#ff9a45")
    p.lay(
        limbs * ramp(p.soft(limbs, 0.3) - p.soft(np.roll(limbs, round(0.7 * p.per_mm), 1), 0.3), 0.05, 0.4), "#f2a254"
    )


def _plumage(p: Painting, body: Field) -> None:
    axis, across = np.array((0.79, 0.61)), np.array((-0.61, 0.79))
    root = np.array((113.0, 116.0))
    for row in range(7):
        for k in range(11, -1, -1):
            t = (k + 0.5 * (row % 2)) / 11
            start = root + axis * (4 + 58 * t) + across * (1.2 + 4.4 * row * (1 - 0.52 * t))
            long = 8.5 + 7.0 * t
            line = spline([start, start + axis * long * 0.5 + across * 0.5, start + axis * long + across * 0.2])
            dark, mid, edge = (("#20345f", "#3d5a8a", "#a9bdd2"), ("#182a50", "#2f497a", "#7f9ac0"))[row % 2]
            fade = (1 - 0.09 * row) * (0.35 + 0.65 * t if row > 4 else 1.0)
            p.dab(taper(line, [1.0, 4.4, 5.0, 3.6, 0.4]), dark, 0.9 * fade, body)
            p.dab(taper(line - across * 0.5, [0.6, 2.8, 3.0, 2.0, 0.2]), mid, 0.9 * fade, body)
            p.dab(taper(line - across * 1.5, [0.2, 0.5, 0.9, 0.9, 0.2]), edge, 0.85 * fade, body)
    for k in range(9):
        start = (99.5 + 0.9 * k, 112 + 3.6 * k)
        line = spline([start, (start[0] - 1.4, start[1] + 8), (start[0] + 1.2, start[1] + 17 + k % 3)])
        p.dab(taper(line, [1.4, 1.9, 0.2]), "#c3ccd6", 0.85 if k < 6 else 0.6)
    stripe = spline([(97, 73.5), (104, 73), (110, 78), (118, 84), (127, 87)])
    p.dab(taper(stripe, [1.2, 4.2, 3.6, 1.8, 0.2]), "#0d1226")
    p.dab(taper(spline([(106, 75), (113, 82), (121, 90)]), [2.0, 2.2, 0.2]), "#1b2a55")
    throat = spline([(100, 83), (103.6, 91), (102, 102), (104, 114), (112, 128)])
    p.dab(taper(throat, [2.0, 4.2, 4.6, 5, 0.8]), "#dfe3e2", 0.75, body)
    for k, t in enumerate(np.linspace(0.2, 0.85, 9)):
        x, y = throat[int(t * (len(throat) - 1))]
        p.dab(taper([(x - 1.2, y - 1.5), (x + (k % 2) * 1.4 - 0.4, y + 1.6)], [1.2, 0.2]), "#1b2a55", 1.0, body)
    p.dab([(70, 80.2), (86, 75.4), (94.5, 74), (97, 80), (93, 82.4), (84, 82)], "#f0a030")
    p.dab(taper([(71, 80.4), (86, 79.2), (95, 79)], [0.2, 0.9, 0.7]), "#7a3414")
    p.dab(arc(98.6, 76.0, 1.7, 1.7, n=30), "#ffd95c")
    p.dab(arc(98.5, 76.0, 0.9, 0.9, n=24), "#05060c")


def _lantern(p: Painting) -> None:
    x, y = LANTERN
    hook = (73.5, 80.0)
    p.glow(0.9 * p.near(x, y, 9) ** 1.5 + 0.16 * p.near(x, y, 34) ** 2, "#ff8c2e")
    p.lay(p.shape(strokes=((spline([hook, (68, 84), (x + 2, 88), (x, y - 13)]), 0.8),)), "#0b0a10")
    paper = arc(x, y, 10, 11.5, n=90)
    body = p.shape(paper)
    inside = np.clip(1 - np.hypot((p.x - x) / 10.5, (p.y - y) / 12), 0, 1)
    table = np.stack([light(c) for c in ("#a31f1c", "#e8461f", "#ff9a2e", "#ffe08a", "#fffbe6")])
    p.lay(body, np.stack([np.interp(inside, (0, 0.2, 0.45, 0.75, 1), table[:, k]) for k in range(3)], axis=-1))
    ribs = tuple((arc(x, y, 10 * w, 11.5, n=60), 0.5) for w in (0.35, 0.72, 1.0))
    p.lay(p.shape(strokes=ribs) * 0.7, "#7c1a14")
    p.lay(
        p.shape(*([(x - 5, y + s), (x + 5, y + s), (x + 4, y + s + 2.4), (x - 4, y + s + 2.4)] for s in (-13, 10.4))),
        "#14090b",
    )
    for off in (-2, 0, 2):
        p.dab(taper([(x + off, y + 12.5), (x + off * 1.3, y + 21)], [0.8, 0.2]), "#e2622a")


def _moth(p: Painting, x: float, y: float, size: float, turn_deg: float) -> None:
    c, s = np.cos(np.radians(turn_deg)), np.sin(np.radians(turn_deg))

    def place(line: Line) -> Points:
        q = np.asarray(line, float) * size
        return np.asarray(np.stack([x + q[:, 0] * c - q[:, 1] * s, y + q[:, 0] * s + q[:, 1] * c], axis=1))

    for side in (-1, 1):
        fore = spline(
            [(0, -0.3), (side * 0.9, -1.2), (side * 2.0, -1.3), (side * 1.7, -0.3), (side * 0.6, 0.3), (0, 0.2)]
        )
        hind = spline([(0, 0.1), (side * 0.8, 0.1), (side * 1.3, 0.6), (side * 0.8, 1.2), (side * 0.2, 0.7), (0, 0.4)])
        p.dab(place(hind), "#c98d4a")
        p.dab(place(fore), "#f3dfae")
        p.dab(place(arc(side * 1.3, -0.75, 0.25, 0.25, n=20)), "#9a4a24")
    p.dab(place(taper([(0, -0.6), (0, 0.2), (0, 1.1)], [0.2, 0.5, 0.1])), "#6b3a20")


def _reeds(p: Painting) -> None:
    rng = np.random.default_rng(23)
    for side in (0, 1):
        for k in range(26):
            x = (rng.uniform(-2, 40) if side == 0 else rng.uniform(152, 202)) + (0 if k % 4 else rng.uniform(-4, 4))
            tall, lean = (
                rng.uniform(36, 88) * (0.8 if side == 0 else 1.0),
                rng.uniform(-12, 12) + (7 if side == 0 else -7),
            )
            foot = 236.0
            line = spline([(x, foot), (x + lean * 0.2, foot - tall * 0.5), (x + lean, foot - tall)])
            p.dab(taper(line, [2.6, 2.0, 0.3]), ("#06141a", "#0a2228", "#0d3038")[k % 3])
            offset = np.array((-0.5 if side else 0.5, 0.0))
            rim = "#2aa39b" if k % 2 else ("#e08a3c", "#8fb7c9")[side]
            p.dab(taper(line + offset, [0.2, 0.9, 0.2]), rim, 0.85)
            if k % 5 == 0:
                x0, y0 = line[-1]
                p.dab(_pod(x0, y0, 1.8), "#2a120c")
                p.dab(_pod(x0 + 1.6 * offset[0], y0 - 0.6, 0.5), "#d9772c")


def _pod(x: float, y: float, r: float) -> Points:
    return np.vstack([arc(x, y, r, r, (0, 180), n=16), arc(x, y - 11 + 0.8 * r, r, r, (180, 360), n=16)])


def paint(pixels_per_mm: float = PIXELS_PER_MM) -> Field:
    """The picture as linear light (rows, columns, 3), 0 to 1, faded out to the shirt at its edges."""
    p = Painting(pixels_per_mm)
    for part in (_sky, _moon, _headland, _water, _ripples, _lantern, _heron):
        part(p)
    for moth in (
        (40, 86, 3.4, 25),
        (76, 118, 2.6, -40),
        (33, 119, 2.2, 70),
        (62, 72, 2.4, -15),
        (84, 98, 1.8, 35),
        (150, 58, 3.0, 30),
    ):
        _moth(p, *moth)
    _reeds(p)
    ragged = 7 * cloud(p.x / 16, p.y / 7, 51) + 3 * cloud(p.x / 5, p.y / 2.4, 52)
    edge = np.minimum(np.minimum(p.x, 200 - p.x), np.minimum(p.y * 0.8, (ART_MM[1] - p.y) * 0.8)) + 0.55 * ragged
    corner = 1.0 - np.clip((np.hypot((p.x - 100) / 122, (p.y - 114) / 140) - 0.86) / 0.22, 0, 1)
    return np.clip(p.rgb * (ramp(edge, 4.0, 15.0) * corner)[..., None], 0, 1)


def tones(pixels_per_mm: float = PIXELS_PER_MM) -> Field:
    """Tone of every ink (inks, rows, columns) in 0..1 over the art; the base keeps clear of the inks' own edges."""
    inks = np.stack([light(colour) for _, _, colour in INKS])
    made = separate(paint(pixels_per_mm), inks, light(GARMENT), THRIFT)
    covered = drawn_in(np.minimum(made[1:].sum(axis=0), 1.0), max(1, round(CHOKE_MM * pixels_per_mm)))
    made[0] = np.minimum(made[0], covered)
    made[made < FAINTEST] = 0.0
    made[made > FULL_DOT] = 1.01
    return made


def plates() -> list[npt.NDArray[np.uint8]]:
    """The nine plates in the order of ``INKS``: uint8 (rows, columns), 0 or 255, 255 is ink."""
    per_mm = DPI / MM_PER_INCH
    rows, columns = round(HEIGHT_MM * per_mm), round(WIDTH_MM * per_mm)
    left, top = (round(side * per_mm) for side in MARGIN_MM)
    tall, wide = (round(side * per_mm) for side in ART_MM[::-1])
    made = []
    for k, tone in enumerate(tones()):
        fine = np.asarray(Image.fromarray(tone.astype(np.float32)).resize((wide, tall), Image.Resampling.BILINEAR))
        dots = halftone(
            fine,
            dpi=DPI,
            lines_per_inch=LINES_PER_INCH,
            angle_deg=ANGLE_DEG,
            phase=(0.382 * k, 0.618 * k),
            least=LEAST_WHITE_DOT if k in {0, len(INKS) - 1} else LEAST_DOT,
        )
        plate = np.zeros((rows, columns), np.uint8)
        plate[top : top + tall, left : left + wide] = dots * np.uint8(255)
        stamp_marks(plate, per_mm, two_level=True)
        made.append(plate)
    return made
