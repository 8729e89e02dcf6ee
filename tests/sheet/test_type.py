"""Type: text made safe, broken and fitted."""

import pytest

from setupassist.resource_files import read_bytes, read_text
from setupassist.sheet.type import (
    REGULAR,
    SEMIBOLD,
    broken_lines,
    clean,
    fitted,
    lead,
    paragraph,
    safe,
    sentence,
    shortened,
    strong,
    width_of,
)


def test_characters_the_font_lacks_become_a_question_mark():
    assert clean("雪 snow, Ж, é, µ, 😀") == "? snow, Ж, é, µ, ?"


def test_control_characters_and_lines_become_spaces():
    assert clean("a\nb\x00c\td") == "a b c d"


def test_markup_is_escaped():
    assert safe("<b>&") == "&lt;b&gt;&amp;"
    assert "&lt;i&gt;" in strong("<i>")
    assert "&amp;" in lead("a & b")
    paragraph(strong("<para>") + lead("</font>") + safe("<img src='x'/>")).wrap(200, 200)


def test_lines_are_no_wider_than_asked_and_lose_nothing():
    text = "Donaudampfschifffahrtsgesellschaft is a long word, this is not"
    for width in (30.0, 55.0, 80.0, 400.0):
        lines, cut = broken_lines(text, REGULAR, 9, width)
        assert all(width_of(line, REGULAR, 9) <= width for line in lines)
        assert "".join("".join(lines).split()) == "".join(text.split())
        assert cut == (width < 100)


def test_fitting_takes_the_largest_size_that_breaks_no_word():
    size, lines = fitted("harbour blue", SEMIBOLD, (10.5, 9.0, 8.0), 50.0, 3)
    assert (size, lines) == (10.5, ["harbour", "blue"])
    narrow = width_of("harbour", SEMIBOLD, 9.0)
    assert fitted("harbour blue", SEMIBOLD, (10.5, 9.0, 8.0), narrow, 3)[0] == 9.0
    assert fitted("harbourblueagain", SEMIBOLD, (10.5, 9.0, 8.0), 20.0, 3)[0] == 8.0


def test_shortening_ends_in_an_ellipsis_and_fits():
    short = shortened("a rather long line of words", REGULAR, 9, 60)
    assert short.endswith("…")
    assert width_of(short, REGULAR, 9) <= 60
    assert shortened("short", REGULAR, 9, 60) == "short"


@pytest.mark.parametrize("weight", ["Regular", "Semibold", "Bold", "It"])
def test_figures_are_tabular(weight):
    name = {"Regular": REGULAR, "Semibold": SEMIBOLD, "Bold": "Sheet-Bold", "It": "Sheet-Italic"}[weight]
    assert len({round(width_of(digit, name, 1000)) for digit in "0123456789"}) == 1
    assert read_bytes(f"fonts/SourceSansPro-{weight}.ttf")[:4] == b"\x00\x01\x00\x00"


def test_the_typefaces_licence_is_shipped():
    licence = read_text("fonts/OFL.txt")
    assert "SIL OPEN FONT LICENSE" in licence
    assert "Reserved Font Name 'Source'" in licence


def test_a_sentence_has_a_capital_a_stop_and_no_markup():
    assert sentence("before a & b: they lie over it") == "Before a &amp; b: they lie over it."
    assert sentence("Gels it.") == "Gels it."
