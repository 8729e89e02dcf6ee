"""What the window remembers between days: files opened lately, and how the person likes it."""

from __future__ import annotations

from pathlib import Path
from typing import TypeVar

from setupassist.documents.base import Document
from setupassist.documents.draft import Preferences, Recents
from setupassist.documents.places import state_folder
from setupassist.documents.store import read_as, write_atomically
from setupassist.errors import SetupAssistError

RECENTS, PREFERENCES = "recents.json", "preferences.json"
MOST_RECENTS = 12

D = TypeVar("D", bound=Document)


def recents() -> tuple[Path, ...]:
    """Files and folders opened lately that are still there, the latest first."""
    return tuple(path for path in map(Path, _read(Recents, RECENTS).paths) if path.exists())


def opened_lately(path: Path) -> None:
    """Puts a file or folder first among the recents."""
    told = str(path.absolute())
    others = [other for other in _read(Recents, RECENTS).paths if other != told]
    _write(Recents(paths=(told, *others)[:MOST_RECENTS]), RECENTS)


def forget_recents() -> None:
    """Forgets what was opened."""
    _write(Recents(), RECENTS)


def preferences() -> Preferences:
    """How the person likes the window; the defaults where nothing is kept or it cannot be read."""
    return _read(Preferences, PREFERENCES)


def prefer(preferences: Preferences) -> None:
    """Keeps how the person likes the window."""
    _write(preferences, PREFERENCES)


def _read(model: type[D], name: str) -> D:
    path = state_folder() / name
    try:
        return read_as(model, path) if path.is_file() else model()
    except SetupAssistError:
        return model()


def _write(document: Document, name: str) -> None:
    path = state_folder() / name
    path.parent.mkdir(parents=True, exist_ok=True)
    write_atomically(path, document.model_dump_json(by_alias=True).encode("utf-8"))
