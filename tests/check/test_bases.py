"""Bases that show, that are not drawn in, or that are missing: each limit where it binds and its twin where not."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from setupassist.documents.measure import Finding
from setupassist.documents.store import example_shop
from setupassist.pipeline import make_plan, measure_job
from setupassist.words import words_in
from setupassist.work import open_job

Found = Callable[..., dict[str, Finding]]
BASE = {"name": "base", "role": "base"}
RED = {"name": "red", "role": "colour"}


def choke(**more: Any) -> list[dict[str, Any]]:
    return [{"base": "base", "median_mm": 0.35, "p5_mm": 0.3} | more]


def test_a_base_that_is_drawn_in_is_sound(found: Found) -> None:
    assert found(BASE, RED, chokes=choke()) == {}
    assert found(BASE, RED, chokes=choke(median_mm=None, p5_mm=None)) == {}


def test_a_base_that_peeks_out_stops_the_job(found: Found) -> None:
    out = choke(peek_out_mm=0.12, peek_out_mm2=3.25, peek_out_places_mm=[[4, 5], [6, 7]])
    told = found(BASE, RED, chokes=out)
    assert list(told) == ["base-peeks-out"]
    finding = told["base-peeks-out"]
    assert (finding.severity, finding.plates, finding.measured, finding.limit) == ("stop", ("base",), 0.12, 0.05)
    assert finding.places_mm == ((4, 5), (6, 7))
    assert finding.text == "base shows up to 0.12 mm beyond the inks that it carries, 3.2 mm² in all"
    assert finding.remedy == "draw it in by 0.35 mm, or answer that it shows as white where that is meant"
    assert words_in("es")(finding.text).startswith("base asoma hasta 0.12 mm fuera")


def test_a_peek_out_within_the_limit_is_none(found: Found) -> None:
    assert found(BASE, RED, chokes=choke(peek_out_mm=0.05, peek_out_mm2=0.4)) == {}


def test_a_few_pixels_that_peek_out_are_none(found: Found) -> None:
    """A strip as wide as the limit and a millimetre long is 0.05 mm²."""
    assert found(BASE, RED, chokes=choke(peek_out_mm=0.09, peek_out_mm2=0.049)) == {}
    assert set(found(BASE, RED, chokes=choke(peek_out_mm=0.09, peek_out_mm2=0.05))) == {"base-peeks-out"}


@pytest.mark.parametrize(("median", "codes"), [(0.099, ["base-not-choked"]), (0.1, []), (-0.02, ["base-not-choked"])])
def test_a_base_that_is_hardly_drawn_in_is_a_warning(found: Found, median: float, codes: list[str]) -> None:
    told = found(BASE, RED, chokes=choke(median_mm=median, p5_mm=median))
    assert list(told) == codes
    if codes:
        finding = told["base-not-choked"]
        assert (finding.severity, finding.measured, finding.limit) == ("warn", median, 0.1)


def test_a_base_that_peeks_out_is_told_once(found: Found) -> None:
    """Where the inks do not cover the base, its choke is no question."""
    assert list(found(BASE, RED, chokes=choke(median_mm=0.02, peek_out_mm=0.2, peek_out_mm2=1))) == ["base-peeks-out"]


FIGURES = {
    "art": {"source": "figures", "width_mm": 320, "height_mm": 340, "art_box_mm": [10, 10, 300, 320]},
    "plates": [
        {"name": "white base", "role": "base", "lab": [95.6, 0, 0.9], "ink_area_cm2": 125},
        {"name": "yellow", "role": "colour", "lab": [82, 5, 78], "ink_area_cm2": 70},
        {"name": "black key", "role": "key", "lab": [10, 0, 0], "ink_area_cm2": 20},
    ],
    "contacts": [{"plates": ["white base", "yellow"], "overlap_cm2": 68}],
}


@pytest.fixture
def of_job(write_job: Callable[..., Path]) -> Found:
    def of(base: dict[str, Any], **change: Any) -> dict[str, Finding]:
        told = {"base": "white base", "median_mm": 0.35, "p5_mm": 0.3} | base
        work = open_job(write_job(plates=FIGURES | {"chokes": [told]}, on_top=[], **change), shop=example_shop())
        return {finding.code: finding for finding in make_plan(work, measure_job(work)).findings}

    return of


def test_base_that_is_meant_to_show_is_no_finding(of_job: Found) -> None:
    out = {"peek_out_mm": 2.0, "peek_out_mm2": 40, "median_mm": -0.5}
    assert "base-peeks-out" in of_job(out, answers={"base-shows": "no"})
    assert of_job(out, answers={"base-shows": "yes"}) == {}


def test_an_ink_without_its_base_is_told_on_dark_cloth_only(of_job: Found) -> None:
    """Yellow needs base on navy and none on white; black needs none on either."""
    bare = {"bare": [{"ink": "yellow", "share": 0.2, "places_mm": [[50, 60]]}, {"ink": "black key", "share": 1.0}]}
    told = of_job(bare)
    assert list(told) == ["base-missing-under"]
    finding = told["base-missing-under"]
    assert (finding.severity, finding.plates) == ("warn", ("yellow", "white base"))
    assert (finding.measured, finding.limit, finding.places_mm) == (0.2, 0.01, ((50, 60),))
    assert finding.text == "yellow lies without white base on 20% of its area"
    assert of_job({"bare": [{"ink": "yellow", "share": 0.01}]}) == {}
    white = {"name": "white tee", "colour": "#ffffff", "fibre": "cotton"}
    assert of_job(bare, garment=white) == {}


def test_dots_without_base_of_dots_are_no_finding(of_job: Found, write_job: Callable[..., Path]) -> None:
    """A simulated-process base ends in the shadows on purpose."""
    plates = [plate | {"kind": "halftone"} for plate in FIGURES["plates"]]
    bare = [{"base": "white base", "median_mm": 0.35, "p5_mm": 0.3, "bare": [{"ink": "yellow", "share": 0.2}]}]
    work = open_job(write_job(plates=FIGURES | {"plates": plates, "chokes": bare}, on_top=[]), shop=example_shop())
    assert [f.code for f in make_plan(work, measure_job(work)).findings if f.code == "base-missing-under"] == []


def test_plates_alone_note_what_a_base_leaves_bare(found: Found) -> None:
    """No cloth is known. An ink that lies bare for the most part is not carried; keys and blacks need no base."""
    bare = [{"ink": "red", "share": 0.2, "places_mm": [[5, 6]]}]
    told = found(BASE, RED, chokes=choke(bare=bare))
    assert list(told) == ["base-leaves-bare"]
    finding = told["base-leaves-bare"]
    assert (finding.severity, finding.plates, finding.places_mm) == ("note", ("red", "base"), ((5, 6),))
    assert (finding.measured, finding.limit) == (0.2, 0.01)
    remedy = "on dark cloth put base under it; on light cloth this may be meant"
    assert finding.told == f"red lies without base on 20% of its area; {remedy}"
    assert words_in("es")(finding.remedy or "").startswith("en tela oscura")
    for share in (0.01, 0.9):
        assert found(BASE, RED, chokes=choke(bare=[{"ink": "red", "share": share}])) == {}
    for plate in (RED | {"role": "key"}, RED | {"role": "clear"}, RED | {"lab": [8, 0, 0]}):
        assert found(BASE, plate, chokes=choke(bare=bare)) == {}
    dots = {"kind": "halftone"}
    assert found(BASE | dots, RED | dots, chokes=choke(bare=bare)) == {}
    assert set(found(BASE, RED | dots, chokes=choke(bare=bare))) == {"base-leaves-bare"}


def test_of_two_bases_the_one_that_carries_most_counts(found: Found) -> None:
    second = {"base": "base 2", "median_mm": 0.35, "p5_mm": 0.3}
    chokes = [*choke(bare=[{"ink": "red", "share": 0.2}]), second | {"bare": [{"ink": "red", "share": 0.1}]}]
    assert found(BASE, BASE | {"name": "base 2"}, RED, chokes=chokes)["base-leaves-bare"].plates == ("red", "base 2")
    chokes[1] = second
    assert found(BASE, BASE | {"name": "base 2"}, RED, chokes=chokes) == {}
