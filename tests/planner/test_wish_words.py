"""Wishes in words, in each language."""

from __future__ import annotations

import pytest

from setupassist.planner.wish_words import wish_change_words, wish_value_words, wish_words
from setupassist.planner.wishes import WISHES
from setupassist.words import languages, words_in


@pytest.mark.parametrize("language", languages())
@pytest.mark.parametrize("wish", WISHES)
def test_every_wish_is_worded(wish: str, language: str) -> None:
    words = words_in(language)
    for said in (wish_words(wish), wish_value_words(wish, 1), wish_value_words(wish, 2)):
        assert words(said)
    assert words(wish_change_words(wish, 40)) != words(wish_change_words(wish, -40))


@pytest.mark.parametrize(
    ("wish", "change", "said"),
    [
        ("laps", 1, "1 more lap"), ("flash_units", 2, "2 more flash units"), ("moves", -1, "1 move fewer"),
        ("wet_harm", 4, "1 cm²·ΔE more wet harm"), ("wet_harm", -126, "13 cm²·ΔE less wet harm"),
        ("departures", -2, "2 pairs fewer against the standard order"),
        ("missing_cooling", 1, "1 more flash without cooling"), ("moves", 0, None),
    ],
)  # fmt: skip
def test_changes_in_words(wish: str, change: int, said: str | None) -> None:
    assert wish_change_words(wish, change) == said


def test_values_in_words() -> None:
    assert wish_value_words("flash_units", 1) == "1 flash unit"
    assert wish_value_words("wet_harm", 0.4) == "0.4 cm²·ΔE"
    assert wish_value_words("wet_harm", 126.5) == "126 cm²·ΔE"
    assert words_in("es")(wish_value_words("laps", 2)) == "2 vueltas"
