"""Trade words and what they mean, for a reader who may ask for any of them."""

from __future__ import annotations

import re
import unicodedata
from dataclasses import dataclass
from functools import cache

from setupassist.resource_files import read_toml
from setupassist.words import languages

BETWEEN_FORMS = "|"


@dataclass(frozen=True)
class Entry:
    """One trade word: ``also`` are its other forms in sentences, ``meaning`` a few plain sentences."""

    id: str
    word: str
    also: tuple[str, ...]
    meaning: str

    @property
    def forms(self) -> tuple[str, ...]:
        """The word and its other forms."""
        return (self.word, *self.also)


@cache
def glossary(language: str) -> tuple[Entry, ...]:
    """Every entry in that language, sorted by its word, accents and case aside; KeyError for an unknown language."""
    if language not in languages():
        raise KeyError(language)
    entries = (
        Entry(id=key, word=entry["word"], also=_parted(entry["also"]), meaning=entry["meaning"])
        for key, entry in read_toml(f"words/{language}/glossary.toml").items()
    )
    return tuple(sorted(entries, key=lambda entry: (_plain(entry.word), entry.word)))


def entry_for(word: str, language: str) -> Entry | None:
    """The entry of a word, one of its forms or its id, in any case; None where the glossary has none."""
    found = _forms(language).get(_folded(word))
    return found or next((entry for entry in glossary(language) if entry.id == _folded(word)), None)


def words_found(text: str, language: str) -> list[tuple[int, int, str]]:
    """(start, end, id of the entry) of each trade word in a text, in order and without overlap.

    Whole words in any case; where several forms begin at one place, the longest is taken. A text that is nothing but
    an entry's id, as a label may be, is found too.
    """
    forms = _forms(language)
    met = ((found.span(), forms.get(_folded(found.group()))) for found in _pattern(language).finditer(text))
    told = [(*span, entry.id) for span, entry in met if entry is not None]  # odd letters match that fold otherwise
    label = text.strip()
    if not told and (entry := entry_for(label, language)) is not None:
        start = text.index(label)
        told.append((start, start + len(label), entry.id))
    return told


@cache
def _forms(language: str) -> dict[str, Entry]:
    return {_folded(form): entry for entry in glossary(language) for form in entry.forms}


@cache
def _pattern(language: str) -> re.Pattern[str]:
    longest_first = sorted(_forms(language), key=lambda form: (-len(form), form))
    told = "|".join(r"\s+".join(re.escape(part) for part in form.split()) for form in longest_first)
    return re.compile(rf"(?<!\w)(?:{told})(?!\w)", re.IGNORECASE)


def _parted(also: str) -> tuple[str, ...]:
    return tuple(form for form in also.split(BETWEEN_FORMS) if form)


def _folded(text: str) -> str:
    """Lower case with single spaces."""
    return " ".join(text.lower().split())


def _plain(text: str) -> str:
    """Lower case without accents, to sort by."""
    return "".join(char for char in unicodedata.normalize("NFD", text.lower()) if not unicodedata.combining(char))
