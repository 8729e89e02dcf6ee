"""The place of art."""

from __future__ import annotations

from setupassist.app.place import Place


class ArtPlace(Place):
    """Not built yet."""

    key = "art"
