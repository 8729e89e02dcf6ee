"""The questions on the desk: answers as the person has given them by now, read and refused."""

from __future__ import annotations

import pytest

from setupassist.desk import edits
from setupassist.desk.asked import answered, asked, counts, kind_of, steps_known
from setupassist.desk.desk import Desk
from setupassist.documents.plan import Question
from setupassist.errors import InputFault
from tests.desk.conftest import work_off


def question(desk: Desk, qid: str) -> Question:
    return next(one.question for one in asked(desk) if one.question.id == qid)


def test_nothing_is_asked_before_the_first_plan(desk: Desk) -> None:
    assert asked(desk) == ()
    assert steps_known(desk) is None


def test_an_answer_is_the_persons_at_once_and_planned_later(desk: Desk) -> None:
    work_off(desk)
    assert counts(asked(desk))[0] == 0
    desk.put(answered(desk.job, question(desk, "base"), "under-all").job)
    one = next(one for one in asked(desk) if one.question.id == "base")
    assert (one.answer, one.given, one.question.answer) == ("under-all", "under-all", None)
    assert counts(asked(desk))[0] == 1
    work_off(desk)
    assert question(desk, "base").answer == "under-all"
    desk.put(answered(desk.job, question(desk, "base"), "").job)
    assert "base" not in desk.job.answers


def test_where_planning_fails_the_last_questions_stay(desk: Desk) -> None:
    work_off(desk)
    before = [one.question.id for one in asked(desk)]
    desk.put(edits.with_fields(desk.job, edits.say("desk.edit.field"), pins={"mauve": 3}).job)
    work_off(desk)
    assert [one.question.id for one in asked(desk)] == before


def test_a_clash_asks_its_own_questions(desk: Desk) -> None:
    work_off(desk)
    desk.put(edits.with_fields(desk.job, edits.say("desk.edit.field"), keep_empty=[2, 3, 4, 5, 6, 7, 8]).job)
    work_off(desk)
    assert desk.results.made is not None
    assert steps_known(desk) is desk.results.made.steps
    assert asked(desk)


@pytest.mark.parametrize(
    ("qid", "text", "kept"),
    [("tests", " 12 ", "12"), ("spoilage", "0,05", "0.05"), ("crew-seconds", "4.5", "4.5"), ("base", "none", "none")],
)
def test_answers_are_read(desk: Desk, qid: str, text: str, kept: str) -> None:
    work_off(desk)
    assert answered(desk.job, question(desk, qid), text).job.answers == {qid: kept}


@pytest.mark.parametrize(("qid", "text"), [("tests", "some"), ("tests", "1.5"), ("spoilage", "7"), ("base", "perhaps")])
def test_no_answer_is_a_fault(desk: Desk, qid: str, text: str) -> None:
    work_off(desk)
    with pytest.raises(InputFault) as caught:
        answered(desk.job, question(desk, qid), text)
    assert text in caught.value.sentence


def test_colours_are_read_by_hex_or_name() -> None:
    from setupassist.documents.job import Job

    asked_colour = Question(id="colour-of mist", text="?", suggested="#808080", reason="", source="")
    job = Job.model_validate_json('{"format": "setupassist-job/1", "plates": "x", "press": "y"}')
    assert kind_of(asked_colour) == "colour"
    assert answered(job, asked_colour, "#ABC").job.answers == {"colour-of mist": "#aabbcc"}
    assert answered(job, asked_colour, "navy").job.answers == {"colour-of mist": "#000080"}
    with pytest.raises(InputFault):
        answered(job, asked_colour, "#12345")
