"""Tables of the window: cells of ``desk.grid`` shown, walked, edited and taken back by mouse and keyboard."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import Any

from PySide6.QtCore import (
    QAbstractItemModel,
    QAbstractTableModel,
    QEvent,
    QModelIndex,
    QObject,
    QPersistentModelIndex,
    QRect,
    QSize,
    Qt,
    Signal,
)
from PySide6.QtGui import QColor, QFont, QFontMetrics, QKeyEvent, QPainter, QResizeEvent
from PySide6.QtWidgets import (
    QAbstractItemView,
    QComboBox,
    QHeaderView,
    QLineEdit,
    QSizePolicy,
    QStyle,
    QStyledItemDelegate,
    QStyleOptionViewItem,
    QTableView,
    QWidget,
)

from setupassist.app.theme import BODY, SMALL, Look
from setupassist.desk.grid import Cell, Head, Row

Index = QModelIndex | QPersistentModelIndex
WRAP = int(Qt.TextFlag.TextWordWrap | Qt.AlignmentFlag.AlignVCenter | Qt.AlignmentFlag.AlignLeft)
NOTHING = QModelIndex()
LEAST_STRETCH = 120
LEAST_ELIDED = 80


class GridModel(QAbstractTableModel):
    """Rows of cells. ``typed`` is asked to enter a text over a value: whether anything was changed."""

    def __init__(self, heads: Sequence[Head], parent: QObject | None = None) -> None:
        super().__init__(parent)
        self.heads = tuple(heads)
        self.rows: tuple[Row, ...] = ()
        self.typed: Callable[[Cell, str], bool] = lambda cell, text: False

    def show(self, rows: Sequence[Row]) -> bool:
        """Shows other rows; where the keys are the same only changed cells are drawn. Whether anything changed."""
        before, self_rows = self.rows, tuple(rows)
        if before == self_rows:
            return False
        if [row.key for row in before] != [row.key for row in self_rows]:
            self.beginResetModel()
            self.rows = self_rows
            self.endResetModel()
            return True
        self.rows = self_rows
        for at, (old, new) in enumerate(zip(before, self_rows, strict=True)):
            if old != new:
                self.dataChanged.emit(self.index(at, 0), self.index(at, len(self.heads) - 1))
        return True

    def cell(self, index: Index) -> Cell:
        """The cell at a valid index."""
        return self.rows[index.row()].cells[index.column()]

    def rowCount(self, parent: Index = NOTHING) -> int:
        return 0 if parent.isValid() else len(self.rows)

    def columnCount(self, parent: Index = NOTHING) -> int:
        return 0 if parent.isValid() else len(self.heads)

    def data(self, index: Index, role: int = Qt.ItemDataRole.DisplayRole) -> Any:
        if not index.isValid():
            return None
        cell = self.cell(index)
        if role == Qt.ItemDataRole.DisplayRole:
            return cell.text
        if role == Qt.ItemDataRole.EditRole:
            return cell.entry.now if cell.entry is not None else cell.text
        if role == Qt.ItemDataRole.ToolTipRole:
            return cell.whole or None
        if role == Qt.ItemDataRole.AccessibleTextRole:
            return f"{self.heads[index.column()].text}: {cell.whole}"
        return None

    def setData(self, index: Index, value: Any, role: int = Qt.ItemDataRole.EditRole) -> bool:
        if role != Qt.ItemDataRole.EditRole or not index.isValid():
            return False
        cell = self.cell(index)
        if cell.entry is None or str(value).strip() == cell.entry.now:
            return False
        return self.typed(cell, str(value))

    def flags(self, index: Index) -> Qt.ItemFlag:
        flags = super().flags(index)
        if index.isValid() and self.cell(index).entry is not None:
            flags |= Qt.ItemFlag.ItemIsEditable
        return flags

    def headerData(self, section: int, orientation: Qt.Orientation, role: int = Qt.ItemDataRole.DisplayRole) -> Any:
        if orientation is not Qt.Orientation.Horizontal or not 0 <= section < len(self.heads):
            return None
        head = self.heads[section]
        if role == Qt.ItemDataRole.DisplayRole:
            return head.text
        if role == Qt.ItemDataRole.ToolTipRole:
            return head.told or head.text
        if role == Qt.ItemDataRole.TextAlignmentRole:
            side = Qt.AlignmentFlag.AlignRight if head.right else Qt.AlignmentFlag.AlignLeft
            return int(side | Qt.AlignmentFlag.AlignVCenter)
        return None


class _Box(QComboBox):
    """A list to choose from that tells whether its list was just open: arrows alone choose nothing yet."""

    from_list = False

    def hidePopup(self) -> None:
        self.from_list = True
        super().hidePopup()


class _Delegate(QStyledItemDelegate):
    """Paints a cell: swatch, text, small text and mark; edits it in a field or a list to choose from."""

    def __init__(self, look: Look, parent: QObject) -> None:
        super().__init__(parent)
        self.look = look

    def _cell(self, index: Index) -> tuple[Cell, Head]:
        model = index.model()
        assert isinstance(model, GridModel)
        return model.cell(index), model.heads[index.column()]

    def _fonts(self, cell: Cell) -> tuple[QFont, QFont, QFont]:
        look = self.look
        weight = 600 if cell.strong else 400
        return look.font(BODY, weight=weight), look.font(SMALL), look.font(SMALL, weight=weight)

    def _parts(self, cell: Cell) -> list[tuple[str, QFont, str]]:
        text, small, mark = self._fonts(cell)
        parts = [(cell.text, text, "ink"), (cell.small, small, "quiet"), (cell.mark, mark, "quiet")]
        return [part for part in parts if part[0]]

    def _swatch(self, cell: Cell) -> int:
        return self.look.px(30) if cell.colour is not None else 0

    def _beside(self) -> int:
        return self.look.px(6)

    def wide(self, cell: Cell) -> int:
        """Pixels that a cell needs on one line."""
        parts = self._parts(cell)
        inner = sum(QFontMetrics(font).horizontalAdvance(text) + 1 for text, font, _ in parts)
        return inner + self._swatch(cell) + self.look.px(5) * max(0, len(parts) - 1) + 2 * self._beside() + 2

    def sizeHint(self, option: QStyleOptionViewItem, index: Index) -> QSize:
        cell, head = self._cell(index)
        high = self.look.px(28)
        if head.room == "wrap" and isinstance(option.widget, QTableView):
            room = QRect(0, 0, option.widget.columnWidth(index.column()) - 2 * self._beside(), 10_000)
            told = QFontMetrics(self._fonts(cell)[0]).boundingRect(room, WRAP, cell.text)
            high = max(high, told.height() + self.look.px(10))
        return QSize(self.wide(cell), high)

    def paint(self, painter: QPainter, option: QStyleOptionViewItem, index: Index) -> None:
        cell, head = self._cell(index)
        look, rect = self.look, QRect(option.rect)
        painter.save()
        if option.state & QStyle.StateFlag.State_Selected:
            painter.fillRect(rect, look.colour("idle"))
        painter.setPen(look.colour("hairline"))
        painter.drawLine(rect.bottomLeft(), rect.bottomRight())
        inside = rect.adjusted(self._beside(), 0, -self._beside(), 0)
        if cell.colour is not None:
            box = QRect(inside.left(), 0, look.px(22), look.px(14))
            box.moveTop(inside.center().y() - box.height() // 2)
            painter.fillRect(box, QColor(cell.colour))
            painter.setPen(look.colour("ink"))
            painter.drawRect(box.adjusted(0, 0, -1, -1))
            inside.setLeft(inside.left() + self._swatch(cell))
        if head.room == "wrap":
            font = self._fonts(cell)[0]
            painter.setFont(font)
            painter.setPen(look.colour("ink"))
            painter.drawText(inside, WRAP, cell.text)
        else:
            self._line(painter, inside, self._parts(cell), right=head.right)
        if option.state & QStyle.StateFlag.State_HasFocus:
            pen = painter.pen()
            pen.setColor(look.colour("ink"))
            pen.setWidth(2)
            painter.setPen(pen)
            painter.drawRect(rect.adjusted(1, 1, -1, -2))
        painter.restore()

    def _line(self, painter: QPainter, inside: QRect, parts: list[tuple[str, QFont, str]], *, right: bool) -> None:
        """The parts in a row on one base line, elided where the room is short."""
        gap = self.look.px(5)
        widths = [QFontMetrics(font).horizontalAdvance(text) + 1 for text, font, _ in parts]
        whole = sum(widths) + gap * max(0, len(parts) - 1)
        x = inside.right() + 1 - whole if right and whole <= inside.width() else inside.left()
        base = QFontMetrics(self.look.font(BODY))
        y = inside.center().y() + (base.ascent() - base.descent()) // 2 + 1
        for (text, font, colour), width in zip(parts, widths, strict=True):
            room = inside.right() + 1 - x
            if room <= 0:
                break
            metrics = QFontMetrics(font)
            shown = text if width <= room else metrics.elidedText(text, Qt.TextElideMode.ElideRight, room)
            painter.setFont(font)
            painter.setPen(self.look.colour(colour))
            painter.drawText(x, y, shown)
            x += width + gap

    def createEditor(self, parent: QWidget, option: QStyleOptionViewItem, index: Index) -> QWidget:
        cell, head = self._cell(index)
        editor: QLineEdit | _Box
        if cell.entry is not None and cell.entry.choices:
            editor = _Box(parent)
            editor.setEditable(True)
            editor.setInsertPolicy(QComboBox.InsertPolicy.NoInsert)
            for choice in cell.entry.choices:
                editor.addItem(choice.text, choice.value)
            editor.setCompleter(None)  # type: ignore[arg-type]  # None is allowed: nothing is typed to its end for us
            editor.activated.connect(self._chosen)
            line = editor.lineEdit()
            if line is not None:
                line.setAccessibleName(head.text)
            view = editor.view()
            view.setMinimumWidth(view.sizeHintForColumn(0) + self.look.px(30))
        else:
            editor = QLineEdit(parent)
        editor.setAccessibleName(head.text)
        editor.setFont(self.look.font(BODY))
        editor.setStyleSheet("padding: 0 2px; min-height: 0;")
        return editor

    def _chosen(self) -> None:
        editor = self.sender()
        if isinstance(editor, _Box) and editor.from_list:
            self.commitData.emit(editor)
            self.closeEditor.emit(editor, QStyledItemDelegate.EndEditHint.NoHint)

    def setEditorData(self, editor: QWidget, index: Index) -> None:
        if editor.property("filled"):
            return  # a plan that comes in meanwhile must not take away what is being typed
        editor.setProperty("filled", True)
        now = str(index.data(Qt.ItemDataRole.EditRole))
        if isinstance(editor, QComboBox):
            editor.setCurrentIndex(-1)
            editor.setEditText(now)
            line = editor.lineEdit()
            if line is not None:
                line.selectAll()
        elif isinstance(editor, QLineEdit):
            editor.setText(now)
            editor.selectAll()

    def setModelData(self, editor: QWidget, model: QAbstractItemModel, index: Index) -> None:
        if isinstance(editor, QComboBox):
            at = editor.findText(editor.currentText(), Qt.MatchFlag.MatchExactly)
            model.setData(index, editor.itemData(at) if at >= 0 else editor.currentText())
        elif isinstance(editor, QLineEdit):
            model.setData(index, editor.text())

    def updateEditorGeometry(self, editor: QWidget, option: QStyleOptionViewItem, index: Index) -> None:
        rect = QRect(option.rect)
        least = self.look.px(190 if isinstance(editor, QComboBox) else 70)
        rect.setWidth(max(rect.width(), least))
        parent = editor.parentWidget()
        if parent is not None and rect.right() > parent.width():
            rect.moveRight(parent.width() - 1)
        editor.setGeometry(rect)


class Grid(QTableView):
    """A table as high as its rows. ``walked`` tells the key of the row that was made current, by whatever means."""

    walked = Signal(str)

    def __init__(
        self,
        look: Look,
        heads: Sequence[Head],
        *,
        name: str,
        told: str,
        typed: Callable[[Cell, str], bool] | None = None,
        taken_back: Callable[[Cell], object] | None = None,
        least_rows: int | None = None,
    ) -> None:
        super().__init__()
        self._silent = False
        self.look, self._taken_back, self._least_rows = look, taken_back, least_rows
        self.grid = GridModel(heads, self)
        if typed is not None:
            self.grid.typed = typed
        self.setModel(self.grid)
        self._delegate = _Delegate(look, self)
        self.setItemDelegate(self._delegate)
        self.setObjectName(name)
        self.setAccessibleName(told)
        self.setShowGrid(False)
        self.setTabKeyNavigation(False)
        self.setWordWrap(False)
        self.setSelectionBehavior(QAbstractItemView.SelectionBehavior.SelectRows)
        self.setSelectionMode(QAbstractItemView.SelectionMode.SingleSelection)
        self.setVerticalScrollMode(QAbstractItemView.ScrollMode.ScrollPerPixel)
        self.setHorizontalScrollMode(QAbstractItemView.ScrollMode.ScrollPerPixel)
        self.setEditTriggers(
            QAbstractItemView.EditTrigger.DoubleClicked
            | QAbstractItemView.EditTrigger.EditKeyPressed
            | QAbstractItemView.EditTrigger.AnyKeyPressed
        )
        self.verticalHeader().hide()
        self.verticalHeader().setMinimumSectionSize(1)
        header = self.horizontalHeader()
        header.setSectionResizeMode(QHeaderView.ResizeMode.Fixed)
        header.setMinimumSectionSize(1)
        header.setSectionsClickable(False)
        header.setHighlightSections(False)
        self.setStyleSheet("QTableView:focus { border: none; }")
        if least_rows is None:
            self.setVerticalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Preferred)

    # ------------------------------------------------------------ rows

    def show_rows(self, rows: Sequence[Row]) -> None:
        """Shows other rows; the current row stays where its key stays."""
        current = self.currentIndex()
        key, column = self.key, current.column()
        self._silent = True
        changed = self.grid.show(rows)
        if changed:
            self._lay_out()
        if self.key != key:
            self.go_to(key, max(0, column))
        self._silent = False

    @property
    def key(self) -> str:
        """Key of the current row; "" where there is none."""
        index = self.currentIndex()
        return self.grid.rows[index.row()].key if index.isValid() and index.row() < len(self.grid.rows) else ""

    def go_to(self, key: str, column: int | None = None) -> None:
        """Makes the row of that key current, quietly; nothing where there is none."""
        if key == self.key:
            return
        at = next((at for at, row in enumerate(self.grid.rows) if row.key == key), None)
        if at is None:
            return
        silent, self._silent = self._silent, True
        if column is None:
            column = max(0, self.currentIndex().column())
        self.setCurrentIndex(self.grid.index(at, column))
        self._silent = silent

    def currentChanged(self, current: Index, previous: Index) -> None:
        super().currentChanged(current, previous)
        if current.isValid():
            self.scrollTo(current)
        if not self._silent and current.isValid() and current.row() != previous.row():
            self.walked.emit(self.key)

    def take_back(self) -> None:
        """Takes the current value back to the computed one, where it is by hand."""
        index = self.currentIndex()
        if index.isValid() and self._taken_back is not None:
            cell = self.grid.cell(index)
            if cell.entry is not None and cell.entry.by_hand:
                self._taken_back(cell)

    def keyPressEvent(self, event: QKeyEvent) -> None:
        key = event.key()
        if self.state() is QAbstractItemView.State.EditingState:
            super().keyPressEvent(event)  # what the editor has left of a key that it acts on
            return
        if key in (Qt.Key.Key_Backspace, Qt.Key.Key_Delete):
            self.take_back()
            return
        opens_list = key == Qt.Key.Key_Down and event.modifiers() & Qt.KeyboardModifier.AltModifier
        if key in (Qt.Key.Key_Return, Qt.Key.Key_Enter) or opens_list:
            index = self.currentIndex()
            if index.isValid() and self.grid.flags(index) & Qt.ItemFlag.ItemIsEditable:
                self.edit(index)
                editor = self.indexWidget(index) or QTableView.focusWidget(self)
                if opens_list and isinstance(editor, QComboBox):
                    editor.showPopup()
            return
        super().keyPressEvent(event)

    # ------------------------------------------------------------ room

    def _lay_out(self) -> None:
        """Gives the columns their room and the rows their height; hides what there is no room for."""
        room = self.viewport().width()
        heads, font = self.grid.heads, self.look.font(BODY, weight=600)
        metrics, pad = QFontMetrics(font), 2 * self.look.px(6) + 4
        wanted = []
        for column, head in enumerate(heads):
            cells = [self._delegate.wide(row.cells[column]) for row in self.grid.rows]
            named = 0 if self.horizontalHeader().isHidden() else metrics.horizontalAdvance(head.text) + pad
            least = max([named, *([] if head.room == "wrap" else cells)])
            least = max(named, min(least, self.look.px(head.most))) if head.most else least
            wanted.append(max(least, self.look.px(LEAST_STRETCH)) if head.room == "wrap" else least)
        hidden: set[int] = set()
        for column in sorted(range(len(heads)), key=lambda c: heads[c].rank, reverse=True):
            if sum(w for c, w in enumerate(wanted) if c not in hidden) <= room or not heads[column].rank:
                break
            hidden.add(column)
        left = room - sum(w for c, w in enumerate(wanted) if c not in hidden)
        takers = [c for c, head in enumerate(heads) if c not in hidden and head.room != "fit"]
        for column in takers:
            share = left // len(takers) if left > 0 else left
            least = LEAST_STRETCH if heads[column].room == "wrap" else LEAST_ELIDED
            wanted[column] = max(min(wanted[column], self.look.px(least)), wanted[column] + share)
        for column, width in enumerate(wanted):
            self.setColumnHidden(column, column in hidden)
            if column not in hidden:
                self.setColumnWidth(column, width)
        wraps = any(head.room == "wrap" for head in heads)
        for row in range(len(self.grid.rows)):
            high = self.sizeHintForRow(row) if wraps else self.look.px(28)
            if self.rowHeight(row) != high:
                self.setRowHeight(row, high)
        self._take_height()

    def _take_height(self) -> None:
        header = 0 if self.horizontalHeader().isHidden() else self.horizontalHeader().sizeHint().height()
        bar = self.horizontalScrollBar()
        extra = bar.sizeHint().height() if bar.maximum() > 0 else 0
        whole = header + self.verticalHeader().length() + extra + 2
        self.setMaximumHeight(whole)
        if self._least_rows is None:
            self.setMinimumHeight(whole)
        else:
            self.setMinimumHeight(min(whole, header + self._least_rows * self.look.px(28) + extra + 2))
        self._whole = whole
        self.updateGeometry()

    def sizeHint(self) -> QSize:
        return QSize(self.look.px(300), getattr(self, "_whole", self.look.px(60)))

    def minimumSizeHint(self) -> QSize:
        return QSize(self.look.px(120), self.minimumHeight())

    def resizeEvent(self, event: QResizeEvent) -> None:
        super().resizeEvent(event)
        if event.size().width() != event.oldSize().width():
            self._lay_out()

    def changeEvent(self, event: QEvent) -> None:
        super().changeEvent(event)
        if event.type() is QEvent.Type.FontChange:
            self._lay_out()
