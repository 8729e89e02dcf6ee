"""Catalogues and code hold together: no id is said that is not there or lacks a value, and none is there unsaid."""

from __future__ import annotations

import ast
import re
import string
from collections.abc import Iterator
from pathlib import Path

import pytest

import setupassist
from setupassist.words import Template, ids

PACKAGE = Path(setupassist.__file__).parent
ROOMS = ("errors", "documents", "art", "work")
CHOSEN_BY_VALUE = re.compile(
    r"errors\.system\.|documents\.kind\.|documents\.json-problem\.|documents\.toml-(place|problem)\."
)
"""Ids made of a kind, an error number or a library's own sentence; tests of their rooms walk them."""


def calls() -> Iterator[tuple[str, ast.Call]]:
    for path in sorted(PACKAGE.rglob("*.py")):
        for node in ast.walk(ast.parse(path.read_text("utf-8"))):
            if isinstance(node, ast.Call) and getattr(node.func, "id", "") == "say" and node.args:
                key = node.args[0]
                if isinstance(key, ast.Constant) and str(key.value).partition(".")[0] in ROOMS:
                    yield str(key.value), node


def fields(template: Template) -> set[str]:
    texts = [template] if isinstance(template, str) else list(template.values())
    return {field for text in texts for _, field, _, _ in string.Formatter().parse(text) if field is not None}


def test_what_the_code_says_is_there_and_gets_its_values() -> None:
    english = ids("en")
    said = list(calls())
    assert len(said) > 100
    for key, call in said:
        assert key in english, key
        given = {word.arg for word in call.keywords}
        if None not in given:  # values handed on as a table are met by the tests of their room
            wanted = fields(english[key]) | (set() if isinstance(english[key], str) else {"count"})
            assert given == wanted, key


@pytest.mark.parametrize("room", ROOMS)
def test_nothing_is_in_a_catalogue_that_nobody_says(room: str) -> None:
    told = "\n".join(path.read_text("utf-8") for path in PACKAGE.rglob("*.py"))
    unsaid = [
        key
        for key in ids("en")
        if key.startswith(f"{room}.") and f'"{key}"' not in told and not CHOSEN_BY_VALUE.match(key)
    ]
    assert unsaid == []
