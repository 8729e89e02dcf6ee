"""The first start: the example, a book from a file, or the interview; it may be passed by and left at any time."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest
from PySide6.QtCore import Qt
from PySide6.QtWidgets import QApplication, QCheckBox, QComboBox, QLabel, QLineEdit, QPushButton, QRadioButton, QWidget
from pytestqt.qtbot import QtBot

from setupassist.app import dialogs
from setupassist.app.model import DeskModel
from setupassist.app.shop.first_start import FirstStart
from setupassist.app.shop.interview_pages import InterviewPages
from setupassist.app.window import Window
from setupassist.desk import memory
from setupassist.desk.interview import Step
from setupassist.documents.places import shop_book_path
from setupassist.documents.store import example_shop, read_shop, write_shop

Key = Qt.Key


@pytest.fixture
def first(window: Window, qtbot: QtBot) -> FirstStart:
    """The offer, as it meets the person."""
    assert window.stack.currentWidget() is window.welcome
    made = window.welcome.first
    assert made.isVisible()
    assert not window.welcome.rest.isVisible()
    window.activateWindow()
    return made


def button(of: QWidget, name: str) -> QPushButton:
    found = of.findChild(QPushButton, name)
    assert isinstance(found, QPushButton), name
    return found


def begin(first: FirstStart, qtbot: QtBot) -> InterviewPages:
    qtbot.keyClick(button(first, "start-interview"), Key.Key_Return)
    assert first.stack.currentWidget() is first.pages
    return first.pages


def line(pages: InterviewPages, name: str) -> QLineEdit:
    found = pages.findChild(QLineEdit, name)
    assert isinstance(found, QLineEdit), name
    return found


def retype(qtbot: QtBot, edit: QLineEdit, text: str, key: Key = Key.Key_Tab) -> None:
    edit.setFocus()
    edit.selectAll()
    qtbot.keyClicks(edit, text)
    qtbot.keyClick(edit, key)


def test_the_example_is_chosen_once_and_not_asked_again(
    window: Window, first: FirstStart, qtbot: QtBot, at_rest: Callable[[], None]
) -> None:
    qtbot.mouseClick(button(first, "start-example"), Qt.MouseButton.LeftButton)
    assert window.welcome.rest.isVisible()
    assert not first.isVisible()
    at_rest()
    assert memory.preferences().started
    assert not shop_book_path().exists()
    again = Window(window.model)
    again.show()
    assert again.welcome.rest.isVisible()
    again.close()
    again.deleteLater()


def test_a_shop_that_has_a_book_is_not_asked(qapp: QApplication, tmp_path: Path) -> None:
    shop_book_path().parent.mkdir(parents=True)
    write_shop(shop_book_path(), example_shop())
    model = DeskModel(example_shop())
    window = Window(model)
    window.show()
    assert window.welcome.rest.isVisible()
    window.close()
    window.deleteLater()
    model.deleteLater()


def test_a_job_passes_the_offer_by(window: Window, first: FirstStart, write_job, at_rest: Callable[[], None]) -> None:
    window.open([write_job()])
    at_rest()
    assert window.stack.currentWidget() is window.places["art"]
    window.close_job()
    assert first.isVisible()


def test_an_imported_book_is_the_shops_own(
    window: Window, first: FirstStart, qtbot: QtBot, monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    file = tmp_path / "damaged.toml"
    file.write_text('format = "setupassist-shop/1"\nname = ""\npresses = 3\n', "utf-8")
    monkeypatch.setattr(dialogs, "ask_book", lambda parent, model: file)
    qtbot.mouseClick(button(first, "start-import"), Qt.MouseButton.LeftButton)
    qtbot.waitUntil(first.bringing_in.isVisible)
    told = [each.text() for each in first.bringing_in.findChildren(QLabel)]
    assert told[0] == "The book was not imported"
    assert len(told) == 3
    assert first.isVisible()
    write_shop(good := tmp_path / "good.toml", example_shop().model_copy(update={"name": "Quay Prints"}))
    monkeypatch.setattr(dialogs, "ask_book", lambda parent, model: good)
    qtbot.mouseClick(button(first, "start-import"), Qt.MouseButton.LeftButton)
    qtbot.waitUntil(window.welcome.rest.isVisible)
    qtbot.waitUntil(lambda: window.model.book.kept and shop_book_path().exists())
    assert read_shop(shop_book_path()).name == "Quay Prints"


def test_importing_the_example_makes_it_the_shops_own(
    window: Window, first: FirstStart, qtbot: QtBot, monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    write_shop(file := tmp_path / "same.toml", example_shop())
    monkeypatch.setattr(dialogs, "ask_book", lambda parent, model: file)
    qtbot.mouseClick(button(first, "start-import"), Qt.MouseButton.LeftButton)
    qtbot.waitUntil(shop_book_path().exists)
    qtbot.waitUntil(lambda: window.model.book.own)
    assert read_shop(shop_book_path()) == example_shop()


def test_the_interview_by_keyboard_alone_makes_a_book(
    window: Window, first: FirstStart, qtbot: QtBot, at_rest: Callable[[], None]
) -> None:
    assert QApplication.focusWidget() is button(first, "start-interview")
    pages = begin(first, qtbot)
    assert QApplication.focusWidget() is line(pages, "edit-name")
    qtbot.keyClicks(line(pages, "edit-name"), "Quay Prints")
    qtbot.keyClick(line(pages, "edit-name"), Key.Key_Return)
    assert pages.now.step is Step.PRESS
    assert pages.progress.text() == "Step 2 of 5"
    retype(qtbot, line(pages, "edit-name"), "Old faithful")
    retype(qtbot, line(pages, "edit-stations"), "14")
    assert line(pages, "edit-unload").text() == "14"
    qtbot.keyClick(line(pages, "edit-unload"), Key.Key_PageDown)
    assert pages.now.step is Step.STATIONS
    assert QApplication.focusWidget() is pages.line
    for _ in range(3):
        qtbot.keyClick(pages.line, Key.Key_Right)
    qtbot.keyClick(pages.line, Key.Key_F)
    qtbot.keyClick(pages.line, Key.Key_H)
    retype(qtbot, line(pages, "edit-flash_units"), "2", Key.Key_Return)
    assert pages.now.step is Step.MESHES
    tick = pages.findChild(QCheckBox, "mesh-61")
    assert isinstance(tick, QCheckBox)
    tick.setFocus()
    qtbot.keyClick(tick, Key.Key_Space)
    assert line(pages, "count-61").text() == "4"
    retype(qtbot, line(pages, "count-90"), "8")
    qtbot.keyClick(line(pages, "count-61"), Key.Key_Up)
    qtbot.keyClick(line(pages, "count-61"), Key.Key_Return)
    assert pages.now.step is Step.INK
    radio = pages.findChild(QRadioButton, "system-plastisol")
    assert isinstance(radio, QRadioButton)
    assert QApplication.focusWidget() is radio
    qtbot.waitUntil(lambda: radio.y() != pages.findChild(QRadioButton, "system-discharge").y())
    qtbot.keyClick(radio, Key.Key_Down)
    qtbot.waitUntil(lambda: pages.now.system == "water-based")
    qtbot.keyClick(pages.findChild(QRadioButton, "system-water-based"), Key.Key_Return)
    assert window.welcome.rest.isVisible()
    qtbot.waitUntil(lambda: window.model.book.kept and shop_book_path().exists())
    at_rest()
    shop = read_shop(shop_book_path())
    assert shop.name == "Quay Prints"
    press = shop.presses[0]
    assert (press.name, press.stations, press.unload, press.flash_units) == ("Old faithful", 14, 14, 2)
    assert press.flash_slots == (4,)
    assert 4 not in press.heads
    assert [(each.mesh_per_cm, each.quantity) for each in shop.screens] == [(61, 5), (90, 8)]
    assert shop.decisions[0].suggest == "water-based"
    assert memory.preferences().started


def test_the_interview_goes_back_and_is_left_and_taken_up_again(
    window: Window, first: FirstStart, qtbot: QtBot, at_rest: Callable[[], None]
) -> None:
    pages = begin(first, qtbot)
    assert not pages.back.isEnabled()
    retype(qtbot, line(pages, "edit-name"), "Quay Prints")
    qtbot.mouseClick(pages.next, Qt.MouseButton.LeftButton)
    qtbot.mouseClick(pages.back, Qt.MouseButton.LeftButton)
    assert line(pages, "edit-name").text() == "Quay Prints"
    qtbot.mouseClick(pages.next, Qt.MouseButton.LeftButton)
    qtbot.keyClick(pages, Key.Key_Escape)
    assert first.stack.currentIndex() == 0
    assert not shop_book_path().exists()
    window.model.prefer(language="es")
    again = window.welcome.first
    qtbot.waitUntil(again.isVisible)
    assert again.stack.currentWidget() is again.pages
    assert again.pages.now.step is Step.PRESS
    assert again.pages.now.shop.name == "Quay Prints"
    assert again.pages.title.text() == "Una máquina"
    at_rest()


def test_what_is_not_valid_holds_the_step_and_says_why(window: Window, first: FirstStart, qtbot: QtBot) -> None:
    pages = begin(first, qtbot)
    qtbot.keyClick(line(pages, "edit-name"), Key.Key_Return)
    retype(qtbot, line(pages, "edit-stations"), "1", Key.Key_Return)
    assert pages.now.step is Step.PRESS
    fault = pages.findChild(QLabel, "fault-stations")
    assert isinstance(fault, QLabel)
    assert fault.text() == "Stations: must be 2 to 100. In force: 10."
    retype(qtbot, line(pages, "edit-stations"), "12", Key.Key_Return)
    assert pages.now.step is Step.STATIONS


def test_units_told_first_are_used_from_then_on(window: Window, first: FirstStart, qtbot: QtBot) -> None:
    pages = begin(first, qtbot)
    combo = pages.findChild(QComboBox, "edit-units")
    assert isinstance(combo, QComboBox)
    combo.setFocus()
    qtbot.keyClick(combo, Key.Key_Down)
    qtbot.mouseClick(pages.next, Qt.MouseButton.LeftButton)
    wide = next(each for each in pages.findChildren(QLineEdit) if "width" in each.accessibleName())
    assert wide.text() == "400"
