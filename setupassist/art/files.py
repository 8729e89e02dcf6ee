"""Files of artwork: opened within limits, their faults told in one plain sentence that names the file."""

from __future__ import annotations

import stat
import struct
import zlib
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import BinaryIO

from setupassist.errors import InputFault, MachineFault, SetupAssistError, one_line, system_reason
from setupassist.words import say

MOST_FILE_BYTES = 4 * 1024**3
MOST_TIFF_BYTES = 32 * 1024**3
"""BigTIFF goes beyond 4 GB, and nothing of a TIFF is read but what its own pages point at."""
MOST_PIXELS = 1_200_000_000
MOST_PIXELS_WHOLE = 400_000_000
"""Limit for pictures that can only be decoded as a whole (JPEG, interlaced PNG, packed BMP)."""
MOST_SIDE = 200_000
MOST_INFLATION = 1032
"""Deflate cannot make more than 1032 bytes out of one: published, zlib's technical notes."""
LEAST_DPI, MOST_DPI = 10.0, 20_000.0

MOST_TOLD = 120
MOST_TOLD_AMONG_OTHERS = 40


class CutShort(Exception):
    """A file ends before its picture does; ``reading`` tells it."""


class Damaged(Exception):
    """A file contradicts its own format, as a text said by id may tell; ``reading`` tells it."""


def label(path: Path, *, whole: bool = False) -> str:
    """A file as a sentence names it: its name, or its ``whole`` path, the middle left out where it is very long."""
    return short(str(path) if whole else path.name, MOST_TOLD)


def short(name: str, most: int = MOST_TOLD_AMONG_OTHERS) -> str:
    """A name as a sentence that has more to say shows it: one line, the middle left out beyond ``most`` characters."""
    text = one_line(name, 1000)
    half = (most - 1) // 2
    return text if len(text) <= most else f"{text[:half]}…{text[-half:]}"


def check_file(path: Path, *, most_bytes: int = MOST_FILE_BYTES) -> int:
    """Size in bytes of the regular file at ``path``; InputFault where there is none, or one too large or empty."""
    try:
        status = path.stat()
    except FileNotFoundError:
        if path.is_symlink():
            told, remedy = say("art.file.dead-link"), say("art.file.put-in-place")
            raise InputFault(label(path), told, remedy) from None
        told, remedy = say("art.file.not-there"), say("art.file.check-path")
        raise InputFault(label(path, whole=True), told, remedy) from None
    except (OSError, ValueError) as error:
        reason = system_reason(error) if isinstance(error, OSError) else str(error)
        told, remedy = say("art.file.unreachable", reason=reason), say("art.file.check-path")
        raise InputFault(label(path, whole=True), told, remedy) from None
    if stat.S_ISDIR(status.st_mode):
        raise InputFault(label(path), say("art.file.a-folder"), say("art.file.rename-or-move"))
    if not stat.S_ISREG(status.st_mode):
        raise InputFault(label(path), say("art.file.no-image-file"), say("art.file.move-away"))
    if status.st_size == 0:
        raise InputFault(label(path), say("art.file.empty"), say("art.file.export-plate-again"))
    if status.st_size > most_bytes:
        told = say("art.file.too-large", most=most_bytes // 1024**3)
        raise InputFault(label(path), told, say("art.file.export-compressed"))
    return status.st_size


def check_size(path: Path, columns: int, rows: int, *, whole: bool = False) -> None:
    """InputFault where a picture has no pixels or more than the limits; ``whole`` has the lower one."""
    if columns < 1 or rows < 1:
        told = say("art.size.none", columns=columns, rows=rows)
        raise InputFault(label(path), told, say("art.file.export-plate-again"))
    if max(columns, rows) > MOST_SIDE or columns * rows > MOST_PIXELS:
        limits = {"megapixels": MOST_PIXELS // 10**6, "side": MOST_SIDE}
        told = say("art.size.beyond-limits", columns=columns, rows=rows, **limits)
        raise InputFault(label(path), told, say("art.size.lower-resolution"))
    if whole and columns * rows > MOST_PIXELS_WHOLE:
        told = say("art.size.too-many-for-kind", columns=columns, rows=rows)
        raise InputFault(label(path), told, say("art.size.save-in-bands"))


def check_enough_data(path: Path, picture_bytes: int, file_bytes: int) -> None:
    """InputFault where no Deflate stream as short as the file could hold the picture that it promises."""
    if picture_bytes > file_bytes * MOST_INFLATION:
        raise cut_short(path)


def check_dpi(where: str, dpi: float | None) -> None:
    """InputFault where the resolution that the person gives is none that a plate can have."""
    if dpi is not None and not LEAST_DPI <= dpi <= MOST_DPI:
        told = say("art.resolution.not-between", dpi=dpi, least=LEAST_DPI, most=MOST_DPI)
        raise InputFault(where, told, say("art.resolution.as-made"))


def cut_short(path: Path) -> InputFault:
    """The fault of a file that ends before its picture does."""
    return InputFault(label(path), say("art.damage.cut-short"), say("art.file.export-or-copy-again"))


def damaged(path: Path, why: str = "") -> InputFault:
    """The fault of a file that is broken inside."""
    told = say("art.damage.damaged-in", why=why) if why else say("art.damage.damaged")
    return InputFault(label(path), told, say("art.file.export-or-copy-again"))


@contextmanager
def reading(path: Path) -> Iterator[None]:
    """Whatever goes wrong inside is told as one sentence about ``path``."""
    try:
        yield
    except SetupAssistError:
        raise
    except (CutShort, EOFError):
        raise cut_short(path) from None
    except Damaged as error:
        raise damaged(path, *error.args) from None
    except (zlib.error, struct.error):
        raise damaged(path) from None
    except MemoryError:
        raise MachineFault(say("art.file.no-memory", file=label(path))) from None
    except OSError as error:
        raise MachineFault(say("art.file.not-read", file=label(path), reason=system_reason(error))) from None


@contextmanager
def decoding() -> Iterator[None]:
    """A foreign decoder's complaints, whatever their kind, become ``Damaged``."""
    try:
        yield
    except (MemoryError, Damaged):
        raise
    except Exception:  # decoders raise almost anything on hostile data
        raise Damaged from None


@contextmanager
def opened(path: Path) -> Iterator[BinaryIO]:
    """The file, open for reading, with its faults told."""
    with reading(path), path.open("rb") as file:
        yield file


def read_exactly(file: BinaryIO, count: int) -> bytes:
    """The next ``count`` bytes; CutShort where the file ends before."""
    data = file.read(count)
    if len(data) < count:
        raise CutShort
    return data


class Inflater:
    """Deflate data taken out in exact lengths: never more in memory than what is asked for.

    ``pieces`` are compressed bytes in any lengths. ``take`` raises CutShort where the stream ends too early.
    """

    def __init__(self, pieces: Iterator[bytes]) -> None:
        self._pieces = pieces
        self._engine = zlib.decompressobj()
        self._held = b""

    def take(self, count: int) -> bytes:
        """The next ``count`` bytes."""
        parts: list[bytes] = []
        while count:
            data = self._engine.decompress(self._held, count)
            self._held = self._engine.unconsumed_tail
            if data:
                parts.append(data)
                count -= len(data)
            elif not self._held:
                self._held = self._next_piece()
        return parts[0] if len(parts) == 1 else b"".join(parts)

    def _next_piece(self) -> bytes:
        if self._engine.eof:
            raise CutShort
        piece = next((piece for piece in self._pieces if piece), b"")
        if not piece:
            raise CutShort
        return piece

    def check_end(self) -> None:
        """zlib.error where the check sum at the end, if it is there, is wrong."""
        while not self._engine.eof:
            if not self._held:
                self._held = next((piece for piece in self._pieces if piece), b"")
            if not self._held:
                return
            if self._engine.decompress(self._held, 1):
                return
            self._held = self._engine.unconsumed_tail
