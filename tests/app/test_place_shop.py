"""The place of the shop book, by mouse and by keyboard: forms, lists, the unrolled press, undo, keeping, import."""

from __future__ import annotations

import random
import time
from collections.abc import Callable
from pathlib import Path

import pytest
from PySide6.QtCore import QPoint, Qt
from PySide6.QtGui import QAction
from PySide6.QtTest import QAbstractItemModelTester
from PySide6.QtWidgets import QCheckBox, QComboBox, QLabel, QLineEdit, QPushButton, QRadioButton, QWidget
from pytestqt.qtbot import QtBot

from setupassist.app import dialogs
from setupassist.app.model import DeskModel
from setupassist.app.places.shop import ShopPlace
from setupassist.app.shop.entry_list import EntryModel, Shown
from setupassist.app.shop.press_line import HEADS, SLOTS
from setupassist.app.window import Window
from setupassist.desk import decision_rows
from setupassist.desk.decision_rows import State
from setupassist.desk.forms import FieldKind
from setupassist.desk.shop_entries import LISTS, Section
from setupassist.documents.places import shop_book_path
from setupassist.documents.shop import Shop
from setupassist.documents.store import example_shop, read_shop, shop_bytes, write_shop

Key = Qt.Key
At_rest = Callable[[], None]


@pytest.fixture
def place(window: Window, qtbot: QtBot) -> ShopPlace:
    """The place of the shop book, open."""
    window.go("shop")
    made = window.places["shop"]
    assert isinstance(made, ShopPlace)
    qtbot.waitUntil(lambda: made.line.press is not None)
    window.activateWindow()
    return made


def shop_of(place: ShopPlace) -> Shop:
    return place.model.desk.shop


def edit_of(place: ShopPlace, path: str) -> QLineEdit:
    found = place.stack.currentWidget().findChild(QLineEdit, f"edit-{path}")
    assert isinstance(found, QLineEdit), path
    return found


def fault_of(place: ShopPlace, path: str) -> QLabel:
    found = place.stack.currentWidget().findChild(QLabel, f"fault-{path}")
    assert isinstance(found, QLabel)
    return found


def type_in(qtbot: QtBot, edit: QLineEdit, text: str, key: Key = Key.Key_Return) -> None:
    edit.setFocus()
    edit.selectAll()
    if text:
        qtbot.keyClicks(edit, text)
    else:
        qtbot.keyClick(edit, Key.Key_Delete)
    qtbot.keyClick(edit, key)


def press_button(qtbot: QtBot, place: QWidget, name: str) -> None:
    button = place.findChild(QPushButton, name)
    assert isinstance(button, QPushButton), name
    qtbot.mouseClick(button, Qt.MouseButton.LeftButton)


def trigger(window: Window, key: str) -> None:
    action = window.findChild(QAction, key)
    assert isinstance(action, QAction), key
    assert action.isEnabled(), key
    action.trigger()


def test_a_number_is_typed_kept_and_undone(window: Window, place: ShopPlace, qtbot: QtBot) -> None:
    before = shop_of(place)
    type_in(qtbot, edit_of(place, "crew_seconds"), "4.5")
    assert shop_of(place).presses[0].crew_seconds == 4.5
    assert place.model.book.undo.undoText() == "change Crew needs of Long bench"
    qtbot.keyClick(edit_of(place, "crew_seconds"), Key.Key_Z, Qt.KeyboardModifier.ControlModifier)
    assert shop_of(place) == before
    qtbot.waitUntil(lambda: edit_of(place, "crew_seconds").text() == "6")
    trigger(window, "app.action.redo")
    assert shop_of(place).presses[0].crew_seconds == 4.5


def test_an_invalid_value_is_told_at_the_field_and_nothing_is_lost(place: ShopPlace, qtbot: QtBot) -> None:
    before = shop_of(place)
    type_in(qtbot, edit_of(place, "stations"), "101", Key.Key_Tab)
    assert shop_of(place) == before
    assert fault_of(place, "stations").text() == "Stations: must be 2 to 100. In force: 12."
    assert fault_of(place, "stations").isVisible()
    place.choose(1)
    assert not fault_of(place, "stations").isVisible()
    place.choose(0)
    assert edit_of(place, "stations").text() == "101"
    assert fault_of(place, "stations").isVisible()
    edit = edit_of(place, "stations")
    type_in(qtbot, edit, "10")
    assert not fault_of(place, "stations").isVisible()
    assert shop_of(place).presses[0].stations == 10
    assert shop_of(place).presses[0].unload == 10


def test_what_was_typed_outlives_an_edit_of_something_else_and_its_undoing(
    window: Window, place: ShopPlace, qtbot: QtBot
) -> None:
    type_in(qtbot, edit_of(place, "stations"), "101", Key.Key_Tab)
    line = place.line
    qtbot.mouseClick(line, Qt.MouseButton.LeftButton, pos=line.cell(5, HEADS).center())
    assert 5 not in shop_of(place).presses[0].heads
    assert edit_of(place, "stations").text() == "101"
    assert fault_of(place, "stations").isVisible()
    trigger(window, "app.action.undo")
    place.refresh()
    assert shop_of(place) == example_shop()
    assert edit_of(place, "stations").text() == "101"
    assert fault_of(place, "stations").isVisible()
    edit = edit_of(place, "stations")
    edit.setFocus()
    qtbot.keyClick(edit, Key.Key_Escape)
    place.refresh()
    assert edit.text() == "12"
    assert not fault_of(place, "stations").isVisible()


def test_escape_goes_back_to_the_value_in_force(place: ShopPlace, qtbot: QtBot) -> None:
    edit = edit_of(place, "index_seconds")
    edit.setFocus()
    edit.selectAll()
    qtbot.keyClicks(edit, "9")
    qtbot.keyClick(edit, Key.Key_Escape)
    assert edit.text() == "2"
    assert not place.model.book.undo.count()


def test_what_was_typed_outlives_another_language(window: Window, place: ShopPlace, qtbot: QtBot) -> None:
    type_in(qtbot, edit_of(place, "stations"), "x")
    place.model.prefer(language="es")
    again = window.places["shop"]
    assert isinstance(again, ShopPlace)
    qtbot.waitUntil(lambda: again.line.press is not None)
    assert edit_of(again, "stations").text() == "x"
    assert fault_of(again, "stations").text() == "Estaciones: debe ser un número entero. Vigente: 12."
    qtbot.waitUntil(lambda: not place.model.runner.running)


def test_arrows_step_a_number_as_one_edit(place: ShopPlace, qtbot: QtBot) -> None:
    edit = edit_of(place, "flash_units")
    edit.setFocus()
    for _ in range(3):
        qtbot.keyClick(edit, Key.Key_Up)
    assert shop_of(place).presses[0].flash_units == 5
    assert place.model.book.undo.count() == 1


def test_choices_ticks_and_pairs(place: ShopPlace, qtbot: QtBot) -> None:
    combo = place.stack.currentWidget().findChild(QComboBox, "edit-cooling")
    assert isinstance(combo, QComboBox)
    combo.setFocus()
    qtbot.keyClick(combo, Key.Key_Down)
    assert shop_of(place).presses[0].cooling == "required"
    wide = next(e for e in place.stack.currentWidget().findChildren(QLineEdit) if "width" in e.accessibleName())
    type_in(qtbot, wide, "23")
    assert shop_of(place).presses[0].frame_mm == (584.2, 787.0)
    place.show_section(Section.INKS)
    place.choose(2)
    box = place.stack.currentWidget().findChild(QCheckBox, "edit-low_bleed")
    assert isinstance(box, QCheckBox)
    assert box.isChecked()
    qtbot.keyClick(box, Key.Key_Space)
    assert not shop_of(place).inks[2].low_bleed


def test_a_colour_is_typed_or_picked(place: ShopPlace, qtbot: QtBot, monkeypatch: pytest.MonkeyPatch) -> None:
    place.show_section(Section.INKS)
    type_in(qtbot, edit_of(place, "colour"), "mauvish")
    assert "mauvish" in fault_of(place, "colour").text()
    type_in(qtbot, edit_of(place, "colour"), "teal")
    assert shop_of(place).inks[0].colour == "teal"
    monkeypatch.setattr(dialogs, "ask_colour", lambda parent, title, now: "#123456")
    press_button(qtbot, place.stack.currentWidget(), "pick-colour")
    assert shop_of(place).inks[0].colour == "#123456"
    type_in(qtbot, edit_of(place, "colour"), "")
    assert shop_of(place).inks[0].colour is None


def test_lengths_and_mesh_follow_the_persons_units(window: Window, place: ShopPlace, qtbot: QtBot) -> None:
    place.show_section(Section.SCREENS)
    assert edit_of(place, "mesh_per_cm").text() == "25"
    type_in(qtbot, edit_of(place, "mesh_per_cm"), "61")
    assert shop_of(place).screens[0].mesh_per_cm == 24
    place.show_section(Section.POLICIES)
    combo = place.stack.currentWidget().findChild(QComboBox, "edit-units")
    assert isinstance(combo, QComboBox)
    combo.setFocus()
    qtbot.keyClick(combo, Key.Key_Down)
    assert shop_of(place).policies.units == "metric"
    place.show_section(Section.SCREENS)
    qtbot.waitUntil(lambda: edit_of(place, "mesh_per_cm").text() == "24")


def test_a_source_is_shown_and_given(place: ShopPlace, qtbot: QtBot) -> None:
    source = place.stack.currentWidget().findChild(QLineEdit, "source-index_seconds")
    assert isinstance(source, QLineEdit)
    assert source.text() == "from memory: 1.5 to 2.5 s"
    type_in(qtbot, edit_of(place, "index_seconds"), "2.4")
    qtbot.waitUntil(lambda: source.text() == "")
    type_in(qtbot, source, "timed on Monday")
    assert shop_of(place).presses[0].sources["index_seconds"] == "timed on Monday"


# ---------------------------------------------------------------- the list


def test_entries_are_added_copied_moved_and_removed_by_buttons_and_keys(
    window: Window, place: ShopPlace, qtbot: QtBot
) -> None:
    press_button(qtbot, place, "entry-add")
    assert shop_of(place).presses[3].name == "New press"
    assert place.at == 3
    type_in(qtbot, edit_of(place, "name"), "Old faithful")
    assert shop_of(place).presses[3].name == "Old faithful"
    trigger(window, "place_shop.action.copy")
    assert [p.name for p in shop_of(place).presses][3:] == ["Old faithful", "Old faithful 2"]
    trigger(window, "place_shop.action.up")
    assert [p.name for p in shop_of(place).presses][3:] == ["Old faithful 2", "Old faithful"]
    place.list.setFocus()
    qtbot.keyClick(place.list, Key.Key_Delete)
    assert [p.name for p in shop_of(place).presses][3:] == ["Old faithful"]
    qtbot.keyClick(place.list, Key.Key_Home)
    assert place.at == 0
    for _ in range(5):
        trigger(window, "app.action.undo")
    assert shop_of(place) == example_shop()


def test_entries_are_searched(place: ShopPlace, qtbot: QtBot) -> None:
    place.show_section(Section.INKS)
    qtbot.keyClicks(place.search, "base pla")
    assert [each.name for each in place.list.entries.shown] == ["white base", "low-bleed white"]
    qtbot.keyClicks(place.search, "xx")
    assert place.nothing.text() == "Nothing found."
    place.search.clear()
    assert len(place.list.entries.shown) == len(shop_of(place).inks)


def test_the_last_entry_of_a_kind_may_go(place: ShopPlace, qtbot: QtBot) -> None:
    place.show_section(Section.FLASH_UNITS)
    press_button(qtbot, place, "entry-remove")
    assert shop_of(place).flash_units == ()
    assert place.stack.currentWidget() is place.empty
    assert place.nothing.text() == "Nothing here yet. Add one."
    press_button(qtbot, place, "entry-add")
    assert len(shop_of(place).flash_units) == 1
    assert place.stack.currentWidget() is not place.empty


def test_kinds_are_gone_through_by_keyboard(place: ShopPlace, qtbot: QtBot) -> None:
    place.kinds.setFocus()
    for section in list(Section)[1:]:
        qtbot.keyClick(place.kinds, Key.Key_Down)
        assert place.section is section
        assert place.stack.currentWidget() is not place.empty
    assert place.kinds.item(0).text() == "Presses  3"


def test_the_list_is_a_sound_model(qtbot: QtBot) -> None:
    made = EntryModel()
    tester = QAbstractItemModelTester(made, QAbstractItemModelTester.FailureReportingMode.Fatal)
    rng = random.Random(3)
    for _ in range(50):
        made.put([Shown(at, rng.choice("abc"), "x") for at in range(rng.randrange(6))])
    assert tester.model() is made


# ---------------------------------------------------------------- the unrolled press


def test_heads_and_slots_are_toggled_by_mouse(place: ShopPlace, qtbot: QtBot) -> None:
    line = place.line
    qtbot.mouseClick(line, Qt.MouseButton.LeftButton, pos=line.cell(5, HEADS).center())
    assert shop_of(place).presses[0].heads == (2, 3, 4, 6, 7, 8, 9, 10, 11)
    qtbot.waitUntil(lambda: edit_of(place, "heads").text() == "2-4, 6-11")
    qtbot.mouseClick(line, Qt.MouseButton.LeftButton, pos=line.cell(5, SLOTS).center())
    assert shop_of(place).presses[0].flash_slots == (3, 4, 5, 6, 8, 10)
    assert line.told(5) == "Station 5: no head, flash slot"
    assert line.told(1) == "Station 1: load"
    qtbot.mouseClick(line, Qt.MouseButton.LeftButton, pos=line.cell(1, HEADS).center())
    qtbot.mouseClick(line, Qt.MouseButton.LeftButton, pos=QPoint(2, 2))
    assert place.model.book.undo.count() == 2


def test_heads_and_slots_are_toggled_by_keyboard(place: ShopPlace, qtbot: QtBot) -> None:
    line = place.line
    line.setFocus()
    for _ in range(3):
        qtbot.keyClick(line, Key.Key_Right)
    assert line.station == 4
    qtbot.keyClick(line, Key.Key_F)
    assert shop_of(place).presses[0].flash_slots == (3, 6, 8, 10)
    qtbot.keyClick(line, Key.Key_O)
    assert shop_of(place).presses[0].out_of_service == (4,)
    assert "out of service" in line.accessibleDescription() or "out of service" in line.told(4)
    qtbot.keyClick(line, Key.Key_H)
    assert 4 not in shop_of(place).presses[0].heads
    assert shop_of(place).presses[0].out_of_service == ()
    qtbot.keyClick(line, Key.Key_Space)
    assert 4 in shop_of(place).presses[0].heads


def test_the_last_head_stays_and_it_is_said_why(place: ShopPlace, qtbot: QtBot) -> None:
    type_in(qtbot, edit_of(place, "heads"), "3")
    line = place.line
    line.setFocus()
    qtbot.keyClick(line, Key.Key_Home)
    qtbot.keyClick(line, Key.Key_Right)
    qtbot.keyClick(line, Key.Key_Right)
    qtbot.keyClick(line, Key.Key_H)
    assert shop_of(place).presses[0].heads == (3,)
    assert "a press needs at least one" in place.line_fault.text()
    assert place.line_fault.isVisible()


# ---------------------------------------------------------------- decisions


def test_a_decision_is_switched_off_written_and_taken_back(place: ShopPlace, qtbot: QtBot) -> None:
    place.show_section(Section.DECISIONS)
    rows = decision_rows.rows(shop_of(place))
    place.choose(next(at for at, row in enumerate(rows) if row.id == "ink-system-unknown"))
    form = place.decision

    def radio(state: State) -> QRadioButton:
        found = form.findChild(QRadioButton, f"state-{state}")
        assert isinstance(found, QRadioButton)
        return found

    qtbot.mouseClick(radio(State.OFF), Qt.MouseButton.LeftButton)
    assert shop_of(place).policies.decisions_off == ("ink-system-unknown",)
    qtbot.waitUntil(lambda: not form.own.isVisible())
    radio(State.OFF).setFocus()
    qtbot.keyClick(radio(State.OFF), Key.Key_Right)
    assert shop_of(place).decisions[0].suggest == "plastisol"
    qtbot.waitUntil(form.own.isVisible)
    form.suggest.setFocus()
    qtbot.keyClick(form.suggest, Key.Key_Down)
    assert shop_of(place).decisions[0].suggest == "water-based"
    form.reason.setFocus()
    form.reason.selectAll()
    qtbot.keyClicks(form.reason, "soft hand is what we sell")
    qtbot.keyClick(form.reason, Key.Key_Tab)
    assert shop_of(place).decisions[0].reason == "soft hand is what we sell"
    form.reason.setFocus()
    form.reason.selectAll()
    qtbot.keyClick(form.reason, Key.Key_Delete)
    qtbot.keyClick(form.reason, Key.Key_Tab)
    assert form.fault.text() == "Because: must not be empty"
    assert shop_of(place).decisions[0].reason == "soft hand is what we sell"
    qtbot.mouseClick(radio(State.SHIPPED), Qt.MouseButton.LeftButton)
    assert shop_of(place) == example_shop()


# ---------------------------------------------------------------- keeping


def test_every_edit_is_kept_within_half_a_second(window: Window, place: ShopPlace, qtbot: QtBot) -> None:
    own, said = shop_book_path(), []
    place.model.told.connect(said.append)
    assert not own.exists()
    assert place.status() == "the example, invented"
    type_in(qtbot, edit_of(place, "crew_seconds"), "4.5")
    began = time.monotonic()
    qtbot.waitUntil(own.exists, timeout=2000)
    assert time.monotonic() - began < 0.5
    qtbot.waitUntil(lambda: place.model.book.kept)
    assert read_shop(own).presses[0].crew_seconds == 4.5
    assert said == [f"This is your own shop book now, kept in {own}."]
    type_in(qtbot, edit_of(place, "crew_seconds"), "5")
    qtbot.waitUntil(lambda: place.model.book.kept)
    assert read_shop(own).presses[0].crew_seconds == 5
    assert read_shop(own.with_name("shop.toml.last")).presses[0].crew_seconds == 4.5
    assert place.status() == "Tidewater Print Room, 3 presses"
    assert window.list.buttons["shop"].accessibleDescription() == place.status()
    qtbot.waitUntil(lambda: "Your own shop book" in place.state.text())


def test_an_edit_just_before_the_window_closes_is_kept(window: Window, place: ShopPlace, qtbot: QtBot) -> None:
    type_in(qtbot, edit_of(place, "crew_seconds"), "4.5")
    window.close()
    assert read_shop(shop_book_path()).presses[0].crew_seconds == 4.5


def test_a_disk_that_refuses_is_told_and_the_edit_stays(
    place: ShopPlace, qtbot: QtBot, monkeypatch: pytest.MonkeyPatch
) -> None:
    from setupassist.desk import keeping

    def refuse(path: Path, shop: Shop) -> None:
        raise OSError(28, "No space left on device", str(path))

    with monkeypatch.context() as patched:
        patched.setattr(keeping, "write_shop", refuse)
        type_in(qtbot, edit_of(place, "crew_seconds"), "4.5")
        qtbot.waitUntil(lambda: bool(place.model.book.trouble))
    qtbot.waitUntil(place.again.isVisible)
    assert place.status() == "not kept on disk"
    assert shop_of(place).presses[0].crew_seconds == 4.5
    press_button(qtbot, place, "shop-again")
    qtbot.waitUntil(lambda: place.model.book.kept)
    assert read_shop(shop_book_path()).presses[0].crew_seconds == 4.5


def test_the_open_job_is_planned_again(opened: Window, qtbot: QtBot, at_rest: At_rest) -> None:
    before = opened.model.results.made
    opened.go("shop")
    place = opened.places["shop"]
    assert isinstance(place, ShopPlace)
    qtbot.waitUntil(lambda: place.line.press is not None)
    place.show_section(Section.POLICIES)
    place.choose(1)
    type_in(qtbot, edit_of(place, "tests"), "20")
    at_rest()
    after = opened.model.results.made
    assert before is not None
    assert after is not None
    assert after is not before
    assert opened.model.undo.count() == 0


# ---------------------------------------------------------------- whole books


def test_a_book_is_imported_and_exported(
    place: ShopPlace, qtbot: QtBot, monkeypatch: pytest.MonkeyPatch, tmp_path: Path, at_rest: At_rest
) -> None:
    window = place.window()
    assert isinstance(window, Window)
    other = example_shop().model_copy(update={"name": "Quay Prints", "inks": ()})
    file = tmp_path / "quay.toml"
    write_shop(file, other)
    monkeypatch.setattr(dialogs, "ask_book", lambda parent, model: file)
    trigger(window, "place_shop.action.import")
    qtbot.waitUntil(lambda: shop_of(place).name == "Quay Prints")
    assert shop_of(place) == other
    assert place.model.book.undo.undoText() == "import quay.toml"
    target = tmp_path / "out.toml"
    monkeypatch.setattr(dialogs, "ask_target", lambda parent, title, suggested, kind: target)
    press_button(qtbot, place, "shop-export")
    qtbot.waitUntil(target.exists)
    at_rest()
    assert read_shop(target) == other
    trigger(window, "place_shop.action.example")
    assert shop_of(place) == example_shop()
    trigger(window, "app.action.undo")
    trigger(window, "app.action.undo")
    assert shop_of(place) == example_shop()


def test_every_fault_of_a_damaged_book_is_told(
    place: ShopPlace, qtbot: QtBot, monkeypatch: pytest.MonkeyPatch, tmp_path: Path, at_rest: At_rest
) -> None:
    file = tmp_path / "damaged.toml"
    text = shop_bytes(example_shop()).decode()
    text = text.replace("stations = 12", "stations = 1").replace('units = "inch"', 'unitz = "inch"')
    file.write_text(text.replace('paper = "letter"', 'paper = "foolscap"'), "utf-8")
    monkeypatch.setattr(dialogs, "ask_book", lambda parent, model: file)
    before = shop_of(place)
    press_button(qtbot, place, "shop-import")
    qtbot.waitUntil(place.faults.isVisible)
    told = [label.text() for label in place.faults.findChildren(QLabel)]
    assert told[0] == "The book was not imported"
    assert any("stations" in each and "at least 2" in each for each in told)
    assert any("unitz" in each and "did you mean" in each for each in told)
    assert any("foolscap" in each for each in told)
    assert shop_of(place) == before
    press_button(qtbot, place, "shop-understood")
    assert not place.faults.isVisible()
    at_rest()


def test_no_file_chosen_changes_nothing(place: ShopPlace, qtbot: QtBot, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(dialogs, "ask_book", lambda parent, model: None)
    monkeypatch.setattr(dialogs, "ask_target", lambda parent, title, suggested, kind: None)
    press_button(qtbot, place, "shop-import")
    press_button(qtbot, place, "shop-export")
    assert shop_of(place) == example_shop()


def test_the_shop_is_renamed(place: ShopPlace, qtbot: QtBot) -> None:
    type_in(qtbot, place.name, "Quay Prints")
    assert shop_of(place).name == "Quay Prints"
    type_in(qtbot, place.name, " ")
    assert shop_of(place).name == "Quay Prints"
    assert place.name.text() == "Quay Prints"


def test_another_file_is_edited_where_one_is_named(qapp: object, qtbot: QtBot, tmp_path: Path) -> None:
    file = tmp_path / "mine.toml"
    write_shop(file, example_shop())
    model = DeskModel(read_shop(file), shop_file=file)
    window = Window(model)
    window.show()
    window.go("shop")
    place = window.places["shop"]
    assert isinstance(place, ShopPlace)
    qtbot.waitUntil(lambda: place.line.press is not None)
    assert str(file) in place.state.text()
    type_in(qtbot, edit_of(place, "crew_seconds"), "4.5")
    qtbot.waitUntil(lambda: model.book.kept)
    assert read_shop(file).presses[0].crew_seconds == 4.5
    assert not shop_book_path().exists()
    window.close()
    window.deleteLater()
    model.deleteLater()


# ---------------------------------------------------------------- any edits


@pytest.mark.parametrize("seed", [1, 2])
def test_random_edits_are_undone_to_the_start_and_redone_to_the_end(
    place: ShopPlace, qtbot: QtBot, seed: int, at_rest: At_rest
) -> None:
    rng, book = random.Random(seed), place.model.book
    states = [shop_of(place)]
    for _ in range(40):
        place.show_section(rng.choice(list(LISTS)))
        place.choose(rng.randrange(max(1, place._many())))
        kind = rng.choice(["value", "value", "value", "add", "copy", "remove", "move"])
        if kind == "value" and place.at >= 0:
            form = place.stack.currentWidget()
            row = rng.choice([r for r in form.rows.values() if r.field.kind is not FieldKind.YES_NO])  # type: ignore[attr-defined]
            lines = row._lines()
            if lines:
                type_in(qtbot, lines[0], rng.choice(["3", "2.5", "x", "", "12", "100000", "teal"]))
        elif kind == "move":
            place.shift(rng.choice([-1, 1]))
        elif kind != "value":
            getattr(place, kind)()
        if shop_of(place) != states[-1]:
            states.append(shop_of(place))
    assert len(states) > 10
    while book.undo.canUndo():
        book.undo.undo()
    assert shop_of(place) == states[0]
    while book.undo.canRedo():
        book.undo.redo()
    assert shop_of(place) == states[-1]
    qtbot.waitUntil(lambda: book.kept)
    assert read_shop(shop_book_path()) == states[-1]
    at_rest()


def test_what_is_being_typed_outlives_what_comes_in_meanwhile(place: ShopPlace, qtbot: QtBot) -> None:
    edit = edit_of(place, "crew_seconds")
    edit.setFocus()
    edit.selectAll()
    qtbot.keyClicks(edit, "4.")
    place.refresh()
    assert edit.text() == "4."
    qtbot.keyClicks(edit, "5")
    qtbot.keyClick(edit, Key.Key_Return)
    assert shop_of(place).presses[0].crew_seconds == 4.5
    place.show_section(Section.DECISIONS)
    place.model.book.edit(decision_rows.switch(shop_of(place), decision_rows.rows(shop_of(place))[0], State.OWN))
    place.choose(0)
    form = place.decision
    form.reason.setFocus()
    form.reason.selectAll()
    qtbot.keyClicks(form.reason, "so we do")
    place.refresh()
    assert form.reason.toPlainText() == "so we do"
    qtbot.keyClick(form.reason, Key.Key_Tab)
    assert shop_of(place).decisions[0].reason == "so we do"


def test_a_book_that_cannot_be_read_is_kept_beside_at_the_first_change(qapp: object, qtbot: QtBot) -> None:
    own = shop_book_path()
    own.parent.mkdir(parents=True)
    own.write_text("this is = no book [", "utf-8")
    model = DeskModel(example_shop())
    model.book.damaged = True
    said: list[str] = []
    model.told.connect(said.append)
    window = Window(model)
    window.show()
    window.go("shop")
    place = window.places["shop"]
    assert isinstance(place, ShopPlace)
    qtbot.waitUntil(lambda: place.line.press is not None)
    assert "cannot be read" in place.state.text()
    assert "cannot be read" in place.status()
    type_in(qtbot, edit_of(place, "crew_seconds"), "4.5")
    qtbot.waitUntil(lambda: model.book.kept)
    assert read_shop(own).presses[0].crew_seconds == 4.5
    assert own.with_name("shop.toml.kept").read_text("utf-8") == "this is = no book ["
    assert any("kept beside as shop.toml.kept" in each for each in said)
    window.close()
    window.deleteLater()
    model.deleteLater()
