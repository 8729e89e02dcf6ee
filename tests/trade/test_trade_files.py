"""Every constant of the trade files says its unit, its source and how well it is known."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Any

import pytest

from setupassist.resource_files import PACKAGE, read_toml
from setupassist.trade.typical import Tag

UNIT_ENDINGS = (
    "_um", "_mm", "_cm", "_cm2", "_per_cm", "_per_inch", "_lines_per_inch", "_seconds", "_minutes", "_c", "_deg",
    "_g", "_g_cm3", "_cm3_m2", "_g_m2", "_grams_per_m2", "_n_per_cm", "_ratio", "_share", "_delta_e", "_lightness",
    "_chroma", "reflectance", "_hue_deg", "_count", "_pieces", "_strokes",
)  # fmt: skip
TAGS = tuple(tag.value for tag in Tag)
# The bounds of an answer that a person types, and what a person is asked, are the form's, not the trade's.
FORM_TABLES = ("decisions.toml.question",)


def trade_files() -> list[str]:
    from importlib.resources import files

    return sorted(entry.name for entry in files(PACKAGE).joinpath("trade").iterdir() if entry.name.endswith(".toml"))


def faults(table: Mapping[str, Any], where: str, *, source: str = "", tag: str = "") -> Iterator[str]:
    """One sentence a constant that lacks its unit, source or tag; a table takes source and tag from its parents."""
    source, tag = table.get("source", source), table.get("tag", tag)
    for key, value in table.items():
        at = f"{where}.{key}"
        if isinstance(value, Mapping):
            yield from faults(value, at, source=source, tag=tag)
            continue
        rows = value if isinstance(value, list) else [value]
        for row in rows:
            if isinstance(row, Mapping):
                yield from faults(row, f"{at}[]", source=source, tag=tag)
        if where.startswith(FORM_TABLES):
            continue
        number = any(isinstance(row, (int, float)) and not isinstance(row, bool) for row in rows)
        colour = any(isinstance(row, str) and row.startswith("#") for row in rows)
        if not (number or colour or key in ("value", "text")):
            continue
        if not source:
            yield f"{at}: no source"
        if not tag.startswith(TAGS):
            yield f"{at}: '{tag}' is no tag"
        if number and "unit" not in table and not key.endswith(UNIT_ENDINGS):
            yield f"{at}: no unit"
    numbers = [table.get(key) for key in ("low", "value", "high")]
    known = [n for n in numbers if isinstance(n, (int, float))]
    if known != sorted(known):
        yield f"{where}: not in the order low, value, high"


@pytest.mark.parametrize("name", trade_files())
def test_every_constant_is_told(name: str) -> None:
    assert list(faults(read_toml(f"trade/{name}"), name)) == []


def test_there_are_files() -> None:
    assert {"settings.toml", "inks.toml", "mesh_by_role.toml", "fabrics.toml", "cautions.toml"} <= set(trade_files())


GOOD = {"value": 2.0, "low": 1.0, "high": 3.0, "unit": "mm", "source": "a book", "tag": "published"}


@pytest.mark.parametrize("lacking", ["unit", "source", "tag"])
def test_the_walk_finds_what_lacks(lacking: str) -> None:
    assert list(faults({"deep": [{"x": GOOD}]}, "f")) == []
    poor = {key: value for key, value in GOOD.items() if key != lacking}
    assert any(said.startswith("f.deep[].x") for said in faults({"deep": [{"x": poor}]}, "f"))


def test_the_walk_finds_a_value_outside_its_range_and_an_unknown_tag() -> None:
    assert list(faults({"x": {**GOOD, "value": 4.0}}, "f")) == ["f.x: not in the order low, value, high"]
    assert len(list(faults({"x": {**GOOD, "tag": "hearsay"}}, "f"))) == 3


def test_the_walk_takes_source_and_tag_from_the_parents_but_not_the_unit() -> None:
    table = {"source": "a book", "tag": "published", "row": [{"thread_um": 64}, {"thread": 64}]}
    assert list(faults(table, "f")) == ["f.row[].thread: no unit"]
