"""What lies beside the line, to be put on it: a flash unit, screens that the line lacks, what stands off the way."""

from __future__ import annotations

from PySide6.QtCore import QPointF, QRectF, QSize, Qt
from PySide6.QtGui import QColor, QFocusEvent, QFontMetricsF, QPainter, QPaintEvent, QPen
from PySide6.QtWidgets import QHBoxLayout, QSizePolicy, QWidget

from setupassist.app.line.card import HATCH, Hand, Item, hatch
from setupassist.app.line.voice import Voice
from setupassist.app.theme import SMALL
from setupassist.desk.line import Card, Line


class Chip(Item):
    """Something beside the line: carried onto it with the mouse, or put at the chosen station with Return."""

    carried = True

    def __init__(self, hand: Hand, voice: Voice, card: Card, parent: QWidget) -> None:
        super().__init__(hand, voice, parent)
        self.card, self.place = card, card.place
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        self.setCursor(Qt.CursorShape.OpenHandCursor)
        self.setSizePolicy(QSizePolicy.Policy.Fixed, QSizePolicy.Policy.Fixed)
        if card.station:
            text, more = voice.say("shelf.aside", screen=voice.thing(card.screen), station=card.station), "missing-more"
        elif card.screen is not None:
            text, more = voice.say("shelf.missing", screen=card.screen), "missing-more"
        else:
            text, more = voice.say("shelf.flash"), "flash-more"
        self.text = text
        self.setAccessibleName(text)
        self.setAccessibleDescription(voice.say(f"shelf.{more}"))
        self.setToolTip(voice.say(f"shelf.{more}"))
        self.setProperty("glossary", "flash" if card.screen is None else "screen")
        self.setFixedSize(self.sizeHint())

    @property
    def screen_name(self) -> str | None:
        return self.card.screen

    def sizeHint(self) -> QSize:
        look = self.look
        metrics = QFontMetricsF(look.font(SMALL, weight=600))
        return QSize(look.px(46) + int(metrics.horizontalAdvance(self.text)), int(metrics.height()) + look.px(10))

    def focusInEvent(self, event: QFocusEvent) -> None:
        QWidget.focusInEvent(self, event)
        self.update()

    def focusOutEvent(self, event: QFocusEvent) -> None:
        QWidget.focusOutEvent(self, event)
        self.update()

    def paintEvent(self, event: QPaintEvent) -> None:
        painter, look = QPainter(self), self.look
        body = QRectF(self.rect()).adjusted(0.5, 0.5, -0.5, -0.5)
        painter.fillRect(body, look.colour("paper"))
        sample = QRectF(body.left(), body.top(), look.px(26), body.height())
        if self.card.screen is None:
            hatch(painter, sample, look.colour("ink"), look.px(HATCH))
        else:
            painter.fillRect(sample, QColor(self.card.colour or "#ffffff"))
        painter.setPen(QPen(look.colour("ink"), look.px(2) if self.hasFocus() else 1))
        painter.drawLine(QPointF(sample.right(), sample.top()), QPointF(sample.right(), sample.bottom()))
        painter.drawRect(body)
        painter.setFont(look.font(SMALL, weight=600))
        room = body.adjusted(look.px(26), 0, 0, 0)
        painter.drawText(room, Qt.AlignmentFlag.AlignCenter, self.text)
        painter.end()


class Shelf(QWidget):
    """The chips in a row."""

    def __init__(self, hand: Hand, voice: Voice) -> None:
        super().__init__()
        self.hand, self.voice = hand, voice
        self.chips: list[Chip] = []
        self._shown: tuple[Card, ...] | None = None
        self._row = QHBoxLayout(self)
        self._row.setContentsMargins(0, 0, 0, 0)
        self._row.setSpacing(voice.look.px(8))

    def tell(self, line: Line, *, units: int) -> None:
        """Shows what can be put on that line; a flash unit where the press takes any."""
        wanted = (*line.missing, *line.aside, *([Card("flash/shelf", 1, 0)] if units else []))
        if wanted == self._shown:
            return
        self._shown = wanted
        for chip in self.chips:
            self._row.removeWidget(chip)
            chip.hide()
            chip.deleteLater()
        self.chips = [Chip(self.hand, self.voice, card, self) for card in wanted]
        for chip in self.chips:
            chip.setObjectName(f"chip-{chip.card.key}")
            self._row.addWidget(chip)
