"""Runs what takes long in Python threads, a lane at a time, and brings each answer back to the window's thread."""

from __future__ import annotations

import threading
import traceback
from collections.abc import Callable
from concurrent.futures import Future, ThreadPoolExecutor, wait
from dataclasses import dataclass, field
from typing import Any

from PySide6.QtCore import QObject, Qt, Signal

from setupassist.art.stopping import stopped_by
from setupassist.desk.tasks import Lane, Progress, Stop
from setupassist.errors import Cancelled, MachineFault, SetupAssistError
from setupassist.words import say

Work = Callable[[Progress, Stop], Any]
Done = Callable[[Any, SetupAssistError | None], None]

SECONDS_TO_STOP = 5.0
LEAST_PROGRESS = 0.01


@dataclass(eq=False)
class Running:
    """A task in a thread. ``stopped`` is set to end it; ``share`` is how much of it is done, None where it cannot tell.

    ``asked`` is whatever its starter knows it by.
    """

    lane: Lane
    what: str
    done: Done = field(repr=False)
    asked: Any = field(default=None, repr=False)
    stopped: threading.Event = field(default_factory=threading.Event, repr=False)
    share: float | None = None


class Runner(QObject):
    """One thread a lane. ``changed`` tells that something began, got on or ended."""

    changed = Signal()
    _came = Signal(object, object, object)
    _got_on = Signal(object, float)

    def __init__(self, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self._pool = ThreadPoolExecutor(len(Lane), thread_name_prefix="setupassist")
        self._futures: set[Future[None]] = set()
        self.running: dict[Lane, Running] = {}
        self._closed = False
        self._came.connect(self._take, Qt.ConnectionType.QueuedConnection)
        self._got_on.connect(self._note, Qt.ConnectionType.QueuedConnection)

    def free(self, lane: Lane) -> bool:
        """Whether nothing runs in that lane."""
        return lane not in self.running

    def start(self, lane: Lane, what: str, work: Work, done: Done, *, asked: Any = None) -> Running:
        """Begins ``work``, called ``what``, in a free lane; ``done(value, error)`` is called in the window's thread."""
        assert self.free(lane), f"{lane} is busy"
        task = Running(lane, what, done, asked)
        self.running[lane] = task
        future = self._pool.submit(self._work, task, work)
        self._futures.add(future)
        future.add_done_callback(self._futures.discard)
        self.changed.emit()
        return task

    def stop(self, lane: Lane | None = None) -> None:
        """Asks what runs (in that lane) to end; each ends soon, with Cancelled."""
        for task in list(self.running.values()):
            if lane is None or task.lane is lane:
                task.stopped.set()

    def close(self, seconds: float = SECONDS_TO_STOP) -> bool:
        """Stops everything and waits; whether all threads ended in time."""
        self.stop()
        left = wait(list(self._futures), timeout=seconds).not_done
        self._pool.shutdown(wait=not left, cancel_futures=True)
        self._closed = True
        return not left

    def _work(self, task: Running, work: Work) -> None:
        last = 0.0

        def progress(share: float) -> None:
            nonlocal last
            if share - last >= LEAST_PROGRESS or share >= 1.0:
                last = share
                self._got_on.emit(task, share)

        value: Any = None
        error: SetupAssistError | None = None
        try:
            with stopped_by(task.stopped.is_set):
                value = work(progress, task.stopped.is_set)
        except SetupAssistError as fault:
            error = fault
        except MemoryError:
            error = MachineFault(say("app.run.no-memory"))
        except OSError as fault:
            why = str(fault.strerror or fault)
            error = MachineFault(say("app.run.no-file", file=str(fault.filename or ""), why=why))
        except Exception as fault:
            traceback.print_exc()
            error = OurFault(fault)
        if task.stopped.is_set() and error is None:
            error = Cancelled()
        self._came.emit(task, value, error)

    def _take(self, task: Running, value: Any, error: SetupAssistError | None) -> None:
        if self.running.get(task.lane) is task:
            del self.running[task.lane]
        if not self._closed:
            task.done(value, error)
            self.changed.emit()

    def _note(self, task: Running, share: float) -> None:
        task.share = share
        if not self._closed and self.running.get(task.lane) is task:
            self.changed.emit()


class OurFault(SetupAssistError):
    """A bug of ours, met in a thread; its traceback went to standard error."""

    exit_code = 70

    def __init__(self, fault: Exception) -> None:
        super().__init__(say("app.run.our-fault", what=f"{type(fault).__name__}: {fault}"[:200]))
        self.fault = fault
