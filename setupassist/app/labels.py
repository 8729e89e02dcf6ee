"""Small pieces of the window: text in its voices, rules, swatches."""

from __future__ import annotations

from PySide6.QtCore import QSize, Qt
from PySide6.QtGui import QColor, QPainter, QPaintEvent
from PySide6.QtWidgets import QFrame, QLabel, QSizePolicy, QVBoxLayout, QWidget


def label(text: str = "", voice: str = "", *, wrap: bool = True, name: str = "") -> QLabel:
    """Text in a voice: title, heading, strong, quiet, small, figure, or plain. Never taken for rich text."""
    made = QLabel(text)
    made.setTextFormat(Qt.TextFormat.PlainText)
    made.setWordWrap(wrap)
    if voice:
        made.setProperty("voice", voice)
    if name:
        made.setObjectName(name)
    if wrap:
        made.setSizePolicy(QSizePolicy.Policy.Preferred, QSizePolicy.Policy.Minimum)
    return made


def rule() -> QFrame:
    """A hairline across."""
    made = QFrame()
    made.setProperty("rule", "true")
    return made


def column(*, margins: tuple[int, int, int, int] = (0, 0, 0, 0), spacing: int = 8) -> tuple[QWidget, QVBoxLayout]:
    """A widget with a column in it."""
    holder = QWidget()
    laid = QVBoxLayout(holder)
    laid.setContentsMargins(*margins)
    laid.setSpacing(spacing)
    return holder, laid


class Swatch(QWidget):
    """A rectangle of ink colour with a dark outline; hatched where the colour is not known."""

    def __init__(self, colour: str | None, *, wide: int = 22, high: int = 14, name: str = "") -> None:
        super().__init__()
        self.colour = colour
        self.setFixedSize(QSize(wide, high))
        self.setAccessibleName(name or (colour or ""))

    def paintEvent(self, event: QPaintEvent) -> None:
        painter = QPainter(self)
        inside = self.rect().adjusted(0, 0, -1, -1)
        if self.colour is None:
            painter.fillRect(inside, QColor("#ffffff"))
            painter.fillRect(inside, Qt.BrushStyle.BDiagPattern)
        else:
            painter.fillRect(inside, QColor(self.colour))
        painter.setPen(self.palette().windowText().color())
        painter.drawRect(inside)
        painter.end()


def clear(layout: QVBoxLayout) -> None:
    """Takes everything out of a column and gives it up."""
    while (item := layout.takeAt(0)) is not None:
        widget = item.widget()
        if widget is not None:
            widget.hide()  # a widget that is seen would become a window of its own and take the focus
            widget.setParent(None)
            widget.deleteLater()
