"""Reading documents within limits and writing files so that the last good copy survives."""

from __future__ import annotations

import contextlib
import json
import os
import re
import tempfile
import tomllib
from collections import Counter
from collections.abc import Callable, Iterator
from enum import Enum
from pathlib import Path
from typing import Any, BinaryIO

from setupassist.documents.base import D, Document, read_document
from setupassist.documents.job import Job
from setupassist.documents.measure import Measure
from setupassist.documents.places import shop_book_path
from setupassist.documents.shop import Shop
from setupassist.errors import InputFault, MachineFault, one_line, recognised, system_reason
from setupassist.resource_files import read_text
from setupassist.words import Said, say

MOST_DOCUMENT_BYTES = 4 * 1024 * 1024
MOST_KEYS = 100_000
MOST_DOTS_IN_A_KEY = 16
EXAMPLE_SHOP = "example_shop.toml"
MOST_WHOLE = 2**53

_NUMBERS = re.compile(r"\[\n(?: +-?[0-9][-+.e0-9]*,\n)+ *\]")
"""A list of numbers with a line for each: one line is easier to read. No text holds it, for texts stand on one line."""


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
            raise InputFault(where, say("documents.toml.line-too-deep", line=number), say("documents.json.simplify"))
    try:
        data = tomllib.loads(text)
    except tomllib.TOMLDecodeError as error:
        told = say("documents.toml.invalid", problem=_toml_problem(error))
        raise InputFault(where, told, say("documents.toml.mend")) from None
    except (RecursionError, ValueError):
        raise InputFault(where, say("documents.json.too-deep-or-long"), say("documents.json.simplify")) from None
    return read_document(Shop, data, where)


def _toml_problem(error: tomllib.TOMLDecodeError) -> str:
    told = recognised(str(error), "documents.toml-place")
    if not isinstance(told, Said):
        return told
    return say(told.key, **{**told.values, "problem": recognised(told.values["problem"], "documents.toml-problem")})


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
        raise InputFault(where, say("documents.file.no-name"), say("documents.file.name-one-inside"))
    root = folder.resolve()
    target = Path(relative)
    full = (root / target).resolve() if not target.is_absolute() else target.resolve()
    if target.is_absolute() or not full.is_relative_to(root):
        told = say("documents.file.leaves-folder", file=relative)
        raise InputFault(where, told, say("documents.file.copy-inside"))
    return full


def write_atomically(path: Path, data: bytes) -> None:
    """The file with these bytes, as ``replacing`` puts it in place."""
    with replacing(path) as file:
        file.write(data)


@contextlib.contextmanager
def replacing(path: Path) -> Iterator[BinaryIO]:
    """A file to write beside, which is synced and takes the place of ``path`` if all goes well inside.

    A reader sees the old file or the new one, never half. A link is written through to the file it names. Raises
    InputFault for what is no file (a folder, a device, a pipe), MachineFault where the disk or a permission refuses.
    """
    try:
        path = path.resolve()
        if path.exists() and not path.is_file():
            raise InputFault(path.name, say("documents.file.no-file"), say("documents.file.name-a-file"))
        handle, name = tempfile.mkstemp(dir=path.parent, prefix=".setupassist-", suffix=".new")
    except OSError as error:
        raise _refused(path, error) from None
    try:
        with os.fdopen(handle, "wb") as file:
            yield file
            file.flush()
            os.fsync(file.fileno())
        os.chmod(name, path.stat().st_mode & 0o777 if path.exists() else 0o644)
        os.replace(name, path)
    except OSError as error:
        raise _refused(path, error) from None
    finally:
        with contextlib.suppress(OSError):
            os.unlink(name)


def job_bytes(job: Job) -> bytes:
    """The job as its file holds it: indented JSON of the fields that are set, in the model's order."""
    return (json.dumps(_as_written(job), indent=2, ensure_ascii=False) + "\n").encode("utf-8")


def shop_bytes(shop: Shop) -> bytes:
    """The shop book as TOML of the fields that are set; comments of a book that was read are not in it."""
    import tomli_w

    text = tomli_w.dumps(_as_written(shop))
    return _NUMBERS.sub(lambda found: f"[{' '.join(found[0][1:-1].split())[:-1]}]", text).encode("utf-8")


def write_job(path: Path, job: Job) -> None:
    """Saves the job; the one that lay there is kept beside it as ``job.json.last``.

    Raises InputFault where what lies there is no job that can be read: it is somebody's work. Else as
    ``write_atomically``.
    """
    _keeping_last(path, job_bytes(job), read_job, say("documents.file.no-sound-job"))


def write_shop(path: Path, shop: Shop) -> None:
    """Saves the shop book; the one that lay there is kept beside it as ``shop.toml.last``. Raises as ``write_job``."""
    _keeping_last(path, shop_bytes(shop), read_shop, say("documents.file.no-sound-book"))


def _keeping_last(path: Path, data: bytes, read: Callable[[Path], Document], unsound: str) -> None:
    """Writes where nothing lies, or what ``read`` reads; that is kept beside, unless it is the same already."""
    if path.is_file():
        try:
            read(path)
            before = path.read_bytes()
        except InputFault:
            raise InputFault(path.name, unsound, say("documents.file.other-name")) from None
        except OSError as error:
            raise _refused(path, error) from None
        if before == data:
            return
        write_atomically(path.with_name(f"{path.name}.last"), before)
    write_atomically(path, data)


def _as_written(value: Any) -> Any:
    """A document as plain tables and lists: what is set, None left out where it is what is meant without it."""
    if isinstance(value, Document):
        told = {}
        for name, field in type(value).model_fields.items():
            own = getattr(value, name)
            if name in value.model_fields_set and not (own is None and field.default is None):
                told[field.alias or name] = _as_written(own)
        return told
    if isinstance(value, dict):
        return {str(key): _as_written(each) for key, each in value.items()}
    if isinstance(value, tuple | list):
        return [_as_written(each) for each in value]
    if isinstance(value, Enum):
        return value.value
    if isinstance(value, float) and value.is_integer() and abs(value) < MOST_WHOLE:
        return int(value)
    return value


def _refused(path: Path, error: OSError) -> MachineFault:
    told = one_line(str(path), 120)
    return MachineFault(say("documents.file.unwritable", file=told, reason=system_reason(error)))


def _text(path: Path) -> str:
    try:
        if not path.exists():
            raise InputFault(one_line(str(path), 120), say("documents.file.none"), say("documents.file.check-name"))
        if not path.is_file():
            told, remedy = say("documents.file.no-file"), say("documents.file.name-a-document")
            raise InputFault(one_line(str(path), 120), told, remedy)
        if path.stat().st_size > MOST_DOCUMENT_BYTES:
            told = say("documents.file.too-large", megabytes=MOST_DOCUMENT_BYTES // 1024 // 1024)
            raise InputFault(path.name, told, say("documents.file.a-document"))
        return path.read_bytes().decode("utf-8-sig")
    except UnicodeDecodeError:
        told, remedy = say("documents.file.not-text"), say("documents.file.name-a-document")
        raise InputFault(path.name, told, remedy) from None
    except (OSError, ValueError) as error:
        reason = system_reason(error) if isinstance(error, OSError) else str(error)
        told = say("documents.file.unreadable", reason=reason)
        raise InputFault(path.name, told, say("documents.file.check-file")) from None


def _json(path: Path) -> Any:
    def constant(name: str) -> Any:
        raise InputFault(path.name, say("documents.json.no-number", name=name), say("documents.json.finite"))

    keys = 0

    def pairs(items: list[tuple[str, Any]]) -> dict[str, Any]:
        nonlocal keys
        keys += len(items)
        if keys > MOST_KEYS:
            told = say("documents.json.too-many-fields", most=MOST_KEYS)
            raise InputFault(path.name, told, say("documents.json.ours"))
        table = dict(items)
        if len(table) != len(items):
            twice = next(name for name, count in Counter(name for name, _ in items).items() if count > 1)
            told = say("documents.json.twice", name=one_line(twice, 80))
            raise InputFault(path.name, told, say("documents.json.keep-one"))
        return table

    try:
        return json.loads(_text(path), parse_constant=constant, object_pairs_hook=pairs)
    except json.JSONDecodeError as error:
        problem = recognised(error.msg, "documents.json-problem")
        told = say("documents.json.invalid", line=error.lineno, problem=problem)
        raise InputFault(path.name, told, say("documents.json.mend-line")) from None
    except (RecursionError, ValueError):
        told, remedy = say("documents.json.too-deep-or-long"), say("documents.json.simplify")
        raise InputFault(path.name, told, remedy) from None
