"""A PDF opened in the window: dropped, through the dialog, out of the recent files; its page and resolution chosen."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest
from PySide6.QtCore import QMimeData, QPointF, Qt, QUrl
from PySide6.QtGui import QDropEvent
from PySide6.QtWidgets import QFileDialog
from pytestqt.qtbot import QtBot

from setupassist.app import dialogs
from setupassist.app.runner import Runner
from setupassist.app.window import Window
from setupassist.art import pdf_child
from setupassist.art.opening import open_plates
from setupassist.desk import memory
from setupassist.desk.tasks import Lane
from setupassist.errors import Cancelled
from tests.app.test_place_art import place_of
from tests.desk.test_pages import write_pdf

AtRest = Callable[[], None]


def names(window: Window) -> list[str]:
    return [row.key for row in place_of(window).plates.grid.rows]


@pytest.fixture
def file(tmp_path: Path) -> Path:
    return write_pdf(tmp_path / "two pages.pdf")


def drop(window: Window, path: Path) -> None:
    data = QMimeData()
    data.setUrls([QUrl.fromLocalFile(str(path))])
    window.dropEvent(
        QDropEvent(
            QPointF(50, 50), Qt.DropAction.CopyAction, data, Qt.MouseButton.LeftButton, Qt.KeyboardModifier.NoModifier
        )
    )


def test_a_dropped_pdf_is_its_inks_and_the_page_is_chosen(
    window: Window, at_rest: AtRest, file: Path, qtbot: QtBot
) -> None:
    drop(window, file)
    at_rest()
    place, reading = place_of(window), place_of(window).reading
    assert names(window) == ["teal", "red"]
    assert place.view.image is not None
    assert (reading.page.text(), reading.page_of.text()) == ("1", "of 2")
    reading.page.setFocus()
    qtbot.keyClick(reading.page, Qt.Key.Key_Down)
    at_rest()
    assert window.model.job.source.page == 2
    assert names(window) == ["straw", "navy"]
    qtbot.keyClick(reading.page, Qt.Key.Key_Down)
    assert window.model.job.source.page == 2
    reading.page.selectAll()
    qtbot.keyClicks(reading.page, "1")
    qtbot.keyClick(reading.page, Qt.Key.Key_Return)
    at_rest()
    assert names(window) == ["teal", "red"]
    window.model.undo.undo()
    at_rest()
    assert names(window) == ["straw", "navy"]
    assert reading.page.text() == "2"
    assert memory.recents()[0] == file


def test_what_is_no_page_is_told_and_the_page_stays(window: Window, at_rest: AtRest, file: Path, qtbot: QtBot) -> None:
    window.open([file])
    at_rest()
    said: list[object] = []
    window.model.told.connect(said.append)
    reading = place_of(window).reading
    reading.page.setFocus()
    reading.page.selectAll()
    qtbot.keyClicks(reading.page, "last")
    qtbot.keyClick(reading.page, Qt.Key.Key_Return)
    assert said == ["'last' is no page: type its number, from 1"]
    assert reading.page.text() == "1"
    reading.page.selectAll()
    qtbot.keyClicks(reading.page, "7")
    qtbot.keyClick(reading.page, Qt.Key.Key_Return)
    at_rest()
    assert "two pages.pdf" in reading.faults.text()
    assert reading.page.isVisible()
    reading.page.selectAll()
    qtbot.keyClicks(reading.page, "2")
    qtbot.keyClick(reading.page, Qt.Key.Key_Return)
    at_rest()
    assert names(window) == ["straw", "navy"]


def test_the_resolution_that_a_pdf_is_drawn_at_is_chosen(window: Window, at_rest: AtRest, file: Path, qtbot) -> None:
    window.open([file])
    at_rest()
    reading, facts = place_of(window).reading, place_of(window).facts
    assert facts.lines["resolution"][1].text() == "600 dpi"
    assert reading.dpi.isVisible()
    assert reading.dpi_name.text() == "Resolution that the PDF is drawn at, dpi"
    qtbot.keyClicks(reading.dpi, "300")
    qtbot.keyClick(reading.dpi, Qt.Key.Key_Return)
    at_rest()
    assert window.model.job.source.dpi == 300
    assert facts.lines["resolution"][1].text() == "300 dpi, by hand"


def test_the_dialog_shows_pdfs_and_endings_in_capitals(window: Window, monkeypatch) -> None:
    asked: list[str] = []
    monkeypatch.setattr(QFileDialog, "getOpenFileNames", lambda *args: (asked.append(args[3]), ([], ""))[1])
    assert dialogs.ask_files(window, window.model) == []
    plates, every = asked[0].split(";;")
    assert {"*.pdf", "*.PDF", "*.tif", "*.TIF", "*.tiff", "*.png"} <= set(plates.split("(")[1].strip(")").split())
    assert every == "Any file (*)"


def test_a_pdf_that_waits_for_its_turn_can_be_stopped(
    file: Path, monkeypatch: pytest.MonkeyPatch, qtbot: QtBot
) -> None:
    monkeypatch.setattr(pdf_child, "MOST_AT_ONCE", 0)
    runner = Runner()
    ends: list[object] = []
    runner.start(Lane.ART, "a PDF", lambda progress, stop: open_plates(file), lambda value, error: ends.append(error))
    qtbot.wait(200)
    assert ends == []
    runner.stop(Lane.ART)
    try:
        qtbot.waitUntil(lambda: bool(ends), timeout=2000)
    finally:
        monkeypatch.setattr(pdf_child, "MOST_AT_ONCE", 2)
        runner.close()
    assert [type(error) for error in ends] == [Cancelled]
