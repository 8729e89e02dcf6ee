"""The run as figures and rows, and what is told where there is no plan or no sheet."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest

from setupassist.desk import run_rows
from setupassist.desk.content import clashes, content_of, try_again, why_no_plan, why_no_sheet
from setupassist.desk.desk import Desk, SheetWish
from setupassist.desk.grid import Row
from setupassist.desk.opening import open_paths
from setupassist.desk.tasks import Stage
from setupassist.documents.store import example_shop
from setupassist.errors import Cancelled
from setupassist.quantities import Units
from setupassist.sheet.content import SheetContent
from setupassist.sheet.unit_words import UnitWords
from setupassist.words import Words, words_in
from tests.desk.conftest import work_off

METRIC = UnitWords(Units.METRIC)


def content_after(desk: Desk) -> SheetContent:
    work_off(desk)
    content = content_of(desk)
    assert content is not None, why_no_plan(desk)
    return content


def values(rows: tuple[Row, ...]) -> dict[str, str]:
    return {row.key: row.cells[1].text for row in rows}


def test_the_figures_are_the_estimates(desk: Desk) -> None:
    content = content_after(desk)
    estimate = content.plan.estimate
    assert estimate is not None
    assert estimate.likely_pieces_per_hour is not None
    told = run_rows.figures(content, METRIC)
    assert [figure.number for figure in told[:4]] == [
        "4", "5", f"{estimate.pieces_per_hour:.0f}", f"{round(estimate.likely_pieces_per_hour, -1):.0f}",
    ]  # fmt: skip
    assert told[0].beside == "1 flash unit"
    assert told[1].beside == "540 in all"  # two strokes of the base, one each of three others, on 108 pieces
    assert told[4].beside == "for 108 pieces"
    assert [figure.mark for figure in told] == ["", "", "e", "e", "e", "e"]


@pytest.mark.parametrize(
    ("field", "typed", "value", "shown"),
    [
        ("tests", "10", 10, ("10", "112")),  # 100 + 10 + ceil(0.02 × 100)
        ("spoilage", "5%", 0.05, ("5 %", "111")),
        ("crew_seconds", "9", 9.0, ("9 s", "108")),
        ("spares", "12", 12, ("12", "108")),
    ],
)
def test_a_count_is_overruled_and_taken_back(
    desk: Desk, field: str, typed: str, value: float, shown: tuple[str, str]
) -> None:
    content = content_after(desk)
    row = next(row for row in run_rows.count_rows(content, METRIC) if row.key == field)
    assert row.cells[1].entry is not None
    assert not row.cells[1].entry.by_hand
    edited = run_rows.edit_of(desk.job, row.cells[1].entry, typed, metric=True).job
    assert getattr(edited, field) == value
    before = desk.job
    desk.put(edited)
    rows = run_rows.count_rows(content_after(desk), METRIC)
    assert (values(rows)[field], values(rows)["total"]) == shown
    row = next(row for row in rows if row.key == field)
    assert row.cells[1].mark == "by hand"
    assert row.cells[1].entry is not None
    assert run_rows.taken_back(edited, row.cells[1].entry).job == before


def test_where_a_count_comes_from(write_job: Callable[..., Path]) -> None:
    desk = Desk(example_shop())
    desk.open(open_paths([write_job(answers={"tests": 9})], shop=desk.shop))
    rows = {row.key: row.cells[1] for row in run_rows.count_rows(content_after(desk), METRIC)}
    assert (rows["tests"].text, rows["tests"].small) == ("9", "answered")
    assert rows["spoilage"].small == "the shop book"
    assert rows["crew_seconds"].small == "the press"
    assert rows["spares"].text == "not told"


def test_a_crew_too_slow_for_the_press_is_told_as_hand_paced(desk: Desk) -> None:
    desk.put(desk.job.model_copy(update={"crew_seconds": 60.0}))
    facts = values(run_rows.fact_rows(content_after(desk), METRIC))
    assert facts["dwell"] == "the crew needs more than the press can wait: paced by hand"
    assert facts["paced-by"] == "the crew"


def test_broken_limits_and_stops_come_first_and_strong(write_job: Callable[..., Path]) -> None:
    slots = [
        {"lap": 1, "station": 2, "holds": "screen", "ink": "yellow"},
        {"lap": 1, "station": 4, "holds": "screen", "ink": "white base"},
        {"lap": 1, "station": 6, "holds": "screen", "ink": "red"},
        {"lap": 1, "station": 7, "holds": "screen", "ink": "black key"},
    ]
    desk = Desk(example_shop())
    desk.open(open_paths([write_job(arrangement=slots)], shop=desk.shop))
    content = content_after(desk)
    told = run_rows.notices(content, METRIC)
    assert told[0].strong
    assert told[0].heading == f"Breaks {len(content.broken_limits)} limits"
    assert told[0].texts == tuple(str(limit.text) for limit in content.broken_limits)
    assert told[-1].heading == "Notes"
    assert not told[-1].strong


def test_a_clash_is_why_there_is_no_plan(write_job: Callable[..., Path]) -> None:
    desk = Desk(example_shop())
    desk.open(open_paths([write_job(pins={"red": 5}, keep_empty=[5])], shop=desk.shop))
    desk.sheet_wish = SheetWish(date="1 May")
    work_off(desk)
    assert content_of(desk) is None
    assert clashes(desk)
    assert len(why_no_plan(desk)) == 1
    assert why_no_plan(desk)[0].startswith("no plan exists; these limits clash:")
    assert why_no_sheet(desk) == why_no_plan(desk)


def test_what_was_stopped_is_told_and_can_be_tried_again(desk: Desk) -> None:
    work_off(desk)
    desk.sheet_wish = SheetWish(date="1 May", paper="a4", units="metric")
    task = next(desk.wanted())
    assert task.stage is Stage.SHEET
    desk.fail(task, Cancelled())
    assert why_no_plan(desk) == ()
    assert len(why_no_sheet(desk)) == 1
    assert next(desk.wanted(), None) is None
    try_again(desk)
    assert why_no_sheet(desk) == ()
    work_off(desk)
    assert desk.fresh(Stage.SHEET)


def test_the_sheet_is_set_in_the_language_that_is_wished(desk: Desk) -> None:
    import pypdfium2

    desk.sheet_wish = SheetWish(date="1 May", language="es", paper="a4", units="metric")
    work_off(desk)
    with pypdfium2.PdfDocument(desk.results.sheet) as pdf:
        text = pdf[0].get_textpage().get_text_range()
        size = tuple(round(side) for side in pdf[0].get_size())
    assert "pantallas" in text
    assert size == (842, 595)


def test_every_word_comes_from_the_catalogue(
    write_job: Callable[..., Path], crossed: Words, left: Callable[..., str]
) -> None:
    desk = Desk(example_shop())
    desk.open(open_paths([write_job(tests=3, crew_seconds=9, arrangement=[])], shop=desk.shop))
    content = content_after(desk)
    for words in (crossed, words_in("es")):
        teller = UnitWords(Units.METRIC, words)
        told = [text for f in run_rows.figures(content, teller) for text in (f.number, f.what, f.mark, f.beside)]
        for row in (*run_rows.fact_rows(content, teller), *run_rows.count_rows(content, teller)):
            told += [shown.whole for shown in row.cells]
        for notice in run_rows.notices(content, teller):
            told += [notice.heading, *notice.texts]
        assert told
        if words is crossed:
            own = ("white base", "yellow", "red", "black key", "navy tee")
            assert {text: left(text, own) for text in told if left(text, own)} == {}
