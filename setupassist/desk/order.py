"""What the order is, as said and as taken: garment groups, pieces and sizes, place, ink system, press."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import Any

from setupassist.desk import edits
from setupassist.desk.asked import steps_known, told_of
from setupassist.desk.desk import Desk
from setupassist.desk.edits import Edit
from setupassist.desk.garment_art import cloth_of
from setupassist.documents.job import Job
from setupassist.documents.plan import FOR_GROUP
from setupassist.documents.press import Press
from setupassist.documents.terms import BleedTest, Fibre
from setupassist.errors import InputFault, one_line
from setupassist.resource_files import read_toml
from setupassist.words import say

TEXTS = frozenset({"name", "fabric"})
QUESTION_OF = {
    "colour": "garment-colour",
    "fibre": "fibre",
    "polyester_share": "polyester-share",
    "bleed_test": "bleed-test",
}
"""The question that asks for a field of a garment where the job does not tell it."""

_SIZE = re.compile(r"(.*\S)\s*[:=×]?\s*\b(\d{1,8})")
_NUMBER = re.compile(r"\d+(?:[.,]\d+)?")


@dataclass(frozen=True)
class GarmentLine:
    """One garment group as it is taken. ``told`` names the fields that the job tells; the rest is answered or assumed.

    ``share`` is the share of polyester, None where the fibre is no blend; ``bleed`` is None where no dye can bleed.
    """

    name: str
    colour: str
    fibre: Fibre
    share: float | None
    fabric: str
    bleed: BleedTest | None
    grams: float | None
    pieces: int | None
    told: frozenset[str]


def garment_lines(desk: Desk) -> tuple[GarmentLine, ...]:
    """Every garment group of the order."""
    return tuple(_line(desk, at) for at in range(len(desk.job.groups)))


def _line(desk: Desk, at: int) -> GarmentLine:
    from setupassist.steps.scene import Cloth, threshold

    garment, steps = desk.job.groups[at], steps_known(desk)
    told = frozenset(garment.model_fields_set)

    def answer(field: str) -> str | None:
        return told_of(desk, steps, QUESTION_OF[field], garment.name)

    fibre = garment.fibre
    if "fibre" not in told and answer("fibre") in set(Fibre):
        fibre = Fibre(str(answer("fibre")))
    share = None
    if fibre is Fibre.BLEND:
        said = answer("polyester_share")
        share = garment.polyester_share
        share = share if share is not None else (float(said) if said else threshold("polyester_of_blend"))
    colour = cloth_of(desk, at)
    polyester = {Fibre.POLYESTER: 1.0, Fibre.BLEND: share or 0.0}.get(fibre, 0.0)
    bleeds = Cloth(garment, colour, fibre, polyester, garment.bleed_test).dyed_polyester
    bleed = garment.bleed_test
    if bleed is BleedTest.NOT_DONE and answer("bleed_test") in set(BleedTest):
        bleed = BleedTest(str(answer("bleed_test")))
    return GarmentLine(
        name=garment.name,
        colour=colour,
        fibre=fibre,
        share=share,
        fabric=garment.fabric,
        bleed=bleed if bleeds or garment.bleed_test is not BleedTest.NOT_DONE else None,
        grams=garment.grams_per_m2,
        pieces=garment.pieces,
        told=told,
    )


def fabrics() -> tuple[str, ...]:
    """Cloths that the trade file knows to change something, plain jersey first."""
    return ("jersey", *read_toml("trade/fabrics.toml"))


def presses(desk: Desk) -> tuple[str, ...]:
    """Names of the presses that the job may run on, its own first where that is written out in the job."""
    names = [press.name for press in desk.shop.presses]
    own = desk.job.press
    return (own.name, *names) if isinstance(own, Press) and own.name not in names else tuple(names)


def garment_edit(job: Job, at: int, field: str, text: str) -> Edit:
    """The edit that tells a field of a garment group; an empty text leaves it to the questions again.

    A share is told in percent. Raises InputFault for what cannot be read.
    """
    plain = " ".join(text.split())
    value: str | float | int | None = None
    if plain:
        value = _read(field, plain)
    if field == "pieces" and isinstance(value, int):
        others = [group.pieces for place, group in enumerate(job.groups) if place != at]
        if all(count is not None for count in others):
            _sizes_agree(job, value + sum(count for count in others if count is not None))
    made = edits.garment(job, at, **{field: value})
    old, new = job.groups[at].name, made.job.groups[at].name
    if old != new:
        return _renamed(made, old, new)
    question = QUESTION_OF.get(field)
    if value is not None and question in job.answers and len(job.groups) == 1:
        return replace(made, job=edits.answer(made.job, question, None).job)
    return made


def _read(field: str, plain: str) -> str | float | int:
    from setupassist.colour import parse_colour, to_hex

    if field == "colour":
        try:
            return to_hex(parse_colour(plain))
        except ValueError as error:
            raise InputFault("", error.args[0]) from None
    if field == "pieces":
        return whole(plain)
    if field in ("polyester_share", "grams_per_m2"):
        found = _NUMBER.search(plain)
        if found is None:
            raise InputFault("", say("place_questions.fault.no-number", given=one_line(plain, 40)))
        number = float(found[0].replace(",", "."))
        return round(number / 100, 4) if field == "polyester_share" else number
    return plain


def whole(text: str) -> int:
    """A whole number that a person typed, thousands parted or not; InputFault where it is none."""
    plain = re.sub(r"[\s,.'](?=\d{3}\b)", "", text.strip())
    if not plain.isdecimal() or len(plain) > 8:
        raise InputFault("", say("place_questions.fault.no-number", given=one_line(text, 40)))
    return int(plain)


def remove_garment(job: Job, at: int) -> Edit:
    """The edit that takes a garment group out, with the answers it gave for itself."""
    made = edits.remove_garment(job, at)
    gone = f"{FOR_GROUP}{job.groups[at].name}"
    return _with_answers(made, {q: a for q, a in made.job.answers.items() if not q.endswith(gone)})


def add_garment(job: Job, name: str) -> Edit:
    """The edit that adds a garment group like the last one, under a name that no other bears."""
    names = {group.name for group in job.groups}
    free, number = name, 2
    while free in names:
        free, number = f"{name} {number}", number + 1
    return edits.add_garment(job, free)


def _renamed(made: Edit, old: str, new: str) -> Edit:
    """Answers that the group gave for itself go by its new name."""
    ending = f"{FOR_GROUP}{old}"
    return _with_answers(
        made,
        {
            (q.removesuffix(ending) + f"{FOR_GROUP}{new}" if q.endswith(ending) else q): a
            for q, a in made.job.answers.items()
        },
    )


def _with_answers(made: Edit, answers: Mapping[str, str]) -> Edit:
    if answers == made.job.answers:
        return made
    return replace(made, job=edits.with_fields(made.job, made.name, answers=dict(answers) or None).job)


def pieces_edit(job: Job, text: str) -> Edit:
    """The edit that tells the pieces of the order; sizes that are told must add up to them."""
    plain = text.strip()
    count = whole(plain) if plain else None
    if count is not None:
        _sizes_agree(job, count)
    return edits.pieces(job, count, job.sizes)


def _sizes_agree(job: Job, pieces: int) -> None:
    """InputFault where the sizes that are told count other pieces."""
    total = sum(job.sizes.values())
    if job.sizes and total != pieces:
        what = say("place_questions.fault.sizes-count", total=total, pieces=pieces)
        raise InputFault("", what, say("place_questions.fault.empty-sizes"))


def sizes_edit(job: Job, text: str) -> Edit:
    """The edit that tells the sizes as ``S 36, M 84``; of one garment group they tell the pieces too."""
    sizes = sizes_read(text)
    if len(job.groups) == 1:
        return edits.pieces(job, sum(sizes.values()) if sizes else job.total_pieces, sizes)
    return edits.with_fields(job, say("desk.edit.pieces"), sizes=sizes or None)


def sizes_read(text: str) -> dict[str, int]:
    """Pieces by size from ``S 36, M 84``; InputFault where a part is no size with a number."""
    sizes: dict[str, int] = {}
    for part in re.split(r"[,;\n]", text):
        plain = " ".join(part.split())
        if not plain:
            continue
        found = _SIZE.fullmatch(plain)
        if found is None or found[1] in sizes:
            given = one_line(plain, 40)
            raise InputFault("", say("place_questions.fault.no-size", given=given), say("place_questions.fault.sizes"))
        sizes[found[1].rstrip(":=× ")] = int(found[2])
    return sizes


def sizes_told(sizes: Mapping[str, int]) -> str:
    """Sizes as a person types them."""
    return ", ".join(f"{size} {pieces}" for size, pieces in sizes.items())


def pieces_are_sums(job: Job) -> bool:
    """Whether the pieces of the order are the sum of what its groups tell, so that nobody can tell them apart."""
    return len(job.groups) > 1 and all(group.pieces is not None for group in job.groups)


def ink_system_edit(job: Job, system: str) -> Edit:
    """The edit that tells the ink system of the whole job; "" leaves it to the inks and the questions."""
    made = edits.with_fields(job, say("place_questions.edit.ink-system"), ink_system=system or None)
    if system and "ink-system" in made.job.answers:
        return replace(made, job=edits.answer(made.job, "ink-system", None).job)
    return made


def text_edit(job: Job, field: str, text: str) -> Edit:
    """The edit that tells ``location`` or ``placement``."""
    plain = " ".join(text.split())
    fields: dict[str, Any] = {field: plain or None}
    return edits.with_fields(job, say(f"place_questions.edit.{field}"), **fields)
