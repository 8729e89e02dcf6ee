"""Limits that findings come from, and answers that set them aside."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest

from setupassist.desk import art_facts, finding_limits
from setupassist.desk.desk import Desk
from setupassist.desk.finding_limits import ANSWERS_OF, POLICIES_OF
from setupassist.desk.opening import open_paths
from setupassist.desk.shop_edits import values
from setupassist.documents.measure import Finding
from setupassist.documents.shop import Policies
from setupassist.documents.store import example_shop
from setupassist.documents.terms import Severity
from setupassist.steps.questions import catalogue
from setupassist.words import words_in
from tests.desk.conftest import work_off
from tests.desk.test_base_making import draw


def finding(code: str) -> Finding:
    return Finding(code=code, severity=Severity.WARN, text="so")


def test_every_limit_is_a_policy_and_every_answer_one_of_its_question(desk: Desk) -> None:
    assert {name for names in POLICIES_OF.values() for name in names} <= set(Policies.model_fields)
    for offers in ANSWERS_OF.values():
        for question, answer in offers:
            assert answer in catalogue()[question].answers
    for code, names in POLICIES_OF.items():
        assert [limit.field.path for limit in finding_limits.limits_of(desk, finding(code))] == list(names)
    assert finding_limits.limits_of(desk, finding("same-plate-twice")) == ()


def test_a_limit_tells_its_value_and_source(desk: Desk) -> None:
    (limit,) = finding_limits.limits_of(desk, finding("line-too-fine"))
    assert limit.value(desk.shop) == desk.shop.policies.line_threads
    assert limit.source(desk.shop)


def test_art_too_large_comes_from_the_press_of_the_shop_book(write_job: Callable[..., Path]) -> None:
    desk = Desk(example_shop())
    name = desk.shop.presses[-1].name
    desk.open(open_paths([write_job(press=name)], shop=desk.shop))
    (limit,) = finding_limits.limits_of(desk, finding("art-too-large"))
    assert limit.value(desk.shop) == desk.shop.presses[-1].max_print_mm
    assert limit.at == len(desk.shop.presses) - 1


@pytest.fixture
def peeking(tmp_path: Path) -> Desk:
    """A base that shows 0.2 mm beyond its ink on one side, on a black shirt."""
    made = Desk(example_shop())
    rects = ("white base", (50, 350, 50, 352)), ("teal", (50, 350, 50, 350))
    made.open(open_paths([draw(tmp_path / "set", *rects)], shop=made.shop))
    made.put(made.job.model_copy(update={"garment": made.job.groups[0].model_copy(update={"colour": "#101010"})}))
    work_off(made)
    return made


def codes(desk: Desk) -> set[str]:
    return {one.code for one in art_facts.findings_known(desk)}


def test_an_answer_sets_a_base_that_peeks_out_aside_and_back(peeking: Desk) -> None:
    found = next(one for one in art_facts.findings_known(peeking) if one.code == "base-peeks-out")
    (offer,) = finding_limits.offers_of(peeking, found)
    assert (offer.question, offer.answer) == ("base-shows", "yes")
    assert (offer.text, offer.told) == ("Does the base show as white anywhere in the print?", "Answer yes")
    assert words_in("es")(offer.told) == "Contestar sí"
    before = peeking.job
    peeking.put(finding_limits.answered(peeking.job, offer).job)
    work_off(peeking)
    assert "base-peeks-out" not in codes(peeking)
    assert finding_limits.offers_of(peeking, found) == ()
    peeking.put(before)
    work_off(peeking)
    assert "base-peeks-out" in codes(peeking)


def test_a_wider_limit_lets_it_pass(peeking: Desk) -> None:
    found = next(one for one in art_facts.findings_known(peeking) if one.code == "base-peeks-out")
    (limit,) = finding_limits.limits_of(peeking, found)
    edit = values(peeking.shop, limit.section, limit.at, {limit.field.path: 5.0})
    peeking.put_shop(edit.shop)
    work_off(peeking)
    assert "base-peeks-out" not in codes(peeking)
