"""The place of art by mouse and by keyboard: picture, plates, findings, what is wrong with the files."""

from __future__ import annotations

import threading
import time
from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest
from PIL import Image
from PySide6.QtCore import QPoint, QPointF, QRectF, Qt
from PySide6.QtGui import QColor, QImage, QWheelEvent
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication, QComboBox, QLineEdit, QWidget
from pytestqt.qtbot import QtBot

from setupassist.app import dialogs
from setupassist.app.art_marks import Mark
from setupassist.app.art_view import ArtView
from setupassist.app.grid import Grid
from setupassist.app.places.art import ArtPlace
from setupassist.app.selection import Of, Selection
from setupassist.app.window import Window
from setupassist.desk import edits, plate_rows
from setupassist.documents.measure import Finding, Measure
from setupassist.documents.terms import InkSystem, Role, Severity
from tests.app.conftest import SAMPLES
from tests.conftest import figures

AtRest = Callable[[], None]


def plates_in(folder: Path, *, dpi: int | None = 300, turned: bool = False) -> list[Path]:
    """A base, teal on half of it and a red block, one picture each."""
    folder.mkdir()
    paths = []
    for at, (name, columns) in enumerate([("white base", (50, 250)), ("teal", (150, 250)), ("red", (60, 120))], 1):
        ink = np.full((300, 300), 255, np.uint8)
        ink[50:250, slice(*columns)] = 0
        paths.append(folder / f"{at:02}-{name}.png")
        Image.fromarray(255 - ink if turned else ink).save(paths[-1], **({"dpi": (dpi, dpi)} if dpi else {}))
    return paths


def place_of(window: Window) -> ArtPlace:
    place = window.places["art"]
    assert isinstance(place, ArtPlace)
    return place


@pytest.fixture
def walk(window: Window, at_rest: AtRest) -> ArtPlace:
    """Lantern walk opened and worked out."""
    window.open([SAMPLES / "lantern-walk"])
    at_rest()
    return place_of(window)


def colour_at(view: ArtView, x_share: float, y_share: float) -> str:
    """Colour that is painted at a place of the picture."""
    place = view.place()
    at = QPointF(place.x() + x_share * place.width(), place.y() + y_share * place.height()).toPoint()
    return view.grab().toImage().pixelColor(at).name()


def label_of(view: ArtView, number: int) -> QRectF:
    """The box of a finding's first label in view."""
    return next(one.label for one in reversed(view.laid()) if one.mark.number == number and one.label is not None)


def column_of(place: ArtPlace, name: str) -> int:
    return plate_rows.COLUMNS.index(name)


def told(place: ArtPlace, ink: str, column: str) -> str:
    row = next(row for row in place.plates.grid.rows if row.key == ink)
    return row.cells[column_of(place, column)].whole


def editor(grid: Grid) -> QWidget:
    """The editor that is open in a table."""
    found = [w for w in grid.viewport().findChildren(QComboBox) if w.isVisible()]
    assert found, "no editor is open"
    return found[-1]


def enter(field: QWidget) -> None:
    """Return in an editor; it is left after the events in hand."""
    QTest.keyClick(field, Qt.Key.Key_Return)
    QApplication.processEvents()


def go_to(place: ArtPlace, ink: str, column: str) -> None:
    rows = [row.key for row in place.plates.grid.rows]
    place.plates.setFocus()
    place.plates.setCurrentIndex(place.plates.grid.index(rows.index(ink), column_of(place, column)))


def test_models_of_the_tables_keep_qts_rules(walk: ArtPlace, qtmodeltester) -> None:
    for grid in (walk.plates, walk.details, walk.findings):
        qtmodeltester.check(grid.grid)


def test_the_picture_is_the_art_on_its_cloth(window: Window, at_rest: AtRest, tmp_path: Path, qtbot: QtBot) -> None:
    plates_in(tmp_path / "set")
    window.open([tmp_path / "set"])
    at_rest()
    model, place = window.model, place_of(window)
    assert colour_at(place.view, 0.02, 0.02) == "#ffffff"
    model.edit(lambda: edits.garment(model.job, 0, colour="#1f2a44"))
    model.edit(lambda: edits.note_ink(model.job, "teal", colour="#15808a"))
    at_rest()
    qtbot.waitUntil(lambda: colour_at(place.view, 0.02, 0.02) == "#1f2a44", timeout=5000)
    assert colour_at(place.view, 0.7, 0.5) == "#15808a"
    assert place.picture.caption.text().startswith("garment, inks in print order")


def test_pictures_and_names_come_before_the_measures(
    window: Window, qtbot: QtBot, at_rest: AtRest, monkeypatch
) -> None:
    from setupassist import pipeline

    measure, go_on = pipeline.measure_job, []

    def slow(*args, progress, stop, **kwargs):
        progress(0.4)
        while not go_on and not stop():
            time.sleep(0.01)
        return measure(*args, progress=progress, stop=stop, **kwargs)

    monkeypatch.setattr(pipeline, "measure_job", slow)
    window.open([SAMPLES / "lantern-walk"])
    place = place_of(window)
    qtbot.waitUntil(lambda: place.view.image is not None, timeout=20_000)
    qtbot.waitUntil(lambda: "40 %" in place.state.text(), timeout=5000)
    assert told(place, "brick red", "role") == "colour"
    assert told(place, "brick red", "area") == "still being measured"
    assert place.status() == "5 plates, measuring"
    assert place.picture.caption.text().startswith("charcoal tee, inks light to dark")
    go_on.append(True)
    at_rest()
    assert not place.state.isVisible()
    assert told(place, "brick red", "area") == "110.3"
    assert place.status().startswith("5 plates")
    assert "measuring" not in place.status()
    assert place.picture.caption.text().startswith("charcoal tee, inks in print order")


def test_the_keyboard_steps_through_the_plates_and_back_to_the_garment(
    walk: ArtPlace, qtbot: QtBot, at_rest: AtRest
) -> None:
    together = walk.view.image
    walk.plates.setFocus()
    qtbot.keyClick(walk.plates, Qt.Key.Key_Down)
    at_rest()
    assert walk.picture.one_plate.isChecked()
    assert walk.picture.caption.text().startswith("straw yellow, plate 2 of 5")
    assert walk.model.selection == Selection(Of.INK, "straw yellow")
    film = walk.view.image
    assert film != together
    assert all(QColor(film.pixel(x, y)).saturation() == 0 for x in range(0, 1200, 40) for y in range(0, 1300, 40))
    qtbot.keyClick(walk.plates, Qt.Key.Key_T)
    at_rest()
    assert walk.picture.on_garment.isChecked()
    assert walk.view.image == together


def test_a_click_on_a_plate_selects_it_and_leaves_the_garment(walk: ArtPlace, qtbot: QtBot, at_rest: AtRest) -> None:
    rect = walk.plates.visualRect(walk.plates.grid.index(3, 0))
    qtbot.mouseClick(walk.plates.viewport(), Qt.MouseButton.LeftButton, pos=rect.center())
    assert walk.model.selection == Selection(Of.INK, "harbour blue")
    assert walk.picture.on_garment.isChecked()
    qtbot.mouseClick(walk.picture.one_plate, Qt.MouseButton.LeftButton)
    at_rest()
    assert walk.picture.caption.text().startswith("harbour blue, plate 4 of 5")


def test_the_garment_of_the_picture_is_chosen(walk: ArtPlace, qtbot: QtBot, at_rest: AtRest) -> None:
    assert [walk.picture.garment.itemText(at) for at in range(2)] == ["charcoal tee", "white tee"]
    dark = colour_at(walk.view, 0.01, 0.01)
    walk.picture.garment.setFocus()
    qtbot.keyClick(walk.picture.garment, Qt.Key.Key_Down)
    at_rest()
    assert (dark, colour_at(walk.view, 0.01, 0.01)) == ("#26282d", "#f7f6f2")


def test_a_role_is_edited_by_keyboard_marked_and_taken_back_with_one_key(
    walk: ArtPlace, qtbot: QtBot, at_rest: AtRest
) -> None:
    go_to(walk, "brick red", "role")
    qtbot.keyClick(walk.plates, Qt.Key.Key_Return)
    box = editor(walk.plates)
    assert isinstance(box, QComboBox)
    texts = [box.itemText(at) for at in range(box.count())]
    assert texts[0] == "as taken (colour)"
    for _ in range(texts.index("highlight") + 1):
        qtbot.keyClick(box, Qt.Key.Key_Down)
    enter(box)
    assert walk.model.job.plates[2].role is Role.HIGHLIGHT
    at_rest()
    assert told(walk, "brick red", "role") == "highlight, by hand"
    assert walk.model.undo.undoText() == "change brick red"
    walk.plates.setFocus()
    qtbot.keyClick(walk.plates, Qt.Key.Key_Backspace)
    at_rest()
    assert walk.model.job.plates[2].role is None
    assert told(walk, "brick red", "role") == "colour"
    walk.model.undo.undo()
    assert walk.model.job.plates[2].role is Role.HIGHLIGHT
    at_rest()


def test_a_colour_is_typed_chosen_and_refused(walk: ArtPlace, qtbot: QtBot, at_rest: AtRest, monkeypatch) -> None:
    said: list[object] = []
    walk.model.told.connect(said.append)

    def typed(text: str) -> None:
        go_to(walk, "straw yellow", "colour")
        walk.plates.edit(walk.plates.currentIndex())
        box = editor(walk.plates)
        assert isinstance(box, QComboBox)
        qtbot.keyClicks(box.lineEdit(), text)
        enter(box)

    walk.plates.setColumnHidden(column_of(walk, "colour"), False)
    typed("#fc0")
    assert walk.model.job.plates[1].colour == "#ffcc00"
    typed("#fc")
    assert walk.model.job.plates[1].colour == "#ffcc00"
    assert any("#fc" in str(sentence) for sentence in said)
    monkeypatch.setattr(dialogs, "ask_colour", lambda parent, title, now: {"#ffcc00": "#112233"}[now])
    row = next(row for row in walk.plates.grid.rows if row.key == "straw yellow")
    cell = row.cells[column_of(walk, "colour")]
    assert cell.entry is not None
    offered = {choice.value for choice in cell.entry.choices}
    assert {ink.colour for ink in walk.model.desk.shop.inks if ink.colour} <= offered
    assert walk.plates.grid.typed(cell, plate_rows.OTHER_COLOUR)
    assert walk.model.job.plates[1].colour == "#112233"
    at_rest()


def test_every_value_is_reached_in_the_details_where_the_table_is_narrow(
    window: Window, walk: ArtPlace, qtbot: QtBot, at_rest: AtRest
) -> None:
    window.resize(1100, 700)
    QApplication.processEvents()
    assert walk.plates.isColumnHidden(column_of(walk, "coverage"))
    what = [row.key for row in walk.details.grid.rows]
    assert {"role", "system", "colour", "prints", "file", "kind", "area", "line", "gap"} <= set(what)
    walk.details.setFocus()
    walk.details.setCurrentIndex(walk.details.grid.index(what.index("system"), 1))
    qtbot.keyClick(walk.details, Qt.Key.Key_Return)
    box = editor(walk.details)
    assert isinstance(box, QComboBox)
    qtbot.keyClicks(box.lineEdit(), "discharge")
    enter(box)
    assert walk.model.job.plates[0].ink_system is InkSystem.DISCHARGE
    at_rest()
    walk.details.setFocus()
    walk.details.setCurrentIndex(walk.details.grid.index(what.index("system"), 1))
    qtbot.keyClick(walk.details, Qt.Key.Key_Delete)
    assert walk.model.job.plates[0].ink_system is None
    at_rest()


# ---------------------------------------------------------------- zoom and marks


@pytest.fixture
def view(window: Window, qtbot: QtBot) -> ArtView:
    """The picture's own widget with a plain picture of 400 x 300 and two marks."""
    made = place_of(window).view
    window.stack.setCurrentWidget(place_of(window))
    image = QImage(400, 300, QImage.Format.Format_RGB888)
    image.fill(QColor("#804020"))
    made.show_image(image)
    made.show_marks([Mark(1, 0.25, 0.5), Mark(2, 0.9, 0.1)], 0)
    QApplication.processEvents()
    return made


def test_keys_and_wheel_zoom_and_arrows_pan(view: ArtView, qtbot: QtBot) -> None:
    whole = view.place()
    assert view.rect().contains(whole.toRect())
    qtbot.keyClick(view, Qt.Key.Key_Plus)
    assert view.place().width() == pytest.approx(whole.width() * 1.25)
    at = QPointF(view.width() * 0.3, view.height() * 0.55)
    share = (at.x() - view.place().x()) / view.place().width()
    for _ in range(4):
        event = QWheelEvent(
            at, view.mapToGlobal(at), QPoint(), QPoint(0, 120), Qt.MouseButton.NoButton,
            Qt.KeyboardModifier.NoModifier, Qt.ScrollPhase.NoScrollPhase, False,
        )  # fmt: skip
        QApplication.sendEvent(view, event)
    assert (at.x() - view.place().x()) / view.place().width() == pytest.approx(share, abs=0.02)
    before = view.place().x()
    qtbot.keyClick(view, Qt.Key.Key_Right)
    assert view.place().x() < before
    for _ in range(40):
        qtbot.keyClick(view, Qt.Key.Key_Right)
    assert view.place().right() >= view.width() - view.look.px(15)
    qtbot.keyClick(view, Qt.Key.Key_0)
    assert view.place() == whole
    for _ in range(60):
        qtbot.keyClick(view, Qt.Key.Key_Minus)
    assert view.place() == whole


def test_dragging_pans_and_chooses_nothing(view: ArtView, qtbot: QtBot) -> None:
    chosen: list[object] = []
    view.mark_chosen.connect(lambda *mark: chosen.append(mark))
    for _ in range(5):
        view.larger()
    view.bring_to(1)
    disc = label_of(view, 1)
    start, before = disc.center().toPoint(), view.place().topLeft()
    qtbot.mousePress(view, Qt.MouseButton.LeftButton, pos=start)
    qtbot.mouseMove(view, start + QPoint(-30, 12))
    qtbot.mouseMove(view, start + QPoint(-60, 25))
    qtbot.mouseRelease(view, Qt.MouseButton.LeftButton, pos=start + QPoint(-60, 25))
    moved = view.place().topLeft() - before
    assert (round(moved.x()), round(moved.y())) == (-60, 25)
    assert chosen == []


def test_a_click_on_a_number_chooses_its_finding(view: ArtView, qtbot: QtBot) -> None:
    discs = {number: label_of(view, number) for number in (1, 2)}
    assert all(view.rect().contains(disc.toRect()) for disc in discs.values())
    plain, marks = view.grab().toImage(), view.marks
    with qtbot.waitSignal(view.mark_chosen) as chosen:
        qtbot.mouseClick(view, Qt.MouseButton.LeftButton, pos=discs[2].center().toPoint())
    assert chosen.args == [2, 0]
    view.show_marks(marks, 2)
    middle = discs[2].center().toPoint()

    def darkest(image: QImage) -> int:
        """Above the label, where its second outline is drawn."""
        return min(image.pixelColor(middle - QPoint(0, up)).lightness() for up in range(9, 15))

    assert darkest(plain) > 60
    assert darkest(view.grab().toImage()) < 45


def only(measure: Measure, findings: tuple[Finding, ...]) -> Measure:
    """The measure with these findings, and nothing in it that a check could find more in."""
    nothing = {"finest_line_mm": None, "finest_gap_mm": None, "specks": None, "tone_cm2": None, "halftone": None}
    plates = tuple(plate.model_copy(update=nothing) for plate in measure.plates)
    return measure.model_copy(update={"findings": findings, "contacts": (), "chokes": (), "plates": plates})


@pytest.fixture
def found(window: Window, at_rest: AtRest, monkeypatch) -> ArtPlace:
    """Lantern walk with two findings that have places, as a fuller check will tell them."""
    from setupassist import pipeline

    measure = pipeline.measure_job
    findings = (
        Finding(code="specks", severity=Severity.NOTE, plates=("soot black",), text="specks", places_mm=((50, 60),)),
        Finding(
            code="base-peeks-out", severity=Severity.STOP, plates=("white base",), text="base peeks out",
            places_mm=((20, 40), (250, 300)),
        ),
    )  # fmt: skip

    def with_findings(*args, **kwargs):
        told = measure(*args, **kwargs)
        return pipeline.Measured(only(told.measure, findings), told.plates)

    monkeypatch.setattr(pipeline, "measure_job", with_findings)
    window.open([SAMPLES / "lantern-walk"])
    at_rest()
    return place_of(window)


def test_findings_are_numbered_worst_first_and_marked_at_their_places(found: ArtPlace, qtbot: QtBot) -> None:
    rows = [[cell.text for cell in row.cells] for row in found.findings.grid.rows]
    assert rows == [["1", "stop", "base peeks out"], ["2", "note", "specks"]]
    assert found.status() == "5 plates, 1 stop"
    assert [mark.number for mark in found.view.marks] == [1, 1, 2]
    assert found.view.marks[2].x_share == pytest.approx(50 / 304.97, abs=1e-4)
    found.findings.setFocus()
    qtbot.keyClick(found.findings, Qt.Key.Key_Down)
    assert found.model.selection == Selection(Of.FINDING, "1")
    assert found.view.chosen == 2
    disc = label_of(found.view, 1)
    qtbot.mouseClick(found.view, Qt.MouseButton.LeftButton, pos=disc.center().toPoint())
    assert found.model.selection == Selection(Of.FINDING, "0")
    assert found.findings.key == "0"
    found.model.select(Selection(Of.INK, "brick red"))
    assert found.view.chosen == 0
    assert found.plates.key == "brick red"


# ---------------------------------------------------------------- what is wrong with the files


def test_a_damaged_plate_is_named_the_others_are_there_and_it_is_read_again(
    window: Window, at_rest: AtRest, tmp_path: Path, qtbot: QtBot
) -> None:
    paths = plates_in(tmp_path / "set")
    whole = paths[1].read_bytes()
    paths[1].write_bytes(whole[:50] + bytes(40) + whole[90:])
    window.open([tmp_path / "set"])
    at_rest()
    place = place_of(window)
    assert [row.key for row in place.plates.grid.rows] == ["white base", "red"]
    assert place.reading.unread.isVisible()
    assert "02-teal.png" in place.reading.faults.text()
    assert place.view.image is not None
    assert place.findings.grid.rows[0].cells[1].text == "stop"
    assert "02-teal.png" in place.findings.grid.rows[0].cells[2].text
    paths[1].write_bytes(whole)
    qtbot.mouseClick(place.reading.again, Qt.MouseButton.LeftButton)
    at_rest()
    assert [row.key for row in place.plates.grid.rows] == ["white base", "teal", "red"]
    assert not place.reading.isVisible()


def light_is_ink_offered(window: Window) -> bool:
    actions = [one for one in place_of(window).actions_of() if one is not None]
    return next(one for one in actions if one.key == "place_art.action.light-is-ink").enabled()


def test_nothing_that_can_be_read_is_said_in_the_place(window: Window, at_rest: AtRest, tmp_path: Path) -> None:
    for path in plates_in(tmp_path / "set"):
        path.write_bytes(b"no picture")
    window.open([tmp_path / "set"])
    at_rest()
    place = place_of(window)
    assert place.view.image is None
    assert place.view.message == "No plate could be read."
    assert place.reading.faults.text().count("\n") == 2
    assert place.status() == "cannot be read"
    assert not place.plates.isVisible()
    assert not place.facts.light_is_ink.isVisible()
    assert not light_is_ink_offered(window)


def test_an_empty_folder_offers_nothing_to_turn_round(window: Window, at_rest: AtRest, tmp_path: Path) -> None:
    (tmp_path / "empty").mkdir()
    window.open([tmp_path / "empty"])
    at_rest()
    place = place_of(window)
    assert not place.facts.light_is_ink.isVisible()
    assert not light_is_ink_offered(window)


def test_a_missing_resolution_is_asked_for_and_entered_right_there(
    window: Window, at_rest: AtRest, tmp_path: Path, qtbot: QtBot
) -> None:
    plates_in(tmp_path / "set", dpi=None)
    window.open([tmp_path / "set"])
    at_rest()
    place, said = place_of(window), []
    window.model.told.connect(said.append)
    assert place.reading.no_dpi.isVisible()
    assert place.facts.lines["size"][1].text() == "300 × 300 pixels"
    for text in ("fine", "3"):
        place.reading.dpi.setText(text)
        qtbot.keyClick(place.reading.dpi, Qt.Key.Key_Return)
    assert len(said) == 2
    assert window.model.job.source.dpi is None
    place.reading.dpi.clear()
    qtbot.keyClicks(place.reading.dpi, "150")
    qtbot.keyClick(place.reading.dpi, Qt.Key.Key_Return)
    at_rest()
    assert window.model.job.source.dpi == 150
    assert not place.reading.no_dpi.isVisible()
    assert place.facts.lines["resolution"][1].text() == "150 dpi, by hand"
    assert float(told(place, "red", "area")) == pytest.approx(60 * 200 / (150 / 2.54) ** 2, abs=0.1)
    window.model.undo.undo()
    at_rest()
    assert place.reading.no_dpi.isVisible()


def test_negatives_are_told_and_turned_round(window: Window, at_rest: AtRest, tmp_path: Path, qtbot: QtBot) -> None:
    plates_in(tmp_path / "set", turned=True)
    window.open([tmp_path / "set"])
    at_rest()
    place = place_of(window)
    assert light_is_ink_offered(window)
    assert "look like negatives" in place.reading.reversed.text()
    assert place.reading.reversed.isVisible()
    qtbot.mouseClick(place.facts.light_is_ink, Qt.MouseButton.LeftButton, pos=QPoint(8, 8))
    assert window.model.job.source.light_is_ink
    at_rest()
    assert not place.reading.reversed.isVisible()
    assert place.facts.light_is_ink.isChecked()
    window.model.undo.undo()
    at_rest()
    assert not place.facts.light_is_ink.isChecked()


def test_figures_have_rows_but_no_picture(opened: Window) -> None:
    place = place_of(opened)
    assert place.view.image is None
    assert place.view.message == "Planned from figures: there are no plates to show."
    assert [row.key for row in place.plates.grid.rows] == [plate["name"] for plate in figures()["plates"]]
    assert not place.facts.light_is_ink.isVisible()


def test_another_job_begins_anew(
    window: Window, walk: ArtPlace, at_rest: AtRest, write_job: Callable[..., Path]
) -> None:
    walk.picture.show_together(False)
    window.open([write_job()])
    at_rest()
    assert walk.picture.on_garment.isChecked()
    assert walk.plates.grid.rows[0].key == "white base"
    assert walk.view.image is None


def test_pictures_are_laid_in_the_background(window: Window, at_rest: AtRest, tmp_path: Path, monkeypatch) -> None:
    from setupassist.app import art_picture

    threads: list[str] = []

    def noting(draw: Callable[..., np.ndarray]) -> Callable[..., np.ndarray]:
        def drawn(*args: object) -> np.ndarray:
            threads.append(threading.current_thread().name)
            return draw(*args)

        return drawn

    for name in ("drawn_on_garment", "drawn_as_film", "image_of"):
        monkeypatch.setattr(art_picture, name, noting(getattr(art_picture, name)))
    plates_in(tmp_path / "set")
    window.open([tmp_path / "set"])
    at_rest()
    place_of(window).picture.show_together(False)
    at_rest()
    assert len(threads) >= 4
    assert threading.main_thread().name not in threads


def test_words_are_found_for_every_cell_in_spanish(walk: ArtPlace, window: Window, at_rest: AtRest) -> None:
    window.model.prefer(language="es")
    at_rest()
    place = place_of(window)
    window.go("art")
    QApplication.processEvents()
    assert told(place, "brick red", "kind") == "plasta"
    assert place.picture.on_garment.text() == "En la prenda"
    assert place.facts.lines["marks"][1].text() == "halladas en todas las placas, mayor desvío 0.000 pulg"
    assert isinstance(place.reading.dpi, QLineEdit)
