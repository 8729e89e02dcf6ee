"""The measure document: what it tells of itself."""

from __future__ import annotations

import pytest

from setupassist.documents.measure import Finding, Measure, PlateMeasure
from setupassist.documents.terms import Severity


def measured(area: float, *codes: str) -> Measure:
    findings = tuple(Finding(code=code, severity=Severity.STOP, text=code) for code in codes)
    return Measure(plates=(PlateMeasure(name="red", ink_area_cm2=area),), findings=findings)


@pytest.mark.parametrize("code", ["sizes-differ", "resolutions-differ"])
def test_plates_that_differ_were_not_measured(code: str) -> None:
    assert [finding.code for finding in measured(0.0, "no-ink", code).unread] == [code]
    assert measured(3.0, "no-ink", code).unread == ()
    assert measured(0.0, "no-ink").unread == ()
