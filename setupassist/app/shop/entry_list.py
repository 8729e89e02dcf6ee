"""The entries of a kind as a list: a name and a line each, with its swatch where it has a colour."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from PySide6.QtCore import QAbstractListModel, QModelIndex, QPersistentModelIndex, QRect, QSize, Qt, Signal
from PySide6.QtGui import QColor, QFontMetrics, QKeyEvent, QPainter
from PySide6.QtWidgets import QListView, QStyle, QStyledItemDelegate, QStyleOptionViewItem

from setupassist.app.theme import BODY, SMALL, Look

Index = QModelIndex | QPersistentModelIndex

Role = Qt.ItemDataRole


@dataclass(frozen=True)
class Shown:
    """One line of the list, worded. ``at`` is the entry's place in the book; ``quiet`` marks one that is off."""

    at: int
    name: str
    line: str
    colour: str | None = None
    swatch: bool = False
    quiet: bool = False
    strong: bool = False


class EntryModel(QAbstractListModel):
    """Entries as they are shown; ``put`` changes only the rows that differ, so that selection and scroll stay."""

    def __init__(self) -> None:
        super().__init__()
        self.shown: list[Shown] = []

    def put(self, shown: Sequence[Shown]) -> None:
        """Shows these instead."""
        new = list(shown)
        if len(new) < len(self.shown):
            self.beginRemoveRows(QModelIndex(), len(new), len(self.shown) - 1)
            del self.shown[len(new) :]
            self.endRemoveRows()
        elif len(new) > len(self.shown):
            self.beginInsertRows(QModelIndex(), len(self.shown), len(new) - 1)
            self.shown += new[len(self.shown) :]
            self.endInsertRows()
        for at, (old, now) in enumerate(zip(self.shown, new, strict=True)):
            if old != now:
                self.shown[at] = now
                self.dataChanged.emit(self.index(at), self.index(at))

    def rowCount(self, parent: Index = QModelIndex()) -> int:  # noqa: B008 - Qt's own default
        return 0 if parent.isValid() else len(self.shown)

    def data(self, index: Index, role: int = Role.DisplayRole) -> object:
        if not index.isValid() or not 0 <= index.row() < len(self.shown):
            return None
        entry = self.shown[index.row()]
        if role == Role.DisplayRole:
            return entry.name
        if role in (Role.ToolTipRole, Role.AccessibleTextRole):
            return ", ".join(filter(None, (entry.name, entry.line)))
        return None


class EntryDelegate(QStyledItemDelegate):
    """Two lines of text and a swatch."""

    def __init__(self, look: Look) -> None:
        super().__init__()
        self.look = look

    def _fonts(self, entry: Shown) -> tuple[QFontMetrics, QFontMetrics]:
        look = self.look
        return QFontMetrics(look.font(BODY, weight=600 if entry.strong else 400)), QFontMetrics(look.font(SMALL))

    def sizeHint(self, option: QStyleOptionViewItem, index: Index) -> QSize:
        model = index.model()
        assert isinstance(model, EntryModel)
        name, line = self._fonts(model.shown[index.row()])
        return QSize(self.look.px(120), name.height() + line.height() + self.look.px(10))

    def paint(self, painter: QPainter, option: QStyleOptionViewItem, index: Index) -> None:
        model, look = index.model(), self.look
        assert isinstance(model, EntryModel)
        entry = model.shown[index.row()]
        room: QRect = option.rect
        state = option.state
        painter.save()
        chosen = bool(state & QStyle.StateFlag.State_Selected)
        if chosen:
            painter.fillRect(room, look.colour("idle"))
            painter.fillRect(QRect(room.left(), room.top(), look.px(3), room.height()), look.colour("mark"))
        name, line = self._fonts(entry)
        left, top = room.left() + look.px(12), room.top() + look.px(4)
        wide = room.right() - left - look.px(8)
        if entry.swatch:
            box = QRect(room.right() - look.px(34), top + look.px(3), look.px(22), look.px(14))
            if entry.colour is None:
                painter.fillRect(box, QColor("#ffffff"))
                painter.fillRect(box, Qt.BrushStyle.BDiagPattern)
            else:
                painter.fillRect(box, QColor(entry.colour))
            painter.setPen(look.colour("ink"))
            painter.drawRect(box)
            wide -= look.px(34)
        painter.setPen(look.colour("quiet" if entry.quiet else "ink"))
        painter.setFont(look.font(BODY, weight=600 if entry.strong else 400))
        elided = name.elidedText(entry.name, Qt.TextElideMode.ElideRight, wide)
        painter.drawText(QRect(left, top, wide, name.height()), Qt.AlignmentFlag.AlignLeft, elided)
        painter.setPen(look.colour("quiet"))
        painter.setFont(look.font(SMALL))
        elided = line.elidedText(entry.line, Qt.TextElideMode.ElideRight, wide)
        painter.drawText(QRect(left, top + name.height(), wide, line.height()), Qt.AlignmentFlag.AlignLeft, elided)
        painter.setPen(look.colour("ink" if state & QStyle.StateFlag.State_HasFocus and chosen else "hairline"))
        if state & QStyle.StateFlag.State_HasFocus and chosen:
            painter.drawRect(room.adjusted(0, 0, -1, -1))
        else:
            painter.drawLine(room.bottomLeft(), room.bottomRight())
        painter.restore()


class EntryList(QListView):
    """The list; ``chosen`` brings an entry's place in the book, ``deleted`` that the person wants it gone."""

    chosen = Signal(int)
    deleted = Signal()
    entered_form = Signal()

    def __init__(self, look: Look) -> None:
        super().__init__()
        self.entries = EntryModel()
        self.setModel(self.entries)
        self._delegate = EntryDelegate(look)
        self.setItemDelegate(self._delegate)
        self.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        self.setUniformItemSizes(True)
        self.setEditTriggers(QListView.EditTrigger.NoEditTriggers)
        self.selectionModel().currentChanged.connect(self._current)

    def put(self, shown: Sequence[Shown], at: int) -> None:
        """Shows these; the entry in place ``at`` of the book is chosen, without being told of it."""
        self.blockSignals(True)
        self.entries.put(shown)
        row = next((row for row, each in enumerate(self.entries.shown) if each.at == at), -1)
        index = self.entries.index(row) if row >= 0 else QModelIndex()
        if self.currentIndex() != index:
            self.setCurrentIndex(index)
            self.scrollTo(index)
        self.blockSignals(False)

    def _current(self, now: QModelIndex, before: QModelIndex) -> None:
        if now.isValid() and not self.signalsBlocked():
            self.chosen.emit(self.entries.shown[now.row()].at)

    def keyPressEvent(self, event: QKeyEvent) -> None:
        if event.key() == Qt.Key.Key_Delete and self.currentIndex().isValid():
            self.deleted.emit()
        elif event.key() in (Qt.Key.Key_Return, Qt.Key.Key_Enter, Qt.Key.Key_F2):
            self.entered_form.emit()
        else:
            super().keyPressEvent(event)
