"""One edit on an undo stack: a frozen document before and after."""

from __future__ import annotations

import time
from collections.abc import Callable
from typing import Any

from PySide6.QtGui import QUndoCommand, QUndoStack

from setupassist.words import Said, Words

MERGE_SECONDS = 2.0
MERGEABLE = 1


class DocumentEdit(QUndoCommand):
    """Puts ``after`` where ``before`` was, and back.

    Edits in a row with the same ``merges`` are one, unless a while lies between them; together they are none where
    they lead back to where they began.
    """

    def __init__(
        self, name: Said, words: Words, put: Callable[[Any], None], before: Any, after: Any, *, merges: str
    ) -> None:
        super().__init__(words(name))
        self._name = name
        self._put, self._before, self._after, self._merges = put, before, after, merges
        self._at = time.monotonic()

    def name_in(self, words: Words) -> None:
        """Says its name in another language."""
        self.setText(words(self._name))

    def redo(self) -> None:
        self._put(self._after)

    def undo(self) -> None:
        self._put(self._before)

    def id(self) -> int:
        return MERGEABLE if self._merges else -1

    def mergeWith(self, other: QUndoCommand) -> bool:
        if not isinstance(other, DocumentEdit) or other._merges != self._merges:
            return False
        if other._at - self._at > MERGE_SECONDS:
            return False
        self._after, self._at = other._after, other._at
        self.setObsolete(self._after == self._before)
        return True


def name_edits(stack: QUndoStack, words: Words) -> None:
    """Says the names of all edits of a stack in another language."""
    for at in range(stack.count()):
        command = stack.command(at)
        if isinstance(command, DocumentEdit):
            command.name_in(words)
