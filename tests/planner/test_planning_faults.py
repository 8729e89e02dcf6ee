"""What cannot be asked is said in one plain sentence; what cannot be is a clash, not a fault."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

import pytest

from setupassist.errors import InputFault, InputFaults
from setupassist.planner.faults import check_problem
from setupassist.planner.problem import Problem
from setupassist.planner.solve import Status, solve

Job = Callable[..., Problem]


@pytest.mark.parametrize(
    ("fields", "said"),
    [
        ({"pins": {"brik": 3}}, "'brik' is no screen of this job; did you mean 'brick'?"),
        ({"pins": {"brick 2": 3}}, "'brick' prints once"),
        ({"pins": {"brick": 30}}, "there is no station 30; the press has stations 1 to 8"),
        ({"pins": {"brick": 1}}, "station 1 is not on the way from load (1) to unload (8)"),
        ({"flash_pins": (8,)}, "station 8 is not on the way"),
        ({"keep_empty": (0,)}, "there is no station 0"),
        ({"on_press_now": {99: "old"}}, "there is no station 99"),
        ({"limits": {"order": (("straw", "ghost"),)}}, "'ghost' is no ink of this job"),
        ({"limits": {"alone_until_flash": ("ghost",)}}, "'ghost' is no ink of this job"),
        ({"limits": {"never_wet": (("straw", "straw"),)}}, "'straw' is paired with itself"),
        ({"prints": {"straw": 3}}, "'straw' is to print 3 times"),
        (
            {"limits": {"order": (("straw", "brick"), ("brick", "slate"), ("slate", "straw"))}},
            "goes in a circle: 'straw' before 'brick' before 'slate' before 'straw'",
        ),
        (
            {"limits": {"order": (("straw", "brick"),), "flash_between": (("brick", "straw"),)}},
            "goes in a circle: 'straw' before 'brick' before 'straw'",
        ),
        ({"limits": {"order": (("straw", "straw"),)}}, "goes in a circle: 'straw' before 'straw'"),
    ],
)
def test_one_fault_is_one_sentence(job: Job, fields: dict[str, object], said: str) -> None:
    with pytest.raises(InputFault) as caught:
        solve(job(**fields))
    assert said in str(caught.value)
    assert len(caught.value.sentences()) == 1


@pytest.mark.parametrize(
    ("inks", "said"),
    [
        ("flash brick", "'flash' stands for a flash unit"),
        ("brick brick", "'brick' is there 2 times"),
        ("", "there is none"),
    ],
)
def test_names_that_cannot_be(job: Job, inks: str, said: str) -> None:
    with pytest.raises(InputFault, match=said):
        check_problem(job(inks))


def test_an_ink_named_as_the_second_screen_of_another(job: Job) -> None:
    problem = replace(job("straw brick", prints={"straw": 2}), inks=("straw", "straw 2"))
    with pytest.raises(InputFault, match="also the second screen of 'straw'"):
        check_problem(problem)


def test_several_faults_are_told_together(job: Job) -> None:
    with pytest.raises(InputFaults) as caught:
        check_problem(job(pins={"x": 3, "brick": 40}, keep_empty=(77,)))
    assert len(caught.value.sentences()) == 3


def test_a_matrix_of_the_wrong_shape_is_our_own_mistake(job: Job) -> None:
    with pytest.raises(ValueError, match="matrix"):
        check_problem(replace(job(), harm=((0,),)))
    with pytest.raises(ValueError, match="standard order"):
        check_problem(replace(job(), standard_order=("straw",)))


@pytest.mark.parametrize(
    "fields",
    [
        {"pins": {"straw": 3, "brick": 3}},
        {"pins": {"straw": 3}, "keep_empty": (3,)},
        {"pins": {"straw": 3}, "out_of_service": (3,)},
        {"pins": {"straw": 3}, "heads": (2, 4, 5, 6)},
        {"flash_pins": (3,)},
        {"flash_pins": (3,), "flash_slots": (3,), "units": 1, "keep_empty": (3,)},
        {"flash_pins": (3,), "flash_slots": (5,), "units": 1},
    ],
)
def test_pins_that_clash_are_no_fault_but_no_plan(job: Job, fields: dict[str, object]) -> None:
    assert solve(job(**fields)).status is Status.INFEASIBLE
