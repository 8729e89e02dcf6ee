"""What a finding can be answered with: the limits of the shop book that it comes from, and answers of the job."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from setupassist.desk import edits
from setupassist.desk.asked import asked
from setupassist.desk.desk import Desk
from setupassist.desk.edits import Edit
from setupassist.desk.forms import Field, row, source_of, value_at
from setupassist.desk.shop_entries import MODEL_OF, Section, entries
from setupassist.documents.job import Job
from setupassist.documents.measure import Finding
from setupassist.documents.plan import FOR_GROUP
from setupassist.documents.shop import Shop
from setupassist.words import say

POLICIES_OF: Mapping[str, tuple[str, ...]] = {
    "base-peeks-out": ("peek_out_mm",),
    "base-not-choked": ("register_tolerance_mm",),
    "base-missing-under": ("bare_share",),
    "base-leaves-bare": ("bare_share",),
    "colours-gap": ("hairline_mm", "hairline_run_mm"),
    "line-too-fine": ("line_threads",),
    "gap-too-fine": ("gap_threads",),
    "specks": ("speck_threads",),
    "dots-lost": ("lost_dots_share", "speck_threads"),
    "shadows-fill": ("lost_dots_share", "speck_threads"),
    "ruling-too-fine": ("least_mesh_per_ruling",),
}
"""The policies of the shop book that a finding is judged by, by its code."""

ANSWERS_OF: Mapping[str, tuple[tuple[str, str], ...]] = {
    "base-peeks-out": (("base-shows", "yes"),),
    "base-not-choked": (("base-shows", "yes"),),
}
"""Questions and the answers that set a finding aside, by its code."""


@dataclass(frozen=True)
class Limit:
    """A value of the shop book that a finding comes from: which entry it stands in, and its field."""

    section: Section
    at: int
    field: Field

    def value(self, shop: Shop) -> object:
        """The value in force."""
        return value_at(entries(shop, self.section)[self.at], self.field.path)

    def source(self, shop: Shop) -> str:
        """Where the book says that it comes from; empty where it does not."""
        return source_of(entries(shop, self.section)[self.at], self.field)


@dataclass(frozen=True)
class Offer:
    """An answer of the job that sets a finding aside: the question's id, the answer, and each of both in words."""

    question: str
    answer: str
    text: str
    told: str


def limits_of(desk: Desk, finding: Finding) -> tuple[Limit, ...]:
    """The limits of the shop book that a finding comes from; () where it comes from none."""
    policies = MODEL_OF[Section.POLICIES]
    limits = [Limit(Section.POLICIES, 0, row(policies, name)) for name in POLICIES_OF.get(finding.code, ())]
    if finding.code == "art-too-large" and isinstance(desk.job.press, str):
        wanted = desk.job.press.casefold()
        for at, press in enumerate(desk.shop.presses):
            if press.name.casefold() == wanted:
                limits.append(Limit(Section.PRESSES, at, row(MODEL_OF[Section.PRESSES], "max_print_mm")))
    return tuple(limits)


def offers_of(desk: Desk, finding: Finding) -> tuple[Offer, ...]:
    """The answers that would set a finding aside, of questions that the job is asked and answers otherwise now."""
    from setupassist.steps.questions import answer_words

    wanted = ANSWERS_OF.get(finding.code, ())
    offers = []
    for one in asked(desk):
        for question, answer in wanted:
            mine = one.question.id == question or one.question.id.startswith(f"{question}{FOR_GROUP}")
            if mine and one.given != answer and answer in one.question.answers:
                told = say("place_art_check.limit.answer", answer=answer_words(answer))
                offers.append(Offer(one.question.id, answer, one.question.text, told))
    return tuple(offers)


def answered(job: Job, offer: Offer) -> Edit:
    """The edit that gives an offered answer."""
    return edits.answer(job, offer.question, offer.answer)
