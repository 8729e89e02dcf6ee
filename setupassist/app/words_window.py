"""The window of words: what each trade word means, which keys there are, and the usual cautions."""

from __future__ import annotations

from typing import TYPE_CHECKING

from PySide6.QtCore import Qt
from PySide6.QtWidgets import QDialog, QHBoxLayout, QLabel, QLineEdit, QListWidget, QListWidgetItem, QVBoxLayout

from setupassist.app.labels import label

if TYPE_CHECKING:
    from setupassist.app.window import Window


class WordsWindow(QDialog):
    """A list of words on the left, the meaning of the chosen one on the right; stays open beside the work."""

    def __init__(self, window: Window) -> None:
        super().__init__(window)
        from setupassist.trade.glossary import glossary

        self.window_ = window
        model, look = window.model, window.look
        self.setWindowTitle(model.say("app.words.title"))
        self.setObjectName("words-window")
        self.resize(look.px(720), look.px(460))
        self._entries = {entry.id: entry for entry in glossary(model.language)}
        self.search = QLineEdit()
        self.search.setPlaceholderText(model.say("app.words.find"))
        self.search.setAccessibleName(model.say("app.words.find"))
        self.search.setClearButtonEnabled(True)
        self.list = QListWidget()
        self.list.setAccessibleName(model.say("app.words.title"))
        for entry in self._entries.values():
            item = QListWidgetItem(entry.word)
            item.setData(Qt.ItemDataRole.UserRole, entry.id)
            self.list.addItem(item)
        self.word: QLabel = label("", "title", name="word")
        self.meaning: QLabel = label("", name="meaning")
        self.meaning.setAlignment(Qt.AlignmentFlag.AlignTop)
        self.meaning.setTextInteractionFlags(Qt.TextInteractionFlag.TextSelectableByMouse)
        left = QVBoxLayout()
        left.addWidget(self.search)
        left.addWidget(self.list)
        right = QVBoxLayout()
        right.setContentsMargins(look.px(16), 0, 0, 0)
        right.addWidget(self.word)
        right.addWidget(self.meaning, 1)
        row = QHBoxLayout(self)
        row.addLayout(left, 2)
        row.addLayout(right, 3)
        self.list.currentItemChanged.connect(self._chosen)
        self.search.textChanged.connect(self._filter)

    def show_entry(self, entry: str, *, keys: bool = False, cautions: bool = False) -> None:
        """Shows one word, the list of keys, or the cautions."""
        if keys:
            self._say("app.action.keys", "\n".join(f"{key}   {what}" for key, what in self.window_.menus.key_rows()))
        elif cautions:
            self._say("app.action.cautions", "\n\n".join(self._cautions()))
        else:
            chosen = entry or next(iter(self._entries), "")
            for at in range(self.list.count()):
                if self.list.item(at).data(Qt.ItemDataRole.UserRole) == chosen:
                    self.list.setCurrentRow(at)
        self.show()
        self.raise_()
        self.activateWindow()

    def _cautions(self) -> list[str]:
        from setupassist.trade.cautions import cautions_when

        usual = cautions_when({"always", "flash", "dryer"})
        return [self.window_.model.words(caution.text) for caution in usual]

    def _say(self, title: str, text: str) -> None:
        self.list.setCurrentRow(-1)
        self.word.setText(self.window_.model.say(title))
        self.meaning.setText(text)

    def _chosen(self, item: QListWidgetItem | None) -> None:
        if item is not None:
            entry = self._entries[item.data(Qt.ItemDataRole.UserRole)]
            self.word.setText(entry.word)
            self.meaning.setText(entry.meaning)

    def _filter(self, text: str) -> None:
        for at in range(self.list.count()):
            item = self.list.item(at)
            item.setHidden(text.lower() not in item.text().lower())
