"""A search ends when it is told to, by an interrupt too, and keeps to its time."""

from __future__ import annotations

import signal
import subprocess
import sys
import time

SEARCH = """
import time
from random import Random
from setupassist.documents.plan import Limits
from setupassist.documents.press import Press
from setupassist.documents.terms import StrategyName
from setupassist.planner.problem import Problem
from setupassist.planner.solve import solve

rng, names, way = Random(1), tuple(f"ink {n:02}" for n in range(14)), tuple(range(2, 19))
problem = Problem(
    press=Press(
        name="long", stations=19, load=1, unload=19, heads=way, flash_slots=way[1::2], flash_units=4, max_laps=2
    ),
    inks=names, limits=Limits(), standard_order=names, strategy=StrategyName.CLEANEST,
    harm=tuple(tuple(rng.randrange(20, 900) if a != b else 0 for b in names) for a in names),
)
print("begun", flush=True)
try:
    solve(problem, time_limit_seconds=60)
except KeyboardInterrupt:
    raise SystemExit(130)
"""
MOST_SECONDS_TO_END = 5.0


def test_an_interrupt_ends_the_search_at_once() -> None:
    """The search would take its whole minute; the interrupt is sent while the solver runs."""
    running = subprocess.Popen([sys.executable, "-c", SEARCH], stdout=subprocess.PIPE, text=True)
    with running:
        assert running.stdout is not None
        assert running.stdout.readline() == "begun\n"
        time.sleep(1.5)
        assert running.poll() is None
        sent = time.monotonic()
        running.send_signal(signal.SIGINT)
        assert running.wait(timeout=20) == 130
        assert time.monotonic() - sent < MOST_SECONDS_TO_END
