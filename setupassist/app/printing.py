"""The sheet on a printer: page by page and band by band, so that it can be stopped and takes little memory."""

from __future__ import annotations

from typing import TYPE_CHECKING

from PySide6.QtCore import QRectF
from PySide6.QtGui import QPainter

from setupassist.app.pdf_pages import page_bands, page_sizes
from setupassist.desk.tasks import Progress, Stop
from setupassist.errors import Cancelled, MachineFault
from setupassist.words import say

if TYPE_CHECKING:
    from PySide6.QtPrintSupport import QPrinter

MOST_DPI = 300
BAND_ROWS, OVERLAP = 384, 10


def print_pages(pdf: bytes, printer: QPrinter, *, progress: Progress, stop: Stop) -> int:
    """Prints the pages that the printer's dialog asked for, each fitted to the paper; how many pages.

    Runs in a thread. Raises Cancelled where ``stop`` says so, MachineFault where the printer refuses.
    """
    sizes = page_sizes(pdf)
    pages = _pages(printer, len(sizes))
    dpi = min(MOST_DPI, printer.resolution())
    painter = QPainter()
    if not painter.begin(printer):
        raise MachineFault(say("place_run.printer-refuses"))
    try:
        for at, page in enumerate(pages):
            if at and not printer.newPage():
                raise MachineFault(say("place_run.printer-refuses"))
            paper = QRectF(printer.pageRect(printer.Unit.DevicePixel))
            room = _fitted(sizes[page], QRectF(0, 0, paper.width(), paper.height()))
            for top, whole, band in page_bands(pdf, page, dpi=dpi, rows=BAND_ROWS, overlap=OVERLAP):
                if stop():
                    printer.abort()
                    raise Cancelled()
                a_row = room.height() / whole
                place = QRectF(room.left(), room.top() + top * a_row, room.width(), band.height() * a_row)
                painter.drawImage(place, band, QRectF(0, 0, band.width(), band.height()))
                progress((at + min(1.0, (top + BAND_ROWS) / whole)) / len(pages))
    finally:
        painter.end()
    return len(pages)


def _pages(printer: QPrinter, count: int) -> list[int]:
    """The pages asked for, from 0, in the order and as often as the printer does not see to itself."""
    first, last = printer.fromPage() or 1, printer.toPage() or count
    pages = [page for page in range(first - 1, last) if page < count]
    if printer.pageOrder() is printer.PageOrder.LastPageFirst:
        pages.reverse()
    copies = 1 if printer.supportsMultipleCopies() else printer.copyCount()
    return pages * copies


def _fitted(size: tuple[float, float], paper: QRectF) -> QRectF:
    """The largest place of that shape in the middle of the paper."""
    scale = min(paper.width() / size[0], paper.height() / size[1])
    wide, high = size[0] * scale, size[1] * scale
    return QRectF((paper.width() - wide) / 2, (paper.height() - high) / 2, wide, high)
