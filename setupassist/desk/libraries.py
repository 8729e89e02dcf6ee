"""Heavy libraries, fetched before anybody waits for them."""

from __future__ import annotations

import importlib

from setupassist.desk.tasks import Progress, Stop

HEAVY = (
    "PIL.Image",
    "setupassist.appearance.thumbnails",
    "scipy.ndimage",
    "skimage.color",
    "setupassist.inspection.survey",
    "setupassist.pipeline",
    "ortools.sat.python.cp_model",
    "setupassist.check.findings",
    "setupassist.sheet.pictures",
    "setupassist.sheet.book",
    "setupassist.trade.glossary",
    "pypdfium2",
)
"""In the order in which a job wants them."""


def fetch_ahead(progress: Progress, stop: Stop) -> None:
    """Imports them one by one; what is there already costs nothing."""
    for name in HEAVY:
        if stop():
            return
        importlib.import_module(name)
