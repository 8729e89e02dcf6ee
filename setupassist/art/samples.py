"""Stored samples turned into ink: bits unpacked, polarity and tone applied."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

import numpy as np
import numpy.typing as npt

from setupassist.art.plates import Bits, Rows

Samples = npt.NDArray[np.uint8] | npt.NDArray[np.uint16]
Table = npt.NDArray[np.uint8]


def unpacked(raw: Rows, count: int, bits: int, *, big_endian: bool) -> Samples:
    """Samples (rows, count) out of rows of bytes (rows, row bytes) of 1, 2, 4, 8 or 16 bits a sample."""
    if bits == 8:
        return raw[:, :count]
    if bits == 16:
        values: Samples = raw[:, : 2 * count].view(">u2" if big_endian else "<u2")
        return values
    if bits == 1:
        return np.unpackbits(raw, axis=1, count=count)
    shifts = np.arange(8 - bits, -1, -bits, dtype=np.uint8)
    spread = (raw[:, :, None] >> shifts) & np.uint8((1 << bits) - 1)
    return spread.reshape(raw.shape[0], -1)[:, :count]


def tone_table(bits: int, *, zero: int, full: int) -> Table:
    """Ink 0..255 for every sample value: ``zero`` is no ink, ``full`` is full ink, linear between, held outside."""
    values = np.arange(1 << bits, dtype=np.float64)
    return np.rint(255 * np.clip((values - zero) / (full - zero), 0, 1)).astype(np.uint8)


def grey_table(bits: int, *, black_is_zero: bool, light_is_ink: bool) -> Table:
    """Ink for every grey value: dark is ink, unless ``light_is_ink``."""
    top = (1 << bits) - 1
    return tone_table(bits, zero=0, full=top) if black_is_zero == light_is_ink else tone_table(bits, zero=top, full=0)


def luminance(red: npt.NDArray[np.uint8], green: npt.NDArray[np.uint8], blue: npt.NDArray[np.uint8]) -> Rows:
    """Luminance 0..255 of encoded RGB, in whole numbers: ITU-R BT.601 weights, published."""
    weighed = red.astype(np.uint32) * 19595 + green.astype(np.uint32) * 38470 + blue.astype(np.uint32) * 7471
    return ((weighed + 0x8000) >> 16).astype(np.uint8)


def eight_bits(values: Samples) -> Rows:
    """Samples of 8 or 16 bits as 8 bits, each rounded to the nearest level."""
    if values.dtype.itemsize == 1:
        return values.astype(np.uint8, copy=False)
    return ((values.astype(np.uint32) * 255 + 32895) >> 16).astype(np.uint8)


def covered(ink: Rows, alpha: Rows) -> Rows:
    """Ink 0..255 where it is opaque, none where it is see-through, in proportion between."""
    return ((ink.astype(np.uint16) * alpha + 127) // 255).astype(np.uint8)


@dataclass(frozen=True)
class Tones:
    """How stored samples of one plate become ink: ``table[value]`` is ink 0..255."""

    table: Table

    @cached_property
    def two_level(self) -> bool:
        """Whether the depth holds no more than no ink and full ink."""
        return sorted(self.table.tolist()) == [0, 255] if self.table.size == 2 else False

    @property
    def rising(self) -> bool:
        """Whether a larger value is more ink."""
        return bool(self.table[-1])

    def ink(self, samples: Samples) -> Rows:
        """Ink (rows, columns) for samples of the same shape."""
        if self.table.size == 256 and self._flips is not None:
            return samples ^ np.uint8(255) if self._flips else samples.astype(np.uint8)
        return self.table.take(samples, mode="clip")

    def bits(self, raw: Rows, columns: int) -> Bits:
        """Packed ink out of packed samples; the spare bits at the right end are cleared."""
        packed = raw[:, : (columns + 7) // 8]
        packed = ~packed if self.table[0] else packed.copy()
        if columns % 8:
            packed[:, -1] &= np.uint8(0xFF << (8 - columns % 8) & 0xFF)
        return packed

    @cached_property
    def _flips(self) -> bool | None:
        """For 8 bits: True where ink is 255 less the value, False where it is the value, else None."""
        straight = np.arange(256, dtype=np.uint8)
        if np.array_equal(self.table, straight):
            return False
        return True if np.array_equal(self.table, straight[::-1]) else None


def rows_of_bits(packed: Bits, columns: int) -> Rows:
    """Rows of 0 and 255 out of packed bits."""
    rows = np.unpackbits(packed, axis=1, count=columns)
    return np.negative(rows, out=rows)
