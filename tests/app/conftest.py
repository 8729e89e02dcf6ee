"""The window under test: offscreen, with a home of its own, and nothing may be left behind."""

from __future__ import annotations

import gc
import os
import threading
from collections.abc import Callable, Iterator
from pathlib import Path
from unittest.mock import patch

import pytest

os.environ.setdefault("QT_QPA_PLATFORM", "offscreen")

import shiboken6
from PySide6.QtCore import QCoreApplication, QEvent, QTimer
from PySide6.QtWidgets import QApplication
from pytestqt.qtbot import QtBot

from setupassist.app import dialogs, theme
from setupassist.app.dialogs import Leaving
from setupassist.app.model import DeskModel
from setupassist.app.places import KEYS
from setupassist.app.window import Window
from setupassist.documents.store import example_shop

SAMPLES = Path(__file__).parents[2] / "sample_art"
PATIENCE_MS = 60_000


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    for item in items:
        if Path(__file__).parent in Path(item.fspath).parents:
            item.add_marker(pytest.mark.window)


def _settle() -> None:
    for _ in range(3):
        QCoreApplication.sendPostedEvents(None, QEvent.Type.DeferredDelete)
        QApplication.processEvents()
    gc.collect()


def _threads() -> set[threading.Thread]:
    return {thread for thread in threading.enumerate() if thread.is_alive()}


def _timers() -> set[int]:
    return {id(o) for o in gc.get_objects() if isinstance(o, QTimer) and shiboken6.isValid(o) and o.isActive()}


@pytest.fixture(autouse=True)
def nothing_left(qapp: QApplication) -> Iterator[None]:
    """Fails a test that leaves a thread, a running timer or a top-level widget behind."""
    theme.load_fonts()
    _settle()
    threads, timers, widgets = _threads(), _timers(), set(map(id, QApplication.topLevelWidgets()))
    yield
    _settle()
    left = [w for w in QApplication.topLevelWidgets() if id(w) not in widgets and shiboken6.isValid(w)]
    assert not left, f"widgets left behind: {left}"
    assert not _threads() - threads, f"threads left behind: {_threads() - threads}"
    assert not _timers() - timers, "a timer was left running"


@pytest.fixture
def model(qapp: QApplication) -> Iterator[DeskModel]:
    """A desk with the example shop and nothing open."""
    made = DeskModel(example_shop())
    yield made
    assert made.runner.close(30), "a task did not end when it was asked to"
    made.deleteLater()


@pytest.fixture
def window(model: DeskModel, qtbot: QtBot) -> Iterator[Window]:
    """The window over it, shown."""
    made = Window(model)
    made.resize(1440, 900)
    made.show()
    qtbot.waitExposed(made)
    yield made
    model.undo.clear()
    model.brought_back = False  # leaving asks nothing now
    with patch.object(dialogs, "ask_leaving", lambda *_: Leaving.GIVE_UP):  # what is half typed is given up
        made.close()
    made.deleteLater()


@pytest.fixture
def at_rest(model: DeskModel, qtbot: QtBot) -> Callable[[], None]:
    """Waits until nothing runs, nothing more is wanted, and a window that was made anew has all its places again."""

    def resting() -> bool:
        windows = [w for w in QApplication.topLevelWidgets() if isinstance(w, Window) and w.isVisible()]
        made = all(len(w.places) in (0, len(KEYS)) for w in windows)
        return made and not model.runner.running and next(model.desk.wanted(), None) is None

    def wait() -> None:
        qtbot.waitUntil(resting, timeout=PATIENCE_MS)
        for _ in range(3):
            QApplication.processEvents()

    return wait


@pytest.fixture
def opened(window: Window, write_job: Callable[..., Path], at_rest: Callable[[], None]) -> Window:
    """The window with the small job of figures open and worked out."""
    window.open([write_job()])
    at_rest()
    return window
