"""What the plates, the stock and the press tell together, in words."""

from __future__ import annotations

import json
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from setupassist.check.findings import findings_of_plates
from setupassist.documents.measure import Finding, Measure
from setupassist.documents.shop import Policies, Shop
from setupassist.documents.store import example_shop
from setupassist.errors import NoPlan
from setupassist.pipeline import make_plan, measure_job
from setupassist.words import words_in
from setupassist.work import open_job

Findings = Callable[..., dict[str, Finding]]


@pytest.fixture
def findings(write_job: Callable[..., Path]) -> Findings:
    """The findings of a job by their codes."""

    def of(shop: Shop | None = None, **change: Any) -> dict[str, Finding]:
        work = open_job(write_job(**change), shop=shop or example_shop())
        return {finding.code: finding for finding in make_plan(work, measure_job(work)).findings}

    return of


def press(**change: Any) -> dict[str, Any]:
    return {
        "name": "ten", "stations": 10, "load": 1, "unload": 10, "heads": [2, 3, 4, 5, 6, 7, 8, 9],
        "flash_slots": [3, 5, 8], "flash_units": 2, "cooling_stations": 1,
    } | change  # fmt: skip


def test_nothing_is_found_in_a_sound_job(findings: Findings) -> None:
    assert findings() == {}


def test_art_that_is_too_large(findings: Findings) -> None:
    """The art box is 300 × 320 mm."""
    wide = findings(press=press(max_print_mm=[250, 400]))["art-too-large"]
    assert wide.told == "The art is 11.8 in wide, but ten prints 9.8 in at most; reduce the art or take another press"
    assert (wide.measured, wide.limit) == (300, 250)
    metric = example_shop().model_copy(update={"policies": Policies(units="metric")})
    high = findings(metric, press=press(max_print_mm=[400, 300]))["art-too-large"]
    assert high.told.startswith("The art is 320 mm high, but ten prints 300 mm at most;")
    assert words_in("es")(high.told).startswith("El arte mide 320 mm de alto, pero ten imprime 300 mm como máximo;")


@pytest.mark.parametrize(
    ("heads", "slots", "told"),
    [
        ([2, 3, 4], [9], "4 screens need 4 heads, but ten has 3 in service"),
        ([2, 3, 4, 5], [3], "4 screens and a flash need 5 heads, but ten has 4 in service"),
    ],
)
def test_too_many_screens(findings: Findings, heads: list[int], slots: list[int], told: str) -> None:
    found = findings(press=press(heads=heads, flash_slots=slots, flash_units=1))["too-many-screens"]
    assert found.told == f"{told}; merge or drop an ink, or take another press"


def test_a_station_that_is_to_stay_empty_takes_no_screen(findings: Findings) -> None:
    found = findings(press=press(heads=[2, 3, 4, 5, 6, 7], out_of_service=[2, 7]), keep_empty=[5, 7, 8])
    told = found["too-many-screens"]
    assert told.text == "4 screens and a flash need 5 heads, but ten has 3 in service and not to stay empty"
    assert (told.limit, words_in("es")(told.text).count("3 en servicio que no deben quedar vacíos")) == (3, 1)


def test_one_screen_too_many_is_told_in_the_singular(findings: Findings) -> None:
    alone = {"art": {"source": "x", "width_mm": 300, "height_mm": 300}, "plates": [
        {"name": "red", "role": "colour", "lab": [43, 62, 40], "ink_area_cm2": 55}]}  # fmt: skip
    white = {"name": "white tee", "colour": "#ffffff", "fibre": "cotton"}
    with_none = press(heads=[2], out_of_service=[2], flash_slots=[3])
    found = findings(plates=alone, garment=white, on_top=[], press=with_none)["too-many-screens"]
    assert found.text.startswith("1 screen needs 1 head, but ten has 0 in service")


def test_a_screen_that_the_stock_lacks(findings: Findings) -> None:
    found = findings(example_shop().model_copy(update={"screens": ()}))["no-stock-screen"]
    assert found.text.endswith("no screen in stock fits. The shop book lists no screens.")
    assert words_in("es")(found.text).endswith("El libro del taller no tiene pantallas.")
    assert found.told.endswith("lists no screens. Stretch a screen for it, or enter the mesh that is to be used.")


def test_a_ruling_finer_than_the_stock_carries() -> None:
    shop = example_shop()
    figures = {
        "art": {"source": "x", "width_mm": 300, "height_mm": 300},
        "plates": [{"name": "red", "kind": "halftone", "ink_area_cm2": 5,
                    "halftone": {"lines_per_inch": 133, "angle_deg": 22.5}}],
    }  # fmt: skip
    measure = Measure.model_validate_json(json.dumps(figures))
    (found,) = findings_of_plates(measure, shop=shop)
    finest = max(screen.mesh_per_cm for screen in shop.screens if screen.quantity) * 2.54
    limit = finest / shop.policies.least_mesh_per_ruling
    assert found.limit == pytest.approx(limit)
    assert found.told == (
        f"red has 133 lines per inch; the finest screen in stock carries {int(limit)} lines per inch; "
        "ask for a coarser ruling or buy a finer screen"
    )
    assert findings_of_plates(measure, shop=shop.model_copy(update={"screens": ()})) == ()


def test_no_plan_in_no_time_is_told_so(write_job: Callable[..., Path]) -> None:
    work = open_job(write_job(), shop=example_shop())
    with pytest.raises(NoPlan, match=r"no plan was found in 1e-09 seconds; allow more with --time-limit"):
        make_plan(work, measure_job(work), time_limit_seconds=1e-9)
