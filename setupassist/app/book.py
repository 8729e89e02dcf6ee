"""The shop book in the window: edits that can be undone, each kept on disk within half a second."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING, Any

from PySide6.QtCore import QObject, QTimer, Signal
from PySide6.QtGui import QUndoStack

from setupassist.app.undo import DocumentEdit
from setupassist.desk.keeping import BookKeeper, Kept
from setupassist.desk.shop_edits import ShopEdit
from setupassist.documents.base import Document
from setupassist.documents.places import shop_book_path
from setupassist.documents.shop import Shop
from setupassist.errors import SetupAssistError
from setupassist.words import say

if TYPE_CHECKING:
    from setupassist.app.model import DeskModel
    from setupassist.desk.interview import Interview

KEEP_AFTER_MS = 150

Typed = str | bool | tuple[str, str]


class BookModel(QObject):
    """The shop book that is edited: the user's own, or the file named with ``--shop``.

    ``kept_changed``: whether and where it is kept. ``pending`` holds what was typed and is not valid yet, an entry
    with its texts by field, so that nothing typed is lost while another entry, language or theme is shown.
    """

    kept_changed = Signal()

    def __init__(self, model: DeskModel, shop: Shop, file: Path | None) -> None:
        super().__init__(model)
        self.model = model
        self.named = file is not None
        self.path = file if file is not None else shop_book_path()
        self.own = self.named or self.path.exists()
        self.damaged = False
        self.trouble: tuple[str, ...] = ()
        self.pending: list[tuple[Document, dict[str, Typed]]] = []
        self.interview: Interview | None = None
        self.undo = QUndoStack(self)
        self._keeper = BookKeeper(self.path, shop)
        self._number = 0
        self._kept: Shop = shop
        self._timer = QTimer(self)
        self._timer.setSingleShot(True)
        self._timer.setInterval(KEEP_AFTER_MS)
        self._timer.timeout.connect(self.keep)

    @property
    def shop(self) -> Shop:
        """The book as it is now."""
        return self.model.desk.shop

    @property
    def kept(self) -> bool:
        """Whether the disk holds the book as it is now."""
        return self._kept == self.shop and not self.trouble

    def edit(self, edit: ShopEdit | Callable[[], ShopEdit]) -> bool:
        """Makes an edit that can be undone; a fault is told and nothing changes. False where nothing changed."""
        try:
            made = edit() if callable(edit) else edit
        except SetupAssistError as fault:
            self.model.tell(fault)
            return False
        if made.shop == self.shop:
            return False
        self.undo.push(DocumentEdit(made.name, self.model.words, self._put, self.shop, made.shop, merges=made.merges))
        if made.note:
            self.model.told.emit(made.note)
        return True

    def _put(self, shop: Shop) -> None:
        self._number += 1
        self.model.put_shop(shop)
        if not self._timer.isActive():
            self._timer.start()

    def adopt(self) -> None:
        """Makes the book as it is the user's own, though nothing in it changed."""
        self._number += 1
        self.keep()

    def keep(self) -> None:
        """Writes the book in the background."""
        self._timer.stop()
        shop, number = self.shop, self._number
        self.model.on_disk(say("app.run.saving"), lambda: self._keeper.keep(shop, number), self._done)

    def flush(self) -> None:
        """Writes the book at once where it is not kept yet, before the window goes."""
        if self._timer.isActive() or (self._number and self._kept != self.shop):
            self._timer.stop()
            try:
                self._done(self._keeper.keep(self.shop, self._number), None)
            except SetupAssistError as fault:
                self._done(None, fault)

    def _done(self, kept: Any, error: SetupAssistError | None) -> None:
        if error is not None:
            self.trouble = tuple(error.sentences())
            self.model.tell(error)
            self.kept_changed.emit()
            return
        if not isinstance(kept, Kept):
            return
        self._kept, self.trouble, self.damaged = kept.shop, (), False
        if kept.beside is not None:
            self.model.told.emit(say("place_shop.head.kept-beside", file=kept.beside.name))
        elif not self.own:
            self.model.told.emit(say("place_shop.head.made-own", file=str(self.path)))
        self.own = True
        self.kept_changed.emit()
