"""Laws that hold for the steps of any job, whatever the plates, garments and answers."""

from __future__ import annotations

from itertools import combinations
from typing import Any

from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from setupassist.documents.terms import BleedTest, Fibre, InkSystem, Kind, Role
from setupassist.errors import InputFault
from setupassist.steps.needs import Steps
from setupassist.steps.questions import catalogue

COLOURS = ["#f4f4f2", "#f3c921", "#c8202f", "#1d4f9c", "#1c1c1e", "#2f7d43"]
NAMES = ["white", "gold", "red", "royal", "black", "green"]
FABRICS = ["jersey", "fleece", "tri-blend", "athletic mesh", "shell"]
CLOTHS = ["#ffffff", "#17171a", "#c8202f", "#b5b5b8", "#1d4f9c", "#a9c8e8"]

PLATE = st.fixed_dictionaries(
    {
        "role": st.sampled_from([Role.COLOUR] * 6 + list(Role)),
        "kind": st.sampled_from([Kind.SOLID] * 3 + list(Kind)),
        "ink_area_cm2": st.sampled_from([0.5, 10.0, 80.0, 300.0]),
        "ink_system": st.sampled_from([None, *InkSystem]),
    }
)
GARMENT = st.fixed_dictionaries(
    {
        "colour": st.sampled_from(CLOTHS),
        "fibre": st.sampled_from(list(Fibre)),
        "fabric": st.sampled_from(FABRICS),
        "bleed_test": st.sampled_from(list(BleedTest)),
    }
)
ANSWERS = st.fixed_dictionaries(
    {},
    optional={
        question: st.sampled_from([answer for answer in kind.answers if answer != "as-separated"])
        for question, kind in catalogue().items()
        if kind.kind == "choice"
    },
)


@st.composite
def jobs(draw: st.DrawFn) -> tuple[list[dict[str, Any]], dict[str, Any]]:
    plates = draw(st.lists(PLATE, min_size=1, max_size=6))
    inks = [{"name": NAMES[i], "colour": COLOURS[i], **plate} for i, plate in enumerate(plates)]
    overlaps = [
        [one["name"], two["name"], draw(st.sampled_from([0.0, 0.04, 0.4]))] for one, two in combinations(inks, 2)
    ]
    garments = [{"name": f"tee {i}", **g} for i, g in enumerate(draw(st.lists(GARMENT, min_size=1, max_size=3)))]
    fields = {"overlaps": overlaps, "garments": garments, "answers": draw(ANSWERS)}
    fields["system"] = draw(st.sampled_from([None, *InkSystem]))
    return inks, fields


@settings(max_examples=40, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(jobs())
def test_the_steps_hang_together(desk: Any, worded: Any, job: tuple[list[dict[str, Any]], dict[str, Any]]) -> None:
    inks, fields = job
    try:
        steps: Steps = desk.steps(*inks, **fields)
    except InputFault as fault:
        if not any(told in str(fault) for told in ("no plate holds ink", "leave no ink")):
            raise
        return
    names = [screen.ink for screen in steps.screens]
    assert len(set(names)) == len(names) > 0
    assert sorted(steps.standard_order) == sorted(names)
    assert set(steps.assumed) == {q.id for q in steps.questions if q.answer is None}
    assert len({q.id for q in steps.questions}) == len(steps.questions)
    for question in steps.questions:
        assert not question.answers or question.given in question.answers
        assert "{" not in f"{question.says}{question.reason}{question.suggested}"
    _stands(steps.limits, set(names))
    for group in steps.groups:
        assert set(group.screens) == set(group.prints) <= set(names)
        _stands(group.limits, set(group.screens))
    needs = [len(group.screens) for group in steps.groups]
    assert needs[steps.neediest] == max(needs)
    for pair, area in steps.overlaps.items():
        assert pair <= set(names)
        assert 0 < area <= min(steps.screen(ink).ink_area_cm2 for ink in pair) + 1e-9
    again = desk.steps(*inks, **fields)
    assert again == steps
    worded(steps, [*NAMES, *FABRICS, *(garment["name"] for garment in fields["garments"])])


def _stands(limits: Any, names: set[str]) -> None:
    order = set(limits.order)
    assert {ink for pair in order for ink in pair} <= names
    assert not {(b, a) for a, b in order} & order
    assert set(limits.flash_between) <= order
    assert set(limits.alone_until_flash) <= {first for first, _ in limits.flash_between}
    wet = {frozenset(pair) for pair in limits.no_flash_between}
    assert not wet & {frozenset(pair) for pair in (*limits.flash_between, *limits.never_wet)}
    assert {ink for pair in wet for ink in pair} | set(limits.no_flash_after) <= names
