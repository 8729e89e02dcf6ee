"""The table of plates: who says what of an ink, what is overruled and taken back, what was measured."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest

from setupassist.desk import art_facts, plate_rows
from setupassist.desk.desk import Desk
from setupassist.desk.grid import Cell, Row
from setupassist.desk.inks_told import By, inks_told, note_of
from setupassist.desk.opening import open_paths
from setupassist.desk.tasks import Stage
from setupassist.documents.store import example_shop
from setupassist.documents.terms import InkSystem, Role
from setupassist.errors import InputFault
from setupassist.quantities import Units
from setupassist.sheet.unit_words import UnitWords
from setupassist.words import words_in
from tests.conftest import figures
from tests.desk.conftest import SAMPLES, work_off

ENGLISH = UnitWords(Units.METRIC)
SPANISH = UnitWords(Units.METRIC, words_in("es"))


@pytest.fixture(scope="module")
def walk() -> Desk:
    """The desk with Lantern walk worked out; tests put other jobs on it and work nothing out."""
    desk = Desk(example_shop())
    desk.open(open_paths([SAMPLES / "lantern-walk"], shop=desk.shop))
    work_off(desk)
    return desk


def cell(rows: tuple[Row, ...], key: str, column: str) -> Cell:
    return next(row for row in rows if row.key == key).cells[plate_rows.COLUMNS.index(column)]


def detail(rows: tuple[Row, ...], what: str) -> Cell:
    return next(row for row in rows if row.key == what).cells[1]


def entered(desk: Desk, ink: str, column: str, text: str, words: UnitWords = ENGLISH) -> None:
    entry = cell(plate_rows.plate_rows(desk, words), ink, column).entry
    assert entry is not None
    place, _ = note_of(desk, ink)
    desk.put(plate_rows.edit_of(desk.job, entry, text, place, words=words).job)


def test_what_the_job_says_as_it_would_be_anyway_overrules_nothing(walk: Desk) -> None:
    told = {ink.name: ink for ink in inks_told(walk)}
    assert told["white base"].role_by is By.NAME
    assert told["soot black"].role is Role.KEY
    assert told["soot black"].role_by is By.HAND
    assert told["brick red"].colour == "#bf4a34"
    assert told["brick red"].colour_by is By.HAND
    assert (told["brick red"].system, told["brick red"].system_by) == (InkSystem.PLASTISOL, By.JOB)


def test_values_are_measured_worded_and_in_the_persons_units(walk: Desk) -> None:
    rows = plate_rows.plate_rows(walk, ENGLISH)
    assert [row.key for row in rows] == ["white base", "straw yellow", "brick red", "harbour blue", "soot black"]
    assert cell(rows, "brick red", "area").text == "110.3"
    assert cell(rows, "brick red", "coverage").text == "12 %"
    assert cell(rows, "brick red", "kind").text == "solid"
    assert cell(rows, "brick red", "line").text == "0.34 mm"
    assert cell(rows, "brick red", "ruling").text == "–"
    assert cell(plate_rows.plate_rows(walk, SPANISH), "brick red", "kind").text == "plasta"
    facts = art_facts.art_facts(walk, ENGLISH)
    assert facts["size"] == "305 × 346 mm"
    assert facts["art-box"] == "294 × 301 mm, 7.1 mm from the left, 25 mm from the top"
    assert facts["resolution"] == "300 dpi"
    assert facts["marks"] == "found on every plate, largest offset 0.00 mm"
    assert facts["overlap"].startswith("harbour blue and soot black: overlap 43.6 cm²")
    assert facts["choke"] == "white base is drawn in by 0.36 mm (median)"
    inches = art_facts.art_facts(walk, UnitWords(Units.INCH))
    assert inches["size"] == "12 × 13.6 in"


def test_until_it_is_measured_names_roles_and_colours_are_there(walk: Desk) -> None:
    desk = Desk(example_shop())
    desk.open(open_paths([SAMPLES / "lantern-walk"], shop=desk.shop))
    assert plate_rows.plate_rows(desk, ENGLISH) == ()
    task = next(desk.wanted())
    desk.take(task, task.run(lambda share: None, lambda: False))
    rows = plate_rows.plate_rows(desk, ENGLISH)
    assert cell(rows, "brick red", "role").text == "colour"
    assert cell(rows, "brick red", "colour").text == "#bf4a34"
    assert cell(rows, "brick red", "area").text == plate_rows.WAITING
    assert art_facts.art_facts(desk, ENGLISH)["size"] == "305 × 346 mm"


@pytest.mark.parametrize(("words", "typed"), [(ENGLISH, "highlight"), (SPANISH, "luz"), (SPANISH, "highlight")])
def test_a_role_is_chosen_in_any_words_and_taken_back(walk: Desk, words: UnitWords, typed: str) -> None:
    before = walk.job
    entered(walk, "brick red", "role", typed, words)
    assert walk.job.plates[2].role is Role.HIGHLIGHT
    shown = cell(plate_rows.plate_rows(walk, words), "brick red", "role")
    assert shown.entry is not None
    assert shown.entry.by_hand
    assert shown.strong
    place, _ = note_of(walk, "brick red")
    walk.put(plate_rows.taken_back(walk.job, shown.entry, place).job)
    assert walk.job.plates[2].role is None
    assert cell(plate_rows.plate_rows(walk, words), "brick red", "role").text == words("colour") or words is SPANISH
    walk.put(before)


def test_colour_system_and_prints_are_entered(walk: Desk) -> None:
    before = walk.job
    entered(walk, "brick red", "colour", "#ABC")
    entered(walk, "brick red", "system", "discharge")
    entered(walk, "brick red", "prints", "print, flash, print")
    plate = walk.job.plates[2]
    assert (plate.colour, plate.ink_system, plate.prints) == ("#aabbcc", InkSystem.DISCHARGE, 2)
    entered(walk, "brick red", "prints", "")
    assert walk.job.plates[2].prints is None
    walk.put(before)


@pytest.mark.parametrize(("column", "text"), [("role", "mauve"), ("system", "tar"), ("colour", "#12"), ("prints", "9")])
def test_what_is_none_of_the_choices_is_a_fault_in_one_sentence(walk: Desk, column: str, text: str) -> None:
    before = walk.job
    with pytest.raises(InputFault) as caught:
        entered(walk, "brick red", column, text)
    assert text in caught.value.sentence
    assert walk.job == before


def test_an_ink_that_the_answers_leave_out_is_not_printed(walk: Desk) -> None:
    before = walk.job
    entered(walk, "white base", "prints", "2")
    desk = Desk(walk.shop)
    desk.open(open_paths([SAMPLES / "lantern-walk"], shop=desk.shop))
    desk.put(walk.job.model_copy(update={"garments": walk.job.garments[1:], "pieces": None, "sizes": {}}))
    work_off(desk)
    assert cell(plate_rows.plate_rows(desk, ENGLISH), "white base", "prints").text == "not printed"
    walk.put(before)


def test_figures_are_rows_too_with_where_they_come_from(desk: Desk) -> None:
    work_off(desk)
    rows = plate_rows.plate_rows(desk, ENGLISH)
    assert cell(rows, "red", "colour").text.startswith("#")
    assert cell(rows, "red", "area").text == "55.0"
    details = plate_rows.detail_rows(desk, "red", ENGLISH)
    assert detail(details, "meets yellow").text == "overlap 1.0 cm², meet along 12 cm"
    assert next(row for row in details if row.key == "role").cells[2].text == "the figures"
    assert not any(row.key == "file" for row in details)
    entered(desk, "red", "role", "highlight")
    assert desk.job.inks["red"].role is Role.HIGHLIGHT
    assert inks_told(desk)[2].role_by is By.HAND


def test_findings_are_numbered_alike_before_and_after_planning(write_job: Callable[..., Path]) -> None:
    from tests.conftest import figures

    told = figures()
    told["findings"] = [
        {"code": "specks", "severity": "note", "text": "specks", "places_mm": [[20, 30]]},
        {"code": "off-register", "severity": "stop", "text": "red is off", "places_mm": [[50, 60]]},
    ]
    desk = Desk(example_shop())
    desk.open(open_paths([write_job(plates=told)], shop=desk.shop))
    for _ in range(2):
        task = next(desk.wanted())
        desk.take(task, task.run(lambda share: None, lambda: False))
    assert desk.fresh(Stage.MEASURED)
    early = [finding.code for finding in art_facts.findings_known(desk)]
    work_off(desk)
    assert early == ["off-register", "specks"]
    assert [finding.code for finding in art_facts.findings_known(desk)] == early
    assert art_facts.stops(desk) == 1


def test_only_a_name_that_told_a_role_is_where_the_role_is_from(write_job: Callable[..., Path]) -> None:
    told = figures()
    for plate in told["plates"]:
        plate.pop("role")
    desk = Desk(example_shop())
    desk.open(open_paths([write_job(plates=told)], shop=desk.shop))
    work_off(desk)
    assert [ink.role_by for ink in inks_told(desk)] == [By.NAME, By.DEFAULT, By.DEFAULT, By.NAME]

    def source(ink: str, words: UnitWords) -> str:
        rows = plate_rows.detail_rows(desk, ink, words)
        return next(row for row in rows if row.key == "role").cells[2].text

    assert source("white base", ENGLISH) == "its name"
    assert source("red", ENGLISH) == "taken as a colour: nothing says otherwise"
    assert source("red", SPANISH) == "se toma como un color: nada dice otra cosa"
    rows = plate_rows.plate_rows(desk, ENGLISH)
    first = [cell(rows, ink, "role").entry.choices[0].text for ink in ("white base", "red")]  # type: ignore[union-attr]
    assert first == ["as its name says (base)", "as taken (colour)"]
