"""A shop with one screen, whose limits are round, and plates as figures."""

from __future__ import annotations

import json
from collections.abc import Callable
from typing import Any

import pytest

from setupassist.check.findings import findings_of_plates
from setupassist.documents.measure import Finding, Measure
from setupassist.documents.shop import Policies, Shop, StockScreen

Found = Callable[..., dict[str, Finding]]


@pytest.fixture
def shop() -> Shop:
    """100 threads a cm of 40 µm: opening 60 µm, lines 0.12 mm, gaps and dots 0.14 mm, 72.57 lines an inch."""
    screens = (StockScreen(mesh_per_cm=100, thread_um=40), StockScreen(mesh_per_cm=43, thread_um=80))
    return Shop(format="setupassist-shop/1", name="Shop", screens=screens, policies=Policies(units="metric", tests=1))


def measure_of(*plates: dict[str, Any], **more: Any) -> Measure:
    """A measure of plates with what is said of them, 10 cm² of ink each."""
    told = {"plates": [{"ink_area_cm2": 10} | plate for plate in plates], **more}
    return Measure.model_validate_json(json.dumps(told))


@pytest.fixture
def found(shop: Shop) -> Found:
    """The findings of plates alone, by code; one of a code at most."""

    def of(*plates: dict[str, Any], shop: Shop = shop, **more: Any) -> dict[str, Finding]:
        findings = findings_of_plates(measure_of(*plates, **more), shop=shop)
        told = {finding.code: finding for finding in findings}
        assert len(told) == len(findings)
        return told

    return of
