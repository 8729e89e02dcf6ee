"""Whether a press holds screens and flashes: small presses by hand, and the planner asked about many."""

from __future__ import annotations

from itertools import combinations
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from setupassist.documents.base import read_document
from setupassist.documents.plan import Limits
from setupassist.documents.press import Press
from setupassist.documents.terms import InkSystem, Kind, Role
from setupassist.planner.problem import Problem
from setupassist.planner.solve import Status, solve
from setupassist.steps.capacity import press_holds
from setupassist.steps.limits import OwnPairs, Rules, derive_limits
from setupassist.steps.needs import ScreenNeed
from setupassist.steps.standard_order import standard_order

BLACK_TEE = {"name": "black tee", "colour": "#141416", "fibre": "cotton"}


def press(stations: int, slots: list[int], units: int, **more: Any) -> Press:
    heads = list(range(2, stations))
    data = {"name": "p", "stations": stations, "load": 1, "unload": stations, "heads": heads, "flash_slots": slots}
    return read_document(Press, data | {"flash_units": units} | more, "press")


def need(ink: str, role: Role = Role.COLOUR, prints: int = 1) -> ScreenNeed:
    return ScreenNeed(ink, role, Kind.SOLID, "#808080", (50.0, 0.0, 0.0), 10.0, InkSystem.PLASTISOL, prints, ink)


def held(on: Press, screens: list[ScreenNeed], limits: Limits) -> bool:
    return press_holds(on, screens, limits, standard=standard_order(screens))


A, B, C = (need(name) for name in "abc")
PARTED = Limits(order=(("a", "b"),), flash_between=(("a", "b"),))


def test_a_flash_needs_a_slot_between_its_screens_and_a_unit() -> None:
    assert held(press(5, [3], 1), [A, B], PARTED)  # a 2, flash 3, b 4
    assert not held(press(5, [3], 0), [A, B], PARTED)
    assert not held(press(5, [2, 4], 1), [A, B], PARTED)
    assert not held(press(4, [3], 1), [A, B], PARTED)
    assert held(press(4, [], 0), [A, B], Limits())


def test_a_free_screen_stands_on_either_side_of_the_flash() -> None:
    assert held(press(6, [3], 1), [A, B, C], PARTED)  # c behind
    assert held(press(6, [4], 1), [A, B, C], PARTED)  # c before
    assert not held(press(6, [5], 1), [A, B, C], PARTED)


def test_required_cooling_takes_its_stations() -> None:
    hot = {"cooling_stations": 1, "cooling": "required"}
    assert held(press(6, [3], 1, **hot), [A, B], PARTED)
    assert not held(press(5, [3], 1, **hot), [A, B], PARTED)


def test_a_second_print_takes_a_flash_and_a_station() -> None:
    assert held(press(5, [3], 1), [need("a", prints=2)], Limits())
    assert not held(press(4, [3], 1), [need("a", prints=2)], Limits())
    assert held(press(4, [3], 1, max_laps=2), [need("a", prints=2)], Limits())  # one screen in two laps


def test_puff_stands_behind_every_flash() -> None:
    limits = Limits(order=(("a", "b"),), flash_between=(("a", "b"),), no_flash_after=("c",))
    assert held(press(6, [3], 1), [A, B, C], limits)
    assert not held(press(6, [4], 1), [A, B, C], limits)


ROLES = [Role.BLOCKER, Role.BASE, Role.COLOUR, Role.COLOUR, Role.KEY, Role.METALLIC, Role.PUFF]


@settings(max_examples=30, deadline=None)
@given(st.data())
def test_the_planner_finds_no_plan_where_the_press_holds_none(data: st.DataObject) -> None:
    roles = data.draw(st.lists(st.sampled_from(ROLES), min_size=1, max_size=4))
    screens = [need("abcd"[i], role, data.draw(st.sampled_from([1, 1, 2]))) for i, role in enumerate(roles)]
    inks = [screen.ink for screen in screens]
    overlaps = {frozenset(pair): data.draw(st.sampled_from([0.0, 6.0])) for pair in combinations(inks, 2)}
    standard = standard_order(screens)
    limits, _ = derive_limits(screens, overlaps, own=OwnPairs(), rules=Rules(), standard=standard)
    stations = data.draw(st.integers(3, 8))
    slots = data.draw(st.lists(st.integers(2, stations - 1), max_size=5, unique=True))
    cooling = {"cooling_stations": data.draw(st.integers(0, 1)), "cooling": data.draw(st.sampled_from(COOLINGS))}
    on = press(stations, slots, data.draw(st.integers(0, 3)), **cooling)
    nothing = tuple((0,) * len(inks) for _ in inks)
    prints = {screen.ink: screen.prints for screen in screens}
    problem = Problem(on, tuple(inks), limits, nothing, standard, prints=prints)
    status = solve(problem).status
    # these screens bring no pair that may stand in either order but two bases, which the standard order settles
    assert (status is not Status.INFEASIBLE) == held(on, screens, limits)


def test_an_ink_that_takes_no_flash_is_not_held_twice() -> None:
    on = press(6, [2, 3], 1)
    for prints, holds in ((1, True), (2, False)):
        screens = [need("a", Role.PUFF, prints), need("b", Role.BLOCKER, 1)]
        limits, _ = derive_limits(screens, {}, own=OwnPairs(), rules=Rules(), standard=standard_order(screens))
        assert held(on, screens, limits) is holds  # printed twice, puff would need a flash between its prints


COOLINGS = ["preferred", "required"]


# what is given up on a press without room


def ink(name: str, colour: str, area: float = 60, **more: Any) -> dict[str, Any]:
    return {"name": name, "colour": colour, "ink_area_cm2": area, **more}


RED, TEAL, SILVER = ink("red", "#c8202f"), ink("teal", "#2a7f86"), ink("silver", "#a0a3a8", 20, role="metallic")
WHITE, BLACK = ink("white", "#fdfdfb"), ink("black", "#1c1c1e", 30)


def small(desk: Any, stations: int, slots: list[int], units: int) -> None:
    desk.press = press(stations, slots, units).model_dump(by_alias=True, mode="json")


def row(steps: Any, question: str) -> tuple[str, str | None]:
    asked = next(q for q in steps.questions if q.id == question)
    return asked.suggested, asked.row


@pytest.mark.parametrize(("slots", "units", "expected"), [([3, 5], 2, "yes"), ([3], 1, "no")])
def test_the_flash_before_specials_goes_first(desk: Any, slots: list[int], units: int, expected: str) -> None:
    small(desk, 8, slots, units)
    steps = desk.steps(RED, SILVER, overlaps=[["red", "silver", 10]], garment=BLACK_TEE)
    assert steps.answer("base") == "under-all"
    assert steps.answer("flash-before-specials") == expected
    told = any("no room for another flash" in note for note in steps.notes)
    assert told is (expected == "no")


def test_strongly_bleeding_polyester_on_a_press_without_room_says_so(desk: Any) -> None:
    garment = {"name": "jersey", "colour": "#a01020", "fibre": "polyester", "bleed_test": "strong"}
    small(desk, 6, [3], 1)
    steps = desk.steps(RED, TEAL, garment=garment)
    assert row(steps, "blocker") == ("no", "no-room-for-strong-blocker")
    assert [s.ink for s in steps.screens if s.plate is None] == ["white base"]
    assert any("expect dye in the print" in note for note in steps.notes)
    small(desk, 10, [3, 5], 2)
    assert row(desk.steps(RED, TEAL, garment=garment), "blocker") == ("yes", "blocker-strong")


def test_a_made_base_is_given_up_last_and_a_plate_never(desk: Any) -> None:
    small(desk, 4, [3], 1)
    steps = desk.steps(RED, TEAL, garment=BLACK_TEE)
    assert row(steps, "base") == ("none", "no-room-for-base")
    assert any("no room for it and its flash" in note for note in steps.notes)
    base = ink("white base", "#f4f4f2", 120, role="base")
    kept = desk.steps(base, RED, TEAL, overlaps=[["white base", "red", 50]], garment=BLACK_TEE)
    assert kept.answer("base") == "as-separated"
    assert not any("no room" in note for note in kept.notes)


def test_a_white_that_is_its_own_base_stays_wet_where_no_flash_fits(desk: Any) -> None:
    garment = {"name": "tee", "colour": "#b01828", "fibre": "blend", "polyester_share": 0.5}
    small(desk, 4, [3], 1)
    steps = desk.steps(WHITE, BLACK, overlaps=[["white", "black", 5]], garment=garment)
    assert row(steps, "flash-after-base") == ("no", "no-room-after-own-white")
    assert steps.limits.flash_between == ()


def test_a_person_s_answer_is_never_given_up(desk: Any) -> None:
    small(desk, 4, [3], 1)
    steps = desk.steps(RED, TEAL, garment=BLACK_TEE, answers={"base": "under-all"})
    assert steps.answer("base") == "under-all"
    assert "white base" in steps.standard_order
