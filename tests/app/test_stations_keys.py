"""The line by keyboard alone: along it and between laps, pins, stations kept empty, heads, flashes, strategies."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest
from PySide6.QtCore import Qt
from PySide6.QtGui import QAction
from PySide6.QtWidgets import QApplication, QMenu

from setupassist.app.line.card import CardWidget
from setupassist.app.selection import Of, Selection
from setupassist.app.window import Window
from setupassist.desk import edits
from setupassist.documents.plan import Slot
from setupassist.documents.press import Press
from setupassist.documents.terms import StrategyName
from setupassist.words import say, words_in
from tests.app.line_hands import ALT, card, settle, spot, standing, stations, type_key
from tests.conftest import press

PLANNED = {"white base": 2, "flash": 3, "yellow": 5, "red": 6, "black key": 7}
Rest = Callable[[], None]
Key = Qt.Key


def test_the_line_takes_one_tab_and_arrows_go_along_it(opened: Window) -> None:
    place = stations(opened)
    items = list(place.editor.canvas.items())
    assert [i.focusPolicy() for i in items].count(Qt.FocusPolicy.StrongFocus) == 1
    card(place, "yellow").setFocus()
    type_key(Key.Key_Right)
    assert opened.model.selection == Selection(Of.SCREEN, "red", 6, 1)
    assert QApplication.focusWidget() is card(place, "red")
    type_key(Key.Key_Left)
    type_key(Key.Key_Left)
    assert opened.model.selection == Selection(Of.STATION, "", 4, 1)
    type_key(Key.Key_End)
    assert opened.model.selection.station == 10
    type_key(Key.Key_Right)
    assert opened.model.selection.station == 10
    type_key(Key.Key_Home)
    assert opened.model.selection.station == 1
    strong = [i for i in place.editor.canvas.items() if i.focusPolicy() is Qt.FocusPolicy.StrongFocus]
    assert strong == [spot(place, 1)]


def test_alt_and_an_arrow_carry_a_card_and_the_focus_goes_with_it(opened: Window, at_rest: Rest) -> None:
    place = stations(opened)
    card(place, "black key").setFocus()
    type_key(Key.Key_Right, ALT)
    type_key(Key.Key_Right, ALT)
    at_rest()
    settle()
    assert standing(place) == PLANNED | {"black key": 9}
    assert QApplication.focusWidget() is card(place, "black key")
    type_key(Key.Key_Right, ALT)
    assert standing(place)["black key"] == 9
    assert opened.strip.told.text() == "no station lies beyond 9"
    opened.model.undo.undo()
    opened.model.undo.undo()
    at_rest()
    settle()
    assert standing(place) == PLANNED
    type_key(Key.Key_Left, ALT)
    at_rest()
    settle()
    assert standing(place) == PLANNED | {"black key": 6, "red": 7}


def test_p_pins_where_it_stands_and_lets_go_again(opened: Window, at_rest: Rest) -> None:
    place = stations(opened)
    card(place, "red").setFocus()
    type_key(Key.Key_P)
    at_rest()
    settle()
    assert opened.model.job.pins == {"red": 6}
    assert card(place, "red").card.pinned
    type_key(Key.Key_P)
    at_rest()
    assert opened.model.job.pins == {}
    card(place, "flash").setFocus()
    type_key(Key.Key_P)
    at_rest()
    assert opened.model.job.flash_pins == (3,)
    settle()
    type_key(Key.Key_P)
    at_rest()
    assert opened.model.job.flash_pins == ()


def test_a_pin_on_a_line_by_hand_lets_the_planner_place_the_rest(opened: Window, at_rest: Rest) -> None:
    place = stations(opened)
    card(place, "black key").setFocus()
    type_key(Key.Key_Right, ALT)
    at_rest()
    settle()
    type_key(Key.Key_P)
    at_rest()
    settle()
    assert opened.model.job.arrangement is None
    assert opened.model.job.pins == {"black key": 8}
    assert standing(place)["black key"] == 8
    assert opened.strip.told.text().startswith("the planner places the rest")
    assert opened.model.undo.undoText() == "pin black key at 8"


def test_e_keeps_a_station_empty_and_frees_it(opened: Window, at_rest: Rest) -> None:
    place = stations(opened)
    card(place, "yellow").setFocus()
    type_key(Key.Key_E)
    at_rest()
    settle()
    assert opened.model.job.keep_empty == (5,)
    assert standing(place)["yellow"] != 5
    assert opened.model.selection.name == "yellow"
    assert QApplication.focusWidget() is card(place, "yellow")
    spot(place, 5).setFocus()
    assert spot(place, 5).accessibleName() == "station 5: kept empty"
    type_key(Key.Key_E)
    at_rest()
    assert opened.model.job.keep_empty == ()


def test_o_takes_a_head_out_of_service_and_puts_it_back(opened: Window, at_rest: Rest) -> None:
    place = stations(opened)
    spot(place, 6).setFocus()
    type_key(Key.Key_O)
    at_rest()
    settle()
    assert isinstance(opened.model.job.press, Press)
    assert opened.model.job.press.out_of_service == (6,)
    assert standing(place)["red"] == 7
    assert spot(place, 6).accessibleName() == "station 6: head out of service"
    spot(place, 6).setFocus()
    type_key(Key.Key_O)
    at_rest()
    assert opened.model.job.press.out_of_service == ()


def test_o_tells_where_there_is_no_head(window: Window, write_job: Callable[..., Path], at_rest: Rest) -> None:
    window.open([write_job(press=press() | {"heads": [2, 3, 4, 5, 6, 7, 8]})])
    at_rest()
    place = stations(window)
    spot(place, 9).setFocus()
    type_key(Key.Key_O)
    assert window.strip.told.text() == "there is no head at station 9 to take out of service"
    assert not window.model.undo.count()


def test_f_puts_a_flash_and_delete_takes_it_away(opened: Window, at_rest: Rest) -> None:
    place = stations(opened)
    spot(place, 8).setFocus()
    type_key(Key.Key_F)
    at_rest()
    settle()
    flashes = [s.station for s in opened.model.job.arrangement or () if s.holds == "flash"]
    assert flashes == [3, 8]
    chosen = place.editor.chosen
    assert isinstance(chosen, CardWidget)
    assert chosen.card.screen is None
    assert QApplication.focusWidget() is chosen
    type_key(Key.Key_Delete)
    at_rest()
    settle()
    assert [s.station for s in opened.model.job.arrangement or () if s.holds == "flash"] == [3]
    assert QApplication.focusWidget() is spot(place, 8)
    card(place, "flash").setFocus()
    type_key(Key.Key_F)
    at_rest()
    settle()
    assert not [s for s in opened.model.job.arrangement or () if s.holds == "flash"]


def test_delete_takes_no_screen_that_the_job_needs(opened: Window, at_rest: Rest) -> None:
    place = stations(opened)
    card(place, "red").setFocus()
    type_key(Key.Key_Delete)
    assert not opened.model.undo.count()
    assert opened.strip.told.text().startswith("only a flash")


def test_backspace_goes_back_to_the_planners_line(opened: Window, at_rest: Rest) -> None:
    place = stations(opened)
    card(place, "black key").setFocus()
    type_key(Key.Key_Right, ALT)
    at_rest()
    settle()
    type_key(Key.Key_Backspace)
    at_rest()
    settle()
    assert opened.model.job.arrangement is None
    assert standing(place) == PLANNED
    assert opened.model.undo.undoText() == "go back to the planner's line"


def test_number_keys_choose_the_strategy(opened: Window, at_rest: Rest) -> None:
    place = stations(opened)
    card(place, "red").setFocus()
    for key, name in ((Key.Key_2, "cleanest"), (Key.Key_3, "quickest-changeover"), (Key.Key_1, "leanest")):
        type_key(key)
        at_rest()
        settle()
        assert opened.model.job.strategy is StrategyName(name)
        assert opened.findChild(QAction, f"place_stations.action.{name}").isChecked()
    assert place.head.text() == "The leanest line: nothing better within these limits"


def test_typing_a_title_moves_nothing(opened: Window) -> None:
    place = stations(opened)
    opened.model.select(Selection(Of.SCREEN, "red", 6, 1))
    opened.header.title.setFocus()
    opened.header.title.selectAll()
    for key in (Key.Key_P, Key.Key_E, Key.Key_O, Key.Key_F, Key.Key_1, Key.Key_Backspace):
        type_key(key)
    assert opened.header.title.text() == "peof"
    job = opened.model.job
    assert (job.pins, job.keep_empty, job.arrangement) == ({}, (), None)
    assert standing(place) == PLANNED


def test_broken_limits_are_walked_by_keys(opened: Window, at_rest: Rest) -> None:
    place = stations(opened)
    card(place, "black key").setFocus()
    type_key(Key.Key_Left, ALT)
    type_key(Key.Key_Left, ALT)
    at_rest()
    settle()
    rows = place.editor.limits.rows
    assert len(rows) == 2
    rows[0].setFocus()
    settle()
    assert place.editor.canvas.told_limit == rows[0].limit
    type_key(Key.Key_Down)
    assert QApplication.focusWidget() is rows[1]
    assert place.editor.canvas.told_limit == rows[1].limit


def test_a_chip_of_the_shelf_is_put_at_the_chosen_station(opened: Window, at_rest: Rest) -> None:
    place = stations(opened)
    opened.model.select(Selection(Of.STATION, "", 8, 1))
    place.shelf.chips[0].setFocus()
    assert opened.model.selection == Selection(Of.STATION, "", 8, 1)
    type_key(Key.Key_Return)
    at_rest()
    assert [s.station for s in opened.model.job.arrangement or () if s.holds == "flash"] == [3, 8]


def test_between_laps(window: Window, write_job: Callable[..., Path], at_rest: Rest) -> None:
    window.open([write_job(press=press() | {"max_laps": 2})])
    at_rest()
    place = stations(window)
    card(place, "black key").setFocus()
    type_key(Key.Key_Down, ALT)
    at_rest()
    settle()
    assert place.editor.line.laps == 2
    assert card(place, "black key").place == (2, 7)
    assert QApplication.focusWidget() is card(place, "black key")
    type_key(Key.Key_Up)
    assert window.model.selection == Selection(Of.SCREEN, "black key", 7, 1)
    assert place.editor.chosen is spot(place, 7, lap=1)
    type_key(Key.Key_Down)
    assert place.editor.chosen is card(place, "black key")
    type_key(Key.Key_Down, ALT)
    assert window.strip.told.text() == "this press allows 2 laps"
    slots = [Slot(lap=lap, station=3, holds="flash") for lap in (1, 2)]
    window.model.edit(lambda: edits.arrangement(window.model.job, slots, say("desk.edit.field")))
    at_rest()
    settle()
    card(place, "flash", 2).setFocus()
    type_key(Key.Key_F)
    assert [(s.lap, s.station) for s in window.model.job.arrangement or ()] == [(1, 3)]
    at_rest()


def test_the_menu_at_a_card_holds_the_windows_own_actions(opened: Window, monkeypatch: pytest.MonkeyPatch) -> None:
    shown = []
    monkeypatch.setattr(QMenu, "popup", lambda menu, at: shown.append(at))
    place = stations(opened)
    red = card(place, "red")
    red.setFocus()
    place.editor.menu_at(red, red.mapToGlobal(red.rect().center()))
    settle()
    menu = place.findChild(QMenu, "line-menu")
    assert menu is not None
    pin = next(entry for entry in menu.actions() if entry.objectName() == "place_stations.action.pin")
    assert pin is opened.findChild(QAction, "place_stations.action.pin")
    assert pin.isEnabled()
    assert shown == [red.mapToGlobal(red.rect().center())]
    pin.trigger()
    assert opened.model.job.pins == {"red": 6}


@pytest.mark.parametrize("language", ["en", "es"])
def test_the_keys_of_the_place_clash_with_none(opened: Window, language: str) -> None:
    opened.model.prefer(language=language)
    settle()
    stations(opened)
    keys = [
        entry.shortcut().toString()
        for _, entry in opened.menus.entries
        if entry.isEnabled() and not entry.shortcut().isEmpty()
    ]
    assert len(keys) == len(set(keys))


def test_in_spanish_everything_on_the_line_is_spanish(opened: Window, at_rest: Rest) -> None:
    opened.model.prefer(language="es")
    at_rest()
    place = stations(opened)
    assert card(place, "red").accessibleName() == "red, pantalla, estación 6"
    assert place.head.text() == "La línea más sobria: nada mejor dentro de estos límites"
    assert place.status() == f"{words_in('es').say('terms.strategy.leanest')}, nada mejor"
    card(place, "black key").setFocus()
    type_key(Key.Key_Left, ALT)
    type_key(Key.Key_Left, ALT)
    at_rest()
    settle()
    assert place.editor.limits.rows[0].text().startswith("A  black key (estación 5) imprime antes que")
