"""Hands on the line of stations: real mouse and keyboard events on the real window."""

from __future__ import annotations

from PySide6.QtCore import QCoreApplication, QEvent, QPoint, QPointF, Qt
from PySide6.QtGui import QMouseEvent
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication, QWidget

from setupassist.app.line.card import CardWidget, Item
from setupassist.app.places.stations import StationsPlace
from setupassist.app.window import Window

NONE, SHIFT, ALT = (
    Qt.KeyboardModifier.NoModifier,
    Qt.KeyboardModifier.ShiftModifier,
    Qt.KeyboardModifier.AltModifier,
)
LEFT = Qt.MouseButton.LeftButton


def stations(window: Window) -> StationsPlace:
    """The place of stations, opened."""
    window.go("stations")
    settle()
    place = window.places["stations"]
    assert isinstance(place, StationsPlace)
    return place


def settle() -> None:
    """Lets all events in hand be worked off."""
    for _ in range(6):
        QApplication.processEvents()
        QCoreApplication.sendPostedEvents(None, QEvent.Type.DeferredDelete)


def card(place: StationsPlace, name: str, lap: int | None = None) -> CardWidget:
    """The card of a screen, or ``flash``."""
    found = [
        widget
        for widget in place.editor.canvas.cards.values()
        if (widget.card.screen or "flash") == name and lap in (None, widget.card.lap)
    ]
    return min(found, key=lambda widget: widget.place)


def spot(place: StationsPlace, station: int, lap: int = 1) -> Item:
    """What is at a station: a card, else the spot on which nothing stands."""
    item = place.editor.canvas.item_at((lap, station))
    assert item is not None
    return item


def at(place: StationsPlace, station: int, lap: int = 1) -> QPoint:
    """A point on the screen in the middle of a station."""
    canvas = place.editor.canvas
    row = canvas.geometry_.rows[lap - 1]
    return canvas.mapToGlobal(QPoint(canvas.geometry_.middle(station), row.cards + canvas.card_high // 2))


def move(item: QWidget, to: QPoint, modifiers: Qt.KeyboardModifier = NONE) -> None:
    """The mouse, its left button down on ``item``, comes to a point of the screen."""
    event = QMouseEvent(
        QEvent.Type.MouseMove, QPointF(item.mapFromGlobal(to)), QPointF(to), Qt.MouseButton.NoButton, LEFT, modifiers
    )
    QApplication.sendEvent(item, event)
    settle()


def lift(item: QWidget, to: QPoint, modifiers: Qt.KeyboardModifier = NONE) -> None:
    """Presses on an item and carries it to a point of the screen."""
    start = item.mapToGlobal(item.rect().center())
    QTest.mousePress(item, LEFT, modifiers, item.rect().center())
    for share in (0.2, 0.6, 1.0):
        move(item, start + (to - start) * share, modifiers)


def drop(item: QWidget, to: QPoint, modifiers: Qt.KeyboardModifier = NONE) -> None:
    """Lets go of the mouse there."""
    QTest.mouseRelease(item, LEFT, modifiers, item.mapFromGlobal(to))
    settle()


def drag(item: QWidget, to: QPoint, modifiers: Qt.KeyboardModifier = NONE) -> None:
    """Carries an item to a point of the screen and lets it go."""
    lift(item, to, modifiers)
    drop(item, to, modifiers)


def type_key(key: Qt.Key, modifiers: Qt.KeyboardModifier = NONE) -> None:
    """A key on whatever has the focus."""
    settle()
    target = QApplication.focusWidget()
    assert target is not None, "nothing has the focus"
    QTest.keyClick(target, key, modifiers)
    settle()


def standing(place: StationsPlace) -> dict[str, int]:
    """Station of every screen by name, and of the flashes."""
    return {widget.card.screen or "flash": widget.card.station for widget in place.editor.canvas.cards.values()}
