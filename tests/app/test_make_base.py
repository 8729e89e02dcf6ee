"""A base made in the window: suggested, seen over the art, written, taken into the job and undone."""

from __future__ import annotations

import threading
from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest
from PIL import Image
from PySide6.QtCore import Qt
from pytestqt.qtbot import QtBot

from setupassist.app import dialogs
from setupassist.app.art_base import Target, take_into_job
from setupassist.app.places.art import ArtPlace
from setupassist.app.window import Window
from setupassist.desk import base_making
from setupassist.desk.tasks import Lane
from setupassist.errors import InputFault, MachineFault
from tests.app.test_place_art import colour_at, place_of
from tests.desk.test_base_making import draw

AtRest = Callable[[], None]


@pytest.fixture
def place(window: Window, at_rest: AtRest, tmp_path: Path) -> ArtPlace:
    """Teal and red side by side and a black key, 400 x 400 pixels of a tenth of a mm, no base."""
    inks = ("teal", (50, 350, 50, 200)), ("red", (50, 350, 200, 350)), ("black key", (100, 120, 50, 350))
    window.model.prefer(units="metric")
    window.open([draw(tmp_path / "set", *inks)])
    at_rest()
    return place_of(window)


def inks(place: ArtPlace) -> list[str]:
    return [row.key for row in place.plates.grid.rows]


def test_the_keyboard_asks_for_it_sees_it_and_takes_it_in(
    place: ArtPlace, qtbot: QtBot, at_rest: AtRest, tmp_path: Path
) -> None:
    place.plates.setFocus()
    qtbot.keyClick(place.plates, Qt.Key.Key_B)
    base, model = place.base, place.model
    assert base.isVisible()
    assert base.choke.hasFocus()
    assert base.choke.text() == "0.35"
    assert base.choke_named.name.text() == "Drawn in by, mm"
    assert {name: box.isChecked() for name, box in base.inks.items()} == {
        "teal": True, "red": True, "black key": False
    }  # fmt: skip
    assert base.inks["black key"].accessibleDescription() == "needs none: key"
    base.choke.selectAll()
    qtbot.keyClicks(base.choke, "1.5")
    qtbot.keyClick(base.choke, Qt.Key.Key_Return)
    qtbot.keyClick(base.show_it, Qt.Key.Key_Space)
    at_rest()
    assert base.made is not None
    assert base.made.wish.choke_mm == 1.5
    assert colour_at(place.view, 0.5, 0.5) == base_making.BASE_WHITE
    assert colour_at(place.view, 57 / 400, 0.5) not in (base_making.BASE_WHITE, "#ffffff")
    assert place.picture.caption.text().startswith("The base over the art")
    assert "Nothing is written yet" in base.state.text()
    assert not list((tmp_path / "set").glob("*base*"))
    qtbot.keyClick(base.take, Qt.Key.Key_Space)
    at_rest()
    assert inks(place) == ["white base", "teal", "red", "black key"]
    assert (tmp_path / "set" / "white base.png").is_file()
    assert not base.isVisible()
    assert place.picture.base is None
    assert model.undo.undoText() == "take the base in"
    model.undo.undo()
    at_rest()
    assert inks(place) == ["teal", "red", "black key"]
    model.undo.redo()
    at_rest()
    assert inks(place)[0] == "white base"


def test_plates_that_cannot_be_listed_are_told_before_a_file_is_written(
    place: ArtPlace, at_rest: AtRest, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    said: list[str] = []
    place.model.told.connect(lambda sentence: said.append(str(sentence)))
    place.base.open()

    def refuse(*_: object) -> None:
        raise InputFault("", "some plates are missing")

    monkeypatch.setattr(base_making, "plates_listed", refuse)
    place.base.take_in()
    at_rest()
    assert said == ["some plates are missing"]
    assert not list((tmp_path / "set").glob("*base*"))


def test_a_base_that_the_job_refuses_changes_nothing(place: ArtPlace, tmp_path: Path) -> None:
    """The file lies outside of the job's folder: that is told, no half of the edit is kept, and the file goes."""
    said: list[str] = []
    place.model.told.connect(lambda sentence: said.append(str(sentence)))
    before, steps, file = place.model.job, place.model.undo.count(), tmp_path / "base.png"
    file.write_bytes(b"written a moment ago")
    assert not take_into_job(place.model, Target(file, "white base"))
    assert [sentence for sentence in said if "outside" in sentence]
    assert place.model.job == before
    assert place.model.undo.count() == steps
    assert not file.exists()


def test_it_is_written_to_a_file_and_the_job_stays(
    place: ArtPlace, qtbot: QtBot, at_rest: AtRest, tmp_path: Path, monkeypatch
) -> None:
    said: list[str] = []
    place.model.told.connect(lambda sentence: said.append(str(sentence)))
    monkeypatch.setattr(dialogs, "ask_target", lambda *_: tmp_path / "for the film.tif")
    before = place.model.job
    qtbot.mouseClick(place.make_base, Qt.MouseButton.LeftButton)
    place.base.inks["red"].click()
    qtbot.mouseClick(place.base.export, Qt.MouseButton.LeftButton)
    at_rest()
    assert said == [f"The base is in {tmp_path / 'for the film.tif'}."]
    assert place.model.job == before
    rows = 255 - np.asarray(Image.open(tmp_path / "for the film.tif"))
    assert rows[200, 100] == 255
    assert rows[200, 300] == 0
    assert place.base.made is not None


def test_what_has_changed_is_to_be_shown_again(place: ArtPlace, qtbot: QtBot, at_rest: AtRest) -> None:
    place.base.open()
    place.base.make()
    at_rest()
    place.base.inks["teal"].click()
    assert place.base.state.text() == "Show it again to see what has changed."
    place.base.inks["red"].click()
    assert place.base.state.text() == "Choose an ink that it goes under."
    assert not place.base.take.isEnabled()
    qtbot.keyClick(place.base.close_it, Qt.Key.Key_Escape)
    assert not place.base.isVisible()
    assert place.picture.base is None
    at_rest()
    assert not place.picture.caption.text().startswith("The base over the art")


def test_what_is_no_choke_is_told_and_the_old_one_stays(place: ArtPlace, qtbot: QtBot) -> None:
    said: list[str] = []
    place.model.told.connect(lambda sentence: said.append(str(sentence)))
    place.base.open()
    for text in ("deep", "99"):
        place.base.choke.selectAll()
        qtbot.keyClicks(place.base.choke, text)
        qtbot.keyClick(place.base.choke, Qt.Key.Key_Return)
        assert place.base.choke.text() == "0.35"
    assert len(said) == 2


def test_it_is_made_in_the_background_and_can_be_stopped(place: ArtPlace, qtbot: QtBot, at_rest: AtRest, monkeypatch):
    from setupassist import checking

    make, threads, go_on = checking.make_base, [], threading.Event()

    def slow(*args, **kwargs):
        threads.append(threading.current_thread())
        kwargs["progress"](0.4)
        go_on.wait(10)
        return make(*args, **kwargs)

    monkeypatch.setattr(checking, "make_base", slow)
    place.base.open()
    place.base.make()
    qtbot.waitUntil(lambda: "40 %" in place.base.state.text(), timeout=5000)
    assert not place.base.take.isEnabled()
    place.model.runner.stop(Lane.OUT)
    go_on.set()
    at_rest()
    assert place.base.made is None
    assert place.base.take.isEnabled()
    assert threading.main_thread() not in threads


def test_it_takes_the_place_of_a_base_that_peeks_out(
    window: Window, at_rest: AtRest, tmp_path: Path, qtbot: QtBot
) -> None:
    rects = ("white base", (40, 360, 40, 360)), ("teal", (50, 350, 50, 350))
    window.open([draw(tmp_path / "wide", *rects)])
    at_rest()
    place = place_of(window)
    place.base.open()
    assert place.base.instead.currentText() == "white base"
    place.base.take_in()
    at_rest()
    assert inks(place) == ["white base", "teal"]
    plates = window.model.job.plates
    assert isinstance(plates, tuple)
    assert plates[0].file == "white base.png"
    assert (tmp_path / "wide" / "01-white base.png").is_file()


def test_figures_have_no_base_to_make(opened: Window) -> None:
    place = place_of(opened)
    place.base.open()
    assert not place.base.isVisible()
    assert not place.make_base.isVisible()


def test_another_job_shuts_the_form(place: ArtPlace, window: Window, at_rest: AtRest, tmp_path: Path) -> None:
    place.base.open()
    place.base.make()
    at_rest()
    assert place.base.made is not None
    file = place.base.made.file
    window.open([draw(tmp_path / "other", ("navy", (50, 350, 50, 350)))])
    at_rest()
    assert not place.base.isVisible()
    assert not file.exists()


def test_a_job_that_is_closed_takes_the_form_along(place: ArtPlace, window: Window, at_rest: AtRest) -> None:
    place.base.open()
    place.base.make()
    at_rest()
    place.picture.toggle_loupe()
    at_rest()
    window.model.close_job(keep_draft=False)
    at_rest()
    assert not place.base.isVisible()
    assert place.base.made is None
    assert not window.model.has_job


def test_a_disk_that_refuses_is_told_and_the_job_stays(place: ArtPlace, at_rest: AtRest, monkeypatch) -> None:
    said: list[str] = []
    place.model.told.connect(lambda sentence: said.append(str(sentence)))

    def full(*args, **kwargs):
        raise MachineFault("the disk is full")

    before = place.model.job
    place.base.open()
    place.base.make()
    at_rest()
    monkeypatch.setattr(base_making, "write", full)
    place.base.take_in()
    at_rest()
    assert said == ["the disk is full"]
    assert place.model.job == before
    assert place.base.isVisible()
    assert place.base.take.isEnabled()
