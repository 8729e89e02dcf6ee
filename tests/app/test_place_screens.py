"""The place of screens and inks by keyboard and mouse, on the real window."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest
from PySide6.QtCore import QPoint, Qt
from PySide6.QtGui import QAction
from PySide6.QtWidgets import QApplication, QComboBox, QLineEdit, QWidget
from pytestqt.modeltest import ModelTester
from pytestqt.qtbot import QtBot

from setupassist.app.grid import Grid
from setupassist.app.places.screens import ScreensPlace
from setupassist.app.selection import Of, Selection
from setupassist.app.window import Window
from setupassist.desk.screen_rows import COLUMNS, DETAILS

Wait = Callable[[], None]
Key = Qt.Key


@pytest.fixture
def place(opened: Window, qtbot: QtBot) -> ScreensPlace:
    """The place, open, with the small job worked out."""
    opened.go("screens")
    found = opened.places["screens"]
    assert isinstance(found, ScreensPlace)
    qtbot.waitUntil(lambda: len(found.screens.grid.rows) == 4)
    return found


def walk_to(grid: Grid, key: str, column: int) -> None:
    """Makes a cell current by arrow keys."""
    from PySide6.QtTest import QTest

    grid.setFocus()
    for _ in range(40):
        now = grid.currentIndex()
        keys = [row.key for row in grid.grid.rows]
        wanted = keys.index(key)
        if now.row() == wanted and now.column() == column:
            return
        if now.row() != wanted:
            QTest.keyClick(grid, Key.Key_Down if now.row() < wanted else Key.Key_Up)
        else:
            QTest.keyClick(grid, Key.Key_Right if now.column() < column else Key.Key_Left)
    raise AssertionError(f"{key} is not reached by arrows")


def editor(grid: Grid) -> QWidget:
    found = [w for kind in (QComboBox, QLineEdit) for w in grid.viewport().findChildren(kind) if w.isVisible()]
    assert found, "no editor is open"
    return found[0]


def enter(field: QWidget) -> None:
    """Return in an editor; the editor is left after the events in hand."""
    from PySide6.QtTest import QTest

    QTest.keyClick(field, Key.Key_Return)
    QApplication.processEvents()


def shown(grid: Grid, key: str, column: int) -> tuple[str, str]:
    cell = next(row for row in grid.grid.rows if row.key == key).cells[column]
    return cell.text, cell.mark


def test_strokes_are_typed_over_by_keyboard_marked_and_taken_back(
    place: ScreensPlace, qtbot: QtBot, at_rest: Wait
) -> None:
    at = COLUMNS.index("strokes")
    before = place.model.job
    walk_to(place.screens, "red", at)
    qtbot.keyClick(place.screens, Key.Key_Return)
    field = editor(place.screens)
    assert isinstance(field, QLineEdit)
    assert field.text() == "1"
    qtbot.keyClicks(field, "3")
    enter(field)
    assert place.model.job.overrides["red"].strokes == 3
    assert place.model.undo.undoText() == "overrule red"
    qtbot.waitUntil(lambda: shown(place.screens, "red", at) == ("3", "by hand"))
    at_rest()
    assert shown(place.screens, "red", at) == ("3", "by hand")
    assert place.screens.key == "red"
    assert place.status() == "4 screens, all in stock; 1 value by hand"
    qtbot.keyClick(place.screens, Key.Key_Backspace)
    assert place.model.job == before
    at_rest()
    assert shown(place.screens, "red", at) == ("1", "t")


def test_escape_leaves_a_value_as_it_was(place: ScreensPlace, qtbot: QtBot, at_rest: Wait) -> None:
    before = place.model.job
    walk_to(place.screens, "yellow", COLUMNS.index("off-contact"))
    qtbot.keyClick(place.screens, Key.Key_F2)
    qtbot.keyClicks(editor(place.screens), "9")
    qtbot.keyClick(editor(place.screens), Key.Key_Escape)
    assert place.model.job == before
    at_rest()


def test_typing_begins_to_edit_and_a_fault_is_told(place: ScreensPlace, qtbot: QtBot, at_rest: Wait) -> None:
    said: list[str] = []
    place.model.told.connect(said.append)
    before = place.model.job
    walk_to(place.screens, "yellow", COLUMNS.index("strokes"))
    qtbot.keyClick(place.screens, "4")
    field = editor(place.screens)
    assert isinstance(field, QLineEdit)
    field.setText("many")
    enter(field)
    assert place.model.job == before
    assert said == ["'many' is no number"]
    qtbot.keyClick(place.screens, Key.Key_Return)
    field = editor(place.screens)
    assert isinstance(field, QLineEdit)
    field.setText("12")
    enter(field)
    assert place.model.job == before
    assert "strokes" in said[-1]
    at_rest()


def test_a_mesh_is_chosen_from_the_stock_by_keyboard(place: ScreensPlace, qtbot: QtBot, at_rest: Wait) -> None:
    at = COLUMNS.index("mesh")
    walk_to(place.screens, "red", at)
    qtbot.keyClick(place.screens, Key.Key_Return)
    box = editor(place.screens)
    assert isinstance(box, QComboBox)
    found = next(i for i in range(box.count()) if box.itemText(i).startswith("305 per inch"))
    assert " left" in box.itemText(found)
    assert box.count() == len(place.model.desk.shop.screens)
    while box.currentIndex() < found:
        qtbot.keyClick(box, Key.Key_Down)
    enter(box)
    own = place.model.job.overrides["red"]
    stock = next(s for s in place.model.desk.shop.screens if s.mesh_per_cm == 120)
    assert (own.mesh_per_inch, own.thread_um) == (305, stock.thread_um)
    at_rest()
    assert shown(place.screens, "red", at) == ("305", "by hand")
    assert "red" in {row.cells[0].text: row.cells[3].text for row in place.stock.grid.rows}["305"]


def test_a_mesh_is_typed(place: ScreensPlace, qtbot: QtBot, at_rest: Wait) -> None:
    walk_to(place.screens, "red", COLUMNS.index("mesh"))
    qtbot.keyClick(place.screens, Key.Key_Return)
    box = editor(place.screens)
    assert isinstance(box, QComboBox)
    line = box.lineEdit()
    assert line is not None
    qtbot.keyClicks(line, "77 cm")
    enter(box)
    assert place.model.job.overrides["red"].mesh_per_inch == 195
    at_rest()
    assert shown(place.screens, "red", COLUMNS.index("mesh"))[0] == "195"


def test_a_mesh_that_is_not_in_stock_is_said(place: ScreensPlace, at_rest: Wait) -> None:
    assert place.faults.isHidden()
    cell = next(row for row in place.screens.grid.rows if row.key == "red").cells[COLUMNS.index("mesh")]
    assert place.screens.grid.typed(cell, "500")
    at_rest()
    assert place.faults.text().startswith("No stock screen fits red. The entered mesh is not in stock.")
    assert place.faults.isVisible()
    assert place.status().startswith("4 screens, 1 without stock")


def test_a_detail_is_typed_over_by_mouse(place: ScreensPlace, qtbot: QtBot, at_rest: Wait) -> None:
    walk_to(place.screens, "black key", 1)
    assert place.heads["chosen"].text() == "All values of black key"
    row = next(i for i, r in enumerate(place.details.grid.rows) if r.cells[0].text == "squeegee angle")
    index = place.details.grid.index(row, DETAILS.index("value"))
    place.below.ensureWidgetVisible(place.details)
    spot = place.details.visualRect(index).center()
    qtbot.mouseClick(place.details.viewport(), Qt.MouseButton.LeftButton, pos=spot)
    qtbot.mouseDClick(place.details.viewport(), Qt.MouseButton.LeftButton, pos=spot)
    field = editor(place.details)
    assert isinstance(field, QLineEdit)
    assert field.text() == "75"
    field.setText("70")
    enter(field)
    assert place.model.job.overrides["black key"].squeegee_angle_deg == 70
    at_rest()
    cells = place.details.grid.rows[row].cells
    assert [cell.text for cell in cells[1:3]] == ["70° from the screen (20° from vertical)", "by hand"]


def test_flash_seconds_are_typed(place: ScreensPlace, qtbot: QtBot, at_rest: Wait) -> None:
    walk_to(place.flashes, "3", 1)
    qtbot.keyClick(place.flashes, Key.Key_Return)
    field = editor(place.flashes)
    assert isinstance(field, QLineEdit)
    field.setText("6.5 s")
    enter(field)
    assert place.model.job.flash_seconds == {3: 6.5}
    at_rest()
    assert place.flashes.grid.rows[0].cells[1].text == "from 6.5 s"
    assert place.model.selection == Selection(Of.STATION, station=3)
    qtbot.keyClick(place.flashes, Key.Key_Delete)
    assert place.model.job.flash_seconds == {}
    at_rest()


def test_the_selection_follows_and_is_followed(place: ScreensPlace, qtbot: QtBot) -> None:
    assert place.model.selection == Selection(Of.SCREEN, "white base", 2, 1)
    walk_to(place.screens, "red", 1)
    assert place.model.selection == Selection(Of.SCREEN, "red", 6, 1)
    place.model.select(Selection(Of.SCREEN, "black key", 7, 1))
    assert place.screens.key == "black key"
    assert place.heads["chosen"].text() == "All values of black key"
    rect = place.screens.visualRect(place.screens.grid.index(1, 1))
    qtbot.mouseClick(place.screens.viewport(), Qt.MouseButton.LeftButton, pos=rect.center())
    assert place.model.selection.name == "yellow"


def test_a_whole_screen_goes_back_to_computed(opened: Window, place: ScreensPlace, at_rest: Wait) -> None:
    from setupassist.desk import edits

    before = place.model.job
    place.model.edit(edits.overrule(place.model.job, "red", strokes=2, tension_n_per_cm=30))
    at_rest()
    walk_to(place.screens, "red", 0)
    action = opened.findChild(QAction, "place_screens.action.take-all-back")
    assert action.isEnabled()
    action.trigger()
    assert place.model.job == before
    at_rest()


def test_what_is_being_edited_survives_a_plan_that_comes_in(place: ScreensPlace, qtbot: QtBot, at_rest: Wait) -> None:
    from setupassist.desk import edits

    place.model.edit(edits.pieces(place.model.job, 500))
    walk_to(place.screens, "red", COLUMNS.index("strokes"))
    qtbot.keyClick(place.screens, Key.Key_Return)
    field = editor(place.screens)
    assert isinstance(field, QLineEdit)
    qtbot.keyClicks(field, "2")
    at_rest()
    assert editor(place.screens) is field
    assert field.text() == "2"
    enter(field)
    assert place.model.job.overrides["red"].strokes == 2
    at_rest()


def test_narrow_windows_keep_what_matters_most(opened: Window, place: ScreensPlace, qtbot: QtBot) -> None:
    opened.resize(1100, 700)
    opened.model.prefer(text_percent=150)
    opened.resize(1100, 700)
    now = opened.places["screens"]
    assert isinstance(now, ScreensPlace)
    qtbot.waitUntil(lambda: bool(now.screens.grid.rows))
    hidden = {name for at, name in enumerate(COLUMNS) if now.screens.isColumnHidden(at)}
    assert "role" in hidden
    assert not hidden & {"station", "screen", "mesh", "strokes"}


def test_sixteen_screens_scroll_and_the_walk_stays_in_view(
    window: Window, write_job: Callable[..., Path], at_rest: Wait, qtbot: QtBot
) -> None:
    names = [f"ink {at:02d}" for at in range(16)]
    art = {"source": "figures", "width_mm": 320, "height_mm": 340, "art_box_mm": [10, 10, 300, 320]}
    plates = [{"name": name, "role": "colour", "lab": [90 - 5 * at, 0, 0], "ink_area_cm2": 30}
              for at, name in enumerate(names)]  # fmt: skip
    figures = {"art": art, "plates": plates, "contacts": []}
    press = {"name": "twenty", "stations": 20, "load": 1, "unload": 20, "heads": list(range(2, 20))}
    window.open([write_job(plates=figures, press=press, on_top=[], answers={"base": "none"})])
    window.resize(1100, 700)
    at_rest()
    window.go("screens")
    place = window.places["screens"]
    assert isinstance(place, ScreensPlace)
    qtbot.waitUntil(lambda: len(place.screens.grid.rows) == 16)
    assert place.screens.height() < 16 * place.look.px(28)
    place.screens.setFocus()
    for _ in range(15):
        qtbot.keyClick(place.screens, Key.Key_Down)
    rect = place.screens.visualRect(place.screens.currentIndex())
    assert place.screens.currentIndex().row() == 15
    assert place.screens.viewport().rect().contains(rect.center())
    assert place.below.height() >= place.look.px(100)


def test_a_clash_is_told_instead_of_screens(opened: Window, place: ScreensPlace, at_rest: Wait) -> None:
    from setupassist.desk import edits

    opened.model.edit(edits.pin(opened.model.job, "red", 5))
    opened.model.edit(edits.keep_empty(opened.model.job, 5, True))
    at_rest()
    assert place.screens.isHidden()
    assert "no plan exists; these limits clash" in place.state.text()
    opened.model.undo.undo()
    at_rest()
    assert place.screens.isVisible()
    assert place.state.isHidden()


def test_the_tables_are_sound_models(place: ScreensPlace, qtmodeltester: ModelTester) -> None:
    for grid in (place.screens, place.details, place.flashes, place.inks, place.stock):
        assert grid.grid.rowCount() > 0
        qtmodeltester.check(grid.grid)


def test_every_table_is_reached_by_tab_and_named(place: ScreensPlace, qtbot: QtBot) -> None:
    place.screens.setFocus()
    reached = [place.screens.accessibleName()]
    for _ in range(4):
        focus = QApplication.focusWidget()
        assert focus is not None
        qtbot.keyClick(focus, Key.Key_Tab)
        focus = QApplication.focusWidget()
        assert focus is not None
        reached.append(focus.accessibleName())
    assert reached == [
        "Screens, in the order in which they print", "All values of white base", "Inks to have ready", "Flash units",
        "Screens of the stock that this job takes",
    ]  # fmt: skip


def test_the_pointer_tells_a_cell_in_full(place: ScreensPlace) -> None:
    index = place.screens.grid.index(0, COLUMNS.index("mesh"))
    assert index.data(Qt.ItemDataRole.ToolTipRole) == "156 per inch, 61 per cm, computed"
    assert place.screens.indexAt(QPoint(5, 5)).isValid()
