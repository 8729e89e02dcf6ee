"""The place of run."""

from __future__ import annotations

from setupassist.app.place import Place


class RunPlace(Place):
    """Not built yet."""

    key = "run"
