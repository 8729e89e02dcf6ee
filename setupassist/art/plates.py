"""A plate and a set of plates: names, sizes, resolution, and rows of ink read in bands."""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterator
from dataclasses import dataclass, field, replace

import numpy as np
import numpy.typing as npt

from setupassist.documents.base import MOST_NAME_LENGTH
from setupassist.documents.terms import Severity
from setupassist.errors import InputFault, one_line
from setupassist.words import say

Rows = npt.NDArray[np.uint8]
"""Rows of ink (rows, columns): 0 is no ink, 255 is full ink."""

Bits = npt.NDArray[np.uint8]
"""Rows of packed ink (rows, columns / 8 rounded up): first column in the highest bit, 1 is ink, spare bits are 0."""


# Twenty-four plates of 400 x 450 mm at 1200 dpi are half a million columns and ten thousand megapixels.
MOST_COLUMNS_OF_A_SET = 3_000_000
MOST_PIXELS_OF_A_SET = 12_000_000_000
INK_UNNAMED = "ink-unnamed"
"""Code of the finding that an ink has no name in its file."""


@dataclass(frozen=True)
class Plate:
    """One separated plate: shape and resolution of one ink.

    ``dpi`` is None where neither the file nor the person told it. ``colour`` is ``#rrggbb`` where the file
    tells one. ``two_level`` is what the file's depth says; a grey file may hold two levels all the same. ``stand_in``
    is what a nameless ink is called until the person names it, empty where the file tells the name. ``page`` of
    ``pages`` is the page it was taken from where a file has pages to choose from, counted from 1.
    """

    name: str
    file: str
    rows: int
    columns: int
    dpi: float | None
    two_level: bool
    colour: str | None = None
    stand_in: str = ""
    page: int = 1
    pages: int = 1


def name_fault(plate: Plate) -> InputFault | None:
    """What is wrong with a plate's name, None where an ink may bear it."""
    if not plate.name.strip() or not plate.name.isprintable():
        told, remedy = say("art.plate.no-ink-name"), say("art.plate.rename")
    elif len(plate.name) > MOST_NAME_LENGTH:
        told, remedy = say("art.plate.name-too-long", most=MOST_NAME_LENGTH), say("art.plate.shorten")
    elif plate.name.strip().lower() == "flash":
        told, remedy = say("art.plate.called-flash"), say("art.plate.rename-plate")
    else:
        return None
    return InputFault(one_line(plate.file, 120), told, remedy)


@dataclass(frozen=True)
class Note:
    """What a reader has to say about a set, with the code and weight of the finding that it becomes.

    ``text`` and ``remedy`` are said by id. ``places_mm`` are (x, y) from the upper left corner, right and down.
    """

    code: str
    severity: Severity
    text: str
    remedy: str | None = None
    plates: tuple[str, ...] = ()
    places_mm: tuple[tuple[float, float], ...] = ()


@dataclass(frozen=True)
class Stream:
    """Plates of a set that are decoded in one pass; ``read_bits`` yields them as ``PlateSet.read_bits`` does.

    ``indices`` are their places in the set. Streams of one set may be read at the same time from several threads.
    """

    indices: tuple[int, ...]
    read_bits: Callable[[int], Iterator[tuple[Bits | Rows, ...]]] = field(repr=False)


@dataclass(frozen=True)
class PlateSet:
    """Plates that belong together, read side by side.

    ``read`` yields, from the top, one tuple a band with one uint8 array (band rows, columns) for each plate in
    the order of ``plates``: 0 is no ink, 255 is full ink. All plates of one call have the same band height; the
    last band may be shorter. It may be called again for a second pass. It raises InputFault where the plates
    differ in size, and where damage shows only on the way.
    Notes are sentences, said by id, on what was left out or taken for granted (an alpha sample, an unnamed ink), or
    such sentences with a code and a weight of their own.
    """

    source: str
    plates: tuple[Plate, ...]
    read: Callable[[int], Iterator[tuple[Rows, ...]]] = field(repr=False)
    notes: tuple[str | Note, ...] = ()
    packed: Callable[[int], Iterator[tuple[Bits | Rows, ...]]] | None = field(default=None, repr=False)
    apart: tuple[Stream, ...] = field(default=(), repr=False)

    def __post_init__(self) -> None:
        """Refuses, before a pixel is read, names that no ink may bear and sets beyond what one band can hold."""
        for plate in self.plates:
            fault = name_fault(plate)
            if fault is not None:
                raise fault
        columns = sum(plate.columns for plate in self.plates)
        pixels = sum(plate.columns * plate.rows for plate in self.plates)
        if columns > MOST_COLUMNS_OF_A_SET or pixels > MOST_PIXELS_OF_A_SET:
            told = say("art.set.too-large", plates=len(self.plates), megapixels=pixels / 1e6)
            raise InputFault(one_line(self.source, 120), told, say("art.set.split"))

    def band_rows(self, most_bytes: int, *, most: int, least: int = 1) -> int:
        """Rows of a band whose levels of all plates together take ``most_bytes``; within ``least`` .. ``most``."""
        rows = most_bytes // max(1, sum(plate.columns for plate in self.plates))
        return max(least, min(most, rows))

    @property
    def dpi(self) -> float | None:
        """Resolution of the first plate that has one."""
        return next((plate.dpi for plate in self.plates if plate.dpi is not None), None)

    @property
    def sentences(self) -> tuple[str, ...]:
        """The notes as sentences said by id, without what to do about them."""
        return tuple(note.text if isinstance(note, Note) else note for note in self.notes)

    def read_bits(self, band_rows: int) -> Iterator[tuple[Bits | Rows, ...]]:
        """Bands as ``read`` yields them, but packed bits for each plate whose ``two_level`` is True."""
        if self.packed is not None:
            return self.packed(band_rows)
        return self._bits_of_rows(band_rows)

    def streams(self) -> tuple[Stream, ...]:
        """The plates by the passes that decode them: one stream a picture, all plates in one where none is told."""
        return self.apart or (Stream(tuple(range(len(self.plates))), self.read_bits),)

    def holding(self, names: Collection[str]) -> PlateSet:
        """The set without the streams that hold none of these plates: they are not read."""
        kept = [stream for stream in self.streams() if any(self.plates[i].name in names for i in stream.indices)]
        if len(kept) in (0, len(self.streams())):
            return self
        indices = sorted(index for stream in kept for index in stream.indices)
        apart = tuple(Stream(tuple(map(indices.index, stream.indices)), stream.read_bits) for stream in kept)

        def read(rows: int) -> Iterator[tuple[Rows, ...]]:
            return (tuple(band[index] for index in indices) for band in self.read(rows))

        def packed(rows: int) -> Iterator[tuple[Bits | Rows, ...]]:
            return (tuple(band[index] for index in indices) for band in self.read_bits(rows))

        plates = tuple(self.plates[index] for index in indices)
        return replace(self, plates=plates, read=read, packed=packed, apart=apart)

    def _bits_of_rows(self, band_rows: int) -> Iterator[tuple[Bits | Rows, ...]]:
        for band in self.read(band_rows):
            yield tuple(
                np.packbits(rows >= 128, axis=1) if plate.two_level else rows
                for plate, rows in zip(self.plates, band, strict=True)
            )
