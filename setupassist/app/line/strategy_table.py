"""The strategies side by side as a table; a row is chosen with Return or a click."""

from __future__ import annotations

from typing import Any

from PySide6.QtCore import (
    QAbstractTableModel,
    QItemSelectionModel,
    QModelIndex,
    QObject,
    QPersistentModelIndex,
    Qt,
    Signal,
)
from PySide6.QtGui import QFocusEvent, QFontMetrics, QKeyEvent, QResizeEvent
from PySide6.QtWidgets import QAbstractItemView, QFrame, QHeaderView, QSizePolicy, QTableView

from setupassist.app.line.lettering import broken
from setupassist.app.line.voice import Voice
from setupassist.app.theme import BODY
from setupassist.desk.strategies import Compared, Comparison, State

Index = QModelIndex | QPersistentModelIndex
HEAD_LINES = (2, 3, 4, 5)
PAD = 24
_NOWHERE = QModelIndex()


class StrategyModel(QAbstractTableModel):
    """A comparison as Qt sees it: a row a line, the strategy's name first, then its figures."""

    def __init__(self, voice: Voice, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self.voice = voice
        self.comparison = Comparison((), ())

    def tell(self, comparison: Comparison) -> None:
        """Another comparison."""
        old = self.comparison
        if comparison == old:
            return
        alike = comparison.columns == old.columns and len(comparison.rows) == len(old.rows)
        if alike:
            self.comparison = comparison
            self.dataChanged.emit(self.index(0, 0), self.index(self.rowCount() - 1, self.columnCount() - 1))
            return
        self.beginResetModel()
        self.comparison = comparison
        self.endResetModel()

    def rowCount(self, parent: Index = _NOWHERE) -> int:
        return 0 if parent.isValid() else len(self.comparison.rows)

    def columnCount(self, parent: Index = _NOWHERE) -> int:
        return 0 if parent.isValid() else 1 + len(self.comparison.columns)

    def data(self, index: Index, role: int = Qt.ItemDataRole.DisplayRole) -> Any:
        if not index.isValid():
            return None
        row, column = self.comparison.rows[index.row()], index.column()
        if role in (Qt.ItemDataRole.DisplayRole, Qt.ItemDataRole.AccessibleTextRole):
            return self.name(row) if column == 0 else self._figure(row, column - 1)
        if role == Qt.ItemDataRole.ToolTipRole:
            return self.name(row) if column == 0 else None
        if role == Qt.ItemDataRole.TextAlignmentRole:
            side = Qt.AlignmentFlag.AlignLeft if column == 0 else Qt.AlignmentFlag.AlignRight
            return int(side | Qt.AlignmentFlag.AlignVCenter)
        if role == Qt.ItemDataRole.FontRole:
            best = row.chosen if column == 0 else bool(row.figures) and row.figures[column - 1].best
            return self.voice.look.font(BODY, weight=600 if best else 400)
        if role == Qt.ItemDataRole.ForegroundRole:
            quiet = row.state is not State.PLANNED
            return self.voice.look.colour("quiet" if quiet else "ink")
        return None

    def headerData(self, section: int, orientation: Qt.Orientation, role: int = Qt.ItemDataRole.DisplayRole) -> Any:
        if orientation is not Qt.Orientation.Horizontal:
            return None
        if role == Qt.ItemDataRole.DisplayRole:
            key = "strategy" if section == 0 else self.comparison.columns[section - 1]
            return self.voice.say(f"table.{key}")
        if role == Qt.ItemDataRole.TextAlignmentRole:
            side = Qt.AlignmentFlag.AlignLeft if section == 0 else Qt.AlignmentFlag.AlignRight
            return int(side | Qt.AlignmentFlag.AlignBottom) | int(Qt.TextFlag.TextWordWrap)
        return None

    def name(self, row: Compared) -> str:
        """What a row is called, with what there is to say where it has no line of its own."""
        say, words = self.voice.say, self.voice.words
        if row.name is None:
            return say("table.by-hand")
        told = words.say(f"terms.strategy.{row.name.value}")
        if row.chosen:
            told = say("table.chosen", strategy=told)
        if row.state is not State.PLANNED:
            return say(f"table.{row.state.value}", strategy=told)
        if row.same_as is not None:
            return say("table.same", strategy=told, other=words.say(f"terms.strategy.{row.same_as.value}"))
        return told

    def _figure(self, row: Compared, at: int) -> str:
        return self.voice(row.figures[at].text) if row.figures else ""


class StrategyTable(QTableView):
    """The table; ``picked`` tells the strategy that the person chose."""

    picked = Signal(str)

    def __init__(self, voice: Voice) -> None:
        super().__init__()
        self.voice = voice
        self.rows = StrategyModel(voice, self)
        self.setModel(self.rows)
        self.setObjectName("strategies")
        self.setAccessibleName(voice.say("table.title"))
        self.setProperty("glossary", "strategy")
        self.setFrameShape(QFrame.Shape.NoFrame)
        self.setShowGrid(False)
        self.setSelectionBehavior(QAbstractItemView.SelectionBehavior.SelectRows)
        self.setSelectionMode(QAbstractItemView.SelectionMode.SingleSelection)
        self.setTabKeyNavigation(False)
        self.setEditTriggers(QAbstractItemView.EditTrigger.NoEditTriggers)
        self.setVerticalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        self.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Fixed)
        self.verticalHeader().hide()
        head = self.horizontalHeader()
        head.setSectionsClickable(False)
        head.setHighlightSections(False)
        head.setDefaultAlignment(Qt.AlignmentFlag.AlignRight | Qt.AlignmentFlag.AlignBottom | Qt.TextFlag.TextWordWrap)
        head.setMinimumSectionSize(voice.look.px(40))
        self.rows.modelReset.connect(self._fit)
        self.rows.dataChanged.connect(self._fit)
        self.clicked.connect(self._pick)

    def tell(self, comparison: Comparison) -> None:
        """Shows a comparison; the current row stays."""
        at = self.currentIndex().row()
        self.rows.tell(comparison)
        if 0 <= at < self.rows.rowCount() and self.currentIndex().row() != at:
            how = QItemSelectionModel.SelectionFlag
            flags = how.ClearAndSelect | how.Rows if self.hasFocus() else how.NoUpdate
            self.selectionModel().setCurrentIndex(self.rows.index(at, 0), flags)

    def keyPressEvent(self, event: QKeyEvent) -> None:
        if event.key() in (Qt.Key.Key_Return, Qt.Key.Key_Enter, Qt.Key.Key_Space) and self.currentIndex().isValid():
            self._pick(self.currentIndex())
            return
        super().keyPressEvent(event)

    def focusInEvent(self, event: QFocusEvent) -> None:
        super().focusInEvent(event)
        if self.currentIndex().isValid():
            self.selectRow(self.currentIndex().row())

    def focusOutEvent(self, event: QFocusEvent) -> None:
        super().focusOutEvent(event)
        self.clearSelection()

    def _pick(self, index: QModelIndex) -> None:
        row = self.rows.comparison.rows[index.row()]
        if row.name is not None:
            self.picked.emit(row.name.value)

    def resizeEvent(self, event: QResizeEvent) -> None:
        super().resizeEvent(event)
        self._fit()

    def _fit(self, *_: object) -> None:
        """The first column takes what is left; the table is as high as its rows."""
        look, head, count = self.voice.look, self.horizontalHeader(), self.rows.columnCount()
        if not count:
            return
        for column in range(count):
            head.setSectionResizeMode(column, QHeaderView.ResizeMode.Fixed)
        for lines in HEAD_LINES:
            wide = [self._wanted(column, lines) for column in range(1, count)]
            if sum(wide) + self._name_wide() <= self.viewport().width():
                break
        room = max(self.viewport().width() - sum(wide), look.px(120))
        head.resizeSection(0, room)
        for column, width in enumerate(wide, start=1):
            head.resizeSection(column, width)
        self.verticalHeader().setDefaultSectionSize(look.px(30))
        head.setFixedHeight(self._head_high(wide))
        self.setFixedHeight(head.height() + self.rows.rowCount() * look.px(30) + 2)

    def _name_wide(self) -> int:
        """Width of the longest name of a line."""
        metrics = QFontMetrics(self.voice.look.font(BODY, weight=600))
        names = [self.rows.name(row) for row in self.rows.comparison.rows]
        return max(map(metrics.horizontalAdvance, names), default=0) + self.voice.look.px(PAD)

    def _wanted(self, column: int, lines: int) -> int:
        """Width of a column whose head takes that many lines at most, and whose figures fit."""
        look = self.voice.look
        font = look.font(BODY, weight=600)
        metrics = QFontMetrics(font)
        texts = [str(self.rows.index(row, column).data() or "") for row in range(self.rows.rowCount())]
        figures = [t for t, row in zip(texts, self.rows.comparison.rows, strict=True) if row.figures]
        widest = max((metrics.horizontalAdvance(text) for text in figures), default=0)
        told = str(self.rows.headerData(column, Qt.Orientation.Horizontal))
        head = max(metrics.horizontalAdvance(word) for word in told.split())
        while len(broken(told, font, head)) > lines:
            head += look.px(6)
        return max(widest, head, look.px(48)) + look.px(PAD)

    def _head_high(self, wide: list[int]) -> int:
        font = self.voice.look.font(BODY, weight=600)
        lines = 1
        for column, width in enumerate(wide, start=1):
            told = str(self.rows.headerData(column, Qt.Orientation.Horizontal))
            lines = max(lines, len(broken(told, font, width - self.voice.look.px(12))))
        return lines * QFontMetrics(font).height() + self.voice.look.px(10)
