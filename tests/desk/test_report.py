"""The report that the window saves is the one that the command prints."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest

from setupassist.checking import check_path, make_report
from setupassist.desk.desk import Desk, SheetWish
from setupassist.desk.opening import open_paths
from setupassist.desk.report import can_be_made, report_of
from setupassist.documents.store import example_shop
from tests.desk.conftest import SAMPLES, work_off


@pytest.mark.parametrize(("units", "language"), [("metric", "en"), ("inch", "es")])
def test_it_is_the_commands_report(units: str, language: str) -> None:
    desk = Desk(example_shop())
    desk.open(open_paths([SAMPLES / "lantern-walk"], shop=desk.shop))
    assert not can_be_made(desk)
    work_off(desk)
    desk.units = "inch" if units == "metric" else "metric"
    assert can_be_made(desk)
    made = report_of(desk, SheetWish("2026-11-25", language, "a4", units))()
    checked = check_path(SAMPLES / "lantern-walk", shop=desk.shop, units=units)
    assert made == make_report(checked, date="2026-11-25", paper="a4", units=units, language=language)


def test_figures_without_plates_have_a_report_too(write_job: Callable[..., Path]) -> None:
    desk = Desk(example_shop())
    desk.open(open_paths([write_job()], shop=desk.shop))
    work_off(desk)
    assert report_of(desk, SheetWish("2026-11-25"))().startswith(b"%PDF")
