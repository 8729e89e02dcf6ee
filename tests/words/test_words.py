"""Sentences by id: English as it stands, another language later, and nothing lost on the way through documents."""

from __future__ import annotations

import pickle
import string
from copy import deepcopy

import pytest

from setupassist.documents.base import Document, Text
from setupassist.words import (
    Said,
    Words,
    changed_outside_braces,
    ids,
    joined,
    languages,
    say,
    wanted_language,
    words_in,
)


class Note(Document):
    text: Text


def test_what_was_said_is_english_text() -> None:
    said = say("terms.role.high-density")
    assert said == "high density"
    assert hash(said) == hash("high density")
    assert words_in("es")(said) == "alta densidad"


def test_nested_values_are_worded_too() -> None:
    listed = joined([say("terms.role.base"), "warm red", say("terms.role.key")])
    assert listed == "base, warm red, key"
    assert words_in("es")(listed) == "base, warm red, línea"


def test_own_text_stays() -> None:
    assert words_in("es")("base") == "base"
    assert words_in("es")("warm red {x}") == "warm red {x}"


def test_a_document_keeps_what_was_said_and_writes_english() -> None:
    note = Note(text=say("terms.kind.solid"))
    assert isinstance(note.text, Said)
    assert words_in("es")(note.model_copy().text) == "plasta"
    assert note.model_dump(mode="json") == {"text": "solid"}
    assert note.model_dump_json() == '{"text":"solid"}'
    assert Note.model_validate_json(note.model_dump_json()).text == "solid"


@pytest.mark.parametrize("copy", [deepcopy, lambda said: pickle.loads(pickle.dumps(said))])
def test_copies_remember(copy) -> None:
    said = joined([say("terms.role.key"), "x"], "; ")
    assert words_in("es")(copy(said)) == "línea; x"


def test_an_unknown_id_or_language_is_our_bug() -> None:
    with pytest.raises(KeyError):
        say("terms.role.nonesuch")
    with pytest.raises(KeyError):
        words_in("xx")


def test_templates_change_outside_their_fields() -> None:
    assert changed_outside_braces("an {ink:>3} and {{more}}", str.upper) == "AN {ink:>3} AND {{MORE}}"
    assert Words("en", str.upper)(say("terms.role.base")) == "BASE"


@pytest.mark.parametrize(
    ("told", "language"),
    [
        ({}, "en"), ({"LANG": "es_MX.UTF-8"}, "es"), ({"LANG": "C.UTF-8"}, "en"), ({"LANG": "fr_FR"}, "en"),
        ({"SETUPASSIST_LANGUAGE": "en", "LANG": "es_ES"}, "en"), ({"LC_ALL": "es", "LANG": "en_US"}, "es"),
    ],
)  # fmt: skip
def test_the_environment_asks_for_a_language(told, language) -> None:
    assert wanted_language(told) == language


def fields(template) -> set[str]:
    texts = [template] if isinstance(template, str) else list(template.values())
    return {field for text in texts for _, field, _, _ in string.Formatter().parse(text) if field is not None}


@pytest.mark.parametrize("language", languages()[1:])
def test_every_language_says_all_that_english_says_with_the_same_values(language) -> None:
    english, other = ids("en"), ids(language)
    assert english.keys() == other.keys()
    for key, template in english.items():
        assert isinstance(template, str) == isinstance(other[key], str), key
        assert fields(template) == fields(other[key]), key
