"""A PDF on the desk: its plates, the page that they are taken from, the resolution that it is drawn at."""

from __future__ import annotations

from pathlib import Path

import pytest

from setupassist.desk import art_facts, edits
from setupassist.desk.desk import Desk
from setupassist.desk.opening import open_paths, page_edit
from setupassist.documents.store import example_shop
from setupassist.documents.terms import Severity
from setupassist.errors import InputFault
from tests.desk.conftest import work_off

PAGES = (("teal", "red"), ("straw", "navy"))


def write_pdf(path: Path, pages: tuple[tuple[str, ...], ...] = PAGES) -> Path:
    """Pages of 72 x 72 points: every ink of a page a square beside the one before, printed as a spot colour."""
    from reportlab.lib.colors import CMYKColorSep
    from reportlab.pdfgen.canvas import Canvas

    canvas = Canvas(str(path), pagesize=(72, 72))
    for inks in pages:
        for at, ink in enumerate(inks):
            canvas.setFillColor(CMYKColorSep(0.2 + 0.3 * at, 0.5, 0.1, 0, spotName=ink))
            canvas.rect(6 + 30 * at, 10, 28, 50, stroke=0, fill=1)
        canvas.showPage()
    canvas.save()
    return path


@pytest.fixture
def desk(tmp_path: Path) -> Desk:
    """Two pages of two inks each, opened and worked out."""
    made = Desk(example_shop())
    made.open(open_paths([write_pdf(tmp_path / "two pages.pdf")], shop=made.shop))
    work_off(made)
    return made


def inks(desk: Desk) -> list[str]:
    plates = desk.results.plates
    assert plates is not None
    return [plate.name for plate in plates.plates]


def test_the_first_page_is_taken_and_another_one_is_an_edit(desk: Desk) -> None:
    assert desk.job.plates == "two pages.pdf"
    assert inks(desk) == ["teal", "red"]
    assert art_facts.page_of(desk) == (1, 2)
    assert art_facts.drawn_by_us(desk)
    assert not art_facts.no_resolution(desk)
    edit = page_edit(desk.job, " 2 ")
    assert edit.name == "take another page"
    desk.put(edit.job)
    work_off(desk)
    assert inks(desk) == ["straw", "navy"]
    assert art_facts.page_of(desk) == (2, 2)
    assert page_edit(desk.job, "").job.source.page is None


def test_a_page_that_is_not_there_can_be_left_again(desk: Desk) -> None:
    desk.put(page_edit(desk.job, "9").job)
    work_off(desk)
    assert art_facts.page_of(desk) == (9, 0)
    desk.put(page_edit(desk.job, "").job)
    work_off(desk)
    assert inks(desk) == ["teal", "red"]


@pytest.mark.parametrize("text", ["0", "-1", "two", "1.5", "9999999"])
def test_what_is_no_page_is_refused(desk: Desk, text: str) -> None:
    with pytest.raises(InputFault, match="is no page"):
        page_edit(desk.job, text)


def test_the_resolution_is_chosen(desk: Desk) -> None:
    plates = desk.results.plates
    assert plates is not None
    assert plates.plates[0].dpi == 600
    desk.put(edits.source(desk.job, dpi=150).job)
    work_off(desk)
    plates = desk.results.plates
    assert plates is not None
    assert plates.plates[0].dpi == 150
    assert plates.plates[0].columns == pytest.approx(150, abs=1)


def test_a_file_with_one_page_asks_for_none(tmp_path: Path) -> None:
    desk = Desk(example_shop())
    desk.open(open_paths([write_pdf(tmp_path / "one.pdf", PAGES[:1])], shop=desk.shop))
    work_off(desk)
    assert art_facts.page_of(desk) is None


def test_what_is_not_separated_is_a_finding_with_its_place(tmp_path: Path) -> None:
    from reportlab.lib.colors import CMYKColorSep, Color
    from reportlab.pdfgen.canvas import Canvas

    canvas = Canvas(str(tmp_path / "mixed.pdf"), pagesize=(144, 144))
    canvas.setFillColor(CMYKColorSep(0.9, 0.1, 0.2, 0, spotName="teal"))
    canvas.rect(10, 10, 60, 60, stroke=0, fill=1)
    canvas.setFillColor(Color(0.9, 0.2, 0.1))
    canvas.rect(80, 80, 40, 40, stroke=0, fill=1)
    canvas.save()
    desk = Desk(example_shop())
    desk.open(open_paths([tmp_path / "mixed.pdf"], shop=desk.shop))
    work_off(desk)
    found = {finding.code: finding for finding in art_facts.findings_known(desk)}
    assert found["not-separated"].severity is Severity.WARN
    assert found["not-separated"].remedy
    assert found["not-separated"].places_mm
