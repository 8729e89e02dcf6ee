"""The picture of the art on neutral ground: zoomed, panned, and marked like a proof, numbers in the margin."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import numpy.typing as npt
from PySide6.QtCore import QEvent, QPointF, QRect, QRectF, QSize, Qt, Signal
from PySide6.QtGui import (
    QColor,
    QHelpEvent,
    QImage,
    QKeyEvent,
    QMouseEvent,
    QPainter,
    QPaintEvent,
    QPen,
    QPixmap,
    QResizeEvent,
    QWheelEvent,
)
from PySide6.QtWidgets import QSizePolicy, QToolTip, QWidget

from setupassist.app.art_marks import Laid, Mark, hit, lay_out, paint
from setupassist.app.theme import BODY, Look

MOST_ZOOM = 24.0
STEP = 1.25
PAN_SHARE = 0.15
MOST_SCALED_PX = 6_000_000
CRISP_FROM = 3.0
"""From this many screen pixels a cell on, cells are shown as they are."""


def image_of(picture: npt.NDArray[np.uint8]) -> QImage:
    """A QImage with its own memory of an sRGB picture (rows, columns, 3) uint8."""
    rows, columns, _ = picture.shape
    packed = np.ascontiguousarray(picture)
    return QImage(packed.data, columns, rows, 3 * columns, QImage.Format.Format_RGB888).copy()


class ArtView(QWidget):
    """One picture. ``mark_chosen`` tells the number and the place of a mark that was clicked.

    Wheel, + and - zoom, 0 shows the whole; dragging and the arrows pan. ``pointed`` tells where on the plates the
    pointer is, as shares of width and height; ``moved`` that what is seen of them has changed.
    """

    mark_chosen = Signal(int, int)
    pointed = Signal(float, float)
    moved = Signal()

    def __init__(self, look: Look) -> None:
        super().__init__()
        self.look = look
        self.setObjectName("art-view")
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Expanding)
        self.setMinimumSize(look.px(220), look.px(180))
        self.setMouseTracking(True)
        self.image: QImage | None = None
        self.marks: tuple[Mark, ...] = ()
        self.chosen = self.chosen_place = 0
        self._laid: tuple[tuple[object, ...], tuple[Laid, ...]] | None = None
        self.message = ""
        self.zoom = 1.0
        self._centre = QPointF(0.5, 0.5)
        self._dragged: tuple[QPointF, QPointF] | None = None
        self._moved = False
        self._scaled: tuple[tuple[int, int, int], QPixmap] | None = None

    # ------------------------------------------------------------ what is shown

    def show_image(self, image: QImage | None, message: str = "") -> None:
        """Shows a picture, or says why there is none; the zoom stays where the shape stays."""
        before = self.image.size() if self.image is not None else QSize()
        self.image, self.message = image, message
        if image is None or image.size() != before:
            self.zoom, self._centre = 1.0, QPointF(0.5, 0.5)
        self._go()

    def show_marks(self, marks: Sequence[Mark], chosen: int, place: int = 0) -> None:
        """Shows the marks; the chosen number is filled, its place in hand ringed twice."""
        now = tuple(marks)
        if (now, chosen, place) != (self.marks, self.chosen, self.chosen_place):
            self.marks, self.chosen, self.chosen_place = now, chosen, place
            self.update()

    def mark_of(self, number: int, place: int = 0) -> Mark | None:
        """The mark of that place of a finding, its first where it has no such place; None without any."""
        own = [mark for mark in self.marks if mark.number == number]
        return next((mark for mark in own if mark.place == place), own[0] if own else None)

    def bring_to(self, number: int, place: int = 0) -> None:
        """Moves the picture so that the place of that number can be seen."""
        mark = self.mark_of(number, place)
        if mark is not None and self.image is not None and not self.rect().contains(self._at(mark).toPoint()):
            self.show_place(mark.x_share, mark.y_share)

    def show_place(self, x_share: float, y_share: float, *, least_zoom: float = 1.0) -> None:
        """Brings a place to the middle, as near to it as the picture reaches, zoomed in at least so far."""
        if self.image is not None:
            self.zoom = min(max(self.zoom, least_zoom), MOST_ZOOM)
            self._centre = QPointF(x_share, y_share)
            self._go()

    # ------------------------------------------------------------ where it lies

    def _scale(self) -> float:
        """Screen pixels a picture cell."""
        assert self.image is not None
        pad = 2 * self.look.px(14)
        wide, high = max(1, self.width() - pad), max(1, self.height() - pad)
        return self.zoom * min(wide / self.image.width(), high / self.image.height())

    def place(self) -> QRectF:
        """The rectangle that the whole picture takes, in this widget's pixels."""
        assert self.image is not None
        scale = self._scale()
        wide, high = self.image.width() * scale, self.image.height() * scale
        left = self.width() / 2 - self._centre.x() * wide
        top = self.height() / 2 - self._centre.y() * high
        return QRectF(left, top, wide, high)

    def _hold(self) -> None:
        """Keeps the picture in the window: centred where it is smaller, without a gap where it is larger."""
        if self.image is None:
            return
        scale, pad = self._scale(), self.look.px(14)
        for side, length in (("x", self.image.width() * scale), ("y", self.image.height() * scale)):
            room = (self.width() if side == "x" else self.height()) - 2 * pad
            half = 0.5 if length <= room else room / 2 / length
            value = min(max(self._centre.x() if side == "x" else self._centre.y(), half), 1 - half)
            self._centre.setX(value) if side == "x" else self._centre.setY(value)

    def _go(self) -> None:
        """Shows the picture where it was moved to."""
        self._hold()
        self.update()
        self.moved.emit()

    def share_at(self, point: QPointF) -> QPointF:
        """Where on the plates a point of this widget is, as shares of width and height."""
        place = self.place()
        return QPointF((point.x() - place.x()) / place.width(), (point.y() - place.y()) / place.height())

    def point_of(self, x_share: float, y_share: float) -> QPointF:
        """The point of this widget where that place of the plates is seen."""
        place = self.place()
        return QPointF(place.x() + x_share * place.width(), place.y() + y_share * place.height())

    def zoom_by(self, factor: float, at: QPointF | None = None) -> None:
        """Zooms so that what lies under ``at`` stays there; the middle where no point is given."""
        if self.image is None:
            return
        point = at if at is not None else QPointF(self.width() / 2, self.height() / 2)
        share = self.share_at(point)
        self.zoom = min(max(self.zoom * factor, 1.0), MOST_ZOOM)
        after = self.place()
        self._centre += QPointF(
            (after.x() + share.x() * after.width() - point.x()) / after.width(),
            (after.y() + share.y() * after.height() - point.y()) / after.height(),
        )
        self._go()

    def larger(self) -> None:
        """One step nearer."""
        self.zoom_by(STEP)

    def smaller(self) -> None:
        """One step farther."""
        self.zoom_by(1 / STEP)

    def whole(self) -> None:
        """The whole picture."""
        self.zoom, self._centre = 1.0, QPointF(0.5, 0.5)
        self._go()

    def pan(self, x_px: float, y_px: float) -> None:
        """Moves the picture by so many pixels."""
        if self.image is not None:
            place = self.place()
            self._centre -= QPointF(x_px / place.width(), y_px / place.height())
            self._go()

    # ------------------------------------------------------------ what the person does

    def resizeEvent(self, event: QResizeEvent) -> None:
        super().resizeEvent(event)
        self._go()

    def wheelEvent(self, event: QWheelEvent) -> None:
        turns = event.angleDelta().y() / 120
        if turns:
            self.zoom_by(STEP**turns, event.position())
        event.accept()

    def keyPressEvent(self, event: QKeyEvent) -> None:
        key, step = event.key(), PAN_SHARE * min(self.width(), self.height())
        pans = {
            Qt.Key.Key_Left: (step, 0.0), Qt.Key.Key_Right: (-step, 0.0),
            Qt.Key.Key_Up: (0.0, step), Qt.Key.Key_Down: (0.0, -step),
        }  # fmt: skip
        if key in (Qt.Key.Key_Plus, Qt.Key.Key_Equal):
            self.larger()
        elif key == Qt.Key.Key_Minus:
            self.smaller()
        elif key == Qt.Key.Key_0:
            self.whole()
        elif key in pans:
            self.pan(*pans[Qt.Key(key)])
        else:
            super().keyPressEvent(event)

    def mousePressEvent(self, event: QMouseEvent) -> None:
        if event.button() is Qt.MouseButton.LeftButton:
            self._dragged, self._moved = (event.position(), QPointF(self._centre)), False

    def mouseMoveEvent(self, event: QMouseEvent) -> None:
        if self.image is None:
            return
        if self._dragged is None:
            share = self.share_at(event.position())
            self.pointed.emit(share.x(), share.y())
            return
        start, centre = self._dragged
        moved = event.position() - start
        if self._moved or moved.manhattanLength() > 4:
            self._moved = True
            place = self.place()
            self._centre = centre - QPointF(moved.x() / place.width(), moved.y() / place.height())
            self._go()

    def mouseReleaseEvent(self, event: QMouseEvent) -> None:
        if self._dragged is not None and not self._moved:
            found = hit(self.laid(), event.position())
            if found is not None:
                self.mark_chosen.emit(found.number, found.place)
        self._dragged = None

    def event(self, event: QEvent) -> bool:
        if event.type() is QEvent.Type.ToolTip and isinstance(event, QHelpEvent):
            found = hit(self.laid(), QPointF(event.pos()))
            QToolTip.showText(event.globalPos(), found.told if found is not None else "", self)
            return True
        return super().event(event)

    # ------------------------------------------------------------ painting

    def _at(self, mark: Mark) -> QPointF:
        return self.point_of(mark.x_share, mark.y_share)

    def laid(self) -> tuple[Laid, ...]:
        """The marks that are in view, and where their labels lie."""
        if self.image is None:
            return ()
        key = (self.place(), self.size(), self.marks, self.chosen)
        if self._laid is None or self._laid[0] != key:
            self._laid = key, lay_out(self.marks, self._at, QRectF(self.rect()), self.look, self.chosen)
        return self._laid[1]

    def paintEvent(self, event: QPaintEvent) -> None:
        painter, look = QPainter(self), self.look
        painter.fillRect(self.rect(), look.colour("art_ground"))
        if self.image is None:
            self._paint_message(painter)
        else:
            self._paint_image(painter)
            paint(painter, self.laid(), self.look, self.chosen, self.chosen_place)
        if self.hasFocus():
            painter.setPen(QPen(look.colour("ink"), 2))
            painter.setBrush(Qt.BrushStyle.NoBrush)
            painter.drawRect(self.rect().adjusted(1, 1, -1, -1))
        painter.end()

    def _paint_message(self, painter: QPainter) -> None:
        painter.setFont(self.look.font(BODY))
        painter.setPen(QColor("#ffffff"))
        room = self.rect().adjusted(*[self.look.px(24) * sign for sign in (1, 1, -1, -1)])
        painter.drawText(room, int(Qt.TextFlag.TextWordWrap | Qt.AlignmentFlag.AlignCenter), self.message)

    def _paint_image(self, painter: QPainter) -> None:
        assert self.image is not None
        place, ratio = self.place(), self.devicePixelRatioF()
        target = QRect(round(place.x()), round(place.y()), round(place.width()), round(place.height()))
        size = QSize(round(target.width() * ratio), round(target.height() * ratio))
        if size.width() * size.height() <= MOST_SCALED_PX and self._scale() < CRISP_FROM:
            key = (self.image.cacheKey(), size.width(), size.height())
            if self._scaled is None or self._scaled[0] != key:
                mode = Qt.TransformationMode.SmoothTransformation
                small = self.image.scaled(size, Qt.AspectRatioMode.IgnoreAspectRatio, mode)
                self._scaled = key, QPixmap.fromImage(small)
            painter.drawPixmap(target, self._scaled[1])
            return
        painter.setRenderHint(QPainter.RenderHint.SmoothPixmapTransform, self._scale() < CRISP_FROM)
        painter.drawImage(QRectF(target), self.image)
