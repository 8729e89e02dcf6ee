"""Widgets in lines like words in a paragraph: as many on a line as fit."""

from __future__ import annotations

from PySide6.QtCore import QRect, QSize, Qt
from PySide6.QtWidgets import QLayout, QLayoutItem, QSizePolicy, QWidget


class Flow(QLayout):
    """Lines of widgets at their natural size; hidden ones take no room. A widget that can grow takes what is left."""

    def __init__(self, *, gap: int, line_gap: int) -> None:
        super().__init__()
        self._items: list[QLayoutItem] = []
        self._gap, self._line_gap = gap, line_gap
        self.setContentsMargins(0, 0, 0, 0)

    def addItem(self, item: QLayoutItem) -> None:
        self._items.append(item)

    def put(self, at: int, widget: QWidget) -> None:
        """Adds a widget in that place of the row."""
        self.addWidget(widget)
        self._items.insert(at, self._items.pop())
        self.invalidate()

    def count(self) -> int:
        return len(self._items)

    def itemAt(self, index: int) -> QLayoutItem | None:
        return self._items[index] if 0 <= index < len(self._items) else None

    def takeAt(self, index: int) -> QLayoutItem | None:
        return self._items.pop(index) if 0 <= index < len(self._items) else None

    def expandingDirections(self) -> Qt.Orientation:
        return Qt.Orientation.Horizontal

    def hasHeightForWidth(self) -> bool:
        return True

    def heightForWidth(self, width: int) -> int:
        return self._place(QRect(0, 0, width, 0), move=False)

    def sizeHint(self) -> QSize:
        return self.minimumSize()

    def minimumSize(self) -> QSize:
        widest = max((item.minimumSize().width() for item in self._items if not item.isEmpty()), default=0)
        highest = max((item.sizeHint().height() for item in self._items if not item.isEmpty()), default=0)
        return QSize(widest, highest)

    def setGeometry(self, rect: QRect) -> None:
        super().setGeometry(rect)
        self._place(rect, move=True)

    def _place(self, rect: QRect, *, move: bool) -> int:
        """Height of all lines in a width; places the widgets where ``move`` says so."""
        y, line = rect.y(), list[tuple[QLayoutItem, int]]()
        used = 0
        for item in (item for item in self._items if not item.isEmpty()):
            wide = min(max(item.sizeHint().width(), item.minimumSize().width()), max(1, rect.width()))
            if line and used + self._gap + wide > rect.width():
                y += self._set(line, rect, y, move=move) + self._line_gap
                line, used = [], 0
            used += wide + (self._gap if line else 0)
            line.append((item, wide))
        if line:
            y += self._set(line, rect, y, move=move)
        return y - rect.y()

    def _set(self, line: list[tuple[QLayoutItem, int]], rect: QRect, y: int, *, move: bool) -> int:
        grows = [item for item, _ in line if _grows(item)]
        left = rect.width() - sum(wide for _, wide in line) - self._gap * (len(line) - 1)
        share = max(0, left) // len(grows) if grows else 0
        widths = [(item, wide + (share if item in grows else 0)) for item, wide in line]
        high = max(_height(item, wide) for item, wide in widths)
        x = rect.x()
        for item, wide in widths:
            if move:
                item.setGeometry(QRect(x, y, wide, high))
            x += wide + self._gap
        return high


def _grows(item: QLayoutItem) -> bool:
    widget = item.widget()
    return widget is not None and widget.sizePolicy().horizontalPolicy() is QSizePolicy.Policy.Expanding


def _height(item: QLayoutItem, wide: int) -> int:
    return item.heightForWidth(wide) if item.hasHeightForWidth() else item.sizeHint().height()
