"""The questions that pixels cannot answer: which there are, what an answer may be, and those asked of one job."""

from __future__ import annotations

import math
from collections.abc import Collection, Iterable, Mapping
from dataclasses import dataclass, field
from functools import cache

from setupassist.colour import parse_colour
from setupassist.documents.plan import Question
from setupassist.errors import InputFault, did_you_mean
from setupassist.resource_files import read_toml
from setupassist.steps.conditions import holds
from setupassist.steps.decisions import DecisionTable, fill
from setupassist.steps.figures import figures_of
from setupassist.steps.scene import Scene

COLOUR_OF = "colour-of"
FOR_GROUP = " for "


@dataclass(frozen=True)
class QuestionKind:
    """One entry of the catalogue: its words, what answers it takes and when it is asked."""

    id: str
    text: str
    kind: str
    says: str
    answers: tuple[str, ...] = ()
    asked_when: tuple[str, ...] = ()
    answers_when: Mapping[str, tuple[str, ...]] = field(default_factory=dict)
    least: float = -math.inf
    most: float = math.inf
    one_for_all: bool = False

    def asked(self, scene: Scene) -> bool:
        """Whether the answer changes something in this scene."""
        return all(holds(name, scene) for name in self.asked_when)

    def answers_in(self, scene: Scene) -> tuple[str, ...]:
        """The answers that make sense in this scene; () where any text of the kind does."""
        return tuple(a for a in self.answers if all(holds(name, scene) for name in self.answers_when.get(a, ())))

    def fault_of(self, answer: str, answers: Collection[str]) -> str | None:
        """What is wrong with an answer, None where it fits."""
        if self.kind == "choice":
            return None if answer in answers else f"'{answer}' is none of: {', '.join(answers)}"
        if self.kind == "colour":
            try:
                parse_colour(answer)
            except ValueError as error:
                return str(error)
            return None
        try:
            number = float(answer)
        except ValueError:
            return f"'{answer}' is no number"
        if self.kind == "whole" and not number.is_integer():
            return f"'{answer}' is no whole number"
        if not self.least <= number <= self.most:
            return f"'{answer}' is not within {self.least:g} and {self.most:g}"
        return None


@cache
def catalogue() -> dict[str, QuestionKind]:
    """Every question by its id, in the order of asking."""
    return {
        entry["id"]: QuestionKind(
            id=entry["id"],
            text=entry["text"],
            kind=entry["kind"],
            says=entry["says"],
            answers=tuple(entry.get("answers", ())),
            asked_when=tuple(entry.get("asked_when", ())),
            answers_when={answer: tuple(when) for answer, when in entry.get("answers_when", {}).items()},
            least=entry.get("least", -math.inf),
            most=entry.get("most", math.inf),
            one_for_all=entry.get("one_for_all", False),
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
            faults.append(InputFault(f"answers.{qid}", "there is no such question", did_you_mean(qid, known)))
            continue
        kind = catalogue().get(for_groups.get(qid, qid), _COLOUR_KIND)
        wrong = kind.fault_of(answer, kind.answers)
        if wrong is not None:
            faults.append(InputFault(f"answers.{qid}", wrong, "choose one of them" if kind.answers else "mend it"))
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

    def ask(self, qid: str, scene: Scene, **more: str) -> str | None:
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
                where = f"shop book, decision {row.id}"
                self.faults.append(InputFault(where, f"suggests what cannot be: {wrong}", "mend its 'suggest'"))
                return None
            if first is not None and answered is None and row.suggest == first.suggested and self._fits(first, allowed):
                return first.given
        if answered is not None:
            wrong = kind.fault_of(answered, allowed)
            if wrong is not None:
                self.faults.append(InputFault(f"answers.{qid if first is None else own}", wrong, "choose another"))
                answered = None
                if row is None:
                    return None
        question = Question(
            id=qid if first is None else own,
            text=kind.text if first is None else f"{kind.text} ({self.group})",
            says=fill(kind.says, figures),
            answers=allowed,
            suggested=row.suggest if row is not None else str(answered),
            reason=row.reason if row is not None else "no row of this shop's decision table suggests anything",
            source=row.source if row is not None else "this job",
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
            text=f"Which colour is {ink}?",
            says="Neither the job, the shop book, the file nor the name tells.",
            suggested=COLOUR_UNKNOWN,
            reason="middle grey stands in; order, base and wet harm hang on the colour",
            source="a stand-in",
            answer=answer,
        )
        self.asked[qid] = question
        return question.given

    @staticmethod
    def _fits(question: Question, allowed: Collection[str]) -> bool:
        return not allowed or question.given in allowed


COLOUR_UNKNOWN = "#808080"
_COLOUR_KIND = QuestionKind(id=COLOUR_OF, text="", kind="colour", says="")
