"""Colours: CIE Lab under D65 and the 2° observer, CIEDE2000; with those as they are written.

Arrays are (..., 3). sRGB is 0..1; Lab is L* 0..100.
"""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from setupassist.written_colours import RGB8, colour_from_name, parse_colour, to_hex

__all__ = [
    "RGB8", "LabTuple", "ciede2000", "colour_from_name", "hex_of_lab", "lab_of", "lab_to_srgb", "linear_to_srgb",
    "parse_colour", "srgb_to_lab", "srgb_to_linear", "to_hex",
]  # fmt: skip

Floats = npt.NDArray[np.float64]
LabTuple = tuple[float, float, float]

XYZ_OF_RGB = np.array([[0.412453, 0.357580, 0.180423], [0.212671, 0.715160, 0.072169], [0.019334, 0.119193, 0.950227]])
"""Linear sRGB to XYZ (ITU-R BT.709 primaries, D65), as scikit-image has it."""
WHITE = np.array([0.95047, 1.0, 1.08883])
"""D65, 2° observer."""
LINEAR_BELOW, SLOPE, OFFSET = 0.008856, 7.787, 16 / 116
"""CIE 15: below that share of white, lightness is a straight line."""


def lab_of(text: str) -> LabTuple:
    """Lab (D65, 2°) of a colour written as text."""
    lab = srgb_to_lab(np.array(parse_colour(text), dtype=np.float64) / 255)
    return float(lab[0]), float(lab[1]), float(lab[2])


def hex_of_lab(lab: LabTuple) -> str:
    """Nearest ``#rrggbb`` inside sRGB of a Lab colour (D65, 2°)."""
    rgb = np.rint(lab_to_srgb(np.array(lab, dtype=np.float64)) * 255).astype(int)
    return to_hex((int(rgb[0]), int(rgb[1]), int(rgb[2])))


def srgb_to_lab(rgb: Floats) -> Floats:
    """Lab (..., 3) under D65 and the 2° observer of sRGB (..., 3) in 0..1."""
    share = srgb_to_linear(rgb) @ XYZ_OF_RGB.T / WHITE
    x, y, z = np.moveaxis(np.where(share > LINEAR_BELOW, np.cbrt(share), SLOPE * share + OFFSET), -1, 0)
    return np.stack((116 * y - 16, 500 * (x - y), 200 * (y - z)), axis=-1)


def lab_to_srgb(lab: Floats) -> Floats:
    """sRGB (..., 3) clipped to 0..1 of Lab (..., 3) under D65 and the 2° observer."""
    lightness, a, b = np.moveaxis(np.asarray(lab, dtype=np.float64), -1, 0)
    y = (lightness + 16) / 116
    share = np.stack((y + a / 500, y, np.maximum(y - b / 200, 0.0)), axis=-1)
    xyz = np.where(share > np.cbrt(LINEAR_BELOW), share**3, (share - OFFSET) / SLOPE) * WHITE
    return linear_to_srgb(xyz @ np.linalg.inv(XYZ_OF_RGB).T)


def srgb_to_linear(rgb: Floats) -> Floats:
    """Linear light 0..1 of sRGB 0..1 (IEC 61966-2-1)."""
    rgb = np.asarray(rgb, dtype=np.float64)
    return np.where(rgb <= 0.04045, rgb / 12.92, ((rgb + 0.055) / 1.055) ** 2.4)


def linear_to_srgb(linear: Floats) -> Floats:
    """SRGB 0..1 of linear light 0..1 (IEC 61966-2-1)."""
    linear = np.clip(np.asarray(linear, dtype=np.float64), 0.0, 1.0)
    return np.where(linear <= 0.0031308, linear * 12.92, 1.055 * linear ** (1 / 2.4) - 0.055)


def ciede2000(one: Floats, two: Floats) -> Floats:
    """CIEDE2000 difference of Lab arrays (..., 3), broadcast; shape (...)."""
    from skimage.color import deltaE_ciede2000

    return np.asarray(deltaE_ciede2000(one, two), dtype=np.float64)  # type: ignore[no-untyped-call]
