"""The glossary: every entry whole in every language, words found in sentences, nothing found where no word stands."""

from __future__ import annotations

import re
import time

import pytest
from hypothesis import given
from hypothesis import strategies as st

from setupassist.documents.terms import InkSystem, Kind, Role, StrategyName
from setupassist.trade.cautions import cautions
from setupassist.trade.glossary import Entry, entry_for, glossary, words_found
from setupassist.words import languages, say, words_in

WANTED = [
    "plate", "ink", "separation", "film-positive", "tone", "kind", "solid", "halftone", "stochastic", "ruling",
    "angle", "mesh", "thread", "opening", "open-area", "ink-volume", "screen", "frame", "squeegee", "shore",
    "stroke", "flood", "off-contact", "stencil", "emulsion", "tension", "base", "blocker", "choke", "peek-out",
    "key", "highlight", "metallic", "glitter", "puff", "high-density", "clear", "reflective", "adhesive",
    "discharge", "plastisol", "water-based", "silicone", "acrylic", "dye-bleed", "station", "head", "flash-unit",
    "flash", "gel", "cure", "cooling-station", "lap", "slot", "load", "unload", "index", "dwell", "pace",
    "wet-on-wet", "wet-harm", "departure", "standard-order", "overlap", "shared-edge", "coverage", "register",
    "registration-mark", "register-offset", "moire", "pin", "limit", "wish", "strategy", "leanest", "cleanest",
    "quickest-changeover", "setup", "spoilage", "test-print", "dryer", "belt-speed", "garment", "platen",
    "platen-adhesive",
]  # fmt: skip


def told(text: str, language: str = "en") -> list[tuple[str, str]]:
    return [(text[start:end], entry) for start, end, entry in words_found(text, language)]


@pytest.mark.parametrize("language", languages())
def test_every_word_that_a_hire_may_ask_for_has_a_meaning(language: str) -> None:
    entries = {entry.id: entry for entry in glossary(language)}
    assert set(WANTED) <= set(entries)
    for entry in entries.values():
        assert entry.word == entry.word.strip() != ""
        assert entry.meaning.endswith(".")
        assert 40 < len(entry.meaning) < 420, entry.id
        assert 1 <= len(re.findall(r"\.(?: |$)", entry.meaning)) <= 4, entry.id
        assert "!" not in entry.meaning


@pytest.mark.parametrize("language", languages())
def test_no_form_belongs_to_two_words(language: str) -> None:
    forms = [form.lower() for entry in glossary(language) for form in entry.forms]
    assert len(forms) == len(set(forms))
    assert all(form == " ".join(form.split()) != "" for form in forms)


def test_the_languages_hold_the_same_words_told_differently() -> None:
    english = {entry.id: entry for entry in glossary("en")}
    spanish = {entry.id: entry for entry in glossary("es")}
    assert english.keys() == spanish.keys()
    assert [key for key in english if english[key].meaning == spanish[key].meaning] == []
    with pytest.raises(KeyError):
        glossary("xx")


def test_entries_are_sorted_by_word_accents_aside() -> None:
    english = [entry.word.lower() for entry in glossary("en") if entry.word.isascii()]
    assert english == sorted(english)
    spanish = [entry.id for entry in glossary("es")]
    assert spanish.index("angle") < spanish.index("base")  # ángulo stands under a
    assert spanish.index("open-area") < spanish.index("moire")


@pytest.mark.parametrize("language", languages())
def test_terms_of_the_closed_sets_have_an_entry(language: str) -> None:
    words = words_in(language)
    terms = [f"terms.role.{role.value}" for role in Role if role is not Role.COLOUR]
    terms += [f"terms.kind.{kind.value}" for kind in Kind if kind is not Kind.EMPTY]
    terms += [f"terms.ink_system.{system.value}" for system in InkSystem]
    terms += [f"terms.strategy.{strategy.value}" for strategy in StrategyName]
    for term in terms:
        word = words(say(term))
        assert words_found(word, language), word


def test_every_form_is_found_and_leads_to_its_entry() -> None:
    for language in languages():
        for entry in glossary(language):
            for form in entry.forms:
                assert entry_for(form, language) is entry
                assert entry_for(form.upper(), language) is entry
                assert words_found(f"({form.capitalize()}).", language) == [(1, 1 + len(form), entry.id)]
    assert entry_for("teapot", "en") is None
    assert entry_for("clear", "en") is entry_for("clear ink", "en")
    assert entry_for("  Wet   on wet ", "en") == entry_for("wet together", "en")


@pytest.mark.parametrize(
    ("text", "found"),
    [
        ("Flash after the under-base.", [("Flash", "flash"), ("under-base", "base")]),
        ("two FLASH UNITS, wet on wet", [("FLASH UNITS", "flash-unit"), ("wet on wet", "wet-on-wet")]),
        ("a cooling\nstation", [("cooling\nstation", "cooling-station")]),
        ("baseball, keyboard, flashy, inkling, thinking", []),
        ("", []),
        ("low-bleed base under ink", [("low-bleed base", "low-bleed"), ("ink", "ink")]),
        ("ΔE 5 above", [("ΔE", "delta-e")]),
        (" clear ", [("clear", "clear")]),
        ("keep clear of it", []),
    ],
)
def test_whole_words_longest_first(text: str, found: list[tuple[str, str]]) -> None:
    assert told(text) == found


def test_spanish_words_are_found() -> None:
    text = "Presecar después de la base; mojado sobre mojado en la estación de descarga, ángulo a 22.5°"
    assert told(text, "es") == [
        ("Presecar", "flash"),
        ("base", "base"),
        ("mojado sobre mojado", "wet-on-wet"),
        ("estación de descarga", "unload"),
        ("ángulo", "angle"),
    ]
    assert told("la descarga trabaja mojada", "es") == [("descarga", "discharge")]


@given(
    st.lists(st.sampled_from(["flash", "unit", "Units", "under", "-", "base", " ", "wet", "on", "ſtation", "İnk", "x"]))
)
def test_what_is_found_lies_in_order_without_overlap(parts: list[str]) -> None:
    text = "".join(parts)
    at = 0
    for start, end, entry in words_found(text, "en"):
        assert at <= start < end <= len(text)
        assert any(known.id == entry for known in glossary("en"))
        assert not (start and text[start - 1].isalnum())
        assert not (end < len(text) and text[end].isalnum())
        at = end


def test_a_page_of_text_is_looked_through_quickly() -> None:
    page = " ".join(caution.text for caution in cautions().values())
    words_found("warm up", "en")
    began = time.perf_counter()
    found = words_found(page, "en")
    assert time.perf_counter() - began < 0.25
    assert len(found) > 50


def test_an_entry_knows_all_its_forms() -> None:
    assert Entry("x", "word", ("words",), "m").forms == ("word", "words")
