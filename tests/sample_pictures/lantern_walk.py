"""The spot job: base, three colours and a key for the lantern walk of a harbour village that does not exist."""

from __future__ import annotations

from itertools import pairwise

import numpy as np
import numpy.typing as npt
from sample_pictures.shapes import (
    MM_PER_INCH,
    Line,
    Sheet,
    arc,
    box,
    lettering,
    on_arc,
    spline,
    stamp_marks,
    taper,
)

FOLDER, DPI, GARMENT = "lantern-walk", 300, "#26282d"
WIDTH_MM, HEIGHT_MM, MARGIN_MM = 305.0, 346.0, 13.0
CHOKE_MM, TRAP_MM, LEAST_MM = 0.35, 0.25, 0.28
STRAW, BRICK, BLUE, SOOT = 1, 2, 3, 255
INKS = (
    ("white base", "base", "#f4f3ee"),
    ("straw yellow", "colour", "#f2c75c"),
    ("brick red", "colour", "#bf4a34"),
    ("harbour blue", "colour", "#2d6284"),
    ("soot black", "key", "#15161a"),
)
MIDDLE, RADIUS_MM, WATER_MM = (140.0, 176.0), 118.0, 188.0
Grey = npt.NDArray[np.uint8]


class Art:
    """Two sheets: the colours, one over the other, and the key that overprints them; origin at the art's corner."""

    def __init__(self) -> None:
        per_mm = DPI / MM_PER_INCH
        self.colours = Sheet(WIDTH_MM, HEIGHT_MM, per_mm)
        self.key = Sheet(WIDTH_MM, HEIGHT_MM, per_mm)

    def fill(self, line: Line, ink: int, *, outline_mm: float = 0.0) -> None:
        """Fills with a colour and clears the key there, or fills the key; an outline is drawn in the key."""
        points = np.asarray(line, float) + MARGIN_MM
        if ink == SOOT:
            self.key.fill(points)
        else:
            self.colours.fill(points, ink)
            self.key.fill(points, 0)
        if outline_mm:
            self.key.stroke(np.vstack([points, points[:1]]), outline_mm)

    def stroke(self, line: Line, width_mm: float, ink: int) -> None:
        """A line in a colour, cleared of the key, or in the key."""
        points = np.asarray(line, float) + MARGIN_MM
        if ink == SOOT:
            self.key.stroke(points, width_mm)
        else:
            self.colours.stroke(points, width_mm, ink)
            self.key.stroke(points, width_mm, 0)


def _sky(art: Art) -> None:
    art.fill(arc(*MIDDLE, RADIUS_MM, RADIUS_MM, n=400), BLUE)
    x, y = 100.0, 106.0
    art.fill(arc(x, y, 25, 25, n=160), STRAW)
    for reach, count, wide in ((30.5, 44, 0.5), (36.5, 52, 0.36)):
        for turn in np.arange(count) * 360 / count:
            art.stroke(arc(x, y, reach, reach, (turn, turn + 360 / count * wide), n=8), 1.0, STRAW)
    for cx, cy, half in ((82, 115, 26), (114, 122, 25), (124, 97, 18), (126, 117.4, 9)):
        art.fill(
            np.vstack([arc(cx - half, cy, 2.0, 2.0, (90, 270), n=20), arc(cx + half, cy, 2.0, 2.0, (-90, 90), n=20)]),
            BLUE,
        )
    for cx, cy, r in ((90, 95, 4.2), (106, 106.5, 3.0), (101, 89, 2.0), (84, 105, 2.2)):
        art.stroke(arc(cx, cy, r, r * 0.9, (20, 250), n=40), 0.7, SOOT)
    stars = ((41, 120), (54, 98), (82, 158), (36, 150), (74, 152), (112, 66), (140, 148), (76, 178), (150, 128),
             (98, 160), (118, 164), (172, 74), (200, 72), (30, 176), (214, 116), (104, 178), (58, 84))  # fmt: skip
    for k, (cx, cy) in enumerate(stars):
        r = 2.6 if k % 3 == 0 else 1.7
        points = [(r * (1 if j % 2 == 0 else 0.3)) for j in range(8)]
        angle = np.radians(np.arange(8) * 45)
        art.fill(
            np.stack([cx + np.array(points) * np.cos(angle), cy + np.array(points) * np.sin(angle)], axis=1), STRAW
        )


def _window(art: Art, x: float, y: float, w: float, h: float, *, lit: bool) -> None:
    art.fill(box(x, y, x + w, y + h), STRAW if lit else SOOT)
    if lit:
        art.stroke([(x + w / 2, y), (x + w / 2, y + h)], 0.55, SOOT)
        art.stroke([(x, y + h * 0.45), (x + w, y + h * 0.45)], 0.55, SOOT)
        art.stroke([*box(x, y, x + w, y + h), (x, y)], 0.6, SOOT)


def _house(art: Art, place: tuple[float, float, float, float], wall: int, roof: int) -> None:
    """A gabled house; place is its lower left corner x, y, its width and the height of its walls."""
    x, y, w, h = place
    gable, eave = w * 0.52, 1.5
    chimney = box(x + w * 0.7, y - h - gable * 0.95, x + w * 0.7 + 3, y - h)
    art.fill(chimney, BRICK if wall != BRICK else STRAW, outline_mm=0.7)
    art.fill([(x, y), (x, y - h), (x + w / 2, y - h - gable), (x + w, y - h), (x + w, y)], wall, outline_mm=0.8)
    over = [(x - eave, y - h + eave * 1.05), (x + w / 2, y - h - gable), (x + w + eave, y - h + eave * 1.05)]
    art.stroke(over, 3.2, SOOT)
    if roof != SOOT:
        art.stroke(over, 1.9, roof)
    lit = wall != STRAW
    art.fill(arc(x + w / 2, y - h - gable * 0.34, 1.5, 1.5, n=30), STRAW if lit else SOOT, outline_mm=0.6)
    count = 2 if w > 14 else 1
    size = 3.4
    for row in range(int(h // 9)):
        for k in range(count):
            wx = x + w * (k + 0.5) / count - size / 2
            if row == 0 and k == count - 1:
                door = arc(wx + size / 2, y - 5.2, 1.9, 1.9, (180, 360), n=20)
                art.fill(np.vstack([door, [(wx + 3.6, y), (wx - 0.2, y)]]), SOOT)
                continue
            _window(art, wx, y - 7.4 - row * 8.6, size, 4.6, lit=lit)


def _village(art: Art) -> None:
    hill = spline([(112, WATER_MM), (130, 172), (160, 152), (196, 134), (228, 122), (262, 116), (268, WATER_MM)])
    rim = [p for p in hill if np.hypot(p[0] - MIDDLE[0], p[1] - MIDDLE[1]) < RADIUS_MM]
    turn = np.degrees(np.arctan2(rim[-1][1] - MIDDLE[1], rim[-1][0] - MIDDLE[0]))
    low = np.degrees(np.arcsin((WATER_MM - MIDDLE[1]) / RADIUS_MM))
    art.fill(np.vstack([rim, arc(*MIDDLE, RADIUS_MM, RADIUS_MM, (turn, low), n=60)]), SOOT)
    rows = (
        ((196, 146, 14, 10, BRICK), (213, 141, 15, 11, STRAW), (230, 138, 13, 10, BRICK)),
        ((160, 168, 15, 11, STRAW), (178, 165, 16, 12, BRICK), (197, 164, 15, 11, BLUE), (215, 162, 17, 12, BRICK),
         (235, 160, 13, 11, STRAW)),
        ((130, 188, 15, 10, BRICK), (148, 188, 17, 19, BLUE), (168, 188, 16, 12, STRAW), (187, 188, 17, 19, BRICK),
         (207, 188, 16, 12, STRAW), (226, 188, 18, 19, BLUE)),
    )  # fmt: skip
    for row in rows:
        for x, y, w, h, wall in row:
            _house(art, (x, y, w, h), wall, BRICK if wall == STRAW else (STRAW if wall == BLUE else SOOT))


def _lighthouse(art: Art) -> None:
    x, foot, head = 52.0, 216.0, 148.0
    for side in (-1, 1):
        for tilt, far in ((-0.16, 25.0), (0.02, 31.0), (0.20, 25.0)):
            start, tip = (x + side * 10, head - 6 + tilt * 10), (x + side * (10 + far), head - 6 + tilt * (10 + far))
            art.fill(taper([start, tip], [1.0, 3.0]), STRAW)

    def at(level: float) -> float:
        return 5.2 + 4.2 * level

    levels = np.linspace(0, 1, 6)
    for k, (a, b) in enumerate(pairwise(levels)):
        ya, yb = head + (foot - head) * a, head + (foot - head) * b
        art.fill([(x - at(a), ya), (x + at(a), ya), (x + at(b), yb), (x - at(b), yb)], BRICK if k % 2 == 0 else STRAW)
    outline = [(x - at(0), head), (x - at(1), foot), (x + at(1), foot), (x + at(0), head), (x - at(0), head)]
    for t in np.linspace(0.04, 0.98, 30):
        art.stroke([(x + at(t) * 0.45, head + (foot - head) * t), (x + at(t), head + (foot - head) * t)], 0.55, SOOT)
    art.stroke(outline, 0.9, SOOT)
    art.fill(box(x - 5, head - 11.5, x + 5, head - 1), STRAW, outline_mm=0.9)
    for off in (-1.9, 1.9):
        art.stroke([(x + off, head - 11), (x + off, head - 1)], 0.6, SOOT)
    art.fill(box(x - 8.5, head - 2, x + 8.5, head + 0.6), SOOT)
    art.fill(np.vstack([arc(x, head - 11.5, 6.2, 6.8, (180, 360), n=40)]), BRICK, outline_mm=0.9)
    art.stroke([(x, head - 18), (x, head - 22)], 0.9, SOOT)


def _boat(art: Art, x: float, y: float, s: float, sail: int) -> None:
    art.fill(
        [(x - 9 * s, y - 2.6 * s), (x + 10 * s, y - 3.4 * s), (x + 7 * s, y + 1.4 * s), (x - 6.5 * s, y + 1.4 * s)],
        SOOT,
    )
    art.stroke([(x - 8.6 * s, y - 1.7 * s), (x + 9 * s, y - 2.4 * s)], 0.8, STRAW)
    art.stroke([(x, y - 3 * s), (x, y - 24 * s)], 0.9, SOOT)
    curve = spline([(x + 0.9 * s, y - 23 * s), (x + 7.5 * s, y - 13 * s), (x + 9.5 * s, y - 5.4 * s)])
    art.fill(np.vstack([curve, [(x + 0.9 * s, y - 5.4 * s)]]), sail, outline_mm=0.8)
    curve = spline([(x - 0.9 * s, y - 20 * s), (x - 4 * s, y - 12 * s), (x - 7 * s, y - 5.6 * s)])
    art.fill(np.vstack([curve, [(x - 0.9 * s, y - 5.6 * s)]]), STRAW if sail == BRICK else BRICK, outline_mm=0.8)


def _lantern(art: Art, x: float, y: float, r: float, body: int) -> None:
    """A paper lantern with its middle at (x, y), drawn with ribs."""
    art.fill(arc(x, y, r, r * 1.12, n=90), body, outline_mm=min(0.9, 0.5 + r * 0.04))
    if r > 6:
        band = STRAW if body == BRICK else BRICK
        art.fill(
            np.vstack([arc(x, y, r, r * 1.12, (180 - 20, 180 + 5), n=12), arc(x, y, r, r * 1.12, (-5, 20), n=12)]), band
        )
        for width in (0.36, 0.74):
            art.stroke(arc(x, y, r * width, r * 1.12, n=80), 0.6, SOOT)
        art.stroke(arc(x, y, r, r * 1.12, n=90), 0.9, SOOT)
    cap = r * 0.46
    art.fill(box(x - cap, y - r * 1.3, x + cap, y - r * 1.0), SOOT)
    art.fill(box(x - cap, y + r * 1.0, x + cap, y + r * 1.26), SOOT)
    if r > 6:
        for off in (-0.22, 0.0, 0.22):
            art.stroke([(x + off * r, y + r * 1.26), (x + off * r * 1.2, y + r * 1.75)], 0.8, STRAW)


def _walkers(art: Art) -> None:
    deck = 216.0
    stone = np.vstack([spline([(14, deck), (140, deck - 1), (266, deck)]), spline([(266, 235), (140, 234), (14, 235)])])
    art.fill(stone, BRICK, outline_mm=1.0)
    for k, y in enumerate((222.0, 228.5)):
        art.stroke([(14, y), (266, y)], 0.7, SOOT)
        for x in np.arange(18 + 6 * k, 266, 12):
            art.stroke([(x, y - 6), (x, y)], 0.7, SOOT)
    for x in np.arange(24, 266, 12):
        art.stroke([(x, 228.5), (x, 235)], 0.7, SOOT)
    art.stroke([(14, deck), (266, deck)], 1.7, STRAW)
    people = ((82, 27, BRICK), (101, 29, STRAW), (117, 18, BRICK), (134, 28, SOOT), (153, 29, BRICK), (169, 17, STRAW),
              (186, 27, SOOT), (205, 28, BRICK), (222, 20, STRAW), (238, 27, BRICK))  # fmt: skip
    for k, (x, tall, coat) in enumerate(people):
        foot, neck, u = deck - 0.9, deck - tall * 0.78, tall / 21
        for step in (-1.5, 1.6):
            art.stroke([(x + step * 0.3 * u, foot - tall * 0.3), (x + step * u, foot - 0.7)], 1.7 * u, SOOT)
        body = spline([(x - 1.2 * u, neck), (x - 2.4 * u, neck + tall * 0.22), (x - 3.4 * u, foot - tall * 0.16)])
        back = spline([(x + 3.4 * u, foot - tall * 0.16), (x + 2.6 * u, neck + tall * 0.2), (x + 1.4 * u, neck)])
        art.fill(np.vstack([body, back]), coat, outline_mm=0.8)
        art.fill(arc(x, neck - 1.7 * u, 1.9 * u, 2.1 * u, n=40), STRAW if coat != STRAW else BRICK, outline_mm=0.7)
        art.fill(arc(x + 0.2 * u, neck - 2.5 * u, 2.2 * u, 1.8 * u, (170, 370), n=30), SOOT)
        hand = (x - 4.6 * u, neck + tall * 0.2)
        art.stroke([(x - 0.6 * u, neck + tall * 0.12), hand], 1.5 * u, SOOT)
        top = (x - 6.4 * u, neck - tall * 0.24)
        art.stroke([(hand[0] + 0.6 * u, hand[1] + 3 * u), hand, top], 0.8, SOOT)
        _lantern(art, top[0], top[1] + 3.6 * u, 2.7 * u, STRAW if k % 3 else BRICK)


def _water(art: Art) -> None:
    rng = np.random.default_rng(7)
    for k, x in enumerate((50, 74, 92, 111, 125, 144, 163, 177, 196, 215, 231)):
        y = 240.0
        half = 8.0 if k == 0 else 6.0
        while y < 280:
            reach = half * (1 - (y - 240) / 52) * rng.uniform(0.7, 1.15)
            middle = x + rng.uniform(-1.3, 1.3)
            ink = BRICK if (k % 3 == 1 and rng.uniform() < 0.6) else STRAW
            art.fill(taper([(middle - reach, y), (middle, y), (middle + reach, y)], [0.5, 2.0, 0.5]), ink)
            y += rng.uniform(3.9, 5.2)
    for _ in range(90):
        x, y, half = rng.uniform(24, 256), rng.uniform(238, 290), rng.uniform(3, 10)
        if np.hypot(abs(x - MIDDLE[0]) + half, y - MIDDLE[1]) < RADIUS_MM - 2:
            art.fill(taper(spline([(x - half, y), (x, y + 0.8), (x + half, y)]), [0.2, 0.9, 0.2]), SOOT)
    for x, y, size, sail in ((92, 187, 1.05, BRICK), (116, 190, 0.72, STRAW)):
        _boat(art, x, y, size, sail)
    for _ in range(34):
        x, y, half = rng.uniform(70, 240), rng.uniform(191, 196), rng.uniform(2, 6)
        art.fill(taper([(x - half, y), (x, y), (x + half, y)], [0.2, 0.8, 0.2]), SOOT)


def _garland(art: Art) -> None:
    string = spline([(120, 58), (146, 74), (178, 82), (210, 88), (240, 112)], steps=40)
    art.stroke(string, 0.9, STRAW)
    for at, r, body in ((38, 9.5, BRICK), (79, 11.5, STRAW), (119, 9.5, BRICK)):
        x, y = string[at]
        art.stroke([(x, y), (x, y + 3)], 0.9, STRAW)
        _lantern(art, float(x), float(y) + 3 + r * 1.3, r, body)


def _rim(art: Art) -> None:
    """Whatever lies outside the round picture is cut off, and a ring runs round it."""
    x, y = MIDDLE
    for sheet in (art.colours, art.key):
        sheet.keep(arc(x + MARGIN_MM, y + MARGIN_MM, RADIUS_MM, RADIUS_MM, n=720))
    art.stroke(arc(*MIDDLE, RADIUS_MM + 3.2, RADIUS_MM + 3.2, n=720), 2.6, STRAW)


def _title(art: Art) -> None:
    length, strokes = lettering("LANTERN WALK", 28.5, 0.285)
    bent = on_arc(strokes, length, MIDDLE, RADIUS_MM + 13.5)
    for stroke in bent:
        art.stroke(stroke + np.array((1.6, 1.8)), 8.4, SOOT)
    for stroke in bent:
        art.stroke(stroke, 7.4, STRAW)
    for stroke in bent:
        art.stroke(stroke, 1.5, BRICK)


def _ribbon(art: Art) -> None:
    def edge(y: float, left: float, right: float) -> npt.NDArray[np.float64]:
        x = np.linspace(left, right, 80)
        return np.stack([x, y + 15 * (1 - ((x - 140) / 118) ** 2)], axis=1)

    for side in (-1, 1):

        def to(x: float, y: float, side: int = side) -> tuple[float, float]:
            return (140 + side * x, y)

        art.fill([to(96, 283), to(139, 272), to(131, 284.5), to(139, 299), to(96, 308)], BRICK, outline_mm=1.0)
        art.fill([to(96, 308), to(112, 293), to(112, 276), to(96, 283)], SOOT)
    band = np.vstack([edge(270, 28, 252), edge(298, 28, 252)[::-1]])
    art.fill(band, STRAW, outline_mm=1.1)
    for inner in (272.6, 295.4):
        art.stroke(edge(inner, 31, 249), 0.8, BRICK)
    length, strokes = lettering("MERROWBY HARBOUR", 12.4, 0.32)
    for stroke in strokes:
        close = np.linspace(0, len(stroke) - 1, 10 * (len(stroke) - 1) + 1)
        x, y = (np.interp(close, np.arange(len(stroke)), stroke[:, k]) for k in (0, 1))
        x = x - length / 2 + 140
        art.stroke(np.stack([x, y + 290.2 + 15 * (1 - ((x - 140) / 118) ** 2)], axis=1), 2.3, SOOT)


def draw() -> Art:
    """The whole picture on its two sheets."""
    art = Art()
    for part in (_sky, _village, _lighthouse, _water, _walkers, _garland, _rim, _title, _ribbon):
        part(art)
    art.key.even_out(LEAST_MM)
    return art


def _grown(share: Grey, by_px: float) -> Grey:
    """A grey shape drawn out by ``by_px`` pixels, or in where it is negative, with soft edges."""
    from scipy.ndimage import distance_transform_edt

    inked = share >= 128
    away = distance_transform_edt(~inked) if by_px > 0 else -distance_transform_edt(inked)
    # The rim of the ink lies half a pixel from the nearest pixel's middle.
    return (np.clip(by_px + 1.0 - away if by_px > 0 else by_px - away, 0, 1) * 255).round().astype(np.uint8)


def key_plate(art: Art) -> Grey:
    """The key alone with its marks; 255 is ink."""
    plate = art.key.share()
    stamp_marks(plate, DPI / MM_PER_INCH)
    return plate


def plates() -> list[Grey]:
    """The five plates in the order of ``INKS``: uint8 (rows, columns), 255 is ink."""
    art, per_mm = draw(), DPI / MM_PER_INCH
    shares = [art.colours.share(ink) for ink in (STRAW, BRICK, BLUE)]
    union = np.minimum(sum(s.astype(np.uint16) for s in shares), 255).astype(np.uint8)
    base = _grown(union, -CHOKE_MM * per_mm)
    trapped = []
    for k, share in enumerate(shares):
        darker = np.minimum(sum((s.astype(np.uint16) for s in shares[k + 1 :]), np.zeros(share.shape, np.uint16)), 255)
        # Paper stays paper: the spread goes no further than the darker colours reach.
        trapped.append(np.maximum(share, np.minimum(_grown(share, TRAP_MM * per_mm), share + darker.astype(np.uint8))))
    for plate in (base, *trapped):
        stamp_marks(plate, per_mm)
    return [base, *trapped, key_plate(art)]
