"""Screens, flashes, inks and stock as rows: what is shown, what is by hand, and what an entry does to the job."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest

from setupassist.desk import edits, screen_rows
from setupassist.desk.content import content_of, why_no_plan
from setupassist.desk.desk import Desk
from setupassist.desk.grid import Cell, Entry, Row
from setupassist.desk.opening import open_paths
from setupassist.documents.job import Job
from setupassist.documents.store import example_shop
from setupassist.quantities import Units
from setupassist.sheet.content import SheetContent
from setupassist.sheet.unit_words import UnitWords
from setupassist.words import Words, words_in
from tests.desk.conftest import work_off

INCH, METRIC = UnitWords(Units.INCH), UnitWords(Units.METRIC)


def worked_out(desk: Desk) -> SheetContent:
    work_off(desk)
    content = content_of(desk)
    assert content is not None, why_no_plan(desk)
    return content


def put(desk: Desk, job: Job) -> SheetContent:
    desk.put(job)
    return worked_out(desk)


def cell(rows: tuple[Row, ...], key: str, column: str, columns: tuple[str, ...] = screen_rows.COLUMNS) -> Cell:
    row = next(row for row in rows if row.key == key)
    return row.cells[columns.index(column)]


def entry(desk: Desk, screen: str, column: str) -> Entry:
    content = content_of(desk)
    assert content is not None
    found = cell(screen_rows.screen_rows(content, METRIC), screen, column).entry
    assert found is not None
    return found


def test_rows_stand_in_print_order_with_how_each_value_is_known(desk: Desk) -> None:
    rows = screen_rows.screen_rows(worked_out(desk), INCH)
    assert [row.key for row in rows] == ["white base", "yellow", "red", "black key"]
    assert [row.cells[0].text for row in rows] == ["2", "5", "6", "7"]
    base = cell(rows, "white base", "mesh")
    assert (base.text, base.small, base.mark) == ("156", "61 per cm", "c")
    assert cell(rows, "yellow", "strokes").mark == "t"
    assert cell(rows, "yellow", "stencil").mark == "e"
    assert cell(rows, "yellow", "ink").text.endswith("oz")
    assert not any(c.strong for row in rows for at, c in enumerate(row.cells) if screen_rows.COLUMNS[at] != "screen")


def test_units_are_the_persons(desk: Desk) -> None:
    content = worked_out(desk)
    metric = screen_rows.screen_rows(content, METRIC)
    assert cell(metric, "white base", "mesh").text == "61"
    assert cell(metric, "white base", "mesh").small == "156 per inch"
    assert cell(metric, "yellow", "off-contact").text == "2.4 mm"
    assert cell(screen_rows.screen_rows(content, INCH), "yellow", "off-contact").text == "0.09 in"


@pytest.mark.parametrize(
    ("column", "typed", "shown", "entered"),
    [
        ("strokes", "3", "3", ("strokes", 3)),
        ("off-contact", "1.6", "1.6 mm", ("off_contact_mm", 1.6)),
        ("blade", "70/90/70", "70/90/70", ("squeegee_shore", "70/90/70")),
        ("stencil", "25", "25 µm", ("stencil_um", 25.0)),
        ("tension", "20", "20", ("tension_n_per_cm", 20.0)),
        ("mesh", "90", "90", ("mesh_per_inch", 230.0)),
    ],
)
def test_a_value_typed_over_is_by_hand_at_once_and_after_planning_and_goes_back(
    desk: Desk, column: str, typed: str, shown: str, entered: tuple[str, object]
) -> None:
    before = worked_out(desk).job
    at = entry(desk, "yellow", column)
    edited = screen_rows.edit_of(before, at, typed, metric=True).job
    assert getattr(edited.overrides["yellow"], entered[0]) == entered[1]
    desk.put(edited)
    for _ in ("not planned yet", "planned"):
        content = content_of(desk)
        assert content is not None
        now = cell(screen_rows.screen_rows(content, METRIC), "yellow", column)
        assert (now.text, now.strong, now.mark) == (shown, True, "by hand")
        assert screen_rows.by_hand(edited) == 1
        work_off(desk)
    assert screen_rows.taken_back(edited, entry(desk, "yellow", column)).job == before


def test_the_stock_is_offered_and_a_choice_takes_mesh_and_thread(desk: Desk) -> None:
    content = worked_out(desk)
    at = entry(desk, "red", "mesh")
    assert len(at.choices) == len(content.shop.screens)
    choice = next(c for c in at.choices if c.text.startswith("120 per cm"))
    edited = screen_rows.edit_of(content.job, at, choice.value, metric=True).job
    assert edited.overrides["red"].mesh_per_inch == 305
    stock = next(s for s in content.shop.screens if s.mesh_per_cm == 120)
    assert edited.overrides["red"].thread_um == stock.thread_um
    after = put(desk, edited)
    holders, strangers = screen_rows.stock_use(after)
    assert "red" in holders[after.shop.screens.index(stock)]
    assert strangers == []


def test_stock_says_what_is_left_and_what_is_short(desk: Desk) -> None:
    """One 61 left in the book, and two screens that are to be 61 by hand: one goes without, and it is said."""
    shop = example_shop()
    screens = tuple(s.model_copy(update={"quantity": 1}) if s.mesh_per_cm == 61 else s for s in shop.screens)
    desk.put_shop(shop.model_copy(update={"screens": screens}))
    job = edits.overrule(desk.job, "yellow", mesh_per_inch=156).job
    content = put(desk, edits.overrule(job, "red", mesh_per_inch=156).job)
    rows = screen_rows.stock_rows(content, METRIC)
    full = next(row for row in rows if row.cells[0].text == "61")
    assert [c.text for c in full.cells[1:3]] == ["1", "none left"]
    missing = dict(screen_rows.without_stock(content))
    assert len(missing) == 1
    name, why = next(iter(missing.items()))
    assert name in ("yellow", "red")
    assert "all taken (1 in stock" in why
    assert rows[-1].cells[0].text == "not in stock"
    assert rows[-1].cells[3].text == name


def test_a_screen_that_no_stock_fits_is_said_plainly(desk: Desk) -> None:
    shop = desk.shop
    desk.put_shop(shop.model_copy(update={"screens": ()}))
    content = worked_out(desk)
    rows = screen_rows.screen_rows(content, METRIC)
    assert {cell(rows, row.key, "mesh").text for row in rows} == {"none fits"}
    assert dict(screen_rows.without_stock(content))["red"] == "The shop book lists no screens."


def test_flash_seconds_are_typed_and_taken_back(desk: Desk) -> None:
    content = worked_out(desk)
    row = screen_rows.flash_rows(content, METRIC)[0]
    assert (row.key, row.cells[1].text, row.cells[2].text) == ("3", "from 4 s", "typical")
    at = row.cells[1].entry
    assert at is not None
    edited = screen_rows.edit_of(content.job, at, "6.5", metric=True).job
    assert edited.flash_seconds == {3: 6.5}
    row = screen_rows.flash_rows(put(desk, edited), METRIC)[0]
    assert (row.cells[1].text, row.cells[2].text) == ("from 6.5 s", "by hand")
    assert row.cells[1].entry is not None
    assert screen_rows.taken_back(edited, row.cells[1].entry).job == content.job


def test_a_second_screen_has_its_inks_values_until_it_has_its_own() -> None:
    job = Job.model_validate_json(
        '{"format": "setupassist-job/1", "plates": ".", "press": "x", "overrides": {"white": {"strokes": 2}}}'
    )
    second = Entry("white 2", "stencil_um", "12", by_hand=False)
    edited = screen_rows.edit_of(job, second, "20", metric=True).job
    assert edited.overrides["white 2"].model_dump(exclude_none=True) == {"strokes": 2, "stencil_um": 20.0}
    inherited = Entry("white 2", "strokes", "2", by_hand=True)
    assert screen_rows.taken_back(job, inherited).job.overrides == {}
    assert screen_rows.taken_back(edited, inherited).job.overrides["white 2"].strokes is None


def test_details_tell_every_value_with_its_source(desk: Desk) -> None:
    content = worked_out(desk)
    rows = screen_rows.setting_rows(content, "white base", METRIC)
    names = [row.cells[0].text for row in rows]
    assert {"mesh", "thread", "opening", "frame", "tension", "squeegee angle", "off-contact"} <= set(names)
    assert all(row.cells[1].text and row.cells[2].text and row.cells[3].text for row in rows)
    assert {row.cells[2].text for row in rows} <= {"computed", "estimated", "typical", "entered"}
    assert screen_rows.setting_rows(content, "nobody", METRIC) == ()


def test_inks_tell_their_amount_and_what_it_is_for(desk: Desk) -> None:
    content = worked_out(desk)
    rows = screen_rows.ink_rows(content, METRIC)
    assert [row.key for row in rows] == ["white base", "yellow", "red", "black key"]
    estimate = content.plan.estimate
    assert estimate is not None
    grams = round(estimate.ink_grams["red"] / 10) * 10
    assert cell(rows, "red", "amount", screen_rows.INKS).text == f"{grams} g"
    assert "108 pieces" in screen_rows.ink_basis(content, METRIC)  # 100 + 6 tests + 2 %


def test_every_word_comes_from_the_catalogue(
    write_job: Callable[..., Path], crossed: Words, left: Callable[..., str]
) -> None:
    desk = Desk(example_shop())
    path = write_job(overrides={"red": {"strokes": 2, "mesh_per_inch": 400}}, flash_seconds={"3": 5})
    desk.open(open_paths([path], shop=desk.shop))
    content = worked_out(desk)
    own = ("white base", "yellow", "red", "black key", "navy tee")
    for words in (crossed, words_in("es")):
        teller = UnitWords(Units.METRIC, words)
        rows = [
            *screen_rows.screen_rows(content, teller),
            *screen_rows.setting_rows(content, "red", teller),
            *screen_rows.flash_rows(content, teller),
            *screen_rows.ink_rows(content, teller),
            *screen_rows.stock_rows(content, teller),
        ]
        told = [screen_rows.ink_basis(content, teller), *(words(why) for _, why in screen_rows.without_stock(content))]
        for row in rows:
            for shown in row.cells:
                told += [shown.text, shown.small, shown.mark, shown.whole]
                told += [choice.text for choice in shown.entry.choices] if shown.entry is not None else []
        if words is crossed:
            colours = ("#ffffff", *(screen.colour for screen in content.screens()))
            assert {text: left(text, (*own, *colours)) for text in told if left(text, (*own, *colours))} == {}
