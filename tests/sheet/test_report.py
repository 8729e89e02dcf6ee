"""The report of an art check: what it says, in which words, and that every mark stands where its finding lies."""

from __future__ import annotations

import dataclasses
import math
from typing import Any

import numpy as np
import pypdfium2
import pytest

from setupassist.art.plates import Plate, PlateSet
from setupassist.documents.measure import Art, Finding, Halftone, Measure, PlateMeasure
from setupassist.documents.terms import Kind, Role, Severity
from setupassist.quantities import Units
from setupassist.sheet import report as room
from setupassist.sheet.finding_figures import QUANTITIES
from setupassist.sheet.report import check_report
from setupassist.sheet.report_content import (
    UNKNOWN_COLOUR,
    Report,
    art_of,
    colour_of,
    loupes_of,
    print_order,
)
from setupassist.sheet.report_marks import BADGE, MarkedArt, marks_placed
from setupassist.sheet.scale_bar import scale_bar
from setupassist.sheet.unit_words import UnitWords
from setupassist.words import Words, joined, say, words_in

DPI = 254.0  # ten pixels a mm
RED, WHITE, BLACK = (45.0, 60.0, 35.0), (95.0, 0.0, 0.0), (10.0, 0.0, 0.0)


def found(code: str, severity: Severity, *places: tuple[float, float], plates: tuple[str, ...] = ("111",)) -> Finding:
    return Finding(
        code=code, severity=severity, plates=plates, text=say("inspection.finding.no-ink", plate=joined(plates)),
        remedy=say("inspection.remedy.no-ink"), measured=0.128, limit=0.3, places_mm=places,
    )  # fmt: skip


@pytest.fixture
def plates() -> PlateSet:
    """60 × 80 mm: base 111 under red 222, and a black frame 333 around them."""
    base, red, key = (np.zeros((800, 600), np.uint8) for _ in range(3))
    base[200:600, 90:300], red[200:600, 100:500], key[150:650, 80:520] = 255, 255, 255
    key[160:640, 90:510] = 0
    arrays = {"333": key, "222": red, "111": base}
    made = tuple(Plate(name, f"{name}.png", 800, 600, DPI, True) for name in arrays)

    def read(rows: int) -> Any:
        for top in range(0, 800, rows):
            yield tuple(array[top : top + rows] for array in arrays.values())

    return PlateSet("drawn", made, read)


@pytest.fixture
def measure() -> Measure:
    inks = (
        PlateMeasure(name="333", role=Role.KEY, lab=BLACK, ink_area_cm2=2.0, coverage=0.1),
        PlateMeasure(
            name="222", role=Role.COLOUR, lab=RED, ink_area_cm2=16.0, kind=Kind.HALFTONE, coverage=0.6,
            halftone=Halftone(lines_per_inch=45, angle_deg=22.5), finest_line_mm=0.21, finest_gap_mm=0.3, specks=4,
            register_offset_mm=(0.0, -0.42),
        ),
        PlateMeasure(name="111", role=Role.BASE, ink_area_cm2=8.0),
    )  # fmt: skip
    art = Art(source="set", width_mm=60, height_mm=80, pixels_per_cm=100, art_box_mm=(8, 15, 44, 50))
    return Measure(art=art, plates=inks)


FINDINGS = (
    found("base-peeks-out", Severity.STOP, (9.5, 40.0), (9.5, 55.0), plates=("111",)),
    found("line-too-fine", Severity.WARN, (50.0, 30.0), plates=("222",)),
    found("marks-missing", Severity.NOTE, plates=("333", "222")),
)


@pytest.fixture
def report(plates: PlateSet, measure: Measure) -> Report:
    return Report(
        title="1234",
        about=(say("report.about.plates", count=3), say("report.about.resolution", dpi="254")),
        measure=measure,
        findings=FINDINGS,
        date="2026-05-04",
        version="0",
        shop="5678",
        art=art_of(plates, measure, FINDINGS, cloth=None),
        loupes=loupes_of(plates, measure, FINDINGS),
    )


def pages(pdf: bytes) -> list[str]:
    document = pypdfium2.PdfDocument(pdf)
    try:
        return [page.get_textpage().get_text_bounded() for page in document]
    finally:
        document.close()


@pytest.mark.parametrize("paper", ["a4", "letter"])
@pytest.mark.parametrize("units", ["inch", "metric"])
@pytest.mark.parametrize("language", ["en", "es"])
def test_equal_content_gives_equal_bytes_in_two_to_four_pages(
    report: Report, paper: str, units: str, language: str
) -> None:
    pdf = check_report(report, paper=paper, units=units, language=language)
    assert check_report(report, paper=paper, units=units, language=language) == pdf
    assert 2 <= len(pages(pdf)) <= 4
    assert all(f"{at} " in page for at, page in enumerate(pages(pdf), 1))


def test_it_says_the_verdict_every_finding_and_what_to_do(report: Report) -> None:
    told = " ".join(" ".join(pages(check_report(report, paper="a4", units="metric"))).split())
    assert "Would stop the press: 1 finding." in told
    assert "111 holds no ink. To do: Leave it out or export it again. 0.13 mm 0.30 mm" in told
    assert "The worst under the loupe" in told
    assert "halftone, colour 16 60 % 17.7 / 22.5° 0.21 mm 0.30 mm 4 0, −0.42 –" in told
    assert "checked by date passed on to" in told
    assert "9.5 mm right, 40 mm down" in told
    assert "film of 222" in told
    clean = dataclasses.replace(report, findings=(), loupes=())
    told = " ".join(pages(check_report(clean, paper="a4", units="metric")))
    assert "Clean: nothing stands against film." in told
    assert "Findings" not in told


def test_inches_and_spanish(report: Report) -> None:
    told = " ".join(" ".join(pages(check_report(report, paper="letter", units="inch", language="es"))).split())
    assert "Detendría la máquina: 1 hallazgo." in told
    assert "Qué hacer: Dejarla fuera o exportarla otra vez. 0.005 pulg 0.012 pulg" in told
    assert "45 / 22.5° 0.008 pulg" in told


def test_a_report_of_figures_alone_has_no_pictures(report: Report) -> None:
    bare = dataclasses.replace(report, art=None, loupes=())
    told = pages(check_report(bare, paper="a4", units="metric"))
    assert 1 <= len(told) <= 4
    assert "Would stop the press" in told[0]


def test_no_text_is_left_in_the_code(
    report: Report, monkeypatch: pytest.MonkeyPatch, crossed: Words, left: Any
) -> None:
    monkeypatch.setattr(room, "words_in", lambda language: crossed)
    told = " ".join(pages(check_report(report, paper="a4", units="inch")))
    assert "xxxxx" in told
    assert left(told) == ""


def test_many_findings_and_places_are_cut_and_told(report: Report) -> None:
    many = tuple(found("specks", Severity.WARN, (10.0 + n % 7 * 5, 20.0 + n), plates=("222",)) for n in range(45))
    told = " ".join(pages(check_report(dataclasses.replace(report, findings=many), paper="a4", units="metric")))
    assert "and 5 more" in told


def test_other_papers_units_and_languages_are_refused(report: Report) -> None:
    with pytest.raises(ValueError, match="a4 or letter"):
        check_report(report, paper="a3", units="inch")
    with pytest.raises(ValueError, match="feet"):
        check_report(report, paper="a4", units="feet")
    with pytest.raises(KeyError):
        check_report(report, paper="a4", units="inch", language="xx")


# ---------------------------------------------------------------------------------------------------- the pictures


def test_inks_lie_over_one_another_as_they_print(measure: Measure) -> None:
    assert [plate.name for plate in print_order(measure)] == ["111", "222", "333"]
    assert colour_of(measure.plate("111")) == UNKNOWN_COLOUR


def test_the_art_shows_all_places_and_what_lies_on_top(plates: PlateSet, measure: Measure) -> None:
    art = art_of(plates, measure, (*FINDINGS, found("x", Severity.NOTE, (2.0, 78.0))), cloth="#ffffff")
    assert art is not None
    x, y, wide, high = art.box_mm
    assert x <= 2.0
    assert y + high >= 78.0
    scale = art.picture.shape[1] / wide
    pixel = art.picture[round((40 - y) * scale), round((25 - x) * scale)]
    assert pixel[0] > 150 > pixel[2], "red covers the base"
    assert tuple(art.picture[-1, 0]) == (255, 255, 255)


def test_loupes_show_the_place_in_their_middle(plates: PlateSet, measure: Measure) -> None:
    peek, line = loupes_of(plates, measure, FINDINGS)
    assert (peek.number, peek.inks, peek.place_mm) == (1, ("111", "222", "333"), (9.5, 40.0))
    assert peek.box_mm[0] + peek.box_mm[2] / 2 == pytest.approx(9.5, abs=0.1)
    middle = peek.picture[peek.picture.shape[0] // 2, peek.picture.shape[1] // 2]
    assert middle.max() - middle.min() < 8, "base of no known colour is grey"
    assert (line.number, line.inks) == (2, ("222",))
    assert set(np.unique(line.picture)) == {0, 255}, "one plate's film is black on white"
    assert min(peek.picture.shape[:2]) >= 480


def test_a_loupe_shows_through_an_ink_whether_base_lies_under_it(plates: PlateSet, measure: Measure) -> None:
    """Red lies on base left of 30 mm, without it right of that."""
    (loupe,) = loupes_of(plates, measure, [found("base-missing-under", Severity.WARN, (30.0, 40.0))])
    row = loupe.picture[loupe.picture.shape[0] // 2].astype(int)
    assert abs(row[len(row) // 4] - row[3 * len(row) // 4]).max() > 20
    (solid,) = loupes_of(plates, measure, [found("colours-gap", Severity.WARN, (30.0, 40.0))])
    row = solid.picture[solid.picture.shape[0] // 2].astype(int)
    assert (row[len(row) // 4] == row[3 * len(row) // 4]).all()


def test_unlike_plates_have_no_pictures(plates: PlateSet, measure: Measure) -> None:
    odd = dataclasses.replace(plates, plates=(*plates.plates[:2], dataclasses.replace(plates.plates[2], rows=700)))
    assert art_of(odd, measure, FINDINGS, cloth=None) is None
    assert loupes_of(odd, measure, FINDINGS) == ()


def test_a_mark_points_at_its_place(report: Report) -> None:
    assert report.art is not None
    drawn = MarkedArt(report.art, FINDINGS, 500, 300)
    assert [mark.number for mark in drawn.marks] == [1, 1, 2]
    x, y, wide, high = report.art.box_mm
    across, up = drawn.marks[0].place
    assert (across - drawn.left) / drawn.picture_wide == pytest.approx((9.5 - x) / wide)
    assert (up - 20) / drawn.picture_high == pytest.approx(1 - (40 - y) / high)


def test_every_place_has_its_dot(report: Report) -> None:
    assert report.art is not None
    near = found("specks", Severity.NOTE, *((20.0 + n / 10, 30.0) for n in range(20)))
    drawn = MarkedArt(report.art, [near], 500, 300)
    assert (len(drawn.marks), len(drawn.places)) == (1, 20)
    assert drawn.places[0] == drawn.marks[0].place


def test_numbers_keep_off_one_another_and_inside() -> None:
    places = [(100.0 + 9 * n, 150.0) for n in range(12)]
    findings = [found("specks", Severity.WARN, place) for place in places]
    marks = marks_placed(findings, lambda place: place, (400.0, 300.0))
    assert len(marks) == 12
    for one in marks:
        assert all(math.dist(one.at, two.at) >= BADGE for two in marks if two is not one)
        assert BADGE / 2 <= one.at[0] <= 400 - BADGE / 2
        assert BADGE / 2 <= one.at[1] <= 300 - BADGE / 2


def test_of_near_places_one_is_marked() -> None:
    finding = found("specks", Severity.WARN, (50.0, 50.0), (52.0, 50.0), (150.0, 50.0))
    marks = marks_placed([finding], lambda place: place, (300.0, 200.0))
    assert [mark.place for mark in marks] == [(50.0, 50.0), (150.0, 50.0)]


@pytest.mark.parametrize(
    ("shown", "units", "length", "told"),
    [(5, "metric", 2.0, "2 mm"), (12, "metric", 2.0, "2 mm"), (14, "metric", 5.0, "5 mm"),
     (0.1, "metric", 0.05, "0.05 mm"), (5, "inch", 1.27, "0.05 in")],
)  # fmt: skip
def test_the_bar_has_a_round_length(shown: float, units: str, length: float, told: str) -> None:
    assert scale_bar(shown, UnitWords(Units(units), words_in("en"))) == (pytest.approx(length), told)


@pytest.mark.parametrize("code", QUANTITIES)
def test_every_quantity_can_be_told(code: str) -> None:
    for units in Units:
        for language in ("en", "es"):
            assert QUANTITIES[code](0.25, UnitWords(units, words_in(language)))


def test_odd_names_and_many_plates_are_set_all_the_same(report: Report) -> None:
    odd = "<b>&amp; " + "very long ink name " * 3 + "\u6f22"
    plates = tuple(PlateMeasure(name=f"{odd}{n}", ink_area_cm2=1234.5, lab=RED) for n in range(64))
    findings = tuple(found("sizes-differ", Severity.STOP, plates=(plate.name,)) for plate in plates)
    many = dataclasses.replace(
        report,
        title=odd * 3,
        shop=odd,
        date=odd,
        measure=report.measure.model_copy(update={"plates": plates}),
        findings=findings,
        loupes=(),
    )
    for paper in ("a4", "letter"):
        told = " ".join(pages(check_report(many, paper=paper, units="metric", language="es")))
        assert "<b>&amp; very long ink name" in told
        assert "\u6f22" not in told
