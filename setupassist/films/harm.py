"""Wet harm: how much a wet ink dirties the ink that is printed onto it before anything gels it.

Single-constant Kubelka–Munk on the three linear sRGB channels: K/S = (1 − R)² / 2R adds up by parts. Colours are
the job's sRGB colours as they are; Lab is under D65 and the 2° observer. It ranks opaque spot inks well and
misleads for transparent and fluorescent inks and for colours outside sRGB.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import numpy.typing as npt

from setupassist.colour import (
    Floats,
    LabTuple,
    ciede2000,
    lab_to_srgb,
    linear_to_srgb,
    parse_colour,
    srgb_to_lab,
    srgb_to_linear,
)

MODEL = "single-constant"
PART = 0.1
LEAST_REFLECTANCE, MOST_REFLECTANCE = 0.01, 0.99
TENTHS = 10


def absorption_ratio(reflectance: Floats) -> Floats:
    """K/S of reflectance 0..1, held within 0.01..0.99 first."""
    held = np.clip(reflectance, LEAST_REFLECTANCE, MOST_REFLECTANCE)
    return np.asarray((1.0 - held) ** 2 / (2.0 * held), dtype=np.float64)


def masstone(ratio: Floats) -> Floats:
    """Reflectance 0..1 of a hiding film of that K/S: the inverse of :func:`absorption_ratio`."""
    return np.asarray(1.0 / (1.0 + ratio + np.sqrt(ratio * (ratio + 2.0))), dtype=np.float64)


Colour = str | LabTuple
"""A colour as text, or as Lab (D65, 2°) where nothing told it as text."""


def shifts(colours: Sequence[Colour]) -> Floats:
    """(N, N) CIEDE2000 between ink j (column) and the mix of nine parts j with one part i (row); diagonal 0."""
    if not colours:
        return np.zeros((0, 0))
    srgb = np.array([_srgb(colour) for colour in colours], dtype=np.float64)
    ratio = absorption_ratio(srgb_to_linear(srgb))
    mixed = masstone((1.0 - PART) * ratio[None, :, :] + PART * ratio[:, None, :])
    lab_mixed = srgb_to_lab(linear_to_srgb(mixed))
    difference = ciede2000(np.broadcast_to(srgb_to_lab(srgb)[None, :, :], lab_mixed.shape), lab_mixed)
    np.fill_diagonal(difference, 0.0)
    return difference


def _srgb(colour: Colour) -> Floats:
    """sRGB 0..1, what lies outside clipped."""
    if isinstance(colour, str):
        return np.array(parse_colour(colour), dtype=np.float64) / 255
    return lab_to_srgb(np.array(colour, dtype=np.float64))


def shift(colour_i: str, colour_j: str) -> float:
    """CIEDE2000 between ink j and ink j that carries a tenth of ink i."""
    return float(shifts((colour_i, colour_j))[0, 1])


def wet_harm(
    colours: Sequence[Colour],
    areas_cm2: Sequence[float],
    overlaps_cm2: npt.ArrayLike,
    *,
    touch: float = 0.05,
    unseen_delta_e: float = 1.5,
) -> tuple[tuple[int, ...], ...]:
    """(N, N) wet harm of row ink printed before column ink, in whole tenths of cm²·ΔE; diagonal 0.

    ``shift × (overlap + touch × the smaller of the two ink areas)``, and 0 where that, divided by the column's
    own ink area, stays under ``unseen_delta_e``. ``overlaps_cm2`` is (N, N) and symmetric. Raises ValueError where
    the shapes differ.
    """
    areas = np.asarray(areas_cm2, dtype=np.float64)
    overlaps = np.asarray(overlaps_cm2, dtype=np.float64)
    count = len(colours)
    if areas.shape != (count,) or (overlaps.shape != (count, count) and count):
        raise ValueError(f"{count} colours want {count} areas and overlaps of {count} by {count}")
    if not count:
        return ()
    harm = shifts(colours) * (overlaps + touch * np.minimum(areas[:, None], areas[None, :]))
    np.fill_diagonal(harm, 0.0)
    seen = harm >= unseen_delta_e * areas[None, :]
    tenths = np.rint(np.where(seen & (areas[None, :] > 0), harm, 0.0) * TENTHS).astype(int)
    return tuple(tuple(int(value) for value in row) for row in tenths)
