"""Maps of cells: local means and islands, by scipy."""

from __future__ import annotations

import importlib
from functools import cache
from typing import Any

import numpy as np
import numpy.typing as npt

Floats = npt.NDArray[np.floating[Any]]
Mask = npt.NDArray[np.bool_]


@cache
def _ndimage() -> Any:
    """scipy.ndimage, brought in when it is first needed; its names are not typed."""
    return importlib.import_module("scipy.ndimage")


def local_mean(cells: npt.NDArray[Any], size: int, *, shift: int = 0) -> Floats:
    """Mean over a square of ``size`` cells round each cell (M, N) float32, 0 beyond the rim; ``shift`` moves the
    square right and down."""
    mean: Floats = _ndimage().uniform_filter(cells.astype(np.float32), size, mode="constant", origin=-shift)
    return mean


def islands_of(mask: Mask) -> list[tuple[slice, slice]]:
    """Rows and columns of every group of set cells that touch, corners included."""
    ndimage = _ndimage()
    labels, _ = ndimage.label(mask, np.ones((3, 3), np.uint8))
    places: list[tuple[slice, slice]] = ndimage.find_objects(labels)
    return places
