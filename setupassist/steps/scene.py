"""The scene a decision is taken in: the cloth, the inks on it, the press and the shop, and what is answered so far."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from functools import cached_property, lru_cache

import numpy as np

from setupassist.colour import lab_of
from setupassist.documents.job import Garment
from setupassist.documents.measure import Choke, Lab
from setupassist.documents.plan import Limits
from setupassist.documents.press import Press
from setupassist.documents.shop import Shop
from setupassist.documents.terms import SPECIAL_ROLES, UNDER_ROLES, BleedTest, Fibre, Kind, Role
from setupassist.films.hiding import (
    InkFilm,
    TypicalFilm,
    film_colour_difference,
    film_lightness,
    ink_film,
    stroke_thickness_um,
    typical_film,
)
from setupassist.resource_files import read_toml
from setupassist.steps.inks import InkFact
from setupassist.steps.needs import ScreenNeed
from setupassist.trade.fabrics import fabric_of

Overlaps = dict[frozenset[str], float]
BLEND_KINDS = frozenset({Kind.TONE, Kind.HALFTONE, Kind.STOCHASTIC})
NO_OVERLAP: Overlaps = {}


def threshold(name: str) -> float:
    """A figure of ``[threshold]`` in ``trade/decisions.toml``."""
    return float(read_toml("trade/decisions.toml")["threshold"][name]["value"])


def chroma(lab: Lab) -> float:
    """C* of a Lab colour."""
    return float(np.hypot(lab[1], lab[2]))


@dataclass(frozen=True)
class Cloth:
    """The garment as the steps take it: every field told or answered."""

    garment: Garment
    colour: str
    fibre: Fibre
    polyester_share: float
    bleed_test: BleedTest

    @cached_property
    def lab(self) -> Lab:
        """Lab of the cloth."""
        return lab_of(self.colour)

    @property
    def lightness(self) -> float:
        """L* of the cloth."""
        return self.lab[0]

    @property
    def white_or_natural(self) -> bool:
        """White or natural cloth."""
        return self.lightness >= threshold("white_cloth_lightness") and chroma(self.lab) <= threshold(
            "white_cloth_chroma"
        )

    @property
    def dyed_polyester(self) -> bool:
        """Any dyed polyester in it."""
        return self.polyester_share > 0 and not self.white_or_natural

    @cached_property
    def fabric(self) -> str:
        """The cloth's trade name where it changes a setting (fleece, athletic mesh, tri-blend), else ""."""
        known = fabric_of(self.garment.fabric) or fabric_of(self.garment.name)
        return known.name if known else ""


@dataclass(frozen=True)
class Scene:
    """Everything a condition may look at.

    ``inks`` are the plates' inks; ``screens`` those chosen so far, ``overlaps`` in cm² for both. ``answers`` hold
    what is in force for this garment group. ``needs_base`` is filled in once each ink was judged on its own.
    ``numbered`` says that the set's files carry rising numbers: someone has put them in an order. ``limits`` are
    those of the whole plan, there only when the notes are told. ``given_up`` names questions whose usual suggestion
    the press has no room for.
    """

    cloth: Cloth
    inks: tuple[InkFact, ...]
    overlaps: Overlaps
    press: Press
    shop: Shop
    chokes: tuple[Choke, ...] = ()
    answers: Mapping[str, str] = field(default_factory=dict)
    needs_base: frozenset[str] = frozenset()
    screens: tuple[ScreenNeed, ...] = ()
    keep_empty: frozenset[int] = frozenset()
    numbered: bool = False
    limits: Limits | None = None
    given_up: frozenset[str] = frozenset()

    def overlap(self, one: str, two: str) -> float:
        """Overlap of two inks in cm²."""
        return self.overlaps.get(frozenset((one, two)), 0.0)

    @cached_property
    def bases(self) -> tuple[InkFact, ...]:
        """Plates that are bases."""
        return tuple(ink for ink in self.inks if ink.need.role is Role.BASE)

    @cached_property
    def blockers(self) -> tuple[InkFact, ...]:
        """Plates that are blockers."""
        return tuple(ink for ink in self.inks if ink.need.role is Role.BLOCKER)

    @cached_property
    def tops(self) -> tuple[InkFact, ...]:
        """Inks that are to be seen: all but bases, blockers and smoothing screens."""
        return tuple(i for i in self.inks if i.need.role not in UNDER_ROLES and i.need.role is not Role.SMOOTHING)

    @property
    def blend_colours(self) -> tuple[InkFact, ...]:
        """Colours of tone, halftone and stochastic plates."""
        return tuple(i for i in self.tops if i.need.role is Role.COLOUR and i.need.kind in BLEND_KINDS)

    @property
    def wet_blends(self) -> tuple[tuple[str, ...], ...]:
        """Blend colours that the limits hold wet with each other, in groups of two or more."""
        held = {frozenset(pair) for pair in self.limits.no_flash_between} if self.limits else set()
        groups: list[list[str]] = []
        for ink in self.blend_colours:
            together = next((g for g in groups if all(frozenset((ink.name, other)) in held for other in g)), None)
            if together is None:
                groups.append([ink.name])
            else:
                together.append(ink.name)
        return tuple(tuple(group) for group in groups if len(group) > 1)

    @property
    def highlights(self) -> tuple[InkFact, ...]:
        """Highlight plates."""
        return tuple(ink for ink in self.tops if ink.need.role is Role.HIGHLIGHT)

    @property
    def specials(self) -> tuple[InkFact, ...]:
        """Special inks that sit on a dry film: all specials but adhesive."""
        return tuple(i for i in self.tops if i.need.role in SPECIAL_ROLES and i.need.role is not Role.ADHESIVE)

    @property
    def black_inks(self) -> tuple[InkFact, ...]:
        """Near-black inks without a hue, of colour or key plates."""
        return tuple(
            ink
            for ink in self.tops
            if ink.need.role in (Role.COLOUR, Role.KEY)
            and ink.lightness <= threshold("near_black_lightness")
            and chroma(ink.need.lab) <= threshold("near_black_chroma")
        )

    @property
    def weak(self) -> tuple[InkFact, ...]:
        """Inks that need a base on this cloth."""
        return tuple(ink for ink in self.tops if ink.name in self.needs_base)

    @property
    def hiding(self) -> tuple[InkFact, ...]:
        """Inks that need no base on this cloth."""
        return tuple(ink for ink in self.tops if ink.name not in self.needs_base)

    @property
    def base_screens(self) -> tuple[ScreenNeed, ...]:
        """Bases among the chosen screens."""
        return tuple(screen for screen in self.screens if screen.role is Role.BASE)

    @property
    def under_screens(self) -> tuple[ScreenNeed, ...]:
        """Bases and blockers among the chosen screens."""
        return tuple(screen for screen in self.screens if screen.role in UNDER_ROLES)

    @property
    def own_whites(self) -> tuple[InkFact, ...]:
        """Plain whites that lie straight on cloth which they do not hide, where no base is printed; no specials."""
        if self.base_screens:
            return ()
        printed = {screen.ink for screen in self.screens}
        return tuple(i for i in self.weak if i.name in printed and is_plain_white(i))

    def prints_of(self, ink: str) -> int:
        """How often an ink is printed, 0 where it is not."""
        return next((screen.prints for screen in self.screens if screen.ink == ink), 0)

    def on_own_white(self, white: InkFact) -> tuple[ScreenNeed, ...]:
        """Printed inks of other roles or colours that overlap a white which is its own base."""
        whites = {ink.name for ink in self.own_whites}
        return tuple(
            screen
            for screen in self.screens
            if screen.ink not in whites and self.overlap(white.name, screen.ink) > threshold("contact")
        )

    def difference(self, ink: InkFact) -> float:
        """ΔE00 between one film of the ink on this cloth and on white cloth; estimated."""
        return _difference(ink.need.colour, ink.film, self.cloth.colour)

    @cached_property
    def base_lightnesses(self) -> tuple[tuple[ScreenNeed, float], ...]:
        """Each base, or white that is its own base, with L* of two strokes of it on this cloth; estimated."""
        own = {ink.name: ink.film for ink in self.inks}
        two_um = stroke_thickness_um(2)
        found = []
        for screen in (*self.base_screens, *(ink.need for ink in self.own_whites)):
            film = film_of(screen.colour, own.get(screen.ink) or typical_film(screen.ink_system, screen.colour))
            found.append((screen, film_lightness(film, self.cloth.colour, thickness_um=two_um)))
        return tuple(found)

    def on_other_inks(self, ink: InkFact) -> float:
        """Largest overlap in cm² with a printed ink that is neither base nor blocker."""
        return max((self.overlap(ink.name, other.name) for other in self.tops if other is not ink), default=0.0)

    def bare_share(self, ink: InkFact) -> float:
        """Share of the ink that lies on neither base nor another ink; 0 for an ink without area."""
        if ink.need.ink_area_cm2 <= 0:
            return 0.0
        on_base = sum(self.overlap(ink.name, base.name) for base in self.bases)
        on_inks = sum(self.overlap(ink.name, other.name) for other in self.tops if other is not ink)
        return max(0.0, 1.0 - max(on_base, on_inks) / ink.need.ink_area_cm2)


def is_white(ink: InkFact) -> bool:
    """Whether the ink is a white."""
    return ink.lightness >= threshold("white_ink_lightness") and chroma(ink.need.lab) <= threshold("white_cloth_chroma")


def is_plain_white(ink: InkFact) -> bool:
    """Whether the ink is a white that may stand in for a base: no special, no key."""
    return is_white(ink) and ink.need.role in (Role.COLOUR, Role.HIGHLIGHT)


@lru_cache(maxsize=512)
def film_of(colour: str, film: TypicalFilm) -> InkFilm:
    """The calibrated film of a colour, remembered because calibration takes a while."""
    return ink_film(colour, film)


@lru_cache(maxsize=4096)
def _difference(colour: str, film: TypicalFilm, cloth: str) -> float:
    return film_colour_difference(film_of(colour, film), cloth, thickness_um=stroke_thickness_um(1))
