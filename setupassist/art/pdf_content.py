"""Content streams of a PDF as short lists of steps, and the state of the graphics that they change."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Any

import pikepdf
from pikepdf import Array, Dictionary, Name

from setupassist.art.pdf_colour import GREY, Space
from setupassist.art.pdf_objects import (
    MOST_CONTENT_BYTES,
    SAME,
    Box,
    Matrix,
    Refused,
    filters,
    identity,
    moved,
    name_key,
    number,
    unpacked_bytes,
)

MOST_STEPS = 4_000_000
PATH = frozenset({"m", "l", "c", "v", "y", "h", "re"})
CLIP = {"W": b"W\n", "W*": b"W*\n"}
FILLS = frozenset({"f", "F", "f*", "B", "B*", "b", "b*"})
STROKES = frozenset({"S", "s", "B", "B*", "b", "b*"})
TEXT = frozenset({"Tj", "TJ", "'", '"'})
READ = frozenset(
    {"q", "Q", "cm", "gs", "cs", "CS", "sc", "scn", "SC", "SCN", "g", "G", "rg", "RG", "k", "K", "n", "sh", "Do", "Tr"}
    | {"Tf", "BT", "Tm", "Td", "TD", "T*", "w", "BMC", "BDC", "EMC", "INLINE IMAGE", "ET"}
    | FILLS | STROKES | TEXT
)  # fmt: skip
DROPPED = frozenset({"MP", "DP", "ri", "i", "BX", "EX"})
AS_THEY_ARE = frozenset({"q", "Q", "n", "BT", "ET", "T*", "BMC", "EMC"}) | FILLS | STROKES | TEXT
"""Steps whose operands nobody looks at."""


@dataclass(frozen=True)
class Path:
    """Part of a path: its bytes, the clip that follows it, and its thinnest upright box in its own units."""

    data: bytes
    clip: bytes
    thinnest: float


@dataclass(frozen=True)
class Step:
    """One operator. ``operands`` are numbers, names as keys, a Path, or an inline image; ``raw`` are its bytes."""

    operator: str
    operands: Sequence[Any]
    raw: bytes


class Contents:
    """Content streams of one file, each taken apart once."""

    def __init__(self) -> None:
        self._made: dict[tuple[Any, ...], list[Step]] = {}
        self._kept: list[Any] = []
        self._steps = 0

    def of(self, holder: Any) -> list[Step]:
        """The steps of a page, a form, a cell of a tiling, or a glyph. Raises Refused beyond the limits."""
        key = identity(holder)
        if key not in self._made:
            self._kept.append(holder)
            self._made[key] = self._parsed(holder)
        return self._made[key]

    def _parsed(self, holder: Any) -> list[Step]:
        steps: list[Step] = []
        path: list[Any] = []
        run: list[Any] = []

        def flush() -> None:
            if run:
                steps.append(Step("", (), pikepdf.unparse_content_stream(run) + b"\n"))
                run.clear()
            if path:
                steps.append(_path(path))
                path.clear()

        for instruction in pikepdf.parse_content_stream(holder):
            self._steps += 1
            if self._steps > MOST_STEPS:
                raise Refused("art.pdf.too-heavy")
            name = str(instruction.operator)
            if name in PATH or (name in CLIP and path):
                if run:
                    flush()
                path.append(instruction)
                if name in CLIP:
                    flush()
            elif name in READ:
                flush()
                steps.append(_step(name, instruction))
            elif name not in DROPPED:
                if path:
                    flush()
                run.append(instruction)
        flush()
        return steps


def check_content(streams: Sequence[Any]) -> None:
    """Refused where content streams unpack to more than is ever drawn by hand."""
    total = 0
    for stream in streams:
        if isinstance(stream, pikepdf.Stream) and not set(filters(stream)) & {"DCTDecode", "JPXDecode"}:
            total += unpacked_bytes(stream, MOST_CONTENT_BYTES)
        if total > MOST_CONTENT_BYTES:
            raise Refused("art.pdf.too-heavy")


def _path(instructions: list[Any]) -> Step:
    clip = CLIP.get(str(instructions[-1].operator), b"")
    plain = instructions[:-1] if clip else instructions
    thinnest = float("inf")
    for each in plain:
        if str(each.operator) == "re" and len(each.operands) == 4:
            thinnest = min(thinnest, *(abs(number(side)) for side in list(each.operands)[2:]))
    data = pikepdf.unparse_content_stream(plain) + b"\n"
    return Step("path", (Path(data, clip, thinnest),), data + clip)


def _step(name: str, instruction: Any) -> Step:
    if name == "INLINE IMAGE":
        return Step(name, (instruction.iimage,), b"")
    raw = pikepdf.unparse_content_stream([instruction]) + b"\n"
    if name in AS_THEY_ARE:
        return Step(name, (), raw)
    return Step(name, [_operand(value) for value in instruction.operands], raw)


def _operand(value: Any) -> Any:
    if isinstance(value, Name):
        return name_key(value)
    if isinstance(value, Array | Dictionary | pikepdf.String):
        return value
    return number(value)


@dataclass
class Ink:
    """What one side of painting (fill or stroke) uses: a colour of a space, or a pattern."""

    space: Space = GREY
    colour: tuple[float, ...] = (0.0,)
    pattern: Any = None
    inherited: bool = False
    """The pattern was set outside the form that uses it, so its place is not known there."""
    shown: bool = True
    """Whether the colour set last was also written out."""


@dataclass
class State:
    """The state of the graphics as far as plates depend on it. ``matrix`` leads to the stream's own first space."""

    fill: Ink
    stroke: Ink
    overprints_fill: bool = False
    overprints_stroke: bool = False
    mode: int = 0
    text_mode: int = 0
    font: Any = None
    font_size: float = 0.0
    font_shown: Any = None
    line_width: float = 1.0
    opacity_fill: float = 1.0
    opacity_stroke: float = 1.0
    masked: bool = False
    blend: str = "/Normal"
    isolated: bool = False
    """Within a group that is blended by itself, apart from what lies below."""
    matrix: Matrix = SAME
    text_matrix: Matrix = SAME

    @property
    def plain(self) -> bool:
        """Whether no transparency is set: full opacity, normal blending, no soft mask."""
        opaque = self.opacity_fill >= 1 and self.opacity_stroke >= 1
        return opaque and not self.masked and self.blend in ("/Normal", "/Compatible")

    def begin_group(self) -> None:
        """Sets what a group of transparency begins with, whatever is set where it is drawn."""
        self.opacity_fill = self.opacity_stroke = 1.0
        self.masked, self.blend = False, "/Normal"

    def copy(self) -> State:
        """A state that changes on its own."""
        return replace(self, fill=replace(self.fill), stroke=replace(self.stroke))

    def key(self) -> tuple[Any, ...]:
        """What a form drawn in this state can inherit."""
        sides = [
            (id(side.space), side.colour, None if side.pattern is None else identity(side.pattern), side.shown)
            for side in (self.fill, self.stroke)
        ]
        font = None if self.font is None else identity(self.font)
        flags = (
            self.overprints_fill,
            self.overprints_stroke,
            self.mode,
            self.text_mode,
            self.opacity_fill >= 1,
            self.opacity_stroke >= 1,
            self.masked,
            self.isolated,
            self.blend,
        )
        return (*sides, *flags, font, self.font_size)


def first_state() -> State:
    """The state at the top of a page."""
    return State(Ink(), Ink())


def path_box(path: bytes, matrix: Matrix) -> Box | None:
    """The upright box round a path's points after ``matrix``; None for a path without points."""
    numbers_: list[float] = []
    points: list[tuple[float, float]] = []
    for token in path.split():
        if re.fullmatch(rb"[mlcvy]", token):
            points += zip(numbers_[::2], numbers_[1::2], strict=False)
        elif token == b"re" and len(numbers_) >= 4:
            x, y, width, height = numbers_[-4:]
            points += [(x, y), (x + width, y), (x, y + height), (x + width, y + height)]
        elif token != b"h":
            numbers_.append(number(_float(token)))
            continue
        numbers_ = []
    moved_points = [moved(matrix, x, y) for x, y in points]
    if not moved_points:
        return None
    xs, ys = [x for x, _ in moved_points], [y for _, y in moved_points]
    return min(xs), min(ys), max(xs), max(ys)


def _float(token: bytes) -> float:
    try:
        return float(token)
    except ValueError:
        return 0.0
