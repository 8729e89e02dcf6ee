"""An earlier plan is kept near where the wishes leave a choice, and never against them."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

from setupassist.planner.explain import reasons
from setupassist.planner.problem import Problem, Standing
from setupassist.planner.solve import solve

Job = Callable[..., Problem]
Drawn = Callable[..., list[Standing]]


def test_free_places_stay_as_they_were(job: Job, drawn: Drawn) -> None:
    """Nothing is to be wished for at the end of the row: with no kept plan all print as early as they can."""
    problem = job()
    assert solve(problem).standings == tuple(drawn("2 straw, 3 brick, 4 slate"))
    kept = replace(problem, kept=tuple(drawn("3 straw, 4 brick, 7 slate")))
    solution = solve(kept)
    assert solution.standings == kept.kept
    assert solution.only_answer


def test_a_wish_goes_before_the_kept_plan(job: Job, drawn: Drawn) -> None:
    """Slate first would cost 30 tenths: the kept order is given up, the kept place of straw is not."""
    kept = tuple(drawn("2 slate, 3 brick, 6 straw"))
    problem = job(harm={("slate", "brick"): 30}, kept=kept, standard="brick slate straw")
    assert solve(problem).standings == tuple(drawn("3 brick, 4 slate, 6 straw"))


def test_what_is_gone_is_ignored(job: Job, drawn: Drawn) -> None:
    kept = (*drawn("5 plum, 6 ~, 8 brick, 1 slate"), Standing(4, 2, "straw"), Standing(1, 3, "brick 2"))
    assert solve(job(kept=kept)).standings == solve(job()).standings


def test_both_prints_of_a_screen_in_two_laps_are_kept(job: Job, drawn: Drawn) -> None:
    """One head, so one screen prints twice; the unit may stand at 3 or at 5, the head at 2 or at 4."""
    problem = job("straw", stations=6, laps=2, flash_slots=(3, 5), units=1, prints={"straw": 2}, heads=(2,))
    assert solve(problem).standings == tuple(drawn("2 straw, 3 ~", "2 straw"))
    kept = tuple(drawn("2 straw, 5 ~", "2 straw"))
    near = solve(replace(problem, kept=kept))
    assert near.standings == kept
    assert near.only_answer


def test_two_screens_of_an_ink_keep_their_places(job: Job, drawn: Drawn) -> None:
    problem = job("straw", flash_slots=(3, 4), units=1, prints={"straw": 2})
    assert solve(problem).standings == tuple(drawn("2 straw, 3 ~, 4 straw 2"))
    kept = tuple(drawn("3 straw, 4 ~, 7 straw 2"))
    assert solve(replace(problem, kept=kept)).standings == kept


def test_a_screen_that_nothing_else_holds_is_told_to_stay(job: Job, drawn: Drawn) -> None:
    kept = tuple(drawn("5 straw"))
    told = reasons(job("straw", kept=kept), kept)[kept[0]]
    assert [(reason.rule, reason.source) for reason in told] == [("kept", "this job")]
