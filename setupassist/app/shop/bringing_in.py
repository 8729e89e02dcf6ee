"""Importing a shop book: asked for, read in the background, checked; its faults are listed where it was asked for."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import Any

from PySide6.QtCore import Qt, Signal
from PySide6.QtWidgets import QPushButton, QVBoxLayout, QWidget

from setupassist.app import dialogs
from setupassist.app.labels import clear, label
from setupassist.app.model import DeskModel
from setupassist.app.theme import Look
from setupassist.desk.shop_edits import ShopEdit
from setupassist.documents.store import read_shop
from setupassist.errors import SetupAssistError
from setupassist.words import say


class BringingIn(QWidget):
    """Hidden until a book has faults; then it lists them, a sentence each. ``came`` tells that a book was taken."""

    came = Signal()

    def __init__(self, model: DeskModel, look: Look) -> None:
        super().__init__()
        self.model = model
        self.setObjectName("shop-faults")
        self._column = QVBoxLayout(self)
        self._column.setContentsMargins(0, look.px(4), 0, look.px(4))
        self._column.setSpacing(look.px(2))
        self.hide()

    def ask(self) -> None:
        """Asks for a file and takes its book in place of the one in hand, as one edit."""
        path = dialogs.ask_book(self, self.model)
        if path is None:
            return
        self.tell(())
        self.model.on_disk(say("place_shop.files.reading"), lambda: read_shop(path), self._done(path.name))

    def _done(self, name: str) -> Callable[[Any, SetupAssistError | None], None]:
        def done(shop: Any, error: SetupAssistError | None) -> None:
            if error is not None:
                self.tell(error.sentences())
                return
            if not self.model.book.edit(ShopEdit(say("place_shop.edit.import", file=name), shop)):
                self.model.book.adopt()
            self.came.emit()

        return done

    def tell(self, sentences: Sequence[str]) -> None:
        """Lists what is wrong with a book; nothing takes the list away."""
        clear(self._column)
        if sentences:
            self._column.addWidget(label(self.model.say("place_shop.head.faults"), "strong"))
            for sentence in sentences:
                self._column.addWidget(label(self.model.words(sentence)))
            button = QPushButton(self.model.say("place_shop.head.understood"))
            button.setObjectName("shop-understood")
            button.clicked.connect(self._understood)
            self._column.addWidget(button, 0, Qt.AlignmentFlag.AlignLeft)
        self.setVisible(bool(sentences))

    def _understood(self) -> None:
        self.tell(())
