"""The program itself on a virtual screen, with keys and mouse from outside, once.

Needs the Debian packages xvfb, xdotool and the libraries that the README names; skipped with a sentence where they are
missing, a failure in CI.
"""

from __future__ import annotations

import os
import shutil
import subprocess
import sys
import time
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest

from setupassist.documents.store import read_job
from tests.app.conftest import SAMPLES
from tests.outside.conftest import reference_program

__all__ = ["reference_program"]

SECONDS = 60


@pytest.fixture
def screen(reference_program: Callable[[str, str], str]) -> Iterator[str]:
    """A virtual screen of its own; the name of its display."""
    reader, writer = os.pipe()
    server = subprocess.Popen(
        [reference_program("Xvfb", "xvfb"), "-displayfd", str(writer), "-screen", "0", "1600x1000x24"],
        pass_fds=[writer],
        stderr=subprocess.DEVNULL,
    )
    os.close(writer)
    with os.fdopen(reader) as told:
        number = told.readline().strip()
    assert number, "the virtual screen did not start"
    yield f":{number}"
    server.terminate()
    server.wait(10)


class Hand:
    """Keys and mouse on that screen."""

    def __init__(self, xdotool: str, display: str) -> None:
        self.xdotool, self.environment = xdotool, os.environ | {"DISPLAY": display}

    def do(self, *words: str) -> str:
        """One command of xdotool; what it says."""
        done = subprocess.run(
            [self.xdotool, *words], env=self.environment, capture_output=True, text=True, timeout=20, check=False
        )
        return done.stdout.strip()

    def key(self, *keys: str) -> None:
        """Presses keys one after another."""
        for key in keys:
            self.do("key", "--clearmodifiers", key)
            time.sleep(0.3)

    def window(self, title: str) -> str:
        """The window whose title holds a text, waited for."""
        return until(lambda: self.do("search", "--onlyvisible", "--name", title).splitlines()[-1:])[0]

    def titles(self) -> list[str]:
        """Titles of all windows that are seen."""
        return [self.do("getwindowname", one) for one in self.do("search", "--onlyvisible", "--name", ".").splitlines()]


def until(seen: Callable[[], object]) -> object:
    """What ``seen`` tells once it tells anything."""
    end = time.monotonic() + SECONDS
    while time.monotonic() < end:
        found = seen()
        if found:
            return found
        time.sleep(0.1)
    raise AssertionError("waited in vain")


def test_a_job_is_opened_changed_saved_and_left(
    screen: str, reference_program: Callable[[str, str], str], tmp_path: Path, home: Path
) -> None:
    hand = Hand(reference_program("xdotool", "xdotool"), screen)
    folder = tmp_path / "lantern-walk"
    shutil.copytree(SAMPLES / "lantern-walk", folder)
    before = read_job(folder / "job.json")
    environment = hand.environment | {
        "SETUPASSIST_HOME": str(home),
        "SETUPASSIST_LANGUAGE": "en",
        "QT_QPA_PLATFORM": "xcb",
        "XDG_RUNTIME_DIR": str(home),
    }
    log = (tmp_path / "log").open("w+")
    program = subprocess.Popen(
        [sys.executable, "-m", "setupassist", str(folder)], env=environment, stdout=log, stderr=subprocess.STDOUT
    )
    try:
        window = hand.window("Merrowby")
        hand.do("windowfocus", "--sync", window)
        for place in range(1, 7):
            hand.key(f"ctrl+{place}")
        hand.key("ctrl+1")
        hand.do("mousemove", "--window", window, "160", "60")
        hand.do("click", "--repeat", "3", "--delay", "60", "1")
        hand.key("ctrl+a")
        hand.do("type", "--delay", "30", "Harbour lights")
        hand.key("Return")
        until(lambda: any("Harbour lights" in title for title in hand.titles()))
        hand.key("ctrl+z")
        until(lambda: any("Merrowby" in title for title in hand.titles()))
        hand.key("ctrl+shift+z")
        until(lambda: any("Harbour lights" in title for title in hand.titles()))
        hand.key("ctrl+s")
        until(lambda: read_job(folder / "job.json").title == "Harbour lights")
        assert program.poll() is None
        hand.key("ctrl+q")
        code = program.wait(SECONDS)
    finally:
        program.kill()
        program.wait()
    log.seek(0)
    said = log.read()
    log.close()
    assert code == 0, said
    assert not said, said
    after = read_job(folder / "job.json")
    assert after == before.model_copy(update={"title": "Harbour lights"})
