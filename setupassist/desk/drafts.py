"""Drafts: every change of a job is kept beside it within moments, so that a crash or a power cut loses nothing."""

from __future__ import annotations

import contextlib
import hashlib
import os
from pathlib import Path

from setupassist.desk.opening import Opened
from setupassist.documents.draft import Draft
from setupassist.documents.places import state_folder
from setupassist.documents.store import read_as, write_atomically
from setupassist.errors import SetupAssistError

FOLDER = "drafts"


def draft_path(file: Path) -> Path:
    """Where the draft of the job in ``file`` is kept."""
    name = hashlib.sha256(os.fsencode(file.absolute())).hexdigest()[:24]
    return state_folder() / FOLDER / f"{name}.json"


def keep(opened: Opened, *, at: str) -> None:
    """Keeps the job as it is now; ``at`` is the time as text. Raises MachineFault where the disk refuses."""
    draft = Draft(
        file=str(opened.file),
        folder=str(opened.folder),
        job=opened.job,
        opened=opened.saved,
        kept_at=at,
        process=os.getpid(),
    )
    path = draft_path(opened.file)
    path.parent.mkdir(parents=True, exist_ok=True)
    write_atomically(path, draft.model_dump_json(by_alias=True, exclude_unset=True).encode("utf-8"))


def drop(file: Path) -> None:
    """The job's file holds everything: its draft is of no use any more."""
    with contextlib.suppress(OSError):
        draft_path(file).unlink()


def draft_of(file: Path) -> Draft | None:
    """The draft of that job; None where there is none, or where it cannot be read."""
    return _read(draft_path(file))


def drafts() -> tuple[Draft, ...]:
    """Every draft that can be read, the latest first."""
    found = [draft for path in (state_folder() / FOLDER).glob("*.json") if (draft := _read(path)) is not None]
    return tuple(sorted(found, key=lambda draft: draft.kept_at, reverse=True))


def recovered(opened: Opened) -> Opened | None:
    """The job as its draft has it, where that holds what the file does not; None otherwise."""
    draft = draft_of(opened.file)
    if draft is None or draft.job == opened.job:
        return None
    return Opened(draft.job, opened.folder, opened.file, opened.saved)


def in_another_window(draft: Draft) -> bool:
    """Whether another running process keeps that draft."""
    if draft.process is None or draft.process == os.getpid():
        return False
    with contextlib.suppress(OSError):
        os.kill(draft.process, 0)
        return True
    return False


def _read(path: Path) -> Draft | None:
    if not path.is_file():
        return None
    try:
        return read_as(Draft, path)
    except SetupAssistError:
        return None
