"""What the plates of a path or of a job show: opened, measured, with the roles and colours that they are given."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import TYPE_CHECKING

from setupassist.documents.job import InkNote, Job, JobPlate
from setupassist.documents.measure import Measure
from setupassist.documents.shop import Shop
from setupassist.documents.store import inside, read_measure
from setupassist.documents.terms import Role
from setupassist.errors import InputFault, did_you_mean
from setupassist.words import say
from setupassist.work import JOB_FILE, Work, open_job

if TYPE_CHECKING:
    from setupassist.art.plates import Plate, PlateSet

Progress = Callable[[float], None]


@dataclass(frozen=True)
class Measured:
    """What the plates show, and the plates themselves where the job has any."""

    measure: Measure
    plates: PlateSet | None


def measure_path(
    path: Path,
    *,
    shop: Shop,
    dpi: float | None = None,
    light_is_ink: bool = False,
    page: int | None = None,
    base: str | None = None,
    progress: Progress | None = None,
) -> Measure:
    """What the plates at ``path`` show: a folder, a TIFF or PDF, or a job (its plates, with what it says of them).

    ``page`` picks one page of a TIFF or PDF, counted from 1.
    """
    measured, _ = measured_at(
        path, shop=shop, dpi=dpi, light_is_ink=light_is_ink, page=page, base=base, progress=progress
    )
    return measured.measure


def measured_at(
    path: Path,
    *,
    shop: Shop,
    dpi: float | None = None,
    light_is_ink: bool = False,
    page: int | None = None,
    base: str | None = None,
    opened: Callable[[PlateSet], object] | None = None,
    progress: Progress | None = None,
) -> tuple[Measured, Work | None]:
    """The same with the plates themselves, and the job where one lies at ``path``.

    ``opened`` is told the plates before any pixel is read, and may raise.
    """
    from setupassist.art.opening import open_plates

    work = _job_at(path, shop=shop, dpi=dpi, light_is_ink=light_is_ink, page=page)
    if work is None:
        plates: PlateSet | Measure = open_plates(path, dpi=dpi, light_is_ink=light_is_ink, page=page)
    else:
        plates = open_job_plates(work)
    if isinstance(plates, Measure):
        return Measured(plates, None), work
    if opened is not None:
        opened(plates)
    if work is not None:
        return measure_job(work, base=base, plates=plates, progress=progress), work
    return Measured(_measured(plates, {}, shop=shop, base=base, progress=progress), plates), None


def plates_at(
    path: Path, *, shop: Shop, dpi: float | None = None, light_is_ink: bool = False, page: int | None = None
) -> PlateSet:
    """The plates at ``path``, not yet read: a folder, a file of plates, or a job. InputFault for a job of figures."""
    from setupassist.art.opening import open_plates

    work = _job_at(path, shop=shop, dpi=dpi, light_is_ink=light_is_ink, page=page)
    if work is None:
        return open_plates(path, dpi=dpi, light_is_ink=light_is_ink, page=page)
    plates = open_job_plates(work)
    if isinstance(plates, Measure):
        raise InputFault(work.where, say("pipeline.fault.figures-only"), say("pipeline.fault.name-the-plates"))
    return plates


def _job_at(path: Path, *, shop: Shop, dpi: float | None, light_is_ink: bool, page: int | None) -> Work | None:
    """The job at ``path``, its plates to be read as asked; None where no job lies there."""
    if path.suffix.lower() != ".json" and not (path.is_dir() and (path / JOB_FILE).is_file()):
        return None
    work = open_job(path, shop=shop)
    source = work.job.source
    asked = source.model_copy(
        update={
            "dpi": dpi or source.dpi,
            "light_is_ink": light_is_ink or source.light_is_ink,
            "page": page or source.page,
        }
    )
    return replace(work, job=work.job.model_copy(update={"source": asked}))


def measure_job(
    work: Work,
    *,
    base: str | None = None,
    plates: PlateSet | None = None,
    progress: Progress | None = None,
    stop: Callable[[], bool] | None = None,
) -> Measured:
    """What the job's plates show, with the roles and colours that the job and the shop give them.

    ``plates`` spares opening them where they are open already.
    """
    opened = plates if plates is not None else open_job_plates(work)
    if isinstance(opened, Measure):
        return Measured(opened, None)
    notes = notes_of(work.job, opened)
    measure = _measured(opened, notes, shop=work.shop, base=base, progress=progress, stop=stop)
    return Measured(measure, opened)


def open_job_plates(work: Work) -> PlateSet | Measure:
    """The job's plates opened, not yet read; the figures where the job was handed figures instead."""
    from setupassist.art.opening import open_files, open_plates

    job, source = work.job, work.job.source
    if isinstance(job.plates, Measure):
        return job.plates
    if isinstance(job.plates, str):
        path = inside(work.folder, job.plates, work.where)
        if path.suffix.lower() == ".json":
            return read_measure(path)
        return open_plates(path, dpi=source.dpi, light_is_ink=source.light_is_ink, page=source.page, names=source.names)
    files = [(inside(work.folder, plate.file, work.where), plate.ink) for plate in job.plates]
    if len(files) == 1 and files[0][0].suffix.lower() == ".json":
        return read_measure(files[0][0])
    return open_files(files, dpi=source.dpi, light_is_ink=source.light_is_ink, page=source.page, names=source.names)


def labels_of(job: Job, plates: PlateSet, shop: Shop) -> tuple[tuple[Role, str | None], ...]:
    """Role and colour of each plate, as the job, the shop, the file and the name tell them."""
    from setupassist.trade.names import role_from_name

    notes = notes_of(job, plates)
    return tuple(
        (
            notes.get(plate.name, InkNote()).role or role_from_name(plate.name),
            _colour(plate, notes.get(plate.name), shop),
        )
        for plate in plates.plates
    )


def relabelled(measure: Measure, labels: Sequence[tuple[Role, str | None]]) -> Measure:
    """The measure with other roles and colours; what pixels tell of bases holds only where no base comes or goes."""
    from setupassist.colour import lab_of

    plates = tuple(
        plate.model_copy(update={"role": role, "lab": None if colour is None else lab_of(colour)})
        for plate, (role, colour) in zip(measure.plates, labels, strict=True)
    )
    return measure.model_copy(update={"plates": plates})


def notes_of(job: Job, plates: PlateSet) -> dict[str, InkNote]:
    """What the job says of each ink by the plate's name; its list of plates wins over its ``inks``.

    A listed plate belongs to the ink it names; where it names none, to the plate of the same place in the list.
    """
    notes = dict(job.inks)
    listed = job.plates if isinstance(job.plates, tuple) else ()
    names = [plate.name for plate in plates.plates]
    for place, entry in enumerate(listed):
        name = entry.ink or (names[place] if len(listed) == len(names) else None)
        if name is not None:
            told = _note(entry).model_dump(exclude_none=True)
            notes[name] = notes.get(name, InkNote()).model_copy(update=told)
    return notes


def _note(entry: JobPlate) -> InkNote:
    return InkNote(role=entry.role, colour=entry.colour, ink_system=entry.ink_system, prints=entry.prints)


def _measured(
    plates: PlateSet,
    notes: Mapping[str, InkNote],
    *,
    shop: Shop,
    base: str | None,
    progress: Progress | None,
    stop: Callable[[], bool] | None = None,
) -> Measure:
    from setupassist.check.ground import finest_in_stock, least_island_mm
    from setupassist.colour import lab_of
    from setupassist.inspection.survey import measure_plates
    from setupassist.trade.names import role_from_name

    names = [plate.name for plate in plates.plates]
    if base is not None and base not in names:
        raise InputFault("--base", say("pipeline.fault.no-such-plate", name=base), did_you_mean(base, names))
    roles = {name: notes.get(name, InkNote()).role or role_from_name(name) for name in names}
    colours = {plate.name: _colour(plate, notes.get(plate.name), shop) for plate in plates.plates}
    labs = {name: lab_of(colour) for name, colour in colours.items() if colour is not None}
    finest = finest_in_stock(shop)
    told = {} if finest is None else {"speck_mm": least_island_mm(finest, shop.policies)}
    return measure_plates(plates, base=base, roles=roles, labs=labs, progress=progress, stop=stop, **told)


def _colour(plate: Plate, note: InkNote | None, shop: Shop) -> str | None:
    from setupassist.colour import colour_from_name

    shelf = shop.ink(plate.name)
    told = (note.colour if note else None, shelf.colour if shelf else None, plate.colour)
    return next((colour for colour in told if colour is not None), None) or colour_from_name(plate.name)
