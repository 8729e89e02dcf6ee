"""Reading documents within limits and writing files so that the last good copy survives."""

from __future__ import annotations

import contextlib
import json
import os
import tempfile
import tomllib
from collections import Counter
from pathlib import Path
from typing import Any

from setupassist.documents.base import D, read_document
from setupassist.documents.job import Job
from setupassist.documents.measure import Measure
from setupassist.documents.places import shop_book_path
from setupassist.documents.shop import Shop
from setupassist.errors import InputFault, MachineFault, one_line
from setupassist.resource_files import read_text

MOST_DOCUMENT_BYTES = 4 * 1024 * 1024
MOST_KEYS = 100_000
MOST_DOTS_IN_A_KEY = 16
EXAMPLE_SHOP = "example_shop.toml"


def read_as(model: type[D], path: Path) -> D:
    """A JSON document of that type; InputFault where it cannot be read."""
    return read_document(model, _json(path), path.name)


def read_job(path: Path) -> Job:
    """The job of a ``job.json``; InputFault where it cannot be read."""
    return read_as(Job, path)


def read_measure(path: Path) -> Measure:
    """A measure document; InputFault where it cannot be read."""
    return read_as(Measure, path)


def read_shop(path: Path) -> Shop:
    """A shop book in TOML; InputFault where it cannot be read."""
    return parse_shop(_text(path), path.name)


def parse_shop(text: str, where: str) -> Shop:
    """A shop book from TOML text."""
    for number, line in enumerate(text.splitlines(), 1):
        if line.partition("=")[0].partition('"')[0].count(".") > MOST_DOTS_IN_A_KEY:
            raise InputFault(where, f"line {number} nests its key too deeply", "simplify it")
    try:
        data = tomllib.loads(text)
    except (tomllib.TOMLDecodeError, RecursionError, ValueError) as error:
        raise InputFault(where, f"is not valid TOML ({error})", "mend that line or export the book again") from None
    return read_document(Shop, data, where)


def example_shop() -> Shop:
    """The invented example shop that the package ships."""
    return parse_shop(read_text(EXAMPLE_SHOP), "the example shop")


def current_shop(path: Path | None = None) -> Shop:
    """The shop book named, else the user's own, else the example."""
    if path is not None:
        return read_shop(path)
    own = shop_book_path()
    return read_shop(own) if own.exists() else example_shop()


def inside(folder: Path, relative: str, where: str) -> Path:
    """``relative`` under ``folder``; InputFault where it leaves the folder, links followed."""
    if "\0" in relative or not relative.strip():
        raise InputFault(where, "a file name is empty or holds a null character", "name a file in the job's folder")
    root = folder.resolve()
    target = Path(relative)
    full = (root / target).resolve() if not target.is_absolute() else target.resolve()
    if target.is_absolute() or not full.is_relative_to(root):
        raise InputFault(where, f"'{relative}' leaves the job's folder", "copy the file into the folder")
    return full


def write_atomically(path: Path, data: bytes) -> None:
    """Writes beside, syncs, then replaces: a reader sees the old file or the new one, never half.

    A link is written through to the file it names. Raises InputFault for what is no file (a folder, a device, a
    pipe), MachineFault where the disk or a permission refuses.
    """
    try:
        path = path.resolve()
        if path.exists() and not path.is_file():
            raise InputFault(path.name, "is a folder, a device or a pipe", "name a file to write")
        handle, name = tempfile.mkstemp(dir=path.parent, prefix=f".{path.name}.", suffix=".new")
    except OSError as error:
        raise _refused(path, error) from None
    try:
        with os.fdopen(handle, "wb") as file:
            file.write(data)
            file.flush()
            os.fsync(file.fileno())
        os.chmod(name, path.stat().st_mode & 0o777 if path.exists() else 0o644)
        os.replace(name, path)
    except OSError as error:
        raise _refused(path, error) from None
    finally:
        with contextlib.suppress(OSError):
            os.unlink(name)


def _refused(path: Path, error: OSError) -> MachineFault:
    told = one_line(str(path), 120)
    return MachineFault(f"{told}: cannot be written ({error.strerror or error}); choose another place")


def _text(path: Path) -> str:
    try:
        if not path.exists():
            raise InputFault(one_line(str(path), 120), "there is no such file", "check the name")
        if not path.is_file():
            raise InputFault(one_line(str(path), 120), "is a folder, a device or a pipe", "name a document")
        if path.stat().st_size > MOST_DOCUMENT_BYTES:
            raise InputFault(path.name, f"is larger than {MOST_DOCUMENT_BYTES // 1024 // 1024} MB", "is it a document?")
        return path.read_bytes().decode("utf-8-sig")
    except UnicodeDecodeError:
        raise InputFault(path.name, "is not a text file in UTF-8", "name a document") from None
    except (OSError, ValueError) as error:
        said = getattr(error, "strerror", None) or error
        raise InputFault(path.name, f"cannot be read ({said})", "check the file") from None


def _json(path: Path) -> Any:
    def constant(name: str) -> Any:
        raise InputFault(path.name, f"holds {name}, which is no number", "write a finite number")

    keys = 0

    def pairs(items: list[tuple[str, Any]]) -> dict[str, Any]:
        nonlocal keys
        keys += len(items)
        if keys > MOST_KEYS:
            raise InputFault(path.name, f"holds more than {MOST_KEYS} fields", "is it a document of ours?")
        table = dict(items)
        if len(table) != len(items):
            twice = next(name for name, count in Counter(name for name, _ in items).items() if count > 1)
            raise InputFault(path.name, f"'{one_line(twice, 80)}' is given twice in one table", "keep one")
        return table

    try:
        return json.loads(_text(path), parse_constant=constant, object_pairs_hook=pairs)
    except json.JSONDecodeError as error:
        raise InputFault(path.name, f"is not valid JSON (line {error.lineno}: {error.msg})", "mend that line") from None
    except (RecursionError, ValueError):
        raise InputFault(path.name, "is nested too deeply or holds a number too long to read", "simplify it") from None
