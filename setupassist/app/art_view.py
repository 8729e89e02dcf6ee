"""The picture of the art on neutral ground: zoomed, panned, and marked like a proof, numbers in the margin."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
from PySide6.QtCore import QPoint, QPointF, QRect, QRectF, QSize, Qt, Signal
from PySide6.QtGui import (
    QColor,
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
from PySide6.QtWidgets import QSizePolicy, QWidget

from setupassist.app.theme import BODY, SMALL, Look

MOST_ZOOM = 24.0
STEP = 1.25
PAN_SHARE = 0.15
MOST_SCALED_PX = 6_000_000
CRISP_FROM = 3.0
"""From this many screen pixels a cell on, cells are shown as they are."""


@dataclass(frozen=True)
class Mark:
    """A place of a finding: its number in the list, and where on the plates it is, as shares of width and height."""

    number: int
    x_share: float
    y_share: float


def image_of(picture: npt.NDArray[np.uint8]) -> QImage:
    """A QImage with its own memory of an sRGB picture (rows, columns, 3) uint8."""
    rows, columns, _ = picture.shape
    packed = np.ascontiguousarray(picture)
    return QImage(packed.data, columns, rows, 3 * columns, QImage.Format.Format_RGB888).copy()


class ArtView(QWidget):
    """One picture. ``mark_chosen`` tells the number of a mark that was clicked.

    Wheel, + and - zoom, 0 shows the whole; dragging and the arrows pan.
    """

    mark_chosen = Signal(int)

    def __init__(self, look: Look) -> None:
        super().__init__()
        self.look = look
        self.setObjectName("art-view")
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Expanding)
        self.setMinimumSize(look.px(220), look.px(180))
        self.image: QImage | None = None
        self.marks: tuple[Mark, ...] = ()
        self.chosen = 0
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
        self.update()

    def show_marks(self, marks: Sequence[Mark], chosen: int) -> None:
        """Shows the marks; the chosen number is filled."""
        now = tuple(marks)
        if now != self.marks or chosen != self.chosen:
            self.marks, self.chosen = now, chosen
            self.update()

    def bring_to(self, number: int) -> None:
        """Moves the picture so that the first place of that number can be seen."""
        mark = next((mark for mark in self.marks if mark.number == number), None)
        if mark is not None and self.image is not None and not self.rect().contains(self._at(mark).toPoint()):
            self._centre = QPointF(mark.x_share, mark.y_share)
            self._hold()
            self.update()

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

    def zoom_by(self, factor: float, at: QPointF | None = None) -> None:
        """Zooms so that what lies under ``at`` stays there; the middle where no point is given."""
        if self.image is None:
            return
        point = at if at is not None else QPointF(self.width() / 2, self.height() / 2)
        before = self.place()
        share = QPointF((point.x() - before.x()) / before.width(), (point.y() - before.y()) / before.height())
        self.zoom = min(max(self.zoom * factor, 1.0), MOST_ZOOM)
        after = self.place()
        self._centre += QPointF(
            (after.x() + share.x() * after.width() - point.x()) / after.width(),
            (after.y() + share.y() * after.height() - point.y()) / after.height(),
        )
        self._hold()
        self.update()

    def larger(self) -> None:
        """One step nearer."""
        self.zoom_by(STEP)

    def smaller(self) -> None:
        """One step farther."""
        self.zoom_by(1 / STEP)

    def whole(self) -> None:
        """The whole picture."""
        self.zoom, self._centre = 1.0, QPointF(0.5, 0.5)
        self.update()

    def _pan(self, x_px: float, y_px: float) -> None:
        if self.image is not None:
            place = self.place()
            self._centre -= QPointF(x_px / place.width(), y_px / place.height())
            self._hold()
            self.update()

    # ------------------------------------------------------------ what the person does

    def resizeEvent(self, event: QResizeEvent) -> None:
        super().resizeEvent(event)
        self._hold()

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
            self._pan(*pans[Qt.Key(key)])
        else:
            super().keyPressEvent(event)

    def mousePressEvent(self, event: QMouseEvent) -> None:
        if event.button() is Qt.MouseButton.LeftButton:
            self._dragged, self._moved = (event.position(), QPointF(self._centre)), False

    def mouseMoveEvent(self, event: QMouseEvent) -> None:
        if self._dragged is None or self.image is None:
            return
        start, centre = self._dragged
        moved = event.position() - start
        if self._moved or moved.manhattanLength() > 4:
            self._moved = True
            place = self.place()
            self._centre = centre - QPointF(moved.x() / place.width(), moved.y() / place.height())
            self._hold()
            self.update()

    def mouseReleaseEvent(self, event: QMouseEvent) -> None:
        if self._dragged is not None and not self._moved:
            found = self.mark_at(event.position().toPoint())
            if found:
                self.mark_chosen.emit(found)
        self._dragged = None

    def mark_at(self, point: QPoint) -> int:
        """Number of the mark under a point, 0 where there is none."""
        for mark, disc in reversed(self.discs()):
            if disc.adjusted(-3, -3, 3, 3).contains(QPointF(point)):
                return mark.number
        return 0

    # ------------------------------------------------------------ painting

    def _at(self, mark: Mark) -> QPointF:
        place = self.place()
        return QPointF(place.x() + mark.x_share * place.width(), place.y() + mark.y_share * place.height())

    def discs(self) -> list[tuple[Mark, QRectF]]:
        """Each mark with the disc that holds its number: away from the picture's middle, inside the window."""
        if self.image is None:
            return []
        radius, reach = self.look.px(10), self.look.px(26)
        told = []
        for mark in self.marks:
            at = self._at(mark)
            if not self.rect().contains(at.toPoint()):
                continue
            away = QPointF(at.x() - self.width() / 2, at.y() - self.height() / 2)
            length = math.hypot(away.x(), away.y()) or 1.0
            if length < 1.0 + reach / 4:
                away, length = QPointF(1.0, -1.0), math.sqrt(2)
            middle = at + away * (reach / length)
            if not self.rect().adjusted(radius, radius, -radius, -radius).contains(middle.toPoint()):
                middle = at - away * (reach / length)
            told.append((mark, QRectF(middle.x() - radius, middle.y() - radius, 2 * radius, 2 * radius)))
        return told

    def paintEvent(self, event: QPaintEvent) -> None:
        painter, look = QPainter(self), self.look
        painter.fillRect(self.rect(), look.colour("art_ground"))
        if self.image is None:
            self._paint_message(painter)
        else:
            self._paint_image(painter)
            self._paint_marks(painter)
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

    def _paint_marks(self, painter: QPainter) -> None:
        look = self.look
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        paper, ink = QColor("#ffffff"), QColor("#1d1d1f")
        for mark, disc in self.discs():
            at, chosen = self._at(mark), mark.number == self.chosen
            for colour, width in ((paper, 3.5), (ink, 1.25)):
                painter.setPen(QPen(colour, width))
                painter.setBrush(Qt.BrushStyle.NoBrush)
                painter.drawLine(at, disc.center())
                painter.drawEllipse(at, look.px(3), look.px(3))
            painter.setPen(QPen(ink if not chosen else paper, 1.5))
            painter.setBrush(ink if chosen else paper)
            painter.drawEllipse(disc)
            painter.setPen(paper if chosen else ink)
            painter.setFont(look.font(SMALL, weight=700 if chosen else 600))
            painter.drawText(disc, int(Qt.AlignmentFlag.AlignCenter), str(mark.number))
