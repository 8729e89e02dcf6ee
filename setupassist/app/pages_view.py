"""Pages of the sheet under one another, drawn in the background at the size in which they are seen."""

from __future__ import annotations

from functools import partial
from typing import Any

from PySide6.QtCore import QPoint, QRectF, QSize, Qt, Signal
from PySide6.QtGui import QKeyEvent, QPainter, QPaintEvent, QResizeEvent, QWheelEvent
from PySide6.QtWidgets import QAbstractScrollArea, QSizePolicy

from setupassist.app.model import DeskModel
from setupassist.app.pdf_pages import PageImage, Size, page_image
from setupassist.app.theme import SMALL, Look
from setupassist.desk.tasks import Lane
from setupassist.errors import Cancelled, SetupAssistError
from setupassist.words import say

PX_PER_POINT = 96 / 72
LEAST_ZOOM, MOST_ZOOM, STEP = 0.2, 4.0, 1.25
MOST_PX = 6000
KEPT_PAGES = 6
MARGIN, GAP = 14, 14
VEILED = 0.4


class PagesView(QAbstractScrollArea):
    """A PDF as pages. ``moved`` tells the page in view (from 1), how many there are, and the zoom in percent."""

    moved = Signal(int, int, int)

    def __init__(self, model: DeskModel, look: Look) -> None:
        super().__init__()
        self.model, self.look = model, look
        self.setObjectName("sheet-pages")
        self.setAccessibleName(model.say("place_run.sheet"))
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Expanding)
        self.setStyleSheet("QAbstractScrollArea:focus { border: none; }")
        self.pdf: bytes | None = None
        self.zoom: float | None = None
        self.stale = False
        self.sizes: tuple[Size, ...] = ()
        self.drawn: dict[int, PageImage] = {}
        self._of: dict[int, int] = {}
        self._failed: set[tuple[int, int]] = set()
        self._serial = 0
        self.verticalScrollBar().valueChanged.connect(self._scrolled)
        model.busy_changed.connect(self._ask)

    # ------------------------------------------------------------ what is shown

    def show_pdf(self, pdf: bytes | None, *, stale: bool) -> None:
        """Shows a PDF; its predecessor's pages stay, veiled, until its own are drawn. ``stale`` veils all."""
        if stale != self.stale:
            self.stale = stale
            self.viewport().update()
        if pdf is self.pdf:
            return
        self.pdf = pdf
        self._serial += 1
        self._failed.clear()
        if pdf is None:
            self.sizes, self.drawn, self._of = (), {}, {}
            self._place()
        self._ask()

    def current(self, page: int) -> bool:
        """Whether a page (from 0) is shown as the present PDF has it."""
        return page in self.drawn and self._of.get(page) == self._serial and not self.stale

    @property
    def page(self) -> int:
        """The page in the middle of the view, from 0."""
        middle = self.verticalScrollBar().value() + self.viewport().height() // 2
        tops = [rect.top() for rect in self._rects()]
        return max((at for at, top in enumerate(tops) if top <= middle), default=0)

    @property
    def scale(self) -> float:
        """Pixels of the window for a point of the page."""
        if self.zoom is not None or not self.sizes:
            return (self.zoom or 1.0) * PX_PER_POINT
        room = self.viewport().width() - 2 * self.look.px(MARGIN)
        return max(0.1, room / max(size[0] for size in self.sizes))

    # ------------------------------------------------------------ getting about

    def zoom_by(self, factor: float) -> None:
        """Nearer or farther, around the middle of the view."""
        now = self.scale / PX_PER_POINT
        self._zoom_to(min(MOST_ZOOM, max(LEAST_ZOOM, now * factor)))

    def fit_width(self) -> None:
        """A page as wide as the view."""
        self._zoom_to(None)

    def go_to(self, page: int) -> None:
        """Scrolls to the top of a page, from 0."""
        rects = self._rects()
        if rects:
            at = min(max(0, page), len(rects) - 1)
            self.verticalScrollBar().setValue(int(rects[at].top()) - self.look.px(GAP))

    def turn(self, step: int) -> None:
        """The next page or the one before; within a page that is higher than the view, a view's height."""
        bar, rects = self.verticalScrollBar(), self._rects()
        if not rects:
            return
        top = bar.value() + self.look.px(GAP)
        high, view = rects[0].height(), self.viewport().height()
        if high > view * 1.3:
            bar.setValue(bar.value() + step * round(view * 0.85))
            return
        tops = [int(rect.top()) for rect in rects]
        beyond = [at for at in tops if (at > top + 2 if step > 0 else at < top - 2)]
        if beyond:
            bar.setValue((min(beyond) if step > 0 else max(beyond)) - self.look.px(GAP))
        elif step > 0:
            bar.setValue(bar.maximum())

    def keyPressEvent(self, event: QKeyEvent) -> None:
        key, bar = event.key(), self.verticalScrollBar()
        if key == Qt.Key.Key_PageDown or (key == Qt.Key.Key_Space and not event.modifiers()):
            self.turn(1)
        elif key in (Qt.Key.Key_PageUp, Qt.Key.Key_Space):
            self.turn(-1)
        elif key == Qt.Key.Key_Home:
            bar.setValue(0)
        elif key == Qt.Key.Key_End:
            bar.setValue(bar.maximum())
        elif key in (Qt.Key.Key_Plus, Qt.Key.Key_Equal):
            self.zoom_by(STEP)
        elif key == Qt.Key.Key_Minus:
            self.zoom_by(1 / STEP)
        elif key == Qt.Key.Key_0:
            self.fit_width()
        elif key in (Qt.Key.Key_Up, Qt.Key.Key_Down):
            bar.setValue(bar.value() + (1 if key == Qt.Key.Key_Down else -1) * self.look.px(60))
        elif key in (Qt.Key.Key_Left, Qt.Key.Key_Right):
            across = self.horizontalScrollBar()
            across.setValue(across.value() + (1 if key == Qt.Key.Key_Right else -1) * self.look.px(60))
        else:
            super().keyPressEvent(event)

    def wheelEvent(self, event: QWheelEvent) -> None:
        if event.modifiers() & Qt.KeyboardModifier.ControlModifier:
            self.zoom_by(STEP if event.angleDelta().y() > 0 else 1 / STEP)
            event.accept()
        else:
            super().wheelEvent(event)

    def resizeEvent(self, event: QResizeEvent) -> None:
        super().resizeEvent(event)
        self._keeping_place(lambda: None)

    def sizeHint(self) -> QSize:
        return QSize(self.look.px(560), self.look.px(420))

    def minimumSizeHint(self) -> QSize:
        return QSize(self.look.px(260), self.look.px(160))

    def _zoom_to(self, zoom: float | None) -> None:
        self._keeping_place(lambda: setattr(self, "zoom", zoom))

    def _keeping_place(self, change: Any) -> None:
        """Lets the same part of the same page stay in the middle of the view."""
        bar = self.verticalScrollBar()
        whole = max(1, bar.maximum() + bar.pageStep())
        share = (bar.value() + bar.pageStep() / 2) / whole
        at_top = bar.value() == 0
        self._failed.clear()
        change()
        self._place()
        whole = bar.maximum() + bar.pageStep()
        bar.setValue(0 if at_top else round(share * whole - bar.pageStep() / 2))
        self._ask()

    # ------------------------------------------------------------ places of the pages

    def _rects(self) -> list[QRectF]:
        """Where the pages lie, from the top of the first."""
        scale, gap, margin = self.scale, self.look.px(GAP), self.look.px(MARGIN)
        widest = max((size[0] * scale for size in self.sizes), default=0.0)
        room = max(self.viewport().width(), widest + 2 * margin)
        rects, top = [], float(gap)
        for wide, high in self.sizes:
            rects.append(QRectF((room - wide * scale) / 2, top, wide * scale, high * scale))
            top += high * scale + gap
        return rects

    def _place(self) -> None:
        """Gives the scroll bars their range."""
        rects, view = self._rects(), self.viewport()
        high = int(rects[-1].bottom()) + self.look.px(GAP) if rects else 0
        wide = max((int(rect.width()) for rect in rects), default=0) + 2 * self.look.px(MARGIN)
        for bar, whole, seen in (
            (self.verticalScrollBar(), high, view.height()),
            (self.horizontalScrollBar(), wide, view.width()),
        ):
            bar.setRange(0, max(0, whole - seen))
            bar.setPageStep(seen)
            bar.setSingleStep(self.look.px(40))
        view.update()
        self._tell()

    def _scrolled(self) -> None:
        self.viewport().update()
        self._tell()
        self._ask()

    def _tell(self) -> None:
        percent = round(100 * self.scale / PX_PER_POINT)
        at = self.page + 1 if self.sizes else 0
        if at:
            self.setAccessibleDescription(self.model.say("place_run.page", page=at, total=len(self.sizes)))
        self.moved.emit(at, len(self.sizes), percent)

    def paintEvent(self, event: QPaintEvent) -> None:
        painter, look = QPainter(self.viewport()), self.look
        painter.fillRect(self.viewport().rect(), look.colour("idle"))
        painter.setRenderHint(QPainter.RenderHint.SmoothPixmapTransform)
        offset = QPoint(self.horizontalScrollBar().value(), self.verticalScrollBar().value())
        for at, rect in enumerate(self._rects()):
            placed = rect.translated(-offset)
            if not placed.intersects(QRectF(self.viewport().rect())):
                continue
            painter.fillRect(placed, Qt.GlobalColor.white)
            drawn = self.drawn.get(at)
            if drawn is not None:
                painter.setOpacity(1.0 if self.current(at) else VEILED)
                painter.drawImage(placed, drawn.image)
                painter.setOpacity(1.0)
            painter.setPen(look.colour("hairline"))
            painter.drawRect(placed)
            if drawn is not None and not self.current(at):
                self._tell_stale(painter, placed)
        if self.hasFocus():
            painter.setPen(look.colour("ink"))
            painter.drawRect(self.viewport().rect().adjusted(0, 0, -1, -1))
        painter.end()

    def _tell_stale(self, painter: QPainter, placed: QRectF) -> None:
        """Words on a page that is of the sheet before."""
        text, pad = self.model.say("place_run.stale"), self.look.px(8)
        painter.setFont(self.look.font(SMALL, weight=600))
        room = painter.fontMetrics().size(0, text)
        box = QRectF(
            placed.right() - room.width() - 3 * pad, placed.top() + pad, room.width() + 2 * pad, room.height() + pad
        )
        painter.fillRect(box, self.look.colour("ink"))
        painter.setPen(self.look.colour("paper"))
        painter.drawText(box, Qt.AlignmentFlag.AlignCenter, text)

    # ------------------------------------------------------------ drawing in the background

    def _width_px(self, page: int) -> int:
        wide = self.sizes[page][0] if page < len(self.sizes) else 842.0
        return min(MOST_PX, max(1, round(wide * self.scale * self.devicePixelRatioF())))

    def _wanted(self) -> int | None:
        """The page to draw next: those in view first, then their neighbours."""
        if not self.sizes or not self.drawn:
            order = [0]
        else:
            at = self.page
            order = [page for page in (at, at + 1, at - 1, at + 2) if 0 <= page < len(self.sizes)]
        for page in order:
            drawn = self.drawn.get(page)
            fits = drawn is not None and drawn.width_px == self._width_px(page)
            if not (fits and self._of.get(page) == self._serial) and (self._serial, page) not in self._failed:
                return page
        return None

    def _ask(self) -> None:
        """Has the next page drawn, where one is wanted and nothing is being drawn."""
        pdf, runner = self.pdf, self.model.runner
        if pdf is None or not self.isVisible() or not runner.free(Lane.PAGES):
            return
        page = self._wanted()
        if page is not None:
            width = self._width_px(page)
            done = partial(_came, self, self._serial, page)
            runner.start(
                Lane.PAGES, say("place_run.drawing"), lambda progress, stop: page_image(pdf, page, width), done
            )

    def take(self, serial: int, page: int, drawn: PageImage | None, error: SetupAssistError | None) -> None:
        """A page that was drawn, or why it could not be."""
        if error is not None:
            if not isinstance(error, Cancelled):
                self.model.tell(error)
            self._failed.add((serial, page))
        if drawn is not None and serial == self._serial:
            self.drawn[page], self._of[page] = drawn, serial
            if drawn.sizes != self.sizes:
                first = not self.sizes
                self.sizes = drawn.sizes
                self.drawn = {at: image for at, image in self.drawn.items() if at < len(self.sizes)}
                self._place() if first else self._keeping_place(lambda: None)
            for at in sorted(self.drawn, key=lambda at: abs(at - self.page))[KEPT_PAGES:]:
                del self.drawn[at]
            self.viewport().update()
        self._ask()

    def showEvent(self, event: Any) -> None:
        super().showEvent(event)
        self._place()
        self._ask()


def _came(view: PagesView, serial: int, page: int, drawn: Any, error: SetupAssistError | None) -> None:
    """Brings a page to its view, where that is still there."""
    import shiboken6

    if shiboken6.isValid(view):
        view.take(serial, page, drawn, error)
