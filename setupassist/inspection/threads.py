"""Work of an inspection shared out to threads, with its progress and its stopping."""

from __future__ import annotations

import os
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass, field

from setupassist.errors import Cancelled

Progress = Callable[[float], None]
Stop = Callable[[], bool]

WORKERS = 2


def workers() -> int:
    """How many threads the inspection keeps busy."""
    return min(WORKERS, os.cpu_count() or 1)


@dataclass
class Threads:
    """``progress`` is told the share done (0..1), ``stop`` answers True when nobody wants the answer any more."""

    progress: Progress
    stop: Stop
    done: float = 0.0
    finished: int = field(default=0, init=False)

    def part(self, share: float) -> Progress:
        """Progress of a part that makes up ``share`` of the whole from here on."""
        before = self.done
        return lambda done: self.progress(before + share * done)

    def each(self, do: Callable[[int], None], count: int, share: float) -> None:
        """Does it for every number below ``count``, which makes up ``share`` of the whole; raises Cancelled."""
        self.finished = 0

        def one(number: int) -> None:
            if self.stop():
                raise Cancelled
            do(number)
            self.finished += 1
            self.progress(min(1.0, self.done + share * self.finished / count))

        with ThreadPoolExecutor(workers()) as pool:
            tasks = [pool.submit(one, number) for number in range(count)]
            try:
                for task in tasks:
                    task.result()
            except BaseException:
                pool.shutdown(cancel_futures=True)
                raise
        self.done += share
