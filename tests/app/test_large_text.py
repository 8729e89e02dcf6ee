"""At twice the size of text in the least window nothing lies over another thing: the page scrolls."""

from __future__ import annotations

from collections.abc import Callable

import pytest
from PySide6.QtCore import QPoint, QRect
from PySide6.QtWidgets import QApplication, QLineEdit, QPushButton, QScrollArea, QWidget

from setupassist.app.window import Window
from tests.app import seen

PARTS = {
    "screens": ("grid-screens", "below"),
    "run": ("sheet-print", "sheet-save-pdf", "sheet-page", "sheet-farther", "sheet-nearer", "sheet-fit", "sheet-paper"),
    "shop": ("shop-name", "shop-import", "shop-example", "shop-search", "shop-entries", "entry-add", "entry-up"),
}


def parts(place: QWidget, key: str) -> dict[str, QRect]:
    """Where the parts that are shown stand in the place."""
    found = {name: getattr(place, name, None) or place.findChild(QWidget, name) for name in PARTS[key]}
    return {
        name: QRect(part.mapTo(place, QPoint(0, 0)), part.size())
        for name, part in found.items()
        if isinstance(part, QWidget) and part.isVisible()
    }


@pytest.mark.parametrize("key", list(PARTS))
def test_nothing_lies_over_another_thing(opened: Window, at_rest: Callable[[], None], key: str) -> None:
    opened.resize(1100, 700)
    opened.model.prefer(text_percent=200)
    opened.go(key)
    at_rest()
    QApplication.processEvents()
    place = opened.places[key]
    stands = parts(place, key)
    assert set(stands) == set(PARTS[key])
    over = [(a, b) for a in stands for b in stands if a < b and stands[a].intersects(stands[b])]
    assert not over
    for widget in (*place.findChildren(QPushButton), *place.findChildren(QLineEdit, "shop-search")):
        if widget.isVisible():
            assert widget.height() >= widget.minimumSizeHint().height(), seen.named(widget)
    page = place.findChild(QScrollArea, "page-of-place")
    assert isinstance(page, QScrollArea)
    assert page.verticalScrollBar().maximum() > 0
