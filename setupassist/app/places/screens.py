"""The place of screens."""

from __future__ import annotations

from setupassist.app.place import Place


class ScreensPlace(Place):
    """Not built yet."""

    key = "screens"
