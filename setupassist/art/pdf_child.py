"""Processes of their own in which PDFs are read: started, waited for, and ended.

A file that anybody made may crash or exhaust whoever reads it; here that is a child process with limits of its own.
"""

from __future__ import annotations

import errno
import json
import os
import subprocess
import sys
import threading
import time
from pathlib import Path
from typing import Any

from setupassist.art.files import label
from setupassist.art.pdf_worker import NO_ROOM_STATUS
from setupassist.errors import InputFault, MachineFault, system_reason
from setupassist.words import say

MOST_AT_ONCE = 2
LOOK_SECONDS, DRAW_SECONDS = 180.0, 1800.0
"""Time by the clock; the children's own limits of computing time are shorter."""
WAIT_SECONDS = 0.02
COMPLAINTS = frozenset({"fault", "no room"})
"""What an answer holds where the process could not do what it was asked."""
PACKAGE_PARENT = Path(__file__).resolve().parents[2]

_running: list[subprocess.Popen[bytes]] = []
_lock = threading.Lock()


class Child:
    """One process reading one PDF in a folder of its own. ``begin`` starts it as soon as fewer than two run."""

    def __init__(self, folder: Path, request: dict[str, Any], *, most_seconds: float) -> None:
        self.folder, self._most_seconds = folder, most_seconds
        self._process: subprocess.Popen[bytes] | None = None
        self._begun = 0.0
        folder.mkdir(parents=True, exist_ok=True)
        (folder / "request.json").write_text(json.dumps(request), "utf-8")

    def begin(self) -> bool:
        """Whether the process runs or has run; starts it where there is room."""
        with _lock:
            if self._process is not None:
                return True
            _running[:] = [each for each in _running if each.poll() is None]
            if len(_running) >= MOST_AT_ONCE:
                return False
            self._begun = time.monotonic()  # before the process is there for others, who count from it
            self._process = self._started()
            _running.append(self._process)
        return True

    def _started(self) -> subprocess.Popen[bytes]:
        paths = [str(PACKAGE_PARENT), *filter(None, [os.environ.get("PYTHONPATH")])]
        threads = dict.fromkeys(("OPENBLAS_NUM_THREADS", "OMP_NUM_THREADS", "MKL_NUM_THREADS"), "1")
        try:
            return subprocess.Popen(
                [sys.executable, "-P", "-m", "setupassist.art.pdf_worker", str(self.folder)],
                stdin=subprocess.PIPE,
                stdout=subprocess.DEVNULL,
                stderr=subprocess.DEVNULL,
                env={**os.environ, **threads, "PYTHONPATH": os.pathsep.join(paths)},
            )
        except OSError as error:
            raise MachineFault(say("art.pdf.not-started", reason=system_reason(error))) from None

    def running(self, path: Path) -> bool:
        """Whether the process still works; InputFault where it takes too long over the file at ``path``."""
        if self._process is None:
            return True
        if self._process.poll() is not None:
            return False
        if time.monotonic() - self._begun > self._most_seconds:
            self.end()
            raise InputFault(label(path), say("art.pdf.too-slow"), say("art.pdf.simplify"))
        return True

    @property
    def over(self) -> bool:
        """Whether the process has answered or ended."""
        ended = self._process is not None and self._process.poll() is not None
        return ended or (self.folder / "answer.json").exists()

    @property
    def drew(self) -> bool:
        """Whether the process came to a good end."""
        told = self._told()
        return told is not None and not COMPLAINTS & told.keys()

    def _told(self) -> dict[str, Any] | None:
        try:
            told: dict[str, Any] = json.loads((self.folder / "answer.json").read_text("utf-8"))
        except (OSError, ValueError):
            return None
        return told

    def answer(self, path: Path) -> dict[str, Any]:
        """What the process found; its complaint, or that it died, as the fault of the file at ``path``."""
        told = self._told()
        if told is None:
            raise self._died(path)
        if "no room" in told:
            raise _no_room(told["no room"])
        if "fault" in told:
            raise fault(path, told["fault"], told["values"])
        return told

    def _died(self, path: Path) -> InputFault | MachineFault:
        code = self._process.returncode if self._process is not None else 0
        if code == NO_ROOM_STATUS:
            return _no_room(errno.ENOSPC)
        if code in (-24, -9):  # SIGXCPU, and SIGKILL at the hard limit
            return InputFault(label(path), say("art.pdf.too-slow"), say("art.pdf.simplify"))
        return InputFault(label(path), say("art.pdf.stops-reader"), say("art.pdf.export-again"))

    def end(self) -> None:
        """Ends the process at once, where it runs."""
        process = self._process
        if process is None:
            return
        if process.poll() is None:
            process.kill()
        if process.stdin is not None:
            process.stdin.close()
        process.wait()


def _no_room(code: int) -> MachineFault:
    return MachineFault(say("art.file.no-room", reason=system_reason(OSError(code, os.strerror(code)))))


REMEDIES = {
    "art.pdf.encrypted": "art.pdf.save-open",
    "art.pdf.too-heavy": "art.pdf.simplify",
    "art.pdf.too-large": "art.pdf.scale-down",
    "art.pdf.too-many-pages": "art.pdf.one-page",
    "art.pdf.too-many-components": "art.tiff.fewer",
    "art.pdf.image-too-large": "art.pdf.scale-down",
    "art.pdf.no-ink": "art.kind.choose-page",
    "art.kind.no-page": "art.kind.choose-page",
    "art.size.beyond-limits": "art.size.lower-resolution",
    "art.tiff.too-many-inks": "art.tiff.fewer",
    "art.damage.damaged": "art.file.export-or-copy-again",
}


def fault(path: Path, key: str, values: dict[str, Any]) -> InputFault:
    """A complaint of the process as the fault of a file."""
    return InputFault(label(path), say(key, **values), say(REMEDIES[key]))
