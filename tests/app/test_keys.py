"""Everything is reached and done with keys alone: no shortcut clashes, Tab reaches all, all can be read out."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable
from pathlib import Path

import pytest
from PySide6.QtCore import Qt
from PySide6.QtGui import QAction, QKeySequence, QShortcut
from PySide6.QtWidgets import QAbstractButton, QLabel, QLineEdit, QWidget
from pytestqt.qtbot import QtBot

from setupassist.app.window import Window
from setupassist.desk import edits
from setupassist.words import languages, say
from tests.app import seen
from tests.app.conftest import SAMPLES

PLACES = ("art", "questions", "stations", "screens", "run", "shop")
SOURCES = ("nothing", "figures", "lantern-walk")


def opened_at(window: Window, write_job: Callable[..., Path], source: str) -> None:
    if source != "nothing":
        window.open([write_job() if source == "figures" else SAMPLES / source])


def shortcuts(window: Window) -> list[tuple[str, str]]:
    """(keys, whose they are) of everything that can be chosen now."""
    told = [
        (keys.toString(QKeySequence.SequenceFormat.PortableText), action.objectName())
        for action in window.findChildren(QAction)
        if action.isEnabled()
        for keys in action.shortcuts()
    ]
    told += [
        (short.key().toString(QKeySequence.SequenceFormat.PortableText), short.objectName())
        for short in window.findChildren(QShortcut)
        if short.isEnabled()
    ]
    return told


@pytest.mark.parametrize("source", SOURCES)
def test_no_key_does_two_things(
    window: Window, at_rest: Callable[[], None], write_job: Callable[..., Path], source: str
) -> None:
    opened_at(window, write_job, source)
    at_rest()
    met: Counter[str] = Counter()
    for place in PLACES:
        window.go(place)
        at_rest()
        told = shortcuts(window)
        met.update(keys for keys, _ in told)
        clashes = {keys: [who for other, who in told if other == keys] for keys, _ in told}
        clashes = {keys: who for keys, who in clashes.items() if len(who) > 1}
        assert not clashes, f"{place}: {clashes}"
    assert met["Ctrl+Q"] == len(PLACES)
    assert met["Ctrl+S"] == (0 if source == "nothing" else len(PLACES))


@pytest.mark.parametrize("language", languages())
def test_menus_are_told_apart_by_their_letter(window: Window, language: str) -> None:
    window.model.prefer(language=language)
    letters = [QKeySequence.mnemonic(action.text()).toString() for action in window.menuBar().actions()]
    assert all(letters)
    assert len(set(letters)) == len(letters)


def alike(widget: QWidget) -> list[QWidget]:
    """Those beside it, itself too, from one of which arrow keys lead to the others; [] where none does."""
    above = widget.parentWidget()
    if not isinstance(widget, QAbstractButton) or above is None:
        return []
    group = widget.group()
    if group is not None:
        return list(group.buttons()) if group.exclusive() else []
    siblings = above.findChildren(type(widget), options=Qt.FindChildOption.FindDirectChildrenOnly)
    return [other for other in siblings if other.autoExclusive() == widget.autoExclusive()]


def missed(wanted: list[QWidget], reached: list[QWidget]) -> list[QWidget]:
    """What neither Tab reaches nor an arrow key from something of its kind; arrows that would choose are not tried."""
    found = []
    for widget in wanted:
        first = next((other for other in alike(widget) if other in reached), None)
        if widget in reached or (first is not None and (first.group() or first.autoExclusive())):
            continue
        if first is None or widget not in seen.by_arrows(first):
            found.append(widget)
    return found


@pytest.mark.parametrize("source", [*SOURCES, "by hand", "clash"])
def test_tab_reaches_everything_and_all_can_be_read_out(
    window: Window, at_rest: Callable[[], None], write_job: Callable[..., Path], qtbot: QtBot, source: str
) -> None:
    model = window.model
    opened_at(window, write_job, source if source in SOURCES else "figures")
    if source == "by hand":
        model.edit(lambda: edits.pin(model.job, "red", 7))
        model.edit(lambda: edits.override(model.job, "red", "strokes", 3))
        model.edit(lambda: edits.flash_seconds(model.job, 3, 6.0))
    if source == "clash":
        heads = list(range(4, 10))
        model.edit(lambda: edits.with_fields(model.job, say("desk.edit.field"), keep_empty=heads))
    at_rest()
    window.activateWindow()
    faults = []
    for place in PLACES:
        window.go(place)
        at_rest()
        qtbot.wait(50)
        reached = seen.by_tab(window)
        wanted = seen.to_be_reached(window)
        assert len(wanted) > 6
        faults += [f"{place}: no key reaches {seen.named(widget)}" for widget in missed(wanted, reached)]
        nameless = [widget for widget in {*wanted, *reached} if not seen.read_out(widget).strip()]
        faults += [f"{place}: {seen.named(widget)} has no name to read out" for widget in nameless]
    assert not faults, "\n".join(sorted(set(faults)))


def test_shift_tab_goes_the_same_way_back(opened: Window, at_rest: Callable[[], None], qtbot: QtBot) -> None:
    opened.activateWindow()
    for place in PLACES:
        opened.go(place)
        at_rest()
        qtbot.wait(50)
        there = seen.by_tab(opened)
        back = seen.by_tab(opened, backwards=True)
        # reasons follow what has the focus, and their sentences with it
        assert {w for w in back if not isinstance(w, QLabel)} == {w for w in there if not isinstance(w, QLabel)}, place


def test_what_cannot_be_reached_or_read_is_found(window: Window, qtbot: QtBot) -> None:
    """The searches above find what they are after."""
    window.activateWindow()
    stray = QLineEdit(window.welcome)
    stray.setFocusPolicy(Qt.FocusPolicy.ClickFocus)
    stray.show()
    assert stray in seen.to_be_reached(window)
    assert stray not in seen.by_tab(window)
    assert not seen.read_out(stray)
    twin = QAction("twin", window)
    twin.setShortcut("Ctrl+Q")
    assert Counter(keys for keys, _ in shortcuts(window))["Ctrl+Q"] == 2


def test_letters_typed_at_the_start_change_nothing(opened: Window, qtbot: QtBot) -> None:
    """The keys go to the list of places, not into the job's title."""
    from PySide6.QtWidgets import QApplication

    opened.activateWindow()
    title = opened.model.job.title
    focus = QApplication.focusWidget()
    assert focus is not None
    assert not isinstance(focus, QLineEdit)
    qtbot.keyClicks(focus, "xyz")
    qtbot.keyClick(focus, Qt.Key.Key_Tab)
    assert opened.model.job.title == title
