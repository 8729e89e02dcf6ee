"""Undo in text fields: what is being typed is undone there; once nothing is, the keys belong to the whole job."""

from __future__ import annotations

from PySide6.QtCore import QEvent, QObject
from PySide6.QtGui import QKeyEvent, QKeySequence
from PySide6.QtWidgets import QApplication, QLineEdit, QWidget

KEYS = (QKeySequence.StandardKey.Undo, QKeySequence.StandardKey.Redo)


class FieldUndo(QObject):
    """Follows the focus; a text field claims undo and redo for itself only while it has something to undo or redo."""

    def __init__(self, app: QApplication, parent: QObject) -> None:
        super().__init__(parent)
        app.focusChanged.connect(self._follow)

    def _follow(self, old: QWidget | None, new: QWidget | None) -> None:
        if isinstance(old, QLineEdit):
            old.removeEventFilter(self)
        if isinstance(new, QLineEdit):
            new.installEventFilter(self)

    def eventFilter(self, watched: QObject, event: QEvent) -> bool:
        if (
            event.type() is QEvent.Type.ShortcutOverride
            and isinstance(event, QKeyEvent)
            and isinstance(watched, QLineEdit)
            and any(event.matches(key) for key in KEYS)
            and not (watched.isUndoAvailable() or watched.isRedoAvailable())
        ):
            event.ignore()
            return True
        return False
