"""Saving a job without running over what somebody else has saved meanwhile."""

from __future__ import annotations

from pathlib import Path

from setupassist.desk.opening import Opened
from setupassist.documents.job import Job
from setupassist.documents.store import read_job, write_job
from setupassist.errors import InputFault, SetupAssistError
from setupassist.words import say


class ChangedOnDisk(InputFault):
    """The job's file holds neither what was opened nor what is to be saved; ``on_disk`` is what it holds."""

    def __init__(self, file: Path, on_disk: Job | None) -> None:
        self.on_disk = on_disk
        super().__init__(file.name, say("desk.saving.changed"), say("desk.saving.again"))


def save_job(opened: Opened, target: Path, *, seen: Job | None = None) -> None:
    """Writes the job to ``target``; the last good copy stays beside it.

    Raises ChangedOnDisk, and writes nothing, where the file was changed by somebody else; ``seen`` is a change that the
    person was told of and wants replaced. Raises MachineFault where the disk refuses.
    """
    on_disk = _held(target)
    if target == opened.file and on_disk is not None and on_disk not in (opened.saved, opened.job, seen):
        raise ChangedOnDisk(target, on_disk)
    write_job(target, opened.job)


def _held(file: Path) -> Job | None:
    """The job that a file holds; None where there is none that can be read."""
    try:
        return read_job(file) if file.is_file() else None
    except SetupAssistError:
        return None
