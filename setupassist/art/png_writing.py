"""A plate written as a grey or two-level PNG, as on a film positive: dark is ink.

Rows are packed a band at a time, so that the plate is never held whole.

Source: Portable Network Graphics, ISO/IEC 15948, chunks IHDR, pHYs, tEXt, IDAT, IEND; published.
"""

from __future__ import annotations

import struct
import zlib
from collections.abc import Iterable
from pathlib import Path
from typing import BinaryIO

import numpy as np

from setupassist.art.plates import Rows
from setupassist.art.png import SIGNATURE
from setupassist.documents.store import replacing
from setupassist.quantities import MM_PER_INCH

DEFLATE_LEVEL = 6
MARK = b"Software\0Setup Assist, a plate"


def write_png(path: Path, bands: Iterable[Rows], *, columns: int, rows: int, dpi: float, two_level: bool) -> None:
    """A grey PNG of one plate; ``bands`` are rows of ink (any number, columns) from the top, 255 is full ink.

    With ``two_level`` a pixel takes one bit, ink from 128. What lay at ``path`` is replaced once all is written.
    Raises ValueError where the bands are not of that size, MachineFault where the disk refuses.
    """
    with replacing(path) as file:
        per_metre = round(dpi / MM_PER_INCH * 1000)
        file.write(SIGNATURE)
        _chunk(file, b"IHDR", struct.pack(">IIBBBBB", columns, rows, 1 if two_level else 8, 0, 0, 0, 0))
        _chunk(file, b"tEXt", MARK)
        _chunk(file, b"pHYs", struct.pack(">IIB", per_metre, per_metre, 1))
        packer, written = zlib.compressobj(DEFLATE_LEVEL), 0
        for ink in bands:
            if ink.shape[1] != columns:
                raise ValueError(f"rows have {ink.shape[1]} columns, not {columns}")
            light = np.packbits(ink < 128, axis=1) if two_level else ~ink
            filtered = np.pad(light, ((0, 0), (1, 0)))  # a leading 0: no filter
            data = packer.compress(filtered.tobytes())
            if data:
                _chunk(file, b"IDAT", data)
            written += len(ink)
        if written != rows:
            raise ValueError(f"{written} rows were added where {rows} were promised")
        _chunk(file, b"IDAT", packer.flush())
        _chunk(file, b"IEND", b"")


def ours(head: bytes) -> bool:
    """Whether a file that begins so was written here; the mark lies right after the first chunk."""
    return head.startswith(SIGNATURE) and MARK in head[: len(SIGNATURE) + 25 + 12 + len(MARK)]


def _chunk(file: BinaryIO, kind: bytes, data: bytes) -> None:
    file.write(struct.pack(">I", len(data)) + kind + data + struct.pack(">I", zlib.crc32(kind + data)))
