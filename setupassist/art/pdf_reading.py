"""One page of a PDF read from end to end: what it paints with, and its plates drawn into files."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from contextlib import ExitStack
from pathlib import Path
from typing import Any

import numpy as np
import numpy.typing as npt

from setupassist.art.pdf_colour import Spaces
from setupassist.art.pdf_content import Contents
from setupassist.art.pdf_inks import Record, colours
from setupassist.art.pdf_native import native_page
from setupassist.art.pdf_objects import Refused
from setupassist.art.pdf_page import Page
from setupassist.art.pdf_raster import bands, plate_document, times_finer
from setupassist.art.pdf_records import Records, piece_rows
from setupassist.art.pdf_rewrite import Rewriter

Rows = npt.NDArray[np.uint8]

CHECK_DPI, CHECK_PIXELS = 144.0, 4000
MOST_BYTES_AT_ONCE = 2 << 20
"""Bytes of pages that are drawn side by side; a page with large images is drawn by itself."""


class Reading:
    """A page of a file, walked once to find its inks. Raises Refused."""

    def __init__(self, path: Path, page: int, dpi: float) -> None:
        self.page = Page(path, page)
        self.columns, self.rows = self.page.pixels(dpi)
        self.dpi = dpi
        self.spaces, self.contents, self.record = Spaces(), Contents(), Record()
        Rewriter(self.page, None, self.record, self.spaces, self.contents).whole_page()
        self.native = native_page(self.page, self.spaces, self.contents)
        if self.native is not None:
            self.columns, self.rows, self.dpi = self.native.columns, self.native.rows, self.native.dpi

    def look(self) -> dict[str, Any]:
        """What the page paints with: inks, size, and what is told of it, as plain data."""
        inks = self.record.ordered()
        unseen = [ink for ink in inks if not self.record.inks[ink] and not self._shows(ink)]
        inks = [ink for ink in inks if ink not in unseen]
        if not inks:
            raise Refused("art.pdf.no-ink")
        seen = colours(self.page.document, self.spaces, inks)
        return {
            "dpi": self.dpi,
            "of": self.page.of,
            "columns": self.columns,
            "rows": self.rows,
            "finer": times_finer(self.record, self.dpi),
            "inks": [
                {
                    "name": ink,
                    "colour": seen.get(ink),
                    "two_level": self.native is not None and self.native.two_level(ink),
                }
                for ink in inks
            ],
            "unseen": unseen,
            "annotated": self.page.annotated,
            "told": self.record.told,
            "fonts": list(self.record.fonts),
            "merged": self.spaces.merged,
        }

    def _shows(self, ink: str) -> bool:
        """Whether anything of an ink shows on the page, drawn coarsely."""
        dpi = min(CHECK_DPI, CHECK_PIXELS / max(self.page.inches()))
        columns, rows = self.page.pixels(dpi)
        return any(band.any() for band in bands(self._written(ink, dpi), columns, rows, dpi * self.page.unit))

    def _written(self, ink: str, dpi: float) -> bytes:
        contents, spaces = self.contents, self.spaces
        return plate_document(self.page, ink, dpi, spaces=spaces, contents=contents, record=self.record)

    def draw(self, inks: Sequence[tuple[int, str]], folder: Path, *, finer: int) -> None:
        """Draws plates into files of records, called by their numbers.

        Light plates are drawn side by side, so that the first rows of all come soon.
        """
        side_by_side: list[tuple[int, Iterator[Rows]]] = []
        held = 0
        for number, ink in inks:
            if self.native is not None:
                self._store([(number, self.native.bands(ink))], folder)
                continue
            made = self._written(ink, self.dpi)
            held += len(made)
            if held > MOST_BYTES_AT_ONCE and side_by_side:
                self._store(side_by_side, folder)
                side_by_side, held = [], len(made)
            dpi = self.dpi * self.page.unit
            side_by_side.append((number, bands(made, self.columns, self.rows, dpi, finer=finer)))
        self._store(side_by_side, folder)

    def _store(self, plates: Sequence[tuple[int, Iterator[Rows]]], folder: Path) -> None:
        """Writes plates side by side, a band of each in turn."""
        with ExitStack() as stack:
            files = [stack.enter_context((folder / f"plate-{number}").open("wb")) for number, _ in plates]
            records = [Records(file, piece_rows(self.columns)) for file in files]
            for parts in zip(*(drawn for _, drawn in plates), strict=True):
                for each, band in zip(records, parts, strict=True):
                    each.add(band)
            for each in records:
                each.end()
