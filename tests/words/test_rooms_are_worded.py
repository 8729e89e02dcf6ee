"""Nothing that planner, screens, estimate and checks tell a person is left in the code: all of it can be said anew.

Every template's letters become x; the jobs' own names are made of x and digits. What then holds another letter did
not come from a catalogue.
"""

from __future__ import annotations

import json
from collections.abc import Iterable, Iterator
from pathlib import Path
from typing import Any

import pytest

from setupassist.documents.measure import Finding
from setupassist.documents.plan import Plan
from setupassist.documents.store import example_shop
from setupassist.pipeline import hand_made, make_plan, measure_job
from setupassist.planner.rules import RULES
from setupassist.words import Words, languages, words_in
from setupassist.work import open_job

CHANGED = Words("en", lambda text: "".join("x" if c.isalpha() else c for c in text))

FIGURES: dict[str, Any] = {
    "art": {"source": "x", "width_mm": 320, "height_mm": 340, "art_box_mm": [10, 10, 300, 320]},
    "plates": [
        {"name": "x1", "role": "base", "lab": [95.6, 0, 0.9], "ink_area_cm2": 125, "finest_line_mm": 0.1},
        {"name": "x2", "role": "colour", "lab": [82, 5, 78], "ink_area_cm2": 70, "finest_gap_mm": 0.05},
        {"name": "x3", "role": "colour", "lab": [43, 62, 40], "ink_area_cm2": 55, "kind": "halftone",
         "halftone": {"lines_per_inch": 55, "angle_deg": 22.5}},
        {"name": "x4", "role": "key", "lab": [10, 0, 0], "ink_area_cm2": 20},
        {"name": "x5", "role": "puff", "lab": [90, 0, 0], "ink_area_cm2": 12},
        {"name": "x6", "role": "glitter", "lab": [70, 0, 20], "ink_area_cm2": 12},
    ],
    "contacts": [
        {"plates": ["x1", "x2"], "overlap_cm2": 68}, {"plates": ["x1", "x3"], "overlap_cm2": 53},
        {"plates": ["x2", "x3"], "overlap_cm2": 1, "shared_edge_cm": 12},
        {"plates": ["x4", "x2"], "overlap_cm2": 5}, {"plates": ["x4", "x3"], "overlap_cm2": 4},
        {"plates": ["x5", "x2"], "overlap_cm2": 3},
    ],
}  # fmt: skip
PRESS: dict[str, Any] = {
    "name": "xx", "stations": 14, "load": 1, "unload": 14, "heads": list(range(2, 14)), "flash_slots": [3, 5, 8, 11],
    "flash_units": 3, "cooling_stations": 1, "max_laps": 2,
}  # fmt: skip
DARK = {"name": "xxx", "colour": "#1f2a44", "fibre": "cotton"}
WHITE = {"name": "xxxx", "colour": "#ffffff", "fibre": "cotton", "pieces": 20}


def job(**change: Any) -> dict[str, Any]:
    return {
        "format": "setupassist-job/1", "title": "x", "pieces": 100, "plates": FIGURES, "press": PRESS,
        "ink_system": "plastisol", "garment": DARK, "on_top": [["x4", "x2"]],
    } | change  # fmt: skip


def small(**change: Any) -> dict[str, Any]:
    return PRESS | change


def slot(station: int, ink: str | None, lap: int = 1) -> dict[str, Any]:
    return {"lap": lap, "station": station, "holds": "screen" if ink else "flash", "ink": ink}


JOBS: dict[str, dict[str, Any]] = {
    "plain": job(),
    "two groups, one print again": job(
        garment=None, pieces=None, garments=[DARK | {"pieces": 80}, WHITE], inks={"x1": {"prints": 2}}
    ),
    "pins and what stands there now": job(
        pins={"x4": 9}, flash_pins=[3], on_press_now={"3": "flash", "2": "x1", "6": "x2"}, order=[["x3", "x2"]],
        flash_between=[["x2", "x4"]],
    ),
    "mesh asked for": job(
        overrides={
            "x1": {"mesh_per_inch": 110, "strokes": 2, "squeegee_shore": "60", "tension_n_per_cm": 24},
            "x2": {"mesh_per_inch": 999}, "x3": {"thread_um": 11}, "x4": {"squeegee_angle_deg": 70, "stencil_um": 12},
        }
    ),
    "acrylic": job(ink_system="acrylic"),
    "discharge": job(ink_system="discharge"),
    "silicone": job(ink_system="silicone"),
    "fleece": job(garment=DARK | {"fabric": "fleece"}),
    "cleanest": job(strategy="cleanest"),
    "a clash": job(press=small(stations=7, unload=7, heads=[2, 3, 4, 5, 6], flash_slots=[3], flash_units=1)),
    "a clash of pins": job(
        pins={"x4": 2, "x1": 13}, keep_empty=[4], flash_pins=[5],
        press=small(out_of_service=[6], cooling="required", max_laps=1),
    ),
    "no flash unit": job(press=small(flash_units=0, flash_slots=[])),
    "by hand": job(
        arrangement=[
            slot(2, "x2"), slot(3, None), slot(4, "x1"), slot(4, "x3"), slot(7, "x5"), slot(8, None), slot(9, "x4", 2),
        ],
        pins={"x6": 5}, keep_empty=[7],
    ),
}  # fmt: skip


def of_plan(plan: Plan) -> Iterator[str]:
    """Every text of a plan that a face shows, but the questions' and notes', which the steps tell."""
    for slot_ in plan.slots:
        yield from of_reasons(slot_.reasons)
    for group in plan.groups:
        yield from group.rest
    yield from plan.broken
    for limit in plan.broken_limits:
        yield limit.text
    if plan.clash is not None:
        yield from plan.clash.limits
        yield from (way.text for way in plan.clash.ways_out)
    if plan.estimate is not None:
        yield plan.estimate.paced_by
        yield from (time.what for time in plan.estimate.station_times)
    for screen in plan.screens:
        yield from of_reasons(screen.shaped_by)
        yield screen.nearest or ""
        for setting in screen.settings:
            yield from (setting.name, setting.unit, setting.source)
            if isinstance(setting.value, str):
                yield setting.value


def of_reasons(reasons: Iterable[Any]) -> Iterator[str]:
    for reason in reasons:
        yield from (reason.text, reason.source)


def odd_letters(text: str) -> set[str]:
    return {c for c in CHANGED(text) if c.isalpha() and c != "x"}


@pytest.fixture(scope="module")
def told(tmp_path_factory: pytest.TempPathFactory) -> dict[str, tuple[Plan, tuple[Finding, ...]]]:
    shop = example_shop()
    named_anew = [press.model_copy(update={"name": "x" * at}) for at, press in enumerate(shop.presses, start=5)]
    shop = shop.model_copy(update={"presses": tuple(named_anew)})
    found = {}
    for name, entry in JOBS.items():
        path: Path = tmp_path_factory.mktemp("job") / "job.json"
        path.write_text(json.dumps({k: v for k, v in entry.items() if v is not None}), "utf-8")
        work = open_job(path, shop=shop)
        planned = hand_made(work, make_plan(work, measure_job(work)))
        found[name] = planned.plan, planned.findings
    return found


@pytest.mark.parametrize("name", JOBS)
def test_no_text_of_a_plan_is_left_in_the_code(told, name: str) -> None:
    plan, findings = told[name]
    texts = [*of_plan(plan), *(finding.text for finding in findings)]
    assert len(texts) >= 3
    assert {text: odd for text in texts if (odd := odd_letters(text))} == {}


@pytest.mark.parametrize("language", languages())
def test_every_text_can_be_said_in_every_language(told, language: str) -> None:
    words = words_in(language)
    texts = {text for plan, findings in told.values() for text in [*of_plan(plan), *(f.text for f in findings)]}
    assert len(texts) > 150
    same = [text for text in texts if len(text) > 40 and words(text) == text]
    assert same == ([text for text in texts if len(text) > 40] if language == "en" else [])


def test_the_jobs_are_rich(told) -> None:
    assert [name for name, (plan, _) in told.items() if plan.clash is not None] == [
        "a clash", "a clash of pins",
    ]  # fmt: skip
    assert len(told["by hand"][0].broken) > 5
    assert any(group.rest for plan, _ in told.values() for group in plan.groups)


@pytest.mark.parametrize("rule", RULES, ids=lambda rule: rule.id)
def test_every_rule_is_worded(rule) -> None:
    for text in (rule.sentence, rule.remedy, rule.source):
        assert odd_letters(text) == set()
        assert words_in("es")(text)
