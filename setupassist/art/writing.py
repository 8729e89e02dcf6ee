"""Plates written as grey TIFF files, as on a film positive: dark is ink.

Rows are packed with Deflate a strip at a time, so that a plate is never held whole. A file takes its name only when
all of it stands on the disk.

Source: TIFF Revision 6.0, 1992, sections 4 (grey) and 12 (PageName); Technical Note 2 of 2002 on Deflate; published.
"""

from __future__ import annotations

import struct
import zlib
from collections.abc import Iterable
from fractions import Fraction
from pathlib import Path
from typing import BinaryIO

import numpy as np

from setupassist.art.plates import Rows
from setupassist.documents.store import replacing

STRIP_BYTES = 256 * 1024
DEFLATE_LEVEL = 6
MOST_DPI_PARTS = 10_000
SHORT, LONG, RATIONAL, ASCII = 3, 4, 5, 2


class PlateFile:
    """A grey TIFF that grows by rows of ink (any number, columns): 0 is no ink, written light; 255 is full ink, dark.

    ``name`` is kept as the page's name. ``finish`` makes it a picture; before that it is none.
    """

    def __init__(self, file: BinaryIO, *, columns: int, rows: int, dpi: float, name: str = "") -> None:
        self._file, self._columns, self._rows, self._dpi, self._name = file, columns, rows, dpi, name
        self._strip_rows = max(1, min(rows, STRIP_BYTES // columns))
        self._waiting: list[Rows] = []
        self._waiting_rows = self._written_rows = 0
        self._lengths: list[int] = []
        file.write(struct.pack("<2sHI", b"II", 42, 0))

    def add(self, ink: Rows) -> None:
        """The next rows, from the top."""
        self._waiting.append(ink)
        self._waiting_rows += len(ink)
        if self._waiting_rows < self._strip_rows:
            return
        rows = self._waiting[0] if len(self._waiting) == 1 else np.concatenate(self._waiting)
        whole = len(rows) - len(rows) % self._strip_rows
        for top in range(0, whole, self._strip_rows):
            self._strip(rows[top : top + self._strip_rows])
        self._waiting, self._waiting_rows = [rows[whole:].copy()], len(rows) - whole

    def finish(self) -> None:
        """The last strip and the page's description."""
        if self._waiting_rows:
            self._strip(np.concatenate(self._waiting))
        if self._written_rows != self._rows:
            raise ValueError(f"{self._written_rows} rows were added where {self._rows} were promised")
        self._page()

    def _strip(self, ink: Rows) -> None:
        if ink.shape[1] != self._columns:
            raise ValueError(f"rows have {ink.shape[1]} columns, not {self._columns}")
        self._lengths.append(self._file.write(zlib.compress((~ink).tobytes(), DEFLATE_LEVEL)))
        self._written_rows += len(ink)

    def _page(self) -> None:
        offsets = np.cumsum([8, *self._lengths[:-1]])
        dpi = Fraction(self._dpi).limit_denominator(MOST_DPI_PARTS)
        parts = struct.pack("<II", dpi.numerator, dpi.denominator)
        fields = [
            (256, LONG, 1, struct.pack("<I", self._columns)),
            (257, LONG, 1, struct.pack("<I", self._rows)),
            (258, SHORT, 1, struct.pack("<H", 8)),
            (259, SHORT, 1, struct.pack("<H", 8)),
            (262, SHORT, 1, struct.pack("<H", 1)),
            (273, LONG, len(self._lengths), offsets.astype("<u4").tobytes()),
            (277, SHORT, 1, struct.pack("<H", 1)),
            (278, LONG, 1, struct.pack("<I", self._strip_rows)),
            (279, LONG, len(self._lengths), np.array(self._lengths, "<u4").tobytes()),
            (282, RATIONAL, 1, parts),
            (283, RATIONAL, 1, parts),
            (296, SHORT, 1, struct.pack("<H", 2)),
        ]
        if self._name:
            text = self._name.encode() + b"\0"
            fields.append((285, ASCII, len(text), text))
        self._file.write(bytes(self._file.tell() % 2))
        entries = b""
        for tag, kind, count, value in sorted(fields):
            at = self._file.tell()
            if len(value) > 4:
                self._file.write(value + bytes(len(value) % 2))
            held = struct.pack("<I", at) if len(value) > 4 else value.ljust(4, b"\0")
            entries += struct.pack("<HHI", tag, kind, count) + held
        at = self._file.tell()
        self._file.write(struct.pack("<H", len(fields)) + entries + bytes(4))
        self._file.seek(4)
        self._file.write(struct.pack("<I", at))


def write_plate(path: Path, bands: Iterable[Rows], *, columns: int, rows: int, dpi: float, name: str = "") -> None:
    """A grey TIFF of one plate; ``bands`` are rows of ink (any number, columns) from the top, 255 is full ink.

    What lay at ``path`` is replaced once all is written. Raises ValueError where the bands are not of that size,
    MachineFault where the disk refuses, and what ``bands`` raises.
    """
    with replacing(path) as file:
        plate = PlateFile(file, columns=columns, rows=rows, dpi=dpi, name=name)
        for ink in bands:
            plate.add(ink)
        plate.finish()
