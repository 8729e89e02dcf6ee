"""The pages of a TIFF file as they describe themselves, read within strict bounds.

Only the fields that plates need are looked at, every offset and count is held against the file's length before
anything is read, and a chain of pages that bites its own tail is told. TIFF and BigTIFF, both byte orders.

Source: TIFF Revision 6.0, 1992, published; BigTIFF: the published description of its field types 16 to 18.
"""

from __future__ import annotations

import struct
from dataclasses import dataclass, field
from pathlib import Path
from typing import BinaryIO

import numpy as np
import numpy.typing as npt

from setupassist.art.files import (
    MOST_TIFF_BYTES,
    CutShort,
    Damaged,
    check_file,
    check_size,
    label,
    opened,
    read_exactly,
)
from setupassist.art.resolution import CM_PER_INCH, file_dpi
from setupassist.documents.measure import MOST_PLATES
from setupassist.errors import InputFault
from setupassist.words import say

MOST_PAGES = 2 * MOST_PLATES + 64
MOST_FIELDS = 4096
MOST_DEPTHS_TOLD = 3
MOST_TEXT = 64 * 1024
MOST_SAMPLES = MOST_PLATES + 8
MOST_TILE_PIXELS = 1 << 26
LEAST_TILE_SIDE = 16
"""The standard has tile sides in multiples of 16; anything smaller only makes work."""
MOST_SMALL_SEGMENTS, SMALL_SEGMENT_PIXELS = 100_000, 2048
"""A strip or tile costs tens of microseconds whatever its size: beyond the first hundred thousand of a file they must
hold 2048 pixels each on average. Single rows of film hold more."""
BYTE, ASCII, SHORT, LONG, RATIONAL, UNDEFINED, LONG_8 = 1, 2, 3, 4, 5, 7, 16
TYPE_BYTES = {BYTE: 1, ASCII: 1, SHORT: 2, LONG: 4, RATIONAL: 8, 6: 1, UNDEFINED: 1, LONG_8: 8, 13: 4, 18: 8}
WHOLE_NUMBERS = {BYTE: "u1", SHORT: "u2", LONG: "u4", UNDEFINED: "u1", LONG_8: "u8", 13: "u4", 18: "u8"}

Numbers = npt.NDArray[np.uint64]


@dataclass(frozen=True)
class Entry:
    """One field of a directory: its type, how many values, and where they lie in the file."""

    kind: int
    count: int
    at: int


@dataclass(frozen=True)
class TiffPage:
    """One page: shape, samples, how its strips or tiles are packed and where they lie, and what it says of inks.

    ``offsets`` and ``counts`` are (planes, segments down, segments across). A strip is a segment of the full width.
    """

    number: int
    columns: int
    rows: int
    bits: int
    samples: int
    photometric: int
    compression: int
    predictor: int
    fill_order: int
    fax_options: int
    planar: bool
    big_endian: bool
    segment_columns: int
    segment_rows: int
    offsets: Numbers = field(repr=False)
    counts: Numbers = field(repr=False)
    extra_samples: tuple[int, ...]
    ink_set: int
    ink_count: int
    ink_names: tuple[str, ...]
    dot_range: tuple[int, ...]
    colour_map: tuple[int, ...] = field(repr=False)
    page_name: str
    dpi: float | None
    orientation: int
    subsampling: tuple[int, ...]
    jpeg_tables: bytes = field(repr=False)

    @property
    def tiled(self) -> bool:
        return self.offsets.shape[2] > 1 or self.segment_columns != self.columns

    @property
    def samples_stored(self) -> int:
        """Samples of one pixel that lie side by side in a segment."""
        return 1 if self.planar else self.samples

    @property
    def samples_apart(self) -> int:
        """Samples of one pixel that lie in segments of their own."""
        return self.samples if self.planar else 1

    @property
    def segment_row_bytes(self) -> int:
        """Bytes of one row of a segment."""
        return (self.segment_columns * self.samples_stored * self.bits + 7) // 8


def read_pages(path: Path) -> list[TiffPage]:
    """The full-size pages of a TIFF file, thumbnails and masks left out; InputFault for a bad or absurd one."""
    size = check_file(path, most_bytes=MOST_TIFF_BYTES)
    pages: list[TiffPage] = []
    segments = pixels = 0
    with opened(path) as file:
        directory = _Directory(path, file, size)
        seen: set[int] = set()
        at = directory.first
        while at:
            if at in seen:
                raise Damaged(say("art.damage.circle-of-pages"))
            if len(seen) >= MOST_PAGES:
                raise InputFault(
                    label(path), say("art.tiff.too-many-pages", most=MOST_PAGES), say("art.tiff.one-ink-a-page")
                )
            seen.add(at)
            at = directory.load(at)
            if not directory.number(254, 0) & 0b101:
                page = _page(directory, len(pages) + 1)
                pages.append(page)
                segments, pixels = segments + page.offsets.size, pixels + page.samples_apart * page.rows * page.columns
                _check_segments(path, segments, pixels, page.segment_columns, page.segment_rows)
    if not pages:
        raise InputFault(label(path), say("art.tiff.no-full-page"), say("art.file.export-plates-again"))
    return pages


class _Directory:
    """The fields of the page loaded last, read from the file when asked for."""

    def __init__(self, path: Path, file: BinaryIO, size: int) -> None:
        self.path, self.file, self.size = path, file, size
        self.entries: dict[int, Entry] = {}
        head = read_exactly(file, 8)
        self.order = {b"II": "<", b"MM": ">"}.get(head[:2], "")
        if not self.order:
            raise Damaged
        version = self._unpack("H", head[2:4])
        self.big = version == 43
        if self.big:
            if head[4:8] != struct.pack(self.order + "HH", 8, 0):
                raise Damaged
            self.first = self._unpack("Q", read_exactly(file, 8))
        elif version == 42:
            self.first = self._unpack("I", head[4:8])
        else:
            raise Damaged

    def _unpack(self, form: str, data: bytes) -> int:
        return int(struct.unpack(self.order + form, data)[0])

    def load(self, at: int) -> int:
        """Take up the page at ``at``; the place of the next one, 0 after the last."""
        count_bytes, entry_bytes, inline = (8, 20, 8) if self.big else (2, 12, 4)
        if at + count_bytes > self.size:
            raise CutShort
        self.file.seek(at)
        count = self._unpack("Q" if self.big else "H", read_exactly(self.file, count_bytes))
        if not 0 < count <= MOST_FIELDS:
            raise Damaged(say("art.damage.too-many-fields"))
        table = read_exactly(self.file, count * entry_bytes)
        follows = self.file.read(inline)
        self.entries = {}
        for number in range(count):
            start = number * entry_bytes
            tag, kind, values = struct.unpack_from(self.order + ("HHQ" if self.big else "HHI"), table, start)
            if kind not in TYPE_BYTES or not values:
                continue
            place = start + entry_bytes - inline
            at_value = at + count_bytes + place
            if values * TYPE_BYTES[kind] > inline:
                at_value = self._unpack("Q" if self.big else "I", table[place : place + inline])
            self.entries.setdefault(tag, Entry(kind, values, at_value))
        return self._unpack("Q" if self.big else "I", follows) if len(follows) == inline else 0

    def _bytes(self, entry: Entry, most: int) -> bytes:
        """The first ``most`` values of a field as bytes; CutShort where they lie beyond the file."""
        length = min(entry.count, most) * TYPE_BYTES[entry.kind]
        if entry.at + length > self.size:
            raise CutShort
        self.file.seek(entry.at)
        return read_exactly(self.file, length)

    def numbers(self, tag: int, most: int) -> Numbers:
        """At most ``most`` whole numbers of a field, none where it is missing."""
        entry = self.entries.get(tag)
        if entry is None:
            return np.zeros(0, np.uint64)
        if entry.kind not in WHOLE_NUMBERS:
            raise Damaged(say("art.damage.not-whole-number", field=tag))
        return np.frombuffer(self._bytes(entry, most), self.order + WHOLE_NUMBERS[entry.kind]).astype(np.uint64)

    def number(self, tag: int, default: int) -> int:
        """One whole number."""
        found = self.numbers(tag, 1)
        return int(found[0]) if found.size else default

    def small(self, tag: int, most: int) -> tuple[int, ...]:
        """A short list of whole numbers."""
        return tuple(int(value) for value in self.numbers(tag, most))

    def raw(self, tag: int) -> bytes:
        """The bytes of a field that is no number and no text, empty where it is missing."""
        entry = self.entries.get(tag)
        return b"" if entry is None or entry.kind not in (BYTE, UNDEFINED) else self._bytes(entry, MOST_TEXT)

    def ratio(self, tag: int) -> tuple[int, int]:
        """A rational number as (numerator, denominator), (0, 1) where it is missing."""
        entry = self.entries.get(tag)
        if entry is None or entry.kind != RATIONAL:
            return 0, 1
        above, below = struct.unpack(self.order + "II", self._bytes(entry, 1))
        return (above, below) if below else (0, 1)

    def texts(self, tag: int) -> tuple[str, ...]:
        """The strings of a text field: 7-bit by the standard, UTF-8 or else Latin-1 in practice."""
        entry = self.entries.get(tag)
        if entry is None or entry.kind not in (ASCII, BYTE, UNDEFINED):
            return ()
        raw = self._bytes(entry, MOST_TEXT)
        try:
            text = raw.decode("utf-8")
        except UnicodeDecodeError:
            text = raw.decode("latin-1")
        return tuple(part.strip() for part in text.rstrip("\0").split("\0"))


def _page(fields: _Directory, number: int) -> TiffPage:
    """The page that is loaded, its shape checked before anything large is read."""
    path = fields.path
    columns, rows = fields.number(256, 0), fields.number(257, 0)
    check_size(path, columns, rows)
    samples = fields.number(277, 1)
    depths = set(fields.small(258, MOST_SAMPLES)) or {1}
    formats = set(fields.small(339, MOST_SAMPLES)) or {1}
    if not 1 <= samples <= MOST_SAMPLES:
        told = say("art.tiff.too-many-samples", samples=samples)
        raise InputFault(label(path), told, say("art.tiff.most", most=MOST_PLATES))
    if len(depths) != 1 or not depths <= {1, 2, 4, 8, 16} or not formats <= {1, 4}:
        told = say("art.tiff.number-format")
        if formats <= {1, 4}:
            shown = [str(depth) for depth in sorted(depths)[:MOST_DEPTHS_TOLD]] + ["…"] * (
                len(depths) > MOST_DEPTHS_TOLD
            )
            told = say("art.tiff.bit-depth", bits="/".join(shown))
        raise InputFault(label(path), told, say("art.tiff.export-bits"))
    planar = fields.number(284, 1) == 2 and samples > 1
    tiled = 322 in fields.entries
    segment_columns = fields.number(322, 0) if tiled else columns
    segment_rows = fields.number(323, 0) if tiled else min(fields.number(278, rows), rows)
    if min(segment_columns, segment_rows) < 1 or (tiled and segment_columns * segment_rows > MOST_TILE_PIXELS):
        raise Damaged(say("art.damage.absurd-tiles" if tiled else "art.damage.absurd-strips"))
    shape = (samples if planar else 1, -(-rows // segment_rows), -(-columns // segment_columns))
    if tiled and min(segment_columns, segment_rows) < LEAST_TILE_SIDE:
        told = say("art.tiff.small-tiles", columns=segment_columns, rows=segment_rows)
        raise InputFault(label(path), told, say("art.tiff.save-strips"))
    _check_segments(path, shape[0] * shape[1] * shape[2], shape[0] * rows * columns, segment_columns, segment_rows)
    bits = depths.pop()
    row_bytes = (segment_columns * (1 if planar else samples) * bits + 7) // 8
    offsets, counts = _places(fields, shape, segment_rows, row_bytes, tiled=tiled)
    return TiffPage(
        number=number,
        columns=columns,
        rows=rows,
        bits=bits,
        samples=samples,
        photometric=fields.number(262, 1),
        compression=fields.number(259, 1),
        predictor=fields.number(317, 1),
        fill_order=fields.number(266, 1),
        fax_options=fields.number(292, 0),
        planar=planar,
        big_endian=fields.order == ">",
        segment_columns=segment_columns,
        segment_rows=segment_rows,
        offsets=offsets,
        counts=counts,
        extra_samples=fields.small(338, MOST_SAMPLES),
        ink_set=fields.number(332, 1),
        ink_count=fields.number(334, 0),
        ink_names=fields.texts(333),
        dot_range=fields.small(336, 2 * MOST_SAMPLES),
        colour_map=fields.small(320, 3 << bits) if bits <= 8 else (),
        page_name=next(iter(fields.texts(285)), ""),
        dpi=_dpi(fields),
        orientation=fields.number(274, 1),
        subsampling=fields.small(530, 2),
        jpeg_tables=fields.raw(347),
    )


def _check_segments(path: Path, count: int, pixels: int, columns: int, rows: int) -> None:
    """InputFault where ``pixels`` are cut into so many strips or tiles that they would take minutes to read."""
    if count > MOST_SMALL_SEGMENTS and pixels < count * SMALL_SEGMENT_PIXELS:
        told = say("art.tiff.many-segments", count=count, columns=columns, rows=rows)
        raise InputFault(label(path), told, say("art.tiff.save-large-strips"))


def _places(
    fields: _Directory, shape: tuple[int, int, int], segment_rows: int, row_bytes: int, *, tiled: bool
) -> tuple[Numbers, Numbers]:
    """Where the segments lie and how long they are, shaped (planes, down, across) and held against the file."""
    expected = shape[0] * shape[1] * shape[2]
    offset_tag, count_tag = (324, 325) if tiled else (273, 279)
    offsets, counts = fields.numbers(offset_tag, expected), fields.numbers(count_tag, expected)
    if offsets.size < expected:
        raise Damaged(say("art.damage.segments-missing"))
    if not counts.size:
        # old writers leave the lengths out: each segment may then run to the next one, or to the end of the file
        ends = np.append(np.sort(offsets)[1:], np.uint64(fields.size))
        counts = np.maximum(ends[np.argsort(np.argsort(offsets))], offsets) - offsets
    if counts.size < expected:
        raise Damaged(say("art.damage.segments-no-length"))
    if not counts.all() or not offsets.all():
        raise Damaged(say("art.damage.segments-empty"))
    size = np.uint64(fields.size)
    if fields.number(259, 1) == 1:
        heights = np.full(shape, segment_rows, np.uint64)
        if not tiled:
            heights[:, -1] = fields.number(257, 0) - segment_rows * (shape[1] - 1)
        counts = (heights * np.uint64(row_bytes)).ravel()
    if (offsets > size).any() or (counts > size - offsets).any():
        raise CutShort
    return offsets.reshape(shape), counts.reshape(shape)


def _dpi(fields: _Directory) -> float | None:
    """Dots per inch from the resolution fields."""
    across, down = fields.ratio(282), fields.ratio(283)
    inch = {2: 1.0, 3: CM_PER_INCH}.get(fields.number(296, 2))
    step = 1.0 / across[1] if across[1] < 100 and inch != 1.0 else 0.0
    return file_dpi(label(fields.path), across[0] / across[1], down[0] / down[1], units_per_inch=inch, step=step)
