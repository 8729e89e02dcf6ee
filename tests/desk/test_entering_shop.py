"""Typing into the form of an entry: valid together, valid alone, or kept with a sentence."""

from __future__ import annotations

import pytest

from setupassist.desk.entering_shop import entered
from setupassist.desk.shop_entries import Section
from setupassist.documents.store import example_shop
from setupassist.words import words_in

SHOP = example_shop()


def enter(texts, last):
    return entered(SHOP, Section.PRESSES, 0, texts, last=last, units="metric")


def test_a_valid_text_is_taken() -> None:
    got = enter({"crew_seconds": "4.5"}, "crew_seconds")
    assert got.edit is not None
    assert got.edit.shop.presses[0].crew_seconds == 4.5
    assert not got.left
    assert not got.faults


def test_the_same_text_changes_nothing() -> None:
    assert enter({"crew_seconds": "6", "frame_mm": ("584", "787"), "heads": "2-11"}, "heads").edit is None
    assert enter({"max_laps": ""}, "max_laps").edit is None


def test_an_invalid_text_stays_with_its_sentence_and_the_old_value_in_force() -> None:
    got = enter({"stations": "101"}, "stations")
    assert got.edit is None
    assert got.left == {"stations": "101"}
    assert got.faults["stations"] == "must be 2 to 100"


def test_both_ends_of_a_range_are_taken_together() -> None:
    first = enter({"dwell_seconds.from_": "12"}, "dwell_seconds.from_")
    assert first.edit is None
    assert "must not be shorter" in first.faults["dwell_seconds.from_"]
    both = enter({**first.left, "dwell_seconds.to": "20"}, "dwell_seconds.to")
    assert both.edit is not None
    dwell = both.edit.shop.presses[0].dwell_seconds
    assert (dwell.from_, dwell.to) == (12, 20)
    assert not both.left


def test_one_that_is_valid_is_taken_beside_one_that_is_not() -> None:
    got = enter({"stations": "x", "crew_seconds": "3"}, "crew_seconds")
    assert got.edit is not None
    assert got.edit.shop.presses[0].crew_seconds == 3
    assert got.left == {"stations": "x"}
    assert got.faults.keys() == {"stations"}


def test_the_last_wins_where_two_clash() -> None:
    got = enter({"dwell_seconds.from_": "30", "max_laps": "2", "dwell_seconds.to": "0.5"}, "max_laps")
    assert got.edit is not None
    press = got.edit.shop.presses[0]
    assert press.max_laps == 2
    assert got.left.keys() | {"max_laps"} >= {"dwell_seconds.from_"}


@pytest.mark.parametrize("language", ["en", "es"])
def test_sentences_are_said_in_every_language(language: str) -> None:
    got = enter({"stations": "", "heads": "two", "cooling": "maybe", "name": ""}, "name")
    assert got.edit is None
    assert got.faults.keys() == {"stations", "heads", "cooling", "name"}
    for sentence in got.faults.values():
        assert words_in(language)(sentence)
        assert language == "en" or words_in(language)(sentence) != sentence
