"""The place of stations."""

from __future__ import annotations

from setupassist.app.place import Place


class StationsPlace(Place):
    """Not built yet."""

    key = "stations"
