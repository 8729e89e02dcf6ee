"""Starting the window: what is missing is one sentence, what is named is opened, a signal ends it in good order."""

from __future__ import annotations

import configparser
import os
import re
import shutil
import signal
import subprocess
import sys
import time
import tomllib
from collections.abc import Callable
from pathlib import Path

import pytest

from setupassist.app import start
from setupassist.cli import main
from setupassist.desk import drafts, memory
from setupassist.documents.store import read_job
from setupassist.errors import MachineFault

TOP = Path(__file__).parents[2]
SECONDS = 60


def program(*words: str | Path, home: Path) -> subprocess.Popen[str]:
    """The program in a process of its own, without a screen."""
    told = os.environ | {"QT_QPA_PLATFORM": "offscreen", "SETUPASSIST_HOME": str(home), "LC_ALL": "C.UTF-8"}
    call = [sys.executable, "-X", "faulthandler", "-m", "setupassist", *map(str, words)]
    return subprocess.Popen(call, env=told, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True)


def waited_for(running: subprocess.Popen[str], seen: Callable[[], object]) -> None:
    end = time.monotonic() + SECONDS
    while time.monotonic() < end:
        if running.poll() is not None:
            raise AssertionError(f"it ended by itself: {running.communicate()}")
        if seen():
            return
        time.sleep(0.05)
    running.kill()
    raise AssertionError("it did not get that far in time")


@pytest.mark.parametrize("number", [signal.SIGTERM, signal.SIGINT])
def test_a_job_is_opened_and_a_signal_ends_it_in_good_order(
    write_job: Callable[..., Path], home: Path, number: signal.Signals
) -> None:
    job = write_job()
    before = job.read_bytes()
    running = program(job, home=home)
    waited_for(running, lambda: job in memory.recents())
    running.send_signal(number)
    out, err = running.communicate(timeout=SECONDS)
    assert (running.returncode, out, err) == (128 + number, "", "")
    assert job.read_bytes() == before


def test_a_folder_a_file_and_a_shop_book_are_opened(tmp_path: Path, home: Path) -> None:
    shutil.copytree(TOP / "sample_art" / "lantern-walk", tmp_path / "lantern")
    shutil.copy(TOP / "resources" / "example_shop.toml", tmp_path / "own.toml")
    running = program("--shop", tmp_path / "own.toml", tmp_path / "lantern", home=home)
    waited_for(running, lambda: tmp_path / "lantern" / "job.json" in memory.recents())
    running.terminate()
    assert running.communicate(timeout=SECONDS)[1] == ""


def test_a_signal_keeps_what_was_not_saved(write_job: Callable[..., Path], home: Path, tmp_path: Path) -> None:
    """The edit is made by a script in the same process, a moment before the signal."""
    job = write_job()
    script = tmp_path / "edits.py"
    script.write_text(
        "import os, signal, sys\n"
        "from pathlib import Path\n"
        "from PySide6.QtCore import QTimer\n"
        "from setupassist.app import start, window\n"
        "from setupassist.desk import edits\n"
        "shown = window.Window.show\n"
        "def show(self):\n"
        "    shown(self)\n"
        "    def edit():\n"
        "        if not self.model.has_job:\n"
        "            return\n"
        "        self.timer.stop()\n"
        "        self.model.edit(lambda: edits.title(self.model.job, 'Not saved'))\n"
        "        os.kill(os.getpid(), signal.SIGTERM)\n"
        "    self.timer = QTimer(self, interval=200)\n"
        "    self.timer.timeout.connect(edit)\n"
        "    self.timer.start()\n"
        "window.Window.show = show\n"
        "sys.exit(start.run([Path(sys.argv[1])]))\n"
    )
    told = os.environ | {"QT_QPA_PLATFORM": "offscreen", "SETUPASSIST_HOME": str(home)}
    done = subprocess.run(
        [sys.executable, str(script), str(job)], env=told, capture_output=True, text=True, timeout=SECONDS, check=False
    )
    assert (done.returncode, done.stderr) == (143, "")
    draft = drafts.draft_of(job)
    assert draft is not None
    assert draft.job.title == "Not saved"
    assert read_job(job).title == "Test tee"


def test_a_shop_book_that_cannot_be_read_is_one_sentence(tmp_path: Path, home: Path) -> None:
    running = program("--shop", tmp_path / "none.toml", home=home)
    out, err = running.communicate(timeout=SECONDS)
    assert (running.returncode, out) == (2, "")
    assert len(err.strip().splitlines()) == 1
    assert "none.toml" in err


@pytest.mark.skipif(not sys.platform.startswith("linux"), reason="a screen of another kind")
def test_without_a_screen_it_is_one_sentence_and_no_abort(home: Path) -> None:
    environment = {name: value for name, value in os.environ.items() if name not in ("DISPLAY", "WAYLAND_DISPLAY")}
    environment |= {"QT_QPA_PLATFORM": "", "SETUPASSIST_HOME": str(home), "LC_ALL": "C.UTF-8"}
    call = [sys.executable, "-m", "setupassist"]
    done = subprocess.run(call, env=environment, capture_output=True, text=True, timeout=SECONDS, check=False)
    assert (done.returncode, done.stdout) == (2, "")
    assert len(done.stderr.strip().splitlines()) == 1
    assert "no screen was found" in done.stderr or "apt install" in done.stderr


def test_missing_libraries_are_named_as_packages(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setattr(sys, "platform", "linux")
    monkeypatch.setattr(start, "_loads", lambda library: "EGL" not in library and "cursor" not in library)
    monkeypatch.setenv("QT_QPA_PLATFORM", "xcb")
    monkeypatch.setenv("LC_ALL", "C")
    monkeypatch.delenv("SETUPASSIST_LANGUAGE", raising=False)
    assert start.missing_packages() == ["libegl1", "libxcb-cursor0"]
    assert main([]) == 2
    told = capsys.readouterr().err
    assert len(told.strip().splitlines()) == 1
    assert told.endswith("on Debian: apt install libegl1 libxcb-cursor0\n")


def test_a_window_library_that_cannot_be_loaded_is_one_sentence(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(start, "refuse_where_no_window_can_be", lambda: None)
    monkeypatch.setitem(sys.modules, "shiboken6", None)
    with pytest.raises(MachineFault, match="the window cannot be loaded"):
        start.run([])


def test_the_desktop_entry_names_what_the_package_installs() -> None:
    package = tomllib.loads((TOP / "pyproject.toml").read_text("utf-8"))
    entry = configparser.ConfigParser(interpolation=None, delimiters=("=",))
    entry.optionxform = str  # type: ignore[assignment,method-assign]
    entry.read(TOP / "resources" / "desktop" / "setupassist.desktop", "utf-8")
    told = entry["Desktop Entry"]
    command, files = told["Exec"].split()
    assert command in package["project"]["scripts"]
    assert files == "%F"
    installed = package["tool"]["setuptools"]["data-files"]
    assert installed["share/applications"] == ["resources/desktop/setupassist.desktop"]
    (icon,) = installed["share/icons/hicolor/scalable/apps"]
    assert Path(icon).stem == told["Icon"]
    assert (TOP / icon).is_file()
    assert told["Comment[es]"]


@pytest.mark.skipif(not sys.platform.startswith("linux") or shutil.which("ldd") is None, reason="no ldd here")
def test_every_system_library_that_qt_needs_is_looked_for() -> None:
    """What the window's plugin needs and Qt does not bring is named, or comes along with something named."""
    import PySide6

    def needed(file: str) -> dict[str, str]:
        told = subprocess.run(["ldd", file], capture_output=True, text=True, check=True).stdout
        return dict(re.findall(r"(\S+) => (/\S+)", told))

    qt = Path(PySide6.__file__).parent
    wanted = needed(str(qt / "Qt/plugins/platforms/libqxcb.so"))
    wanted |= needed(str(qt / "Qt/lib/libQt6Widgets.so.6"))
    outside = {name: path for name, path in wanted.items() if not Path(path).is_relative_to(qt)}
    named = start.LIBRARIES | start.X11_LIBRARIES
    every = outside | needed(str(qt / "Qt/lib/libQt6DBus.so.6"))
    along = {name for library in named if library in every for name in needed(every[library])}
    in_any_linux = re.compile(r"lib(c|m|dl|rt|pthread|gcc_s|stdc\+\+|z)\.so\.\d+")
    # libgl1 and libegl1 want Mesa's packages, which want these; the second of glib's libraries is in its one package
    along |= {f"libxcb-{name}" for name in ("randr.so.0", "sync.so.1", "xfixes.so.0", "shm.so.0")}
    along |= {"libX11-xcb.so.1", "libgthread-2.0.so.0"}
    assert "libxcb-cursor.so.0" in outside
    left = [n for n in outside if n not in named and n not in along and not in_any_linux.fullmatch(n)]
    assert not left, left
