"""What findings come to: rows, verdict, places in words; in both languages."""

from __future__ import annotations

import pytest

from setupassist.desk import findings_told
from setupassist.desk.art_facts import findings_known
from setupassist.desk.desk import Desk
from setupassist.desk.opening import open_paths
from setupassist.documents.measure import Finding, Measure
from setupassist.documents.store import example_shop
from setupassist.documents.terms import Severity
from setupassist.quantities import Units
from setupassist.sheet.unit_words import UnitWords
from setupassist.words import words_in
from tests.desk.conftest import SAMPLES, work_off

METRIC, INCH = UnitWords(Units.METRIC), UnitWords(Units.INCH, words_in("es"))


def finding(severity: Severity, *places: tuple[float, float]) -> Finding:
    return Finding(code="specks", severity=severity, text="specks", remedy="take them out", places_mm=places)


def test_nothing_is_said_before_the_plates_are_measured(monkeypatch: pytest.MonkeyPatch) -> None:
    desk = Desk(example_shop())
    desk.open(open_paths([SAMPLES / "lantern-walk"], shop=desk.shop))
    assert findings_told.verdict(desk) is None
    assert findings_told.finding_rows(desk, METRIC) == ()


@pytest.mark.parametrize(
    ("severities", "told"),
    [
        ((), "Clean: nothing stands against film."),
        ((Severity.NOTE,), "Clean: nothing stands against film."),
        ((Severity.WARN, Severity.WARN, Severity.NOTE), "Prints with care: 2 warnings."),
        ((Severity.STOP, Severity.WARN), "Would stop the press: 1 finding."),
    ],
)
def test_the_worst_finding_decides_the_verdict(desk: Desk, monkeypatch, severities, told) -> None:
    work_off(desk)
    found = tuple(finding(severity) for severity in severities)
    monkeypatch.setattr(findings_told, "findings_known", lambda desk: found)
    assert findings_told.verdict(desk) == told
    rows = findings_told.finding_rows(desk, words_in("en"))
    assert [row.cells[0].text for row in rows] == [str(at) for at in range(1, len(found) + 1)]
    assert all(row.cells[2].text == "specks; take them out" for row in rows)


def test_places_are_told_in_the_persons_units() -> None:
    several = finding(Severity.NOTE, (25.4, 50.8), (1, 2))
    assert findings_told.place_told(several, 1, METRIC) == "Place 2 of 2: 1.0 mm from the left, 2.0 mm from the top."
    spanish = findings_told.place_told(finding(Severity.NOTE, (25.4, 50.8)), 0, INCH)
    assert spanish == "A 1.00 pulg de la izquierda, a 2.00 pulg de arriba."
    assert findings_told.place_told(finding(Severity.NOTE), 0, METRIC) == "It has no single place on the art."


def test_figures_are_told_in_their_units() -> None:
    thin = Finding(code="line-too-fine", severity=Severity.WARN, text="thin", measured=0.1, limit=0.2)
    assert findings_told.figures_told(thin, METRIC) == "Measured 0.10 mm, limit 0.20 mm."
    assert findings_told.figures_told(thin, INCH) == "Medido 0.004 pulg, límite 0.008 pulg."
    bare = Finding(code="base-missing-under", severity=Severity.WARN, text="bare", measured=0.123, limit=0.01)
    assert findings_told.figures_told(bare, METRIC) == "Measured 12 %, limit 1 %."
    assert findings_told.figures_told(finding(Severity.NOTE), METRIC) == ""


def test_numbers_go_round() -> None:
    assert [findings_told.number_after(3, now, 1) for now in (0, 1, 3)] == [1, 2, 1]
    assert [findings_told.number_after(3, now, -1) for now in (0, 1, 3)] == [3, 3, 2]
    assert findings_told.number_after(0, 0, 1) == 0


def test_findings_tell_lengths_in_the_persons_units(desk: Desk) -> None:
    measure = desk.job.plates
    assert isinstance(measure, Measure)
    thin = measure.plates[1].model_copy(update={"finest_line_mm": 0.02})
    plates = (measure.plates[0], thin, *measure.plates[2:])
    desk.put(desk.job.model_copy(update={"plates": measure.model_copy(update={"plates": plates})}))
    work_off(desk)
    told = [f.text for f in findings_known(desk) if f.code == "line-too-fine"]
    assert "0.001 in" in told[0]
    desk.units = "metric"
    told = [f.text for f in findings_known(desk) if f.code == "line-too-fine"]
    assert "0.02 mm" in told[0]
    assert [f.code for f in findings_known(desk)] == [f.code for f in desk.results.made.findings]


def test_findings_of_a_job_that_no_plan_exists_for_are_in_the_persons_units_too(write_job) -> None:
    desk = Desk(example_shop())
    desk.open(open_paths([write_job(press="Long bench")], shop=desk.shop))
    press = desk.press
    assert press is not None
    desk.put(desk.job.model_copy(update={"keep_empty": press.heads[1:]}))
    measure = desk.job.plates
    assert isinstance(measure, Measure)
    thin = measure.plates[1].model_copy(update={"finest_line_mm": 0.02})
    plates = (measure.plates[0], thin, *measure.plates[2:])
    desk.put(desk.job.model_copy(update={"plates": measure.model_copy(update={"plates": plates})}))
    work_off(desk)
    assert desk.results.made is not None
    assert not desk.results.made.plan.feasible
    before = [finding.code for finding in findings_known(desk)]
    desk.units = "metric"
    told = [finding.text for finding in findings_known(desk) if finding.code == "line-too-fine"]
    assert "0.02 mm" in told[0]
    assert [finding.code for finding in findings_known(desk)] == before
