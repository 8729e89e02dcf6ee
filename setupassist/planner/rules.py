"""The limits, each as a press operator would say it, and what it tells the solver.

``RULES`` is the registry: id, sentence, must or wish, what to do about it, source. The judge's findings, the reasons
of a plan and the sentences of a clash use the same ids.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal

from setupassist.planner.variables import Variables, total
from setupassist.words import Said, say

if TYPE_CHECKING:
    from ortools.sat.python.cp_model import IntVar, LinearExpr

COMMON = "sources.tag.common-practice"
COMPUTED = "sources.tag.computed"
THE_ART = "sources.the-art"
THE_PRESS = "sources.the-press"
THIS_JOB = "sources.this-job"


@dataclass(frozen=True)
class Rule:
    """One rule: whether it must hold or is wished for, and the sentence that tells where it comes from.

    ``tell`` gives it to the solver; None where the unknowns themselves hold it (a head that does not exist has none)
    or where it is a wish.
    """

    id: str
    weight: Literal["must", "wish"]
    source_id: str
    tell: Callable[[Variables], None] | None = None

    @property
    def sentence(self) -> Said:
        """The rule as a press operator would say it."""
        return say(f"planner.rule.{self.id}.sentence")

    @property
    def remedy(self) -> Said:
        """What to do where it is broken or costs too much."""
        return say(f"planner.rule.{self.id}.remedy")

    @property
    def source(self) -> Said:
        """Where it comes from, as people read it."""
        return say(self.source_id)


def one_thing_a_station(v: Variables) -> None:
    """A station takes one screen or one flash unit, over all laps. Source: the press.

    Told besides, though it follows: all screens and units together fit the stations that can take one. Without it
    too many screens are slow to refute.
    """
    for p in range(v.places):
        here = [v.stands(screen, p) for screen in v.screens]
        if p in v.unit:
            here.append(v.unit[p])
        v.model.add(total(here) <= 1)
    things = [*v.unit.values(), *v.two.values()]
    usable = len(v.line.heads | frozenset(v.line.way[p] for p in v.unit))
    v.model.add(total(things) + len(v.problem.inks) <= usable)


def flash_units(v: Variables) -> None:
    """No more flash units stand than the press takes. Source: the press."""
    v.model.add(total(v.unit.values()) <= v.line.flash_units)


def printed_flashed_printed(v: Variables) -> None:
    """An ink printed twice is gelled between its prints, whoever makes them. Source: common practice."""
    for ink in v.two:
        one, two = v.all_of(ink)
        v.model.add(v.before[one, two] == 1)
        v.apart_or(one, two)


def order(v: Variables) -> None:
    """Every print of the first is down before the second is printed. Source: the art's layers, or the person."""
    for a, b in v.problem.limits.order:
        v.model.add(v.before[v.last(a), v.first(b)] == 1)


def flash_between(v: Variables) -> None:
    """The first is gelled before the second goes on it. Source: common practice, or the person."""
    for a, b in v.problem.limits.flash_between:
        v.model.add(v.before[v.last(a), v.first(b)] == 1)
        v.apart_or(v.last(a), v.first(b))


def never_wet(v: Variables) -> None:
    """Whichever of the two comes first is gelled before the other. Source: the inks' sheets, or the person."""
    for a, b in v.problem.limits.never_wet:
        for one in v.all_of(a):
            for two in v.all_of(b):
                v.apart_or(one, two)
                v.apart_or(two, one)


def stays_wet(v: Variables) -> None:
    """The two go wet on wet: no flash acts between neighbouring prints of them. Source: common practice.

    Neighbouring: no other print of the two comes between.
    """
    for a, b in v.problem.limits.no_flash_between:
        for one_ink, two_ink in ((a, b), (b, a)):
            for one in v.all_of(one_ink):
                for two in v.all_of(two_ink):
                    neighbours = [v.before[one, two]]
                    neighbours += [v.before[two, later] for later in v.all_of(one_ink)[one.nth :]]
                    neighbours += [v.before[earlier, one] for earlier in v.all_of(two_ink)[: two.nth - 1]]
                    same = v.flashes_before[one] == v.flashes_before[two]
                    v.model.add(same).only_enforce_if(neighbours)


def alone_until_flash(v: Variables) -> None:
    """Nothing else is printed until it is gelled; with no flash to come, nothing at all. Source: common practice."""
    for a in v.problem.limits.alone_until_flash:
        for one in v.all_of(a):
            for other in v.prints:
                if other.ink != a:
                    v.apart_or(one, other)


def no_flash_after(v: Variables) -> None:
    """No flash acts once it is down, in this lap or a later one. Source: common practice."""
    acted = total(v.acts.values())
    for a in v.problem.limits.no_flash_after:
        v.model.add(v.flashes_before[v.first(a)] == acted)


def flash_gels_something(v: Variables) -> None:
    """A flash acts on wet ink and something prints after it; a pinned unit may idle so. Source: common practice.

    A unit that the person pinned acts at least once, useful or not, never in a lap beyond the last print.
    """
    pinned = {v.line.way.index(s) for s in v.problem.flash_pins if s in v.line.way}
    wet = total([])
    acting = [k for k in v.acts if v.place_of(k) not in pinned]
    if not acting:
        return
    last = v.whole(v.slots, "slot of the last print")
    v.model.add_max_equality(last, list(v.slot.values()))
    for k in range(v.slots):
        if k in v.acts:
            if k not in acting:
                wet = _wet_after(v, k, wet)
                continue
            v.model.add(v.acts[k] <= wet)
            v.model.add(last > k).only_enforce_if(v.acts[k])
            wet = _wet_after(v, k, wet)
        else:
            wet = wet + v.prints_in(k)


def _wet_after(v: Variables, k: int, wet: LinearExpr) -> IntVar:
    still = v.boolean(f"wet after {k}")
    v.model.add(still <= wet + v.prints_in(k))
    v.model.add_implication(still, ~v.acts[k])
    return still


def pinned(v: Variables) -> None:
    """A pinned screen stands where the person wants it. Source: this job."""
    for screen, station in v.problem.pins.items():
        place = v.line.way.index(station)
        v.model.add(v.stands(screen, place) == 1)


def flash_pinned(v: Variables) -> None:
    """A flash unit stands where the person wants one. Source: this job."""
    for station in v.problem.flash_pins:
        place = v.line.way.index(station)
        if place in v.unit:
            v.model.add(v.unit[place] == 1)
        else:
            v.never()


def cooling(v: Variables) -> None:
    """After a flash the garment passes idle stations before the next screen. Source: the press, common practice."""
    if v.line.cooling_required:
        for lacks in missing_cooling(v).values():
            v.model.add(lacks == 0)


def missing_cooling(v: Variables) -> dict[int, IntVar]:
    """For each slot where a flash may act: whether it acts and lacks cooling before the next screen of its lap.

    ``idle`` counts idle slots from a slot on until the next screen, up to what the press asks for.
    """
    wanted = v.line.cooling_stations
    lacking: dict[int, IntVar] = {}
    if not wanted:
        return lacking
    for lap in range(v.line.laps):
        idle = total([]) + wanted
        for place in range(v.places - 1, -1, -1):
            k = lap * v.places + place
            if k in v.acts:
                lacks = v.boolean(f"flash {k} lacks cooling")
                v.model.add(idle >= wanted).only_enforce_if([v.acts[k], ~lacks])
                lacking[k] = lacks
            busy = v.prints_in(k)
            acts = total([v.acts[k]] if k in v.acts else [])
            here = v.whole(wanted, f"idle from {k}")
            v.model.add(here <= idle + 1 - acts)
            v.model.add(here <= wanted - wanted * busy)
            idle = here
    return lacking


RULES: tuple[Rule, ...] = (
    Rule("one-thing-a-station", "must", THE_PRESS, one_thing_a_station),
    Rule("one-station-a-screen", "must", THE_PRESS),
    Rule("on-the-way", "must", THE_PRESS),
    Rule("every-screen-prints", "must", THIS_JOB),
    Rule("head-in-service", "must", THE_PRESS),
    Rule("kept-empty", "must", THIS_JOB),
    Rule("flash-slot", "must", THE_PRESS),
    Rule("flash-units", "must", THE_PRESS, flash_units),
    Rule("most-laps", "must", THE_PRESS),
    Rule("printed-flashed-printed", "must", COMMON, printed_flashed_printed),
    Rule("order", "must", THE_ART, order),
    Rule("flash-between", "must", COMMON, flash_between),
    Rule("never-wet", "must", COMMON, never_wet),
    Rule("stays-wet", "must", COMMON, stays_wet),
    Rule("alone-until-flash", "must", COMMON, alone_until_flash),
    Rule("no-flash-after", "must", COMMON, no_flash_after),
    Rule("flash-gels-something", "must", COMMON, flash_gels_something),
    Rule("cooling", "must", THE_PRESS, cooling),
    Rule("pinned", "must", THIS_JOB, pinned),
    Rule("flash-pinned", "must", THIS_JOB, flash_pinned),
    Rule("laps", "wish", COMMON),
    Rule("flash_units", "wish", COMMON),
    Rule("wet_harm", "wish", COMPUTED),
    Rule("departures", "wish", COMMON),
    Rule("missing_cooling", "wish", COMMON),
    Rule("moves", "wish", COMMON),
)

RULE = {rule.id: rule for rule in RULES}


def tell_all(v: Variables) -> None:
    """Gives every limit to the solver."""
    for rule in RULES:
        if rule.tell is not None:
            rule.tell(v)
