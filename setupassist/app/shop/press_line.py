"""A press drawn as an unrolled line: load, the stations on the way with their heads and flash slots, unload."""

from __future__ import annotations

from PySide6.QtCore import QPoint, QRect, QSize, Qt, Signal
from PySide6.QtGui import QColor, QFocusEvent, QFontMetrics, QKeyEvent, QMouseEvent, QPainter, QPaintEvent, QPen
from PySide6.QtWidgets import QSizePolicy, QWidget

from setupassist.app.model import DeskModel
from setupassist.app.theme import BODY, SMALL, Look
from setupassist.documents.press import Press

HEADS, SLOTS, OUT = "heads", "flash_slots", "out_of_service"
KEYS = {
    Qt.Key.Key_H: HEADS,
    Qt.Key.Key_F: SLOTS,
    Qt.Key.Key_O: OUT,
}


class PressLine(QWidget):
    """``toggled`` brings a list of the press (``heads``, ``flash_slots``, ``out_of_service``) and a station."""

    toggled = Signal(str, int)

    def __init__(self, model: DeskModel, look: Look) -> None:
        super().__init__()
        self.model, self.look = model, look
        self.press: Press | None = None
        self.at = 0
        self.row = HEADS
        self.setObjectName("press-line")
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        self.setAccessibleName(model.say("place_shop.press.line"))
        self.setProperty("glossary", model.say("place_shop.press.head"))
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Fixed)

    # ------------------------------------------------------------ where things are

    @property
    def stations(self) -> list[int]:
        """Every station from left to right: load, the way, unload, then those that garments do not pass."""
        press = self.press
        if press is None:
            return []
        order = [press.load, *press.way] + ([press.unload] if press.unload != press.load else [])
        return order + [s for s in range(1, press.stations + 1) if s not in order]

    @property
    def station(self) -> int:
        """The station that the keys work on."""
        stations = self.stations
        return stations[min(self.at, len(stations) - 1)] if stations else 0

    def _left(self) -> int:
        metrics = QFontMetrics(self.look.font(SMALL))
        say = self.model.say
        words = (say("place_shop.press.head"), say("place_shop.press.flash"))
        return max(metrics.horizontalAdvance(word) for word in words) + self.look.px(10)

    def _cell(self) -> int:
        many = max(1, len(self.stations))
        room = self.width() - self._left() - self.look.px(2)
        return max(self._least(), min(self.look.px(52), room // many))

    def _least(self) -> int:
        return self.look.px(24)

    def _tops(self) -> tuple[int, int, int, int]:
        px = self.look.px
        head = px(24)
        slot = head + px(64) + px(4)
        return 0, head, slot, slot + px(26)

    def cell(self, station: int, row: str) -> QRect:
        """Where the head or flash slot of a station is drawn."""
        _, head, slot, end = self._tops()
        left = self._left() + self.stations.index(station) * self._cell()
        top, high = (head, slot - head - self.look.px(4)) if row != SLOTS else (slot, end - slot)
        return QRect(left + self.look.px(2), top, self._cell() - self.look.px(4), high)

    def sizeHint(self) -> QSize:
        metrics = QFontMetrics(self.look.font(SMALL))
        wide = self._left() + len(self.stations) * self._least()
        return QSize(wide, self._tops()[3] + self.look.px(8) + metrics.height())

    def minimumSizeHint(self) -> QSize:
        return self.sizeHint()

    # ------------------------------------------------------------ what it shows

    def show_press(self, press: Press) -> None:
        """This press; the station in hand stays where it is."""
        if press == self.press:
            return
        grown = self.press is None or len(self.stations) != press.stations
        self.press = press
        self.at = min(self.at, len(self.stations) - 1)
        if grown:
            self.updateGeometry()
        self._tell()
        self.update()

    def told(self, station: int) -> str:
        """What stands at a station, in words."""
        press, say = self.press, self.model.say
        if press is None:
            return ""
        if station == press.load == press.unload:
            parts = [say("place_shop.press.both-ends")]
        elif station in (press.load, press.unload):
            parts = [say(f"place_shop.press.{'load' if station == press.load else 'unload'}")]
        elif station not in press.way:
            parts = [say("place_shop.press.not-passed")]
        else:
            parts = [say(f"place_shop.press.{'head' if station in press.heads else 'no-head'}")]
            if station in press.out_of_service:
                parts.append(say("place_shop.press.out"))
            if station in press.flash_slots:
                parts.append(say("place_shop.press.flash"))
        return say("place_shop.press.station", station=station, what=", ".join(parts))

    def _tell(self) -> None:
        self.setAccessibleDescription(f"{self.told(self.station)}. {self.model.say('place_shop.press.keys')}")
        self.setToolTip(self.model.say("place_shop.press.keys"))

    def paintEvent(self, event: QPaintEvent) -> None:
        press = self.press
        if press is None:
            return
        painter, look = QPainter(self), self.look
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        middle = Qt.AlignmentFlag.AlignCenter
        left, px = self._left(), look.px
        painter.setFont(look.font(SMALL))
        painter.setPen(look.colour("quiet"))
        right = Qt.AlignmentFlag.AlignRight | Qt.AlignmentFlag.AlignVCenter
        _, head, slot, end = self._tops()
        painter.drawText(QRect(0, head, left - px(8), slot - head), right, self.model.say("place_shop.press.head"))
        painter.drawText(QRect(0, slot, left - px(8), end - slot), right, self.model.say("place_shop.press.flash"))
        for station in self.stations:
            upper = self.cell(station, HEADS)
            painter.setFont(look.font(BODY, weight=600))
            painter.setPen(look.colour("ink" if station in press.way else "quiet"))
            painter.drawText(QRect(upper.left() - px(2), 0, self._cell(), head - px(4)), middle, str(station))
            if station in press.way:
                self._head(painter, station, upper)
                self._slot(painter, station, self.cell(station, SLOTS))
            else:
                self._end(painter, station, upper)
        if self.hasFocus() and self.stations:
            box = self.cell(self.station, HEADS).united(self.cell(self.station, SLOTS))
            painter.setPen(QPen(look.colour("mark"), px(2)))
            painter.setBrush(Qt.BrushStyle.NoBrush)
            painter.drawRect(box.adjusted(-px(2), -px(22), px(1), px(2)))
        painter.setFont(look.font(SMALL))
        painter.setPen(look.colour("quiet"))
        below = QRect(left + px(2), end + px(6), self.width() - left, QFontMetrics(look.font(SMALL)).height() + 2)
        painter.drawText(below, Qt.AlignmentFlag.AlignLeft, self.told(self.station))
        painter.end()

    def _head(self, painter: QPainter, station: int, box: QRect) -> None:
        press, look = self.press, self.look
        assert press is not None
        if station not in press.heads:
            painter.setPen(QPen(look.colour("quiet"), 1, Qt.PenStyle.DashLine))
            painter.setBrush(Qt.BrushStyle.NoBrush)
            painter.drawRect(box)
            return
        out = station in press.out_of_service
        painter.setPen(QPen(look.colour("quiet" if out else "ink"), 1.0 if out else 1.4))
        painter.setBrush(look.colour("idle") if out else look.colour("paper"))
        painter.drawRect(box)
        painter.setPen(look.colour("quiet" if out else "ink"))
        if out:
            self._turned(painter, box, self.model.say("place_shop.press.out-short"))
        else:
            bar = QRect(box.left() + box.width() // 4, box.center().y(), box.width() - box.width() // 2, look.px(3))
            painter.fillRect(bar, look.colour("ink"))

    def _slot(self, painter: QPainter, station: int, box: QRect) -> None:
        press, look = self.press, self.look
        assert press is not None
        there = station in press.flash_slots
        painter.setPen(QPen(look.colour("ink" if there else "hairline"), 1))
        painter.setBrush(QColor(look.theme.paper))
        painter.drawRect(box)
        if there:
            painter.setPen(Qt.PenStyle.NoPen)
            brush = painter.brush()
            brush.setColor(look.colour("ink"))
            brush.setStyle(Qt.BrushStyle.BDiagPattern)
            painter.setBrush(brush)
            painter.drawRect(box)

    def _end(self, painter: QPainter, station: int, box: QRect) -> None:
        press, look, say = self.press, self.look, self.model.say
        assert press is not None
        painter.setPen(look.colour("hairline"))
        key = "load" if station == press.load else "unload" if station == press.unload else "not-passed"
        if station == press.load:
            painter.drawLine(box.topLeft(), box.bottomLeft())
        elif station == press.unload:
            painter.drawLine(box.topRight(), box.bottomRight())
        painter.setPen(look.colour("quiet"))
        self._turned(painter, box, say(f"place_shop.press.{key}"))

    def _turned(self, painter: QPainter, box: QRect, text: str) -> None:
        painter.save()
        painter.setFont(self.look.font(SMALL, italic=True))
        painter.translate(box.center())
        painter.rotate(-90)
        high = box.height()
        painter.drawText(QRect(-high // 2, -box.width() // 2, high, box.width()), Qt.AlignmentFlag.AlignCenter, text)
        painter.restore()

    # ------------------------------------------------------------ what the person does

    def _at(self, point: QPoint) -> tuple[int, str] | None:
        _, _, slot, end = self._tops()
        at = (point.x() - self._left()) // self._cell()
        if point.x() < self._left() or not 0 <= at < len(self.stations) or point.y() > end:
            return None
        return self.stations[at], SLOTS if point.y() >= slot else HEADS

    def mousePressEvent(self, event: QMouseEvent) -> None:
        found = self._at(event.position().toPoint())
        if found is None or event.button() is not Qt.MouseButton.LeftButton:
            return
        self.at, self.row = self.stations.index(found[0]), found[1]
        self._toggle(found[1])

    def _toggle(self, row: str) -> None:
        press, station = self.press, self.station
        if press is not None and station in press.way:
            self.toggled.emit(row, station)
        self._tell()
        self.update()

    def keyPressEvent(self, event: QKeyEvent) -> None:
        last = len(self.stations) - 1
        key = event.key()
        steps = {
            Qt.Key.Key_Left: max(0, self.at - 1),
            Qt.Key.Key_Right: min(last, self.at + 1),
            Qt.Key.Key_Home: 0,
            Qt.Key.Key_End: last,
        }
        if event.modifiers() & ~Qt.KeyboardModifier.KeypadModifier:
            super().keyPressEvent(event)
        elif key in steps:
            self.at = steps[Qt.Key(key)]
            self._tell()
            self.update()
        elif key in KEYS:
            self._toggle(KEYS[Qt.Key(key)])
        elif key == Qt.Key.Key_Space:
            self._toggle(self.row)
        elif key in (Qt.Key.Key_Up, Qt.Key.Key_Down):
            self.row = HEADS if key == Qt.Key.Key_Up else SLOTS
        else:
            super().keyPressEvent(event)

    def focusInEvent(self, event: QFocusEvent) -> None:
        super().focusInEvent(event)
        self.update()

    def focusOutEvent(self, event: QFocusEvent) -> None:
        super().focusOutEvent(event)
        self.update()
