"""Small presses, shops, jobs and measure documents for the steps."""

from __future__ import annotations

from collections.abc import Callable, Collection
from typing import Any

import pytest

from setupassist.documents.base import read_document
from setupassist.documents.job import Job
from setupassist.documents.measure import Measure
from setupassist.documents.press import Press
from setupassist.documents.shop import Shop
from setupassist.steps.needs import Steps
from setupassist.steps.work_out import work_out
from setupassist.trade.cautions import cautions
from setupassist.words import Words, words_in

PRESS = {
    "name": "ring of 12",
    "stations": 12,
    "load": 1,
    "unload": 12,
    "heads": [2, 3, 4, 5, 6, 7, 8, 9, 10, 11],
    "flash_slots": [3, 4, 6, 8, 10],
    "flash_units": 2,
}


class Desk:
    """Builds documents out of short words and works out the steps."""

    def __init__(self) -> None:
        self.shop: dict[str, Any] = {
            "format": "setupassist-shop/1",
            "name": "test shop",
            "screens": [{"mesh_per_cm": 90, "thread_um": 48, "quantity": 4}],
        }
        self.press: dict[str, Any] = dict(PRESS)

    def measure(
        self,
        *inks: dict[str, Any],
        overlaps: list[list[Any]] | None = None,
        edges: list[list[Any]] | None = None,
        chokes: list[dict[str, Any]] | None = None,
    ) -> Measure:
        """A measure document from ink figures; a colour is turned away, it belongs in the job."""
        plates = [{k: v for k, v in ink.items() if k != "colour"} for ink in inks]
        contacts: dict[frozenset[str], dict[str, Any]] = {}
        for field, rows in (("overlap_cm2", overlaps or []), ("shared_edge_cm", edges or [])):
            for one, two, value in rows:
                contacts.setdefault(frozenset((one, two)), {"plates": [one, two]})[field] = value
        data = {"plates": plates, "contacts": list(contacts.values()), "chokes": chokes or []}
        return read_document(Measure, data, "measure.json")

    def steps(
        self,
        *inks: dict[str, Any],
        garment: dict[str, Any] | None = None,
        system: str | None = "plastisol",
        overlaps: list[list[Any]] | None = None,
        edges: list[list[Any]] | None = None,
        chokes: list[dict[str, Any]] | None = None,
        **fields: Any,
    ) -> Steps:
        """The steps of a job of these inks; ``fields`` go into the job."""
        job: dict[str, Any] = {
            "format": "setupassist-job/1",
            "plates": "measure.json",
            "press": self.press,
            "pieces": 288,
        }
        job["inks"] = {ink["name"]: {"colour": ink["colour"]} for ink in inks if "colour" in ink}
        if garment is not None:
            job["garment"] = garment
        if system is not None:
            job["ink_system"] = system
        if "garments" in fields:
            del job["pieces"]
        job |= fields
        return work_out(
            read_document(Job, job, "job.json"),
            self.measure(*inks, overlaps=overlaps, edges=edges, chokes=chokes),
            shop=read_document(Shop, self.shop, "shop.toml"),
            press=read_document(Press, self.press, "press"),
        )


MADE_NAMES = ("made white base", "white base", "grey base", "tint base", "blocker")


def not_said(text: str, own: Collection[str]) -> str:
    """What of a text comes neither from a catalogue nor from somebody's own names."""
    worded = Words("en", lambda part: "".join("x" if char.isalpha() else char for char in part))(text)
    for name in sorted(own, key=len, reverse=True):
        worded = worded.replace(name, "")
    return "".join(char for char in worded if char.isalpha() and char != "x")


@pytest.fixture
def worded() -> Callable[..., None]:
    """Looks through all that the steps tell: none of it stands in code, and all of it can be said in Spanish."""

    def look(steps: Steps, own: Collection[str]) -> None:
        told = [text for q in steps.questions for text in (q.text, q.says, q.reason, q.source)]
        told += [text for name in steps.cautions for text in (cautions()[name].text, cautions()[name].cited)]
        for text in (*told, *steps.notes):
            assert not_said(text, {*own, *MADE_NAMES}) == "", text
            assert "{" not in words_in("es")(text)

    return look


@pytest.fixture
def desk() -> Desk:
    """A desk with a twelve-station press and a plain shop."""
    return Desk()
