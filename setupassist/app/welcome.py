"""What stands in the window while no job is open: how to begin, and what was opened lately."""

from __future__ import annotations

from collections.abc import Callable
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING

from PySide6.QtCore import Qt
from PySide6.QtGui import QShowEvent
from PySide6.QtWidgets import QPushButton, QVBoxLayout, QWidget

from setupassist.app.labels import clear, label
from setupassist.app.model import DeskModel
from setupassist.app.theme import Look
from setupassist.desk import drafts, memory

if TYPE_CHECKING:
    from setupassist.app.shop.first_start import FirstStart


class Welcome(QWidget):
    """Drop plates here; or open a folder, files, or something lately opened."""

    def __init__(
        self, model: DeskModel, look: Look, open_folder: Callable[[], object], open_files: Callable[[], object]
    ) -> None:
        super().__init__()
        self.model, self.look = model, look
        self.setObjectName("welcome")
        self._whole = QVBoxLayout(self)
        self._whole.setContentsMargins(0, 0, 0, 0)
        self.first: FirstStart | None = None
        self.rest = QWidget()
        self._whole.addWidget(self.rest)
        self._chosen()
        column = QVBoxLayout(self.rest)
        column.setContentsMargins(look.px(60), look.px(60), look.px(60), look.px(40))
        column.setSpacing(look.px(10))
        column.addWidget(label(model.say("app.welcome.drop"), "title"))
        column.addWidget(label(model.say("app.welcome.more"), "quiet"))
        for key, run in (("app.action.open-folder", open_folder), ("app.action.open", open_files)):
            button = QPushButton(model.say(key))
            button.clicked.connect(lambda _=False, run=run: run())
            column.addWidget(button, 0, Qt.AlignmentFlag.AlignLeft)
        column.addSpacing(look.px(20))
        self._lately = QVBoxLayout()
        column.addLayout(self._lately)
        column.addStretch(1)

    def _chosen(self) -> None:
        first = self._first_start_wanted()
        if first and self.first is None:
            from setupassist.app.shop.first_start import FirstStart

            self.first = FirstStart(self.model, self.look)
            self.first.done.connect(self._chosen)
            self._whole.insertWidget(0, self.first)
        if self.first is not None:
            self.first.setVisible(first)
        self.rest.setVisible(not first)

    def _first_start_wanted(self) -> bool:
        """Whether the person has never said whose shop this is."""
        return not (self.model.preferences.started or self.model.book.own or self.model.book.named)

    def showEvent(self, event: QShowEvent) -> None:
        super().showEvent(event)
        self._chosen()
        clear(self._lately)
        self._unsaved()
        found = memory.recents()[:6]
        if found:
            self._lately.addWidget(label(self.model.say("app.welcome.lately"), "heading"))
        for path in found:
            self._entry(f"{path.parent.name} / {path.name}", partial(self.model.open, [path]))

    def _unsaved(self) -> None:
        found = drafts.drafts()
        kept = [draft for draft in found if Path(draft.folder).is_dir() and not drafts.in_another_window(draft)]
        if kept:
            self._lately.addWidget(label(self.model.say("app.welcome.unsaved"), "heading"))
        for draft in kept[:4]:
            text = f"{draft.job.title}, {draft.kept_at.replace('T', ' ')[:16]}"
            self._entry(text, partial(self.model.open_draft, draft))

    def _entry(self, text: str, run: Callable[[], object]) -> None:
        button = QPushButton(text)
        button.clicked.connect(lambda _=False: run())
        self._lately.addWidget(button, 0, Qt.AlignmentFlag.AlignLeft)
