"""Pages of a PDF as pictures. pdfium is not thread-safe: one lock holds it, and it is called in threads only."""

from __future__ import annotations

import math
import threading
from collections.abc import Iterator
from dataclasses import dataclass

from PySide6.QtGui import QImage

POINTS_PER_INCH = 72.0
PDFIUM = threading.Lock()
"""Held by whoever calls pdfium."""

Size = tuple[float, float]


@dataclass(frozen=True, eq=False)
class PageImage:
    """A page as a picture ``width_px`` wide, and the sizes of all pages of its PDF in points."""

    page: int
    width_px: int
    image: QImage
    sizes: tuple[Size, ...]


def page_sizes(pdf: bytes) -> tuple[Size, ...]:
    """Width and height of every page in points."""
    import pypdfium2

    with PDFIUM, pypdfium2.PdfDocument(pdf) as document:
        return tuple(document.get_page_size(at) for at in range(len(document)))


def page_image(pdf: bytes, page: int, width_px: int) -> PageImage:
    """A page (the first is 0) drawn ``width_px`` wide."""
    sizes = page_sizes(pdf)
    return PageImage(page, width_px, _drawn(pdf, page, width_px / sizes[page][0] * (1 - 1e-9)), sizes)


def page_bands(pdf: bytes, page: int, *, dpi: float, rows: int, overlap: int = 0) -> Iterator[tuple[int, int, QImage]]:
    """A page in bands of ``rows`` pixels from the top: (first row, rows of the whole page, picture of the band).

    Each but the first begins ``overlap`` rows earlier. The lock is let go between bands.
    """
    scale = dpi / POINTS_PER_INCH * (1 - 1e-9)  # pdfium rounds up, a whole number of pixels too
    whole = math.ceil(page_sizes(pdf)[page][1] * scale)
    for begin in range(0, whole, rows):
        top, below = max(0, begin - overlap), max(0, whole - begin - rows)
        yield top, whole, _drawn(pdf, page, scale, crop=(0.0, _cut(below, scale), 0.0, _cut(top, scale)))


def _drawn(pdf: bytes, page: int, scale: float, crop: tuple[float, float, float, float] = (0, 0, 0, 0)) -> QImage:
    """A page, or what a crop (left, bottom, right, top in points) leaves of it; closed before the lock is let go."""
    import pypdfium2

    with PDFIUM, pypdfium2.PdfDocument(pdf) as document:
        leaf = document[page]
        bitmap = leaf.render(scale=scale, crop=crop, prefer_bgrx=True)
        array = bitmap.to_numpy()
        image = QImage(array.data, bitmap.width, bitmap.height, bitmap.stride, QImage.Format.Format_RGB32).copy()
        del array
        bitmap.close()
        leaf.close()
    return image


def _cut(pixels: int, scale: float) -> float:
    """Points that pdfium, rounding up, takes for so many pixels."""
    return 0.0 if pixels <= 0 else (pixels - 0.5) / scale
