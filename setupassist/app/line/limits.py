"""Broken limits as sentences below the line, each joined by lines to the places that it is about."""

from __future__ import annotations

from collections.abc import Callable, Sequence

from PySide6.QtCore import QRectF, QSize, Qt, Signal
from PySide6.QtGui import QFocusEvent, QKeyEvent, QPainter, QPaintEvent, QPen, QResizeEvent
from PySide6.QtWidgets import QAbstractButton, QPushButton, QSizePolicy, QWidget

from setupassist.app.line.lettering import Lettering, broken, set_left
from setupassist.app.line.voice import Voice
from setupassist.app.theme import BODY
from setupassist.desk.line import Limit, Place

MOST_SHOWN = 6
TRACK = 7

Foot = Callable[[Place, int], int | None]
"""Where the line from a place comes down, in the list's own pixels; None where the place is not on the line."""


class LimitRow(QAbstractButton):
    """One sentence; the chosen one is semibold."""

    def __init__(self, voice: Voice, limit: Limit, parent: LimitList) -> None:
        super().__init__(parent)
        self.voice, self.limit, self.list = voice, limit, parent
        text = voice.say("limits.row", letter=limit.letter, text=voice(limit.text)) if limit.letter else ""
        self.setText(text or voice(limit.text))
        self.setAccessibleName(self.text())
        self.setCheckable(True)
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus if parent.choosing else Qt.FocusPolicy.NoFocus)
        self.setAttribute(Qt.WidgetAttribute.WA_Hover)
        self.lettering = Lettering((), voice.look.font(BODY))
        self.at = 0

    def lay_out(self, width: int, first: int | None) -> int:
        """Its height in that width; its words begin below the leftmost of its lines where they fit there."""
        look = self.voice.look
        font = look.font(BODY, weight=600 if self.isChecked() else 400)
        lines = broken(self.text(), font, width - look.px(16))
        self.lettering = Lettering(tuple(lines), font)
        wanted = 0 if first is None else first - look.px(3)
        self.at = int(max(0, min(wanted, width - self.lettering.wide - look.px(10))))
        return look.px(TRACK + 5) + int(self.lettering.high)

    def paintEvent(self, event: QPaintEvent) -> None:
        painter, look = QPainter(self), self.voice.look
        top = look.px(TRACK + 2)
        room = QRectF(self.at, top, self.lettering.wide + look.px(8), self.lettering.high)
        painter.fillRect(room, look.colour("idle" if self.underMouse() and self.list.choosing else "paper"))
        set_left(painter, self.lettering, self.at + look.px(4), top, look)
        if self.hasFocus():
            painter.setPen(look.colour("ink"))
            painter.drawRect(room.adjusted(0, 0, -1, -1))
        painter.end()

    def nextCheckState(self) -> None:
        """A click chooses it, and never takes that back."""
        self.list.choose(self)

    def focusInEvent(self, event: QFocusEvent) -> None:
        super().focusInEvent(event)
        self.list.choose(self)

    def keyPressEvent(self, event: QKeyEvent) -> None:
        steps = {Qt.Key.Key_Down: 1, Qt.Key.Key_Up: -1}
        step = steps.get(Qt.Key(event.key()))
        if step is not None:
            self.list.step(self, step)
        else:
            super().keyPressEvent(event)


class LimitList(QWidget):
    """The sentences; ``chosen`` tells which of them the person looks at, None for none of them."""

    chosen = Signal(object)

    def __init__(self, voice: Voice, foot: Foot, *, choosing: bool = True) -> None:
        super().__init__()
        self.voice, self.foot, self.choosing = voice, foot, choosing
        self.limits: tuple[Limit, ...] = ()
        self.rows: list[LimitRow] = []
        self._all = False
        self.more = QPushButton(self)
        self.more.setObjectName("more-limits")
        self.more.clicked.connect(self._show_all)
        self.more.hide()
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Fixed)
        self.setVisible(False)

    @property
    def shown(self) -> tuple[Limit, ...]:
        """The limits whose sentences are seen, in their order."""
        return self.limits if self._all else self.limits[:MOST_SHOWN]

    def tell(self, limits: Sequence[Limit]) -> None:
        """Other limits; rows that stay are kept, and with them the focus."""
        if tuple(limits) == self.limits and self.rows:
            return
        kept = {row.limit: row for row in self.rows}
        was = next((row.limit for row in self.rows if row.isChecked()), None)
        self.limits = tuple(limits)
        if len(self.limits) <= MOST_SHOWN:
            self._all = False
        self.rows = [kept.pop(limit) if limit in kept else LimitRow(self.voice, limit, self) for limit in self.shown]
        for row in kept.values():
            row.hide()
            row.deleteLater()
        for row in self.rows:
            row.show()
        left = len(self.limits) - len(self.shown)
        self.more.setText(self.voice.say("hover.more", count=left))
        self.more.setVisible(left > 0 and self.choosing)
        self.setVisible(bool(self.limits))
        self.lay_out()
        if was is not None and was not in self.limits:
            self.chosen.emit(None)

    def choose(self, row: LimitRow) -> None:
        """The person looks at one of them."""
        for other in self.rows:
            other.setChecked(other is row)
        self.lay_out()
        self.chosen.emit(row.limit)

    def unchoose(self) -> None:
        """The person looks at none of them any more."""
        if any(row.isChecked() for row in self.rows):
            for row in self.rows:
                row.setChecked(False)
            self.lay_out()
            self.chosen.emit(None)

    def step(self, row: LimitRow, step: int) -> None:
        """The sentence above or below takes the focus."""
        at = self.rows.index(row) + step
        if 0 <= at < len(self.rows):
            self.rows[at].setFocus(Qt.FocusReason.OtherFocusReason)

    def _show_all(self) -> None:
        self._all = True
        limits, self.limits = self.limits, ()
        self.tell(limits)
        if len(self.rows) > MOST_SHOWN:
            self.rows[MOST_SHOWN].setFocus(Qt.FocusReason.OtherFocusReason)

    def lay_out(self) -> None:
        """Places the rows; the list is as high as they need."""
        y, width = 0, max(1, self.width())
        for turn, row in enumerate(self.rows):
            tall = row.lay_out(width, min(self._feet(row.limit, turn), default=None))
            row.setGeometry(0, y, width, tall)
            y += tall
        if not self.more.isHidden():
            self.more.adjustSize()
            self.more.move(0, y + self.voice.look.px(8))
            y += self.more.height() + self.voice.look.px(12)
        y += self.voice.look.px(6)
        if y != self.height():
            self.setFixedHeight(y)
        self.update()

    def _feet(self, limit: Limit, turn: int) -> list[int]:
        return [foot for place in limit.places if (foot := self.foot(place, turn)) is not None]

    def resizeEvent(self, event: QResizeEvent) -> None:
        super().resizeEvent(event)
        if event.size().width() != event.oldSize().width():
            self.lay_out()

    def sizeHint(self) -> QSize:
        return QSize(200, self.height())

    def paintEvent(self, event: QPaintEvent) -> None:
        painter, look = QPainter(self), self.voice.look
        for turn, row in enumerate(self.rows):
            strong = row.isChecked()
            painter.setPen(QPen(look.colour("ink" if strong else "quiet"), look.px(2) if strong else 1))
            feet = self._feet(row.limit, turn)
            track = row.y() + look.px(TRACK)
            for x in feet:
                painter.drawLine(x, 0, x, track)
            if feet:
                painter.drawLine(min(feet), track, max(feet), track)
        painter.end()
