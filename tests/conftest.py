"""What every test shares: a home folder of its own, and small jobs made of figures."""

from __future__ import annotations

import json
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest


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
