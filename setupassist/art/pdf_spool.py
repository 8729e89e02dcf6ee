"""Plates of a PDF drawn once into temporary files, and read from there as often as anybody wants."""

from __future__ import annotations

import os
import shutil
import tempfile
import threading
import time
import weakref
import zlib
from collections.abc import Generator, Sequence
from contextlib import ExitStack, suppress
from pathlib import Path
from typing import Any, BinaryIO

import numpy as np

from setupassist.art.pdf_child import DRAW_SECONDS, LOOK_SECONDS, MOST_AT_ONCE, WAIT_SECONDS, Child
from setupassist.art.pdf_records import RECORD
from setupassist.art.pdf_worker import SPOOL
from setupassist.art.plates import Bits, Rows
from setupassist.errors import MachineFault, system_reason
from setupassist.words import say

MOST_RECORD_BYTES = 1 << 24
DAY_SECONDS = 86_400.0


class Spool:
    """The plates of one page. Small ones are drawn at once, others when they are first asked for.

    ``found`` is what the page paints with. The files lie in a folder of their own that goes with the last reference to
    this object. Raises the faults of a file that cannot be read, and MachineFault.
    """

    def __init__(self, path: Path, request: dict[str, Any]) -> None:
        self._path, self._request = path, request
        try:
            self._folder = Path(tempfile.mkdtemp(prefix=SPOOL))
            clear_old(self._folder.parent)
        except OSError as error:
            raise MachineFault(say("art.file.no-room", reason=system_reason(error))) from None
        weakref.finalize(self, shutil.rmtree, self._folder, True)
        self._lock = threading.Lock()
        self._done: dict[int, Path] = {}
        self._children: list[tuple[Child, list[int]]] = []
        self._readers = self._runs = 0
        self.found = self._look()
        columns = self.found["columns"]
        self._row_bytes = [(columns + 7) // 8 if ink["two_level"] else columns for ink in self.found["inks"]]
        if self.found["drawn"]:
            self._done = {index: self._folder / "look" / f"plate-{index}" for index in range(len(self._row_bytes))}

    def _look(self) -> dict[str, Any]:
        """What the page paints with, as a process of its own tells it."""
        try:
            child = Child(self._folder / "look", {**self._request, "task": "look"}, most_seconds=LOOK_SECONDS)
            try:
                while not child.begin() or child.running(self._path):
                    time.sleep(WAIT_SECONDS)
                return child.answer(self._path)
            finally:
                child.end()
        except OSError as error:
            raise MachineFault(say("art.file.no-room", reason=system_reason(error))) from None

    def bands(self, wanted: Sequence[int]) -> Generator[tuple[Bits | Rows, ...]]:
        """Bands of the wanted plates, from the top, as they are drawn. Ended early, the drawing ends too."""
        try:
            self._enter(wanted)
            with ExitStack() as stack:
                files = [stack.enter_context(self._opened(index)) for index in wanted]
                while True:
                    parts = [self._record(file, index) for file, index in zip(files, wanted, strict=True)]
                    if not parts[0].shape[0]:
                        return
                    yield tuple(parts)
        except OSError as error:
            raise MachineFault(say("art.file.no-room", reason=system_reason(error))) from None
        finally:
            self._leave()

    def _enter(self, wanted: Sequence[int]) -> None:
        with self._lock:
            self._readers += 1
            with suppress(OSError):
                os.utime(self._folder)
            # whoever tidies temporary files up may have taken some
            self._done = {index: place for index, place in self._done.items() if place.exists()}
            under_way = {index for _, indices in self._children for index in indices}
            missing = [index for index in wanted if index not in self._done and index not in under_way]
            if not missing:
                return
            self._runs += 1
            for share in range(min(MOST_AT_ONCE, len(missing))):
                indices = missing[share::MOST_AT_ONCE]
                folder = self._folder / f"{self._runs}-{share}"
                inks = [(index, self.found["inks"][index]["name"]) for index in indices]
                request = {**self._request, "task": "draw", "inks": inks, "finer": self.found["finer"]}
                self._children.append((Child(folder, request, most_seconds=DRAW_SECONDS), indices))

    def _leave(self) -> None:
        with self._lock:
            self._readers -= 1
            self._settle()
            if self._readers:
                return
            for child, _ in self._children:
                child.end()
            self._settle()
            self._children = []

    def _settle(self) -> None:
        """Books plates of children that came to a good end."""
        for child, indices in list(self._children):
            if (child.folder / "answer.json").exists():
                self._children.remove((child, indices))
                child.end()
                self._done |= {index: child.folder / f"plate-{index}" for index in indices}

    def _child_of(self, index: int) -> Child | None:
        with self._lock:
            return next((child for child, indices in self._children if index in indices), None)

    def _wait(self, index: int) -> None:
        """Waits a moment for a plate under way; raises its child's fault."""
        child = self._child_of(index)
        if child is None:
            return
        for each, _ in list(self._children):
            each.begin()
        if not child.running(self._path):
            child.answer(self._path)
        time.sleep(WAIT_SECONDS)

    def _opened(self, index: int) -> BinaryIO:
        while True:
            child = self._child_of(index)
            place = self._done[index] if child is None else child.folder / f"plate-{index}"
            try:
                return place.open("rb")
            except FileNotFoundError:
                if child is None:
                    raise
                self._wait(index)

    def _record(self, file: BinaryIO, index: int) -> Bits | Rows:
        rows, count = RECORD.unpack(self._bytes(file, RECORD.size, index))
        if not rows:
            return np.empty((0, self._row_bytes[index]), np.uint8)
        data = zlib.decompress(self._bytes(file, min(count, MOST_RECORD_BYTES), index))
        return np.frombuffer(data, np.uint8).reshape(rows, self._row_bytes[index])

    def _bytes(self, file: BinaryIO, count: int, index: int) -> bytes:
        data = file.read(count)
        while len(data) < count:
            ended = self._child_of(index)
            finished = ended is None or not ended.running(self._path)
            more = file.read(count - len(data))
            data += more
            if len(data) < count and not more:
                if finished and ended is None:
                    raise OSError("a plate ends before its last row")
                self._wait(index)
        return data


def clear_old(folder: Path) -> None:
    """Removes spools that nobody has touched for a day: those of processes that were ended before they could."""
    for old in folder.glob(f"{SPOOL}*"):
        with suppress(OSError):
            if time.time() - old.stat().st_mtime > DAY_SECONDS:
                shutil.rmtree(old, ignore_errors=True)
