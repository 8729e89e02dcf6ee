"""A base for the job on the desk: which inks it goes under and why, making it aside, and taking it into the job."""

from __future__ import annotations

import shutil
import weakref
from collections.abc import Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import TYPE_CHECKING, Any

from setupassist.desk import edits
from setupassist.desk.desk import PICTURE_PX, Desk
from setupassist.desk.edits import Edit
from setupassist.desk.garment_art import GarmentArt, Layer
from setupassist.desk.inks_told import InkTold, inks_told
from setupassist.desk.tasks import Progress, Stage, Stop
from setupassist.documents.job import Job
from setupassist.documents.measure import Measure
from setupassist.documents.store import inside
from setupassist.documents.terms import UNDER_ROLES, Kind, Role
from setupassist.errors import InputFault
from setupassist.words import say

if TYPE_CHECKING:
    from setupassist.appearance.thumbnails import Thumb
    from setupassist.art.plates import PlateSet
    from setupassist.pipeline import Measured

BASE = "a base not written yet"
"""Stands for it among the pictures of the plates; no file's ink is called so."""
ENDING = ".png"
ASIDE = "setupassist-base-"
BASE_WHITE = "#f6f5f0"
MOST_TRIES = 1000


@dataclass(frozen=True)
class InkAbove:
    """An ink of the set that a base may go under: whether it is suggested to, and why."""

    name: str
    colour: str | None
    carried: bool
    why: str


@dataclass(frozen=True)
class BaseWish:
    """The inks that a base is to go under, and how far it is drawn in."""

    under: tuple[str, ...]
    choke_mm: float


@dataclass(frozen=True, eq=False)
class BaseMade:
    """A base that lies aside until it is wanted: one plate, and its small picture as ``Results.pictures`` holds them.

    The file goes when nobody holds this any more.
    """

    wish: BaseWish
    file: Path
    plates: PlateSet
    thumb: Thumb
    two_level: bool


def can_be_made(desk: Desk) -> bool:
    """Whether there are plates that a base can be made of, measured as they are now."""
    measured = desk.results.measured
    return (
        desk.fresh(Stage.MEASURED)
        and measured is not None
        and measured.plates is not None
        and measured.plates.dpi is not None
        and any(plate.ink_area_cm2 for plate in measured.measure.plates)
    )


def inks_above(desk: Desk) -> tuple[InkAbove, ...]:
    """Every ink that is no base or blocker itself, in the order of the set."""
    from setupassist.check.base_plate import carried_inks

    measured = desk.results.measured
    if measured is None or not can_be_made(desk):
        return ()
    measure = measured.measure
    try:
        under: Sequence[str] = carried_inks(measure).under
    except InputFault:
        under = ()
    colours = {ink.name: ink.colour for ink in inks_told(desk)}
    return tuple(
        InkAbove(plate.name, colours.get(plate.name), plate.name in under, _why(measure, plate.name, under))
        for plate in measure.plates
        if plate.role not in UNDER_ROLES
    )


def _why(measure: Measure, name: str, under: Sequence[str]) -> str:
    plate = measure.plate(name)
    if name in under:
        return say("place_art_check.base.why.colour")
    if plate.kind is Kind.EMPTY:
        return say("place_art_check.base.why.empty")
    if plate.role in (Role.KEY, Role.CLEAR, Role.SMOOTHING, Role.ADHESIVE):
        return say("place_art_check.base.why.role", role=say(f"terms.role.{plate.role.value}"))
    return say("place_art_check.base.why.dark")


def bases_there(desk: Desk) -> tuple[InkTold, ...]:
    """The bases that the set has already."""
    return tuple(ink for ink in inks_told(desk) if ink.role is Role.BASE)


def make(measured: Measured, wish: BaseWish, *, progress: Progress, stop: Stop) -> BaseMade:
    """The base in a file aside. Raises what ``checking.make_base`` does, and Cancelled."""
    from setupassist.appearance.thumbnails import thumbnails
    from setupassist.art.folder_aside import folder_aside
    from setupassist.art.opening import open_plates
    from setupassist.check.base_plate import base_is_two_level
    from setupassist.checking import make_base

    plates = measured.plates
    assert plates is not None
    folder = folder_aside(ASIDE)
    try:
        file = folder / f"base{ENDING}"
        make_base(measured, file, under=wish.under, choke_mm=wish.choke_mm, progress=progress, stop=stop)
        opened = open_plates(file)
        thumb = thumbnails(opened, longest_px=PICTURE_PX, stop=stop)[0]
        made = BaseMade(wish, file, opened, thumb, base_is_two_level(plates, wish.under))
    except BaseException:
        shutil.rmtree(folder, ignore_errors=True)
        raise
    weakref.finalize(made, shutil.rmtree, folder, ignore_errors=True)
    return made


def base_over(art: GarmentArt, made: BaseMade) -> GarmentArt:
    """The art with a base on top of it and without the bases below: what is seen around it is its choke."""
    carried = set(made.wish.under)
    layers = [layer for layer in art.layers if carried.intersection(layer.plates)]
    return replace(art, layers=(*layers, Layer(BASE, BASE_WHITE, (BASE,))))


def folder_of_plates(desk: Desk) -> Path:
    """The folder that the job's plates lie in."""
    assert desk.opened is not None
    plates, folder = desk.job.plates, desk.opened.folder
    if isinstance(plates, str):
        path = inside(folder, plates, desk.opened.where)
        return path if path.is_dir() else path.parent
    assert isinstance(plates, tuple)
    return inside(folder, plates[0].file, desk.opened.where).parent


def free_file(folder: Path, ink: str) -> Path:
    """A file named after the ink in that folder, that nothing lies at yet."""
    plain = "".join(c if c.isalnum() or c in " -_" else " " for c in ink)
    stem = " ".join(plain.split())[:80] or "base"
    for number in range(1, MOST_TRIES):
        file = folder / (f"{stem}{ENDING}" if number == 1 else f"{stem} {number}{ENDING}")
        if not file.exists():
            return file
    raise InputFault(str(folder), say("place_art_check.base.no-free-name", name=stem))


def free_ink(desk: Desk, name: str) -> str:
    """The name, or the name with a number, that no ink of the set has."""
    taken = {ink.name.casefold() for ink in inks_told(desk)}
    tries = [name, *(f"{name} ({number})" for number in range(2, MOST_TRIES))]
    return next(each for each in tries if each.casefold() not in taken)


def write(made: BaseMade, file: Path, *, light_is_ink: bool = False) -> None:
    """Puts the base in place: as it is where a PNG is wanted, else as a TIFF; ``light_is_ink`` turns it round."""
    from setupassist.art.png_writing import write_png
    from setupassist.art.writing import write_plate

    plate = made.plates.plates[0]
    assert plate.dpi is not None
    bands = (255 - rows if light_is_ink else rows for (rows,) in made.plates.read(512))
    if file.suffix.lower() == ENDING:
        write_png(file, bands, columns=plate.columns, rows=plate.rows, dpi=plate.dpi, two_level=made.two_level)
    else:
        write_plate(file, bands, columns=plate.columns, rows=plate.rows, dpi=plate.dpi)


def plates_listed(desk: Desk) -> Edit:
    """The job with its plates listed one by one, as they are read now. InputFault where some cannot be read."""
    assert desk.opened is not None
    results, job = desk.results, desk.job
    if results.unread or results.plates is None or isinstance(results.plates, Measure):
        raise InputFault("", say("place_art_check.base.plates-missing"))
    return edits.with_fields(job, say("place_art_check.edit.list"), plates=_listed(desk, results.plates))


def _listed(desk: Desk, plates: PlateSet) -> list[dict[str, Any]]:
    assert desk.opened is not None
    job, root = desk.job, desk.opened.folder.resolve()
    if isinstance(job.plates, tuple) and len(job.plates) == len(plates.plates):
        told = job.model_dump(mode="json", include={"plates"}, exclude_unset=True)["plates"]
        return [{**entry, "ink": plate.name} for entry, plate in zip(told, plates.plates, strict=True)]
    if isinstance(job.plates, tuple):
        paths = [inside(root, entry.file, desk.opened.where) for entry in job.plates]
    else:
        path = inside(root, str(job.plates), desk.opened.where)
        paths = sorted(path.iterdir()) if path.is_dir() else [path]
    files = {path.name: path for path in paths}
    notes = {(entry.file, entry.ink): entry for entry in job.plates} if isinstance(job.plates, tuple) else {}
    listed = []
    for plate in plates.plates:
        file = files[plate.file].relative_to(root).as_posix()
        entry = notes.get((file, plate.name))
        said = entry.model_dump(mode="json", exclude_unset=True, exclude_none=True) if entry is not None else {}
        listed.append({**said, "file": file, "ink": plate.name})
    return listed


def taking_in(desk: Desk, file: Path, ink: str, *, instead: str = "") -> tuple[Edit, Edit]:
    """The edits that list the plates and that take a base into them, the second on top of the first.

    They are two: a job whose plates are a whole folder would read the base from there again once both were undone.
    Raises what ``plates_listed`` and ``taken_in`` do; ``file`` need not be there yet.
    """
    assert desk.opened is not None
    listed = plates_listed(desk)
    return listed, taken_in(listed.job, desk.opened.folder, file, ink, instead=instead)


def taken_in(job: Job, folder: Path, file: Path, ink: str, *, instead: str = "") -> Edit:
    """The edit that takes a written base into a job whose plates are listed, or in the place of the base ``instead``.

    Raises InputFault for a file outside of the job's folder.
    """
    root = folder.resolve()
    if not file.resolve().is_relative_to(root):
        raise InputFault(file.name, say("place_art_check.base.outside"))
    name = file.resolve().relative_to(root).as_posix()
    told = job.model_dump(mode="json", include={"plates"}, exclude_unset=True)["plates"]
    if instead:
        told = [
            {**plate, "file": name, "role": Role.BASE.value} if plate.get("ink") == instead else plate for plate in told
        ]
    else:
        told = [{"file": name, "ink": ink, "role": Role.BASE.value}, *told]
    return edits.with_fields(job, say("place_art_check.edit.base"), plates=told)
