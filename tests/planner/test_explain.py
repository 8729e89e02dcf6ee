"""Reasons are true for the plan at hand, with their figures."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

import pytest

from setupassist.documents.plan import Limits, Reason
from setupassist.documents.terms import Role
from setupassist.planner.explain import reasons
from setupassist.planner.problem import Problem, Standing
from setupassist.planner.solve import solve

Job = Callable[..., Problem]
Drawn = Callable[..., list[Standing]]
PAIRS = (("straw", "brick"), ("straw", "slate"))


def based(job: Job, **fields: object) -> Problem:
    """Straw is a base under brick (126.71 cm²) and slate (3.24 cm²), gelled by the flash at 3."""
    limits = {"order": PAIRS, "flash_between": PAIRS, "alone_until_flash": ("straw",)}
    problem = job(flash_slots=(3, 5), units=2, cooling=1, limits=limits, **fields)
    return replace(
        problem,
        overlaps_cm2={frozenset(("straw", "brick")): 126.71, frozenset(("straw", "slate")): 3.24},
        roles={"straw": Role.BASE},
    )


def told(problem: Problem, standings: list[Standing], station: int, lap: int = 1) -> dict[str, Reason]:
    found = reasons(problem, standings)
    return {reason.rule: reason for standing, r in found.items() for reason in r
            if (standing.lap, standing.station) == (lap, station)}  # fmt: skip


def test_base_names_what_lies_on_it_largest_overlap_first(job: Job, drawn: Drawn) -> None:
    found = told(based(job), drawn("2 straw, 3 ~, 5 brick, 6 slate"), 2)
    assert found["base-before-its-colours"].text == (
        "first: everything that overlaps it goes on top (brick 127 cm², slate 3.2 cm²)"
    )
    assert found["alone-until-flash"].text == "nothing else prints until the flash at 3 gels it"
    assert found["alone-until-flash"].source == "common practice"


@pytest.mark.parametrize(
    ("cm2", "told"), [(0.02, "0.1"), (3.0, "3"), (9.94, "9.9"), (9.96, "10"), (10.4, "10"), (1234.5, "1234")]
)
def test_areas_are_no_finer_than_they_are_known(cm2: float, told: str, job: Job, drawn: Drawn) -> None:
    problem = replace(based(job), overlaps_cm2={frozenset(("straw", "brick")): cm2})
    first = reasons(problem, drawn("2 straw, 3 ~, 5 brick, 6 slate"))[Standing(1, 2, "straw")][0]
    assert f"brick {told} cm²" in first.text


def test_flash_names_what_it_gels_for_what_and_the_idle_stations(job: Job, drawn: Drawn) -> None:
    found = told(based(job), drawn("2 straw, 3 ~, 5 brick, 6 slate"), 3)
    assert found["flash-before-its-colours"].text == "gels straw before brick, slate"
    assert found["missing_cooling"].text == "1 idle station after it before brick"
    tight = told(based(job), drawn("2 straw, 3 ~, 4 brick, 6 slate"), 3)
    assert tight["missing_cooling"].text == "no idle station after it before brick, 1 wished for"


def test_required_cooling_is_told_as_the_press_s_own(job: Job, drawn: Drawn) -> None:
    found = told(based(job, required=True), drawn("2 straw, 3 ~, 6 brick, 7 slate"), 3)
    assert found["cooling"].text == "2 idle stations after it before brick"
    assert found["cooling"].source == "the press"


def test_cost_of_the_other_way_round_comes_from_the_harm(job: Job, drawn: Drawn) -> None:
    """Brick before slate costs 30 tenths, slate before brick 440: turning them round adds 41.0 cm²·ΔE."""
    problem = job("brick slate", harm={("brick", "slate"): 30, ("slate", "brick"): 440})
    found = told(problem, drawn("2 brick, 3 slate"), 3)
    assert found["wet_harm"].text == "after brick: the other way round 41 cm²·ΔE more wet harm"
    assert found["wet_harm"].source == "computed"
    # the worse arrangement gets no praise
    assert "wet_harm" not in told(problem, drawn("2 slate, 3 brick"), 2)


def test_standard_order_is_told_where_harm_is_equal(job: Job, drawn: Drawn) -> None:
    found = told(job("brick slate"), drawn("2 brick, 3 slate"), 3)
    assert found["departures"].text == "after brick: the other way round 1 more pair against the standard order"


def test_a_flash_for_cleanliness_tells_what_it_saves(job: Job, drawn: Drawn) -> None:
    """Without the flash slate goes on wet brick: 250 tenths."""
    problem = job("brick slate", harm={("brick", "slate"): 250}, flash_slots=(3,), units=1)
    found = told(problem, drawn("2 brick, 3 ~, 4 slate"), 3)
    assert found["wet_harm"].text == "without it 25 cm²·ΔE more wet harm"


def test_pins_and_what_stands_on_the_press(job: Job, drawn: Drawn) -> None:
    problem = job(pins={"slate": 5}, flash_slots=(3,), units=1, flash_pins=(3,), on_press_now={2: "straw", 3: "flash"})
    standings = drawn("2 straw, 3 ~, 4 brick, 5 slate")
    assert told(problem, standings, 5)["pinned"].text == "pinned at 5 by you"
    assert told(problem, standings, 2)["moves"].text == "stands here now: nothing to move"
    assert told(problem, standings, 3)["flash-pinned"].source == "this job"


def test_what_the_person_asked_for_is_told_so(job: Job, drawn: Drawn) -> None:
    problem = job(flash_slots=(3,), units=1, limits={"order": PAIRS[:1], "flash_between": PAIRS[:1]})
    problem = replace(problem, given=Limits(order=PAIRS[:1], flash_between=PAIRS[:1]))
    standings = drawn("2 straw, 3 ~, 4 brick, 5 slate")
    assert told(problem, standings, 2)["order"].text == "before brick: asked for"
    assert told(problem, standings, 3)["flash-between"].text == "gels straw before brick: asked for"
    assert told(problem, standings, 4)["order"].source == "this job"


def test_two_prints_of_one_screen(job: Job) -> None:
    problem = job("straw brick", prints={"straw": 2}, stations=5, laps=2, flash_slots=(3,), units=1,
                  limits={"order": PAIRS[:1]})  # fmt: skip
    standings = list(solve(problem).standings)
    first = told(problem, standings, 2)["printed-flashed-printed"].text
    assert first == (
        "first of two prints: the flash at 3 in lap 1 gels it before it is printed again "
        "by the same screen in a later lap at 2 in lap 2"
    )
    assert told(problem, standings, 3)["printed-flashed-printed"].text == "gels straw before it is printed again"


def test_a_wet_pair_and_a_puff_that_no_flash_follows(job: Job, drawn: Drawn) -> None:
    problem = job(limits={"no_flash_between": (("straw", "brick"),), "no_flash_after": ("slate",)})
    standings = drawn("2 straw, 3 brick, 4 slate")
    assert told(problem, standings, 2)["stays-wet"].text == "wet in wet with brick: no flash may act between them"
    assert told(problem, standings, 4)["no-flash-after"].text == "no flash acts after it"


def test_a_reason_that_an_arrangement_breaks_is_not_told(job: Job, drawn: Drawn) -> None:
    """Brick under the base: nobody may read that it stands after what it lies on."""
    found = told(based(job), drawn("2 brick, 3 straw, 5 ~, 6 slate"), 2)
    assert "order" not in found


def test_many_inks_are_named_up_to_six(job: Job, drawn: Drawn) -> None:
    tops = [f"top{n}" for n in range(9)]
    problem = job(
        "base " + " ".join(tops), stations=14, limits={"order": tuple(("base", top) for top in tops)},
        overlaps_cm2={frozenset(("base", top)): 9.0 - n for n, top in enumerate(tops)},
    )  # fmt: skip
    row = drawn(", ".join(f"{at} {ink}" for at, ink in enumerate(["base", *tops], start=2)))
    told = reasons(problem, row)[row[0]][0]
    assert told.text == "before top0, top1, top2, top3, top4, top5 and 3 more: they lie over it"


def test_a_flash_that_keeps_two_inks_apart_says_so(job: Job, drawn: Drawn) -> None:
    problem = job("straw brick", flash_slots=(3,), units=1, limits={"never_wet": (("brick", "straw"),)})
    row = drawn("2 straw, 3 ~, 4 brick")
    assert reasons(problem, row)[row[1]][0].text == "keeps brick off wet straw"
