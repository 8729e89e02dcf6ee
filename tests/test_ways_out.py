"""Every way out of a clash that is told to work does: its change put into the job, the job planned again."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest

from setupassist.documents.job import Job
from setupassist.documents.plan import Plan
from setupassist.documents.press import Press
from setupassist.documents.shop import Shop
from setupassist.documents.store import example_shop
from setupassist.pipeline import make_plan, measure_job
from setupassist.work import open_job

LABS = {"milk": (95, 0, 2), "straw": (84, 3, 60), "brick": (44, 52, 34), "slate": (36, -6, -22), "soot": (14, 0, 0)}


def figures(roles: dict[str, str], overlaps: dict[tuple[str, str], float]) -> dict[str, Any]:
    """Measured figures of solid plates of 60 cm² each."""
    return {
        "art": {"source": "figures", "width_mm": 250, "height_mm": 300, "pixels_per_cm": 118,
                "art_box_mm": [10, 10, 230, 280]},
        "plates": [
            {"name": ink, "kind": "solid", "role": role, "lab": LABS[ink], "ink_area_cm2": 60, "coverage": 0.08}
            for ink, role in roles.items()
        ],
        "contacts": [{"plates": pair, "overlap_cm2": cm2, "shared_edge_cm": 4} for pair, cm2 in overlaps.items()],
    }  # fmt: skip


BASED = figures(
    {"milk": "base", "brick": "colour", "slate": "colour"}, {("milk", "brick"): 30.0, ("milk", "slate"): 28.0}
)
LIT = figures({"brick": "colour", "slate": "colour", "milk": "highlight"}, {("brick", "milk"): 9, ("slate", "milk"): 8})
PUFFED = figures({"brick": "colour", "slate": "colour", "straw": "puff"}, {("brick", "straw"): 9})
FLAT = figures({"straw": "colour", "brick": "colour", "slate": "colour"}, {("straw", "brick"): 5})
PRESS: dict[str, Any] = {"name": "short press", "stations": 7, "load": 1, "unload": 7, "heads": [2, 3, 4, 5, 6]}
FLASHED = PRESS | {"flash_slots": [3, 4, 5], "flash_units": 1}

CLASHES: dict[str, dict[str, Any]] = {
    "no unit for the base": {"plates": BASED, "press": PRESS | {"flash_slots": [3]},
                             "answers": {"base-hits": "one", "flash-after-base": "yes"}},
    "no unit for the highlight": {
        "plates": LIT, "press": PRESS, "answers": {"flash-before-highlight": "yes", "base": "none"},
    },
    "no unit for the puff": {"plates": PUFFED, "press": PRESS, "answers": {"flash-before-specials": "yes"}},
    "no unit for a flash asked for": {"plates": FLAT, "press": PRESS, "flash_between": [["straw", "brick"]]},
    "printed twice without a unit": {"plates": BASED, "press": PRESS, "inks": {"milk": {"prints": 2}},
                                     "answers": {"flash-after-base": "no"}},
    "base printed twice by the answer": {"plates": BASED, "press": FLASHED | {"heads": [2, 3, 4]},
                                         "answers": {"base-hits": "print-flash-print"}},
    "two pins on one station": {"plates": FLAT, "press": PRESS, "pins": {"straw": 3, "brick": 3}},
    "a pin on a station kept empty": {"plates": FLAT, "press": PRESS, "pins": {"straw": 3}, "keep_empty": [3]},
    "a pin where the head is broken": {"plates": FLAT, "press": PRESS | {"out_of_service": [3]}, "pins": {"straw": 3}},
    "an order against the pins": {"plates": FLAT, "press": PRESS, "order": [["slate", "straw"]],
                                  "pins": {"slate": 5, "straw": 3}},
    "cooling has no room": {
        "plates": BASED,
        "press": FLASHED | {"heads": [2, 4, 5], "stations": 6, "unload": 6, "flash_slots": [3], "cooling_stations": 1,
                            "cooling": "required"},
        "answers": {"base-hits": "one"},
    },
    "a flash unit pinned where none may follow": {
        "plates": FLAT, "press": FLASHED, "flash_pins": [4], "pins": {"slate": 3, "brick": 5},
        "answers": {"base": "none"}, "no_flash_between": [["slate", "brick"]],
    },
    "a flash where all flash slots are kept empty": {
        "plates": FLAT, "press": FLASHED | {"flash_slots": [3, 4]}, "flash_between": [["straw", "brick"]],
        "keep_empty": [3, 4],
        "answers": {"base": "none"},
    },
    "too few heads": {"plates": FLAT, "press": PRESS | {"heads": [2, 3]}},
    "too few heads, and one pinned": {"plates": FLAT, "press": PRESS | {"heads": [2, 3]}, "pins": {"straw": 3}},
    "one colour after the other in acrylic": {
        "plates": FLAT, "press": PRESS, "ink_system": "acrylic", "answers": {"flash-each-colour": "yes"},
    },
}  # fmt: skip


def planned(job: dict[str, Any], folder: Path, shop: Shop) -> Plan:
    """The plan of a job as a person would get it, from its file."""
    file = folder / "job.json"
    file.write_text(json.dumps(job))
    work = open_job(file, shop=shop)
    return make_plan(work, measure_job(work)).plan


def put_in(job: dict[str, Any], change: dict[str, Any]) -> dict[str, Any]:
    """The job with each field of the change in place of its own, or of its press's."""
    of_press = {name: value for name, value in change.items() if name in Press.model_fields}
    of_job = {name: value for name, value in change.items() if name not in of_press}
    assert set(of_job) <= set(Job.model_fields)
    return {**job, "press": {**job["press"], **of_press}, **of_job}


@pytest.fixture(scope="module")
def shop() -> Shop:
    return example_shop()


@pytest.mark.parametrize("name", CLASHES)
def test_ways_out_that_work_do(name: str, tmp_path: Path, shop: Shop) -> None:
    job = {"format": "setupassist-job/1", "garment": {"colour": "#1a1a1e"}, **CLASHES[name]}
    plan = planned(job, tmp_path, shop)
    assert plan.clash is not None
    assert any(way.works for way in plan.clash.ways_out)
    for way in plan.clash.ways_out:
        again = planned(put_in(job, way.change), tmp_path, shop)
        assert again.feasible is way.works, way.text
        assert [w.value for w in again.wishes] == [w.value for w in way.wishes]


def test_where_no_other_way_works_the_presses_that_print_the_art_are_tried(tmp_path: Path, shop: Shop) -> None:
    """The short bench prints 380 mm wide at most, the two others 400 mm."""
    wide = {**FLAT, "art": {**FLAT["art"], "width_mm": 420, "art_box_mm": [10, 10, 390, 280]}}
    job = {"format": "setupassist-job/1", "garment": {"colour": "#1a1a1e"}, "plates": wide,
           "press": PRESS | {"heads": [2, 3], "max_print_mm": [400, 450]}}  # fmt: skip
    clash = planned(job, tmp_path, shop).clash
    assert clash is not None
    works = {way.text: way.change for way in clash.ways_out if way.works}
    assert works == {f"run the job on {name}": {"press": name} for name in ("Long bench", "Big wheel")}
    kept = {"pins": {"straw": 3}, "keep_empty": [5], "kept_plan": [{"lap": 1, "station": 2, "holds": "flash"}]}
    clash = planned(job | kept, tmp_path, shop).clash
    assert clash is not None
    assert [way.change for way in clash.ways_out if way.works] == [
        {"press": name, "pins": {}, "keep_empty": [], "kept_plan": None} for name in ("Long bench", "Big wheel")
    ]


def test_no_other_press_is_told_where_less_helps(tmp_path: Path, shop: Shop) -> None:
    job = {"format": "setupassist-job/1", "garment": {"colour": "#1a1a1e"}, **CLASHES["two pins on one station"]}
    clash = planned(job, tmp_path, shop).clash
    assert clash is not None
    assert not any("press" in way.change for way in clash.ways_out)
