"""A job opened: its document, the folder it lies in, the shop it is for and the press it runs on."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, replace
from pathlib import Path

from setupassist.documents.job import Job
from setupassist.documents.press import Press
from setupassist.documents.shop import Shop
from setupassist.documents.store import read_job
from setupassist.documents.terms import StrategyName
from setupassist.errors import InputFault, InputFaults, did_you_mean
from setupassist.words import say

JOB_FILE = "job.json"


@dataclass(frozen=True)
class Work:
    """A job opened with the shop it is for and the press it runs on; ``where`` names its file in faults."""

    job: Job
    folder: Path
    shop: Shop
    press: Press
    where: str = JOB_FILE

    @property
    def units(self) -> str:
        """Units of the job's sheet, else the shop's."""
        return self.job.sheet.units or self.shop.policies.units

    @property
    def paper(self) -> str:
        """Paper of the job's sheet, else the shop's."""
        return self.job.sheet.paper or self.shop.policies.paper

    def with_strategy(self, name: str) -> Work:
        """The same work under another strategy."""
        return replace(self, job=self.job.model_copy(update={"strategy": StrategyName(name)}))


def open_job(path: Path, *, shop: Shop) -> Work:
    """The job in a ``job.json`` or in the folder it lies in; InputFault where there is none."""
    file = path / JOB_FILE if path.is_dir() else path
    if path.is_dir() and not file.is_file():
        raise InputFault(str(path), say("work.open.no-job-file", file=JOB_FILE), say("work.open.name-the-folder"))
    if not path.exists():
        raise InputFault(str(path), say("work.open.no-such"), say("work.open.check-name"))
    job = read_job(file)
    press = press_of(job, shop, file.name)
    _check_stations(job, press, file.name)
    return Work(job, file.parent, shop, press, file.name)


def press_of(job: Job, shop: Shop, where: str) -> Press:
    if isinstance(job.press, Press):
        press = job.press
    else:
        name = job.press
        known = {press.name: press for press in shop.presses}
        found = known.get(name) or next((p for p in shop.presses if p.name.lower() == name.lower()), None)
        if found is None:
            raise InputFault(where, say("work.open.no-press", press=name), did_you_mean(name, known))
        units = min(found.flash_units, shop.flash_units_owned) if shop.flash_units else found.flash_units
        press = found.model_copy(update={"flash_units": units})
    if job.crew_seconds is not None:
        press = press.model_copy(update={"crew_seconds": job.crew_seconds})
    return press


def _check_stations(job: Job, press: Press, where: str) -> None:
    """Seconds and arrangements may name only stations that garments pass."""
    named = [("flash_seconds", station) for station in job.flash_seconds]
    named += [("arrangement", slot.station) for slot in job.arrangement or ()]
    strangers = dict.fromkeys(entry for entry in named if entry[1] not in press.way)
    if strangers:
        told = say("work.open.stations-passed", stations=", ".join(map(str, press.way)))
        raise InputFaults(
            InputFault(where, say("work.open.off-the-way", field=field, station=station), told)
            for field, station in strangers
        )


@contextmanager
def in_file(where: str) -> Iterator[None]:
    """Faults of a job's fields name its file too."""
    try:
        yield
    except InputFault as error:
        faults = error.faults if isinstance(error, InputFaults) else [error]
        raise InputFaults([InputFault(_placed(where, f.where), f.what, f.remedy) for f in faults]) from None


def _placed(where: str, field: str) -> str:
    if not where or not field or field == where:
        return where or field
    return say("errors.fault.file-and-field", file=where, field=field)
