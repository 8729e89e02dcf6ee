"""Strips and tiles of a TIFF page decoded into samples, a piece of rows at a time.

Plain strips are read straight from the file, and Deflate and LZMA are taken out in pieces, whatever the strip's height.
LZW, PackBits, CCITT, Zstandard and JPEG strips are handed to Pillow's libtiff, each wrapped as a small TIFF of its own,
and a strip above ``MOST_HELD_BYTES`` goes through a temporary file, so that of many such plates one at most is in
memory.

Source: TIFF Revision 6.0, 1992; Technical Note 2 of 1995 on JPEG, and of 2002 on Deflate; all published. The numbers of
LZMA and Zstandard: common practice of writers.
"""

from __future__ import annotations

import io
import struct
from collections.abc import Generator, Iterator, Sequence
from itertools import accumulate
from typing import TYPE_CHECKING, BinaryIO

import numpy as np

from setupassist.art.bands import pieces, rows_a_piece, spooled
from setupassist.art.files import CutShort, Damaged, Inflater, decoding, read_exactly
from setupassist.art.libtiff_errors import heeding_libtiff
from setupassist.art.plates import Rows
from setupassist.art.samples import Samples, unpacked
from setupassist.art.tiff_tags import TiffPage
from setupassist.words import say

if TYPE_CHECKING:
    from PIL.Image import Image

NONE, LZW, JPEG, PACK_BITS, LZMA, ZSTANDARD = 1, 5, 7, 32773, 34925, 50000
FAX = (2, 3, 4)
DEFLATE = (8, 32946)
IN_PIECES = (NONE, *DEFLATE, LZMA)
"""Packings that are taken out a piece of rows at a time, whatever the strip's height."""
READABLE = (*IN_PIECES, *FAX, LZW, PACK_BITS, ZSTANDARD, JPEG)
DIFFERENCES = 2
PREDICTED = (LZW, *DEFLATE, LZMA, ZSTANDARD)
"""Packings that a predictor goes with; writers leave the field standing with others, where it means nothing."""
LOWEST_BIT_FIRST = 2
RGB, SEPARATED, YCBCR = 2, 5, 6
MOST_LZMA_BYTES = 256 * 1024 * 1024
JPEG_SCAN, JPEG_END, MOST_JPEG_SCANS = b"\xff\xda", b"\xff\xd9", 200
LONG, UNDEFINED = 4, 7
MOST_HELD_BYTES = 4 * 1024 * 1024
TOGETHER_BYTES = 512 * 1024
READ_BYTES = 64 * 1024
REVERSED = bytes(int(f"{value:08b}"[::-1], 2) for value in range(256))


def packed_rows(file: BinaryIO, page: TiffPage, plane: int) -> Generator[Rows]:
    """Pieces of raw rows (rows, row bytes) of an untiled page, from the top; a predictor is left as it is."""
    strips = page.offsets.shape[1]
    together = 1  # small strips are unpacked several at a time
    if page.compression not in IN_PIECES:
        together = max(1, TOGETHER_BYTES // (page.segment_rows * page.segment_row_bytes))
    for first in range(0, strips, together):
        count = min(together, strips - first)
        height = min(count * page.segment_rows, page.rows - first * page.segment_rows)
        yield from _segments(file, page, (plane, first, 0), count, height)


def sample_rows(file: BinaryIO, page: TiffPage, plane: int) -> Generator[Samples]:
    """Pieces of samples (rows, columns, samples stored side by side) of a page, from the top."""
    if not page.tiled:
        for raw in packed_rows(file, page, plane):
            yield _samples(raw, page)
        return
    for down in range(page.offsets.shape[1]):
        height = min(page.segment_rows, page.rows - down * page.segment_rows)
        row_of_tiles = np.empty((height, page.columns, page.samples_stored), np.uint16 if page.bits == 16 else np.uint8)
        for across in range(page.offsets.shape[2]):
            left, row = across * page.segment_columns, 0
            for raw in _segments(file, page, (plane, down, across), 1, page.segment_rows):
                part = _samples(raw, page)[: max(0, height - row), : page.columns - left]
                row_of_tiles[row : row + len(part), left : left + part.shape[1]] = part
                row += len(raw)
        each = rows_a_piece(page.columns * page.samples_stored)
        for row in range(0, height, each):
            yield row_of_tiles[row : row + each]


def _samples(raw: Rows, page: TiffPage) -> Samples:
    """Samples (rows, segment columns, samples stored) of raw rows, the predictor undone."""
    width, stored = page.segment_columns, page.samples_stored
    values = unpacked(raw, width * stored, page.bits, big_endian=page.big_endian)
    if page.predictor == DIFFERENCES and page.compression in PREDICTED:
        native = np.dtype(np.uint16 if page.bits == 16 else np.uint8)
        summed = np.empty(values.shape, native)
        for sample in range(stored):  # one sample at a time: sums along short inner axes are many times slower
            np.add.accumulate(values[:, sample::stored], axis=1, dtype=native, out=summed[:, sample::stored])
        values = summed
    samples: Samples = values.reshape(len(raw), width, stored)
    return samples


def _segments(file: BinaryIO, page: TiffPage, first: tuple[int, int, int], count: int, height: int) -> Iterator[Rows]:
    """Pieces of raw rows, ``height`` in all, of one strip or tile, or of ``count`` strips that follow each other."""
    at, length = int(page.offsets[first]), int(page.counts[first])
    row_bytes = page.segment_row_bytes
    if page.compression == NONE:
        return _stored(file, page, at, height, row_bytes)
    if page.compression in DEFLATE:
        return _inflated(_file_pieces(file, page, at, length), height, row_bytes)
    if page.compression == LZMA:
        return _unxz(_file_pieces(file, page, at, length), height, row_bytes)
    if height * row_bytes <= MOST_HELD_BYTES:
        return iter([_rows_of(_wrapped(file, page, first, count, height), 0, height, row_bytes)])

    def write(spool: BinaryIO) -> None:
        image, row = _wrapped(file, page, first, count, height), 0
        for piece in pieces(height, row_bytes):
            spool.write(_rows_of(image, row, piece, row_bytes).tobytes())
            row += piece

    return spooled(write, height, row_bytes)


def _stored(file: BinaryIO, page: TiffPage, at: int, height: int, row_bytes: int) -> Generator[Rows]:
    for count in pieces(height, row_bytes):
        file.seek(at)
        data = read_exactly(file, count * row_bytes)
        at += len(data)
        if page.fill_order == LOWEST_BIT_FIRST:
            data = data.translate(REVERSED)
        yield np.frombuffer(data, np.uint8).reshape(count, row_bytes)


def _file_pieces(file: BinaryIO, page: TiffPage, at: int, count: int) -> Generator[bytes]:
    """The bytes of a segment; the place in the file is kept here, for other segments may be read in between."""
    end = at + count
    while at < end:
        file.seek(at)
        data = read_exactly(file, min(READ_BYTES, end - at))
        at += len(data)
        yield data.translate(REVERSED) if page.fill_order == LOWEST_BIT_FIRST else data


def _inflated(data: Iterator[bytes], height: int, row_bytes: int) -> Generator[Rows]:
    inflater = Inflater(data)
    for count in pieces(height, row_bytes):
        yield np.frombuffer(inflater.take(count * row_bytes), np.uint8).reshape(count, row_bytes)


def _unxz(data: Iterator[bytes], height: int, row_bytes: int) -> Generator[Rows]:
    from lzma import FORMAT_XZ, LZMADecompressor

    engine = LZMADecompressor(FORMAT_XZ, memlimit=MOST_LZMA_BYTES)
    for count in pieces(height, row_bytes):
        wanted, parts = count * row_bytes, []
        while wanted:
            if engine.eof:
                raise CutShort
            piece = next(data, b"") if engine.needs_input else b""
            if engine.needs_input and not piece:
                raise CutShort
            with decoding():
                parts.append(engine.decompress(piece, wanted))
            wanted -= len(parts[-1])
        yield np.frombuffer(b"".join(parts), np.uint8).reshape(count, row_bytes)


def _wrapped(file: BinaryIO, page: TiffPage, first: tuple[int, int, int], count: int, height: int) -> Image:
    """Decoded segments as a picture, by way of a TIFF with these strips alone.

    A picture of bytes, but two-level for CCITT, and of the page's own pixels for JPEG. Photometric 1 hands the stored
    values on as they are. Differences are left to ``_samples``.
    """
    from PIL.TiffImagePlugin import TiffImageFile

    jpeg = page.compression == JPEG
    width, bits, samples, photometric = page.segment_row_bytes, 8, 1, 1
    if page.compression in FAX:
        width, bits = page.segment_columns, 1
    if jpeg:
        width, samples = page.segment_columns, page.samples_stored
        photometric = {1: 1, 4: SEPARATED}.get(samples, YCBCR if page.photometric == YCBCR else RGB)
    plane, down, across = first
    strips = []
    for number in range(down, down + count):
        file.seek(int(page.offsets[plane, number, across]))
        strips.append(read_exactly(file, int(page.counts[plane, number, across])))
    if jpeg:
        for strip in strips:
            if strip.count(JPEG_SCAN) > MOST_JPEG_SCANS:
                raise Damaged(say("art.damage.too-many-scans"))
            if strip.rfind(JPEG_END) < 0:
                raise CutShort
    fields: list[tuple[int, Sequence[int] | bytes]] = [
        (256, [width]),
        (257, [height]),
        (258, [bits] * samples),
        (259, [page.compression]),
        (262, [photometric]),
        (266, [LOWEST_BIT_FIRST if page.fill_order == LOWEST_BIT_FIRST else 1]),
        (273, [0] * count),
        (277, [samples]),
        (278, [min(height, page.segment_rows)]),
        (279, [len(strip) for strip in strips]),
        *([(292, [page.fax_options])] if page.compression == 3 else []),
        *([(347, page.jpeg_tables)] if jpeg and page.jpeg_tables else []),
        *([(530, page.subsampling)] if photometric == YCBCR and page.subsampling else []),
    ]
    with decoding(), heeding_libtiff():
        image = TiffImageFile(io.BytesIO(_small_tiff(fields, strips)))
        if image.size != (width, height):
            raise Damaged
        image.load()
    return image


def _small_tiff(fields: Sequence[tuple[int, Sequence[int] | bytes]], strips: Sequence[bytes]) -> bytes:
    """A TIFF of one page: its fields, long or of bytes, then the lists that fit into no field, then the strips."""
    lists_at = 8 + 2 + 12 * len(fields) + 4
    size = {tag: len(given) * (1 if isinstance(given, bytes) else 4) for tag, given in fields}
    strips_at = lists_at + sum(length for length in size.values() if length > 4)
    offsets = [strips_at + before for before in accumulate((len(strip) for strip in strips[:-1]), initial=0)]
    head, lists = struct.pack("<2sHIH", b"II", 42, 8, len(fields)), b""
    for tag, given in fields:
        values = offsets if tag == 273 else given
        data = values if isinstance(values, bytes) else struct.pack(f"<{len(values)}I", *values)
        kind = UNDEFINED if isinstance(values, bytes) else LONG
        head += struct.pack("<HHI", tag, kind, len(values))
        head += struct.pack("<I", lists_at + len(lists)) if len(data) > 4 else data.ljust(4, b"\0")
        lists += data if len(data) > 4 else b""
    return head + bytes(4) + lists + b"".join(strips)


def _rows_of(image: Image, row: int, count: int, row_bytes: int) -> Rows:
    part = image if (row, count) == (0, image.height) else image.crop((0, row, image.width, row + count))
    return np.frombuffer(part.tobytes(), np.uint8).reshape(count, row_bytes)
