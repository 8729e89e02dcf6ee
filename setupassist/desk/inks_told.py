"""What is said of every plate's ink - role, colour, system, prints - and who says it."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from typing import TypeVar

from setupassist.desk.desk import Desk
from setupassist.documents.job import InkNote, Job
from setupassist.documents.measure import Measure, PlateMeasure
from setupassist.documents.store import example_shop
from setupassist.documents.terms import InkSystem, Role

T = TypeVar("T")


class By(StrEnum):
    """Who says a thing of an ink."""

    HAND = "by-hand"
    NAME = "by-name"
    DEFAULT = "by-default"
    FIGURES = "by-figures"
    FILE = "by-file"
    SHOP = "by-shop"
    JOB = "by-job"
    ANSWER = "by-answer"
    SUGGESTION = "by-suggestion"
    NOBODY = "by-nobody"


@dataclass(frozen=True)
class InkTold:
    """One plate's ink. ``prints`` is 0 where the answers leave it out, None while that is not known.

    ``place`` is the plate's place in the job's list, None where the job lists none. ``usual`` are role, system and
    colour as they would be if the person said nothing.
    """

    name: str
    place: int | None
    role: Role
    role_by: By
    colour: str | None
    colour_by: By
    system: InkSystem | None
    system_by: By
    prints: int | None
    prints_by: By
    usual_role: Role
    usual_role_by: By
    usual_system: InkSystem | None
    usual_colour: str | None


def inks_told(desk: Desk) -> tuple[InkTold, ...]:
    """Every plate's ink in the order of the set; () while the plates are not open."""
    found: tuple[InkTold, ...] = desk.once(("inks told",), lambda: _all_told(desk))
    return found


def _all_told(desk: Desk) -> tuple[InkTold, ...]:
    plates = desk.results.plates
    if plates is None:
        return ()
    return tuple(
        _from_figures(desk, plate) if isinstance(plate, PlateMeasure) else _from_file(desk, plate.name, plate.colour)
        for plate in plates.plates
    )


def _from_file(desk: Desk, name: str, of_file: str | None) -> InkTold:
    return _told(desk, name, _role(name), own_system=None, own_colour=of_file, own_by=By.FILE, prints=None)


def _from_figures(desk: Desk, plate: PlateMeasure) -> InkTold:
    from setupassist.colour import hex_of_lab

    given = "role" in plate.model_fields_set
    role = (plate.role, By.FIGURES) if given else _role(plate.name)
    colour = None if plate.lab is None else hex_of_lab(plate.lab)
    prints = plate.prints if plate.prints > 1 else None
    own = plate.ink_system
    return _told(desk, plate.name, role, own_system=own, own_colour=colour, own_by=By.FIGURES, prints=prints)


def _role(name: str) -> tuple[Role, By]:
    """The role that a name tells; a name that tells none is taken as a colour's."""
    from setupassist.trade.names import role_told_by

    told = role_told_by(name)
    return (Role.COLOUR, By.DEFAULT) if told is None else (told, By.NAME)


def _told(
    desk: Desk,
    name: str,
    usual_role: tuple[Role, By],
    *,
    own_system: InkSystem | None,
    own_colour: str | None,
    own_by: By,
    prints: int | None,
) -> InkTold:
    place, note = note_of(desk, name)
    usual_colour, usual_system = _colour(desk, name, own_colour, own_by), _system(desk, name, own_system)
    role = _overruled(usual_role, note.role)
    colour = _overruled(usual_colour, note.colour)
    system = _overruled(usual_system, note.ink_system)
    times: tuple[int | None, By] = _prints(desk, name)
    if note.prints is not None and times[0] != 0:
        times = note.prints, By.HAND
    elif prints is not None and times[0] != 0:
        times = prints, By.FIGURES
    return InkTold(
        name, place, *role, *colour, *system, *times,
        usual_role=usual_role[0], usual_role_by=usual_role[1], usual_system=usual_system[0],
        usual_colour=usual_colour[0],
    )  # fmt: skip


def _overruled(usual: tuple[T, By], said: T | None) -> tuple[T, By]:
    """What the person says in place of the usual; saying the same overrules nothing."""
    return usual if said is None or said == usual[0] else (said, By.HAND)


def note_of(desk: Desk, name: str) -> tuple[int | None, InkNote]:
    """Place of an ink's plate in the job's list, and what the job says of the ink; the list wins."""
    job, note = desk.job, desk.job.inks.get(name, InkNote())
    place = _place(desk, job, name)
    if place is None or not isinstance(job.plates, tuple):
        return place, note
    entry = job.plates[place]
    told = entry.model_dump(include=set(InkNote.model_fields), exclude_none=True)
    return place, note.model_copy(update=told)


def _place(desk: Desk, job: Job, name: str) -> int | None:
    plates = desk.results.plates
    if not isinstance(job.plates, tuple) or plates is None or isinstance(plates, Measure):
        return None
    for place, entry in enumerate(job.plates):
        if entry.ink == name:
            return place
    if len(job.plates) == len(plates.plates):
        place = [plate.name for plate in plates.plates].index(name)
        return place if job.plates[place].ink is None else None
    from setupassist.desk.sound_plates import label_of

    file = next(plate.file for plate in plates.plates if plate.name == name)
    alike = [place for place, entry in enumerate(job.plates) if entry.ink is None and label_of(entry.file) == file]
    return alike[0] if len(alike) == 1 else None


def _colour(desk: Desk, name: str, own: str | None, own_by: By) -> tuple[str | None, By]:
    from setupassist.colour import colour_from_name
    from setupassist.desk.asked import steps_known, told_of

    shelf = desk.shop.ink(name)
    of_shelf = shelf.colour if shelf is not None else None
    ways = [(of_shelf, By.SHOP), (own, own_by), (colour_from_name(name), By.NAME)]
    if own_by is By.FIGURES and own is not None and desk.shop == example_shop():
        ways = ways[1:]
    found = next(((colour, by) for colour, by in ways if colour is not None), None)
    if found is not None:
        return found
    question = f"colour-of {name}"
    if question in desk.job.answers:
        return desk.job.answers[question], By.ANSWER
    suggested = told_of(desk, steps_known(desk), question)
    return (suggested, By.SUGGESTION) if suggested is not None else (None, By.NOBODY)


def _system(desk: Desk, name: str, own: InkSystem | None) -> tuple[InkSystem | None, By]:
    from setupassist.desk.asked import steps_known, told_of

    shelf = desk.shop.ink(name)
    of_shelf = shelf.system if shelf is not None and "system" in shelf.model_fields_set else None
    for system, by in ((own, By.FIGURES), (desk.job.ink_system, By.JOB), (of_shelf, By.SHOP)):
        if system is not None:
            return system, by
    question = "ink-system"
    told = told_of(desk, steps_known(desk), question)
    by = By.ANSWER if question in desk.job.answers else By.SUGGESTION
    return (InkSystem(told), by) if told in set(InkSystem) else (None, By.NOBODY)


def _prints(desk: Desk, name: str) -> tuple[int | None, By]:
    from setupassist.desk.asked import steps_known

    steps = steps_known(desk)
    if steps is None:
        return None, By.NOBODY
    return next((need.prints for need in steps.screens if need.plate == name), 0), By.ANSWER
