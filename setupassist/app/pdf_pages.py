"""Pages of a PDF as pictures. pdfium is not thread-safe: one lock holds it, and it is called in threads only."""

from __future__ import annotations

import math
import threading
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

from PySide6.QtGui import QImage

POINTS_PER_INCH = 72.0
_PDFIUM = threading.Lock()

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
    with _PDFIUM:
        return _sizes(pdf)


def page_image(pdf: bytes, page: int, width_px: int) -> PageImage:
    """A page (the first is 0) drawn ``width_px`` wide."""
    import pypdfium2

    with _PDFIUM, pypdfium2.PdfDocument(pdf) as document:
        sizes = tuple(document.get_page_size(at) for at in range(len(document)))
        drawn = document[page].render(scale=width_px / sizes[page][0], prefer_bgrx=True)
        return PageImage(page, width_px, _image(drawn), sizes)


def page_bands(pdf: bytes, page: int, *, dpi: float, rows: int) -> Iterator[tuple[int, int, QImage]]:
    """A page in bands of ``rows`` pixels from the top: (first row, rows of the whole page, picture of the band).

    The lock is let go between bands.
    """
    import pypdfium2

    scale = dpi / POINTS_PER_INCH
    with _PDFIUM:
        high = _sizes(pdf)[page][1]
    whole = math.ceil(high * scale)
    for top in range(0, whole, rows):
        below = max(0, whole - top - rows)
        cut = (0.0, _cut(below, scale), 0.0, _cut(top, scale))
        with _PDFIUM, pypdfium2.PdfDocument(pdf) as document:
            band = _image(document[page].render(scale=scale, crop=cut, prefer_bgrx=True))
        yield top, whole, band


def _sizes(pdf: bytes) -> tuple[Size, ...]:
    import pypdfium2

    with pypdfium2.PdfDocument(pdf) as document:
        return tuple(document.get_page_size(at) for at in range(len(document)))


def _cut(pixels: int, scale: float) -> float:
    """Points that pdfium, rounding up, takes for so many pixels."""
    return 0.0 if pixels <= 0 else (pixels - 0.5) / scale


def _image(drawn: Any) -> QImage:
    """A copy of pdfium's bitmap, which dies with its page."""
    array = drawn.to_numpy()
    return QImage(array.data, drawn.width, drawn.height, drawn.stride, QImage.Format.Format_RGB32).copy()
