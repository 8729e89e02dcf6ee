"""Pictures drawn in the background, one after another; only the newest wish of each asker is drawn."""

from __future__ import annotations

from collections.abc import Callable
from functools import partial
from typing import Any

import shiboken6
from PySide6.QtCore import QObject

from setupassist.app.runner import Runner
from setupassist.desk.tasks import Lane, Progress, Stop
from setupassist.errors import SetupAssistError
from setupassist.words import say

Draw = Callable[[], Any]
Drawn = Callable[[Any], None]


class Drawing(QObject):
    """Draws for whoever asks: ``draw`` runs in a thread, ``drawn`` gets what it gave in the window's thread.

    An asker that was deleted meanwhile is told nothing; a drawing that fails shows nothing, which the asker sees.
    """

    def __init__(self, runner: Runner, parent: QObject) -> None:
        super().__init__(parent)
        self._runner = runner
        self._wanted: dict[QObject, tuple[Draw, Drawn]] = {}

    def ask(self, asker: QObject, draw: Draw, drawn: Drawn) -> None:
        """Draws as soon as it can; what the same asker still waits for is forgotten."""
        self._wanted[asker] = draw, drawn
        self._next()

    def _next(self) -> None:
        while self._wanted and self._runner.free(Lane.DRAW):
            asker = next(iter(self._wanted))
            draw, drawn = self._wanted.pop(asker)
            if shiboken6.isValid(asker):
                told = partial(self._told, asker, drawn)
                self._runner.start(Lane.DRAW, say("app.run.pictures"), partial(_run, draw), told)

    def _told(self, asker: QObject, drawn: Drawn, value: Any, error: SetupAssistError | None) -> None:
        if shiboken6.isValid(asker):
            drawn(value if error is None else None)
        self._next()


def _run(draw: Draw, progress: Progress, stop: Stop) -> Any:
    return draw()
