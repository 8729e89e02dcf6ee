"""The files in which plates of a PDF are spooled: records of equal height, each packed by Deflate."""

from __future__ import annotations

import struct
import zlib
from typing import BinaryIO

import numpy as np
import numpy.typing as npt

RECORD = struct.Struct(">II")
"""Rows and bytes of a record; 0, 0 ends the plate."""
PIECE_BYTES = 256 * 1024

Rows = npt.NDArray[np.uint8]


def piece_rows(columns: int) -> int:
    """Rows of one record of a plate; the same for all plates of a page."""
    return max(1, PIECE_BYTES // max(1, columns))


class Records:
    """Writes rows of a plate as records of equal height."""

    def __init__(self, file: BinaryIO, rows: int) -> None:
        self._file, self._each = file, rows
        self._held: list[Rows] = []
        self._count = 0

    def add(self, rows: Rows) -> None:
        """Takes rows (rows, bytes) and writes what makes whole records."""
        self._held.append(rows)
        self._count += rows.shape[0]
        if self._count < self._each:
            return
        every = np.concatenate(self._held) if len(self._held) > 1 else self._held[0]
        full = self._count // self._each * self._each
        for top in range(0, full, self._each):
            self._write(every[top : top + self._each])
        self._held, self._count = [every[full:].copy()], self._count - full
        self._file.flush()

    def end(self) -> None:
        """Writes the rows that are left, and the end."""
        for rows in self._held:
            if rows.shape[0]:
                self._write(rows)
        self._file.write(RECORD.pack(0, 0))

    def _write(self, rows: Rows) -> None:
        data = zlib.compress(rows.tobytes(), 1)
        self._file.write(RECORD.pack(rows.shape[0], len(data)) + data)
