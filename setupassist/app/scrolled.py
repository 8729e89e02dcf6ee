"""A page that scrolls where the window is too small for it, instead of laying its parts over one another."""

from __future__ import annotations

from PySide6.QtCore import Qt
from PySide6.QtWidgets import QScrollArea, QVBoxLayout, QWidget


def scrolled(place: QWidget) -> QWidget:
    """Fills a place with a page that is as large as the place, yet never smaller than its parts take; the page."""
    page = QWidget()
    area = QScrollArea()
    area.setObjectName("page-of-place")
    area.setWidgetResizable(True)
    area.setFocusPolicy(Qt.FocusPolicy.NoFocus)
    area.setWidget(page)
    around = QVBoxLayout(place)
    around.setContentsMargins(0, 0, 0, 0)
    around.addWidget(area)
    return page
