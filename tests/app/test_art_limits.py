"""Limits edited at the finding that they make, and answers that set it aside; with the way back."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest
from PySide6.QtCore import Qt
from PySide6.QtWidgets import QApplication, QLineEdit
from pytestqt.qtbot import QtBot

from setupassist.app.places.art import ArtPlace
from setupassist.app.window import Window
from setupassist.desk import edits
from setupassist.desk.art_facts import findings_known
from tests.app.test_place_art import place_of
from tests.desk.test_base_making import draw

AtRest = Callable[[], None]


@pytest.fixture
def place(window: Window, at_rest: AtRest, tmp_path: Path) -> ArtPlace:
    """A base that shows 0.2 mm beyond its ink on one side, on a black shirt; the finding chosen."""
    rects = ("white base", (50, 350, 50, 352)), ("teal", (50, 350, 50, 350))
    window.model.prefer(units="metric")
    window.open([draw(tmp_path / "set", *rects)])
    window.model.edit(lambda: edits.garment(window.model.job, 0, colour="#101010"))
    at_rest()
    made = place_of(window)
    choose(made, "base-peeks-out")
    return made


def codes(place: ArtPlace) -> list[str]:
    return [finding.code for finding in findings_known(place.model.desk)]


def choose(place: ArtPlace, code: str) -> None:
    place.found.entered.emit(codes(place).index(code) + 1)
    QApplication.processEvents()


def editor(place: ArtPlace) -> QLineEdit:
    (row,) = place.found.limits.rows.values()
    edit = row.editors[0]
    assert isinstance(edit, QLineEdit)
    return edit


def enter(place: ArtPlace, text: str, qtbot: QtBot) -> None:
    edit = editor(place)
    edit.setFocus()
    edit.selectAll()
    qtbot.keyClicks(edit, text)
    qtbot.keyClick(edit, Qt.Key.Key_Return)


def test_the_limit_stands_there_with_unit_and_source(place: ArtPlace) -> None:
    limits = place.found.limits
    assert limits.heading.isVisible()
    (row,) = limits.rows.values()
    assert (editor(place).text(), row.unit.text()) == ("0.05", "mm")
    assert row.source.text()
    assert not limits.back.isVisible()


def test_a_limit_is_edited_and_taken_back_by_button(place: ArtPlace, qtbot: QtBot, at_rest: AtRest) -> None:
    book, limits = place.model.book, place.found.limits
    enter(place, "5", qtbot)
    at_rest()
    assert place.model.desk.shop.policies.peek_out_mm == 5
    assert "base-peeks-out" not in codes(place)
    assert place.found.finding is None
    assert limits.back.isVisible()
    assert place.model.undo.canUndo()
    before = place.model.job
    limits.back.click()
    at_rest()
    assert place.model.desk.shop.policies.peek_out_mm == 0.05
    assert "base-peeks-out" in codes(place)
    assert not limits.back.isVisible()
    assert place.model.job == before
    assert not book.undo.canUndo()


def test_undo_belongs_to_the_book_while_a_limit_is_in_hand(
    place: ArtPlace, window: Window, qtbot: QtBot, at_rest: AtRest
) -> None:
    enter(place, "0.06", qtbot)
    at_rest()
    assert place.found.finding is not None
    assert place.found.finding.code == "base-peeks-out"
    assert editor(place).hasFocus()
    job = place.model.job
    qtbot.keyClick(editor(place), Qt.Key.Key_Z, Qt.KeyboardModifier.ControlModifier)
    at_rest()
    assert place.model.desk.shop.policies.peek_out_mm == 0.05
    assert place.model.job == job
    place.view.setFocus()
    assert place.undo_stack is place.model.undo


def test_what_is_no_limit_is_told_and_the_old_one_holds(place: ArtPlace, qtbot: QtBot) -> None:
    enter(place, "wide", qtbot)
    (row,) = place.found.limits.rows.values()
    assert row.fault.isVisible()
    assert place.model.desk.shop.policies.peek_out_mm == 0.05
    qtbot.keyClick(editor(place), Qt.Key.Key_Escape)
    assert editor(place).text() == "0.05"
    assert not row.fault.isVisible()


def test_an_answer_sets_the_finding_aside_and_undo_brings_it_back(
    place: ArtPlace, qtbot: QtBot, at_rest: AtRest
) -> None:
    (button,) = place.found.limits.offers.values()
    assert button.isVisible()
    qtbot.mouseClick(button, Qt.MouseButton.LeftButton)
    at_rest()
    assert place.model.job.answers["base-shows"] == "yes"
    assert "base-peeks-out" not in codes(place)
    place.model.undo.undo()
    at_rest()
    assert "base-peeks-out" in codes(place)


def test_a_finding_keeps_its_hand_where_its_number_changes(place: ArtPlace, at_rest: AtRest) -> None:
    held = place.found.finding
    place.model.edit(lambda: edits.source(place.model.job, light_is_ink=False))
    place.model.edit(lambda: edits.title(place.model.job, "another title"))
    at_rest()
    assert place.found.finding == held
