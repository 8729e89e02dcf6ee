"""Laws that hold for any planning question: a plan passes the judge, and the order of the inks decides nothing."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from setupassist.documents.plan import Limits
from setupassist.documents.press import Cooling, Press
from setupassist.documents.terms import StrategyName
from setupassist.planner.explain import reasons
from setupassist.planner.judge import broken_limits, wish_values
from setupassist.planner.problem import Problem, Standing
from setupassist.planner.solve import Status, solve
from setupassist.planner.wishes import WISHES, held_at

NAMES = ["straw", "brick", "moss", "slate", "plum"]
QUICK = settings(max_examples=50, deadline=None, derandomize=True, suppress_health_check=[HealthCheck.too_slow])


@st.composite
def problems(draw: Callable[..., object]) -> Problem:
    def some(strategy: st.SearchStrategy[object]) -> object:
        return draw(strategy)

    inks = NAMES[: int(str(some(st.integers(1, 5))))]
    stations = int(str(some(st.integers(6, 11))))
    way = list(range(2, stations))
    few = st.lists(st.sampled_from(way), unique=True, max_size=4).map(lambda s: tuple(sorted(s)))
    pairs = [(a, b) for i, a in enumerate(inks) for b in inks[i + 1 :]]
    chosen = draw(st.lists(st.sampled_from(pairs), unique=True, max_size=3)) if pairs else []
    assert isinstance(chosen, list)
    press = Press(
        name="any press", stations=stations, load=1, unload=stations, heads=tuple(way),
        flash_slots=draw(few), flash_units=draw(st.integers(0, 2)), max_laps=draw(st.integers(1, 2)),
        cooling_stations=draw(st.integers(0, 2)), cooling=draw(st.sampled_from(list(Cooling))),
    )  # fmt: skip
    figure = st.integers(0, 300)
    return Problem(
        press=press,
        inks=tuple(inks),
        limits=Limits(
            order=closed(chosen), flash_between=tuple(chosen[:1]) if press.flash_slots and press.flash_units else ()
        ),
        harm=tuple(tuple(0 if a == b else int(str(draw(figure))) for b in inks) for a in inks),
        standard_order=tuple(draw(st.permutations(inks))),
        strategy=draw(st.sampled_from(list(StrategyName))),
        prints={inks[0]: draw(st.integers(1, 2))},
        on_press_now=draw(st.dictionaries(st.sampled_from(way), st.sampled_from([*inks, "flash", "old"]), max_size=3)),
    )


def closed(pairs: list[tuple[str, str]]) -> tuple[tuple[str, str], ...]:
    found = set(pairs)
    while more := {(a, d) for a, b in found for c, d in found if b == c} - found:
        found |= more
    return tuple(sorted(found))


@QUICK
@given(problems())
def test_a_plan_passes_the_judge_and_counts_as_told(problem: Problem) -> None:
    solution = solve(problem)
    assert solution.status in (Status.BEST, Status.INFEASIBLE)
    if solution.status is Status.INFEASIBLE:
        assert not solution.standings
        assert not solution.wishes
        return
    assert broken_limits(problem, solution.standings) == []
    assert solution.only_answer
    counted = wish_values(problem, solution.standings)
    assert [w.name for w in solution.wishes] == list(WISHES)
    for wish in solution.wishes:
        unit = 10 if wish.name == "wet_harm" else 1
        assert round(wish.value * unit) == counted[wish.name]
        assert wish.proven
        assert round(wish.bound * unit) <= counted[wish.name] <= held_at(problem, wish.name, round(wish.bound * unit))
    way = problem.press.way
    assert list(solution.standings) == sorted(solution.standings, key=lambda s: (s.lap, way.index(s.station)))


@QUICK
@given(problems(), st.randoms(use_true_random=False))
def test_the_order_of_inks_decides_nothing(problem: Problem, rng: object) -> None:
    assert hasattr(rng, "shuffle")
    mixed = list(range(len(problem.inks)))
    rng.shuffle(mixed)
    turned = replace(
        problem,
        inks=tuple(problem.inks[i] for i in mixed),
        harm=tuple(tuple(problem.harm[i][j] for j in mixed) for i in mixed),
    )
    assert solve(turned).standings == solve(problem).standings


@QUICK
@given(
    problems(),
    st.sets(
        st.builds(
            Standing, st.integers(1, 2), st.integers(1, 11), st.one_of(st.none(), st.sampled_from([*NAMES, "straw 2"]))
        ),
        max_size=9,
    ),
)
def test_a_kept_plan_costs_no_wish_and_the_answer_stays_the_only_one(problem: Problem, kept: set[Standing]) -> None:
    free, near = solve(problem), solve(replace(problem, kept=tuple(kept)))
    assert near.status is free.status
    assert near.only_answer is free.only_answer
    assert [wish.bound for wish in near.wishes] == [wish.bound for wish in free.wishes]
    assert len(kept & set(near.standings)) >= len(kept & set(free.standings))
    assert solve(replace(problem, kept=tuple(sorted(kept, key=str)))).standings == near.standings


@QUICK
@given(problems())
def test_a_plan_kept_whole_is_the_answer_again(problem: Problem) -> None:
    solution = solve(problem)
    assert solve(replace(problem, kept=solution.standings)).standings == solution.standings


@QUICK
@given(problems())
def test_every_standing_of_a_plan_has_a_reason_with_a_source(problem: Problem) -> None:
    solution = solve(problem)
    told = reasons(problem, solution.standings)
    assert set(told) == set(solution.standings)
    for found in told.values():
        assert found
        assert all(reason.text and reason.rule and reason.source for reason in found)


@QUICK
@given(
    problems(),
    st.lists(
        st.builds(
            Standing,
            st.integers(1, 3),
            st.integers(1, 11),
            st.one_of(st.none(), st.sampled_from([*NAMES, "straw 2", "stranger"])),
        ),
        max_size=8,
    ),
)
def test_any_arrangement_however_odd_is_judged_and_explained(problem: Problem, standings: list[Standing]) -> None:
    first = broken_limits(problem, standings)
    assert first == broken_limits(problem, list(reversed(standings)))
    assert all(value >= 0 for value in wish_values(problem, standings).values())
    assert set(reasons(problem, standings)) == set(standings)


@pytest.mark.parametrize(
    ("best", "share", "least", "held"),
    [(0, 0.15, 50, 50), (1000, 0.15, 50, 1150), (20, 0.15, 0, 23), (140, 0.15, 5, 161), (333, 0.15, 0, 382)],
)
def test_slack_of_wet_harm_is_the_greater_of_share_and_tenths(
    best: int, share: float, least: int, held: int, job: Callable[..., Problem]
) -> None:
    """0.15 x 1000 = 150 over 50; 0.15 x 333 = 49.95, rounded down to 49."""
    problem = job(slack_share=share, slack_tenths=least)
    assert held_at(problem, "wet_harm", best) == held
    assert held_at(problem, "departures", best) == best
