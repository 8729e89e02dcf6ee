"""The colour that an ink's name tells, in English and in Spanish."""

from __future__ import annotations

import pytest
from PIL import ImageColor

from setupassist.resource_files import read_toml
from setupassist.written_colours import colour_from_name, parse_colour, to_hex

SAME = {
    "blanco": "white", "blanca": "white", "negro": "black", "Negra": "black", "ROJO": "red", "roja": "red",
    "azul": "blue", "amarillo": "yellow", "amarilla": "yellow", "verde": "green", "naranja": "orange",
    "anaranjada": "orange", "morado": "purple", "morada": "purple", "púrpura": "purple", "rosa": "pink",
    "gris": "gray", "dorado": "gold", "dorada": "gold", "oro": "gold", "plateado": "silver", "plata": "silver",
    "celeste": "sky blue", "turquesa": "turquoise", "crema": "cream", "beige": "beige", "granate": "maroon",
    "azul marino": "navy", "azul rey": "royal blue", "verde bosque": "forest", "azul cielo": "sky blue",
    "mostaza": "mustard", "blanco base": "white base", "base blanca": "white base", "línea negra": "black key",
    "01-azul_rey": "royal blue", "tinta roja 2": "red", "rojo ladrillo": "brick", "azul y verde": "green",
}  # fmt: skip


@pytest.mark.parametrize(("spanish", "english"), SAME.items())
def test_a_spanish_name_tells_the_colour_that_the_english_one_tells(spanish: str, english: str) -> None:
    told = colour_from_name(english)
    assert told is not None
    assert colour_from_name(spanish) == told


@pytest.mark.parametrize(("name", "bare"), [("café", "cafe"), ("Marrón", "marron"), ("verde limón", "VERDE LIMON")])
def test_accents_may_be_left_out(name: str, bare: str) -> None:
    told = colour_from_name(name)
    assert told is not None
    assert colour_from_name(bare) == told
    assert colour_from_name(name.replace("é", "e\u0301").replace("ó", "o\u0301")) == told


def test_coffee_is_a_brown_and_wine_a_dark_red() -> None:
    for name in ("café", "vino"):
        red, green, blue = parse_colour(colour_from_name(name) or "")
        assert red > max(green, blue)
        assert red < 128


@pytest.mark.parametrize("name", ["azulejo", "verdes", "grisalla", "rosado2x", "cafetería", "agua"])
def test_only_whole_words_tell(name: str) -> None:
    known = {"rosado2x": "rosado"}
    assert colour_from_name(name) == (colour_from_name(known[name]) if name in known else None)


def test_no_name_of_the_css_standard_is_overruled_but_by_the_trade_s_own() -> None:
    trade = read_toml("trade/colour_words.toml")["words"]
    assert {name for name in trade if name in ImageColor.colormap} == {"silver"}
    for name, value in ImageColor.colormap.items():
        shown = value if isinstance(value, str) else to_hex(value[:3])
        assert colour_from_name(name) == trade.get(name, {"colour": shown})["colour"]
    assert colour_from_name("warm red") == colour_from_name("red")
