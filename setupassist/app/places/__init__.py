"""The places of the window, one module each, in the order of work."""

from __future__ import annotations

from importlib import import_module
from typing import cast

from setupassist.app.place import Place

KEYS = ("art", "questions", "stations", "screens", "run", "shop")
APART = ("shop",)
"""Those at the foot of the list: they need no job."""


def place_type(key: str) -> type[Place]:
    """The class of a place; its module is fetched when it is wanted first."""
    module = import_module(f"setupassist.app.places.{key}")
    return cast(type[Place], getattr(module, f"{key.capitalize()}Place"))
