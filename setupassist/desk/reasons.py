"""What the panel of reasons says of the selected thing: sentences with their figures and where they come from."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

from setupassist.desk.desk import Desk
from setupassist.documents.measure import Finding
from setupassist.documents.plan import Plan, Question, Reason, ScreenChoice, Slot
from setupassist.words import Said, joined, say

PLANNERS_ONLY = frozenset({"earliest", "kept"})
"""Rules of reasons that only the planner has: they tell nothing of a line arranged by hand."""
THE_OTHER_WAY = "-other-way-round"
"""Ending of the ids that tell what a swap would cost; where a person put a thing, that is no reason for its place."""
COLOUR_UNKNOWN = "steps.note.colour-unknown"
MOST_ALIKE = 6
"""Notes that differ only in what they name: so many are told, and how many more there are."""


@dataclass(frozen=True)
class Told:
    """One sentence, where it comes from, and a heading of its own where it begins a group. All are Said or own text."""

    text: str
    source: str = ""
    heading: str = ""


@dataclass(frozen=True)
class About:
    """All that is told about one thing."""

    title: str
    told: tuple[Told, ...]


def about_screen(desk: Desk, screen: str) -> About:
    """Why a screen stands where it stands, and what shaped its mesh and strokes."""
    made = desk.results.made
    if made is None:
        return About(screen, ())
    slots = [slot for slot in made.plan.slots if slot.holds == "screen" and slot.ink == screen]
    told: list[Told] = []
    if desk.job.arrangement is not None:
        told += _by_hand(made.plan, slots, (screen, screen.removesuffix(" 2")))
    else:
        for slot in slots:
            told += _reasons(slot.reasons)
    choice = _choice(made.plan, screen)
    if choice is not None:
        told += _headed(say("desk.reasons.screen"), _reasons(choice.shaped_by))
    told += _rests(made.plan, screen)
    stations = sorted({slot.station for slot in slots})
    return About(_at(screen, stations), tuple(told))


def about_ink(desk: Desk, ink: str) -> About:
    """What the plate of an ink shows, and then why its screen stands where it stands."""
    measured = desk.results.measured
    told: list[Told] = []
    if measured is not None:
        told += [Told(finding.told) for finding in measured.measure.findings if ink in finding.plates]
    told += about_screen(desk, ink).told
    return About(ink, tuple(told))


def about_station(desk: Desk, station: int, lap: int) -> About:
    """What stands at a station in a lap, and why; what the press has there where nothing does."""
    made, press = desk.results.made, desk.press
    title = say("desk.reasons.station", station=station)
    slot = _slot(made.plan, station, lap) if made is not None else None
    if slot is not None and made is not None:
        if slot.holds == "screen" and slot.ink is not None:
            return about_screen(desk, slot.ink)
        hand_made = desk.job.arrangement is not None
        told = _by_hand(made.plan, [slot], ()) if hand_made else _reasons(slot.reasons)
        told += _rests(made.plan, f"flash at {station}")
        return About(say("desk.reasons.flash-at", station=station), tuple(told))
    told = []
    if press is not None:
        if station in press.out_of_service:
            told.append(Told(say("desk.reasons.out-of-service")))
        elif station not in press.heads:
            told.append(Told(say("desk.reasons.no-head")))
        if station in desk.job.keep_empty:
            told.append(Told(say("desk.reasons.kept-empty")))
        takes = "takes-flash" if station in press.flash_slots else "takes-no-flash"
        told.append(Told(say(f"desk.reasons.{takes}")))
    return About(title, tuple(told))


def about_question(question: Question) -> About:
    """What the art says to a question, what is suggested and why."""
    from setupassist.steps.questions import answer_words

    told = [Told(question.says)] if question.says else []
    shown = answer_words(question.suggested)
    told.append(Told(say("desk.reasons.suggested", answer=shown, reason=question.reason), question.source))
    return About(question.text, tuple(told))


def about_finding(finding: Finding) -> About:
    """What a finding means."""
    severity = say(f"terms.severity.{finding.severity.value}")
    return About(severity, (Told(finding.told),))


def about_run(desk: Desk) -> About:
    """What the whole plan notes: assumptions, notes, broken limits."""
    made = desk.results.made
    if made is None:
        return About(say("desk.reasons.run"), ())
    told = _headed(say("desk.reasons.broken"), [Told(text) for text in made.plan.broken])
    told += _headed(say("desk.reasons.notes"), _gathered(made.plan.notes))
    return About(say("desk.reasons.run"), tuple(told))


def _reasons(reasons: Iterable[Reason]) -> list[Told]:
    return [Told(reason.text, reason.source) for reason in reasons]


def _by_hand(plan: Plan, slots: Sequence[Slot], names: Sequence[str]) -> list[Told]:
    """What a line arranged by hand says of a thing: that, the limits broken there, and the reasons that still hold."""
    told = [Told(say("desk.reasons.put-by-hand"))] if slots else []
    places = {(slot.lap, slot.station) for slot in slots}
    touching = [
        Told(broken.text)
        for broken in plan.broken_limits
        if places.intersection(broken.slots) or _named(broken.text).intersection(names)
    ]
    told += _headed(say("desk.reasons.broken"), touching)
    kept = [reason for slot in slots for reason in slot.reasons if _still_holds(reason)]
    return told + _headed(say("desk.reasons.still-holds"), _reasons(kept))


def _still_holds(reason: Reason) -> bool:
    swap = isinstance(reason.text, Said) and reason.text.key.endswith(THE_OTHER_WAY)
    return reason.rule not in PLANNERS_ONLY and not swap


def _named(text: object) -> set[str]:
    """Every plain text among the values of a sentence, at any depth: the names that it tells."""
    if isinstance(text, Said):
        return _named(text.values)
    if isinstance(text, str):
        return {text}
    inner = text.values() if isinstance(text, Mapping) else text if isinstance(text, Sequence) else ()
    return {name for value in inner for name in _named(value)}


def _gathered(notes: Sequence[str]) -> list[Told]:
    """Notes, those that tell alike of many inks as one sentence, or as the first few and how many more there are."""
    greys: dict[str, list[str]] = {}
    for note in notes:
        if isinstance(note, Said) and note.key == COLOUR_UNKNOWN:
            greys.setdefault(note.values["colour"], []).append(note.values["ink"])
    told: list[Told] = []
    counts: dict[str, int] = {}
    for note in notes:
        if not isinstance(note, Said):
            told.append(Told(note))
            continue
        inks = greys.get(note.values["colour"], []) if note.key == COLOUR_UNKNOWN else []
        if len(inks) > 1:
            if note.values["ink"] == inks[0]:
                told.append(Told(say("desk.reasons.colours-unknown", inks=joined(inks), colour=note.values["colour"])))
            continue
        counts[note.key] = counts.get(note.key, 0) + 1
        if counts[note.key] <= MOST_ALIKE:
            told.append(Told(note))
    more = sum(max(0, count - MOST_ALIKE) for count in counts.values())
    return [*told, Told(say("desk.reasons.notes-more", count=more))] if more else told


def _headed(heading: Said, told: list[Told]) -> list[Told]:
    return [Told(one.text, one.source, heading if at == 0 else "") for at, one in enumerate(told)]


def _choice(plan: Plan, screen: str) -> ScreenChoice | None:
    names = (screen, screen.removesuffix(" 2"))
    return next((choice for name in names for choice in plan.screens if choice.ink == name), None)


def _slot(plan: Plan, station: int, lap: int) -> Slot | None:
    return next((slot for slot in plan.slots if slot.station == station and slot.lap == lap), None)


def _rests(plan: Plan, thing: str) -> list[Told]:
    return [Told(say("desk.reasons.rests", garment=group.garment)) for group in plan.groups if thing in group.rest]


def _at(screen: str, stations: list[int]) -> str:
    if not stations:
        return screen
    return say("desk.reasons.screen-at", screen=screen, station=", ".join(map(str, stations)))
