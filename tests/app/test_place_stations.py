"""The line by mouse: drag, hover, drop, swap, slide, the shelf, a clash, broken limits, the table, the strip."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from PySide6.QtCore import QPoint, QPointF, Qt
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QLabel, QPushButton
from pytestqt.qtbot import QtBot

from setupassist.app.selection import Of, Selection
from setupassist.app.window import Window
from setupassist.desk import edits
from setupassist.documents.plan import Clash, Slot, WayOut
from setupassist.documents.terms import StrategyName
from setupassist.words import say
from tests.app.conftest import SAMPLES
from tests.app.line_hands import SHIFT, at, card, drag, drop, lift, move, settle, spot, standing, stations
from tests.conftest import figures, press

PLANNED = {"white base": 2, "flash": 3, "yellow": 5, "red": 6, "black key": 7}
Rest = Callable[[], None]


def arrange(window: Window, at_rest: Rest, things: dict[int, str | None]) -> None:
    """A line arranged by hand; None is a flash."""
    slots = [Slot(lap=1, station=at, holds="screen" if ink else "flash", ink=ink) for at, ink in sorted(things.items())]
    job = window.model.job
    window.model.edit(lambda: edits.arrangement(job, slots, say("desk.edit.field")))
    at_rest()
    settle()


# ------------------------------------------------------------ what is shown


def test_the_line_shows_what_stands_where(opened: Window) -> None:
    place = stations(opened)
    assert standing(place) == PLANNED
    assert place.head.text() == "The leanest line: nothing better within these limits"
    assert place.status() == "leanest, nothing better"
    assert card(place, "red").accessibleName() == "red, screen, station 6"
    assert card(place, "red").accessibleDescription() == "colour, mesh 195 per inch (77 per cm), one stroke"
    assert card(place, "flash").accessibleName() == "flash, station 3"
    assert spot(place, 4).accessibleName() == "station 4: to cool"
    widths = {widget.width() for widget in place.editor.canvas.cards.values()}
    assert len(widths) == 1
    lefts = [card(place, name).x() for name in PLANNED]
    assert lefts == sorted(lefts)


def test_a_pin_is_said_on_the_card(opened: Window, at_rest: Rest) -> None:
    place = stations(opened)
    opened.model.edit(lambda: edits.pin(opened.model.job, "red", 8))
    at_rest()
    settle()
    assert card(place, "red").accessibleName() == "red, screen, station 8, pinned"


def test_the_unit_of_the_mesh_follows_the_window(opened: Window, at_rest: Rest) -> None:
    stations(opened)
    opened.model.prefer(units="metric")
    at_rest()
    place = stations(opened)
    assert card(place, "red").accessibleDescription() == "colour, mesh 77 per cm (195 per inch), one stroke"


# ------------------------------------------------------------ dragging


def test_a_drag_tells_what_every_station_would_cost_and_changes_nothing(opened: Window) -> None:
    place = stations(opened)
    before, red = opened.model.job, card(place, "red")
    lift(red, at(place, 9))
    costs = place.editor.canvas.costs
    assert set(costs) == set(range(2, 10))
    assert costs[6].text == "here"
    assert costs[9].text == "breaks 1"
    assert not costs[9].may
    assert costs[8].may is False
    hover = place.editor.hover
    assert hover is not None
    assert hover.isVisible()
    assert hover.outcome.heading == "red to station 9"
    assert hover.outcome.cost.startswith("breaks 1 limit")
    (limit,) = hover.limits.shown
    assert limit.text == "black key (station 7) prints before red (station 9); it goes after it"
    assert set(limit.places) == {(1, 7), (1, 9)}
    assert place.editor.canvas.leaders == (limit,)
    assert opened.model.job is before
    QTest.keyClick(red, Qt.Key.Key_Escape)
    drop(red, at(place, 9))
    assert not place.editor.dragging
    assert not hover.isVisible()
    assert not place.editor.canvas.costs
    assert opened.model.job is before
    assert not opened.model.undo.count()
    assert not red.lifted


def test_a_drop_on_an_idle_place_moves_and_can_be_undone(opened: Window, at_rest: Rest) -> None:
    place = stations(opened)
    drag(card(place, "black key"), at(place, 9))
    assert standing(place) == PLANNED | {"black key": 9}, "the card is there at once"
    at_rest()
    settle()
    assert standing(place) == PLANNED | {"black key": 9}
    assert place.head.text() == "Arranged by hand"
    assert place.more.text() == "as good as the planner's line in every wish"
    assert opened.model.undo.undoText() == "move black key to 9"
    assert opened.model.selection == Selection(Of.SCREEN, "black key", 9, 1)
    opened.model.undo.undo()
    at_rest()
    settle()
    assert standing(place) == PLANNED
    assert opened.model.job.arrangement is None


def test_a_drop_on_an_occupied_place_swaps(opened: Window, at_rest: Rest) -> None:
    place = stations(opened)
    yellow = card(place, "yellow")
    lift(yellow, at(place, 6))
    assert place.editor.hover is not None
    assert place.editor.hover.outcome.heading == "yellow to station 6; red takes its place"
    drop(yellow, at(place, 6))
    at_rest()
    settle()
    assert standing(place) == PLANNED | {"yellow": 6, "red": 5}


def test_with_shift_the_others_slide_along(opened: Window, at_rest: Rest) -> None:
    place = stations(opened)
    key = card(place, "black key")
    lift(key, at(place, 5))
    assert place.editor.hover is not None
    assert "takes its place" in place.editor.hover.outcome.heading
    QTest.keyPress(key, Qt.Key.Key_Shift)
    assert "the others slide along" in place.editor.hover.outcome.heading
    QTest.keyRelease(key, Qt.Key.Key_Shift)
    assert "takes its place" in place.editor.hover.outcome.heading
    move(key, at(place, 5), SHIFT)
    drop(key, at(place, 5), SHIFT)
    at_rest()
    settle()
    assert standing(place) == PLANNED | {"black key": 5, "yellow": 6, "red": 7}


def test_a_flash_is_dragged_like_a_screen(opened: Window, at_rest: Rest) -> None:
    place = stations(opened)
    drag(card(place, "flash"), at(place, 8))
    at_rest()
    settle()
    assert standing(place)["flash"] == 8
    assert place.head.text().startswith("Arranged by hand, breaks ")
    assert opened.model.undo.undoText() == "move the flash to 8"


def test_a_flash_unit_comes_from_the_shelf_and_makes_room(opened: Window, at_rest: Rest) -> None:
    place = stations(opened)
    (chip,) = place.shelf.chips
    assert chip.accessibleName() == "flash unit"
    drag(chip, at(place, 8))
    at_rest()
    settle()
    assert [s.station for s in opened.model.job.arrangement or () if s.holds == "flash"] == [3, 8]
    drag(place.shelf.chips[0], at(place, 5))
    at_rest()
    settle()
    arranged = {(s.station, s.ink) for s in opened.model.job.arrangement or ()}
    assert arranged == {
        (2, "white base"), (3, None), (5, None), (6, "yellow"), (7, "red"), (8, None), (9, "black key"),
    }  # fmt: skip


def test_a_screen_that_the_line_lacks_is_put_on_from_the_shelf(opened: Window, at_rest: Rest) -> None:
    place = stations(opened)
    arrange(opened, at_rest, {2: "white base", 3: None, 5: "yellow", 7: "black key"})
    chip = next(chip for chip in place.shelf.chips if chip.screen_name == "red")
    assert chip.accessibleName() == "red: not on the line"
    drag(chip, at(place, 6))
    at_rest()
    settle()
    assert standing(place) == PLANNED
    assert not place.editor.line.missing
    assert [chip.screen_name for chip in place.shelf.chips] == [None]


def test_outside_the_line_nothing_is_let_go(opened: Window) -> None:
    place = stations(opened)
    before = opened.model.job
    red = card(place, "red")
    drag(red, at(place, 1))
    drag(red, red.mapToGlobal(QPoint(0, red.height() * 3)))
    drag(red, at(place, 6))
    assert opened.model.job is before


def test_a_click_is_no_drag(opened: Window) -> None:
    place = stations(opened)
    before = opened.model.job
    QTest.mouseClick(card(place, "yellow"), Qt.MouseButton.LeftButton)
    settle()
    assert opened.model.selection == Selection(Of.SCREEN, "yellow", 5, 1)
    QTest.mouseClick(spot(place, 9), Qt.MouseButton.LeftButton)
    settle()
    assert opened.model.selection == Selection(Of.STATION, "", 9, 1)
    QTest.mouseClick(card(place, "flash"), Qt.MouseButton.LeftButton)
    assert opened.model.selection == Selection(Of.STATION, "", 3, 1)
    assert opened.model.job is before


def test_another_plan_under_a_drag_ends_it(opened: Window, at_rest: Rest) -> None:
    place = stations(opened)
    red = card(place, "red")
    lift(red, at(place, 9))
    opened.model.edit(lambda: edits.keep_empty(opened.model.job, 5, True))
    at_rest()
    settle()
    assert not place.editor.dragging
    arranged = opened.model.job.arrangement
    drop(red, at(place, 9))
    assert opened.model.job.arrangement is arranged is None


# ------------------------------------------------------------ broken limits


def test_a_line_with_three_broken_limits_is_kept_and_told(opened: Window, at_rest: Rest) -> None:
    place = stations(opened)
    things = {2: "white base", 3: None, 5: "red", 6: "black key", 9: "yellow"}
    opened.model.edit(lambda: edits.keep_empty(opened.model.job, 9, True))
    opened.model.edit(lambda: edits.pin(opened.model.job, "red", 6))
    arrange(opened, at_rest, things)
    assert standing(place) == {"white base": 2, "flash": 3, "red": 5, "black key": 6, "yellow": 9}
    rows = place.editor.limits.rows
    assert [row.text() for row in rows] == [
        "A  yellow stands at 9, which is to stay empty",
        "B  red stands at 5; it is pinned at 6",
        "C  black key (station 6) prints before yellow (station 9); it goes after it",
    ]
    assert place.head.text() == "Arranged by hand, breaks 3 limits"
    assert card(place, "yellow").card.letters == ("A", "C")
    assert card(place, "red").card.letters == ("B",)
    assert card(place, "white base").card.letters == ()
    assert "black key (station 6) prints before" in card(place, "yellow").accessibleDescription()
    QTest.mouseClick(rows[2], Qt.MouseButton.LeftButton)
    settle()
    assert place.editor.canvas.told_limit == rows[2].limit
    assert [row.isChecked() for row in rows] == [False, False, True]
    assert opened.model.selection.station in (6, 9)
    assert set(rows[2].limit.places) == {(1, 6), (1, 9)}
    for at_place in rows[2].limit.places:
        foot = place.editor._foot(at_place, 2)
        middle = place.editor.canvas.geometry_.middle(at_place[1])
        assert foot is not None
        assert abs(foot - middle) < place.editor.canvas.geometry_.column / 2
    place.findChild(QPushButton, "back-to-planner").click()
    at_rest()
    settle()
    assert opened.model.job.arrangement is None
    assert not place.editor.limits.rows


def test_many_broken_limits_fold(opened: Window, at_rest: Rest) -> None:
    place = stations(opened)
    arrange(opened, at_rest, {2: "black key", 3: "red", 4: "yellow", 9: "white base"})
    limits = place.editor.limits
    assert len(limits.limits) > 6
    assert len(limits.rows) == 6
    assert limits.more.text() == f"and {len(limits.limits) - 6} more"
    limits.more.click()
    settle()
    assert len(limits.rows) == len(limits.limits)
    assert not limits.more.isVisible()


# ------------------------------------------------------------ no line


def test_a_clash_is_told_with_ways_out_that_can_be_taken(
    window: Window, write_job: Callable[..., Path], at_rest: Rest
) -> None:
    window.open([write_job(keep_empty=[6, 7, 8, 9])])
    at_rest()
    place = stations(window)
    assert not place.editor.isVisible()
    assert place.clash.isVisible()
    assert place.head.text() == "No line keeps all these limits together"
    said = [one.text() for one in place.clash.findChildren(QLabel, "clash-limit")]
    assert "–  station 9 is to stay empty" in said
    ways = place.clash.clash.ways_out if place.clash.clash is not None else ()
    helps = [way for way in ways if way.works]
    assert 0 < len(helps) < len(ways)
    assert len(place.clash.buttons) == len(helps)
    place.clash.buttons[0].click()
    at_rest()
    settle()
    assert place.editor.isVisible()
    assert not place.clash.isVisible()
    assert window.model.undo.undoText() == str(helps[0].text)


@pytest.mark.parametrize(("works", "in_vain"), [(2, 0), (1, 3), (0, 9)])
def test_ways_that_do_not_help_are_told_quietly_and_cannot_be_taken(opened: Window, works: int, in_vain: int) -> None:
    view = stations(opened).clash
    tried = [WayOut(text=f"way {n}", change={}, works=n < works) for n in range(works + in_vain)]
    view.tell(Clash(limits=("a limit",), ways_out=tuple(reversed(tried))), by_hand=False)
    assert len(view.buttons) == works == len(view.findChildren(QPushButton, "apply-way"))
    told = view.findChildren(QLabel, "way-in-vain")
    assert len(told) == min(in_vain, 4)
    assert len(view.findChildren(QLabel, "ways-in-vain")) == (1 if in_vain else 0)
    said = [one.text() for one in view.findChildren(QLabel)]
    assert ("and 5 more" in said) == (in_vain == 9)
    view.tell(None, by_hand=False)


def test_a_line_by_hand_stands_although_the_planner_finds_none(
    window: Window, write_job: Callable[..., Path], at_rest: Rest
) -> None:
    window.open([write_job(keep_empty=[6, 7, 8, 9])])
    at_rest()
    arrange(window, at_rest, {2: "white base", 3: None, 4: "yellow", 5: "red", 6: "black key"})
    place = stations(window)
    assert place.editor.isVisible()
    assert place.clash.isVisible()
    assert standing(place)["black key"] == 6
    assert place.head.text() == "Arranged by hand, breaks 1 limit"
    drag(card(place, "black key"), at(place, 7))
    at_rest()
    settle()
    assert standing(place)["black key"] == 7


def test_what_cannot_be_planned_says_why_and_can_be_tried_again(opened: Window, at_rest: Rest) -> None:
    place = stations(opened)
    opened.model.edit(lambda: edits.with_fields(opened.model.job, say("desk.edit.field"), pins={"mauve": 3}))
    at_rest()
    settle()
    assert place.head.text() == "This job cannot be planned as it stands"
    assert "mauve" in place.more.text()
    again = place.findChild(QPushButton, "plan-again")
    assert again.isVisible()
    again.click()
    at_rest()
    settle()
    assert "mauve" in place.more.text()


# ------------------------------------------------------------ below the line


def test_a_strategy_is_chosen_in_the_table(opened: Window, at_rest: Rest) -> None:
    place = stations(opened)
    drag(card(place, "black key"), at(place, 9))
    at_rest()
    settle()
    rows = place.table.rows
    assert rows.index(0, 0).data() == "by hand (shown)"
    place.table.clicked.emit(rows.index(2, 0))
    at_rest()
    settle()
    assert opened.model.job.strategy is StrategyName.CLEANEST
    assert opened.model.job.arrangement is None
    names = [rows.index(row, 0).data() for row in range(rows.rowCount())]
    assert names[1] == "cleanest (shown): same line as leanest"
    place.table.setCurrentIndex(rows.index(0, 0))
    QTest.keyClick(place.table, Qt.Key.Key_Return)
    at_rest()
    assert opened.model.job.strategy is StrategyName.LEANEST


@pytest.mark.parametrize("chosen", StrategyName)
def test_no_name_of_a_strategy_is_cut_in_spanish(opened: Window, at_rest: Rest, chosen: StrategyName) -> None:
    """At 1440 px, where two of the three take the same line as the third."""
    opened.model.prefer(language="es")
    opened.model.edit(lambda: edits.strategy(opened.model.job, chosen.value))
    at_rest()
    table = stations(opened).table
    settle()
    names = [table.rows.index(row, 0).data() for row in range(table.rows.rowCount())]
    assert sum(": como más" in name for name in names) == 2
    asked = [table.sizeHintForIndex(table.rows.index(row, 0)).width() for row in range(len(names))]
    assert max(asked) <= table.columnWidth(0)


def test_the_table_is_a_sound_model(opened: Window, qtmodeltester: Any) -> None:
    place = stations(opened)
    qtmodeltester.check(place.table.rows, force_py=True)
    heads = [place.table.rows.headerData(at, Qt.Orientation.Horizontal) for at in range(8)]
    assert heads == [
        "strategy", "flash units", "wet harm", "against standard order", "missing cooling", "moves from now",
        "pieces an hour, machine / likely", "set-up, min",
    ]  # fmt: skip


def test_the_garment_is_shown_after_every_print_and_leads_to_its_station(window: Window, at_rest: Rest) -> None:
    window.open([SAMPLES / "lantern-walk"])
    place = stations(window)
    at_rest()
    settle()
    at_rest()
    assert [button.after.screen for button in place.strip.buttons] == [
        "white base", "straw yellow", "brick red", "harbour blue", "soot black",
    ]  # fmt: skip
    assert all(button.image is not None for button in place.strip.buttons)
    QTest.mouseClick(place.strip.buttons[2], Qt.MouseButton.LeftButton)
    settle()
    assert window.model.selection.name == "brick red"
    assert place.editor.chosen is card(place, "brick red")
    assert [button.chosen for button in place.strip.buttons] == [False, False, True, False, False]
    assert "no promise of colour" in place.strip_note.text()


def test_what_stands_on_the_press_now_is_told_and_forgotten(opened: Window, at_rest: Rest) -> None:
    place = stations(opened)
    place.findChild(QPushButton, "this-stands-now").click()
    at_rest()
    settle()
    assert opened.model.job.on_press_now[6] == "red"
    assert place.now.text().startswith("white base at 2, flash at 3, yellow at 5, red at 6")
    place.findChild(QPushButton, "nothing-stands-now").click()
    at_rest()
    settle()
    assert not opened.model.job.on_press_now


# ------------------------------------------------------------ large and small


def twenty(**change: Any) -> dict[str, Any]:
    """A job of twelve screens, the base printed twice, on twenty stations in two laps."""
    names = [f"ink {at}" for at in range(1, 12)]
    plates = [{"name": "white base", "role": "base", "lab": [95, 0, 0], "ink_area_cm2": 90}]
    plates += [
        {"name": name, "role": "colour", "lab": [80 - 5 * at, 10, 10], "ink_area_cm2": 40}
        for at, name in enumerate(names)
    ]
    contacts = [{"plates": ["white base", name], "overlap_cm2": 30} for name in names]
    return {
        "plates": figures() | {"plates": plates, "contacts": contacts},
        "press": press() | {"stations": 20, "unload": 20, "heads": list(range(2, 20)), "max_laps": 2,
                            "flash_slots": [3, 5, 12], "out_of_service": [9]},
        "inks": {"white base": {"prints": 2}}, "on_top": [],
    } | change  # fmt: skip


def test_twenty_stations_in_two_laps(
    window: Window, write_job: Callable[..., Path], at_rest: Rest, qtbot: QtBot
) -> None:
    """They scroll sideways with their numbers, roll on under a drag, and take a card into the other lap."""
    free = [s for s in range(5, 20) if s != 9]
    line = [(1, 2, "white base"), (1, 3, None), (2, 2, "white base"), (2, 3, None)]
    line += [(2, free[at], f"ink {at + 1}") for at in range(11)]
    told = [{"lap": lap, "station": s, "holds": "screen" if ink else "flash", "ink": ink} for lap, s, ink in line]
    window.open([write_job(**twenty(arrangement=told))])
    at_rest()
    place = stations(window)
    canvas, editor = place.editor.canvas, place.editor
    bar = editor.scroller.horizontalScrollBar()
    assert editor.line.laps == 2
    assert len(canvas.cards) == 15
    assert canvas.width() > editor.width()
    assert bar.maximum() > 0
    assert editor.scroller.verticalScrollBar().maximum() == 0
    rows = canvas.geometry_.rows
    assert rows[0].end <= rows[1].top
    assert card(place, "white base", 1).x() == card(place, "white base", 2).x()
    window.model.select(Selection(Of.SCREEN, "ink 11", 16, 2))
    settle()
    seen, last = editor.scroller.viewport().rect(), card(place, "ink 11")
    left = last.mapTo(editor.scroller.viewport(), QPoint(0, 0)).x()
    assert seen.left() <= left <= seen.right() - last.width()

    bar.setValue(0)
    lift(card(place, "ink 1"), editor.scroller.viewport().mapToGlobal(QPoint(seen.width() - 4, 60)))
    qtbot.waitUntil(lambda: bar.value() > 30, timeout=5000)
    editor.cancel()
    bar.setValue(0)
    settle()

    drag(card(place, "ink 1"), at(place, 5, lap=1))
    at_rest()
    settle()
    assert card(place, "ink 1").place == (1, 5)
    assert any("white base" in limit.text for limit in editor.line.limits)


@pytest.mark.parametrize("size", [(1100, 700), (3840, 2160)])
@pytest.mark.parametrize("percent", [80, 200])
def test_every_size_of_window_and_text_holds_the_line(opened: Window, size: tuple[int, int], percent: int) -> None:
    opened.resize(*size)
    opened.model.prefer(text_percent=percent)
    settle()
    place = stations(opened)
    canvas = place.editor.canvas
    assert canvas.width() >= canvas.geometry_.wide
    for widget in canvas.cards.values():
        assert canvas.rect().contains(widget.geometry())
        assert widget.wanted_high(widget.width()) <= widget.height() - widget.band
    texts = [part for widget in canvas.cards.values() for part in widget._top(widget.width())]
    assert not [part.lines for part in texts if part.cut]


def test_the_wheel_over_the_line_turns_the_page(opened: Window) -> None:
    opened.resize(1100, 700)
    place = stations(opened)
    page, canvas = place.scroller.verticalScrollBar(), place.editor.canvas
    assert page.maximum() > 0
    over = canvas.mapTo(opened, canvas.rect().center())
    QTest.wheelEvent(opened.windowHandle(), QPointF(over), QPoint(0, -240))
    settle()
    assert page.value() > 0


# ------------------------------------------------------------ motion


def test_cards_slide_to_their_new_stations_where_motion_is_wanted(opened: Window, at_rest: Rest, qtbot: QtBot) -> None:
    place = stations(opened)
    canvas = place.editor.canvas
    assert canvas.motion_ms == 0, "nobody looks at an offscreen window"
    canvas.motion_ms = 1500
    key = card(place, "black key")
    start, end = key.x(), canvas.geometry_.left(8)
    drag(key, at(place, 9))
    assert canvas.sliding
    assert start <= key.x() < end
    qtbot.waitUntil(lambda: not canvas.sliding, timeout=10_000)
    assert key.x() == end
    at_rest()
