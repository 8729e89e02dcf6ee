"""Whether anybody still wants what is read, for readers that wait: they are asked for bands, and told no stop."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from contextlib import contextmanager
from contextvars import ContextVar

from setupassist.errors import Cancelled

_stop: ContextVar[Callable[[], bool] | None] = ContextVar("stop", default=None)


@contextmanager
def stopped_by(stop: Callable[[], bool]) -> Iterator[None]:
    """Whatever this thread reads meanwhile ends with Cancelled soon after ``stop`` answers True."""
    before = _stop.set(stop)
    try:
        yield
    finally:
        _stop.reset(before)


def check_stop() -> None:
    """Raises Cancelled where nobody wants it any more; for readers, wherever they wait."""
    stop = _stop.get()
    if stop is not None and stop():
        raise Cancelled
