"""Sentences that know how they were made, so that any face can say them in its own language.

The core says things with ``say("planner.order", ink=…, after=…)``. What comes back is a ``Said``: English text, usable
as any other text, that remembers its id and values. A face words it anew: ``words_in("es")(said)``. Nested values
(a role, a list of names, another sentence) are worded with it; what is no ``Said`` is somebody's own text and stays.

A catalogue is a folder of TOML files, ``resources/words/LANGUAGE/ROOM.toml``; the first part of an id names the file,
the rest the keys in it. An entry is a text with ``{names}`` of values, formatted as by ``str.format``, or a table with
``one`` and ``other``, chosen by the value called ``count``.
"""

from __future__ import annotations

import os
import string
from collections.abc import Callable, Iterable, Mapping
from functools import cache
from typing import Any

from setupassist.resource_files import names_in, read_toml

ENGLISH = "en"
PLURAL = frozenset({"one", "other"})

Template = str | Mapping[str, str]


class Said(str):
    """English text that remembers the id and the values it was made from.

    Equal to, and hashed as, its English text.
    """

    __slots__ = ("key", "values")

    key: str
    values: Mapping[str, Any]

    def __new__(cls, key: str, values: Mapping[str, Any]) -> Said:
        made = super().__new__(cls, words_in(ENGLISH).say(key, **values))
        made.key, made.values = key, dict(values)
        return made

    def __reduce__(self) -> tuple[Any, ...]:
        return Said, (self.key, self.values)


class Joined(Said):
    """Several texts in a row with the same separator between them."""

    __slots__ = ()

    def __new__(cls, key: str, values: Mapping[str, Any]) -> Joined:
        made = str.__new__(cls, values["between"].join(str(part) for part in values["parts"]))
        made.key, made.values = key, dict(values)
        return made

    def __reduce__(self) -> tuple[Any, ...]:
        return Joined, (self.key, self.values)


def say(key: str, /, **values: Any) -> Said:
    """The text of that id with its values; KeyError where the English catalogue has no such id or value."""
    return Said(key, values)


def joined(parts: Iterable[str], between: str = ", ") -> Said:
    """The texts in a row; ``between`` is punctuation, not words."""
    return Joined("joined", {"parts": tuple(parts), "between": between})


class Words:
    """One language: says ids, and words again what was said.

    ``changed`` alters every template before it is filled in; tests use it to see what does not come from a catalogue.
    """

    def __init__(self, language: str, changed: Callable[[str], str] | None = None) -> None:
        self.language, self._changed = language, changed

    def __call__(self, text: str) -> str:
        """``text`` in this language where it was said by id; as it is where it is somebody's own."""
        if isinstance(text, Joined):
            parts: tuple[str, ...] = text.values["parts"]
            return str(text.values["between"]).join(self(part) for part in parts)
        if isinstance(text, Said):
            return self.say(text.key, **text.values)
        return text

    def say(self, key: str, /, **values: Any) -> str:
        """The text of that id, English where this language lacks it; KeyError where English does, or for a value."""
        template = self._template(key)
        if not isinstance(template, str):
            template = template["one" if values["count"] == 1 else "other"]
        if self._changed is not None:
            template = changed_outside_braces(template, self._changed)
        if "{" not in template and "}" not in template:
            return template
        told = {name: self(value) if isinstance(value, str) else value for name, value in values.items()}
        return template.format_map(told)

    def _template(self, key: str) -> Template:
        room = key.partition(".")[0]
        found = _templates(self.language, room).get(key) if self.language != ENGLISH else None
        return _templates(ENGLISH, room)[key] if found is None else found

    def knows(self, key: str) -> bool:
        """Whether the catalogue has an entry of that id."""
        return key in _templates(self.language, key.partition(".")[0])


def changed_outside_braces(template: str, change: Callable[[str], str]) -> str:
    """The template with ``change`` applied to its text, its ``{fields}`` left alone."""
    parts = []
    for text, field, spec, conversion in string.Formatter().parse(template):
        parts.append(change(text).replace("{", "{{").replace("}", "}}"))
        if field is not None:
            parts.append("{" + field + (f"!{conversion}" if conversion else "") + (f":{spec}" if spec else "") + "}")
    return "".join(parts)


@cache
def words_in(language: str) -> Words:
    """The words of a language that has a catalogue; KeyError for another."""
    if language not in languages():
        raise KeyError(language)
    return Words(language)


@cache
def languages() -> tuple[str, ...]:
    """The languages that have a catalogue, English first."""
    found = sorted(names_in("words"))
    return (ENGLISH, *(name for name in found if name != ENGLISH))


def wanted_language(environment: Mapping[str, str] | None = None) -> str:
    """The language that the person's environment asks for and that there is a catalogue of, else English."""
    told = os.environ if environment is None else environment
    for name in ("SETUPASSIST_LANGUAGE", "LC_ALL", "LC_MESSAGES", "LANG"):
        asked = told.get(name, "")
        if asked:
            code = asked.replace("-", "_").partition("_")[0].partition(".")[0].lower()
            return code if code in languages() else ENGLISH
    return ENGLISH


@cache
def fields_of(key: str) -> frozenset[str]:
    """Names of the values in braces of an English entry, those of both forms where it has plurals."""
    template = _templates(ENGLISH, key.partition(".")[0])[key]
    texts = (template,) if isinstance(template, str) else template.values()
    return frozenset(name for text in texts for _, name, _, _ in string.Formatter().parse(text) if name)


def ids(language: str) -> dict[str, Template]:
    """Every entry of a catalogue by its id."""
    found: dict[str, Template] = {}
    for file in names_in(f"words/{language}"):
        found.update(_templates(language, file.removesuffix(".toml")))
    return found


@cache
def _templates(language: str, room: str) -> dict[str, Template]:
    """Entries of one file of a catalogue; none where there is no such file."""
    if f"{room}.toml" not in names_in(f"words/{language}"):
        return {}
    return dict(_flat(read_toml(f"words/{language}/{room}.toml"), room))


def _flat(table: Mapping[str, Any], at: str) -> Iterable[tuple[str, Template]]:
    for key, value in table.items():
        here = f"{at}.{key}"
        if isinstance(value, str) or (value.keys() <= PLURAL and value):
            yield here, value
        else:
            yield from _flat(value, here)
