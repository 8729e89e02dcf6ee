"""Plates written as grey TIFF files, as on a film positive: dark is ink.

Rows are packed with Deflate a strip at a time, so that a plate is never held whole. A file takes its name only when
all of it stands on the disk.

Source: TIFF Revision 6.0, 1992, sections 4 (grey) and 12 (PageName); Technical Note 2 of 2002 on Deflate; published.
"""

from __future__ import annotations

import struct
import zlib
from collections.abc import Callable, Iterable, Iterator, Sequence
from contextlib import ExitStack, contextmanager, suppress
from fractions import Fraction
from pathlib import Path
from typing import BinaryIO

import numpy as np

from setupassist.art.bands import plain_name
from setupassist.art.files import label
from setupassist.art.opening import IMAGE_ENDINGS, name_from_file
from setupassist.art.plates import PlateSet, Rows
from setupassist.art.png_writing import ours
from setupassist.documents.store import replacing
from setupassist.errors import Cancelled, InputFault, MachineFault, system_reason
from setupassist.words import say

STRIP_BYTES = 256 * 1024
BAND_BYTES, MOST_BAND_ROWS = 4 * 1024 * 1024, 1024
DEFLATE_LEVEL = 6
MOST_DPI_PARTS = 10_000
MOST_NAME_BYTES = 200
NO_FILE_NAME = str.maketrans(dict.fromkeys('<>:"/\\|?*', " "))
"""What the file systems of the usual machines refuse in a name."""
SHORT, LONG, RATIONAL, ASCII = 3, 4, 5, 2
MARK = b"Setup Assist, a plate\0"
"""The Software field of every file written here. It lies right after the head, where it tells our files from others."""
HEAD = struct.pack("<2sH", b"II", 42)
HEAD_BYTES = 200
"""Of a file, as much as tells whether it was written here."""

Progress = Callable[[float], None]
Stop = Callable[[], bool]


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
        file.write(HEAD + bytes(4) + MARK)

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
        offsets = np.cumsum([len(HEAD) + 4 + len(MARK), *self._lengths[:-1]])
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
            (305, ASCII, len(MARK), MARK),
        ]
        if self._name:
            text = self._name.encode() + b"\0"
            fields.append((285, ASCII, len(text), text))
        self._file.write(bytes(self._file.tell() % 2))
        entries = b""
        for tag, kind, count, value in sorted(fields):
            at = len(HEAD) + 4 if tag == 305 else self._file.tell()
            if len(value) > 4 and tag != 305:
                self._file.write(value + bytes(len(value) % 2))
            held = struct.pack("<I", at) if len(value) > 4 else value.ljust(4, b"\0")
            entries += struct.pack("<HHI", tag, kind, count) + held
        at = self._file.tell()
        self._file.write(struct.pack("<H", len(fields)) + entries + bytes(4))
        self._file.seek(len(HEAD))
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


def write_plates(
    plates: PlateSet, folder: Path, *, progress: Progress | None = None, stop: Stop | None = None
) -> tuple[Path, ...]:
    """The files of every plate of the set, written into ``folder`` in one pass, each with its resolution.

    The folder is made where it is not there. No file takes its name before all plates are written. ``progress`` is told
    the share done (0..1). Raises InputFault without a resolution, where plates differ in size, and where a file is in
    the way that was not written here; Cancelled where ``stop`` answers True; MachineFault where the disk refuses.
    """
    if plates.dpi is None:
        raise InputFault(plates.source, say("art.writing.no-resolution"), say("art.writing.give-dpi"))
    paths = tuple(folder / name for name in file_names([plate.name for plate in plates.plates]))
    with _made(folder), ExitStack() as files:
        for path in paths:
            check_free(path)
        grown = [
            PlateFile(
                files.enter_context(replacing(path)),
                columns=plate.columns,
                rows=plate.rows,
                dpi=plate.dpi or plates.dpi,
                name=plate.name,
            )
            for path, plate in zip(paths, plates.plates, strict=True)
        ]
        done, rows = 0, plates.plates[0].rows
        for band in plates.read(plates.band_rows(BAND_BYTES, most=MOST_BAND_ROWS)):
            if stop is not None and stop():
                raise Cancelled
            for file, ink in zip(grown, band, strict=True):
                file.add(ink)
            done += len(band[0])
            if progress is not None:
                progress(done / rows)
        for file in grown:
            file.finish()
    return paths


@contextmanager
def _made(folder: Path) -> Iterator[None]:
    """The folder, there for what is done inside; one that was made for nothing goes again."""
    try:
        if not folder.absolute().parent.is_dir():
            raise InputFault(label(folder, whole=True), say("art.writing.nowhere"), say("art.file.check-path"))
        fresh = not folder.exists()
        if fresh:
            folder.mkdir()
    except OSError as error:
        told = say("art.writing.no-folder", folder=label(folder, whole=True), reason=system_reason(error))
        raise MachineFault(told) from None
    if not folder.is_dir():
        raise InputFault(label(folder, whole=True), say("art.writing.not-a-folder"), say("art.writing.name-a-folder"))
    try:
        yield
    except BaseException:
        if fresh:
            with suppress(OSError):
                folder.rmdir()
        raise


def others_beside(folder: Path, files: Sequence[Path]) -> list[str]:
    """A note where other images lie in the folder: who reads it as a set reads them too."""
    names = {path.name for path in files}
    others = sorted(
        label(entry)
        for entry in folder.iterdir()
        if entry.suffix.lower() in IMAGE_ENDINGS and not entry.name.startswith(".") and entry.name not in names
    )
    where = label(folder, whole=True)
    return [say("art.writing.others-beside", folder=where, file=others[0], count=len(others))] if others else []


def file_names(inks: Sequence[str]) -> list[str]:
    """``NN-ink name.tif`` for every ink, in that order: names that no folder refuses and that read back as different.

    What a file name cannot hold becomes a space, as reading makes one of ``-`` and ``_``.
    """
    names: list[str] = []
    seen: set[str] = set()
    digits = max(2, len(str(len(inks))))
    for number, ink in enumerate(inks, 1):
        plain = " ".join("".join(c if c.isprintable() else " " for c in ink).translate(NO_FILE_NAME).split())
        plain = plain.encode("utf-8", "replace")[:MOST_NAME_BYTES].decode("utf-8", "ignore").strip() or f"ink {number}"
        name, again = f"{number:0{digits}d}-{plain}.tif", 1
        while plain_name(name_from_file(Path(name))) in seen:
            again += 1
            name = f"{number:0{digits}d}-{plain} {again}.tif"
        seen.add(plain_name(name_from_file(Path(name))))
        names.append(name)
    return names


def check_free(path: Path) -> None:
    """InputFault where something lies at ``path`` that is no plate written here, TIFF or PNG: it is somebody's work.

    A link is not followed. MachineFault where the file cannot be read.
    """
    try:
        if not path.is_symlink():
            if not path.exists():
                return
            if path.is_file():
                with path.open("rb") as file:
                    head = file.read(HEAD_BYTES)
                if not head or ours(head) or (head.startswith(HEAD) and head[len(HEAD) + 4 :].startswith(MARK)):
                    return
    except OSError as error:
        raise MachineFault(say("art.file.not-read", file=label(path), reason=system_reason(error))) from None
    raise InputFault(label(path, whole=True), say("art.writing.in-the-way"), say("art.writing.elsewhere"))
