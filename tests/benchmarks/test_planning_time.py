"""How long it takes to prove a plan: twelve inks, sixteen stations, three flash units; and harder ones beside it."""

from __future__ import annotations

import os
import resource
import subprocess
import sys
import time
from itertools import combinations
from random import Random

import pytest

from setupassist.documents.plan import Limits
from setupassist.documents.press import Press
from setupassist.documents.terms import StrategyName
from setupassist.planner.judge import broken_limits
from setupassist.planner.problem import Problem
from setupassist.planner.solve import Status, solve

pytestmark = pytest.mark.benchmark

FULL = os.environ.get("SETUPASSIST_BENCH") == "full"

INKS = (
    "white base", "lemon", "straw", "orange", "pink", "red", "leaf", "moss", "royal", "plum", "black key", "top white",
)  # fmt: skip
LIGHTNESS = (95, 92, 85, 72, 65, 45, 60, 42, 38, 30, 12, 98)


def shirt(strategy: StrategyName, *, laps: int = 1, seed: int = 1) -> Problem:
    """A spot job on a dark shirt: darker inks dirty lighter ones, the more the larger their contact."""
    rng = Random(seed)
    base, *rest = INKS
    order = [(base, ink) for ink in rest] + [(ink, "black key") for ink in INKS[1:8]]
    order += [(base, "black key"), *((ink, "top white") for ink in ("red", "royal", "plum"))]
    harm = tuple(
        tuple(
            max(0, round((LIGHTNESS[j] - LIGHTNESS[i]) * rng.choice([0, 4, 9, 20]))) if i != j and i else 0
            for j in range(len(INKS))
        )
        for i in range(len(INKS))
    )
    way = tuple(range(2, 16))
    return Problem(
        press=Press(
            name="sixteen stations", stations=16, load=1, unload=16, heads=way, flash_slots=(3, 5, 8, 11, 14),
            flash_units=3, max_laps=laps, cooling_stations=1,
        ),
        inks=INKS,
        limits=Limits(
            order=tuple(dict.fromkeys(order)),
            flash_between=tuple((base, ink) for ink in rest),
            alone_until_flash=(base,),
        ),
        harm=harm,
        standard_order=INKS,
        strategy=strategy,
        on_press_now={3: "flash", 2: base, 6: "red", 9: "old screen"},
    )  # fmt: skip


def crowd(strategy: StrategyName, *, inks: int, stations: int, units: int, laps: int) -> Problem:
    """Inks that nearly all dirty each other at random: harder than artwork is."""
    rng = Random(1)
    names = tuple(f"ink {n:02}" for n in range(inks))
    harm = tuple(tuple(rng.randrange(20, 900) if a != b and rng.random() < 0.7 else 0 for b in names) for a in names)
    way = tuple(range(2, stations))
    pairs = tuple((names[0], ink) for ink in names[1:])
    return Problem(
        press=Press(
            name="long press", stations=stations, load=1, unload=stations, heads=way, flash_slots=way[1::2],
            flash_units=units, max_laps=laps, cooling_stations=1,
        ),
        inks=names,
        limits=Limits(order=pairs, flash_between=pairs[:5], alone_until_flash=names[:1]),
        harm=harm,
        standard_order=names,
        strategy=strategy,
    )  # fmt: skip


@pytest.mark.parametrize("strategy", list(StrategyName))
def test_twelve_inks_on_sixteen_stations(strategy: StrategyName, capsys: pytest.CaptureFixture[str]) -> None:
    problem = shirt(strategy)
    begun = time.perf_counter()
    solution = solve(problem)
    seconds = time.perf_counter() - begun
    assert solution.status is Status.BEST
    assert solution.only_answer
    assert all(wish.proven for wish in solution.wishes)
    assert broken_limits(problem, solution.standings) == []
    prints = [s.ink for s in solution.standings if s.ink is not None]
    assert sorted(prints) == sorted(INKS)
    assert prints[0] == "white base"
    values = {wish.name: wish.value for wish in solution.wishes}
    assert values["laps"] == 1
    with capsys.disabled():
        print(f"\n{strategy.value}: {seconds:.2f} s, {values}")


def test_whole_process_with_imports(capsys: pytest.CaptureFixture[str]) -> None:
    """The first answer as a person waits for it: interpreter, imports, model, proof."""
    code = (
        f"import sys; sys.path.insert(0, {str(__file__).rpartition('/')[0]!r})\n"
        "from test_planning_time import shirt, solve, StrategyName\n"
        "print(solve(shirt(StrategyName.LEANEST)).status.value)"
    )
    begun = time.perf_counter()
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True, timeout=120)
    seconds = time.perf_counter() - begun
    assert done.stdout.strip() == "best proven"
    with capsys.disabled():
        print(f"\nwhole process, leanest: {seconds:.2f} s")


@pytest.mark.parametrize("strategy", list(StrategyName))
@pytest.mark.parametrize("measures", [(12, 18, 3, 1), (16, 20, 4, 2)] if FULL else [(12, 18, 3, 1)])
def test_random_crowds(
    measures: tuple[int, int, int, int], strategy: StrategyName, capsys: pytest.CaptureFixture[str]
) -> None:
    inks, stations, units, laps = measures
    problem = crowd(strategy, inks=inks, stations=stations, units=units, laps=laps)
    begun = time.perf_counter()
    solution = solve(problem, time_limit_seconds=30)
    seconds = time.perf_counter() - begun
    assert solution.status in (Status.BEST, Status.FEASIBLE)
    assert broken_limits(problem, solution.standings) == []
    for wish in solution.wishes:
        assert wish.bound <= wish.value
    assert all((a, b) not in problem.limits.order for b, a in combinations([s.ink for s in solution.standings], 2))
    with capsys.disabled():
        told = [f"{w.name} {w.value:g}" + ("" if w.proven else f" (at least {w.bound:g})") for w in solution.wishes]
        print(f"\n{inks} inks, {stations} stations, {laps} laps, {strategy.value}: {seconds:.2f} s, {', '.join(told)}")


@pytest.mark.parametrize("limit", [1.0, 5.0] if FULL else [1.0])
def test_largest_press_keeps_to_its_time(limit: float, capsys: pytest.CaptureFixture[str]) -> None:
    """The largest press and the most inks that documents allow: the model is built, and the time is kept."""
    problem = crowd(StrategyName.CLEANEST, inks=64, stations=100, units=40, laps=6)
    begun = time.perf_counter()
    solution = solve(problem, time_limit_seconds=limit)
    seconds = time.perf_counter() - begun
    assert solution.status in (Status.UNKNOWN, Status.FEASIBLE)
    peak_mb = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
    with capsys.disabled():
        print(f"\n64 inks, 100 stations, 6 laps, limit {limit:g} s: {seconds:.2f} s, peak {peak_mb:.0f} MB")
