"""Plates of a job some of which cannot be read: the others are shown, measured and planned, and the gap is told."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping
from dataclasses import dataclass, replace
from pathlib import Path
from typing import TYPE_CHECKING, Any, TypeVar

from setupassist.documents.job import Job
from setupassist.documents.measure import Finding, Measure
from setupassist.documents.store import inside
from setupassist.documents.terms import Severity
from setupassist.errors import InputFault, InputFaults, SetupAssistError
from setupassist.pipeline import Measured, open_job_plates
from setupassist.words import Said, say
from setupassist.work import Work

if TYPE_CHECKING:
    from setupassist.art.plates import PlateSet

UNREAD = "plate-unread"
"""Code of the finding that a plate of the set could not be read."""

DAMAGE = "art.damage."
COLOUR_OF = "colour-of "

V = TypeVar("V")


@dataclass(frozen=True)
class SoundPlates:
    """The plates that opened, or the figures handed in, and what is wrong with each file that did not."""

    plates: PlateSet | Measure
    unread: tuple[InputFault, ...] = ()


def open_sound(work: Work, *, damaged: Mapping[str, InputFault]) -> SoundPlates:
    """The sound plates of a job; ``damaged`` are files, by their labels, whose damage showed when they were read.

    Raises InputFault or InputFaults where no plate opens.
    """
    from setupassist.art.opening import open_what_opens

    job, source = work.job, work.job.source
    if isinstance(job.plates, Measure) or _is_figures(job):
        return SoundPlates(open_job_plates(work))
    files: Path | list[tuple[Path, str | None]]
    if isinstance(job.plates, str):
        files = inside(work.folder, job.plates, work.where)
    else:
        files = [(inside(work.folder, plate.file, work.where), plate.ink) for plate in job.plates]
    plates, faults = open_what_opens(
        files,
        dpi=source.dpi,
        light_is_ink=source.light_is_ink,
        page=source.page,
        leave_out=frozenset(damaged),
        names=source.names,
    )
    unread = (*faults, *damaged.values())
    if plates is None:
        raise unread[0] if len(unread) == 1 else InputFaults(unread)
    return SoundPlates(plates, unread)


def _is_figures(job: Job) -> bool:
    """Whether the job names a measure document in place of plates."""
    if isinstance(job.plates, Measure):
        return True
    names = [job.plates] if isinstance(job.plates, str) else [plate.file for plate in job.plates]
    return len(names) == 1 and names[0].lower().endswith(".json")


def damaged_file(error: SetupAssistError, plates: PlateSet | Measure | None) -> str | None:
    """The label of the one file whose damage stopped the reading of a set; None where something else did."""
    if plates is None or isinstance(plates, Measure) or not isinstance(error, InputFault):
        return None
    damage = isinstance(error.what, Said) and error.what.key.startswith(DAMAGE)
    return error.where if damage and error.where in {plate.file for plate in plates.plates} else None


def with_gaps(measured: Measured, unread: Iterable[InputFault]) -> Measured:
    """The measure with a finding for each file that could not be read: what is planned is planned without it."""
    told = tuple(
        Finding(
            code=UNREAD,
            severity=Severity.STOP,
            text=say("place_art.finding.unread", fault=fault.sentence),
        )
        for fault in unread
    )
    if not told:
        return measured
    measure = measured.measure.model_copy(update={"findings": (*told, *measured.measure.findings)})
    return replace(measured, measure=measure)


def without_missing(work: Work, sound: SoundPlates) -> Work:
    """The job as far as its plates are there: what it says of the missing ones is left aside, not forgotten."""
    if not sound.unread or isinstance(sound.plates, Measure):
        return work
    job, change = work.job, dict[str, Any]()
    names = {plate.name for plate in sound.plates.plates}
    files = {plate.file for plate in sound.plates.plates}
    if isinstance(job.plates, tuple):
        there = [p for p in job.plates if (p.ink in names if p.ink is not None else label_of(p.file) in files)]
        missing = {p.ink if p.ink is not None else _name(p.file) for p in job.plates if p not in there} - names
        change["plates"] = tuple(there)
    else:
        missing = {_name(fault.where) for fault in sound.unread} - names
    for field in ("inks", "pins", "overrides"):
        change[field] = _left(getattr(job, field), missing)
    for field in ("on_top", "order", "flash_between", "no_flash_between"):
        change[field] = tuple(pair for pair in getattr(job, field) if not missing.intersection(pair))
    change["answers"] = {
        question: answer
        for question, answer in job.answers.items()
        if question.removeprefix(COLOUR_OF) not in missing or not question.startswith(COLOUR_OF)
    }
    for field in ("arrangement", "kept_plan"):
        slots = getattr(job, field)
        if slots is not None:
            change[field] = tuple(slot for slot in slots if _first(slot.ink or "") not in missing)
    return replace(work, job=job.model_copy(update=change))


def _left(table: Mapping[str, V], missing: Collection[str]) -> dict[str, V]:
    return {name: value for name, value in table.items() if _first(name) not in missing}


def _first(screen: str) -> str:
    """The ink of a screen's name: the second screen of an ink is called ``NAME 2``."""
    return screen.removesuffix(" 2")


def label_of(file: str) -> str:
    """A listed file as the plates of the set name theirs."""
    from setupassist.art.files import label

    return label(Path(file))


def _name(file: str) -> str:
    from setupassist.art.opening import name_from_file

    return name_from_file(Path(file))
