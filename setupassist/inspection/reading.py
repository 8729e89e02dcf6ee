"""Plates read into packed planes, two pictures at a time, each row once."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from concurrent.futures import FIRST_EXCEPTION, ThreadPoolExecutor, wait

import numpy as np
import numpy.typing as npt

from setupassist.art.plates import PlateSet, Stream
from setupassist.art.stopping import stopped_by
from setupassist.errors import Cancelled, InputFault
from setupassist.inspection.bits import Plane, count, moved, pack
from setupassist.inspection.grid import Grid, cell_counts, tone_sums
from setupassist.inspection.planes import PackedPlate, Planes
from setupassist.inspection.threads import Progress, Stop, workers
from setupassist.words import say

Levels = npt.NDArray[np.uint8]

MOST_BYTES = 2_000_000_000
WORKED_A_STRIP_PIXEL = 0.45  # bytes that two threads hold for a pixel of the strips they work on
BAND_BYTES = 8 * 2**20  # of all plates of a stream together: what a band of grey levels may take
HALF_INK = 128
LEAST_GREY, MOST_GREY = 16, 239  # mid-grey: neither paper nor full ink, with room for a camera's or a scaler's noise
LEAST_TONE = 13  # 5 % of 255: lighter ink does not count for the art box
TURNED = np.array([int(f"{value:08b}"[::-1], 2) for value in range(256)], np.uint8)


def check_memory(grid: Grid, plates: PlateSet) -> None:
    """InputFault, before a pixel is read, where strips of all plates would not fit into ``MOST_BYTES``."""
    strip = grid.columns * grid.strip * len(plates.plates)
    if strip * WORKED_A_STRIP_PIXEL > MOST_BYTES:
        told = say("inspection.fault.too-wide", plates=len(plates.plates), columns=grid.columns, dpi=grid.dpi)
        raise InputFault(plates.source, told, say("inspection.fault.too-wide-remedy"))


def read_planes(
    plates: PlateSet, grid: Grid, planes: Planes, *, progress: Progress | None = None, stop: Stop | None = None
) -> list[PackedPlate]:
    """Every plate of the set, packed; ``progress`` is told the share read (0..1).

    Raises InputFault where rows are damaged or missing, Cancelled when ``stop`` answers True.
    """
    check_memory(grid, plates)
    gatherers = [Gatherer(PackedPlate(grid, planes.new()), planes) for _ in plates.plates]
    total, done = len(gatherers) * grid.rows, [0] * len(gatherers)
    failed: list[bool] = []

    def given_up() -> bool:
        return bool(failed) or (stop is not None and stop())

    def read(stream: Stream) -> None:
        with stopped_by(given_up):
            gather(stream)

    def gather(stream: Stream) -> None:
        two_level = [plates.plates[index].two_level for index in stream.indices]
        each = max(1, BAND_BYTES // (len(stream.indices) * grid.columns) // grid.cell) * grid.cell
        row = 0
        for band in even_bands(stream.read_bits(each), each, grid.rows):
            if given_up():
                raise Cancelled
            _check(band, two_level, row, grid)
            for index, part, packed in zip(stream.indices, band, two_level, strict=True):
                gatherers[index].add(part, row, packed=packed)
                done[index] = row + len(part)
            row += len(band[0])
            if progress is not None:
                progress(sum(done) / total)
        if row != grid.rows:
            told = say("inspection.fault.ends-early", row=row, rows=grid.rows)
            raise InputFault(plates.source, told, say("inspection.fault.export-again"))
        for index in stream.indices:
            gatherers[index].finish()
        planes.rest()

    streams = plates.streams()
    if len(streams) == 1:
        read(streams[0])
        return [gatherer.plate for gatherer in gatherers]
    with ThreadPoolExecutor(workers()) as pool:
        # Long streams first, so that no thread is left alone with one at the end.
        order = sorted(streams, key=lambda stream: all(plates.plates[i].two_level for i in stream.indices))
        tasks = {pool.submit(read, stream): stream for stream in order}
        try:
            finished, _ = wait(tasks, return_when=FIRST_EXCEPTION)
        except BaseException:  # an interrupt: nobody waits for the rest
            failed.append(True)
            pool.shutdown(cancel_futures=True)
            raise
        if any(task.exception() for task in finished):
            failed.append(True)
            wait(tasks)
            _raise_first([task.exception() for task in sorted(tasks, key=lambda task: tasks[task].indices)])
    return [gatherer.plate for gatherer in gatherers]


def _raise_first(faults: Sequence[BaseException | None]) -> None:
    """Raises the first fault that tells more than that the work was given up."""
    told = [fault for fault in faults if fault is not None]
    raise next((fault for fault in told if not isinstance(fault, Cancelled)), told[0])


def _check(band: Sequence[Levels], two_level: Sequence[bool], row: int, grid: Grid) -> None:
    wide = [-(-grid.columns // 8) if packed else grid.columns for packed in two_level]
    if [part.shape for part in band] != [(len(band[0]), width) for width in wide]:
        raise ValueError("a band must hold one equally large array for each plate")
    if row + len(band[0]) > grid.rows:
        raise ValueError("more rows came than the plates have")


def even_bands(bands: Iterator[tuple[Levels, ...]], rows: int, total: int) -> Iterator[tuple[Levels, ...]]:
    """The same rows in bands of exactly ``rows`` rows (the last may be shorter), however they came."""
    held: list[tuple[Levels, ...]] = []
    have = done = 0
    for band in bands:
        held.append(band)
        have += len(band[0])
        while have >= rows or (have and done + have >= total):
            joined = held[0] if len(held) == 1 else tuple(np.concatenate(parts) for parts in zip(*held, strict=True))
            yield tuple(part[:rows] for part in joined)
            done += min(rows, have)
            have = max(0, have - rows)
            held = [tuple(part[rows:] for part in joined)] if have else []


class Gatherer:
    """Takes in the rows of one plate, band by band, and fills its packed plate."""

    def __init__(self, plate: PackedPlate, planes: Planes) -> None:
        self.plate, self.planes, self.grid = plate, planes, plate.grid
        self._greys: npt.NDArray[np.uint32] | None = None  # inner mid-greys by cell
        self._tail: Plane | None = None  # the last two rows of mid-greys

    def add(self, part: Levels, row: int, *, packed: bool) -> None:
        """Rows of packed bits (first column in the highest bit) or of levels; ``row`` is a whole number of cells."""
        plate, rows = self.plate, slice(row, row + len(part))
        if packed:
            raw = plate.bits.view(np.uint8)
            np.take(TURNED, part, out=raw[rows, : part.shape[1]])
            self._close(rows)
        elif not np.any((part + np.uint8(1)) & np.uint8(254)):
            plate.bits[rows] = pack(part, self.grid.words)
            self._close(rows)
        else:
            self._add_greys(part, rows)

    def _close(self, rows: slice) -> None:
        """Books rows of paper and full ink only."""
        plate = self.plate
        cells, counts = self._count(rows)
        plate.inked_pixels += int(counts.sum(dtype=np.int64))
        if plate.tone is not None:
            plate.tone[cells] = counts.astype(np.uint32) * 255
        if plate.light is not None:
            plate.light[rows] = plate.bits[rows]
        if self._tail is not None:
            self._book_greys(np.zeros((rows.stop - rows.start, self.grid.words), np.uint64), rows)

    def _count(self, rows: slice) -> tuple[slice, npt.NDArray[np.uint16]]:
        """Counts the ink of rows by cell; which rows of cells they are, and the counts."""
        cell = self.grid.cell
        cells = slice(rows.start // cell, -(-rows.stop // cell))
        counts = cell_counts(self.plate.bits[cells.start * cell : cells.stop * cell], cell)
        self.plate.ink[cells] = counts
        return cells, counts

    def _add_greys(self, levels: Levels, rows: slice) -> None:
        plate, grid = self.plate, self.grid
        plate.bits[rows] = pack(levels >= HALF_INK, grid.words)
        if plate.light is None or plate.tone is None:
            plate.light = self.planes.new()
            plate.light[: rows.start] = plate.bits[: rows.start]
            plate.tone = plate.ink.astype(np.uint32) * 255
            self._greys = np.zeros(plate.ink.shape, np.uint32)
            self._tail = np.zeros((2, grid.words), np.uint64)
        plate.light[rows] = pack(levels >= LEAST_TONE, grid.words)
        cells, _ = self._count(rows)
        sums = tone_sums(levels, grid.cell)
        plate.tone[cells, : sums.shape[1]] = sums
        plate.inked_pixels += count(plate.light[rows])
        self._book_greys(pack((levels - np.uint8(LEAST_GREY)) <= np.uint8(MOST_GREY - LEAST_GREY), grid.words), rows)

    def _book_greys(self, grey: Plane, rows: slice) -> None:
        """Counts mid-greys with mid-greys on all four sides by cell; the last row waits for the one below it."""
        assert self._tail is not None
        assert self._greys is not None
        grid, cell = self.grid, self.grid.cell
        known = np.concatenate([self._tail, grey])
        self._tail = known[-2:].copy()
        if not known.any():
            return
        middle = known[1:-1]
        inner = middle & known[:-2] & known[2:] & moved(middle, 1, 0) & moved(middle, -1, 0)
        self.plate.grey_pixels += count(inner)
        padded = np.zeros((cell - 1 + len(inner) + -(len(inner) - 1) % cell, grid.words), np.uint64)
        padded[cell - 1 : cell - 1 + len(inner)] = inner  # its first row lies above this band
        counts, first = cell_counts(padded, cell), (rows.start - 1) // cell
        self._greys[max(0, first) : first + len(counts)] += counts[max(0, -first) :]

    def finish(self) -> None:
        """The last row has come."""
        if self._greys is None:
            return
        end = self.grid.rows
        self._book_greys(np.zeros((1, self.grid.words), np.uint64), slice(end, end + 1))
        self.plate.grey = self._greys * np.uint32(4) >= np.uint32(self.grid.full)
        self._greys = self._tail = None
