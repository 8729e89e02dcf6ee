"""The rows of the decision table as the shop book has them: as shipped, switched off, or written anew by the shop."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass
from enum import StrEnum
from functools import cache

from setupassist.desk.form_values import fault
from setupassist.desk.forms import row
from setupassist.desk.shop_edits import ShopEdit, with_fields
from setupassist.documents.shop import Decision, Shop
from setupassist.steps.decisions import NOTE, shipped_rows
from setupassist.steps.questions import answer_words, catalogue, name_of
from setupassist.words import ENGLISH, Said, ids, joined, say

BASE_UNDER = "base-under"
_FIGURE = re.compile(r"\{[a-z0-9_]+\}")


class State(StrEnum):
    """What the shop makes of a row."""

    SHIPPED = "shipped"
    OFF = "off"
    OWN = "own"


@dataclass(frozen=True)
class DecisionRow:
    """One row: what it answers, what it suggests as shipped and why, and what the shop makes of it.

    ``answers`` are those that may be suggested; () where it is a number, a colour or only a note.
    """

    id: str
    question: str
    suggest: str
    source: str
    answers: tuple[str, ...]
    state: State
    own: Decision | None

    @property
    def name(self) -> str:
        """What it decides, in words."""
        if self.question == NOTE:
            return say("place_shop.decision.note")
        if self.question == BASE_UNDER:
            return say("place_shop.decision.base-under")
        return name_of(self.question)

    @property
    def suggested(self) -> str:
        """What is suggested now, in words; empty for a note."""
        return self.answer(self.own.suggest if self.own is not None else self.suggest)

    def answer(self, suggest: str) -> str:
        """A suggestion in words; one that is a figure of the job is told as such."""
        if _FIGURE.fullmatch(suggest):
            return say("place_shop.decision.figure")
        return say("terms.role.base") if suggest == "base" else answer_words(suggest)

    @property
    def is_note(self) -> bool:
        """Whether it suggests nothing and only tells."""
        return self.question == NOTE

    def reason(self, language: str) -> str:
        """Why it suggests that as shipped, its figures in braces."""
        return reasons(language).get(self.id) or reasons(ENGLISH).get(self.id, "")

    def told(self, language: str) -> str:
        """The reason in force as a list shows it, an ellipsis for each figure."""
        return _FIGURE.sub("…", self.own.reason if self.own is not None else self.reason(language))


@cache
def reasons(language: str) -> dict[str, str]:
    """The reason of every shipped row by the row's id, its figures in braces; of two forms the one for many."""
    lead = "decisions.reason."
    found = {key.removeprefix(lead): text for key, text in ids(language).items() if key.startswith(lead)}
    return {key: text if isinstance(text, str) else text["other"] for key, text in found.items()}


def rows(shop: Shop) -> list[DecisionRow]:
    """Every row of the shipped table in its order, as this shop uses it."""
    off = set(shop.policies.decisions_off)
    own = {decision.id: decision for decision in shop.decisions}
    made = []
    for each in shipped_rows():
        state = State.OFF if each.id in off else State.OWN if each.id in own else State.SHIPPED
        made.append(
            DecisionRow(
                each.id, each.question, each.suggest, each.source, _answers(each.question), state, own.get(each.id)
            )
        )
    return made


def _answers(question: str) -> tuple[str, ...]:
    if question == BASE_UNDER:
        return ("none", "base")
    kind = catalogue().get(question)
    return kind.answers if kind is not None else ()


def switch(shop: Shop, made: DecisionRow, state: State, language: str = ENGLISH) -> ShopEdit:
    """The row as shipped, switched off, or written by the shop (at first as shipped).

    What the shop wrote stays while the row is off, and goes when it is taken back to as shipped.
    """
    off = [each for each in shop.policies.decisions_off if each != made.id]
    own = [decision for decision in shop.decisions if decision.id != made.id or state is not State.SHIPPED]
    if state is State.OFF:
        off.append(made.id)
    if state is State.OWN and made.own is None:
        own.append(Decision(id=made.id, suggest=made.suggest, reason=made.reason(language)))
    return _with(shop, say(f"place_shop.edit.row-{state}", row=made.name), off, own)


def write(shop: Shop, made: DecisionRow, changes: Mapping[str, str]) -> ShopEdit:
    """The shop's own row with other ``suggest``, ``reason`` or ``source``; InputFault where it cannot be suggested."""
    assert made.own is not None, "the row is not the shop's own"
    _checked(made, changes)
    told = made.own.model_dump(exclude_unset=True) | dict(changes)
    if not told.get("source", "x").strip():
        del told["source"]
    new = Decision(**told)
    own = [new if decision.id == made.id else decision for decision in shop.decisions]
    return _with(shop, say("place_shop.edit.row-written", row=made.name), list(shop.policies.decisions_off), own)


def _checked(made: DecisionRow, changes: Mapping[str, str]) -> None:
    if "reason" in changes and not changes["reason"].strip():
        raise fault(row(Decision, "reason"), say("shop_fields.fault.empty"))
    suggest = changes.get("suggest")
    if suggest is None or made.is_note or _FIGURE.fullmatch(suggest):
        return
    kind = catalogue().get(made.question)
    if made.answers and suggest not in made.answers:
        told = joined([made.answer(answer) for answer in made.answers])
        raise fault(row(Decision, "suggest"), say("shop_fields.fault.no-choice", choices=told))
    wrong = kind.fault_of(suggest, made.answers) if kind is not None else None
    if wrong is not None:
        raise fault(row(Decision, "suggest"), wrong)


def _with(shop: Shop, name: Said, off: list[str], own: list[Decision]) -> ShopEdit:
    policies = shop.policies.model_dump(mode="json", exclude_unset=True)
    if off or "decisions_off" in policies:
        policies["decisions_off"] = off
    if not off and policies.get("decisions_off") == []:
        del policies["decisions_off"]
    dumped = [decision.model_dump(exclude_unset=True) for decision in own]
    return with_fields(shop, name, {"policies": policies or None, "decisions": dumped or None})
