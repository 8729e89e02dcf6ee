"""Every id that the code of a room says is in the catalogue with the values it wants, and none lies there unsaid."""

from __future__ import annotations

import ast
import re
from collections.abc import Iterator
from pathlib import Path

import pytest

import setupassist
from setupassist.resource_files import names_in, read_text
from setupassist.words import PLURAL, Template, fields_of, ids

CODE = Path(setupassist.__file__).parent
ROOMS = ["steps", "trade", "films"]
WHOLE = {"steps", "decisions", "cautions", "trade"}


def calls(room: str) -> Iterator[ast.Call]:
    """Every ``say(…)`` in a room's code."""
    for file in sorted((CODE / room).rglob("*.py")):
        for node in ast.walk(ast.parse(file.read_text(encoding="utf-8"))):
            if isinstance(node, ast.Call) and isinstance(node.func, ast.Name) and node.func.id == "say":
                yield node


def patterns(key: ast.expr) -> list[str]:
    """Regular expressions of the ids that an argument of ``say`` may be."""
    if isinstance(key, ast.Constant):
        return [re.escape(str(key.value))]
    if isinstance(key, ast.IfExp):
        return [*patterns(key.body), *patterns(key.orelse)]
    if isinstance(key, ast.JoinedStr):
        return ["".join(re.escape(str(p.value)) if isinstance(p, ast.Constant) else ".+" for p in key.values)]
    return []


def matching(pattern: str) -> list[tuple[str, Template]]:
    return [(key, template) for key, template in ids("en").items() if re.fullmatch(pattern, key)]


@pytest.mark.parametrize("room", ROOMS)
def test_every_id_that_is_said_is_there_with_its_values(room: str) -> None:
    for call in calls(room):
        given = {keyword.arg for keyword in call.keywords if keyword.arg is not None}
        spread = any(keyword.arg is None for keyword in call.keywords)
        for pattern in patterns(call.args[0]):
            found = matching(pattern)
            assert found, ast.unparse(call)
            if spread or ".+" in pattern:
                continue
            for key, template in found:
                wanted = set(fields_of(key)) | (set() if isinstance(template, str) else {"count"})
                assert wanted == given, f"{key} wants {wanted}: {ast.unparse(call)}"


def test_there_is_something_said() -> None:
    assert sum(1 for room in ROOMS for _ in calls(room)) > 60


def test_no_entry_lies_unsaid() -> None:
    said = [pattern for call in (c for room in ROOMS for c in calls(room)) for pattern in patterns(call.args[0])]
    literal = re.compile(r'"((?:steps|decisions|cautions|trade)\.[a-z0-9_.-]+)"')
    for file in names_in("trade"):
        if file.endswith(".toml"):
            said += [re.escape(key) for key in literal.findall(read_text(f"trade/{file}"))]
    # put together from an id of the decision table, whose tests hold the two equal
    said += [r"decisions\.(reason|no-room|answer)\..+", r"decisions\.question\..+\.says"]
    unsaid = [
        key for key in ids("en") if key.partition(".")[0] in WHOLE and not any(re.fullmatch(p, key) for p in said)
    ]
    assert unsaid == []


@pytest.mark.parametrize("language", ["en", "es"])
def test_plural_entries_have_both_forms(language: str) -> None:
    for key, template in ids(language).items():
        assert isinstance(template, str) or template.keys() == PLURAL, key
