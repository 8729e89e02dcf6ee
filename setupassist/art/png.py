"""Plates out of PNG files, read in bands.

The Deflate stream is taken out a piece of rows at a time, and Pillow undoes the row filters of each piece: row
filters look back by whole bytes and one row, so a piece is a picture of bytes whose first row is the last row of
the piece before, stored unfiltered. That is exact for every depth. Interlaced files cannot be read in bands: they
are decoded as a whole, one at a time, into a temporary file.

Source: Portable Network Graphics (PNG) Specification, third edition, W3C; published.
"""

from __future__ import annotations

import struct
import zlib
from collections.abc import Generator, Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import BinaryIO

import numpy as np

from setupassist.art.bands import Chunks, Picture, pieces, spooled, width_of
from setupassist.art.files import (
    CutShort,
    Damaged,
    Inflater,
    check_enough_data,
    check_file,
    check_size,
    decoding,
    label,
    opened,
    read_exactly,
)
from setupassist.art.plates import Bits, Plate, Rows
from setupassist.art.resolution import file_dpi
from setupassist.art.samples import Table, Tones, covered, eight_bits, grey_table, luminance, unpacked
from setupassist.words import say

SIGNATURE = b"\x89PNG\r\n\x1a\n"
MOST_CHUNKS = 300_000
READ_BYTES = 64 * 1024
INCHES_PER_METRE = 0.0254
GREY, COLOUR, PALETTE, GREY_ALPHA, COLOUR_ALPHA = 0, 2, 3, 4, 6
SAMPLES = {GREY: 1, COLOUR: 3, PALETTE: 1, GREY_ALPHA: 2, COLOUR_ALPHA: 4}
DEPTHS = {GREY: (1, 2, 4, 8, 16), PALETTE: (1, 2, 4, 8), COLOUR: (8, 16), GREY_ALPHA: (8, 16), COLOUR_ALPHA: (8, 16)}
MODES = {1: "L", 2: "LA", 3: "RGB", 4: "RGBA"}
INTERLACE_PASSES = ((0, 0, 8, 8), (4, 0, 8, 8), (0, 4, 4, 8), (2, 0, 4, 4), (0, 2, 2, 4), (1, 0, 2, 2), (0, 1, 1, 2))
"""First column, first row, step across, step down of each pass (Adam7)."""


@dataclass(frozen=True)
class Header:
    """What a PNG says before its pixels; ``data_at`` is where its first data chunk starts."""

    columns: int
    rows: int
    bits: int
    kind: int
    interlaced: bool
    palette: bytes
    see_through: bytes
    dpi: float | None
    data_at: int

    @property
    def samples(self) -> int:
        return SAMPLES[self.kind]

    def row_bytes(self, columns: int) -> int:
        """Bytes of a row of ``columns`` pixels, without its filter byte."""
        return (columns * self.samples * self.bits + 7) // 8

    @property
    def passes(self) -> Iterator[tuple[int, int, int, int]]:
        """First column, first row and steps of each pass that has pixels."""
        if not self.interlaced:
            yield 0, 0, 1, 1
            return
        for x, y, across, down in INTERLACE_PASSES:
            if x < self.columns and y < self.rows:
                yield x, y, across, down


def read_header(path: Path) -> Header:
    """The header of a PNG file, its chunks walked to the end; InputFault for a bad, cut or absurdly large one."""
    size = check_file(path)
    with opened(path) as file:
        if read_exactly(file, 8) != SIGNATURE:
            raise Damaged
        length, kind = struct.unpack(">I4s", read_exactly(file, 8))
        head = read_exactly(file, 17)
        if kind != b"IHDR" or length != 13 or zlib.crc32(b"IHDR" + head[:13]) != int.from_bytes(head[13:], "big"):
            raise Damaged(say("art.damage.header-broken"))
        columns, rows, bits, colour, method, filters, interlace = struct.unpack(">IIBBBBB", head[:13])
        check_size(path, columns, rows, whole=bool(interlace))
        if bits not in DEPTHS.get(colour, ()) or method or filters or interlace > 1:
            raise Damaged(say("art.damage.not-a-png"))
        kept, data_at = _walk(file, size)
        if data_at is None:
            raise Damaged(say("art.damage.no-picture-data"))
        if colour == PALETTE and not kept.get(b"PLTE"):
            raise Damaged(say("art.damage.no-palette"))
        across, down, unit = struct.unpack(">IIB", kept[b"pHYs"]) if len(kept.get(b"pHYs", b"")) == 9 else (0, 0, 0)
        header = Header(
            columns=columns,
            rows=rows,
            bits=bits,
            kind=colour,
            interlaced=bool(interlace),
            palette=kept.get(b"PLTE", b"")[:768],
            see_through=kept.get(b"tRNS", b""),
            dpi=file_dpi(label(path), across, down, units_per_inch=INCHES_PER_METRE if unit == 1 else None, step=1),
            data_at=data_at,
        )
        check_enough_data(path, rows * header.row_bytes(columns), size)
        return header


def _walk(file: BinaryIO, size: int) -> tuple[dict[bytes, bytes], int | None]:
    """The chunks that are of use, and where the first data chunk starts; CutShort where one passes the file's end."""
    kept: dict[bytes, bytes] = {}
    data_at = None
    for _ in range(MOST_CHUNKS):
        at = file.tell()
        length, kind = struct.unpack(">I4s", read_exactly(file, 8))
        if at + 12 + length > size:
            raise CutShort
        if kind == b"IEND":
            return kept, data_at
        if kind == b"IDAT" and data_at is None:
            data_at = at
        if kind in (b"PLTE", b"pHYs", b"tRNS") and length <= 1024:
            kept.setdefault(kind, read_exactly(file, length))
        file.seek(at + 12 + length)
    raise Damaged(say("art.damage.too-many-chunks"))


def open_png(path: Path, name: str, *, light_is_ink: bool) -> Picture:
    """The one plate of a PNG file; colour is read as luminance, and what is see-through bears no ink."""
    header = read_header(path)
    tones = _tones(header, light_is_ink=light_is_ink)
    plate = Plate(name, path.name, header.rows, header.columns, header.dpi, tones.two_level)

    def chunks(wanted: Sequence[int]) -> Chunks:
        if not header.interlaced:
            with opened(path) as file:
                inflater = Inflater(_data(file, header))
                for raw in _raw_rows(inflater, header, header.columns, header.rows):
                    yield (_inked(raw, header, tones, header.columns),)
                inflater.check_end()
            return
        for rows in spooled(lambda spool: _deinterlace(path, header, tones, spool), plate.rows, width_of(plate)):
            yield (rows,)

    notes = []
    if header.kind in (GREY_ALPHA, COLOUR_ALPHA) or header.see_through:
        notes.append(say("art.note.see-through", file=label(path)))
    if header.kind in (COLOUR, COLOUR_ALPHA):
        notes.append(say("art.note.luminance", file=label(path), count=1))
    return Picture((plate,), chunks, tuple(notes))


def _tones(header: Header, *, light_is_ink: bool) -> Tones:
    """How the samples of the file, or the luminance of its pixels, become ink."""
    if header.kind == PALETTE:
        return Tones(_palette_inks(header, grey_table(8, black_is_zero=True, light_is_ink=light_is_ink)))
    bits = 8 if header.samples > 2 else header.bits
    table = grey_table(bits, black_is_zero=True, light_is_ink=light_is_ink)
    if header.kind == GREY and len(header.see_through) == 2:
        table[int.from_bytes(header.see_through, "big") & ((1 << bits) - 1)] = 0
    return Tones(table)


def _palette_inks(header: Header, inks: Table) -> Table:
    """Ink of each palette entry; an index without an entry counts as black, as decoders do."""
    colours = np.zeros((1 << header.bits, 3), np.uint8)
    listed = np.frombuffer(header.palette[: len(header.palette) // 3 * 3], np.uint8).reshape(-1, 3)
    listed = listed[: colours.shape[0]]
    colours[: listed.shape[0]] = listed
    alpha = np.full(colours.shape[0], 255, np.uint8)
    told = np.frombuffer(header.see_through[: alpha.size], np.uint8)
    alpha[: told.size] = told
    return covered(inks[luminance(*colours.T)], alpha)


def _inked(raw: Rows, header: Header, tones: Tones, columns: int) -> Bits | Rows:
    """Ink of raw rows as a Picture yields it."""
    return tones.bits(raw, columns) if tones.two_level else _toned(raw, header, tones, columns)


def _toned(raw: Rows, header: Header, tones: Tones, columns: int) -> Rows:
    """Ink 0..255 (rows, columns) of raw rows, less where they are see-through."""
    if header.kind == COLOUR:
        return tones.ink(raw)
    if header.kind == COLOUR_ALPHA:
        return covered(tones.ink(raw[:, ::2]), raw[:, 1::2])
    values = unpacked(raw, columns * header.samples, header.bits, big_endian=True)
    ink = tones.ink(values[:, :: header.samples])
    if header.kind != GREY_ALPHA:
        return ink
    alpha = values[:, 1::2]
    return covered(ink, eight_bits(alpha))


def _data(file: BinaryIO, header: Header) -> Generator[bytes]:
    """The compressed data in pieces, each chunk's check sum checked."""
    file.seek(header.data_at)
    while True:
        length, kind = struct.unpack(">I4s", read_exactly(file, 8))
        if kind != b"IDAT":
            return
        check = zlib.crc32(kind)
        while length:
            piece = read_exactly(file, min(length, READ_BYTES))
            length -= len(piece)
            check = zlib.crc32(piece, check)
            yield piece
        if check != int.from_bytes(read_exactly(file, 4), "big"):
            raise Damaged(say("art.damage.check-sum"))


def _raw_rows(inflater: Inflater, header: Header, columns: int, rows: int) -> Generator[Rows]:
    """Pieces of rows with their filters undone: rows of bytes; for colour, of luminance (and alpha, side by side)."""
    row_bytes = header.row_bytes(columns)
    deep_colour = header.bits == 16 and header.samples > 2
    prior = None
    for count in pieces(rows, row_bytes):
        filtered = inflater.take(count * (row_bytes + 1))
        width, pixel_bytes = row_bytes, max(1, header.samples * header.bits // 8)
        if deep_colour:  # filters never mix upper and lower bytes: the upper ones alone are a picture of 8 bits
            upper = np.frombuffer(filtered, np.uint8).reshape(count, -1)
            filtered = np.concatenate((upper[:, :1], upper[:, 1::2]), axis=1).tobytes()
            width, pixel_bytes = row_bytes // 2, header.samples
        raw, grey = _unfiltered(filtered, count, width, pixel_bytes, prior)
        prior = raw[-1].tobytes()
        yield grey if header.samples > 2 else raw


def _unfiltered(filtered: bytes, rows: int, row_bytes: int, pixel_bytes: int, prior: bytes | None) -> tuple[Rows, Rows]:
    """Raw rows (rows, row bytes) of filtered ones, and their luminance where a pixel has three bytes or more."""
    from PIL import Image

    skip = 0 if prior is None else 1
    if prior is not None:
        filtered = b"\0" + prior + filtered
    mode = MODES[pixel_bytes]
    with decoding():
        image = Image.frombytes(
            mode, (row_bytes // pixel_bytes, rows + skip), zlib.compress(filtered, 0), "zip", mode, 0
        )
        raw = np.asarray(image).reshape(rows + skip, row_bytes)[skip:]
        grey = np.asarray(image.convert("L"))[skip:] if pixel_bytes > 2 else raw
    if pixel_bytes == 4:
        grey = np.stack((grey, raw[:, 3::4]), axis=-1).reshape(rows, -1)
    return raw, grey


def _deinterlace(path: Path, header: Header, tones: Tones, spool: BinaryIO) -> None:
    """The whole picture decoded pass by pass and written to ``spool`` as a Picture yields it."""
    ink = np.empty((header.rows, header.columns), np.uint8)
    with opened(path) as file:
        inflater = Inflater(_data(file, header))
        for x, y, across, down in header.passes:
            target = ink[y::down, x::across]
            row = 0
            for raw in _raw_rows(inflater, header, target.shape[1], target.shape[0]):
                target[row : row + len(raw)] = _toned(raw, header, tones, target.shape[1])
                row += len(raw)
        inflater.check_end()
    row = 0
    for count in pieces(header.rows, header.columns):
        part = ink[row : row + count]
        spool.write((np.packbits(part, axis=1) if tones.two_level else part).tobytes())
        row += count
