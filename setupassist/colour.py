"""Colours: sRGB text, CIE Lab under D65 and the 2° observer, CIEDE2000, and colours that a name tells.

Arrays are (..., 3). sRGB is 0..1; Lab is L* 0..100. Conversions and the difference are scikit-image's.
"""

from __future__ import annotations

import re
from functools import cache

import numpy as np
import numpy.typing as npt

from setupassist.resource_files import read_toml
from setupassist.words import say

Floats = npt.NDArray[np.float64]
RGB8 = tuple[int, int, int]
LabTuple = tuple[float, float, float]

_HEX = re.compile(r"#([0-9a-fA-F]{6}|[0-9a-fA-F]{3})")


def parse_colour(text: str) -> RGB8:
    """sRGB bytes of ``#rrggbb``, ``#rgb`` or a name of the CSS standard.

    Raises ValueError where the text is neither.
    """
    found = _HEX.fullmatch(text.strip())
    if found:
        digits = found.group(1)
        if len(digits) == 3:
            digits = "".join(c * 2 for c in digits)
        return int(digits[:2], 16), int(digits[2:4], 16), int(digits[4:], 16)
    named = _css_names().get(text.strip().lower().replace(" ", ""))
    if named is None:
        raise ValueError(say("errors.colour.no-colour", text=text))
    return parse_colour(named)


def to_hex(rgb: RGB8) -> str:
    """``#rrggbb`` of sRGB bytes."""
    return "#{:02x}{:02x}{:02x}".format(*rgb)


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
    from skimage.color import rgb2lab

    return np.asarray(rgb2lab(np.asarray(rgb, dtype=np.float64)), dtype=np.float64)


def lab_to_srgb(lab: Floats) -> Floats:
    """sRGB (..., 3) clipped to 0..1 of Lab (..., 3) under D65 and the 2° observer."""
    import warnings

    from skimage.color import lab2rgb

    with warnings.catch_warnings():
        warnings.simplefilter("ignore", UserWarning)  # colours outside sRGB are clipped on purpose
        return np.clip(np.asarray(lab2rgb(np.asarray(lab, dtype=np.float64)), dtype=np.float64), 0.0, 1.0)


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


def colour_from_name(name: str) -> str | None:
    """``#rrggbb`` that an ink's name tells, None where it tells none.

    Whole words only; the longest known phrase wins, and of equal ones the last, as in "warm red".
    """
    words = re.findall(r"[a-z]+", name.lower())
    known = _css_names() | _trade_words()
    for length in range(min(3, len(words)), 0, -1):
        for start in range(len(words) - length, -1, -1):
            phrase = words[start : start + length]
            for key in (" ".join(phrase), "".join(phrase)):
                if key in known:
                    return known[key]
    return None


@cache
def _css_names() -> dict[str, str]:
    from PIL import ImageColor

    return {
        name: value if isinstance(value, str) else to_hex((value[0], value[1], value[2]))
        for name, value in ImageColor.colormap.items()
    }


@cache
def _trade_words() -> dict[str, str]:
    return {str(name): str(entry["colour"]) for name, entry in read_toml("trade/colour_words.toml")["words"].items()}
