"""Pictures of any inner layout handed on as bands of equal height, plates side by side."""

from __future__ import annotations

import tempfile
import unicodedata
from collections.abc import Callable, Generator, Iterator, Sequence
from contextlib import ExitStack, closing
from dataclasses import dataclass, replace
from functools import partial
from typing import BinaryIO

import numpy as np

from setupassist.art.files import short
from setupassist.art.plates import Bits, Note, Plate, PlateSet, Rows, Stream
from setupassist.art.samples import rows_of_bits
from setupassist.errors import InputFault, MachineFault, system_reason
from setupassist.words import joined, say

MOST_ODD_TOLD = 4
PIECE_BYTES = 192 * 1024
"""Rows are decoded in pieces of about this size: small enough for many plates, large enough to be quick."""

Chunk = tuple[Bits | Rows, ...]
Chunks = Generator[Chunk]


@dataclass(frozen=True)
class Picture:
    """One file, or one page of it, with one or more plates that are decoded in the same pass.

    ``chunks`` takes the indices of the wanted plates and yields, from the top, tuples of equal height with an array
    for each: packed bits for a plate whose ``two_level`` is True, else rows of ink.
    """

    plates: tuple[Plate, ...]
    chunks: Callable[[Sequence[int]], Chunks]
    notes: tuple[str | Note, ...] = ()


def rows_a_piece(row_bytes: int) -> int:
    """Rows that make up a piece."""
    return max(1, PIECE_BYTES // max(1, row_bytes))


def pieces(rows: int, row_bytes: int) -> Iterator[int]:
    """Heights of the pieces that ``rows`` rows are cut into."""
    each = rows_a_piece(row_bytes)
    for start in range(0, rows, each):
        yield min(each, rows - start)


def spooled(write: Callable[[BinaryIO], None], rows: int, row_bytes: int) -> Generator[Rows]:
    """Pieces of rows that ``write`` has put into a temporary file as raw bytes.

    What ``write`` holds in memory is free again before the first piece comes, so of many such pictures one at most
    is in memory. Raises MachineFault where the disk has no room.
    """
    with tempfile.TemporaryFile(prefix="setupassist-") as spool:
        try:
            write(spool)
            spool.seek(0)
        except OSError as error:
            raise MachineFault(say("art.file.no-room", reason=system_reason(error))) from None
        for count in pieces(rows, row_bytes):
            data = spool.read(count * row_bytes)
            yield np.frombuffer(data, np.uint8).reshape(count, row_bytes)


def width_of(plate: Plate) -> int:
    """Bytes of one row as ``Picture.chunks`` yields it."""
    return (plate.columns + 7) // 8 if plate.two_level else plate.columns


def in_bands(picture: Picture, wanted: Sequence[int], band_rows: int) -> Generator[Chunk]:
    """The wanted plates of one picture in bands of ``band_rows`` rows, the last one shorter."""
    plates = [picture.plates[index] for index in wanted]
    left = plates[0].rows
    with closing(picture.chunks(wanted)) as chunks:
        band: list[Bits | Rows] = []
        filled = 0
        for chunk in chunks:
            taken, height = 0, min(chunk[0].shape[0], left - filled)
            while taken < height:
                if not band:
                    band = [np.empty((min(band_rows, left), width_of(plate)), np.uint8) for plate in plates]
                count = min(height - taken, band[0].shape[0] - filled)
                for rows, part in zip(band, chunk, strict=True):
                    rows[filled : filled + count] = part[taken : taken + count]
                filled, taken = filled + count, taken + count
                if filled == band[0].shape[0]:
                    left -= filled
                    yield tuple(band)
                    band, filled = [], 0
            if not left:
                return
    raise AssertionError(f"{plates[0].file}: {left} rows were not decoded")


@dataclass(frozen=True)
class Pick:
    """One plate of a set: which picture, which of its plates, and the name it goes by."""

    picture: int
    index: int
    name: str


def plate_set(source: str, pictures: Sequence[Picture], picks: Sequence[Pick], notes: Sequence[str | Note]) -> PlateSet:
    """The set of the picked plates, in that order.

    Each picture is decoded once a pass, however many of its plates are picked. Raises InputFault for two plates of
    one name.
    """
    plates = tuple(replace(pictures[pick.picture].plates[pick.index], name=pick.name) for pick in picks)
    _check_names(plates)
    wanted: dict[int, list[int]] = {}
    for pick in picks:
        indices = wanted.setdefault(pick.picture, [])
        if pick.index not in indices:
            indices.append(pick.index)
    places = [(picture, index) for picture, indices in wanted.items() for index in indices]
    order = [places.index((pick.picture, pick.index)) for pick in picks]

    def packed(band_rows: int) -> Iterator[Chunk]:
        if band_rows < 1:
            raise ValueError("band_rows is at least 1")
        check_sizes(plates)
        streams = [in_bands(pictures[picture], indices, band_rows) for picture, indices in wanted.items()]
        return _side_by_side(streams, order)

    def read(band_rows: int) -> Iterator[tuple[Rows, ...]]:
        return _as_rows(packed(band_rows), plates)

    apart = tuple(
        Stream(
            tuple(at for at, pick in enumerate(picks) if pick.picture == picture),
            partial(_alone, pictures[picture], [pick.index for pick in picks if pick.picture == picture]),
        )
        for picture in wanted
    )
    return PlateSet(source=source, plates=plates, read=read, notes=tuple(notes), packed=packed, apart=apart)


def _alone(picture: Picture, indices: Sequence[int], band_rows: int) -> Iterator[Chunk]:
    """Bands of one picture's plates, a plate for each index."""
    wanted = list(dict.fromkeys(indices))
    order = [wanted.index(index) for index in indices]
    with closing(in_bands(picture, wanted, band_rows)) as bands:
        for band in bands:
            yield tuple(band[number] for number in order)


def check_sizes(plates: Sequence[Plate]) -> None:
    """InputFault that says which plate differs in size from most others."""
    sizes = [(plate.columns, plate.rows) for plate in plates]
    usual = max(sizes, key=sizes.count)
    odd = [plate for plate, size in zip(plates, sizes, strict=True) if size != usual]
    if odd:
        told = joined(
            say("art.size.of-one", name=short(plate.name, 24), columns=plate.columns, rows=plate.rows)
            for plate in odd[:MOST_ODD_TOLD]
        )
        values = {"told": told, "columns": usual[0], "rows": usual[1]}
        if len(odd) > MOST_ODD_TOLD:
            what = say("art.size.differ-and-more", more=len(odd) - MOST_ODD_TOLD, **values)
        else:
            what = say("art.size.differ", **values)
        raise InputFault(short(odd[0].file), what, say("art.size.one-artboard"))


def _check_names(plates: Sequence[Plate]) -> None:
    seen: dict[str, Plate] = {}
    for plate in plates:
        first = seen.setdefault(plain_name(plate.name), plate)
        if first is not plate:
            raise alike(first, plate)


def alike(one: Plate, two: Plate) -> InputFault:
    """The fault of two plates of one name."""
    where = short(one.file)
    if one.file != two.file:
        where = say("art.plate.two-files", one=where, two=short(two.file))
    return InputFault(where, say("art.plate.alike", name=short(two.name)), say("art.plate.own-names"))


def plain_name(name: str) -> str:
    """A name as names are told apart: whether letters are capital or composed does not count."""
    return unicodedata.normalize("NFC", name).strip().casefold()


def _side_by_side(streams: Sequence[Generator[Chunk]], order: Sequence[int]) -> Iterator[Chunk]:
    with ExitStack() as stack:
        for stream in streams:
            stack.callback(stream.close)
        for parts in zip(*streams, strict=True):
            flat = [rows for part in parts for rows in part]
            yield tuple(flat[number] for number in order)


def _as_rows(bands: Iterator[Chunk], plates: Sequence[Plate]) -> Iterator[tuple[Rows, ...]]:
    for band in bands:
        yield tuple(
            rows_of_bits(part, plate.columns) if plate.two_level else part
            for plate, part in zip(plates, band, strict=True)
        )
