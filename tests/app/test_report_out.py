"""The report of the check saved from the window: by button and by key, in the sheet's language, paper and units."""

from __future__ import annotations

import threading
from collections.abc import Callable
from pathlib import Path

import pytest
from PySide6.QtCore import Qt
from PySide6.QtWidgets import QApplication
from pytestqt.qtbot import QtBot

from setupassist import checking
from setupassist.app import dialogs
from setupassist.app.window import Window
from setupassist.desk import edits
from setupassist.desk.tasks import Lane
from tests.app.test_place_art import place_of, plates_in

AtRest = Callable[[], None]


@pytest.fixture
def opened_set(window: Window, at_rest: AtRest, tmp_path: Path) -> Window:
    plates_in(tmp_path / "set")
    window.open([tmp_path / "set"])
    at_rest()
    return window


def read(pdf: Path) -> tuple[str, tuple[float, float]]:
    import pypdfium2

    document = pypdfium2.PdfDocument(pdf.read_bytes())
    text = "\n".join(page.get_textpage().get_text_bounded() for page in document)
    size = document[0].get_size()
    document.close()
    return text, size


def test_it_is_saved_by_the_button_as_the_sheet_is_printed(
    opened_set: Window, at_rest: AtRest, tmp_path: Path, qtbot: QtBot, monkeypatch
) -> None:
    model, said, asked = opened_set.model, [], []
    model.told.connect(lambda sentence: said.append(str(sentence)))
    model.edit(lambda: edits.sheet(model.job, language="es", paper="a4", units="metric"))
    at_rest()

    def target(parent, title, suggested, kind):
        asked.append(suggested)
        return tmp_path / "told"

    monkeypatch.setattr(dialogs, "ask_target", target)
    qtbot.mouseClick(place_of(opened_set).found.report, Qt.MouseButton.LeftButton)
    at_rest()
    assert asked == [tmp_path / "set" / "Set check.pdf"]
    text, (wide, high) = read(tmp_path / "told.pdf")
    assert "revisión de arte" in text
    assert (round(wide), round(high)) == (595, 842)
    assert said == [f"The report is in {tmp_path / 'told.pdf'}."]


def test_it_is_asked_for_by_key_from_another_place_and_nothing_is_written_without_a_name(
    opened_set: Window, qtbot: QtBot, tmp_path: Path, monkeypatch
) -> None:
    asked: list[str] = []
    monkeypatch.setattr(dialogs, "ask_target", lambda parent, title, suggested, kind: asked.append(title))
    opened_set.go_into("run")
    keys = Qt.KeyboardModifier.ControlModifier | Qt.KeyboardModifier.ShiftModifier
    qtbot.keyClick(opened_set, Qt.Key.Key_E, keys)
    QApplication.processEvents()
    assert asked == ["Save the check report…"]
    assert not list(tmp_path.glob("**/*.pdf"))


def test_it_is_set_in_the_background_and_given_up_when_stopped(
    opened_set: Window, at_rest: AtRest, tmp_path: Path, monkeypatch, qtbot: QtBot
) -> None:
    threads, go_on = [], threading.Event()

    def slow(*args, **kwargs):
        threads.append(threading.current_thread())
        go_on.wait(10)
        return b"%PDF"

    monkeypatch.setattr(checking, "make_report", slow)
    monkeypatch.setattr(dialogs, "ask_target", lambda *_: tmp_path / "told.pdf")
    place_of(opened_set).found.save_report()
    qtbot.waitUntil(lambda: bool(threads), timeout=5000)
    opened_set.model.runner.stop(Lane.OUT)
    go_on.set()
    at_rest()
    assert threading.main_thread() not in threads
    assert not (tmp_path / "told.pdf").exists()


def test_a_place_that_cannot_be_written_is_told(
    opened_set: Window, at_rest: AtRest, tmp_path: Path, monkeypatch
) -> None:
    said: list[str] = []
    opened_set.model.told.connect(lambda sentence: said.append(str(sentence)))
    monkeypatch.setattr(dialogs, "ask_target", lambda *_: tmp_path / "gone" / "told.pdf")
    place_of(opened_set).found.save_report()
    at_rest()
    assert len(said) == 1
    assert "told.pdf" in said[0]
