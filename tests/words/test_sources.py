"""Sources of the trade files are told by ids that the catalogue has."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

import pytest

from setupassist.resource_files import names_in, read_toml
from setupassist.trade.typical import ID, Tag, by_id, cited, shop_source
from setupassist.words import Said, Words, words_in


def ids_told(table: Any) -> Iterator[str]:
    if isinstance(table, dict):
        for key, value in table.items():
            if key in ("source", "value") and isinstance(value, str) and ID.fullmatch(value):
                yield value
            yield from ids_told(value)
    elif isinstance(table, list):
        for row in table:
            yield from ids_told(row)


@pytest.mark.parametrize("file", [name for name in names_in("trade") if name.endswith(".toml")])
def test_every_id_in_a_trade_file_is_in_the_catalogue(file: str) -> None:
    assert [key for key in ids_told(read_toml(f"trade/{file}")) if not words_in("en").knows(key)] == []


def test_there_are_ids_in_the_trade_files() -> None:
    assert len(set(ids_told(read_toml("trade/settings.toml")))) > 12
    assert len(set(ids_told(read_toml("trade/mesh_by_role.toml")))) > 20


@pytest.mark.parametrize("tag", list(Tag))
def test_every_tag_is_worded(tag: Tag) -> None:
    said = cited(tag, "")
    assert isinstance(said, Said)
    assert said == tag.value
    assert set(Words("en", lambda text: "x" * len(text))(said)) == {"x"}


def test_a_citation_is_worded_and_own_words_stay() -> None:
    said = cited(Tag.FROM_MEMORY, "sources.mesh.as-water-based")
    assert said == "from memory: as water-based"
    assert words_in("es")(said) == "de memoria: como base agua"
    assert words_in("es")(cited(Tag.PUBLISHED, "a gauge of ours")) == "publicado: a gauge of ours"
    assert words_in("es")(cited("hearsay", "")) == "hearsay"
    assert by_id("65/90/65") == "65/90/65"
    assert not isinstance(by_id("no.such-id"), Said)


def sources_of(table: Any) -> Iterator[str]:
    if isinstance(table, dict):
        for key, value in table.items():
            yield from value.values() if key == "sources" else sources_of(value)
    elif isinstance(table, list):
        for row in table:
            yield from sources_of(row)


def test_what_the_example_shop_says_is_known_and_what_a_shop_says_stays() -> None:
    told = set(sources_of(read_toml("example_shop.toml")))
    assert len(told) > 25
    assert [text for text in told if not isinstance(shop_source(text), Said)] == []
    assert all(shop_source(text) == text for text in told)
    assert words_in("es")(shop_source("invented")) == "inventado"
    assert not isinstance(shop_source("weighed by Ann"), Said)
