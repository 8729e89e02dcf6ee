"""Plates of a PDF drawn once into temporary files, and read from there as often as anybody wants."""

from __future__ import annotations

import os
import shutil
import threading
import time
import weakref
import zlib
from collections.abc import Generator, Sequence
from contextlib import ExitStack, suppress
from dataclasses import dataclass
from pathlib import Path
from typing import Any, BinaryIO

import numpy as np

from setupassist.art.files import label
from setupassist.art.folder_aside import folder_aside
from setupassist.art.pdf_child import DRAW_SECONDS, LOOK_SECONDS, MOST_AT_ONCE, WAIT_SECONDS, Child
from setupassist.art.pdf_records import RECORD
from setupassist.art.pdf_worker import SPOOL
from setupassist.art.plates import Bits, Rows
from setupassist.art.stopping import check_stop
from setupassist.errors import MachineFault, system_reason
from setupassist.words import say

MOST_RECORD_BYTES = 1 << 24


@dataclass(frozen=True)
class Spooled:
    """A plate as one reader finds it: its number, its file, and the process that draws it, None where it is drawn."""

    index: int
    place: Path
    child: Child | None = None


class Spool:
    """The plates of one page. Small ones are drawn at once, others when they are first asked for.

    ``found`` is what the page paints with. The files lie in a folder of their own that goes with the last reference to
    this object. Raises the faults of a file that cannot be read, MachineFault, and Cancelled where it waits and a stop
    of this thread answers True (``stopping``).
    """

    def __init__(self, path: Path, request: dict[str, Any]) -> None:
        self._path, self._request = path, request
        try:
            self._folder = folder_aside(SPOOL)
        except OSError as error:
            raise MachineFault(say("art.file.no-room", reason=system_reason(error))) from None
        weakref.finalize(self, shutil.rmtree, self._folder, True)
        self._lock = threading.RLock()  # a pass that nobody holds any more may end wherever this thread is
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
                    check_stop()
                    time.sleep(WAIT_SECONDS)
                return child.answer(self._path)
            finally:
                child.end()
        except OSError as error:
            raise MachineFault(say("art.file.no-room", reason=system_reason(error))) from None

    def bands(self, wanted: Sequence[int]) -> Generator[tuple[Bits | Rows, ...]]:
        """Bands of the wanted plates, from the top, as they are drawn. Ended early, the drawing ends too."""
        try:
            plates = self._enter(wanted)
            with ExitStack() as stack:
                files = [stack.enter_context(self._opened(plate, plates)) for plate in plates]
                while True:
                    parts = [self._record(file, plate, plates) for file, plate in zip(files, plates, strict=True)]
                    if not parts[0].shape[0]:
                        return
                    yield tuple(parts)
        except OSError as error:
            raise MachineFault(say("art.file.no-room", reason=system_reason(error))) from None
        finally:
            self._leave()

    def _enter(self, wanted: Sequence[int]) -> list[Spooled]:
        """Where one more reader finds the wanted plates; those that nobody draws are to be drawn."""
        with self._lock:
            self._readers += 1
            with suppress(OSError):
                os.utime(self._folder)
            self._settle()
            # whoever tidies temporary files up may have taken some
            done = {index: place for index, place in self._done.items() if place.exists()}
            found = {index: Spooled(index, place) for index, place in done.items()}
            for child, indices in self._children:
                found |= {index: Spooled(index, child.folder / f"plate-{index}", child) for index in indices}
            self._done = done
            missing = [index for index in wanted if index not in found]
            self._runs += bool(missing)
            for share in range(min(MOST_AT_ONCE, len(missing))):
                indices = missing[share::MOST_AT_ONCE]
                folder = self._folder / f"{self._runs}-{share}"
                inks = [(index, self.found["inks"][index]["name"]) for index in indices]
                request = {**self._request, "task": "draw", "inks": inks, "finer": self.found["finer"]}
                child = Child(folder, request, most_seconds=DRAW_SECONDS)
                self._children = [*self._children, (child, indices)]
                found |= {index: Spooled(index, folder / f"plate-{index}", child) for index in indices}
            return [found[index] for index in wanted]

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
        """Books plates of children that came to a good end; forgets those that came to another, and what they drew."""
        left, done = [], dict(self._done)
        for child, indices in self._children:
            if not child.over:
                left.append((child, indices))
                continue
            child.end()
            if child.drew:
                done |= {index: child.folder / f"plate-{index}" for index in indices}
                continue
            for half in child.folder.glob("plate-*"):
                with suppress(OSError):
                    half.unlink()
        self._children, self._done = left, done

    def _wait(self, plates: Sequence[Spooled]) -> None:
        """Waits a moment for plates under way, whose children begin as soon as there is room; raises Cancelled."""
        check_stop()
        for plate in plates:
            if plate.child is not None:
                plate.child.begin()
        time.sleep(WAIT_SECONDS)

    def _is_drawn(self, plate: Spooled) -> bool:
        return plate.child is None or not plate.child.running(self._path)

    def _lost(self, plate: Spooled) -> MachineFault:
        """The fault of a plate of which no more comes; raises that of its child, where it had one."""
        if plate.child is not None:
            plate.child.answer(self._path)
        with self._lock:
            self._done = {}  # whoever took it may have taken others
        return MachineFault(say("art.pdf.plate-lost", file=label(self._path)))

    def _opened(self, plate: Spooled, plates: Sequence[Spooled]) -> BinaryIO:
        while True:
            drawn = self._is_drawn(plate)
            try:
                return plate.place.open("rb")
            except FileNotFoundError:
                if drawn:
                    raise self._lost(plate) from None
                self._wait(plates)

    def _record(self, file: BinaryIO, plate: Spooled, plates: Sequence[Spooled]) -> Bits | Rows:
        width = self._row_bytes[plate.index]
        rows, count = RECORD.unpack(self._bytes(file, RECORD.size, plate, plates))
        if not rows:
            return np.empty((0, width), np.uint8)
        data = zlib.decompress(self._bytes(file, min(count, MOST_RECORD_BYTES), plate, plates))
        return np.frombuffer(data, np.uint8).reshape(rows, width)

    def _bytes(self, file: BinaryIO, count: int, plate: Spooled, plates: Sequence[Spooled]) -> bytes:
        data = file.read(count)
        while len(data) < count:
            drawn = self._is_drawn(plate)
            more = file.read(count - len(data))
            data += more
            if len(data) < count and not more:
                if drawn:
                    raise self._lost(plate)
                self._wait(plates)
        return data
