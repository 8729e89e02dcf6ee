"""The shop book: presses, screens in stock, inks, flash units, dryers, crew and policies.

Any entry may carry ``sources``: where the value of a field comes from.
"""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import Field, model_validator

from setupassist.documents.base import Colour, Document, InkName, Name
from setupassist.documents.press import Press
from setupassist.documents.terms import InkSystem, Role
from setupassist.words import say

Micrometres = Annotated[float, Field(ge=1, le=5000)]
Share = Annotated[float, Field(ge=0, le=1)]
Sources = dict[str, str]


class StockScreen(Document):
    """Screens of one mesh in stock; a measured opening, thickness or volume wins over the formula."""

    mesh_per_cm: Annotated[float, Field(gt=1, le=400)]
    thread_um: Micrometres
    opening_um: Micrometres | None = None
    thickness_um: Micrometres | None = None
    volume_cm3_m2: Annotated[float, Field(gt=0, le=2000)] | None = None
    frame_mm: tuple[Annotated[float, Field(gt=0, le=5000)], Annotated[float, Field(gt=0, le=5000)]] = (
        584.0,
        787.0,
    )
    quantity: Annotated[int, Field(ge=0, le=10_000)] = 1
    tension_n_per_cm: Annotated[float, Field(gt=0, le=100)] | None = None
    sources: Sources = {}

    @model_validator(mode="after")
    def _woven(self) -> StockScreen:
        if self.thread_um >= 10_000 / self.mesh_per_cm:
            raise ValueError(say("documents.shop.no-opening", thread=self.thread_um, mesh=self.mesh_per_cm))
        return self


class Ink(Document):
    """One ink on the shelf; None is filled in from the typical ink of its system and role."""

    name: InkName
    system: InkSystem = InkSystem.PLASTISOL
    colour: Colour | None = None
    role: Role | None = None
    contrast_ratio: Annotated[float, Field(gt=0, le=1)] | None = None
    at_um: Micrometres | None = None
    colour_is: Literal["masstone", "over-white"] = "masstone"
    low_bleed: bool = False
    particle_um: Annotated[float, Field(ge=0, le=5000)] | None = None
    density: Annotated[float, Field(gt=0, le=5)] | None = None
    sources: Sources = {}


class FlashUnit(Document):
    """Flash-cure units of one make in the shop."""

    name: Name
    quantity: Annotated[int, Field(ge=0, le=100)] = 1
    start_seconds: Annotated[float, Field(gt=0, le=120)] = 4.0
    sources: Sources = {}


class Dryer(Document):
    """One conveyor dryer; ``spacing_mm`` is the belt a garment takes."""

    name: Name
    heated_length_mm: Annotated[float, Field(gt=0, le=50_000)]
    spacing_mm: Annotated[float, Field(gt=0, le=5000)] = 457.2
    lanes: Annotated[int, Field(ge=1, le=10)] = 1
    fastest_m_per_min: Annotated[float, Field(gt=0, le=100)] | None = None
    sources: Sources = {}


class Policies(Document):
    """What this shop does where shops differ."""

    units: Literal["inch", "metric"] = "inch"
    paper: Literal["a4", "letter"] = "letter"
    tests: Annotated[int, Field(ge=0, le=10_000)] = 6
    spoilage: Share = 0.02
    setup_minutes_per_screen: Annotated[float, Field(ge=0, le=600)] = 9.0
    setup_minutes_per_flash: Annotated[float, Field(ge=0, le=600)] = 3.0
    likely_share_of_pace: Annotated[float, Field(gt=0, le=1)] = 0.8
    register_tolerance_mm: Annotated[float, Field(ge=0, le=10)] = 0.1
    choke_mm: Annotated[float, Field(ge=0, le=10)] = 0.35
    peek_out_mm: Annotated[float, Field(ge=0, le=10)] = 0.05
    bare_share: Share = 0.01
    hairline_mm: Annotated[float, Field(ge=0, le=0.3)] = 0.3
    hairline_run_mm: Annotated[float, Field(ge=5, le=1000)] = 5.0
    travel_margin_mm: Annotated[float, Field(ge=0, le=500)] = 40.0
    squeegee_margin_mm: Annotated[float, Field(ge=0, le=500)] = 25.0
    frame_margin_mm: Annotated[float, Field(ge=0, le=500)] = 60.0
    ink_transfer_share: Annotated[float, Field(gt=0, le=1)] = 0.6
    residue_grams: Annotated[float, Field(ge=0, le=100_000)] = 500.0
    mesh_per_ruling: Annotated[float, Field(gt=1, le=10)] = 4.0
    least_mesh_per_ruling: Annotated[float, Field(gt=1, le=10)] = 3.5
    opening_per_particle: Annotated[float, Field(gt=0, le=20)] = 3.0
    line_threads: Annotated[float, Field(ge=0, le=10)] = 3.0
    gap_threads: Annotated[float, Field(ge=0, le=10)] = 2.0
    speck_threads: Annotated[float, Field(ge=0, le=10)] = 2.0
    lost_dots_share: Share = 0.02
    flash_seconds: Annotated[float, Field(gt=0, le=120)] = 4.0
    alone_until_flash: bool = True
    blend_stays_wet: bool = True
    discharge_base_wet: bool = True
    wet_harm_slack_share: Share = 0.15
    wet_harm_slack: Annotated[float, Field(ge=0, le=1e6)] = 5.0
    wet_touch: Share = 0.05
    unseen_delta_e: Annotated[float, Field(ge=0, le=100)] = 1.5
    colour_order: Literal["light-to-dark", "small-to-large"] = "light-to-dark"
    base_delta_e: Annotated[float, Field(ge=0, le=100)] = 6.0
    decisions_off: tuple[str, ...] = ()
    sources: Sources = {}


class Decision(Document):
    """A row of the decision table that the shop has written itself: it replaces the row of that id."""

    id: str
    suggest: str
    reason: str
    source: str = "this shop"


class Shop(Document):
    """The whole book."""

    format: Literal["setupassist-shop/1"]
    name: Name
    presses: Annotated[tuple[Press, ...], Field(max_length=100)] = ()
    screens: Annotated[tuple[StockScreen, ...], Field(max_length=1000)] = ()
    inks: Annotated[tuple[Ink, ...], Field(max_length=2000)] = ()
    flash_units: Annotated[tuple[FlashUnit, ...], Field(max_length=100)] = ()
    dryers: Annotated[tuple[Dryer, ...], Field(max_length=100)] = ()
    policies: Policies = Policies()
    decisions: Annotated[tuple[Decision, ...], Field(max_length=500)] = ()

    @model_validator(mode="after")
    def _names_once(self) -> Shop:
        for field in ("presses", "inks", "flash_units", "dryers"):
            names = [entry.name for entry in getattr(self, field)]
            for name in names:
                if names.count(name) > 1:
                    raise ValueError(say("documents.shop.entries-alike", field=field, name=name))
        return self

    @property
    def flash_units_owned(self) -> int:
        """Flash units in the whole shop."""
        return sum(unit.quantity for unit in self.flash_units)

    def in_units(self, units: str | None) -> Shop:
        """The book with other units in place of its own, inch or metric; None are its own."""
        if units in (None, self.policies.units):
            return self
        return self.model_copy(update={"policies": self.policies.model_copy(update={"units": units})})

    def ink(self, name: str) -> Ink | None:
        """The ink of that name (case aside), None where the shelf has none."""
        return next((ink for ink in self.inks if ink.name.lower() == name.lower()), None)
