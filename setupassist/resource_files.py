"""The one place that reads the data files which the package ships (``resources/`` in the checkout)."""

from __future__ import annotations

import tomllib
from functools import cache
from importlib.resources import files
from typing import Any

PACKAGE = "setupassist.resources"


def read_bytes(name: str) -> bytes:
    """Contents of a shipped file, ``name`` relative to ``resources/`` with forward slashes."""
    return files(PACKAGE).joinpath(*name.split("/")).read_bytes()


def read_text(name: str) -> str:
    """Contents of a shipped UTF-8 text file."""
    return read_bytes(name).decode("utf-8")


@cache
def read_toml(name: str) -> dict[str, Any]:
    """A shipped TOML file as a dictionary, read once; treat it as read-only."""
    return tomllib.loads(read_text(name))


def names_in(folder: str) -> tuple[str, ...]:
    """Names of what lies in a shipped folder, sorted."""
    return tuple(sorted(entry.name for entry in files(PACKAGE).joinpath(*folder.split("/")).iterdir()))
