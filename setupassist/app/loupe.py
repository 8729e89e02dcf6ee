"""The loupe on the picture of the art: the plates themselves, pixel for pixel, at the pointer or where keys move it."""

from __future__ import annotations

from functools import partial

import shiboken6
from PySide6.QtCore import QEvent, QObject, QPoint, QPointF, QRect, QRectF, Qt, Signal
from PySide6.QtGui import QColor, QFont, QFontMetrics, QImage, QKeyEvent, QPainter, QPaintEvent, QPen
from PySide6.QtWidgets import QWidget

from setupassist.app.art_marks import INK, PAPER
from setupassist.app.art_view import ArtView, image_of
from setupassist.app.model import DeskModel
from setupassist.app.theme import SMALL, Look
from setupassist.desk import loupe
from setupassist.desk.base_making import BaseMade
from setupassist.desk.garment_art import garment_art
from setupassist.desk.loupe import SIDES_MM, USUAL_SIDE, LoupeReader, Seen, Wish
from setupassist.desk.tasks import Lane
from setupassist.errors import Cancelled, SetupAssistError
from setupassist.quantities import Units
from setupassist.sheet.scale_bar import scale_bar
from setupassist.sheet.unit_words import UnitWords
from setupassist.words import say

SQUARE, LEAST_SQUARE = 216, 110
"""The side of the picture at 100 % text, and its least where the room is small."""
WRAP = int(Qt.TextFlag.TextWordWrap | Qt.AlignmentFlag.AlignLeft)
MOST_OF_VIEW = 0.62
MOVE_SHARE = 1 / 6


class Loupe(QWidget):
    """A square over the picture that shows a part of the plates at pixel scale. It reads in the background.

    While it is on it follows the pointer; with the focus on the picture the arrows move it (a pixel with Shift), Page
    Up and Page Down show less or more, Escape takes it away. ``turned`` tells that it was taken out or put away.
    """

    turned = Signal()

    def __init__(self, model: DeskModel, look: Look, view: ArtView) -> None:
        super().__init__(view)
        self.model, self.look, self.view = model, look, view
        self.setObjectName("art-loupe")
        self.setAccessibleName(model.say("place_art_check.loupe.name"))
        self.setAttribute(Qt.WidgetAttribute.WA_TransparentForMouseEvents)
        self.on = False
        self.place_mm: tuple[float, float] | None = None
        self.side = USUAL_SIDE
        self.plate: str | None = None
        self.group = 0
        self.base: BaseMade | None = None
        self.seen: Seen | None = None
        self.text: tuple[str, str, str] = ("", "", "")
        self._image: QImage | None = None
        self._reader = LoupeReader()
        self._wanted: Wish | None = None
        self._shown: Wish | None = None
        self._broken: object = None
        self._square = look.px(SQUARE)
        self.hide()
        view.installEventFilter(self)
        view.pointed.connect(self._pointed)
        view.moved.connect(self._stand)
        model.busy_changed.connect(self._read)

    # ------------------------------------------------------------ out and away

    @property
    def may_be_on(self) -> bool:
        """Whether there is something to look at."""
        return self.model.has_job and self.view.image is not None and loupe.can_be_seen(self.model.results.plates)

    def toggle(self, place_mm: tuple[float, float] | None = None) -> None:
        """Takes the loupe out, at a place or in the middle of what is seen, or puts it away."""
        self.on = not self.on and self.may_be_on
        if self.on:
            self.place_mm = place_mm or self.place_mm or self._middle()
            self._bring_in()
        self.refresh()
        self.turned.emit()

    def go_to(self, place_mm: tuple[float, float]) -> None:
        """Looks at a place."""
        self.place_mm = place_mm
        if self.on:
            self.refresh()

    def nearer(self) -> None:
        """Shows less, larger."""
        self._show_side(self.side - 1)

    def farther(self) -> None:
        """Shows more, smaller."""
        self._show_side(self.side + 1)

    def _show_side(self, side: int) -> None:
        self.side = min(len(SIDES_MM) - 1, max(0, side))
        self.refresh()

    def look_at(self, plate: str | None, group: int) -> None:
        """One plate as its film, or all of them on a garment where ``plate`` is None."""
        if (plate, group) != (self.plate, self.group):
            self.plate, self.group = plate, group
            self.refresh()

    # ------------------------------------------------------------ where it looks

    def _size_mm(self) -> tuple[float, float]:
        plates = self.model.results.plates
        assert loupe.can_be_seen(plates)
        return loupe.size_mm(plates)

    def _middle(self) -> tuple[float, float]:
        width, height = self._size_mm()
        share = self.view.share_at(QPointF(self.view.width() / 2, self.view.height() / 2))
        return share.x() * width, share.y() * height

    def _pointed(self, x_share: float, y_share: float) -> None:
        if self.on and self.may_be_on:
            width, height = self._size_mm()
            self.place_mm = x_share * width, y_share * height
            self.refresh()

    def _move(self, right: int, down: int, *, pixel: bool) -> None:
        plates = self.model.results.plates
        if self.place_mm is None or not loupe.can_be_seen(plates):
            return
        step = loupe.pixel_mm(plates) if pixel else SIDES_MM[self.side] * MOVE_SHARE
        self.place_mm = self.place_mm[0] + right * step, self.place_mm[1] + down * step
        self._hold()
        self._bring_in()
        self.refresh()

    def _hold(self) -> None:
        """Keeps the place on the plates."""
        if self.place_mm is not None:
            width, height = self._size_mm()
            self.place_mm = min(max(self.place_mm[0], 0.0), width), min(max(self.place_mm[1], 0.0), height)

    def _point(self) -> QPointF:
        assert self.place_mm is not None
        width, height = self._size_mm()
        return self.view.point_of(self.place_mm[0] / width, self.place_mm[1] / height)

    def _bring_in(self) -> None:
        """Moves the picture where the place is not seen."""
        if self.place_mm is not None and not self.view.rect().contains(self._point().toPoint()):
            width, height = self._size_mm()
            self.view.show_place(self.place_mm[0] / width, self.place_mm[1] / height)

    def _stand(self) -> None:
        """Stands over its place, inside the picture."""
        if not self.on or self.place_mm is None or not self.may_be_on:
            return
        px, view = self.look.px, self.view
        square = min(px(SQUARE), max(px(LEAST_SQUARE), MOST_OF_VIEW * min(view.width(), view.height())))
        below = self._text_high(round(square) + 4) + px(8)
        self._square = round(max(px(LEAST_SQUARE) / 2, min(square, view.height() - below - 4)))
        wide = self._square + 4
        self.resize(wide, wide + self._text_high(wide) + px(8))
        at, half = self._point(), wide / 2
        x = min(max(at.x() - half, 0.0), max(0, self.view.width() - self.width()))
        y = min(max(at.y() - half, 0.0), max(0, self.view.height() - self.height()))
        self.move(round(x), round(y))

    # ------------------------------------------------------------ showing

    def refresh(self) -> None:
        """Shows what lies at its place now, as soon as it is read."""
        self.on = self.on and self.may_be_on
        self.setVisible(self.on)
        if not self.on:
            self._let_go()
        plates = self.model.results.plates if self.on else None
        if self.place_mm is None or not loupe.can_be_seen(plates):
            self._wanted = None
            return
        self._hold()
        self._stand()
        self.raise_()
        desk = self.model.desk
        art = garment_art(desk, min(self.group, len(desk.job.groups) - 1)) if self.plate is None else None
        wanted = Wish(plates, self.place_mm, SIDES_MM[self.side], art, self.plate, self.base)
        if wanted != self._shown and plates is not self._broken and loupe.can_show(wanted):
            self._wanted = wanted
            self._read()
        self._tell()

    def _read(self) -> None:
        """Begins to read what is wanted, unless something is being read still."""
        wanted = self._wanted
        if wanted is None or not self.model.runner.free(Lane.LOUPE):
            return
        self._wanted = None
        reader = self._reader
        self.model.runner.start(
            Lane.LOUPE,
            say("place_art_check.loupe.reading"),
            lambda progress, stop: reader.see(wanted, stop=stop),
            partial(self._came, wanted),
            asked=self,
        )

    def _let_go(self) -> None:
        """Ends what is being read and lets go of what was: nobody looks any more."""
        task = self.model.runner.running.get(Lane.LOUPE)
        if task is not None and task.asked is self:
            task.stopped.set()
        self._reader.forget()

    def _came(self, wanted: Wish, seen: Seen | None, error: SetupAssistError | None) -> None:
        if not shiboken6.isValid(self):
            return
        if not self.on:
            self._reader.forget()
        if error is not None:
            self.model.tell(error)
            if not isinstance(error, Cancelled):
                self._broken, self._wanted = wanted.plates, None  # damage is told once, not at every move
        elif seen is not None and wanted.plates is self.model.results.plates:
            self.seen, self._image, self._shown = seen, image_of(seen.picture), wanted
            self._tell()
        self._read()

    def _tell(self) -> None:
        """Words what is seen."""
        assert self.place_mm is not None
        words = UnitWords(Units(self.model.units), self.model.words)
        fresh = self.seen is not None and self.seen.place_mm == self.place_mm
        told = self.model.say(f"place_art_check.loupe.{'all' if self.plate is None else 'plate'}", ink=self.plate or "")
        if self.base is not None and self.plate is None:
            told = self.model.say("place_art_check.base.loupe")
        self.text = (
            loupe.place_words(self.place_mm, words),
            loupe.inks_words(self.seen, words) if fresh and self.seen is not None else "…",
            told,
        )
        self.setAccessibleDescription(". ".join(self.text))
        self._stand()
        self.update()

    # ------------------------------------------------------------ keys

    def eventFilter(self, watched: QObject, event: QEvent) -> bool:
        if self.on and event.type() is QEvent.Type.KeyPress and isinstance(event, QKeyEvent):
            return self._key(event)
        return super().eventFilter(watched, event)

    def _key(self, event: QKeyEvent) -> bool:
        moves = {
            Qt.Key.Key_Left: (-1, 0), Qt.Key.Key_Right: (1, 0), Qt.Key.Key_Up: (0, -1), Qt.Key.Key_Down: (0, 1)
        }  # fmt: skip
        key = Qt.Key(event.key())
        if key in moves:
            pixel = bool(event.modifiers() & Qt.KeyboardModifier.ShiftModifier)
            self._move(*moves[key], pixel=pixel)
        elif key == Qt.Key.Key_PageUp:
            self.nearer()
        elif key == Qt.Key.Key_PageDown:
            self.farther()
        elif key == Qt.Key.Key_Escape:
            self.toggle()
        else:
            return False
        return True

    # ------------------------------------------------------------ painting

    def _font(self, at: int) -> QFont:
        return self.look.font(SMALL, weight=600 if at == 0 else 400)

    def _room(self, at: int, text: str, wide: int) -> QRect:
        """The room that a text takes below the picture, over as many lines as it needs."""
        room = QRect(0, 0, wide - 2 * self.look.px(6), 10_000)
        return QFontMetrics(self._font(at)).boundingRect(room, WRAP, text or " ")

    def _text_high(self, wide: int) -> int:
        return sum(self._room(at, text, wide).height() for at, text in enumerate(self.text))

    def paintEvent(self, event: QPaintEvent) -> None:
        painter, look = QPainter(self), self.look
        painter.fillRect(self.rect(), look.colour("paper"))
        square = QRect(2, 2, self._square, self._square)
        painter.fillRect(square, look.colour("art_ground"))
        if self._image is not None and self.seen is not None:
            shown = QRectF(square)
            side = max(self.seen.box_mm[2:])
            shown.setWidth(square.width() * self.seen.box_mm[2] / side)
            shown.setHeight(square.height() * self.seen.box_mm[3] / side)
            painter.drawImage(shown, self._image)
            self._paint_place(painter, shown)
            self._paint_bar(painter, square, shown)
        painter.setPen(QPen(QColor(PAPER), 3))
        painter.drawRect(self.rect().adjusted(1, 1, -2, -2))
        painter.setPen(QPen(QColor(INK), 1.5))
        painter.drawRect(self.rect().adjusted(0, 0, -1, -1))
        self._paint_text(painter, square)
        painter.end()

    def _paint_place(self, painter: QPainter, shown: QRectF) -> None:
        """Four short strokes around the place, the place itself left free."""
        assert self.seen is not None
        left, top, wide, high = self.seen.box_mm
        x = shown.x() + (self.seen.place_mm[0] - left) / wide * shown.width()
        y = shown.y() + (self.seen.place_mm[1] - top) / high * shown.height()
        near, far = self.look.px(7), self.look.px(16)
        for colour, width in ((PAPER, 3.0), (INK, 1.2)):
            painter.setPen(QPen(QColor(colour), width))
            for across, down in ((1, 0), (-1, 0), (0, 1), (0, -1)):
                painter.drawLine(QPointF(x + across * near, y + down * near), QPointF(x + across * far, y + down * far))

    def _paint_bar(self, painter: QPainter, square: QRect, shown: QRectF) -> None:
        assert self.seen is not None
        words = UnitWords(Units(self.model.units), self.model.words)
        length, told = scale_bar(self.seen.box_mm[2], words)
        wide = length / self.seen.box_mm[2] * shown.width()
        font, pad = self.look.font(SMALL, weight=600), self.look.px(6)
        metrics = QFontMetrics(font)
        box = QRectF(0, 0, max(wide, metrics.horizontalAdvance(told)) + 2 * pad, metrics.height() + pad + 2)
        box.moveBottomLeft(QPointF(square.left() + pad, square.bottom() - pad + 1))
        painter.fillRect(box, QColor(PAPER))
        painter.setFont(font)
        painter.setPen(QColor(INK))
        painter.drawText(box.adjusted(pad, 0, 0, -pad), int(Qt.AlignmentFlag.AlignLeft), told)
        painter.fillRect(QRectF(box.left() + pad, box.bottom() - pad, wide, 3), QColor(INK))

    def _paint_text(self, painter: QPainter, square: QRect) -> None:
        y = square.bottom() + self.look.px(4)
        for at, text in enumerate(self.text):
            room = self._room(at, text, self.width())
            room.moveTopLeft(QPoint(self.look.px(6), y))
            room.setWidth(self.width() - 2 * self.look.px(6))
            painter.setFont(self._font(at))
            painter.setPen(self.look.colour("quiet" if at == len(self.text) - 1 else "ink"))
            painter.drawText(room, WRAP, text)
            y += room.height()
