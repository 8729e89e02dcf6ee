"""The questions that pixels cannot answer: which there are, what an answer may be, and those asked of one job."""

from __future__ import annotations

import math
from collections.abc import Collection, Iterable, Mapping
from dataclasses import dataclass, field
from functools import cache
from typing import Any

from setupassist.colour import parse_colour
from setupassist.documents.plan import FOR_GROUP, Question
from setupassist.errors import InputFault, did_you_mean
from setupassist.resource_files import read_toml
from setupassist.steps.conditions import holds
from setupassist.steps.decisions import DecisionTable, say_figures
from setupassist.steps.figures import figures_of
from setupassist.steps.scene import Scene
from setupassist.words import ENGLISH, joined, say, words_in

COLOUR_OF = "colour-of"


@dataclass(frozen=True)
class QuestionKind:
    """One question: what answers it takes and when it is asked. Its words stand in the catalogue under its id.

    ``count`` names the figure that chooses between one and other in what the art says.
    """

    id: str
    kind: str
    answers: tuple[str, ...] = ()
    asked_when: tuple[str, ...] = ()
    answers_when: Mapping[str, tuple[str, ...]] = field(default_factory=dict)
    least: float = -math.inf
    most: float = math.inf
    one_for_all: bool = False
    count: str = ""

    @property
    def text(self) -> str:
        """The question itself."""
        return say(f"decisions.question.{self.id}.text")

    def says(self, figures: Mapping[str, Any]) -> str:
        """What the art and the garment already tell, with the job's figures."""
        return say_figures(f"decisions.question.{self.id}.says", figures, self.count)

    def asked(self, scene: Scene) -> bool:
        """Whether the answer changes something in this scene."""
        return all(holds(name, scene) for name in self.asked_when)

    def answers_in(self, scene: Scene) -> tuple[str, ...]:
        """The answers that make sense in this scene; () where any text of the kind does."""
        return tuple(a for a in self.answers if all(holds(name, scene) for name in self.answers_when.get(a, ())))

    def fault_of(self, answer: str, answers: Collection[str]) -> str | None:
        """What is wrong with an answer, None where it fits."""
        if self.kind == "choice":
            none_of = say("steps.fault.none-of", answer=answer, answers=joined(answers))
            return None if answer in answers else none_of
        if self.kind == "colour":
            try:
                parse_colour(answer)
            except ValueError as error:
                return _told(error)
            return None
        try:
            number = float(answer)
        except ValueError:
            return say("steps.fault.no-number", answer=answer)
        if self.kind == "whole" and not number.is_integer():
            return say("steps.fault.no-whole-number", answer=answer)
        if not self.least <= number <= self.most:
            return say("steps.fault.not-within", answer=answer, least=self.least, most=self.most)
        return None


def _told(error: ValueError) -> str:
    """What the error was raised with, its id kept where it was said by one."""
    text = error.args[0] if error.args else ""
    return text if isinstance(text, str) else str(text)


@cache
def catalogue() -> dict[str, QuestionKind]:
    """Every question by its id, in the order of asking."""
    return {
        entry["id"]: QuestionKind(
            id=entry["id"],
            kind=entry["kind"],
            answers=tuple(entry.get("answers", ())),
            asked_when=tuple(entry.get("asked_when", ())),
            answers_when={answer: tuple(when) for answer, when in entry.get("answers_when", {}).items()},
            least=entry.get("least", -math.inf),
            most=entry.get("most", math.inf),
            one_for_all=entry.get("one_for_all", False),
            count=entry.get("count", ""),
        )
        for entry in read_toml("trade/decisions.toml")["question"]
    }


def unknown_answers(answers: Mapping[str, str], *, inks: Iterable[str], groups: Collection[str]) -> list[InputFault]:
    """A fault for each answered question that there is not, and for each answer that no scene would take."""
    known = set(catalogue()) | {f"{COLOUR_OF} {ink}" for ink in inks}
    for_groups = {f"{qid}{FOR_GROUP}{group}": qid for qid in catalogue() for group in groups}
    faults = []
    for qid, answer in answers.items():
        if qid not in known and qid not in for_groups:
            faults.append(InputFault(f"answers.{qid}", say("steps.fault.no-question"), did_you_mean(qid, known)))
            continue
        kind = catalogue().get(for_groups.get(qid, qid), _COLOUR_KIND)
        wrong = kind.fault_of(answer, kind.answers)
        if wrong is not None:
            mend = say("steps.fault.choose-one" if kind.answers else "steps.fault.mend-it")
            faults.append(InputFault(f"answers.{qid}", wrong, mend))
    return faults


@dataclass
class Asking:
    """Collects the questions of one job. ``group`` is the garment group in hand; "" where there is but one.

    The first group to ask a question asks it by its plain qid. A later group follows that answer where the
    suggestion for it is the same; where it differs, the group has its own question, ``ID for GROUP``. ``settled``
    holds what is one for all groups.
    """

    answers: Mapping[str, str]
    table: DecisionTable
    group: str = ""
    asked: dict[str, Question] = field(default_factory=dict)
    settled: dict[str, str] = field(default_factory=dict)
    faults: list[InputFault] = field(default_factory=list)

    def ask(self, qid: str, scene: Scene, **more: str | int) -> str | None:
        """The answer in force, None where the question is not asked in this scene."""
        kind = catalogue()[qid]
        if kind.one_for_all and qid in self.settled:
            return self.settled[qid]
        if not kind.asked(scene):
            return None
        first = self.asked.get(qid)
        figures = figures_of(scene) | more
        row = self.table.decide(qid, scene)
        own = f"{qid}{FOR_GROUP}{self.group}"
        answered = self.answers.get(qid) if first is None else self.answers.get(own)
        if row is None and answered is None:
            return None
        allowed = kind.answers_in(scene)
        if row is not None:
            row = row.filled(figures)
            wrong = kind.fault_of(row.suggest, allowed)
            if wrong is not None:
                where = say("steps.where.decision", row=row.id)
                what, remedy = say("steps.fault.impossible", why=wrong), say("steps.fault.mend-suggest")
                self.faults.append(InputFault(where, what, remedy))
                return None
            if first is not None and answered is None and row.suggest == first.suggested and self._fits(first, allowed):
                return first.given
        if answered is not None:
            wrong = kind.fault_of(answered, allowed)
            if wrong is not None:
                field_named = f"answers.{qid if first is None else own}"
                self.faults.append(InputFault(field_named, wrong, say("steps.fault.choose-another")))
                answered = None
                if row is None:
                    return None
        question = Question(
            id=qid if first is None else own,
            text=kind.text if first is None else for_group("text", kind.text, self.group),
            says=kind.says(figures),
            answers=allowed,
            suggested=row.suggest if row is not None else str(answered),
            reason=row.reason(figures) if row is not None else say("decisions.reason.no-row"),
            source=row.source if row is not None else say("decisions.source.this-job"),
            answer=answered,
            row=row.id if row is not None else None,
        )
        self.asked[question.id] = question
        if kind.one_for_all:
            self.settled[qid] = question.given
        return question.given

    def by_person(self, qid: str) -> bool:
        """Whether a person answered the question for the group in hand, or for all where the group has none."""
        own = self.asked.get(f"{qid}{FOR_GROUP}{self.group}")
        question = own or self.asked.get(qid)
        return question is not None and question.answer is not None

    def ask_colour(self, ink: str) -> str:
        """The colour of an ink that nothing else tells: the job's answer, else the middle grey that is suggested."""
        qid = f"{COLOUR_OF} {ink}"
        answer = self.answers.get(qid)
        if answer is not None and _COLOUR_KIND.fault_of(answer, ()) is not None:
            answer = None  # told as a fault when the answers were looked through
        question = Question(
            id=qid,
            text=say("decisions.question.colour-of.text", ink=ink),
            says=say("decisions.question.colour-of.says"),
            suggested=COLOUR_UNKNOWN,
            reason=say("decisions.reason.colour-of"),
            source=say("decisions.source.stand-in"),
            answer=answer,
        )
        self.asked[qid] = question
        return question.given

    @staticmethod
    def _fits(question: Question, allowed: Collection[str]) -> bool:
        return not allowed or question.given in allowed


COLOUR_UNKNOWN = "#808080"
_COLOUR_KIND = QuestionKind(id=COLOUR_OF, kind="colour")


def for_group(part: str, worded: str, group: str) -> str:
    """The ``text`` or ``name`` of a question that one garment group answers for itself."""
    return say(f"decisions.question.for-group.{part}", **{part: worded}, group=group)


def name_of(qid: str) -> str:
    """A question's short name, from its id in a document: ``base hits``, ``base hits for red tee``."""
    plain = next((known for known in catalogue() if qid == known or qid.startswith(f"{known}{FOR_GROUP}")), None)
    if plain is not None:
        name, group = say(f"decisions.question.{plain}.name"), qid.removeprefix(plain).removeprefix(FOR_GROUP)
        return for_group("name", name, group) if group else name
    if qid.startswith(f"{COLOUR_OF} "):
        return say("decisions.question.colour-of.name", ink=qid.removeprefix(f"{COLOUR_OF} "))
    return qid


def answer_words(answer: str) -> str:
    """An answer of a question as a person reads it; a number or a colour as it is."""
    key = f"decisions.answer.{answer}"
    return say(key) if words_in(ENGLISH).knows(key) else answer
