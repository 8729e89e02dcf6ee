"""Libraries that are fetched ahead are there, and fetching ends when it is asked to."""

from __future__ import annotations

import subprocess
import sys

from setupassist.desk.libraries import HEAVY, fetch_ahead


def test_they_are_there_afterwards() -> None:
    told = subprocess.run(
        [sys.executable, "-c", "import sys; from setupassist.desk.libraries import *; before = set(sys.modules); "
         "fetch_ahead(lambda share: None, lambda: False); print(*sorted(set(HEAVY) & set(sys.modules)), sep=','); "
         "print(*sorted(set(HEAVY) & before), sep=',')"],
        capture_output=True, text=True, check=True, timeout=120,
    )  # fmt: skip
    after, before = told.stdout.split("\n")[:2]
    assert after.split(",") == sorted(HEAVY)
    assert not before


def test_it_ends_when_asked() -> None:
    asked: list[bool] = []

    def stop() -> bool:
        asked.append(True)
        return len(asked) == 3

    fetch_ahead(lambda share: None, stop)
    assert len(asked) == 3
