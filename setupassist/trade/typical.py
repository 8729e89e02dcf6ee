"""Typical values of the trade: each with its unit, allowed range, source and how well it is known."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass
from enum import StrEnum
from functools import cache
from typing import Any

from setupassist.resource_files import read_toml
from setupassist.words import ENGLISH, ids, say, words_in

ID = re.compile(r"[a-z_]+(\.[a-z0-9_-]+)+")


class Tag(StrEnum):
    """How well a value is known."""

    PUBLISHED = "published"
    COMMON_PRACTICE = "common practice"
    FROM_MEMORY = "from memory"
    COMPUTED = "computed"


@dataclass(frozen=True)
class Typical:
    """A starting point: ``value`` in ``unit``, allowed from ``low`` to ``high`` (None where it is text)."""

    value: float | str
    unit: str
    low: float | None
    high: float | None
    tag: Tag
    source: str

    @property
    def number(self) -> float:
        """The value as a number; TypeError where it is text."""
        if isinstance(self.value, str):
            raise TypeError(f"'{self.value}' is no number")
        return self.value

    @property
    def cited(self) -> str:
        """The source as a person reads it, led by how well the value is known."""
        return cited(self.tag, self.source)

    def within(self, value: float) -> bool:
        """Whether ``value`` lies in the allowed range."""
        return (self.low is None or value >= self.low) and (self.high is None or value <= self.high)


def cited(tag: str, source: str) -> str:
    """``published: a trade magazine, April 2003`` from a tag and what stands behind it."""
    said = by_id(f"sources.tag.{tag.replace(' ', '-')}", otherwise=str(tag))
    source = by_id(source)
    return say("sources.cited", tag=said, source=source) if source and source != tag else said


def by_id(text: str, otherwise: str | None = None) -> str:
    """What a data file tells by the id of a sentence; what is no id is somebody's own words and stays."""
    if ID.fullmatch(text) and words_in(ENGLISH).knows(text):
        return say(text)
    return text if otherwise is None else otherwise


def shop_source(text: str) -> str:
    """A source in a shop book: by id where it is a word of the example shop or a tag, else the shop's own words."""
    key = _known_sources().get(text)
    return text if key is None else say(key)


@cache
def _known_sources() -> dict[str, str]:
    texts = ids(ENGLISH)
    return {str(text): key for key, text in texts.items() if key.startswith(("sources.example-shop.", "sources.tag."))}


def typical(entry: Mapping[str, Any]) -> Typical:
    """A table of a trade file (value, unit, source, tag, low and high) as a typical value."""
    return Typical(
        value=by_id(value) if isinstance(value := entry["value"], str) else value,
        unit=entry["unit"],
        low=entry.get("low"),
        high=entry.get("high"),
        tag=Tag(entry["tag"]),
        source=by_id(entry["source"]),
    )


def setting(name: str) -> Typical:
    """The typical press setting or rule of that name in ``resources/trade/settings.toml``; KeyError where none."""
    return typical(read_toml("trade/settings.toml")[name])
