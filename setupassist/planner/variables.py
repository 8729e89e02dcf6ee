"""The unknowns of a plan, as the solver is given them, and what ties them together.

A slot is a number: lap x stations on the way + place on the way, both from 0. A print stands in one slot; a flash
action acts in a slot of a station where a unit stands.
"""

from __future__ import annotations

from collections.abc import Iterable
from itertools import combinations
from typing import TYPE_CHECKING, Any

from setupassist.planner.line import Line, Print, prints_of
from setupassist.planner.problem import Problem, Standing

if TYPE_CHECKING:
    from ortools.sat.python.cp_model import IntVar, LinearExpr
    from ortools.sat.python.cp_model_helper import Literal


def total(terms: Iterable[LinearExpr]) -> LinearExpr:
    """The sum of the terms; nothing adds up to 0."""
    from ortools.sat.python import cp_model

    added: LinearExpr = cp_model.LinearExpr.sum([*terms, 0])
    return added


class Variables:
    """All unknowns over one solver model.

    ``at[print][slot]``: the print stands there. ``unit[place]``: a flash unit stands there; ``acts[slot]``: it
    acts there. ``two[ink]``: a twice printed ink takes two screens. ``second[ink][place]``: its second screen
    stands there. ``before[one, two]``: print one comes before print two. ``flashes_before[print]``: flash actions
    before it. ``slot[print]``: its slot. ``lap_used[lap]``: some screen prints in that lap or a later one.
    """

    def __init__(self, problem: Problem, line: Line) -> None:
        from ortools.sat.python import cp_model

        self.problem, self.line = problem, line
        self.model = cp_model.CpModel()
        self.places = len(line.way)
        self.slots = self.places * line.laps
        self.prints = prints_of(problem)
        self.screens = [one.ink if one.nth == 1 else f"{one.ink} 2" for one in self.prints]
        self.known: list[IntVar] = []
        self._place_prints()
        self._place_flashes()
        self._second_screens()
        self._laps()
        self._sequence()
        self._count_flashes()

    def boolean(self, name: str) -> IntVar:
        """A new yes-or-no unknown that later solves are hinted with."""
        var = self.model.new_bool_var(name)
        self.known.append(var)
        return var

    def whole(self, most: int, name: str) -> IntVar:
        """A new unknown from 0 to ``most`` that later solves are hinted with."""
        var = self.model.new_int_var(0, most, name)
        self.known.append(var)
        return var

    def never(self) -> None:
        """No plan exists: said to the solver so that it, too, answers so."""
        self.model.add_bool_or([])

    def forget_task(self) -> None:
        """Takes objective, hints and assumptions out; what was added as a limit stays."""
        model: Any = self.model
        model.clear_objective()
        model.clear_hints()
        model.clear_assumptions()

    def place_of(self, slot: int) -> int:
        """Place on the way of a slot."""
        return slot % self.places

    def first(self, ink: str) -> Print:
        """The first print of an ink."""
        return Print(ink, 1)

    def last(self, ink: str) -> Print:
        """The last print of an ink."""
        return Print(ink, self.problem.times_printed(ink))

    def all_of(self, ink: str) -> list[Print]:
        """The prints of an ink in turn."""
        return [Print(ink, nth) for nth in range(1, self.problem.times_printed(ink) + 1)]

    def stands(self, screen: str, place: int) -> LinearExpr:
        """1 where the screen (NAME or ``NAME 2``) stands at a place, else 0."""
        ink = self.problem.ink_of_screen[screen]
        if screen != ink:
            return total(var for p, var in self.second[ink].items() if p == place)
        return self._at_place(Print(ink, 1), place)

    def standing(self, one: Standing) -> LinearExpr | None:
        """At most 1 where the standing is in the plan, else 0; None where the line has no such place or screen.

        At most: a screen that prints twice takes an unknown of its own, which is 1 where it is made large.
        """
        if one.station not in self.line.way:
            return None
        slot = (one.lap - 1) * self.places + self.line.way.index(one.station)
        if one.ink is None:
            return total([self.acts[slot]]) if slot in self.acts else None
        ink = self.problem.ink_of_screen.get(one.ink)
        if ink is None or slot not in self.at[Print(ink)]:
            return None
        if ink not in self.two:
            return total([self.at[Print(ink)][slot]])
        late = self.boolean(f"{one.ink} again at {slot}")
        self.model.add_implication(late, self.at[Print(ink, 2)][slot])
        if one.ink != ink:
            self.model.add_implication(late, self.two[ink])
            return total([late])
        self.model.add_implication(late, ~self.two[ink])
        return total([self.at[Print(ink)][slot], late])

    def prints_in(self, slot: int) -> LinearExpr:
        """1 where some screen prints in the slot, else 0."""
        return total(self.at[p][slot] for p in self.prints if slot in self.at[p])

    def _at_place(self, one: Print, place: int) -> LinearExpr:
        slots = range(place, self.slots, self.places)
        return total(self.at[one][k] for k in slots if k in self.at[one])

    def apart_or(self, one: Print, two: Print, *unless: Literal) -> None:
        """Where ``one`` comes before ``two`` a flash acts between them, unless one of ``unless`` holds."""
        enforced = [self.before[one, two], *(~literal for literal in unless)]
        self.model.add(self.flashes_before[two] >= self.flashes_before[one] + 1).only_enforce_if(enforced)

    def _place_prints(self) -> None:
        usable = [p for p, station in enumerate(self.line.way) if station in self.line.heads]
        self.at: dict[Print, dict[int, IntVar]] = {}
        self.slot: dict[Print, IntVar] = {}
        for one in self.prints:
            slots = [lap * self.places + p for lap in range(self.line.laps) for p in usable]
            self.at[one] = {k: self.boolean(f"{one.ink}/{one.nth} at {k}") for k in slots}
            self.model.add_exactly_one(list(self.at[one].values()))
            self.slot[one] = slot = self.whole(max(slots, default=0), f"slot of {one.ink}/{one.nth}")
            for k, var in self.at[one].items():
                self.model.add(slot == k).only_enforce_if(var)

    def _place_flashes(self) -> None:
        usable = [p for p, station in enumerate(self.line.way) if station in self.line.flash_slots]
        if self.line.flash_units == 0:
            usable = []
        self.unit: dict[int, IntVar] = {p: self.boolean(f"unit at {p}") for p in usable}
        self.acts: dict[int, IntVar] = {}
        for p, unit in self.unit.items():
            acting = [self.boolean(f"flash in {lap * self.places + p}") for lap in range(self.line.laps)]
            self.acts |= {lap * self.places + p: var for lap, var in enumerate(acting)}
            for var in acting:
                self.model.add_implication(var, unit)
            self.model.add_bool_or([*acting, ~unit])

    def _second_screens(self) -> None:
        self.two: dict[str, IntVar] = {}
        self.second: dict[str, dict[int, IntVar]] = {}
        places = [p for p, station in enumerate(self.line.way) if station in self.line.heads]
        for ink in (p.ink for p in self.prints if p.nth == 2):
            two = self.two[ink] = self.boolean(f"{ink}: two screens")
            self.second[ink] = {p: self.boolean(f"{ink} 2 at {p}") for p in places}
            self.model.add(total(self.second[ink].values()) == two)
            for p, var in self.second[ink].items():
                late = self._at_place(Print(ink, 2), p)
                self.model.add(var == late).only_enforce_if(two)
                self.model.add(late == self.stands(ink, p)).only_enforce_if(~two)

    def _laps(self) -> None:
        self.lap_used: dict[int, IntVar] = {}
        for lap in range(1, self.line.laps):
            used = self.lap_used[lap] = self.boolean(f"lap {lap + 1} used")
            late = []
            for one in self.prints:
                prints_late = [var for k, var in self.at[one].items() if k >= lap * self.places]
                late.extend(prints_late)
                self.model.add(total(prints_late) <= used)
            self.model.add(total(late) >= used)
            if lap > 1:
                self.model.add_implication(used, self.lap_used[lap - 1])
            for k, var in self.acts.items():
                if k // self.places == lap:
                    self.model.add_implication(var, used)

    def _sequence(self) -> None:
        model = self.model
        self.before: dict[tuple[Print, Print], Literal] = {}
        for one, two in combinations(self.prints, 2):
            earlier = self.boolean(f"{one.ink}/{one.nth} before {two.ink}/{two.nth}")
            self.before[one, two], self.before[two, one] = earlier, ~earlier
        for (one, two), before in self.before.items():
            model.add(self.slot[one] + 1 <= self.slot[two]).only_enforce_if(before)
        for a, b, c in combinations(self.prints, 3):
            ab, bc, ac = self.before[a, b], self.before[b, c], self.before[a, c]
            model.add_bool_or([~ab, ~bc, ac])
            model.add_bool_or([ab, bc, ~ac])

    def _count_flashes(self) -> None:
        self.flashes_before: dict[Print, IntVar] = {}
        for one in self.prints:
            passed = []
            for k, acts in self.acts.items():
                under = self.boolean(f"{one.ink}/{one.nth} after flash {k}")
                self.model.add_implication(under, acts)
                self.model.add(self.slot[one] > k).only_enforce_if(under)
                self.model.add(self.slot[one] < k).only_enforce_if([acts, ~under])
                passed.append(under)
            self.flashes_before[one] = count = self.whole(len(passed), f"flashes before {one.ink}/{one.nth}")
            self.model.add(count == total(passed))
        for (one, two), before in self.before.items():
            self.model.add(self.flashes_before[one] <= self.flashes_before[two]).only_enforce_if(before)

    def standings(self, value: dict[int, int]) -> tuple[Standing, ...]:
        """The standings that the solver's values tell, sorted; ``value`` is by the variable's index."""
        way, found = self.line.way, []
        for one in self.prints:
            slot = next(k for k, var in self.at[one].items() if value[var.index])
            second = one.nth == 2 and value[self.two[one.ink].index]
            name = f"{one.ink} 2" if second else one.ink
            found.append(Standing(slot // self.places + 1, way[self.place_of(slot)], name))
        for k, var in self.acts.items():
            if value[var.index]:
                found.append(Standing(k // self.places + 1, way[self.place_of(k)]))
        return tuple(sorted(found, key=lambda s: (s.lap, way.index(s.station))))
