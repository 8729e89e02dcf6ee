"""The job document: one order of one design, as the shop hands it to the press."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import AfterValidator, BeforeValidator, Discriminator, Field, Tag, model_validator

from setupassist.documents.base import MOST_COUNT, MOST_NAME_LENGTH, Colour, Document, InkName, Name, StationKey
from setupassist.documents.measure import MOST_PLATES, Measure
from setupassist.documents.plan import Slot
from setupassist.documents.press import MOST_STATIONS, Press, Stations
from setupassist.documents.terms import BleedTest, Fibre, InkSystem, Role, StrategyName
from setupassist.errors import one_line
from setupassist.words import languages, say

Pieces = Annotated[int, Field(ge=0, le=MOST_COUNT)]
Pair = tuple[InkName, InkName]
Pairs = Annotated[tuple[Pair, ...], Field(max_length=4096)]
Station = Annotated[int, Field(ge=1)]
Slots = Annotated[tuple[Slot, ...], Field(max_length=2 * MOST_STATIONS)]
FlashSeconds = Annotated[float, Field(gt=0, le=120)]
Label = Annotated[str, Field(max_length=MOST_NAME_LENGTH)]
MOST_NAMED = 2 * MOST_PLATES


def _number_as_text(answer: object) -> object:
    if isinstance(answer, int | float) and not isinstance(answer, bool):
        return f"{answer:g}" if abs(answer) < 1e6 else str(answer)
    return answer


def known_language(language: str) -> str:
    """The language; ValueError with a sentence where it has no catalogue."""
    if language not in languages():
        raise ValueError(say("sheet.unknown-language", known=", ".join(languages()), asked=one_line(language, 40)))
    return language


Answer = Annotated[str, BeforeValidator(_number_as_text, json_schema_input_type=str | int | float)]


class JobPlate(Document):
    """One plate of the job and what the person says of it."""

    file: str
    ink: InkName | None = None
    role: Role | None = None
    colour: Colour | None = None
    ink_system: InkSystem | None = None
    prints: Annotated[int, Field(ge=1, le=2)] | None = None


class InkNote(Document):
    """What the person says of an ink that a path, not a list, brought in."""

    role: Role | None = None
    colour: Colour | None = None
    ink_system: InkSystem | None = None
    prints: Annotated[int, Field(ge=1, le=2)] | None = None


class Garment(Document):
    """One garment group of the order."""

    name: Name = "garment"
    colour: Colour = "#ffffff"
    fibre: Fibre = Fibre.COTTON
    polyester_share: Annotated[float, Field(ge=0, le=1)] | None = None
    fabric: str = "jersey"
    bleed_test: BleedTest = BleedTest.NOT_DONE
    grams_per_m2: Annotated[float, Field(ge=1, le=2000)] | None = None
    pieces: Pieces | None = None


class Override(Document):
    """Values of one screen that the person has overruled."""

    mesh_per_inch: Annotated[float, Field(ge=1, le=1000)] | None = None
    thread_um: Annotated[float, Field(ge=1, le=1000)] | None = None
    strokes: Annotated[int, Field(ge=1, le=9)] | None = None
    squeegee_shore: str | Annotated[int, Field(ge=1, le=100)] | None = None
    squeegee_width_mm: Annotated[float, Field(ge=1, le=2000)] | None = None
    squeegee_angle_deg: Annotated[float, Field(ge=0, le=90)] | None = None
    stroke_length_mm: Annotated[float, Field(ge=1, le=2000)] | None = None
    off_contact_mm: Annotated[float, Field(ge=0, le=50)] | None = None
    stencil_um: Annotated[float, Field(ge=0, le=2000)] | None = None
    tension_n_per_cm: Annotated[float, Field(ge=1, le=100)] | None = None


class Source(Document):
    """How the plates are read. ``names`` are for inks that their file leaves nameless, by what stands in ('ink 5')."""

    page: Annotated[int, Field(ge=1)] | None = None
    dpi: Annotated[float, Field(ge=10, le=20_000)] | None = None
    light_is_ink: bool = False
    names: Annotated[dict[InkName, InkName], Field(max_length=MOST_NAMED)] = {}


class SheetChoice(Document):
    """How the sheet is printed; None leaves it to the shop book."""

    language: Annotated[str, AfterValidator(known_language)] | None = None
    paper: Literal["a4", "letter"] | None = None
    units: Literal["inch", "metric"] | None = None


def _path_or_list(value: object) -> str:
    if isinstance(value, dict | Measure):
        return "figures"
    return "path" if isinstance(value, str) else "list"


def _name_or_press(value: object) -> str:
    return "name" if isinstance(value, str) else "written-out"


OF_STATIONS = ("pins", "flash_pins", "keep_empty", "on_press_now", "arrangement", "kept_plan", "flash_seconds")
"""Fields of a job that name stations of its press: on another press they say nothing."""


class Job(Document):
    """One order of one design; all but ``format``, ``plates`` and ``press`` has a default or is asked for.

    ``plates`` is a path (a folder, a TIFF, a measure document), a list of plates, or a measure document written out.
    """

    format: Literal["setupassist-job/1"]
    title: str = "Untitled job"
    location: str = "front"
    placement: str = ""
    pieces: Pieces | None = None
    sizes: Annotated[dict[Label, Pieces], Field(max_length=60)] = {}
    plates: Annotated[
        Annotated[str, Tag("path")]
        | Annotated[Measure, Tag("figures")]
        | Annotated[tuple[JobPlate, ...], Field(min_length=1, max_length=MOST_PLATES), Tag("list")],
        Discriminator(_path_or_list),
    ]
    inks: Annotated[dict[InkName, InkNote], Field(max_length=MOST_NAMED)] = {}
    garment: Garment | None = None
    garments: Annotated[tuple[Garment, ...], Field(max_length=50)] = ()
    ink_system: InkSystem | None = None
    press: Annotated[Annotated[Name, Tag("name")] | Annotated[Press, Tag("written-out")], Discriminator(_name_or_press)]
    answers: Annotated[dict[str, Answer], Field(max_length=1000)] = {}
    on_top: Pairs = ()
    order: Pairs = ()
    flash_between: Pairs = ()
    no_flash_between: Pairs = ()
    pins: Annotated[dict[InkName, Station], Field(max_length=MOST_NAMED)] = {}
    flash_pins: Stations = ()
    keep_empty: Stations = ()
    on_press_now: Annotated[dict[StationKey, Label], Field(max_length=MOST_STATIONS)] = {}
    strategy: StrategyName = StrategyName.LEANEST
    arrangement: Slots | None = None
    kept_plan: Slots | None = None
    source: Source = Source()
    overrides: Annotated[dict[InkName, Override], Field(max_length=MOST_NAMED)] = {}
    flash_seconds: Annotated[dict[StationKey, FlashSeconds], Field(max_length=MOST_STATIONS)] = {}
    sheet: SheetChoice = SheetChoice()
    tests: Annotated[int, Field(ge=0, le=10_000)] | None = None
    spoilage: Annotated[float, Field(ge=0, le=1)] | None = None
    spares: Annotated[int, Field(ge=0, le=MOST_COUNT)] | None = None
    crew_seconds: Annotated[float, Field(ge=0, le=3600)] | None = None

    @model_validator(mode="after")
    def _adds_up(self) -> Job:
        if self.garment is not None and self.garments:
            raise ValueError(say("documents.job.garment-and-garments"))
        if len({g.name for g in self.garments}) != len(self.garments):
            raise ValueError(say("documents.job.groups-alike"))
        for field in ("flash_pins", "keep_empty"):
            if len(set(getattr(self, field))) != len(getattr(self, field)):
                raise ValueError(say("documents.press.station-twice", field=field))
        groups = [g.pieces for g in self.groups]
        if self.pieces is not None and all(p is not None for p in groups):
            total = sum(p for p in groups if p is not None)
            if total != self.pieces:
                raise ValueError(say("documents.job.garments-do-not-add-up", total=total, pieces=self.pieces))
        total, pieces = sum(self.sizes.values()), self.total_pieces
        if self.sizes and pieces is not None and total != pieces:
            raise ValueError(say("documents.job.sizes-do-not-add-up", total=total, pieces=pieces))
        return self

    @property
    def groups(self) -> tuple[Garment, ...]:
        """The garment groups of the order; at least one."""
        if self.garments:
            return self.garments
        return (self.garment if self.garment is not None else Garment(),)

    @property
    def total_pieces(self) -> int | None:
        """Pieces of the whole order, None where nothing tells them."""
        if self.pieces is not None:
            return self.pieces
        given = [g.pieces for g in self.groups if g.pieces is not None]
        if given:
            return sum(given)
        return sum(self.sizes.values()) if self.sizes else None
