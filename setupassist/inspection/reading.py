"""One pass over the rows of a set: bands of grey levels in, cells, contacts, textures and chokes out."""

from __future__ import annotations

import os
from collections.abc import Callable, Sequence
from concurrent.futures import ThreadPoolExecutor

import numpy as np
import numpy.typing as npt

from setupassist.art.plates import PlateSet
from setupassist.documents.measure import Choke, Contact
from setupassist.documents.terms import UNDER_ROLES, Role
from setupassist.errors import Cancelled, InputFault
from setupassist.inspection.choke import ChokeGauge
from setupassist.inspection.contact import Face, Ledger, face_of, meet, pairs_of
from setupassist.inspection.grid import Grid
from setupassist.inspection.kind import Texture
from setupassist.inspection.maps import Mask
from setupassist.inspection.record import Record
from setupassist.inspection.strips import PlateStrip, band_rows_for, check_memory, even_bands
from setupassist.words import say

Progress = Callable[[float], None]
Stop = Callable[[], bool]

WORKERS = 2
FINISHING = 0.05  # share of the work that is left when the last row is read


class Reading:
    """One pass over the rows of a set."""

    def __init__(self, plates: PlateSet, grid: Grid, roles: Sequence[Role]) -> None:
        self.plates, self.grid = plates, grid
        check_memory(grid, plates)
        self.band_rows = band_rows_for(grid, plates)
        self.records = [Record(grid) for _ in plates.plates]
        self.strips = [PlateStrip(grid, record) for record in self.records]
        self.textures = [Texture(grid, record) for record in self.records]
        self.ledger = Ledger(grid, len(plates.plates))
        self.pairs = pairs_of(len(plates.plates))
        later = [index for index, role in enumerate(roles) if role not in UNDER_ROLES]
        bases = [index for index, role in enumerate(roles) if role is Role.BASE]
        self.gauges = [ChokeGauge(grid, index, later) for index in bases if later]

    def read(self, progress: Progress | None, stop: Stop | None) -> None:
        """Takes in every row; raises Cancelled when ``stop`` answers True."""
        grid, row = self.grid, 0
        bands = even_bands(self.plates.read(self.band_rows), self.band_rows, grid.rows)
        with ThreadPoolExecutor(min(WORKERS, os.cpu_count() or 1)) as workers:
            for band in bands:
                if stop is not None and stop():
                    raise Cancelled
                self._check(band, row)
                height, done = len(band[0]), 0
                while done < height:
                    strip, at = divmod(row, grid.strip)
                    take = min(height - done, grid.strip - at)
                    part = slice(done, done + take)
                    list(workers.map(lambda i: self._take(i, band[i][part], strip, at), range(len(band))))  # noqa: B023
                    row, done = row + take, done + take
                    if row % grid.strip == 0 or row == grid.rows:
                        self._close(workers, strip)
                if progress is not None:
                    progress((1 - FINISHING) * row / grid.rows)
            if row != grid.rows:
                told = say("inspection.fault.ends-early", row=row, rows=grid.rows)
                raise InputFault(self.plates.source, told, say("inspection.fault.export-again"))
            self._judge(workers, grid.strips - 1)
        self.strips.clear()

    def _check(self, band: Sequence[npt.NDArray[np.uint8]], row: int) -> None:
        shapes = {levels.shape for levels in band}
        if len(band) != len(self.records) or len(shapes) != 1 or band[0].shape[1] != self.grid.columns:
            raise ValueError("a band must hold one equally large array for each plate")
        if row + len(band[0]) > self.grid.rows:
            raise ValueError("more rows came than the plates have")

    def _take(self, index: int, levels: npt.NDArray[np.uint8], strip: int, row: int) -> None:
        self.strips[index].add_band(levels, strip, row, two_level=self.plates.plates[index].two_level)

    def _close(self, workers: ThreadPoolExecutor, number: int) -> None:
        """A strip is full: book its cells, judge the strip before it, move on."""
        list(workers.map(lambda strip: strip.close_strip(number), self.strips))
        if number > 0:
            self._judge(workers, number - 1)
        for strip in self.strips:
            strip.shift()

    def _judge(self, workers: ThreadPoolExecutor, number: int) -> None:
        def look(index: int) -> Face | None:
            strip, record = self.strips[index], self.records[index]
            dots[index], local = self.textures[index].judge(strip, number)
            return face_of(strip, record, number, dots[index], local)

        dots = [np.zeros((0, 0), np.bool_)] * len(self.strips)
        faces = list(workers.map(look, range(len(self.strips))))
        shares = [self.pairs[i::WORKERS] for i in range(WORKERS)]
        list(workers.map(lambda pairs: meet(faces, self.ledger, number, pairs), shares))
        list(workers.map(lambda gauge: gauge.add(self.strips, dots, number), self.gauges))

    def contacts(self, names: Sequence[str], art_tiles: Sequence[Mask]) -> tuple[Contact, ...]:
        """Overlap and shared edge of every pair; only tiles that hold either plate's art count, not marks alone."""
        ledger, grid = self.ledger, self.grid
        told = []
        blocks = [ledger.blocks_of(tiles) for tiles in art_tiles]
        for pair in self.pairs:
            sums = []
            keep = blocks[pair[0]] | blocks[pair[1]]
            for book in (ledger.overlap, ledger.edge):
                sums.append(float(book[pair][keep].sum(dtype=np.float64)) if pair in book else 0.0)
            told.append(
                Contact(
                    plates=(names[pair[0]], names[pair[1]]),
                    overlap_cm2=sums[0] * grid.pixel_cm2,
                    shared_edge_cm=sums[1] / grid.pixels_per_mm / 10,
                )
            )
        return tuple(told)

    def chokes(self, names: Sequence[str], art_tiles: Sequence[Mask]) -> tuple[Choke, ...]:
        """Choke and peek-out of every base, marks left out."""
        kept = np.logical_or.reduce(list(art_tiles))
        return tuple(gauge.told(names[gauge.base], kept) for gauge in self.gauges)
