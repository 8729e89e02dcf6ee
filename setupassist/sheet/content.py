"""All that a setup sheet says, gathered in one frozen record; the sheet itself looks nothing up."""

from __future__ import annotations

import itertools
import string
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field

import numpy as np
import numpy.typing as npt

from setupassist.documents.job import Job
from setupassist.documents.measure import Finding, Measure
from setupassist.documents.plan import BrokenLimit, Plan, ScreenChoice, ScreenSetting, Slot
from setupassist.documents.press import Press
from setupassist.documents.shop import Shop
from setupassist.documents.terms import Role
from setupassist.steps.needs import ScreenNeed, Steps
from setupassist.trade.names import location_words
from setupassist.words import say

Picture = npt.NDArray[np.uint8]


@dataclass(frozen=True, eq=False)
class Pictures:
    """The art as pictures.

    ``garment`` is sRGB (rows, columns, 3); ``plates`` holds ink amounts 0..255 (rows, columns) by ink name. A screen
    without a plate of its own may have one made for it, or none.
    """

    garment: Picture | None = None
    plates: Mapping[str, Picture] = field(default_factory=dict)


@dataclass(frozen=True)
class SheetScreen:
    """One screen of the plan: all its prints, what was chosen for it and what it is needed for."""

    name: str
    ink: str
    slots: tuple[Slot, ...]
    role: str
    colour: str
    need: ScreenNeed | None
    choice: ScreenChoice | None

    @property
    def station(self) -> int:
        """Station of its first print."""
        return self.slots[0].station

    @property
    def strokes_per_piece(self) -> int:
        """Strokes over all its prints on one garment."""
        return sum(strokes_of(slot, self.choice) for slot in self.slots)

    @property
    def mesh_per_cm(self) -> float | None:
        """Mesh that the plan says, else the one chosen; None where no stock fits."""
        told = next((slot.mesh_per_cm for slot in self.slots if slot.mesh_per_cm is not None), None)
        return told if told is not None or self.choice is None else self.choice.mesh_per_cm

    @property
    def mesh_per_inch(self) -> float | None:
        """Mesh per inch as the plan names it, else the one chosen."""
        told = next((slot.mesh_per_inch for slot in self.slots if slot.mesh_per_inch is not None), None)
        return told if told is not None or self.choice is None else self.choice.mesh_per_inch

    def setting(self, *names: str) -> ScreenSetting | None:
        """The first setting of these names, None where there is none."""
        if self.choice is None:
            return None
        return next((s for s in map(self.choice.setting, names) if s is not None), None)


@dataclass(frozen=True, eq=False)
class SheetContent:
    """One job, its plan and what led to it. ``date`` and ``version`` are printed as they stand."""

    job: Job
    plan: Plan
    steps: Steps
    press: Press
    shop: Shop
    measure: Measure
    date: str
    version: str
    findings: tuple[Finding, ...] = ()
    pictures: Pictures = field(default_factory=Pictures)

    @property
    def hand_made(self) -> bool:
        """True where a person arranged the stations."""
        return self.job.arrangement is not None

    @property
    def pieces(self) -> int | None:
        """Pieces of the order: the job's, else the answer in force."""
        told = self.job.total_pieces
        answer = self._answered("pieces")
        return told if told is not None or answer is None else round(answer)

    @property
    def tests(self) -> int:
        """Test pieces: the job's, else the answer in force, else the shop's."""
        told = self.job.tests if self.job.tests is not None else self._answered("tests")
        return self.shop.policies.tests if told is None else round(told)

    @property
    def spoilage(self) -> float:
        """Share that spoils: the job's, else the answer in force, else the shop's."""
        told = self.job.spoilage if self.job.spoilage is not None else self._answered("spoilage")
        return self.shop.policies.spoilage if told is None else told

    @property
    def broken_limits(self) -> tuple[BrokenLimit, ...]:
        """The limits that a hand-made arrangement breaks, with their places where these are known."""
        texts = (BrokenLimit(limit="", text=text) for text in self.plan.broken)
        return self.plan.broken_limits or tuple(texts)

    def broken_at(self, lap: int, station: int) -> tuple[str, ...]:
        """Letters of the limits that are broken at a station in a lap."""
        return tuple(
            letter
            for letter, limit in zip(limit_letters(), self.broken_limits, strict=False)
            if (lap, station) in limit.slots
        )

    def _answered(self, question: str) -> float | None:
        answer = self.steps.answer(question)
        return None if answer is None else float(answer)

    @property
    def location(self) -> str:
        """Where on the garment: the usual word for it, else as the job says it."""
        return location_words(self.job.location)

    def in_print_order(self) -> tuple[Slot, ...]:
        """Every print and flash action by lap and place on the way; stations off the way come last."""
        place = {station: at for at, station in enumerate(self.press.way)}
        far = len(place)
        return tuple(sorted(self.plan.slots, key=lambda s: (s.lap, place.get(s.station, far), s.station)))

    def screens(self) -> tuple[SheetScreen, ...]:
        """The screens in the order in which they first print."""
        prints: dict[str, list[Slot]] = {}
        for slot in self.in_print_order():
            if slot.holds == "screen":
                prints.setdefault(screen_name(slot), []).append(slot)
        needs = {need.ink: need for need in self.steps.screens}
        choices = {choice.ink: choice for choice in self.plan.screens}
        screens = []
        for name, slots in prints.items():
            ink = ink_of_screen(name, set(needs) or set(choices))
            need, choice = needs.get(ink), choices.get(name, choices.get(ink))
            role = need.role.value if need else (choice.role if choice else Role.COLOUR.value)
            colour = need.colour if need else "#ffffff"
            screens.append(SheetScreen(name, ink, tuple(slots), role, colour, need, choice))
        return tuple(screens)

    def flash_stations(self) -> tuple[int, ...]:
        """Stations where a flash unit stands, in travel order."""
        stations = [slot.station for slot in self.in_print_order() if slot.holds == "flash"]
        return tuple(dict.fromkeys(stations))

    @property
    def laps(self) -> int:
        """Rounds that a garment makes."""
        return max((slot.lap for slot in self.plan.slots), default=1)


def limit_letters() -> Iterator[str]:
    """Letters that tell broken limits apart, so that nobody takes them for stations: A to Z, then AA, AB, …"""
    for length in itertools.count(1):
        for letters in itertools.product(string.ascii_uppercase, repeat=length):
            yield "".join(letters)


def ink_of_screen(name: str, known: set[str]) -> str:
    """The ink of a screen's name: a second screen of an ink is called ``NAME 2``."""
    if name not in known and name.endswith(" 2") and name[:-2] in known:
        return name[:-2]
    return name


def screen_name(slot: Slot) -> str:
    """What the screen of a slot is called."""
    return slot.ink or say("sheet.not-named")


def role_said(role: str) -> str:
    """A role as a person reads it."""
    return say(f"terms.role.{role}") if role in set(Role) else role


def strokes_of(slot: Slot, choice: ScreenChoice | None) -> int:
    """Strokes of one print: the plan's, else the chosen, else one."""
    if slot.strokes is not None:
        return slot.strokes
    return choice.strokes if choice is not None else 1
