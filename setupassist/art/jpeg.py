"""Plates out of JPEG files.

A JPEG cannot be read in bands: it is decoded as a whole, one file at a time, into a temporary file. Only the segments
that the picture itself needs are handed to the decoder; text, camera data and profiles are never looked into.

Source: ITU-T T.81 (JPEG) and T.871 (JFIF), published.
"""

from __future__ import annotations

import io
import struct
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import BinaryIO

from setupassist.art.bands import Chunks, Picture, pieces, spooled
from setupassist.art.files import (
    CutShort,
    Damaged,
    check_file,
    check_size,
    decoding,
    label,
    opened,
    read_exactly,
)
from setupassist.art.plates import Plate
from setupassist.art.resolution import CM_PER_INCH, file_dpi
from setupassist.art.samples import Tones, grey_table
from setupassist.errors import InputFault
from setupassist.words import say

START, SCAN, END = 0xD8, 0xDA, 0xD9
JFIF, ADOBE, COMMENT = 0xE0, 0xEE, 0xFE
FRAMES = frozenset({0xC0, 0xC1, 0xC2})
OTHER_FRAMES = frozenset({0xC3, 0xC5, 0xC6, 0xC7, 0xC9, 0xCA, 0xCB, 0xCD, 0xCE, 0xCF})
MOST_SEGMENTS = 4096
MOST_SCANS = 200
MOST_PIXELS_A_BYTE = 1024
"""An 8 x 8 block takes a bit at least for its mean: 512 pixels a byte; twice that, to be safe. Computed."""


@dataclass(frozen=True)
class Header:
    """What a JPEG says before its pixels; ``kept`` are its segments that the decoder needs."""

    columns: int
    rows: int
    components: int
    dpi: float | None
    kept: bytes
    data_at: int


def read_header(path: Path) -> Header:
    """The header of a JPEG file; InputFault for a bad, cut or absurdly large one, or one of four colours."""
    size = check_file(path)
    with opened(path) as file:
        if read_exactly(file, 2) != bytes((0xFF, START)):
            raise Damaged
        kept, frame, density = bytearray((0xFF, START)), b"", (0, 0, 0)
        for _ in range(MOST_SEGMENTS):
            at = file.tell()
            marker = _next_marker(file)
            if marker == END:
                raise CutShort
            body = read_exactly(file, max(0, struct.unpack(">H", read_exactly(file, 2))[0] - 2))
            if marker == JFIF and body[:5] == b"JFIF\0" and len(body) >= 12:
                density = struct.unpack(">BHH", body[7:12])
            if marker in OTHER_FRAMES:
                raise InputFault(label(path), say("art.kind.rare-jpeg"), say("art.kind.save-as-png"))
            if marker in FRAMES:
                frame = body
            if marker == SCAN:
                break
            if marker in (JFIF, ADOBE) or not 0xE0 <= marker <= COMMENT:
                kept += bytes((0xFF, marker)) + struct.pack(">H", len(body) + 2) + body
        else:
            raise Damaged(say("art.damage.too-many-segments"))
        if len(frame) < 6:
            raise Damaged(say("art.damage.no-size"))
        depth, rows, columns, components = struct.unpack(">BHHB", frame[:6])
        check_size(path, columns, rows, whole=True)
        if components not in (1, 3) or depth != 8:
            told = say("art.kind.jpeg-colours", colours=components, bits=depth)
            raise InputFault(label(path), told, say("art.kind.export-grey"))
        if columns * rows > size * MOST_PIXELS_A_BYTE:
            raise CutShort
        unit, across, down = density
        inch = {1: 1.0, 2: CM_PER_INCH}.get(unit)
        dpi = file_dpi(label(path), across, down, units_per_inch=inch, step=1.0 if unit == 2 else 0.0)
        return Header(columns, rows, components, dpi, bytes(kept), at)


def _next_marker(file: BinaryIO) -> int:
    if read_exactly(file, 1) != b"\xff":
        raise Damaged
    marker = 0xFF
    while marker == 0xFF:
        marker = read_exactly(file, 1)[0]
    if marker == 0:
        raise Damaged
    return marker


def open_jpeg(path: Path, name: str, *, light_is_ink: bool) -> Picture:
    """The one plate of a JPEG file; colour is read as luminance."""
    header = read_header(path)
    tones = Tones(grey_table(8, black_is_zero=True, light_is_ink=light_is_ink))
    plate = Plate(name, path.name, header.rows, header.columns, header.dpi, two_level=False)

    def chunks(wanted: Sequence[int]) -> Chunks:
        for grey in spooled(lambda spool: _decode_whole(path, header, spool), header.rows, header.columns):
            yield (tones.ink(grey),)

    notes = [say("art.note.jpeg-edges", file=label(path), count=1)]
    if header.components > 1:
        notes.append(say("art.note.luminance", file=label(path), count=1))
    return Picture((plate,), chunks, tuple(notes))


def _decode_whole(path: Path, header: Header, spool: BinaryIO) -> None:
    """Luminance of the whole picture, written to ``spool`` row by row."""
    from PIL.JpegImagePlugin import JpegImageFile

    with opened(path) as file:
        file.seek(header.data_at)
        data = header.kept + file.read()
        if data.count(bytes((0xFF, SCAN))) > MOST_SCANS:
            raise Damaged(say("art.damage.too-many-scans"))
        if data.find(bytes((0xFF, END)), len(header.kept)) < 0:
            raise CutShort
        with decoding():
            image = JpegImageFile(io.BytesIO(data))
            if image.size != (header.columns, header.rows):
                raise Damaged
            image.draft("L", None)
            image.load()
        del data
        row = 0
        for count in pieces(header.rows, header.columns):
            part = image.crop((0, row, header.columns, row + count))
            spool.write((part if part.mode == "L" else part.convert("L")).tobytes())
            row += count
