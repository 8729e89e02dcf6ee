"""The line of stations as it is shown: what stands where, what is pinned, wet together, broken, or not on the line.

A line arranged by hand is told as the job has it at once, judged here, before the desk has filled in the rest.
"""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from setupassist import pipeline
from setupassist.desk.desk import Desk
from setupassist.desk.tasks import Stage
from setupassist.documents.plan import BrokenLimit, Plan, Slot
from setupassist.documents.press import Press
from setupassist.pipeline import Planned
from setupassist.planner.judge import broken_limits
from setupassist.planner.problem import Standing
from setupassist.sheet.brackets import Bracket, brackets_by_row
from setupassist.sheet.content import SheetContent, SheetScreen, limit_letters, strokes_of
from setupassist.sheet.stations import Cell, Stands, station_rows

if TYPE_CHECKING:
    from setupassist.planner.problem import Problem

Place = tuple[int, int]
"""(lap, station)."""


@dataclass(frozen=True)
class Card:
    """A print of a screen, or with ``screen`` None an action of a flash unit, at its place.

    ``key`` stays the same while it moves. ``at`` is its turn among the things of one place, 0 where it stands alone.
    ``letters`` are those of the limits broken here; ``mesh_by_hand`` and ``seconds_by_hand`` say what is overruled.
    """

    key: str
    lap: int
    station: int
    screen: str | None = None
    role: str = ""
    colour: str | None = None
    mesh_per_cm: float | None = None
    mesh_per_inch: float | None = None
    strokes: int = 1
    seconds: float | None = None
    pinned: bool = False
    mesh_by_hand: bool = False
    seconds_by_hand: bool = False
    at: int = 0
    letters: tuple[str, ...] = ()

    @property
    def place(self) -> Place:
        """Its lap and station."""
        return self.lap, self.station


@dataclass(frozen=True)
class Spot:
    """A place of the line on which nothing prints or flashes, and what is said of it.

    ``screen`` is the one that rests here in this lap.
    """

    lap: int
    station: int
    stands: Stands
    words: str
    screen: str | None = None
    takes_flash: bool = False

    @property
    def place(self) -> Place:
        """Its lap and station."""
        return self.lap, self.station


@dataclass(frozen=True)
class Limit:
    """A broken limit: its letter, its sentence and the places on the line that it is about."""

    letter: str
    text: str
    places: tuple[Place, ...] = ()


@dataclass(frozen=True)
class Line:
    """All that the line shows.

    ``stations`` are its columns in travel order with load first and unload last. ``spots`` and ``brackets`` are told
    by lap. ``missing`` are screens of a line arranged by hand that no station holds (or too few), ``aside`` what it
    holds at stations that no garment passes. ``fresh`` is False while a plan of the job as it is now is being made.
    """

    stations: tuple[int, ...] = ()
    laps: int = 1
    cards: tuple[Card, ...] = ()
    spots: tuple[Spot, ...] = ()
    brackets: tuple[tuple[Bracket, ...], ...] = ()
    limits: tuple[Limit, ...] = ()
    missing: tuple[Card, ...] = ()
    aside: tuple[Card, ...] = ()
    hand_made: bool = False
    fresh: bool = True

    def cards_at(self, place: Place) -> tuple[Card, ...]:
        """What stands at a place, the first to be said first."""
        return tuple(card for card in self.cards if card.place == place)

    def card_of(self, screen: str) -> Card | None:
        """The first print of a screen; None where it does not stand on the line."""
        return next((card for card in self.cards if card.screen == screen), None)


@dataclass(frozen=True)
class Shown:
    """The plan that is shown, whether it is of the job as it is now, and whether a person arranged it."""

    planned: Planned
    fresh: bool
    hand_made: bool

    @property
    def plan(self) -> Plan:
        """The plan itself."""
        return self.planned.plan


def shown(desk: Desk) -> Shown | None:
    """The plan to show: the newest that is known, with the job's own arrangement put in; None while none is known."""
    results, job = desk.results, desk.job
    if desk.fresh(Stage.MADE) and results.made is not None:
        return Shown(results.made, True, job.arrangement is not None)
    fresh = desk.fresh(Stage.PLANS, job.strategy)
    planned = results.plans.get(job.strategy) if fresh else results.made or results.plans.get(job.strategy)
    if planned is None:
        return None
    if job.arrangement is None:
        return Shown(planned, fresh, False)
    return Shown(replace(planned, plan=_by_hand(desk, planned)), fresh, True)


def standing_slots(desk: Desk) -> tuple[Slot, ...]:
    """What stands on the line that is shown, as far as it matters where: quick, since nothing is judged."""
    if desk.opened is not None and desk.job.arrangement is not None:
        return desk.job.arrangement
    told = shown(desk) if desk.opened is not None else None
    return told.plan.slots if told is not None else ()


def problem_of(desk: Desk) -> Problem | None:
    """The planning question behind the line that is shown; None while there is no plan."""
    told, work = shown(desk), desk.work
    return None if told is None or work is None else pipeline.problem_of(work, told.planned.steps)


def standings_of(plan: Plan) -> tuple[Standing, ...]:
    """What stands where, as the planner names it."""
    return tuple(Standing(s.lap, s.station, s.ink if s.holds == "screen" else None) for s in plan.slots)


def line_of(desk: Desk) -> Line | None:
    """The line of the job on the desk; None while nothing is known of it or where no plan exists."""
    told, press, measured = shown(desk), desk.press, desk.results.measured
    if told is None or press is None or measured is None or not told.plan.feasible:
        return None
    content = SheetContent(
        job=desk.job, plan=told.plan, steps=told.planned.steps, press=press, shop=desk.shop, measure=measured.measure,
        date="", version="",
    )  # fmt: skip
    rows = station_rows(content)
    limits = tuple(
        Limit(letter, broken.text, broken.slots)
        for letter, broken in zip(limit_letters(), content.broken_limits, strict=False)
    )
    cards = _cards(content, limits)
    way = set(press.way)
    return Line(
        stations=tuple(cell.station for cell in rows[0]),
        laps=content.laps,
        cards=tuple(card for card in cards if card.station in way),
        spots=tuple(_spot(cell, press) for row in rows for cell in row if _idle(cell)),
        brackets=tuple(tuple(row) for row in brackets_by_row(content, rows)),
        limits=limits,
        missing=_missing(content) if told.hand_made else (),
        aside=tuple(card for card in cards if card.station not in way),
        hand_made=told.hand_made,
        fresh=told.fresh,
    )


def _by_hand(desk: Desk, planned: Planned) -> Plan:
    """The plan with the job's arrangement in its slots and judged, as far as can be told in a moment."""
    work = desk.work
    assert work is not None
    known = {slot.ink: slot for slot in planned.plan.slots if slot.holds == "screen"}
    slots = tuple(_filled(slot, known, desk) for slot in work.job.arrangement or ())
    problem = pipeline.problem_of(work, planned.steps)
    standings = standings_of(planned.plan.model_copy(update={"slots": slots}))
    found = broken_limits(problem, standings)
    limits = tuple(BrokenLimit(limit=b.rule, text=b.text, slots=b.slots) for b in found)
    told = {"feasible": True, "clash": None, "slots": slots, "broken_limits": limits}
    return planned.plan.model_copy(update=told | {"broken": tuple(b.text for b in found), "wishes": ()})


def _filled(slot: Slot, known: dict[str | None, Slot], desk: Desk) -> Slot:
    """A slot of an arrangement with what the plan before knew of its screen, or the flash's seconds."""
    if slot.holds == "flash":
        seconds = desk.job.flash_seconds.get(slot.station, desk.shop.policies.flash_seconds)
        return slot.model_copy(update={"seconds": seconds})
    before = known.get(slot.ink)
    return slot if before is None else before.model_copy(update={"lap": slot.lap, "station": slot.station})


def _cards(content: SheetContent, limits: tuple[Limit, ...]) -> tuple[Card, ...]:
    screens = {slot: screen for screen in content.screens() for slot in screen.slots}
    letters: dict[Place, list[str]] = {}
    for limit in limits:
        for place in dict.fromkeys(limit.places):
            letters.setdefault(place, []).append(limit.letter)
    units = {station: at for at, station in enumerate(content.flash_stations(), start=1)}
    taken: Counter[Place] = Counter()
    cards = []
    for slot in content.in_print_order():
        place = slot.lap, slot.station
        told = tuple(letters.get(place, ()))
        if slot.holds == "flash":
            card = _flash(content, slot, units[slot.station])
        else:
            card = _screen(content, slot, screens[slot])
        cards.append(replace(card, at=taken[place], letters=told))
        taken[place] += 1
    return tuple(cards)


def _flash(content: SheetContent, slot: Slot, unit: int) -> Card:
    return Card(
        key=f"flash {unit}/{slot.lap}",
        lap=slot.lap,
        station=slot.station,
        seconds=slot.seconds,
        pinned=slot.station in content.job.flash_pins,
        seconds_by_hand=slot.station in content.job.flash_seconds,
    )


def _screen(content: SheetContent, slot: Slot, screen: SheetScreen) -> Card:
    overrides = content.job.overrides
    overruled = overrides.get(screen.name, overrides.get(screen.ink))
    return Card(
        key=f"{screen.name}/{slot.lap}",
        lap=slot.lap,
        station=slot.station,
        screen=screen.name,
        role=screen.role,
        colour=screen.colour,
        mesh_per_cm=screen.mesh_per_cm,
        mesh_per_inch=screen.mesh_per_inch,
        strokes=strokes_of(slot, screen.choice),
        pinned=content.job.pins.get(screen.name) == slot.station,
        mesh_by_hand=overruled is not None and overruled.mesh_per_inch is not None,
    )


def _missing(content: SheetContent) -> tuple[Card, ...]:
    """A card for each print that the job asks for and the line lacks."""
    prints: Counter[str] = Counter()
    for screen in content.screens():
        prints[screen.ink] += len(screen.slots)
    found = []
    for need in content.steps.screens:
        for nth in range(prints[need.ink] + 1, need.prints + 1):
            name = need.ink if nth == 1 else f"{need.ink} 2"
            role = need.role.value
            found.append(Card(f"{name}/missing", 1, 0, screen=name, role=role, colour=need.colour))
    return tuple(found)


def _idle(cell: Cell) -> bool:
    return cell.stands not in (Stands.SCREEN, Stands.FLASH)


def _spot(cell: Cell, press: Press) -> Spot:
    resting = cell.screen.name if cell.screen is not None else None
    return Spot(cell.lap, cell.station, cell.stands, cell.words, resting, cell.station in press.flash_slots)
