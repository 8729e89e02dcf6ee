"""How a search ends: proven, stopped, out of time, or on a press far too large."""

from __future__ import annotations

import threading
import time
from collections.abc import Callable
from dataclasses import replace
from random import Random

import pytest

from setupassist.documents.terms import StrategyName
from setupassist.errors import Cancelled
from setupassist.planner.judge import broken_limits
from setupassist.planner.problem import Problem
from setupassist.planner.solve import Status, solve

Job = Callable[..., Problem]


def crowded(job: Job, *, inks: int, stations: int, laps: int = 1) -> Problem:
    """Inks that dirty each other at random: far harder than artwork is."""
    rng = Random(5)
    names = [f"ink {n}" for n in range(inks)]
    harm = tuple(tuple(0 if a == b else rng.randrange(20, 900) for b in names) for a in names)
    base = job(stations=stations, flash_slots=tuple(range(3, stations, 2)), units=4, laps=laps, cooling=1)
    return replace(
        base, inks=tuple(names), standard_order=tuple(names), harm=harm, strategy=StrategyName.CLEANEST,
        slack_tenths=50, slack_share=0.15,
    )  # fmt: skip


def test_the_same_question_has_the_same_answer(job: Job) -> None:
    problem = crowded(job, inks=6, stations=12)
    first, second = solve(problem), solve(problem)
    assert first.status is Status.BEST
    assert replace(first, seconds=0) == replace(second, seconds=0)


def test_a_search_out_of_time_tells_its_plan_and_bounds(job: Job) -> None:
    problem = crowded(job, inks=16, stations=24)
    solution = solve(problem, time_limit_seconds=1.0)
    assert solution.status is Status.FEASIBLE
    assert broken_limits(problem, solution.standings) == []
    assert not solution.only_answer
    harm = next(w for w in solution.wishes if w.name == "wet_harm")
    assert harm.bound <= harm.value
    assert not harm.proven
    # what was asked after an unproven wish is not proven either
    assert not any(w.proven for w in solution.wishes if w.name in ("flash_units", "departures"))


def test_no_time_at_all_is_unknown(job: Job) -> None:
    solution = solve(job(), time_limit_seconds=0)
    assert solution.status is Status.UNKNOWN
    assert solution.standings == ()


def test_a_stop_is_heard_while_the_solver_runs(job: Job) -> None:
    asked, begun = threading.Event(), time.monotonic()
    threading.Timer(0.6, asked.set).start()
    with pytest.raises(Cancelled):
        solve(crowded(job, inks=18, stations=30, laps=2), stop=asked.is_set, time_limit_seconds=30)
    assert time.monotonic() - begun < 15  # heard, not run to the limit
    assert not [t for t in threading.enumerate() if t.name == "planner stop"]


def test_a_stop_asked_before_is_heard_at_once(job: Job) -> None:
    with pytest.raises(Cancelled):
        solve(job(), stop=lambda: True)


def test_a_press_of_a_hundred_stations_answers_or_stops(job: Job) -> None:
    problem = crowded(job, inks=10, stations=100, laps=2)
    solution = solve(problem, time_limit_seconds=1.5)
    assert solution.status in (Status.BEST, Status.FEASIBLE, Status.UNKNOWN)
    assert solution.standings == () or broken_limits(problem, solution.standings) == []
