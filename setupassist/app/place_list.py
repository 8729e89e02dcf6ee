"""The list of places at the window's left: a name and a line of how things stand there."""

from __future__ import annotations

from PySide6.QtCore import QRect, QSize, Qt
from PySide6.QtGui import QFontMetrics, QPainter, QPaintEvent
from PySide6.QtWidgets import QAbstractButton, QButtonGroup, QScrollArea, QSizePolicy, QVBoxLayout, QWidget

from setupassist.app.theme import HEADING, SMALL, Look

WIDE, BAR = 188, 10
"""Pixels of the list at 100 % text, and of the bar that it scrolls by."""
WRAP = Qt.TextFlag.TextWordWrap | Qt.AlignmentFlag.AlignLeft | Qt.AlignmentFlag.AlignTop


class PlaceButton(QAbstractButton):
    """A place's name with its status under it; the one that is open has paper behind it and a bar at its edge."""

    def __init__(self, name: str, look: Look) -> None:
        super().__init__()
        self.look, self._status = look, ""
        self.setText(name)
        self.setCheckable(True)
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        policy = QSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Fixed)
        policy.setHeightForWidth(True)
        self.setSizePolicy(policy)
        self.tell("")

    def tell(self, status: str) -> None:
        """How things stand there."""
        self._status = status
        self.setAccessibleName(self.text())
        self.setAccessibleDescription(status)
        self.updateGeometry()
        self.update()

    def hasHeightForWidth(self) -> bool:
        return True

    def heightForWidth(self, width: int) -> int:
        return self._name_high() + self._status_high(width) + 2 * self.look.px(9)

    def sizeHint(self) -> QSize:
        wide = self.look.px(WIDE) - self.look.px(BAR)
        return QSize(wide, self.heightForWidth(wide))

    def _left(self) -> int:
        return self.look.px(22)

    def _name_high(self) -> int:
        return QFontMetrics(self.look.font(HEADING, weight=600)).height()

    def _status_high(self, width: int) -> int:
        room = QRect(0, 0, width - self._left() - self.look.px(10), 1000)
        return (
            QFontMetrics(self.look.font(SMALL)).boundingRect(room, WRAP, self._status).height() if self._status else 0
        )

    def paintEvent(self, event: QPaintEvent) -> None:
        painter, look = QPainter(self), self.look
        if self.isChecked():
            painter.fillRect(self.rect(), look.colour("paper"))
            painter.fillRect(0, 0, look.px(4), self.height(), look.colour("mark"))
        elif self.underMouse():
            painter.fillRect(self.rect(), look.colour("idle"))
        if self.hasFocus():
            painter.setPen(look.colour("ink"))
            painter.drawRect(self.rect().adjusted(0, 0, -1, -1))
        top = look.px(9)
        painter.setPen(look.colour("ink"))
        painter.setFont(look.font(HEADING, weight=600))
        wide = self.width() - self._left() - look.px(10)
        painter.drawText(QRect(self._left(), top, wide, self._name_high()), WRAP, self.text())
        painter.setPen(look.colour("quiet"))
        painter.setFont(look.font(SMALL))
        room = QRect(self._left(), top + self._name_high(), wide, self.height())
        painter.drawText(room, WRAP, self._status)
        painter.end()


class PlaceList(QScrollArea):
    """Buttons of all places, one checked; ``chosen`` is told by ``group.idClicked``. It scrolls where room is short."""

    def __init__(self, look: Look) -> None:
        super().__init__()
        self.look = look
        self.setObjectName("places")
        self.setFocusPolicy(Qt.FocusPolicy.NoFocus)
        self.setWidgetResizable(True)
        self.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        holder = QWidget()
        holder.setObjectName("ground")
        holder.setAttribute(Qt.WidgetAttribute.WA_StyledBackground)
        self.group = QButtonGroup(self)
        self.group.setExclusive(True)
        self._column = QVBoxLayout(holder)
        self._column.setContentsMargins(0, look.px(12), 0, look.px(12))
        self._column.setSpacing(0)
        self.setWidget(holder)
        self.setFixedWidth(look.px(WIDE))
        self.buttons: dict[str, PlaceButton] = {}

    def add(self, key: str, name: str, *, apart: bool = False) -> None:
        """One more place; ``apart`` puts it at the foot."""
        button = PlaceButton(name, self.look)
        button.setObjectName(f"go-{key}")
        if apart:
            self._column.addStretch(1)
        self.group.addButton(button, len(self.buttons))
        self.buttons[key] = button
        self._column.addWidget(button)
