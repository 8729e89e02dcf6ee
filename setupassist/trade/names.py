"""What names tell: an ink's, the role of its screen and whether it is a process ink; a location's, its usual words."""

from __future__ import annotations

import re
from collections.abc import Collection
from functools import cache, lru_cache
from typing import Literal

from setupassist.documents.terms import Role
from setupassist.resource_files import read_toml
from setupassist.words import ENGLISH, say, words_in

ProcessInk = Literal["yellow", "magenta", "cyan", "black"]
PROCESS_ORDER: tuple[ProcessInk, ...] = ("yellow", "magenta", "cyan", "black")


def words_of(name: str) -> tuple[str, ...]:
    """The words of a name in lower case; digits, hyphens and underscores part them."""
    return tuple(re.findall(r"[^\W\d_]+", name.lower()))


def role_from_name(name: str) -> Role:
    """The role that whole words of an ink's name tell, else colour."""
    return role_told_by(name) or Role.COLOUR


@lru_cache(maxsize=4096)
def role_told_by(name: str) -> Role | None:
    """The role that whole words of an ink's name tell, None where they tell none.

    The longest phrase of ``role_words.toml`` wins; of equally long ones the one that the file lists first.
    """
    words = words_of(name)
    best, length = None, 0
    for role, phrases in _role_phrases():
        for phrase in phrases:
            if len(phrase) > length and _holds(words, phrase):
                best, length = role, len(phrase)
    return best


def process_ink(name: str) -> ProcessInk | None:
    """Which process ink the whole name means, None where it means none ("light cyan" does not)."""
    words = words_of(name)
    for ink, phrases in _process_phrases():
        if words in phrases:
            return ink
    return None


def process_inks(names: Collection[str]) -> dict[str, ProcessInk]:
    """The process inks of a set; beside cyan and magenta a plain yellow, black or key is one too."""
    found = {name: ink for name in names if (ink := process_ink(name)) is not None}
    if {"cyan", "magenta"} <= set(found.values()):
        plain: dict[str, ProcessInk] = {"yellow": "yellow", "black": "black", "key": "black"}
        for word, ink in plain.items():
            named = sorted(name for name in names if words_of(name) == (word,))
            if named and ink not in found.values():
                found[named[0]] = ink
    return found


def _holds(words: tuple[str, ...], phrase: tuple[str, ...]) -> bool:
    return any(words[start : start + len(phrase)] == phrase for start in range(len(words) - len(phrase) + 1))


@cache
def _role_phrases() -> tuple[tuple[Role, tuple[tuple[str, ...], ...]], ...]:
    table = read_toml("trade/role_words.toml")["roles"]
    return tuple((Role(role), tuple(words_of(phrase) for phrase in phrases)) for role, phrases in table.items())


@cache
def _process_phrases() -> tuple[tuple[ProcessInk, tuple[tuple[str, ...], ...]], ...]:
    table = read_toml("trade/role_words.toml")["process"]
    return tuple((ink, tuple(words_of(phrase) for phrase in table[ink])) for ink in PROCESS_ORDER)


def location_words(location: str) -> str:
    """Where on the garment, as a person reads it; what is no usual place is somebody's own words and stays."""
    key = f"terms.location.{location.replace(' ', '-')}"
    return say(key) if words_in(ENGLISH).knows(key) else location
