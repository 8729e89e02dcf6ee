"""What is known of each ink before anything is decided: role, colour, system and film, and where each comes from."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from setupassist.colour import colour_from_name, hex_of_lab, lab_of
from setupassist.documents.job import InkNote, Job, JobPlate
from setupassist.documents.measure import Measure, PlateMeasure
from setupassist.documents.shop import Ink, Shop
from setupassist.documents.terms import InkSystem, Kind, Role
from setupassist.errors import InputFault, did_you_mean
from setupassist.films.hiding import TypicalFilm, typical_film
from setupassist.resource_files import read_toml
from setupassist.steps.needs import ScreenNeed
from setupassist.trade.names import role_from_name
from setupassist.words import say


@dataclass(frozen=True)
class InkFact:
    """One plate's ink as a screen would print it once, its film, and whether the job fixed its prints.

    ``film_measured`` says that the shop's own figure stands behind the film, not a typical value or one of memory.
    """

    need: ScreenNeed
    film: TypicalFilm
    prints_given: bool
    film_measured: bool = False

    @property
    def name(self) -> str:
        """The ink's name."""
        return self.need.ink

    @property
    def lightness(self) -> float:
        """L* of the ink's colour."""
        return self.need.lab[0]


@dataclass(frozen=True)
class JobInk:
    """What the job says of one ink, from its list of plates and its ``inks``."""

    plate: JobPlate | None
    note: InkNote | None

    @property
    def role(self) -> Role | None:
        """The role that the job gives."""
        return (self.plate.role if self.plate else None) or (self.note.role if self.note else None)

    @property
    def colour(self) -> str | None:
        """The colour that the job gives."""
        return (self.plate.colour if self.plate else None) or (self.note.colour if self.note else None)

    @property
    def ink_system(self) -> InkSystem | None:
        """The system that the job gives."""
        return (self.plate.ink_system if self.plate else None) or (self.note.ink_system if self.note else None)

    @property
    def prints(self) -> int | None:
        """How often the job prints it."""
        return (self.plate.prints if self.plate else None) or (self.note.prints if self.note else None)


def said_of(job: Job, measure: Measure) -> tuple[dict[str, JobInk], list[InputFault]]:
    """What the job says of each measured plate, and a fault for each name that no plate bears.

    A listed plate belongs to the ink it names; where it names none, to the plate of the same place in the list.
    """
    names = [plate.name for plate in measure.plates]
    faults = []
    listed: dict[str, JobPlate] = {}
    if isinstance(job.plates, tuple):
        for place, plate in enumerate(job.plates):
            if plate.ink in names:
                listed[str(plate.ink)] = plate
            elif plate.ink is not None:
                faults.append(_stranger(f"plates[{place}].ink", plate.ink, names))
            elif len(job.plates) == len(names):
                listed[names[place]] = plate
    faults += [_stranger("inks", name, names) for name in job.inks if name not in names]
    return {name: JobInk(listed.get(name), job.inks.get(name)) for name in names}, faults


def systems_told(job: Job, measure: Measure, shop: Shop, said: dict[str, JobInk]) -> dict[str, InkSystem | None]:
    """Each ink's system: the plate's, the measure document's, the job's, the shop ink's; None where none tells."""
    told: dict[str, InkSystem | None] = {}
    for plate in measure.plates:
        shelf = shop.ink(plate.name)
        of_shelf = shelf.system if shelf is not None and "system" in shelf.model_fields_set else None
        told[plate.name] = said[plate.name].ink_system or plate.ink_system or job.ink_system or of_shelf
    return told


def ink_facts(
    measure: Measure,
    *,
    shop: Shop,
    said: dict[str, JobInk],
    systems: dict[str, InkSystem],
    ask_colour: Callable[[str], str],
) -> tuple[InkFact, ...]:
    """The inks in plate order, empty plates left out; ``ask_colour`` answers for an ink that nothing gives a colour."""
    return tuple(
        _fact(plate, shop.ink(plate.name), said[plate.name], systems[plate.name], ask_colour)
        for plate in measure.plates
        if plate.kind is not Kind.EMPTY
    )


def role_of(plate: PlateMeasure, said: JobInk) -> Role:
    """The job's role, else that of a measure document, else what whole words of the name tell."""
    if said.role is not None:
        return said.role
    return plate.role if "role" in plate.model_fields_set else role_from_name(plate.name)


def _fact(
    plate: PlateMeasure, shelf: Ink | None, said: JobInk, system: InkSystem, ask_colour: Callable[[str], str]
) -> InkFact:
    colour = said.colour or (shelf.colour if shelf is not None else None)
    lab = None
    if colour is None and plate.lab is not None:
        colour, lab = hex_of_lab(plate.lab), plate.lab
    if colour is None:
        colour = colour_from_name(plate.name) or ask_colour(plate.name)
    need = ScreenNeed(
        ink=plate.name,
        role=role_of(plate, said),
        kind=plate.kind,
        colour=colour,
        lab=lab if lab is not None else lab_of(colour),
        ink_area_cm2=plate.ink_area_cm2,
        ink_system=system,
        prints=said.prints or plate.prints,
        plate=plate.name,
        halftone=plate.halftone,
        ink_box_mm=plate.ink_box_mm,
        low_bleed=bool(shelf is not None and shelf.low_bleed),
        finest_line_mm=plate.finest_line_mm,
        finest_gap_mm=plate.finest_gap_mm,
    )
    prints_given = said.prints is not None or plate.prints > 1  # a document's 1 is what it has by default
    own = _own_film(shelf, system)
    measured = own is not None and shelf is not None and _is_measured(shelf)
    return InkFact(need, own or typical_film(system, colour), prints_given, measured)


def _own_film(shelf: Ink | None, system: InkSystem) -> TypicalFilm | None:
    if shelf is None or shelf.system is not system or shelf.contrast_ratio is None or shelf.at_um is None:
        return None
    return TypicalFilm(shelf.contrast_ratio, shelf.at_um, shelf.colour_is)


def _is_measured(shelf: Ink) -> bool:
    """Whether the contrast ratio is the shop's own: a figure without a source is taken for one."""
    source = shelf.sources.get("contrast_ratio", "").lower()
    return not any(word in source for word in read_toml("trade/decisions.toml")["film"]["not_measured"])


def _stranger(where: str, name: str, names: list[str]) -> InputFault:
    return InputFault(where, say("steps.fault.no-ink-of-job", ink=name), did_you_mean(name, names))
