"""The loupe over the picture: by pointer and by keys, read in the background, saying what it shows."""

from __future__ import annotations

import threading
import time
from collections.abc import Callable
from pathlib import Path

import pytest
from PySide6.QtCore import QPoint, QPointF, Qt
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication
from pytestqt.qtbot import QtBot

from setupassist.app.loupe import Loupe
from setupassist.app.places.art import ArtPlace
from setupassist.app.window import Window
from setupassist.desk import edits
from setupassist.desk.loupe import LoupeReader
from setupassist.errors import InputFault
from tests.app.test_place_art import place_of, plates_in

AtRest = Callable[[], None]


@pytest.fixture
def place(window: Window, at_rest: AtRest, tmp_path: Path) -> ArtPlace:
    """The small set of 25.4 mm a side, in mm: teal from column 150 to 250 of 300, red from 60 to 120."""
    plates_in(tmp_path / "set")
    window.model.prefer(units="metric")
    window.open([tmp_path / "set"])
    at_rest()
    window.model.edit(lambda: edits.note_ink(window.model.job, "teal", colour="#15808a"))
    at_rest()
    return place_of(window)


def settle(place: ArtPlace, qtbot: QtBot) -> Loupe:
    loupe = place.picture.loupe
    qtbot.waitUntil(lambda: loupe.seen is not None and loupe.seen.place_mm == loupe.place_mm, timeout=10_000)
    return loupe


def test_it_follows_the_pointer_and_says_what_lies_there(place: ArtPlace, qtbot: QtBot) -> None:
    qtbot.keyClick(place.view, Qt.Key.Key_L)
    loupe = settle(place, qtbot)
    assert loupe.isVisible()
    assert place.picture.take_loupe.isChecked()
    at = place.view.point_of(200 / 300, 0.5).toPoint()
    QTest.mouseMove(place.view, at)
    loupe = settle(place, qtbot)
    assert loupe.place_mm == pytest.approx((200 * 25.4 / 300, 12.7), abs=0.1)
    assert loupe.text[0].startswith(f"x {loupe.place_mm[0]:.2f} mm, y ")
    assert loupe.text[1] == "white base, teal"
    assert loupe.text[2] == "all inks"
    assert loupe.accessibleDescription() == ". ".join(loupe.text)
    assert loupe.grab().toImage().pixelColor(30, 30).name() == "#15808a"
    QTest.mouseMove(place.view, place.view.point_of(0.02, 0.02).toPoint())
    assert settle(place, qtbot).text[1] == "no ink"


def test_keys_move_it_show_more_or_less_and_take_it_away(place: ArtPlace, qtbot: QtBot, at_rest: AtRest) -> None:
    place.plates.setFocus()
    qtbot.keyClick(place.plates, Qt.Key.Key_L)
    loupe = settle(place, qtbot)
    assert place.view.hasFocus()
    start = loupe.place_mm
    assert start == pytest.approx((12.7, 12.7), abs=0.1)
    qtbot.keyClick(place.view, Qt.Key.Key_Right)
    assert loupe.place_mm == pytest.approx((start[0] + 1.0, start[1]))
    qtbot.keyClick(place.view, Qt.Key.Key_Up, Qt.KeyboardModifier.ShiftModifier)
    assert loupe.place_mm == pytest.approx((start[0] + 1.0, start[1] - 25.4 / 300))
    qtbot.keyClick(place.view, Qt.Key.Key_PageUp)
    assert settle(place, qtbot).seen.box_mm[2] == pytest.approx(3.0, abs=0.1)
    for _ in range(9):
        qtbot.keyClick(place.view, Qt.Key.Key_PageDown)
    for _ in range(99):
        qtbot.keyClick(place.view, Qt.Key.Key_Left)
    assert loupe.place_mm[0] == 0.0
    assert place.view.rect().contains(loupe.geometry())
    qtbot.keyClick(place.view, Qt.Key.Key_Escape)
    assert not loupe.isVisible()
    assert not place.picture.take_loupe.isChecked()
    before = place.view.place()
    place.view.zoom_by(4)
    qtbot.keyClick(place.view, Qt.Key.Key_Left)
    assert place.view.place() != before
    at_rest()


def test_one_plate_is_seen_as_its_film(place: ArtPlace, qtbot: QtBot, at_rest: AtRest) -> None:
    place.picture.toggle_loupe()
    place.picture.loupe.go_to((90 * 25.4 / 300, 12.7))
    settle(place, qtbot)
    place.picture.choose_plate("red")
    place.picture.show_together(False)
    at_rest()
    loupe = settle(place, qtbot)
    assert loupe.text[2] == "red as its film"
    assert loupe.grab().toImage().pixelColor(loupe.width() // 2, 40).name() == "#000000"


def test_plates_are_read_in_the_background_and_the_window_never_waits(
    place: ArtPlace, qtbot: QtBot, monkeypatch
) -> None:
    seen, threads, go_on = LoupeReader.see, [], threading.Event()

    def slow(self, wish, *, stop):
        threads.append(threading.current_thread())
        go_on.wait(10)
        return seen(self, wish, stop=stop)

    monkeypatch.setattr(LoupeReader, "see", slow)
    place.picture.toggle_loupe()
    loupe = place.picture.loupe
    for step in range(20):
        loupe.go_to((5.0 + step / 10, 5.0))
        QApplication.processEvents()
    assert loupe.text[1] == "…"
    assert len(threads) <= 1
    go_on.set()
    settle(place, qtbot)
    assert loupe.place_mm == pytest.approx((6.9, 5.0))
    assert 2 <= len(threads) <= 3
    assert threading.main_thread() not in threads


def test_a_loupe_that_is_put_away_ends_its_reading(place: ArtPlace, qtbot: QtBot, at_rest: AtRest, monkeypatch) -> None:
    seen, begun, ended = LoupeReader.see, threading.Event(), []

    def slow(self, wish, *, stop):
        begun.set()
        for _ in range(500):
            if stop():
                break
            time.sleep(0.01)
        ended.append(stop())
        return seen(self, wish, stop=stop)

    monkeypatch.setattr(LoupeReader, "see", slow)
    place.picture.toggle_loupe()
    qtbot.waitUntil(begun.is_set, timeout=5000)
    place.picture.toggle_loupe()
    at_rest()
    assert ended == [True]
    assert not place.picture.loupe.on
    monkeypatch.setattr(LoupeReader, "see", seen)
    place.picture.toggle_loupe()
    assert settle(place, qtbot).isVisible()


def test_damage_is_told_once_and_not_at_every_move(place: ArtPlace, qtbot: QtBot, at_rest: AtRest, monkeypatch) -> None:
    said: list[str] = []
    place.model.told.connect(lambda sentence: said.append(str(sentence)))

    def broken(self, wish, *, stop):
        raise InputFault("02-teal.png", "its rows are damaged")

    monkeypatch.setattr(LoupeReader, "see", broken)
    place.picture.toggle_loupe()
    for step in range(5):
        place.picture.loupe.go_to((5.0 + step, 5.0))
        at_rest()
    assert said == ["02-teal.png: its rows are damaged"]
    assert place.picture.loupe.text[1] == "…"


def test_there_is_no_loupe_for_figures(opened: Window) -> None:
    picture = place_of(opened).picture
    picture.toggle_loupe()
    assert not picture.loupe.on
    assert not picture.take_loupe.isVisible()
    actions = [action for action in place_of(opened).actions_of() if action is not None]
    assert not next(a for a in actions if a.key == "place_art_check.action.loupe").enabled()


def test_it_stays_over_its_place_while_the_picture_moves(place: ArtPlace, qtbot: QtBot) -> None:
    place.picture.toggle_loupe()
    loupe = settle(place, qtbot)
    place.view.zoom_by(6)
    place.view.pan(60, 40)
    at = loupe._point()
    middle = QPointF(loupe.x() + loupe.width() / 2, loupe.y() + loupe.width() / 2)
    assert (middle - at).manhattanLength() < 4
    assert QPoint(0, 0) != loupe.pos()
