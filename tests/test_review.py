"""Reviews of arrangements made by hand: what is broken, how far from best, and moves that really mend it."""

from __future__ import annotations

import json
from dataclasses import replace
from itertools import permutations
from pathlib import Path
from typing import Any

import pytest

from setupassist.cli import main
from setupassist.documents.plan import Slot
from setupassist.documents.store import example_shop
from setupassist.errors import Cancelled, InputFault
from setupassist.pipeline import hand_made, make_plan, measure_job, problem_of
from setupassist.planner.judge import broken_limits
from setupassist.planner.problem import Standing
from setupassist.reviewing import review
from setupassist.words import Said, words_in
from setupassist.work import Work, open_job


def slot(station: int, ink: str | None, lap: int = 1) -> dict[str, Any]:
    return {"lap": lap, "station": station, "holds": "flash" if ink is None else "screen", "ink": ink}


GOOD = [slot(2, "white base"), slot(3, None), slot(5, "yellow"), slot(6, "red"), slot(7, "black key")]


def reviewed(path: Path):
    work = open_job(path, shop=example_shop())
    planned = make_plan(work, measure_job(work))
    return work, planned, review(work, planned)


def with_slots(work: Work, slots: tuple[Slot, ...]) -> Work:
    return replace(work, job=work.job.model_copy(update={"arrangement": slots}))


def breaks(work: Work, planned, slots) -> bool:
    problem = problem_of(work, planned.steps)
    return bool(broken_limits(problem, [Standing(s.lap, s.station, s.ink) for s in slots]))


def test_the_planners_own_plan_has_nothing_to_mend(write_job) -> None:
    work = open_job(write_job(), shop=example_shop())
    planned = make_plan(work, measure_job(work))
    own = tuple(Slot(lap=s.lap, station=s.station, holds=s.holds, ink=s.ink) for s in planned.plan.slots)
    found = review(with_slots(work, own), planned)
    assert (found.broken, found.mend) == ((), ())
    assert [(wish.name, wish.value) for wish in found.wishes] == [(w.name, w.value) for w in planned.plan.wishes]
    for wish in found.wishes:
        assert wish.value >= wish.best


def test_a_swap_is_mended_by_the_swap_back(write_job) -> None:
    slots = [slot(2, "white base"), slot(3, None), slot(5, "yellow"), slot(6, "black key"), slot(7, "red")]
    work, planned, found = reviewed(write_job(arrangement=slots))
    assert {limit.limit for limit in found.broken} == {"order"}
    first = found.mend[0]
    assert isinstance(first.text, Said)
    assert not breaks(work, planned, first.arrangement)
    assert len(set(first.arrangement) - {Slot(**entry) for entry in slots}) <= 2


@pytest.mark.parametrize("order", list(permutations(["yellow", "red", "black key"])))
def test_every_mending_really_mends(write_job, order) -> None:
    slots = [slot(2, "white base"), *(slot(5 + at, ink) for at, ink in enumerate(order))]  # and no flash at all
    work, planned, found = reviewed(write_job(arrangement=slots))
    assert found.broken
    assert found.mend
    for each in found.mend:
        assert not breaks(work, planned, each.arrangement)
        again = hand_made(with_slots(work, each.arrangement), planned)
        assert again.plan.broken_limits == ()
        assert not any(character.isdigit() and "{" in each.text for character in each.text)
        assert words_in("es")(each.text) != each.text


def test_what_two_moves_cannot_mend_is_said(write_job, capsys) -> None:
    path = write_job(arrangement=[slot(2, "black key")])
    _, _, found = reviewed(path)
    assert found.mend == ()
    assert main(["review", str(path)]) == 1
    assert "No one or two moves mend it." in capsys.readouterr().out


def test_the_verb_prints_the_document_and_its_exit_code(write_job, capsys) -> None:
    assert main(["review", str(write_job(arrangement=GOOD)), "--json"]) == 0
    told = json.loads(capsys.readouterr().out)
    assert set(told) == {"broken", "wishes", "mend"}
    assert told["broken"] == told["mend"] == []
    swapped = [slot(2, "yellow"), slot(3, None), slot(5, "white base"), slot(6, "red"), slot(7, "black key")]
    assert main(["review", str(write_job(arrangement=swapped)), "--json"]) == 1
    told = json.loads(capsys.readouterr().out)
    assert {"limit", "text", "slots"} == set(told["broken"][0])
    assert {"text", "arrangement"} == set(told["mend"][0])
    assert main(["review", str(write_job(arrangement=swapped))]) == 1
    out = capsys.readouterr().out
    assert "What would mend it:" in out
    assert "wet harm" in out


def test_a_job_without_an_arrangement_is_refused(write_job, capsys) -> None:
    path = write_job()
    with pytest.raises(InputFault, match="no line arranged by hand"):
        reviewed(path)
    assert main(["review", str(path)]) == 2
    assert capsys.readouterr().err.count("\n") == 1


def test_mending_can_be_stopped(write_job) -> None:
    work = open_job(write_job(arrangement=[slot(2, "yellow"), slot(4, "white base")]), shop=example_shop())
    planned = make_plan(work, measure_job(work))
    with pytest.raises(Cancelled):
        review(work, planned, stop=lambda: True)
