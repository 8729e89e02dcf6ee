"""Small sets drawn on the fly: a clean one, and faults that are put into it, each known by its place and measure.

All lengths in mm, x right and y down from the plate's upper left corner. ``README.md`` beside lists the faults.
"""

from __future__ import annotations

import json
from collections.abc import Callable
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import numpy as np
import numpy.typing as npt
from PIL import Image

from tests.conftest import press
from tests.sample_pictures.dots import halftone
from tests.sample_pictures.shapes import Sheet, arc

MM_PER_INCH = 25.4
WIDTH_MM, HEIGHT_MM = 64.0, 80.0
BASE, RED, BLUE, BLACK = "white base", "warm red", "deep blue", "black key"
ROLES = {BASE: "base", BLACK: "key"}
COLOURS = {BASE: "#f4f4f0", RED: "#c8352f", BLUE: "#27409a", BLACK: "#141414"}
MARKS_MM = ((32.0, 6.0), (32.0, 74.0), (7.0, 74.0))
RED_BOX, BLUE_BOX, CHOKE_MM, TRAP_MM = (8.0, 16.0, 34.0, 64.0), (34.0, 16.0, 56.0, 64.0), 0.35, 0.25
Ink = npt.NDArray[np.uint8]


@dataclass
class Drawn:
    """Plates by name, 255 is ink, at ``dpi``; ``own_dpi`` are resolutions that single files tell instead."""

    dpi: float = 600.0
    cloth: str = "#101014"
    plates: dict[str, Ink] = field(default_factory=dict)
    own_dpi: dict[str, float] = field(default_factory=dict)
    press: str | dict[str, Any] = "Big wheel"

    @property
    def per_mm(self) -> float:
        return self.dpi / MM_PER_INCH

    def plate(self, name: str) -> Ink:
        """The plate, made without ink where there is none of that name."""
        shape = round(HEIGHT_MM * self.per_mm), round(WIDTH_MM * self.per_mm)
        return self.plates.setdefault(name, np.zeros(shape, np.uint8))

    def box(self, name: str, left: float, top: float, right: float, bottom: float, *, ink: bool = True) -> None:
        """Fills a box of a plate, or empties it, its edges on whole pixels."""
        x0, y0, x1, y1 = (round(edge * self.per_mm) for edge in (left, top, right, bottom))
        self.plate(name)[y0:y1, x0:x1] = 255 if ink else 0

    def frame(self, name: str, left: float, top: float, right: float, bottom: float, *, wide: float) -> None:
        """A frame of lines ``wide`` mm inside of a box."""
        self.box(name, left, top, right, bottom)
        self.box(name, left + wide, top + wide, right - wide, bottom - wide, ink=False)

    def mark(self, *names: str) -> None:
        """The same marks on those plates."""
        side = round(10 * self.per_mm)
        for name in names:
            for x, y in MARKS_MM:
                sheet = Sheet(side / self.per_mm, side / self.per_mm, self.per_mm)
                middle = (side // 2) / self.per_mm
                sheet.stroke(arc(middle, middle, 2.6, 2.6, n=120), 0.4)
                sheet.stroke([(middle - 4.5, middle), (middle + 4.5, middle)], 0.4)
                sheet.stroke([(middle, middle - 4.5), (middle, middle + 4.5)], 0.4)
                left, top = round(x * self.per_mm) - side // 2, round(y * self.per_mm) - side // 2
                window = self.plate(name)[top : top + side, left : left + side]
                window[sheet.share() >= 128] = 255

    def move(self, name: str, right: float, down: float) -> None:
        """Shifts a plate by whole pixels."""
        columns, rows = round(right * self.per_mm), round(down * self.per_mm)
        self.plates[name] = np.roll(self.plates[name], (rows, columns), axis=(0, 1))

    def save(self, folder: Path) -> Path:
        """The folder with a file a plate and the job of a shirt."""
        folder.mkdir(parents=True, exist_ok=True)
        listed = []
        for number, (name, ink) in enumerate(self.plates.items(), 1):
            file = f"{number:02d}-{name}.png"
            dpi = self.own_dpi.get(name, self.dpi)
            Image.fromarray(255 - ink).convert("1", dither=Image.Dither.NONE).save(folder / file, dpi=(dpi, dpi))
            entry = {"file": file, "ink": name, "role": ROLES.get(name, "colour")}
            listed.append(entry | ({"colour": COLOURS[name]} if name in COLOURS else {}))
        job = {
            "format": "setupassist-job/1", "title": "faulty", "press": self.press, "ink_system": "plastisol",
            "pieces": 50, "plates": listed,
            "garment": {"name": "tee", "colour": self.cloth, "fibre": "cotton", "fabric": "jersey"},
        }  # fmt: skip
        (folder / "job.json").write_text(json.dumps(job), encoding="utf-8")
        return folder


def clean(*, dpi: float = 600.0, choke: float = CHOKE_MM) -> Drawn:
    """A base under red and blue that meet by a trap, a black key over both, marks on all: nothing is wrong with it."""
    drawn = Drawn(dpi)
    drawn.box(BASE, RED_BOX[0] + choke, RED_BOX[1] + choke, BLUE_BOX[2] - choke, BLUE_BOX[3] - choke)
    drawn.box(RED, *RED_BOX[:2], RED_BOX[2] + TRAP_MM, RED_BOX[3])
    drawn.box(BLUE, *BLUE_BOX)
    drawn.frame(BLACK, 11, 19, 53, 61, wide=1.2)
    drawn.box(BLACK, 18, 44, 28, 54)
    drawn.mark(BASE, RED, BLUE, BLACK)
    return drawn


def in_dots(
    *, dpi: float = 600.0, lines: float = 45.0, angle: float = 22.5, tones: tuple[float, ...] = (0.5,)
) -> Drawn:
    """A blue in round dots, its tones side by side in strips, and a black key, on a white shirt: no base."""
    drawn = Drawn(dpi, cloth="#fafafa")
    left, top, right, bottom = (round(edge * drawn.per_mm) for edge in (8, 16, 56, 64))
    share = np.zeros(drawn.plate(BLUE).shape)
    for tone, columns in zip(tones, np.array_split(np.arange(left, right), len(tones)), strict=True):
        share[top:bottom, columns[0] : columns[-1] + 1] = tone
    dots = halftone(share, dpi=dpi, lines_per_inch=lines, angle_deg=angle, phase=(0.1, 0.7), least=0.0)
    drawn.plates[BLUE] = (dots & (share > 0)).astype(np.uint8) * np.uint8(255)
    drawn.frame(BLACK, 11, 19, 53, 61, wide=1.2)
    drawn.mark(BLUE, BLACK)
    return drawn


@dataclass(frozen=True)
class Fault:
    """One fault: how it is put into a set, and what must be found.

    ``place_mm`` is a point that one of the finding's places must lie within ``reach_mm`` of, None where the finding
    is of whole plates. ``measured`` are bounds of the figure that the finding tells. ``beside`` are codes that the
    same fault brings with it.
    """

    code: str
    plates: tuple[str, ...]
    put: Callable[[], Drawn]
    place_mm: tuple[float, float] | None = None
    reach_mm: float = 1.0
    measured: tuple[float, float] | None = None
    beside: tuple[str, ...] = ()


def peek(drawn: Drawn) -> Drawn:
    drawn.box(BASE, 7.4, 38.0, 9.0, 41.0)
    return drawn


def thin_line(drawn: Drawn) -> Drawn:
    drawn.box(BLACK, 14.0, 30.0, 34.0, 30.1)
    return drawn


def fine_gap(drawn: Drawn) -> Drawn:
    drawn.box(BLACK, 22.95, 44.0, 23.05, 54.0, ink=False)
    return drawn


def dust(drawn: Drawn) -> Drawn:
    for x, y in ((40.0, 30.0), (42.0, 31.0), (44.0, 29.0)):
        drawn.box(BLACK, x, y, x + 0.085, y + 0.085)
    return drawn


def hairline(drawn: Drawn) -> Drawn:
    """Red and blue stand 0.15 mm apart, the base drawn in on both sides of it."""
    drawn.box(RED, 33.9, 16.0, 36.0, 64.0, ink=False)
    drawn.box(BLUE, 33.0, 16.0, 34.05, 64.0, ink=False)
    drawn.box(BASE, 33.9 - CHOKE_MM, 16.0, 34.05 + CHOKE_MM, 64.0, ink=False)
    return drawn


def bare_part(drawn: Drawn) -> Drawn:
    drawn.box(BASE, 36.0, 22.0, 46.0, 30.0, ink=False)
    return drawn


def off_register(drawn: Drawn) -> Drawn:
    drawn.move(BLACK, 0.4, 0.0)
    return drawn


def unmarked(drawn: Drawn) -> Drawn:
    for x, y in MARKS_MM:
        drawn.box(BLUE, x - 5.0, y - 5.0, x + 5.0, y + 5.0, ink=False)
    return drawn


def without_ink(drawn: Drawn) -> Drawn:
    drawn.mark("gold")
    return drawn


def twice(drawn: Drawn) -> Drawn:
    drawn.plates["fire red"] = drawn.plates[RED].copy()
    return drawn


def negative(drawn: Drawn) -> Drawn:
    drawn.plates[BLUE] = 255 - drawn.plates[BLUE]
    return drawn


def turned(drawn: Drawn) -> Drawn:
    drawn.plates[BLACK] = np.ascontiguousarray(drawn.plates[BLACK][::-1, ::-1])
    return drawn


def cropped(drawn: Drawn) -> Drawn:
    drawn.plates[BLACK] = drawn.plates[BLACK][:-9, :-4]
    return drawn


def other_resolution(drawn: Drawn) -> Drawn:
    drawn.own_dpi[BLACK] = 300.0
    return drawn


def on_press(drawn: Drawn, **change: Any) -> Drawn:
    drawn.press = press() | change
    return drawn


FAULTS = {
    "base peeks out": Fault("base-peeks-out", (BASE,), lambda: peek(clean()), (7.7, 39.5), measured=(0.5, 0.7)),
    "line too fine": Fault(
        "line-too-fine", (BLACK,), lambda: thin_line(clean()), (24.0, 30.05), reach_mm=11.0, measured=(0.06, 0.11)
    ),
    "gap too fine": Fault(
        "gap-too-fine", (BLACK,), lambda: fine_gap(clean()), (23.0, 49.0), reach_mm=6.0, measured=(0.06, 0.13)
    ),
    "specks": Fault("specks", (BLACK,), lambda: dust(clean()), (42.0, 31.0), measured=(3, 3)),
    "hairline": Fault("colours-gap", (RED, BLUE), lambda: hairline(clean()), (34.0, 40.0), 25.0, (0.1, 0.2)),
    "base missing": Fault("base-missing-under", (BLUE, BASE), lambda: bare_part(clean()), (41.0, 26.0), 6.0),
    "off register": Fault("off-register", (BLACK,), lambda: off_register(clean()), (32.4, 6.0), measured=(0.35, 0.45)),
    "no marks on one": Fault("marks-missing", (BLUE,), lambda: unmarked(clean())),
    "no ink": Fault("no-ink", ("gold",), lambda: without_ink(clean())),
    "plate twice": Fault("same-plate-twice", (RED, "fire red"), lambda: twice(clean())),
    "negative": Fault(
        "looks-reversed",
        (BLUE,),
        lambda: negative(clean()),
        beside=("base-peeks-out", "base-missing-under", "marks-missing"),
    ),
    "turned": Fault("looks-turned", (BLACK,), lambda: turned(clean())),
    "not choked": Fault("base-not-choked", (BASE,), lambda: clean(choke=0.0), measured=(0.0, 0.05)),
    "low resolution": Fault("resolution-low", (BASE,), lambda: clean(dpi=150.0)),
    "other size": Fault("sizes-differ", (BLACK,), lambda: cropped(clean())),
    "other resolution": Fault("resolutions-differ", (BLACK,), lambda: other_resolution(clean())),
    "ruling too fine": Fault(
        "ruling-too-fine", (BLUE,), lambda: in_dots(dpi=1200, lines=100), beside=("no-stock-screen",)
    ),
    "dots lost": Fault(
        "dots-lost", (BLUE,), lambda: in_dots(dpi=1200, tones=(0.5, 0.01)), (44.0, 40.0), 24.0, (0.4, 0.6)
    ),
    "shadows fill": Fault("shadows-fill", (BLUE,), lambda: in_dots(dpi=1200, tones=(0.5, 0.975)), (44.0, 40.0), 24.0),
    "art too large": Fault(
        "art-too-large", (), lambda: on_press(clean(), max_print_mm=[46, 60]), measured=(47.9, 48.1)
    ),
    "too many screens": Fault(
        "too-many-screens", (BASE, RED, BLUE, BLACK), lambda: on_press(clean(), heads=[3, 4]), measured=(4, 4)
    ),
    "few pixels a dot": Fault("resolution-low", (BLUE,), lambda: in_dots(dpi=300, lines=60)),
}


def all_at_once() -> Drawn:
    """Every fault of solid plates that leaves the others standing."""
    drawn = clean()
    for put in (peek, thin_line, fine_gap, dust, hairline, bare_part, off_register):
        put(drawn)
    return drawn


TOGETHER = ("base peeks out", "line too fine", "gap too fine", "specks", "hairline", "base missing", "off register")
