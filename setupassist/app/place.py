"""What every place of the window has in common."""

from __future__ import annotations

from collections.abc import Sequence

from PySide6.QtCore import Qt, QTimer
from PySide6.QtGui import QShowEvent, QUndoStack
from PySide6.QtWidgets import QWidget

from setupassist.app.actions import Action
from setupassist.app.model import DeskModel
from setupassist.app.theme import Look


class Place(QWidget):
    """One place: it shows a part of the desk and edits it. ``key`` names it in catalogue, settings and tests.

    ``later()`` asks for one ``refresh()`` after the events in hand, however often it is asked; a place that is not
    seen is refreshed when it is shown.
    """

    key = ""
    needs_job = True
    has_reasons = True

    def __init__(self, model: DeskModel, look: Look) -> None:
        super().__init__()
        self.model, self.look = model, look
        self.setObjectName(f"place-{self.key}")
        self._stale = True
        self._soon = QTimer(self)
        self._soon.setSingleShot(True)
        self._soon.setInterval(0)
        self._soon.timeout.connect(self._refresh_if_seen)
        for signal in (model.opened, model.job_changed, model.shop_changed):
            signal.connect(self.later)
        model.stage_changed.connect(self.later)
        model.selected.connect(self.selection_changed)

    def say(self, key: str, **values: object) -> str:
        """A text in the window's language."""
        return self.model.say(key, **values)

    @property
    def undo_stack(self) -> QUndoStack:
        """What undo and redo work on while this place is open."""
        return self.model.undo

    def refresh(self) -> None:
        """Shows the desk as it is now."""

    def status(self) -> str:
        """The line under the place's name, worded."""
        return ""

    def take_focus(self) -> None:
        """Puts the focus where work begins here: by default on the first thing that takes it."""
        for widget in self.findChildren(QWidget):
            if widget.isVisibleTo(self) and widget.isEnabled() and widget.focusPolicy() & Qt.FocusPolicy.TabFocus:
                widget.setFocus(Qt.FocusReason.ShortcutFocusReason)
                return

    def actions_of(self) -> Sequence[Action | None]:
        """What can be done here, for the menu."""
        return ()

    def selection_changed(self) -> None:
        """Another thing is selected; marks it without drawing everything anew."""

    def later(self, *_: object) -> None:
        """Asks for a refresh after the events in hand."""
        self._stale = True
        if not self._soon.isActive():
            self._soon.start()

    def _refresh_if_seen(self) -> None:
        if self._stale and self.isVisible():
            self._stale = False
            self.refresh()

    def showEvent(self, event: QShowEvent) -> None:
        super().showEvent(event)
        self._refresh_if_seen()
