"""An ink that its file leaves nameless is asked for a name, gets one, and the job follows; all of it can be undone."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import numpy as np
import pytest
import tifffile

from setupassist.desk import plate_rows
from setupassist.desk.desk import Desk
from setupassist.desk.grid import Cell
from setupassist.desk.inks_told import inks_told, note_of
from setupassist.desk.naming import name_ink
from setupassist.desk.opening import open_paths
from setupassist.documents.store import example_shop, read_job
from setupassist.errors import InputFault
from setupassist.pipeline import measure_path
from setupassist.quantities import Units
from setupassist.sheet.unit_words import UnitWords
from setupassist.words import words_in
from tests.desk.conftest import work_off

ENGLISH = UnitWords(Units.METRIC)


def write_job(folder: Path, **more: Any) -> Path:
    """A job of six inks, the last two nameless, 300 dpi."""
    planes = np.zeros((6, 400, 300), np.uint8)
    for number, plane in enumerate(planes):
        plane[40 + 30 * number : 200 + 30 * number, 40:260] = 255
    tifffile.imwrite(
        folder / "six.tif", planes, photometric="separated", planarconfig="separate", resolution=(300, 300)
    )
    job = {"format": "setupassist-job/1", "title": "six", "plates": "six.tif", "press": "Long bench", **more}
    (folder / "job.json").write_text(json.dumps(job))
    return folder / "job.json"


@pytest.fixture
def six(tmp_path: Path) -> Desk:
    desk = Desk(example_shop())
    desk.open(open_paths([write_job(tmp_path)], shop=desk.shop))
    work_off(desk)
    return desk


def names(desk: Desk) -> list[str]:
    return [ink.name for ink in inks_told(desk)]


def name_cell(desk: Desk, ink: str, words: UnitWords = ENGLISH) -> Cell:
    return next(row.cells[0] for row in plate_rows.plate_rows(desk, words) if row.key == ink)


def entered(desk: Desk, ink: str, text: str) -> None:
    entry = name_cell(desk, ink).entry
    assert entry is not None
    others = tuple(name for name in names(desk) if name != ink)
    place, _ = note_of(desk, ink)
    desk.put(plate_rows.edit_of(desk.job, entry, text, place, words=ENGLISH, others=others).job)
    work_off(desk)


def test_only_nameless_inks_are_asked_for_a_name(six: Desk) -> None:
    cells = [row.cells[0] for row in plate_rows.plate_rows(six, ENGLISH)]
    assert [cell.mark for cell in cells] == ["", "", "", "", "no name", "no name"]
    assert [cell.entry is not None for cell in cells] == [False] * 4 + [True] * 2
    assert name_cell(six, "ink 5", UnitWords(Units.METRIC, words_in("es"))).mark == "sin nombre"
    measured = six.results.measured
    assert measured is not None
    wanted = [finding for finding in measured.measure.findings if finding.code == "ink-unnamed"]
    assert [finding.plates for finding in wanted] == [("ink 5",), ("ink 6",)]


def test_a_name_is_entered_and_taken_back(six: Desk) -> None:
    entered(six, "ink 5", "  warm   gold ")
    assert names(six)[4:] == ["warm gold", "ink 6"]
    assert six.job.source.names == {"ink 5": "warm gold"}
    cell = name_cell(six, "warm gold")
    assert (cell.mark, cell.entry.by_hand if cell.entry else None) == ("by hand", True)
    assert six.results.plans[six.job.strategy].plan.feasible
    measured = six.results.measured
    assert measured is not None
    assert [f.plates for f in measured.measure.findings if f.code == "ink-unnamed"] == [("ink 6",)]
    entered(six, "warm gold", "silver")
    assert six.job.source.names == {"ink 5": "silver"}
    entry = name_cell(six, "silver").entry
    assert entry is not None
    six.put(plate_rows.taken_back(six.job, entry, None).job)
    work_off(six)
    assert names(six)[4:] == ["ink 5", "ink 6"]
    assert "source" not in six.job.model_fields_set


def test_a_name_that_another_ink_has_is_refused(six: Desk) -> None:
    with pytest.raises(InputFault, match="two plates are called 'Process Cyan'; give each ink a name of its own"):
        entered(six, "ink 5", "Process Cyan")
    with pytest.raises(InputFault, match="flash"):
        entered(six, "ink 5", "flash")
    assert names(six)[4:] == ["ink 5", "ink 6"]


def test_all_that_the_job_says_of_the_ink_follows(tmp_path: Path) -> None:
    said = {
        "inks": {"ink 5": {"role": "metallic", "prints": 2}},
        "answers": {"colour-of ink 5": "#c9a227", "fibre": "cotton"},
        "on_top": [["ink 5", "ink 6"]], "order": [["process cyan", "ink 5"]],
        "flash_between": [["ink 6", "ink 5"]], "no_flash_between": [["ink 5", "process black"]],
        "pins": {"ink 5": 5, "ink 5 2": 7}, "overrides": {"ink 5 2": {"strokes": 2}, "ink 6": {"strokes": 1}},
        "arrangement": [{"lap": 1, "station": 5, "holds": "screen", "ink": "ink 5"}],
    }  # fmt: skip
    before = read_job(write_job(tmp_path, **said))
    after = name_ink(before, "ink 5", "ink 5", "gold").job
    assert "ink 5" not in json.dumps(after.model_dump(mode="json", exclude={"source"}))
    assert after.inks["gold"].prints == 2
    assert after.answers == {"colour-of gold": "#c9a227", "fibre": "cotton"}
    assert (after.on_top, after.order) == ((("gold", "ink 6"),), (("process cyan", "gold"),))
    assert after.pins == {"gold": 5, "gold 2": 7}
    assert set(after.overrides) == {"gold 2", "ink 6"}
    assert after.arrangement is not None
    assert after.arrangement[0].ink == "gold"
    assert name_ink(after, "ink 5", "gold", "").job == before


def test_a_job_s_names_reach_the_command(tmp_path: Path) -> None:
    job = write_job(tmp_path, source={"names": {"ink 5": "gold", "ink 6": "white base"}})
    measure = measure_path(job, shop=example_shop())
    assert [(plate.name, plate.role.value) for plate in measure.plates][4:] == [
        ("gold", "colour"),
        ("white base", "base"),
    ]
