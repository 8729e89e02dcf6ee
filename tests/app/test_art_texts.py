"""Findings with limits, the form for a base and the loupe: worded, with room, reached by Tab, in every language."""

from __future__ import annotations

import re
from collections.abc import Callable
from pathlib import Path

from PySide6.QtWidgets import QApplication
from pytestqt.qtbot import QtBot

from setupassist.app.window import Window
from setupassist.desk import edits
from setupassist.desk.art_facts import findings_known
from setupassist.words import languages
from tests.app import seen
from tests.app.test_place_art import place_of
from tests.app.test_texts import crossed_window, everything, letters_of_the_code  # noqa: F401  # a fixture
from tests.desk.test_base_making import draw

FILES = re.compile(r"\b(?:\d+-)?x\d\.png")
AtRest = Callable[[], None]


def open_all(window: Window, at_rest: AtRest, folder: Path) -> None:
    """A base that peeks out and lines too fine, one of them chosen; a base shown, the loupe out, a limit refused."""
    rects = ("x1", (50, 350, 50, 352)), ("x2", (50, 350, 50, 350)), ("x3", (120, 121, 60, 300))
    model = window.model
    window.open([draw(folder / "xxx", *rects)])
    model.edit(lambda: edits.garment(model.job, 0, colour="#101010", name="xx"))
    model.edit(lambda: edits.note_ink(model.job, "x1", role="base"))
    at_rest()
    show_all(window, at_rest)


def show_all(window: Window, at_rest: AtRest) -> None:
    place = place_of(window)
    codes = [finding.code for finding in findings_known(window.model.desk)]
    place.found.entered.emit(codes.index("base-peeks-out") + 1)
    place.base.open()
    place.base.make()
    at_rest()
    if not place.picture.loupe.on:
        place.picture.toggle_loupe()
    at_rest()
    QApplication.processEvents()


def test_every_text_comes_from_a_catalogue(crossed_window: Window, at_rest: AtRest, tmp_path: Path) -> None:  # noqa: F811
    window, told = crossed_window, []
    began: list[str] = []
    window.model.runner.changed.connect(lambda: began.extend(r.what for r in window.model.runner.running.values()))
    said: list[str] = []
    window.model.told.connect(lambda sentence: said.append(window.model.words(sentence)))
    open_all(window, at_rest, tmp_path)
    place = place_of(window)
    assert place.found.limits.rows
    assert place.found.limits.offers
    told += everything(window)
    place.base.take_in()
    at_rest()
    told += everything(window)
    told += [seen.Seen("loupe", text) for text in place.picture.loupe.text]
    told += [seen.Seen("told", text) for text in said]
    told += [seen.Seen("runs", window.model.words(what)) for what in began]
    told += [seen.Seen("undo", window.model.undo.text(at)) for at in range(window.model.undo.count())]
    assert said
    found = letters_of_the_code(seen.Seen(one.where, FILES.sub("", one.text)) for one in told)
    assert not found, "\n".join(found)


def test_every_text_has_the_room_it_takes(window: Window, at_rest: AtRest, tmp_path: Path, qtbot: QtBot) -> None:
    open_all(window, at_rest, tmp_path)
    faults: list[str] = []
    for size in ((1000, 640), (1440, 900)):
        window.resize(*size)
        for language in languages():
            for theme, percent in (("light", 100), ("dark", 130), ("light", 200)):
                window.model.prefer(language=language, text_percent=percent, theme=theme)
                window.go("art")
                at_rest()
                show_all(window, at_rest)
                qtbot.wait(60)
                with seen.painted() as noted:
                    window.grab()
                faults += [
                    f"{size}, {language}, {percent} %: {fault}" for fault in [*seen.unfit(window), *noted.faults]
                ]
        assert (window.width(), window.height()) == size
    assert not faults, "\n".join(sorted(set(faults)))


def test_everything_is_reached_by_tab(window: Window, at_rest: AtRest, tmp_path: Path) -> None:
    open_all(window, at_rest, tmp_path)
    place = place_of(window)
    reached = seen.by_tab(place)
    wanted = {place.base.choke, place.base.instead, place.base.take, place.base.export, place.base.close_it,
              place.found.report, place.make_base, place.picture.take_loupe, place.findings,
              *place.base.inks.values(), *place.found.limits.offers.values(),
              *(row.editors[0] for row in place.found.limits.rows.values())}  # fmt: skip
    missing = [seen.named(widget) for widget in wanted if widget not in reached]
    assert not missing
