"""The questions of the job on the desk, as far as they are known, with the answers that the person has given by now."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from setupassist.desk import edits
from setupassist.desk.desk import Desk
from setupassist.desk.edits import Edit
from setupassist.desk.tasks import Stage
from setupassist.documents.job import Job
from setupassist.documents.plan import FOR_GROUP, Question
from setupassist.errors import InputFault, one_line
from setupassist.words import Said, say

if TYPE_CHECKING:
    from setupassist.steps.needs import Steps


@dataclass(frozen=True)
class Asked:
    """A question as the last plan asked it. ``answer`` is the person's as the job has it now, None where it is not.

    ``kind`` is choice, colour, number or whole.
    """

    question: Question
    kind: str
    answer: str | None

    @property
    def given(self) -> str:
        """The answer in force."""
        return self.question.suggested if self.answer is None else self.answer


def steps_known(desk: Desk) -> Steps | None:
    """The steps of the newest plan there is, fresh or not; None before the first."""
    plans, chosen = desk.results.plans, desk.job.strategy
    order = [chosen, *(name for name in plans if name is not chosen)]
    fresh = [name for name in order if name in plans and desk.fresh(Stage.PLANS, name)]
    known = [*fresh, *(name for name in order if name in plans)]
    return plans[known[0]].steps if known else None


def asked(desk: Desk) -> tuple[Asked, ...]:
    """Every question of the job in the order of asking; () before the first plan."""
    steps = steps_known(desk)
    if steps is None:
        return ()
    return tuple(Asked(q, kind_of(q), desk.job.answers.get(q.id)) for q in steps.questions)


def told_of(desk: Desk, steps: Steps | None, question: str, group: str = "") -> str | None:
    """The answer in force to a question, for a garment group's own where it has one; None where none is known."""
    own = f"{question}{FOR_GROUP}{group}"
    for name in (own, question) if group else (question,):
        if name in desk.job.answers:
            return desk.job.answers[name]
        if steps is not None and (given := steps.answer(name)) is not None:
            return given
    return None


def kind_of(question: Question) -> str:
    """Whether a question takes a choice, a colour, a number or a whole number."""
    from setupassist.steps.questions import COLOUR_OF, catalogue

    if question.answers:
        return "choice"
    if question.id.startswith(f"{COLOUR_OF} "):
        return "colour"
    known = catalogue()
    plain = next((name for name in known if question.id == name or question.id.startswith(f"{name}{FOR_GROUP}")), None)
    return known[plain].kind if plain is not None else "choice"


def counts(questions: Sequence[Asked]) -> tuple[int, int]:
    """How many the person has answered, and how many stand as suggested."""
    mine = sum(one.answer is not None for one in questions)
    return mine, len(questions) - mine


def answered(job: Job, question: Question, text: str) -> Edit:
    """The edit that answers a question; an empty text goes back to the suggestion. InputFault for what is no answer."""
    plain = " ".join(text.split())
    if not plain:
        return edits.answer(job, question.id, None)
    return edits.answer(job, question.id, _read(question, plain))


def _read(question: Question, plain: str) -> str:
    from setupassist.colour import parse_colour, to_hex

    kind = kind_of(question)
    wrong: str | None = None
    if kind == "colour":
        try:
            return to_hex(parse_colour(plain))
        except ValueError as error:
            wrong = error.args[0]
    elif kind in ("number", "whole"):
        plain = plain.replace(",", ".")
        wrong = _fault(question, plain)
    elif plain not in question.answers:
        wrong = say("steps.fault.none-of", answer=one_line(plain, 40), answers=", ".join(question.answers))
    if wrong is not None:
        raise InputFault("", wrong if isinstance(wrong, Said) else one_line(str(wrong), 80))
    return plain


def _fault(question: Question, plain: str) -> str | None:
    from setupassist.steps.questions import catalogue

    name = next(n for n in catalogue() if question.id == n or question.id.startswith(f"{n}{FOR_GROUP}"))
    return catalogue()[name].fault_of(one_line(plain, 40), question.answers)
