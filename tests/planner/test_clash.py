"""A clash names a smallest set of limits, and its ways out are really tried."""

from __future__ import annotations

import time
from collections.abc import Callable
from dataclasses import replace
from typing import Any

import pytest

from setupassist.documents.plan import Clash, Limits
from setupassist.documents.terms import Role
from setupassist.errors import Cancelled, InputFault
from setupassist.planner.clash import explain_clash, items_of, smallest_clash, without_all
from setupassist.planner.problem import Problem
from setupassist.planner.solve import Status, find_any, solve
from setupassist.words import words_in

Job = Callable[..., Problem]
BASE = {"order": (("straw", "brick"), ("straw", "slate")), "flash_between": (("straw", "brick"), ("straw", "slate"))}


def way_out(clash: Clash, text: str) -> bool:
    """Whether the way out of that text works; KeyError where it was not tried."""
    return {way.text: way.works for way in clash.ways_out}[text]


@pytest.mark.parametrize(
    ("fields", "limits", "way"),
    [
        (
            {"pins": {"straw": 3, "brick": 3}},
            {"straw is pinned at 3", "brick is pinned at 3"},
            "drop the pin of brick",
        ),
        (
            {"pins": {"straw": 3}, "keep_empty": (3,)},
            {"straw is pinned at 3", "station 3 is to stay empty"},
            "let station 3 be used",
        ),
        (
            {"pins": {"straw": 3}, "out_of_service": (3,)},
            {"straw is pinned at 3", "the head at 3 is out of service"},
            "put the head at 3 back in service",
        ),
        (
            {"pins": {"straw": 3}, "heads": (2, 4, 5, 6)},
            {"straw is pinned at 3, which has no head"},
            "drop the pin of straw",
        ),
        (
            {"limits": {"order": (("straw", "brick"),), "flash_between": (("straw", "brick"),)}, "flash_slots": (3,)},
            {"the press has no flash unit", "a flash acts between straw and brick"},
            "bring a flash unit",
        ),
        (
            {"limits": BASE, "flash_slots": (3,), "units": 1, "cooling": 1, "required": True, "stations": 6},
            {"the press has 4 heads for 3 screens", "the press asks for 1 idle station after every flash"},
            "let cooling be preferred, not required",
        ),
        (
            {"prints": {"straw": 2}, "flash_slots": (3,), "units": 1, "limits": BASE},
            {"straw is printed, flashed and printed again", "the garment passes the press once"},
            "let the garment pass 2 laps",
        ),
        (
            {"flash_slots": (3,), "units": 1, "flash_pins": (3,), "pins": {"straw": 2},
             "limits": {"no_flash_after": ("straw",)}},
            {"a flash unit is pinned at 3", "no flash acts after straw", "straw is pinned at 2"},
            "drop the flash unit pinned at 3",
        ),
    ],
)  # fmt: skip
def test_what_clashes_and_what_would_help(job: Job, fields: dict[str, object], limits: set[str], way: str) -> None:
    problem = job(**fields)
    assert solve(problem).status is Status.INFEASIBLE
    clash = explain_clash(problem)
    assert limits <= set(clash.limits)
    assert len(clash.limits) <= len(limits) + 2
    assert way_out(clash, way) is True


def test_only_heads_that_can_be_used_are_counted(job: Job) -> None:
    clash = explain_clash(job(stations=10, out_of_service=(2, 3, 4), keep_empty=(4, 5, 6, 7)))
    assert set(clash.limits) >= {"the press has 2 usable heads of 8 for 3 screens"}
    assert words_in("es")(clash.limits[0]) == "la máquina tiene 2 cabezales utilizables de 8 para 3 pantallas"
    one = explain_clash(job(stations=8, out_of_service=(2, 3, 4), keep_empty=(5, 6)))
    assert one.limits[0] == "the press has 1 usable head of 6 for 3 screens"
    assert explain_clash(job(heads=(2, 4))).limits[0] == "the press has 2 heads for 3 screens"


@pytest.mark.parametrize("seats", [6, 7])
def test_a_clash_is_smallest(job: Job, seats: int) -> None:
    """Its limits clash by themselves, and without any one of them they do not."""
    problem = job(
        stations=seats, flash_slots=(3,), units=1, cooling=1, required=True, keep_empty=(4,), pins={"slate": 2},
        limits={**BASE, "alone_until_flash": ("straw",), "never_wet": (("brick", "slate"),)},
    )  # fmt: skip
    items = items_of(problem)
    found = smallest_clash(problem, deadline=time.monotonic() + 20)
    assert found
    assert len(found) < len(items)
    assert find_any(*without_all(problem, items, found), seconds=5) is Status.INFEASIBLE
    for dropped in found:
        kept = [item for item in found if item is not dropped]
        assert find_any(*without_all(problem, items, kept), seconds=5) is Status.FEASIBLE


def test_with_every_limit_let_go_a_plan_exists(job: Job) -> None:
    problem = job(heads=(2,), keep_empty=(2,), prints={"straw": 2}, pins={"straw 2": 3}, flash_pins=(4,), limits=BASE)
    assert solve(problem).status is Status.INFEASIBLE
    assert find_any(*without_all(problem, items_of(problem), []), seconds=5) is Status.FEASIBLE


def test_no_clash_where_a_plan_exists(job: Job) -> None:
    assert smallest_clash(job(), deadline=time.monotonic() + 5) == []


def test_ways_out_that_work_stand_first_and_the_press_before_the_trade(job: Job) -> None:
    problem = replace(job(limits=BASE, flash_slots=(3,), units=0), roles={"straw": Role.BASE})
    ways = explain_clash(problem).ways_out
    assert [way.works for way in ways] == sorted((way.works for way in ways), reverse=True)
    assert ways[0].text == "bring a flash unit"
    assert ways[0].change == {"flash_units": 1}
    assert ways[1].change == {"answers": {"flash-after-base": "no"}}
    # straw, flash, brick, slate: one unit and four things to put up
    assert {wish.name: wish.value for wish in ways[0].wishes} | {"flash_units": 1, "moves": 4} == {
        wish.name: wish.value for wish in ways[0].wishes
    }


def test_two_changes_are_tried_where_none_alone_helps(job: Job) -> None:
    problem = job(pins={"straw": 3, "brick": 4}, keep_empty=(3, 4))
    clash = explain_clash(problem)
    assert len(clash.limits) == 2
    working = [way for way in clash.ways_out if way.works]
    assert working
    assert all(len(way.change) == 2 for way in working)


@pytest.mark.parametrize(
    ("role", "answer"),
    [(Role.HIGHLIGHT, "flash-before-highlight"), (Role.PUFF, "flash-before-specials"), (Role.COLOUR, None)],
)
def test_a_flash_is_left_out_by_what_asked_for_it(job: Job, role: Role, answer: str | None) -> None:
    """Brick before slate with a flash, but no flash unit: an answer, or the pair that is to go wet on wet."""
    limits = {"order": (("brick", "slate"),), "flash_between": (("brick", "slate"),)}
    problem = replace(job(limits=limits, flash_slots=()), roles={"slate": role})
    changes = [way.change for way in explain_clash(problem).ways_out if way.works]
    wanted: list[dict[str, object]] = [{"no_flash_between": [["brick", "slate"]]}]
    assert changes == ([{"answers": {answer: "no"}}, *wanted] if answer else wanted)


def test_ways_out_are_tried_on_the_whole_job_where_it_can_be_worked_out(job: Job) -> None:
    """With a second lap this job would ask for a second print; a change that changes nothing is not told."""
    problem = job(pins={"straw": 3}, keep_empty=(3,))

    def replan(change: dict[str, Any]) -> Problem:
        if "max_laps" in change:
            raise InputFault("job", "cannot be")
        return replace(problem, pins={}) if change == {"pins": {}} else problem

    ways = explain_clash(problem, replan=replan).ways_out
    assert [(way.text, way.works) for way in ways] == [("drop the pin of straw", True)]


def test_a_clash_can_be_stopped(job: Job) -> None:
    with pytest.raises(Cancelled):
        explain_clash(job(pins={"straw": 3, "brick": 3}), stop=lambda: True)


def test_with_no_time_left_nothing_untried_is_told(job: Job) -> None:
    clash = explain_clash(job(pins={"straw": 3, "brick": 3}), time_limit_seconds=0)
    assert clash == Clash(limits=(), ways_out=())


def test_a_flash_that_the_person_forbade_may_be_allowed_again(job: Job) -> None:
    pair = (("straw", "brick"),)
    problem = job(
        "straw brick", flash_slots=(3,), units=1, limits={"flash_between": pair, "no_flash_between": pair},
        given=Limits(no_flash_between=pair),
    )  # fmt: skip
    ways = {way.text: way for way in explain_clash(problem).ways_out}
    way = ways["let a flash act between straw and brick"]
    assert way.works
    assert way.change == {"no_flash_between": []}
