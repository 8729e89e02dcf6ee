"""Dots and holes that a mesh holds, by the geometry of a round dot."""

from __future__ import annotations

import math
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from setupassist.check.dots import area_below, least_tone
from setupassist.documents.measure import Finding
from setupassist.documents.store import example_shop
from setupassist.pipeline import make_plan, measure_job
from setupassist.trade.mesh import woven
from setupassist.words import words_in
from setupassist.work import open_job

Found = Callable[..., dict[str, Finding]]


def test_a_mesh_of_120_threads_holds_five_per_cent_at_55_lines() -> None:
    """120-34: opening 49 µm, w + 2 d = 117 µm; a 5 % dot at 55 lines an inch is 116.5 µm wide (geometry)."""
    assert least_tone(woven(120, 34), 55, 2) == pytest.approx(0.05, abs=0.001)
    assert least_tone(woven(43, 80), 200, 2) == 0.5


def test_areas_below_a_tone() -> None:
    steps = tuple(float(n) for n in range(50))
    assert area_below(steps, 0.0) == 0
    assert area_below(steps, 0.06) == pytest.approx(0 + 1 + 2)
    assert area_below(steps, 0.07) == pytest.approx(0 + 1 + 2 + 0.5 * 3)
    assert area_below(steps, 1.0) == pytest.approx(sum(steps))


def tones(*steps: tuple[int, float]) -> list[float]:
    """Areas by step of 2 %, given as (step, cm²)."""
    told = [0.0] * 50
    for step, area in steps:
        told[step] = area
    return told


# At 45 lines an inch 0.14 mm dots are pi/4 (140 / 564.4)² = 4.83 %: step 0 and 1 are lost, and 0.416 of step 2.
HALFTONE = {"name": "red", "kind": "halftone", "halftone": {"lines_per_inch": 45, "angle_deg": 22.5}}
LEAST = math.pi / 4 * (140 / (25400 / 45)) ** 2


@pytest.mark.parametrize(
    ("light", "lost"), [((0, 1.0), 0.1), ((1, 1.0), 0.1), ((2, 1.0), 0.1 * (LEAST * 50 - 2)), ((3, 1.0), 0)]
)
def test_dots_that_are_lost(found: Found, light: tuple[int, float], lost: float) -> None:
    told = found(HALFTONE | {"tone_cm2": tones(light, (25, 9.0)), "light_places_mm": [[5, 5]]})
    assert list(told) == (["dots-lost"] if lost > 0.02 else [])
    if lost > 0.02:
        finding = told["dots-lost"]
        assert (finding.severity, finding.plates, finding.limit) == ("warn", ("red",), 0.02)
        assert finding.measured == pytest.approx(lost)
        assert finding.places_mm == ((5, 5),)
        assert "holds dots of 0.14 mm, that is 5% at 17.7 lines per cm" in finding.text


def test_two_per_cent_of_the_area_may_be_lost(found: Found) -> None:
    assert found(HALFTONE | {"tone_cm2": tones((0, 0.2), (25, 9.8))}) == {}
    assert set(found(HALFTONE | {"tone_cm2": tones((0, 0.21), (25, 9.79))})) == {"dots-lost"}


def test_shadows_that_fill_in(found: Found) -> None:
    """Steps 48 and 47 hold holes under 4.83 %; what is full is meant to be full."""
    finding = found(HALFTONE | {"tone_cm2": tones((48, 1.0), (25, 9.0)), "dark_places_mm": [[7, 7]]})["shadows-fill"]
    assert finding.measured == pytest.approx(0.1)
    assert finding.places_mm == ((7, 7),)
    assert found(HALFTONE | {"tone_cm2": tones((49, 5.0), (46, 1.0), (25, 4.0))}) == {}


def test_tone_plates_are_judged_at_the_ruling_that_they_will_get(found: Found) -> None:
    tone = {"name": "grey", "kind": "tone", "tone_cm2": tones((1, 1.0), (25, 9.0))}
    assert set(found(tone)) == {"dots-lost"}
    assert found(tone | {"kind": "stochastic"}) == {}
    assert found(tone | {"tone_cm2": None}) == {}
    assert found(tone | {"tone_cm2": tones()}) == {}


@pytest.mark.parametrize(("dot_mm", "lost"), [(0.06, True), (0.139, True), (0.141, False), (None, False)])
def test_scattered_dots_too_small_for_the_mesh(found: Found, dot_mm: float | None, lost: bool) -> None:
    """The finest screen holds dots of 0.14 mm; the size of its dots tells nothing of a halftone."""
    plate = {"name": "red", "kind": "stochastic", "dot_mm": dot_mm, "light_places_mm": [[5, 5]]}
    told = found(plate)
    assert list(told) == (["dots-lost"] if lost else [])
    if lost:
        finding = told["dots-lost"]
        assert (finding.severity, finding.plates, finding.places_mm) == ("warn", ("red",), ((5, 5),))
        assert finding.told == (
            f"red's scattered dots are {dot_mm:.2f} mm across; 100-40 per cm holds dots of 0.14 mm; "
            "make the dots larger or take a finer screen"
        )
        assert words_in("es")(finding.text).startswith("Los puntos dispersos de red miden")
    assert found(plate | {"kind": "halftone"}) == {}


def test_a_ruling_finer_than_the_stock_carries(found: Found) -> None:
    """100 per cm ÷ 3.5 are 72.57 lines an inch."""
    at = {"lines_per_inch": 73.0, "angle_deg": 22.5}
    finding = found({"name": "red", "kind": "halftone", "halftone": at})["ruling-too-fine"]
    assert finding.limit == pytest.approx(254 / 3.5)
    assert found({"name": "red", "kind": "halftone", "halftone": at | {"lines_per_inch": 72.5}}) == {}


def test_a_job_is_judged_by_its_chosen_screen(write_job: Callable[..., Path]) -> None:
    """The coarser the mesh that is entered, the larger the dots that it loses: 61-64 holds 0.23 mm, 120-34 0.12 mm."""
    figures: dict[str, Any] = {
        "art": {"source": "figures", "width_mm": 320, "height_mm": 340, "art_box_mm": [10, 10, 300, 320]},
        "plates": [
            HALFTONE | {"lab": [43, 62, 40], "ink_area_cm2": 55, "tone_cm2": tones((3, 1.0), (25, 9.0))},
        ],
    }
    white = {"name": "white tee", "colour": "#ffffff", "fibre": "cotton"}
    codes = {}
    for mesh in (156, 305):
        change = {"overrides": {"red": {"mesh_per_inch": mesh}}, "garment": white, "on_top": []}
        work = open_job(write_job(plates=figures, **change), shop=example_shop())
        codes[mesh] = {finding.code for finding in make_plan(work, measure_job(work)).findings}
    assert "dots-lost" in codes[156]
    assert "dots-lost" not in codes[305]
