"""Colours as they are written: ``#rrggbb``, names of the CSS standard, and colours that an ink's name tells."""

from __future__ import annotations

import re
import unicodedata
from functools import cache

from setupassist.resource_files import read_toml
from setupassist.words import say

RGB8 = tuple[int, int, int]

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


def colour_from_name(name: str) -> str | None:
    """``#rrggbb`` that an ink's name tells, None where it tells none.

    English and Spanish, whole words only, with their accents or none; the longest known phrase wins, and of equal
    ones the last, as in "warm red".
    """
    words = re.findall(r"[a-z]+", _without_accents(name.lower()))
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
    words = read_toml("trade/colour_words.toml")["words"]
    return {_without_accents(str(name)): str(entry["colour"]) for name, entry in words.items()}


def _without_accents(text: str) -> str:
    return "".join(c for c in unicodedata.normalize("NFKD", text) if not unicodedata.combining(c))
