"""The short interview of the first start: five steps that make a valid shop book, each of which may be left as it is.

What is told goes into a book of its own from the first step on, through the same forms and edits as everywhere else;
it becomes the shop's book only when the person says so.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from enum import StrEnum
from functools import cache

from setupassist.desk import shop_edits
from setupassist.desk.entering_shop import Entered, entered
from setupassist.desk.form_values import Typed
from setupassist.desk.press_fit import toggled
from setupassist.desk.shop_edits import ShopEdit, with_fields
from setupassist.desk.shop_entries import Section
from setupassist.documents.press import Press
from setupassist.documents.shop import Shop
from setupassist.documents.terms import InkSystem
from setupassist.quantities import Units
from setupassist.resource_files import read_toml
from setupassist.steps.decisions import shipped_rows
from setupassist.words import Words, say

INK_ROW = "ink-system-unknown"
PAIRING = "common practice: a usual pairing of count and thread"
MOST_OF_A_MESH = 10_000
USUAL_OF_A_MESH = 4
LETTER_LANGUAGES = frozenset({"es"})
"""Languages of shops that print on Letter though they measure in mm, as in Mexico."""


class Step(StrEnum):
    """What is asked, in this order."""

    SHOP = "shop"
    PRESS = "press"
    STATIONS = "stations"
    MESHES = "meshes"
    INK = "ink"


POLICY_FIELDS = ("units", "paper")
PRESS_FIELDS = ("name", "stations", "load", "unload", "max_print_mm")
"""What the first two steps ask, by the paths of the forms."""


@dataclass(frozen=True)
class Interview:
    """Where the interview stands: the book so far, the meshes ticked with how many of each, the usual ink."""

    shop: Shop
    step: Step = Step.SHOP
    stock: tuple[tuple[float, int], ...] = ()
    system: InkSystem = InkSystem.PLASTISOL

    @property
    def press(self) -> Press:
        """The press that is told of."""
        return self.shop.presses[0]

    @property
    def units(self) -> str:
        """Units that lengths are asked in."""
        return self.shop.policies.units

    @property
    def number(self) -> int:
        """Place of the step, from 1."""
        return list(Step).index(self.step) + 1


def begun(words: Words, units: str) -> Interview:
    """A new interview, with a press of ten stations to start from and names in the person's language."""
    press = {"name": words.say("interview.press-name"), "stations": 10, "load": 1, "unload": 10}
    paper = "letter" if units == Units.INCH or words.language in LETTER_LANGUAGES else "a4"
    shop = Shop(format="setupassist-shop/1", name=words.say("interview.shop-name"))
    told = {
        "presses": [{**press, "heads": list(range(2, 10))}],
        "policies": {"units": units, "paper": paper},
    }
    return Interview(with_fields(shop, say("place_shop.edit.interview", shop=shop.name), told).shop)


def gone(interview: Interview, by: int) -> Interview:
    """One step on or back; the first and last stay."""
    steps = list(Step)
    at = min(len(steps) - 1, max(0, interview.number - 1 + by))
    return replace(interview, step=steps[at])


def named(interview: Interview, text: str) -> Interview:
    """The shop's name; InputFault where it is none."""
    return replace(interview, shop=shop_edits.shop_name(interview.shop, text).shop)


def told(interview: Interview, section: Section, texts: Mapping[str, Typed], last: str) -> tuple[Interview, Entered]:
    """What was typed of the press or the policies; what is not valid comes back with its sentences."""
    got = entered(interview.shop, section, 0, texts, last=last, units=interview.units)
    if got.edit is None:
        return interview, got
    return replace(interview, shop=got.edit.shop), got


def switched(interview: Interview, name: str, station: int) -> Interview:
    """A head or flash slot put in or taken out; InputFault for the last head."""
    change = {name: toggled(interview.press, name, station)}
    return replace(interview, shop=shop_edits.values(interview.shop, Section.PRESSES, 0, change).shop)


@cache
def usual_meshes() -> tuple[tuple[float, float, float], ...]:
    """(threads per cm, threads per inch as labelled, usual thread in µm) of every usual count."""
    table = read_toml("trade/mesh_labels.toml")
    threads = {float(each["mesh_per_cm"]): float(each["thread_um"]) for each in table["pairing"]["mesh"]}
    return tuple(
        (float(each["mesh_per_cm"]), float(each["mesh_per_inch"]), threads[float(each["mesh_per_cm"])])
        for each in table["label"]
        if float(each["mesh_per_cm"]) in threads
    )


def stocked(interview: Interview, mesh_per_cm: float, quantity: int | None) -> Interview:
    """How many frames of a usual count there are; None takes it out of the stock."""
    stock = {mesh: count for mesh, count in interview.stock if mesh != mesh_per_cm}
    if quantity is not None:
        stock[mesh_per_cm] = min(MOST_OF_A_MESH, max(1, quantity))
    return replace(interview, stock=tuple(sorted(stock.items())))


def with_system(interview: Interview, system: InkSystem) -> Interview:
    """The usual ink."""
    return replace(interview, system=system)


def finished(interview: Interview, words: Words) -> ShopEdit:
    """The shop book as told: one edit that takes the place of the book there was."""
    shop, press = interview.shop, interview.press
    threads = {mesh: thread for mesh, _, thread in usual_meshes()}
    frame = list(press.frame_mm)
    screens = [
        {
            "mesh_per_cm": mesh,
            "thread_um": threads[mesh],
            "frame_mm": frame,
            "quantity": count,
            "sources": {"thread_um": PAIRING},
        }
        for mesh, count in interview.stock
    ]
    fields: dict[str, object] = {"screens": screens or None}
    if press.flash_units:
        fields["flash_units"] = [{"name": words.say("interview.flash-name"), "quantity": press.flash_units}]
    row = next(each for each in shipped_rows() if each.id == INK_ROW)
    if interview.system.value != row.suggest:
        system = words.say(f"terms.ink_system.{interview.system.value}")
        fields["decisions"] = [
            {
                "id": INK_ROW,
                "suggest": interview.system.value,
                "reason": words.say("interview.usual-ink", system=system),
                "source": words.say("interview.from-interview"),
            }
        ]
    return with_fields(shop, say("place_shop.edit.interview", shop=shop.name), fields)
