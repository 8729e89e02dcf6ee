"""The place of shop."""

from __future__ import annotations

from setupassist.app.place import Place


class ShopPlace(Place):
    """Not built yet."""

    key = "shop"
    needs_job = False
    has_reasons = False
