"""What is opened or dropped becomes a job on the desk: a job's own document, or a new one made for its plates."""

from __future__ import annotations

import json
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

from setupassist.desk import edits
from setupassist.desk.edits import Edit
from setupassist.documents.job import Job, JobPlate
from setupassist.documents.press import Press
from setupassist.documents.shop import Shop
from setupassist.documents.store import example_shop, read_job
from setupassist.errors import InputFault, one_line
from setupassist.words import say
from setupassist.work import JOB_FILE

MOST_PAGE_DIGITS = 6


@dataclass(frozen=True)
class Opened:
    """A job with the folder its plates lie in and the file it is kept in; ``saved`` is what that file holds."""

    job: Job
    folder: Path
    file: Path
    saved: Job | None = None

    @property
    def where(self) -> str:
        """What faults name: the job's file, or its folder where the job lies in no file yet."""
        return self.folder.name if self.saved is None else self.file.name


def open_paths(paths: Sequence[Path], *, shop: Shop, press: str | None = None) -> Opened:
    """What was dropped, opened: one job, folder or file, or several plates of one folder.

    A folder without a job, or plates, make a new job on ``press`` (a name in the shop book), else on the first one
    there. Raises InputFault where nothing can be opened.
    """
    if not paths:
        raise InputFault("", say("desk.opening.nothing"))
    first = paths[0].absolute()
    if len(paths) > 1:
        return _several([path.absolute() for path in paths], _press(shop, press))
    if not first.exists():
        raise InputFault(str(first), say("desk.opening.not-there"), say("desk.opening.check-name"))
    if first.is_dir():
        file = first / JOB_FILE
        return _job(file) if file.is_file() else _new(first, ".", file, first.name, _press(shop, press))
    if first.suffix.lower() == ".json" and _is_job(first):
        return _job(first)
    file = first.with_suffix(".job.json" if first.suffix.lower() == ".json" else ".json")
    if file.is_file() and _is_job(file):
        opened = _job(file)
        if opened.job.plates == first.name:
            return opened
    return _new(first.parent, first.name, file, first.stem, _press(shop, press))


def page_edit(job: Job, text: str) -> Edit:
    """The edit that takes another page of the job's file; an empty text goes back to the first."""
    plain = text.strip()
    if not plain:
        return edits.source(job, page=None)
    if not plain.isdecimal() or len(plain) > MOST_PAGE_DIGITS or int(plain) < 1:
        raise InputFault("", say("place_art_check.page.no-page", given=one_line(plain, 40)))
    return edits.source(job, page=int(plain))


def _job(file: Path) -> Opened:
    job = read_job(file)
    return Opened(job, file.parent, file, job)


def _is_job(file: Path) -> bool:
    """Whether a JSON file says it is a job; a damaged one is taken for a job, so that its fault is told."""
    try:
        data = json.loads(file.read_bytes())
    except (OSError, ValueError, RecursionError):
        return True
    return not isinstance(data, dict) or "format" in data or "plates" not in data or "press" in data


def _several(paths: list[Path], press: str | Press) -> Opened:
    folder = paths[0].parent
    strangers = [path for path in paths if path.parent != folder or path.is_dir()]
    if strangers:
        raise InputFault(strangers[0].name, say("desk.opening.several-folders"), say("desk.opening.one-folder"))
    plates = tuple(JobPlate(file=path.name) for path in sorted(paths))
    job = Job(format="setupassist-job/1", title=_title(folder.name), plates=plates, press=press)
    return Opened(job, folder, folder / JOB_FILE)


def _new(folder: Path, plates: str, file: Path, name: str, press: str | Press) -> Opened:
    job = Job(format="setupassist-job/1", title=_title(name), plates=plates, press=press)
    return Opened(job, folder, file)


def _title(name: str) -> str:
    words = " ".join(name.replace("-", " ").replace("_", " ").split())
    return words[:1].upper() + words[1:] if words else str(say("desk.opening.untitled"))


def _press(shop: Shop, name: str | None) -> str | Press:
    """The press of that name, else the shop's first; one of the example's, written out, where the shop has none."""
    names = [press.name for press in shop.presses]
    if name in names:
        return name
    return names[0] if names else example_shop().presses[0]
