"""What every test shares: a home folder of its own, and small jobs made of figures."""

from __future__ import annotations

import json
import re
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest

from setupassist.cli import main
from setupassist.errors import InputFault, MachineFault
from setupassist.words import Said, Words, words_in


@pytest.fixture(autouse=True)
def home(tmp_path_factory: pytest.TempPathFactory, monkeypatch: pytest.MonkeyPatch) -> Path:
    """No test touches the user's own folders."""
    folder = tmp_path_factory.mktemp("home")
    monkeypatch.setenv("SETUPASSIST_HOME", str(folder))
    return folder


def figures() -> dict[str, Any]:
    """A measure document: a white base under yellow and red, a black key over both."""
    return {
        "art": {"source": "figures", "width_mm": 320, "height_mm": 340, "art_box_mm": [10, 10, 300, 320]},
        "plates": [
            {"name": "white base", "role": "base", "lab": [95.6, 0, 0.9], "ink_area_cm2": 125},
            {"name": "yellow", "role": "colour", "lab": [82, 5, 78], "ink_area_cm2": 70},
            {"name": "red", "role": "colour", "lab": [43, 62, 40], "ink_area_cm2": 55},
            {"name": "black key", "role": "key", "lab": [10, 0, 0], "ink_area_cm2": 20},
        ],
        "contacts": [
            {"plates": ["white base", "yellow"], "overlap_cm2": 68},
            {"plates": ["white base", "red"], "overlap_cm2": 53},
            {"plates": ["yellow", "red"], "overlap_cm2": 1, "shared_edge_cm": 12},
            {"plates": ["black key", "yellow"], "overlap_cm2": 5},
            {"plates": ["black key", "red"], "overlap_cm2": 4},
        ],
    }


def press() -> dict[str, Any]:
    """Ten stations, eight heads, two flash units."""
    return {
        "name": "ten", "stations": 10, "load": 1, "unload": 10, "heads": [2, 3, 4, 5, 6, 7, 8, 9],
        "flash_slots": [3, 5, 8], "flash_units": 2, "cooling_stations": 1,
    }  # fmt: skip


def job(**change: Any) -> dict[str, Any]:
    """A job of those figures on that press, on a dark cotton shirt."""
    return {
        "format": "setupassist-job/1", "title": "Test tee", "pieces": 100, "plates": figures(), "press": press(),
        "ink_system": "plastisol", "garment": {"name": "navy tee", "colour": "#1f2a44", "fibre": "cotton"},
        "on_top": [["black key", "yellow"]],
    } | change  # fmt: skip


WriteJob = Callable[..., Path]


@pytest.fixture
def write_job(tmp_path: Path) -> WriteJob:
    """Writes a job with the changes given; its path."""

    def write(**change: Any) -> Path:
        path = tmp_path / "job.json"
        path.write_text(json.dumps(job(**change)), "utf-8")
        return path

    return write


def letters_left(text: str, own: tuple[str, ...] = ()) -> str:
    """The letters of a text worded by ``crossed`` that came from no catalogue, somebody's ``own`` names left out."""
    for name in sorted(own, key=len, reverse=True):
        text = text.replace(name, "")
    return "".join(c for c in text if c.isalpha() and c.lower() != "x")


@pytest.fixture
def crossed() -> Words:
    """Words with an x for every letter of a catalogue: what else is read in them was left in the code."""
    return Words("en", lambda text: re.sub(r"[^\W\d_]", "x", text))


@pytest.fixture
def left() -> Callable[..., str]:
    return letters_left


@pytest.fixture
def faults_by_id(monkeypatch: pytest.MonkeyPatch) -> Iterator[None]:
    """Every fault that comes up in the test is said by id and can be said in every language."""
    plain: list[str] = []
    made = InputFault.__init__

    def heed(text: str) -> None:
        if text and not isinstance(text, Said):
            plain.append(text)
        assert words_in("es")(text) or not text

    def input_fault(self: InputFault, where: str, what: str, remedy: str = "") -> None:
        heed(what)
        heed(remedy)
        made(self, where, what, remedy)

    def machine_fault(self: MachineFault, *told: str) -> None:
        heed(told[0])
        super(MachineFault, self).__init__(*told)

    monkeypatch.setattr(InputFault, "__init__", input_fault)
    monkeypatch.setattr(MachineFault, "__init__", machine_fault)
    yield
    assert plain == []


@pytest.fixture
def run(capsys: pytest.CaptureFixture[str]) -> Callable[..., tuple[int, str, str]]:
    """The command as a person calls it: exit code, what it prints, what it says to stderr."""

    def call(*arguments: str | Path) -> tuple[int, str, str]:
        code = main([str(a) for a in arguments])
        out, err = capsys.readouterr()
        return code, out, err

    return call
