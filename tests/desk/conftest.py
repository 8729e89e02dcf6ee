"""A desk whose tasks run at once, in the test's own thread."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest

from setupassist.desk.desk import Desk
from setupassist.desk.opening import open_paths
from setupassist.desk.tasks import Stage
from setupassist.documents.store import example_shop
from setupassist.errors import SetupAssistError

SAMPLES = Path(__file__).parents[2] / "sample_art"


def work_off(desk: Desk, most: int = 60) -> list[tuple[Stage, str]]:
    """Runs every wanted task until none is left; the (stage, part) of each in turn."""
    done = []
    for _ in range(most):
        task = next(desk.wanted(), None)
        if task is None:
            return done
        try:
            desk.take(task, task.run(lambda share: None, lambda: False))
        except SetupAssistError as error:
            desk.fail(task, error)
        done.append((task.stage, task.part))
    raise AssertionError(f"tasks never end: {done[-5:]}")


@pytest.fixture
def desk(write_job: Callable[..., Path]) -> Desk:
    """A desk with the small job of figures, nothing worked out yet."""
    made = Desk(example_shop())
    made.open(open_paths([write_job()], shop=made.shop))
    return made
