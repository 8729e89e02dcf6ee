"""The measure document: what the plates show."""

from __future__ import annotations

from typing import Annotated

from pydantic import Field, model_validator

from setupassist.documents.base import Document, InkName, Name, Text
from setupassist.documents.terms import InkSystem, Kind, Role, Severity
from setupassist.words import joined, say

MOST_PLATES = 64
MOST_MARK_BOXES = 5000
UNREAD = ("sizes-differ", "resolutions-differ")
MOST_PLACES = 50
TONE_STEPS = 50
SPECK_STEP_MM, SPECK_STEPS = 0.01, 30

Area = Annotated[float, Field(ge=0, le=1e7)]
Length = Annotated[float, Field(ge=0, le=1e7)]
Lab = tuple[
    Annotated[float, Field(ge=0, le=100)],
    Annotated[float, Field(ge=-200, le=200)],
    Annotated[float, Field(ge=-200, le=200)],
]
Place = Annotated[float, Field(ge=-1e5, le=1e5)]
Extent = Annotated[float, Field(ge=0, le=1e5)]
Point = tuple[Place, Place]
Box = tuple[Place, Place, Extent, Extent]
Places = Annotated[tuple[Point, ...], Field(max_length=MOST_PLACES)]


class Halftone(Document):
    """Ruling and angle of the dot lattice; the angle is counter-clockwise from the horizontal, in [0, 90)."""

    lines_per_inch: Annotated[float, Field(gt=0, le=1000)]
    angle_deg: Annotated[float, Field(ge=0, lt=90)]


class PlateMeasure(Document):
    """What one plate shows; ``lab`` is under D65 and the 2° observer.

    ``specks`` are the islands that the finest screen of the shop does not hold; ``speck_counts`` counts all small
    islands by size, in steps of 0.01 mm across. ``tone_cm2`` is the area that dots and tone cover, by local ink in 50
    steps of 2 %; None where the plate has neither. ``dot_mm`` is how wide the scattered dots of a stochastic plate are
    where they stand apart, None elsewhere. ``light_places_mm`` and ``dark_places_mm`` show where their local
    ink is least and most.
    ``register_spread_mm`` is the greatest difference between the offsets of a plate's marks.
    """

    name: InkName
    kind: Kind = Kind.SOLID
    role: Role = Role.COLOUR
    lab: Lab | None = None
    ink_area_cm2: Area
    coverage: Annotated[float, Field(ge=0, le=1)] | None = None
    halftone: Halftone | None = None
    dot_mm: Length | None = None
    finest_line_mm: Length | None = None
    finest_gap_mm: Length | None = None
    specks: Annotated[int, Field(ge=0)] | None = None
    register_offset_mm: Point | None = None
    register_spread_mm: Length | None = None
    finest_line_places_mm: Places = ()
    finest_gap_places_mm: Places = ()
    speck_places_mm: Places = ()
    speck_counts: Annotated[tuple[int, ...], Field(min_length=SPECK_STEPS, max_length=SPECK_STEPS)] | None = None
    tone_cm2: Annotated[tuple[Area, ...], Field(min_length=TONE_STEPS, max_length=TONE_STEPS)] | None = None
    light_places_mm: Places = ()
    dark_places_mm: Places = ()
    ink_box_mm: Box | None = None
    ink_system: InkSystem | None = None
    prints: Annotated[int, Field(ge=1, le=2)] = 1


class Contact(Document):
    """Where two plates meet.

    A hairline is an unprinted run of at least 5 mm between them, at most 0.3 mm wide: its length in all, its mean
    width (None where there is none) and the middle of each run.
    """

    plates: tuple[Name, Name]
    overlap_cm2: Area = 0.0
    shared_edge_cm: Length = 0.0
    hairline_cm: Length = 0.0
    hairline_mm: Length | None = None
    hairline_places_mm: Places = ()


class Bare(Document):
    """What of an ink lies without a base: share of the ink's area, 0..1, the base's own margin left out."""

    ink: Name
    share: Annotated[float, Field(ge=0, le=1)]
    places_mm: Places = ()


class Choke(Document):
    """How far a base is drawn in under the inks it carries, where it shows beyond them, and which inks lie bare.

    ``peek_out_mm`` is how far the base reaches beyond the inks at most.
    """

    base: Name
    median_mm: float | None
    p5_mm: float | None
    peek_out_mm2: Area = 0.0
    peek_out_mm: Length = 0.0
    peek_out_places_mm: Places = ()
    bare: Annotated[tuple[Bare, ...], Field(max_length=MOST_PLATES)] = ()


class Finding(Document):
    """One thing to know before film is made: what is so (``text``) and what to do about it (``remedy``)."""

    code: str
    severity: Severity
    plates: tuple[str, ...] = ()
    text: Text
    remedy: Text | None = None
    measured: float | None = None
    limit: float | None = None
    places_mm: tuple[Point, ...] = ()

    @property
    def told(self) -> str:
        """The text with its remedy."""
        if self.remedy is None:
            return self.text
        if self.text.endswith("."):
            return joined((self.text, self.remedy), " ")
        return say("documents.measure.told", text=self.text, remedy=self.remedy)


class Art(Document):
    """The set as a whole; x runs right and y down from the upper left corner.

    ``marks_mm`` are boxes of everything that was taken for a registration mark or a label beside one, in any plate.
    ``register_marks_mm`` are those of the marks alone, each once, where the reference plate of the register has it.
    """

    source: str = ""
    width_mm: Annotated[float, Field(ge=0, le=100_000)] = 0.0
    height_mm: Annotated[float, Field(ge=0, le=100_000)] = 0.0
    pixels_per_cm: Annotated[float, Field(gt=0)] | None = None
    art_box_mm: Box | None = None
    marks_mm: Annotated[tuple[Box, ...], Field(max_length=MOST_MARK_BOXES)] = ()
    register_marks_mm: Annotated[tuple[Box, ...], Field(max_length=MOST_MARK_BOXES)] = ()


class Measure(Document):
    """What ``measure --json`` prints, and what planning works from."""

    art: Art = Art()
    plates: Annotated[tuple[PlateMeasure, ...], Field(max_length=MOST_PLATES)]
    contacts: Annotated[tuple[Contact, ...], Field(max_length=MOST_PLATES**2)] = ()
    chokes: Annotated[tuple[Choke, ...], Field(max_length=MOST_PLATES)] = ()
    findings: Annotated[tuple[Finding, ...], Field(max_length=5000)] = ()

    @model_validator(mode="after")
    def _names_agree(self) -> Measure:
        names = [plate.name for plate in self.plates]
        if not names:
            raise ValueError(say("documents.measure.no-plates"))
        for name in names:
            if names.count(name) > 1:
                raise ValueError(say("documents.measure.plates-alike", name=name))
        known = set(names)
        if len({frozenset(contact.plates) for contact in self.contacts}) != len(self.contacts):
            raise ValueError(say("documents.measure.contact-twice"))
        for choke in self.chokes:
            if choke.base not in known:
                raise ValueError(say("documents.measure.stranger", field="chokes", name=choke.base))
        for contact in self.contacts:
            for name in contact.plates:
                if name not in known:
                    raise ValueError(say("documents.measure.stranger", field="contacts", name=name))
            if contact.plates[0] == contact.plates[1]:
                raise ValueError(say("documents.measure.contact-with-itself", name=contact.plates[0]))
        return self

    @property
    def unread(self) -> tuple[Finding, ...]:
        """Why none of the plates was measured: they differ in size or resolution; nothing where they were."""
        if any(plate.ink_area_cm2 for plate in self.plates):
            return ()
        return tuple(finding for finding in self.findings if finding.code in UNREAD)

    def overlap_cm2(self, one: str, two: str) -> float:
        """Overlap of two plates by name, 0 where they do not meet."""
        return self._contacts.get(frozenset((one, two)), 0.0)

    def plate(self, name: str) -> PlateMeasure:
        """The plate of that name; KeyError where there is none."""
        for plate in self.plates:
            if plate.name == name:
                return plate
        raise KeyError(name)

    @property
    def _contacts(self) -> dict[frozenset[str], float]:
        return {frozenset(contact.plates): contact.overlap_cm2 for contact in self.contacts}
