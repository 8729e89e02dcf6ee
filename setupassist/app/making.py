"""Once a window is seen: its places are made one after another, then heavy libraries are fetched ahead of need."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from PySide6.QtCore import QEvent, QObject, QTimer
from PySide6.QtWidgets import QWidget

from setupassist.app.runner import Runner
from setupassist.desk.libraries import fetch_ahead
from setupassist.desk.tasks import Lane
from setupassist.errors import SetupAssistError
from setupassist.words import say

UNSEEN_MS = 400
"""A window that is not painted by then (minimised, say) is taken for seen."""


class Making(QObject):
    """``make_next`` makes one thing and tells whether there was any left to make; it runs between events.

    Nothing begins before ``window`` has been painted.
    """

    def __init__(self, window: QWidget, make_next: Callable[[], bool], runner: Runner) -> None:
        super().__init__(window)
        self._window, self._make_next, self._runner = window, make_next, runner
        self._next = QTimer(self)
        self._next.setSingleShot(True)
        self._next.setInterval(UNSEEN_MS)
        self._next.timeout.connect(self._step)
        window.installEventFilter(self)
        self._next.start()

    def eventFilter(self, watched: QObject, event: QEvent) -> bool:
        if event.type() is QEvent.Type.Paint:
            watched.removeEventFilter(self)
            self._next.start(0)
        elif event.type() is QEvent.Type.Close:
            self._next.stop()
        return False

    def _step(self) -> None:
        self._window.removeEventFilter(self)
        if self._make_next():
            self._next.start(0)
        else:
            self._fetch()

    def _fetch(self) -> None:
        if self._runner.free(Lane.AHEAD):
            self._runner.start(Lane.AHEAD, say("app.run.ahead"), fetch_ahead, self._fetched)

    def _fetched(self, value: Any, error: SetupAssistError | None) -> None:
        if error is not None:  # stopped with everything else, because a job was opened
            self._fetch()
