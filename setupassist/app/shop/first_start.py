"""The first start: the example shop, a book from a file, or a short interview. It may be passed by at any time."""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING

from PySide6.QtCore import Qt, Signal
from PySide6.QtGui import QShowEvent
from PySide6.QtWidgets import QPushButton, QScrollArea, QStackedWidget, QVBoxLayout, QWidget

from setupassist.app.labels import column, label
from setupassist.app.model import DeskModel
from setupassist.app.shop.bringing_in import BringingIn
from setupassist.app.theme import Look

if TYPE_CHECKING:
    from setupassist.app.shop.interview_pages import InterviewPages


class FirstStart(QWidget):
    """What stands in the welcome before anything else; ``done`` tells that the person has chosen."""

    done = Signal()

    def __init__(self, model: DeskModel, look: Look) -> None:
        super().__init__()
        self.model, self.look = model, look
        self.setObjectName("first-start")
        whole = QVBoxLayout(self)
        whole.setContentsMargins(0, 0, 0, 0)
        self.stack = QStackedWidget()
        whole.addWidget(self.stack)
        self.stack.addWidget(self._offer())
        self._pages: InterviewPages | None = None
        if model.book.interview is not None:
            self._begin()

    @property
    def pages(self) -> InterviewPages:
        """The interview, made when it is begun."""
        if self._pages is None:
            from setupassist.app.shop.interview_pages import InterviewPages

            self._pages = InterviewPages(self.model, self.look)
            self._pages.left.connect(self._offer_again)
            self._pages.finished.connect(self._finish)
            self.stack.addWidget(self._pages)
        return self._pages

    def _offer(self) -> QWidget:
        look, say = self.look, self.model.say
        scroll = QScrollArea()
        scroll.setWidgetResizable(True)
        scroll.setFocusPolicy(Qt.FocusPolicy.NoFocus)
        holder, laid = column(margins=(look.px(60), look.px(48), look.px(60), look.px(32)), spacing=look.px(6))
        laid.addWidget(label(say("place_shop.start.title"), "title"))
        laid.addWidget(label(say("place_shop.start.more"), "quiet"))
        laid.addSpacing(look.px(14))
        self.bringing_in = BringingIn(self.model, look)
        self.bringing_in.came.connect(self._finish)
        entries: tuple[tuple[str, Callable[[], object]], ...] = (
            ("interview", self._begin),
            ("import", self.bringing_in.ask),
            ("example", self._finish),
        )
        for key, run in entries:
            button = QPushButton(say(f"place_shop.start.{key}"))
            button.setObjectName(f"start-{key}")
            button.setAutoDefault(True)
            button.setAccessibleDescription(say(f"place_shop.start.{key}-more"))
            button.clicked.connect(run)
            laid.addWidget(button, 0, Qt.AlignmentFlag.AlignLeft)
            laid.addWidget(label(say(f"place_shop.start.{key}-more"), "small"))
            laid.addSpacing(look.px(10))
        laid.addWidget(self.bringing_in)
        laid.addWidget(label(say("place_shop.start.drop"), "quiet"))
        laid.addStretch(1)
        scroll.setWidget(holder)
        return scroll

    def showEvent(self, event: QShowEvent) -> None:
        super().showEvent(event)
        if self.stack.currentIndex() == 0:
            self._offer_again()

    def _begin(self) -> None:
        from setupassist.desk import interview

        book = self.model.book
        if book.interview is None:
            book.interview = interview.begun(self.model.words, self.model.units)
        self.pages.show_step()
        self.stack.setCurrentWidget(self.pages)

    def _offer_again(self) -> None:
        self.stack.setCurrentIndex(0)
        button = self.findChild(QPushButton, "start-interview")
        if isinstance(button, QPushButton):
            button.setFocus()

    def _finish(self) -> None:
        self.model.book.interview = None
        self.model.prefer(started=True)
        self.done.emit()
