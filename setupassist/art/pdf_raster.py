"""A page written anew for one ink, drawn by pdfium in bands of rows.

pdfium is not thread-safe: this runs in processes of its own, on their one thread.
"""

from __future__ import annotations

import io
from collections.abc import Iterator
from typing import Any

import numpy as np
import numpy.typing as npt
import pikepdf
from pikepdf import Name

from setupassist.art.pdf_colour import Spaces
from setupassist.art.pdf_content import Contents
from setupassist.art.pdf_inks import Record
from setupassist.art.pdf_objects import dictionary, items
from setupassist.art.pdf_page import POINTS_PER_INCH, Page, padded
from setupassist.art.pdf_rewrite import Rewriter

Rows = npt.NDArray[np.uint8]

BAND_BYTES = 4 << 20
SMALLEST_EM_PIXELS = 50.0
"""The renderer puts letters of a smaller em on whole pixels."""
THINNEST_PIXELS = 4.0
"""Upright boxes are put on whole pixels; on thinner ones that shows."""
FINE_ENOUGH = 2


def times_finer(record: Record, dpi: float) -> int:
    """How many times finer a page is drawn before it is reduced: 2 where small text or fine lines ask for it."""
    small = record.least_text * dpi < SMALLEST_EM_PIXELS or record.least_line * dpi < THINNEST_PIXELS
    return FINE_ENOUGH if small else 1


def plate_document(page: Page, ink: str, dpi: float, *, spaces: Spaces, contents: Contents, record: Record) -> bytes:
    """A PDF of one page that shows one ink as grey. ``record`` takes notes on what is only approximated."""
    columns, rows = page.pixels(dpi)
    rewriter = Rewriter(page, ink, record, spaces, contents)
    body, resources = rewriter.whole_page()
    made, written = page.document, page.object
    before = dict(items(written))
    written.Contents, written.Resources = made.make_stream(body), resources
    written.MediaBox = padded(page, dpi, columns, rows)
    for key in ("/CropBox", "/UserUnit"):
        if key in written:
            del written[key]
    if "/Group" in written:
        group = dictionary(dict(items(before["/Group"])))
        group.CS = Name.DeviceGray
        written.Group = group
    buffer = io.BytesIO()
    try:
        made.save(
            buffer, compress_streams=False, stream_decode_level=pikepdf.StreamDecodeLevel.none,
            object_stream_mode=pikepdf.ObjectStreamMode.disable,
        )  # fmt: skip
    finally:
        for key in [key for key, _ in items(written)]:
            if key not in before:
                del written[key]
        for key, value in before.items():
            written[key] = value
        rewriter.forget()
    return buffer.getvalue()


def bands(document: bytes, columns: int, rows: int, dpi: float, *, finer: int = 1) -> Iterator[Rows]:
    """Bands of ink (rows, columns) from the top, 255 is full ink; drawn ``finer`` times finer and reduced.

    The page of ``document`` is a whole number of pixels at ``dpi``, which counts on 72 of the page's units an inch.
    """
    import pypdfium2

    scale = dpi * finer / POINTS_PER_INCH
    each = max(1, min(rows, BAND_BYTES // (columns * finer * finer)))
    drawn = pypdfium2.PdfDocument(document)
    try:
        page = drawn[0]
        for top in range(0, rows, each):
            below = min(rows, top + each)
            # the renderer rounds up: a hair less than whole pixels keeps it from adding one
            crop = (0.0, (rows - below) * finer / scale, 0.0, top * finer / scale)
            bitmap = page.render(
                scale=scale * (1 - 1e-7), grayscale=True, draw_annots=False, may_draw_forms=False, crop=crop
            )
            yield _inked(bitmap, below - top, columns, finer)
            bitmap.close()
    finally:
        drawn.close()


def _inked(bitmap: Any, rows: int, columns: int, finer: int) -> Rows:
    grey = bitmap.to_numpy()
    grey = grey[..., 0] if grey.ndim == 3 else grey
    if grey.shape != (rows * finer, columns * finer):
        fitted = np.full((rows * finer, columns * finer), 255, np.uint8)
        height, width = min(grey.shape[0], rows * finer), min(grey.shape[1], columns * finer)
        fitted[:height, :width] = grey[:height, :width]
        grey = fitted
    if finer > 1:
        from PIL import Image

        grey = np.asarray(Image.fromarray(np.ascontiguousarray(grey)).reduce(finer))
    ink: Rows = np.subtract(255, grey, dtype=np.uint8)
    return ink
