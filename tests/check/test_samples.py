"""The sample jobs are clean: nothing stands against printing them, with their job or as plates alone."""

from __future__ import annotations

from pathlib import Path

import pytest

from setupassist.checking import check_path
from setupassist.documents.store import example_shop
from setupassist.documents.terms import Severity

SAMPLES = Path(__file__).parents[2] / "sample_art"


@pytest.mark.parametrize(
    ("name", "plates"),
    [
        ("lantern-walk", ""),
        ("lantern-walk", "plates"),
        ("night-heron", ""),
        ("night-heron", "plates"),
        ("moth-hour", ""),
        ("moth-hour", "moth-hour.pdf"),
    ],
)
def test_a_sample_has_no_stop_and_no_warning(name: str, plates: str) -> None:
    checked = check_path(SAMPLES / name / plates, shop=example_shop())
    assert [finding.told for finding in checked.findings if finding.severity is not Severity.NOTE] == []
    assert "base-leaves-bare" not in {finding.code for finding in checked.findings}
    assert (checked.work is None) == bool(plates)
