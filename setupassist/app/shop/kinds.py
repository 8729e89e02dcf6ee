"""The kinds of entries in the shop book, with how many there are of each."""

from __future__ import annotations

from PySide6.QtCore import Qt, Signal
from PySide6.QtWidgets import QListWidget, QListWidgetItem

from setupassist.app.model import DeskModel
from setupassist.app.theme import Look
from setupassist.desk.decision_rows import State, rows
from setupassist.desk.shop_entries import Section, count_of
from setupassist.documents.shop import Shop


class Kinds(QListWidget):
    """One line a kind; ``chosen`` brings the one that the person went to."""

    chosen = Signal(object)

    def __init__(self, model: DeskModel, look: Look) -> None:
        super().__init__()
        self._say, self.look = model.say, look
        self.setObjectName("ground")
        self.setAccessibleName(model.say("place_shop.kinds.name"))
        self.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        self.setWordWrap(True)
        for section in Section:
            item = QListWidgetItem()
            item.setData(Qt.ItemDataRole.UserRole, section)
            self.addItem(item)
        self.setCurrentRow(0)
        self.setStyleSheet(
            f"QListWidget {{ padding: {look.px(8)}px 0; }}"
            f"QListWidget::item {{ padding: {look.px(4)}px {look.px(12)}px; color: {look.theme.ink}; }}"
            f"QListWidget::item:selected {{ background: {look.theme.paper}; font-weight: 600;"
            f" border-left: {look.px(3)}px solid {look.theme.mark}; }}"
        )
        self.currentRowChanged.connect(self._went)

    def tell(self, shop: Shop) -> None:
        """How many there are of each now; of decisions, how many the shop has made its own."""
        for at, section in enumerate(Section):
            name = self._say(f"place_shop.section.{section}")
            if section is Section.DECISIONS:
                count = sum(row.state is not State.SHIPPED for row in rows(shop))
            else:
                count = 0 if section is Section.POLICIES else count_of(shop, section)
            item = self.item(at)
            if item is not None:
                text = f"{name}  {count}" if count or section not in (Section.POLICIES, Section.DECISIONS) else name
                if item.text() != text:
                    item.setText(text)

    def choose(self, section: Section) -> None:
        """Marks a kind without telling of it."""
        self.blockSignals(True)
        self.setCurrentRow(list(Section).index(section))
        self.blockSignals(False)

    def fold(self, narrow: bool, room: int) -> None:
        """Takes its place above the entries, no higher than ``room`` allows, or at their left over the whole height."""
        high = sum(self.sizeHintForRow(row) for row in range(self.count())) + self.look.px(18)
        self.setMinimumHeight(min(high, max(room, self.look.px(60))) if narrow else 0)
        self.setMaximumHeight(self.minimumHeight() if narrow else 16_777_215)
        self.setFixedWidth(self.look.px(250 if narrow else 150))

    def _went(self, at: int) -> None:
        if at >= 0:
            self.chosen.emit(list(Section)[at])
