"""The check tells every fault that is drawn into a set, where it lies, and nothing that is not there."""

from __future__ import annotations

import json
from pathlib import Path

import numpy as np
import pytest

from setupassist.checking import check_path
from setupassist.cli import main
from setupassist.documents.measure import Finding
from setupassist.documents.store import example_shop
from setupassist.documents.terms import Severity
from tests.faulty_set import sets
from tests.faulty_set.sets import FAULTS, TOGETHER, Fault


def found_in(folder: Path) -> tuple[Finding, ...]:
    return check_path(folder, shop=example_shop()).findings


def tells(finding: Finding, fault: Fault) -> bool:
    """Whether a finding tells that fault: its code, its plates, its place, its measure."""
    if (finding.code, finding.plates) != (fault.code, fault.plates):
        return False
    if fault.place_mm is not None and not any(
        np.hypot(x - fault.place_mm[0], y - fault.place_mm[1]) <= fault.reach_mm for x, y in finding.places_mm
    ):
        return False
    if fault.measured is None:
        return True
    return finding.measured is not None and fault.measured[0] <= finding.measured <= fault.measured[1]


@pytest.mark.parametrize("drawn", [sets.clean, lambda: sets.in_dots(dpi=1200)], ids=["solid", "dots"])
def test_nothing_is_found_in_a_clean_set(tmp_path: Path, drawn) -> None:
    assert found_in(drawn().save(tmp_path)) == ()


@pytest.mark.parametrize("drawn", [sets.clean, lambda: sets.in_dots(dpi=1200)], ids=["solid", "dots"])
def test_nothing_is_found_in_clean_plates_alone(tmp_path: Path, drawn) -> None:
    drawn().save(tmp_path)
    (tmp_path / "job.json").unlink()
    assert found_in(tmp_path) == ()


@pytest.mark.parametrize("name", FAULTS)
def test_a_fault_is_told_with_its_place_and_nothing_else(tmp_path: Path, name: str) -> None:
    fault = FAULTS[name]
    findings = found_in(fault.put().save(tmp_path))
    assert any(tells(finding, fault) for finding in findings), [finding.told for finding in findings]
    assert {finding.code for finding in findings} <= {fault.code, *fault.beside}


def test_faults_of_one_set_do_not_hide_one_another(tmp_path: Path) -> None:
    findings = found_in(sets.all_at_once().save(tmp_path))
    for name in TOGETHER:
        assert any(tells(finding, FAULTS[name]) for finding in findings), name
    assert {finding.code for finding in findings} == {FAULTS[name].code for name in TOGETHER}


def test_the_command_tells_them_too(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    sets.all_at_once().save(tmp_path)
    assert main(["check", str(tmp_path), "--json"]) == 1
    told = json.loads(capsys.readouterr().out)
    assert {finding["code"] for finding in told} == {FAULTS[name].code for name in TOGETHER}
    (tmp_path / "job.json").unlink()
    assert main(["check", str(tmp_path), "--json"]) == 1
    alone = {finding["code"] for finding in json.loads(capsys.readouterr().out)}
    # without a garment nobody knows whether an ink needs the base: it is noted only
    assert alone == {finding["code"] for finding in told} - {"base-missing-under"} | {"base-leaves-bare"}


def test_a_warning_alone_does_not_stop(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    sets.hairline(sets.clean()).save(tmp_path)
    assert main(["check", str(tmp_path), "--json"]) == 0
    assert [finding["severity"] for finding in json.loads(capsys.readouterr().out)] == [Severity.WARN.value]


def test_the_list_names_every_fault() -> None:
    listed = (Path(__file__).parent / "README.md").read_text(encoding="utf-8")
    rows = [line.split("|")[1:3] for line in listed.splitlines() if line.startswith("|")][2:]
    assert {name.strip(): code.strip(" `") for name, code in rows} == {name: f.code for name, f in FAULTS.items()}
