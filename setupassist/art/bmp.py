"""Plates out of BMP files.

Plain files of 1, 4, 8, 24 and 32 bits are read in bands straight from the file. Run-length packed ones and those of
other depths cannot be: they are decoded as a whole, one at a time, into a temporary file.

Source: Windows bitmap file structure (BITMAPFILEHEADER, BITMAPINFOHEADER and later), published.
"""

from __future__ import annotations

import struct
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import BinaryIO

import numpy as np

from setupassist.art.bands import Chunks, Picture, pieces, spooled
from setupassist.art.files import CutShort, Damaged, check_file, check_size, decoding, label, opened, read_exactly
from setupassist.art.plates import Plate, Rows
from setupassist.art.resolution import file_dpi
from setupassist.art.samples import Tones, grey_table, luminance, unpacked
from setupassist.words import say

INCHES_PER_METRE = 0.0254
PLAIN, BIT_FIELDS = 0, 3


@dataclass(frozen=True)
class Header:
    """What a BMP says before its pixels."""

    columns: int
    rows: int
    bottom_up: bool
    bits: int
    packing: int
    dpi: float | None
    data_at: int
    palette: bytes
    palette_step: int

    @property
    def stride(self) -> int:
        """Bytes of a stored row, which fills whole groups of four."""
        return (self.columns * self.bits + 31) // 32 * 4

    @property
    def in_bands(self) -> bool:
        return self.packing == PLAIN and self.bits in (1, 4, 8, 24, 32)


def read_header(path: Path) -> Header:
    """The header of a BMP file; InputFault for a bad, cut or absurdly large one."""
    size = check_file(path)
    with opened(path) as file:
        magic, data_at, head_bytes = struct.unpack("<2s8xII", read_exactly(file, 18))
        if magic != b"BM":
            raise Damaged
        across = down = used = packing = 0
        if head_bytes == 12:
            columns, rows, _, bits = struct.unpack("<HHHH", read_exactly(file, 8))
        elif 40 <= head_bytes <= 124:
            columns, rows, _, bits, packing, _, across, down, used = struct.unpack("<iiHHIIiiI", read_exactly(file, 32))
        else:
            raise Damaged(say("art.damage.header-unknown"))
        check_size(path, columns, abs(rows))
        if bits not in (1, 4, 8, 16, 24, 32) or packing > 6:
            raise Damaged(say("art.damage.not-a-bmp"))
        step = 3 if head_bytes == 12 else 4
        entries = min(used or 1 << bits, 1 << bits) if bits <= 8 else 0
        file.seek(14 + head_bytes)
        header = Header(
            columns=columns,
            rows=abs(rows),
            bottom_up=rows > 0,
            bits=bits,
            packing=packing,
            dpi=file_dpi(label(path), across, down, units_per_inch=INCHES_PER_METRE, step=1),
            data_at=data_at,
            palette=read_exactly(file, entries * step),
            palette_step=step,
        )
        if header.in_bands and data_at + header.stride * header.rows > size:
            raise CutShort
        if not header.in_bands:
            check_size(path, columns, abs(rows), whole=True)
    return header


def open_bmp(path: Path, name: str, *, light_is_ink: bool) -> Picture:
    """The one plate of a BMP file; colour is read as luminance."""
    header = read_header(path)
    tones = _tones(header, light_is_ink=light_is_ink)
    plate = Plate(name, path.name, header.rows, header.columns, header.dpi, tones.two_level)

    def chunks(wanted: Sequence[int]) -> Chunks:
        if header.in_bands:
            with opened(path) as file:
                row = 0
                for count in pieces(header.rows, header.stride):
                    raw = _stored_rows(file, header, row, count)
                    yield (_inked(raw, header, tones),)
                    row += count
            return
        for grey in spooled(lambda spool: _decode_whole(path, header, spool), header.rows, header.columns):
            yield (tones.ink(grey),)

    notes = [say("art.note.luminance", file=label(path), count=1)] if header.bits > 8 else []
    return Picture((plate,), chunks, tuple(notes))


def _tones(header: Header, *, light_is_ink: bool) -> Tones:
    """How palette indices, or the luminance of pixels, become ink."""
    inks = grey_table(8, black_is_zero=True, light_is_ink=light_is_ink)
    if header.bits > 8 or not header.in_bands:
        return Tones(inks)
    colours = np.zeros((1 << header.bits, 3), np.uint8)
    listed = np.frombuffer(header.palette, np.uint8).reshape(-1, header.palette_step)[:, :3]
    colours[: listed.shape[0]] = listed
    blue, green, red = colours.T
    return Tones(inks[luminance(red, green, blue)])


def _stored_rows(file: BinaryIO, header: Header, row: int, count: int) -> Rows:
    """Stored rows (count, stride) from picture row ``row`` on, top row first."""
    first = header.rows - row - count if header.bottom_up else row
    file.seek(header.data_at + first * header.stride)
    raw = np.frombuffer(read_exactly(file, count * header.stride), np.uint8).reshape(count, header.stride)
    return raw[::-1] if header.bottom_up else raw


def _inked(raw: Rows, header: Header, tones: Tones) -> Rows:
    if tones.two_level:
        return tones.bits(raw, header.columns)
    if header.bits <= 8:
        return tones.ink(unpacked(raw, header.columns, header.bits, big_endian=True))
    pixels = raw[:, : header.columns * header.bits // 8].reshape(len(raw), header.columns, -1)
    return tones.ink(luminance(pixels[..., 2], pixels[..., 1], pixels[..., 0]))


def _decode_whole(path: Path, header: Header, spool: BinaryIO) -> None:
    """Luminance of the whole picture, written to ``spool`` row by row."""
    from PIL.BmpImagePlugin import BmpImageFile

    with opened(path) as file, decoding():
        image = BmpImageFile(file)
        if image.size != (header.columns, header.rows):
            raise Damaged
        image.load()
        row = 0
        for count in pieces(header.rows, header.columns):
            part = image.crop((0, row, header.columns, row + count)).convert("L")
            spool.write(part.tobytes())
            row += count
