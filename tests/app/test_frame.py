"""The frame of the window: opening, places, undo, saving, language and theme."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest
from pytestqt.qtbot import QtBot

from setupassist.app.model import DeskModel
from setupassist.app.window import Window
from setupassist.desk import drafts, edits
from setupassist.documents.store import read_job


def test_nothing_open_welcomes_and_a_job_takes_its_place(window: Window, opened: Window) -> None:
    assert opened.stack.currentWidget() is opened.places["art"]
    opened.close_job()
    assert opened.stack.currentWidget() is opened.welcome


def test_every_place_is_reached_by_its_key(opened: Window) -> None:
    from PySide6.QtGui import QAction

    for key in opened.places:
        opened.findChild(QAction, f"app.place.{key}").trigger()
        assert opened.key == key
        assert opened.stack.currentWidget() is opened.places[key]


def test_an_edit_is_undone_and_redone_by_name(opened: Window, at_rest: Callable[[], None]) -> None:
    model, before = opened.model, opened.model.job
    assert model.edit(lambda: edits.pin(model.job, "red", 7))
    after = model.job
    assert model.undo.undoText() == "pin red at 7"
    model.undo.undo()
    assert model.job == before
    model.undo.redo()
    assert model.job == after
    at_rest()


def test_a_faulty_edit_changes_nothing_and_is_told(opened: Window) -> None:
    model, before, said = opened.model, opened.model.job, []
    model.told.connect(said.append)
    assert not model.edit(lambda: edits.with_fields(model.job, edits.say("desk.edit.field"), tests=-1))
    assert model.job == before
    assert said
    assert not model.undo.count()


def test_saving_writes_the_job_and_drops_the_draft(opened: Window, qtbot: QtBot, at_rest: Callable[[], None]) -> None:
    model = opened.model
    model.edit(lambda: edits.pin(model.job, "red", 7))
    assert model.desk.modified
    file = model.desk.opened.file
    qtbot.waitUntil(lambda: drafts.draft_of(file) is not None, timeout=5000)
    model.save()
    qtbot.waitUntil(lambda: not model.desk.modified, timeout=5000)
    assert read_job(file) == model.job
    assert drafts.draft_of(file) is None
    at_rest()


def test_language_and_theme_change_in_place(opened: Window, at_rest: Callable[[], None]) -> None:
    opened.go("stations")
    opened.model.prefer(language="es", theme="dark")
    assert opened.key == "stations"
    assert opened.list.buttons["stations"].text() == "Estaciones"
    assert opened.look.theme.name == "dark"
    at_rest()


def test_a_draft_comes_back_after_a_crash(window: Window, write_job: Callable[..., Path], at_rest) -> None:
    path = write_job()
    window.open([path])
    at_rest()
    model = window.model
    edited = edits.pin(model.job, "red", 7).job
    from dataclasses import replace

    drafts.keep(replace(model.desk.opened, job=edited), at="2026-01-01T06:45")
    window.open([path])
    at_rest()
    assert model.job.pins == {"red": 7}
    assert window.recovery.isVisible()
    window.recovery.saved.click()
    assert model.job.pins == {}
    at_rest()


def test_undo_in_a_field_is_the_fields_until_the_edit_is_made(opened: Window, qtbot: QtBot) -> None:
    from PySide6.QtCore import Qt

    title, model = opened.header.title, opened.model
    title.setFocus()
    title.selectAll()
    qtbot.keyClicks(title, "Other")
    qtbot.keyClick(title, Qt.Key.Key_Z, Qt.KeyboardModifier.ControlModifier)
    assert model.job.title == "Test tee"
    assert title.text() != "Other"
    title.selectAll()
    qtbot.keyClicks(title, "Third")
    qtbot.keyClick(title, Qt.Key.Key_Return)
    assert model.job.title == "Third"
    qtbot.keyClick(title, Qt.Key.Key_Z, Qt.KeyboardModifier.ControlModifier)
    assert model.job.title == "Test tee"
    assert title.text() == "Test tee"


def test_places_made_by_and_by_are_the_same_as_at_once(
    window: Window, model: DeskModel, write_job: Callable[..., Path], qtbot: QtBot
) -> None:
    later = Window(model, by_and_by=True)
    try:
        assert later.places == {}
        later.open_once_seen([write_job()])
        assert not model.has_job
        later.show()
        qtbot.waitUntil(lambda: later.places.keys() == window.places.keys(), timeout=10_000)
        qtbot.waitUntil(lambda: not model.runner.running and next(model.desk.wanted(), None) is None, timeout=60_000)
        assert model.job.title == "Test tee"
        assert later.stack.currentWidget() is later.places["art"]
        entries = [[entry.objectName() for _, entry in w.menus.entries] for w in (later, window)]
        assert entries[0] == entries[1]
        told = [[(button.text(), button.accessibleDescription()) for button in w.list.buttons.values()]
                for w in (later, window)]  # fmt: skip
        assert told[0] == told[1]
    finally:
        model.undo.clear()
        later.close()
        later.deleteLater()


def test_a_place_that_is_wanted_before_its_turn_is_made_at_once(model: DeskModel, qtbot: QtBot) -> None:
    window = Window(model, by_and_by=True)
    window.go("shop")
    assert list(window.places) == ["shop"]
    assert window.stack.currentWidget() is window.places["shop"]
    window.close()
    window.deleteLater()


def test_changes_that_came_back_are_not_given_up_unasked(
    window: Window, write_job: Callable[..., Path], monkeypatch, at_rest: Callable[[], None]
) -> None:
    from dataclasses import replace

    from setupassist.app import dialogs
    from setupassist.app.dialogs import Leaving
    from setupassist.desk.opening import open_paths
    from setupassist.documents.store import example_shop

    opened = open_paths([write_job()], shop=example_shop())
    drafts.keep(replace(opened, job=edits.pin(opened.job, "red", 7).job), at="2026-01-01T06:45")
    asked = []
    monkeypatch.setattr(dialogs, "ask_leaving", lambda *_: asked.append(1) or Leaving.STAY)
    window.open([opened.file])
    window.close_job()
    assert asked
    assert window.model.job.pins == {"red": 7}
    at_rest()


@pytest.mark.qt_log_ignore("does not support")
def test_the_window_of_words_speaks_the_new_language(opened: Window, at_rest: Callable[[], None]) -> None:
    opened.explain("choke")
    assert opened.words_window.word.text() == "choke"
    opened.model.prefer(language="es")
    opened.explain("choke")
    assert "base" in opened.words_window.word.text()
    at_rest()


def test_what_is_being_typed_is_taken_in_before_saving_and_leaving(
    opened: Window, qtbot: QtBot, monkeypatch, at_rest: Callable[[], None]
) -> None:
    from PySide6.QtGui import QAction

    from setupassist.app import dialogs
    from setupassist.app.dialogs import Leaving

    model, title, file = opened.model, opened.header.title, opened.model.desk.opened.file
    title.setFocus()
    title.selectAll()
    qtbot.keyClicks(title, "Typed")
    opened.findChild(QAction, "app.action.save").trigger()
    qtbot.waitUntil(lambda: read_job(file).title == "Typed", timeout=5000)
    at_rest()
    assert title.hasFocus()
    title.selectAll()
    qtbot.keyClicks(title, "Later")
    asked = []
    monkeypatch.setattr(dialogs, "ask_leaving", lambda *_: asked.append(model.job.title) or Leaving.STAY)
    opened.close_job()
    assert asked == ["Later"]
    at_rest()


def test_a_change_of_theme_keeps_the_focus_and_what_is_typed(
    opened: Window, qtbot: QtBot, at_rest: Callable[[], None]
) -> None:
    from PySide6.QtWidgets import QApplication

    opened.go_into("questions")
    before = QApplication.focusWidget()
    assert before is not None
    name = before.accessibleName()
    opened.model.prefer(theme="dark")
    at_rest()
    after = QApplication.focusWidget()
    assert after is not None
    assert after is not before
    assert after.accessibleName() == name
    qtbot.waitUntil(lambda: len(opened.places) == 6, timeout=5000)
    title = opened.header.title
    title.setFocus()
    title.selectAll()
    qtbot.keyClicks(title, "Typed")
    opened.model.prefer(theme="light")
    assert opened.model.job.title == "Typed"
    assert opened.header.title.text() == "Typed"
    at_rest()


def test_names_of_edits_follow_the_language(opened: Window, at_rest: Callable[[], None]) -> None:
    model = opened.model
    model.edit(lambda: edits.pin(model.job, "red", 7))
    model.prefer(language="es")
    assert model.undo.undoText() == "fijar red en 7"
    at_rest()


def test_sentences_that_come_together_stand_together(opened: Window, tmp_path: Path, at_rest) -> None:
    folder = tmp_path / "broken"
    folder.mkdir()
    (folder / "job.json").write_text('{"colour": 3}')
    opened.open([folder])
    told = opened.strip.told.text()
    assert "'format' is missing" in told
    assert "unknown field 'colour'" in told
    assert "can be opened without it" in told
    at_rest()
