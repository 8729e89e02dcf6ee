"""Colour spaces of a PDF as inks: the tint of an ink in a colour, and which plates an object changes at all.

Sources: ISO 32000-1, 2008, sections 8.6 (colour spaces) and 8.6.7 with table 148 (overprint); published. RGB and Lab
become process inks by the plain complement with all common ink as black: a stand-in, told as not separated.
"""

from __future__ import annotations

import unicodedata
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from enum import StrEnum
from functools import cached_property
from typing import Any

import numpy as np
import numpy.typing as npt
from pikepdf import Array, Name, Stream

from setupassist.art.pdf_objects import Refused, get, identity, name_key, name_text, numbers, stream_bytes, whole

PROCESS = ("process cyan", "process magenta", "process yellow", "process black")
COMPONENTS = ("Cyan", "Magenta", "Yellow", "Black")
MOST_COMPONENTS = 64
MOST_TABLE_BYTES = 1 << 20
MOST_DEPTH = 8

Value = Any
"""A number, or an array of numbers of one shape."""
Floats = npt.NDArray[np.float64]


class Family(StrEnum):
    """What the numbers of a colour mean."""

    GREY = "grey"
    RGB = "rgb"
    CMYK = "cmyk"
    LAB = "lab"
    INKS = "inks"
    ALL = "all"
    NONE = "none"
    INDEXED = "indexed"
    PATTERN = "pattern"


@dataclass(frozen=True, eq=False)
class Space:
    """A colour space. ``inks`` names its components where they are inks, "" for one that prints nothing.

    ``direct`` is True for DeviceCMYK itself, whose zeros can mean "leave alone". ``table`` holds the palette of an
    indexed space as bytes, ``top`` its last entry. ``source`` is the object that tells the space.
    """

    family: Family
    count: int
    inks: tuple[str, ...] = ()
    base: Space | None = None
    table: bytes = b""
    top: int = 0
    direct: bool = False
    ranges: tuple[float, ...] = ()
    source: Any = field(default=None, repr=False)

    @property
    def first(self) -> tuple[float, ...]:
        """The colour that choosing the space sets."""
        if self.family is Family.CMYK:
            return (0.0, 0.0, 0.0, 1.0)
        ink = self.family in (Family.INKS, Family.ALL, Family.NONE)
        return ((1.0 if ink else 0.0),) * self.count

    @property
    def root(self) -> Space:
        """The space that the entries of a palette are colours of, else itself."""
        return self.base if self.family is Family.INDEXED and self.base is not None else self

    @cached_property
    def palette(self) -> Floats:
        """Entries (N, components) of an indexed space as colours of its base."""
        base = self.root
        size = (self.top + 1) * base.count
        raw = np.frombuffer(self.table[:size].ljust(size, b"\0"), np.uint8).reshape(-1, base.count)
        low, high = base.spans
        entries: Floats = low + raw / 255.0 * (high - low)
        return entries

    @property
    def spans(self) -> tuple[Floats, Floats]:
        """Lowest and highest value of every component, as samples of an image stand for them."""
        if self.family is Family.LAB:
            return np.array([0.0, *self.ranges[0:4:2]]), np.array([100.0, *self.ranges[1:4:2]])
        return np.zeros(self.count), np.ones(self.count)


GREY, RGB = Space(Family.GREY, 1), Space(Family.RGB, 3)
CMYK, ICC_CMYK = Space(Family.CMYK, 4, direct=True), Space(Family.CMYK, 4)
PATTERN = Space(Family.PATTERN, 0)
NAMED = {
    "/DeviceGray": GREY, "/G": GREY, "/CalGray": GREY, "/DeviceRGB": RGB, "/RGB": RGB, "/CalRGB": RGB,
    "/DeviceCMYK": CMYK, "/CMYK": CMYK, "/CalCMYK": ICC_CMYK, "/Pattern": PATTERN,
}  # fmt: skip


class Spaces:
    """The colour spaces of one file, each made once; ``merged`` tells inks whose names differ in letters only."""

    def __init__(self) -> None:
        self._made: dict[tuple[Any, ...], Space] = {}
        self._kept: list[Any] = []
        self._inks: dict[str, str] = {_plain(name): name for name in PROCESS}
        self._inks |= {_plain(part): name for part, name in zip(COMPONENTS, PROCESS, strict=True)}
        self.merged: dict[str, str] = {}
        self.sources: dict[str, tuple[Space, int]] = {}

    def of(self, value: Any, resources: Any = None, depth: int = 0) -> Space:
        """The space that an object tells; grey where it makes no sense."""
        if depth > MOST_DEPTH:
            return GREY
        if isinstance(value, Name):
            key = name_key(value)
            if key in NAMED:
                return NAMED[key]
            told = get(get(resources, "/ColorSpace"), key)
            return GREY if told is None else self.of(told, resources, depth + 1)
        if not isinstance(value, Array) or not len(value) or not isinstance(value[0], Name):
            return GREY
        key_of = identity(value)
        if key_of not in self._made:
            self._kept.append(value)
            self._made[key_of] = self._array(value, resources, depth)
        return self._made[key_of]

    def _array(self, value: Any, resources: Any, depth: int) -> Space:
        kind, length = name_text(value[0]), len(value)
        if kind == "Separation" and length > 1:
            return self._inks_of(value, [value[1]])
        if kind == "DeviceN" and length > 1 and isinstance(value[1], Array):
            return self._inks_of(value, list(value[1]))
        if kind == "ICCBased" and length > 1:
            return {1: GREY, 3: RGB, 4: ICC_CMYK}.get(whole(get(value[1], "/N"), 3), GREY)
        if kind in ("Indexed", "I") and length > 3:
            base, table = self.of(value[1], resources, depth + 1), value[3]
            if base.family in (Family.INDEXED, Family.PATTERN):
                return GREY
            raw = stream_bytes(table, MOST_TABLE_BYTES) if isinstance(table, Stream) else bytes(table)
            return Space(Family.INDEXED, 1, base=base, table=raw, top=max(0, min(255, whole(value[2]))), source=value)
        if kind == "Pattern" and length > 1:
            return Space(Family.PATTERN, 0, base=self.of(value[1], resources, depth + 1))
        if kind == "Lab":
            span = numbers(get(value[1], "/Range")) if length > 1 else []
            return Space(Family.LAB, 3, ranges=tuple(span) if len(span) == 4 else (-100.0, 100.0, -100.0, 100.0))
        return NAMED.get("/" + kind, GREY)

    def _inks_of(self, value: Any, names: list[Any]) -> Space:
        if len(names) > MOST_COMPONENTS:
            raise Refused("art.pdf.too-many-components", count=len(names), most=MOST_COMPONENTS)
        told = [name_text(name) if isinstance(name, Name) else "" for name in names]
        if told == ["All"]:
            return Space(Family.ALL, 1, source=value)
        inks = tuple("" if name in ("None", "All") else self.ink(name) for name in told)
        space = Space(Family.INKS if any(inks) else Family.NONE, len(inks), inks, source=value)
        for index, ink in enumerate(inks):
            if ink:
                self.sources.setdefault(ink, (space, index))
        return space

    def ink(self, name: str) -> str:
        """The ink of a name: names that differ only in capitals or composed letters are one ink."""
        plain = _plain(name)
        known = self._inks.setdefault(plain, _clean(name))
        if known not in (name, *PROCESS):
            self.merged[name] = known
        return known


def _clean(name: str) -> str:
    """A name on one line, letters composed, without what cannot be printed."""
    whole_letters = unicodedata.normalize("NFC", name)
    return " ".join("".join(letter if letter.isprintable() else " " for letter in whole_letters).split())


def _plain(name: str) -> str:
    return _clean(name).casefold()


def tint(space: Space, colour: Sequence[Value], ink: str) -> Value:
    """Tint 0..1 of an ink in a colour; arrays give an array of their shape."""
    nothing = colour[0] * 0.0 if len(colour) else 0.0
    family = space.family
    if family is Family.INKS:
        return colour[space.inks.index(ink)] if ink in space.inks else nothing
    if family is Family.ALL:
        return colour[0]
    if family is Family.INDEXED:
        tints = tint(space.root, list(space.palette.T), ink)
        found = np.asarray(tints)[np.clip(np.asarray(colour[0]).astype(int), 0, space.top)]
        return found if isinstance(colour[0], np.ndarray) else float(found)
    if ink not in PROCESS:
        return nothing
    part = PROCESS.index(ink)
    if family is Family.CMYK:
        return colour[part]
    if family is Family.GREY:
        return 1 - colour[0] if part == 3 else nothing
    if family is Family.RGB:
        return process_of_rgb(*colour)[part]
    if family is Family.LAB:
        return process_of_rgb(*_rgb_of_lab(*colour))[part]
    return nothing


def mentions(space: Space, ink: str) -> bool:
    """Whether colours of a space can hold any of an ink."""
    root = space.root
    if root.family is Family.INKS:
        return ink in root.inks
    if root.family is Family.GREY:
        return ink == PROCESS[3]
    return root.family is Family.ALL or (root.family is not Family.NONE and ink in PROCESS)


def touches(space: Space, colour: Sequence[float] | None, ink: str, *, overprints: bool, mode: int) -> bool:
    """Whether painting changes the plate of an ink: by its tint, or by knocking out what lies below.

    ``colour`` is None for images and shadings, which mode 1 does not look into. Source: ISO 32000-1, table 148.
    """
    root = space.root
    if root.family is Family.NONE:
        return False
    if root.family is Family.ALL or not overprints:
        return True
    if root.family is Family.INKS:
        return ink in root.inks
    if ink not in PROCESS:
        return False
    if space.direct and mode == 1 and colour is not None:
        return colour[PROCESS.index(ink)] != 0
    return True


def inks_in(space: Space, colour: Sequence[float] | None) -> list[str]:
    """Inks that a colour holds, all that it could hold where ``colour`` is None."""
    root = space.root
    known = [ink for ink in root.inks if ink] if root.family is Family.INKS else list(PROCESS)
    if root.family in (Family.ALL, Family.NONE, Family.PATTERN):
        return []
    if colour is None and space.family is Family.INDEXED:
        return [ink for ink in known if float(np.max(tint(root, list(space.palette.T), ink), initial=0.0)) > 0]
    if colour is None:
        return [ink for ink in known if mentions(space, ink)]
    return [ink for ink in known if float(tint(space, colour, ink)) > 0]


def process_of_rgb(red: Value, green: Value, blue: Value) -> tuple[Value, Value, Value, Value]:
    """Process tints of screen colours: a stand-in that keeps greys on the black plate."""
    cyan, magenta, yellow = 1 - red, 1 - green, 1 - blue
    black = np.minimum(np.minimum(cyan, magenta), yellow)
    rest = np.where(black >= 1, 1, 1 - black)
    return (cyan - black) / rest, (magenta - black) / rest, (yellow - black) / rest, black


def _rgb_of_lab(lightness: Value, a: Value, b: Value) -> list[Value]:
    """Screen colours of Lab (D50) by the published formulas of CIE 15 and IEC 61966-2-1."""
    fy = (lightness + 16) / 116
    cube: Callable[[Value], Value] = lambda t: np.where(t > 6 / 29, t**3, 3 * (6 / 29) ** 2 * (t - 4 / 29))  # noqa: E731
    x, y, z = 0.9642 * cube(fy + a / 500), cube(fy), 0.8249 * cube(fy - b / 200)
    linear = (
        3.1339 * x - 1.6169 * y - 0.4906 * z,
        -0.9788 * x + 1.9161 * y + 0.0335 * z,
        0.0719 * x - 0.2290 * y + 1.4052 * z,
    )
    return [
        np.clip(np.where(v <= 0.0031308, 12.92 * v, 1.055 * np.maximum(v, 1e-9) ** (1 / 2.4) - 0.055), 0, 1)
        for v in linear
    ]


def is_grey(space: Space, colour: Sequence[float] | None) -> bool:
    """Whether a screen colour has no hue, so that black alone stands for it exactly enough."""
    return space.family is Family.RGB and colour is not None and max(colour) - min(colour) < 1e-6
