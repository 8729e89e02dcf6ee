"""What stands in the shop book, by kind: its entries with a name and a line each, and the groups of its policies."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

from setupassist.desk.form_values import in_words
from setupassist.desk.forms import Field, row, rows_of, value_at
from setupassist.documents.base import Document
from setupassist.documents.press import Press
from setupassist.documents.shop import Dryer, FlashUnit, Ink, Policies, Shop, StockScreen
from setupassist.trade.mesh import label_per_inch
from setupassist.words import joined, say


class Section(StrEnum):
    """Kinds of entries, by the name of the shop book's field."""

    PRESSES = "presses"
    SCREENS = "screens"
    INKS = "inks"
    FLASH_UNITS = "flash_units"
    DRYERS = "dryers"
    POLICIES = "policies"
    DECISIONS = "decisions"


MODEL_OF: dict[Section, type[Document]] = {
    Section.PRESSES: Press,
    Section.SCREENS: StockScreen,
    Section.INKS: Ink,
    Section.FLASH_UNITS: FlashUnit,
    Section.DRYERS: Dryer,
    Section.POLICIES: Policies,
}
LISTS = (Section.PRESSES, Section.SCREENS, Section.INKS, Section.FLASH_UNITS, Section.DRYERS)

POLICY_GROUPS: dict[str, tuple[str, ...]] = {
    "shown": ("units", "paper"),
    "run": ("tests", "spoilage", "likely_share_of_pace", "flash_seconds"),
    "set-up": ("setup_minutes_per_screen", "setup_minutes_per_flash"),
    "art": ("register_tolerance_mm", "choke_mm", "base_delta_e"),
    "checks": ("peek_out_mm", "bare_share", "hairline_mm", "hairline_run_mm", "lost_dots_share"),
    "around-art": ("travel_margin_mm", "squeegee_margin_mm", "frame_margin_mm"),
    "screens": (
        "mesh_per_ruling",
        "least_mesh_per_ruling",
        "opening_per_particle",
        "line_threads",
        "gap_threads",
        "speck_threads",
    ),
    "ink": ("ink_transfer_share", "residue_grams"),
    "order": ("colour_order", "alone_until_flash", "blend_stays_wet", "discharge_base_wet"),
    "wet": ("wet_harm_slack_share", "wet_harm_slack", "wet_touch", "unseen_delta_e"),
}
"""The policies that are shown together; each stands in one group. Decisions switched off are shown as decisions."""


@dataclass(frozen=True)
class Listed:
    """An entry as a list shows it: its name, and a line about it, both worded late."""

    name: str
    line: str
    colour: str | None = None
    swatch: bool = False


def entries(shop: Shop, section: Section) -> tuple[Document, ...]:
    """The entries of a kind; the policies are one entry."""
    told = getattr(shop, section)
    return told if isinstance(told, tuple) else (told,)


def count_of(shop: Shop, section: Section) -> int:
    """How many entries a kind has, as the list of kinds counts them."""
    return len(POLICY_GROUPS) if section is Section.POLICIES else len(entries(shop, section))


def listed(shop: Shop, section: Section, units: str) -> list[Listed]:
    """The entries of a kind for a list; policies by group."""
    if section is Section.POLICIES:
        return [_group(shop.policies, group, units) for group in POLICY_GROUPS]
    return [told_of(entry, units) for entry in entries(shop, section)]


def told_of(entry: Document, units: str) -> Listed:
    """An entry's name, a screen's mesh where it has none, and a line about it."""
    if isinstance(entry, Press):
        heads = len(set(entry.heads) - set(entry.out_of_service))
        parts = [
            say("place_shop.line.stations", count=entry.stations),
            say("place_shop.line.heads", count=heads),
            say("place_shop.line.flash-units", count=entry.flash_units),
        ]
        return Listed(entry.name, joined(parts))
    if isinstance(entry, StockScreen):
        counts = {"cm": f"{entry.mesh_per_cm:g}", "inch": f"{label_per_inch(entry.mesh_per_cm):g}"}
        thread = say("place_shop.line.thread", thread=f"{entry.thread_um:g}")
        stock = say("place_shop.line.in-stock", count=entry.quantity)
        return Listed(say(f"place_shop.line.mesh-{units}", **counts), joined([thread, stock]))
    if isinstance(entry, Ink):
        parts = [say(f"terms.ink_system.{entry.system.value}")]
        if entry.role is not None:
            parts.append(say(f"terms.role.{entry.role.value}"))
        return Listed(entry.name, joined(parts), entry.colour, swatch=True)
    if isinstance(entry, FlashUnit):
        start = f"{entry.start_seconds:g}"
        return Listed(entry.name, say("place_shop.line.flash", number=entry.quantity, seconds=start))
    if isinstance(entry, Dryer):
        length = in_words(row(Dryer, "heated_length_mm"), entry.heated_length_mm, units)
        return Listed(entry.name, joined([length, say("place_shop.line.lanes", count=entry.lanes)]))
    return Listed(say("place_shop.section.policies"), "")


def _group(policies: Policies, group: str, units: str) -> Listed:
    fields = [row(Policies, name) for name in POLICY_GROUPS[group]]
    told = [in_words(field, value_at(policies, field.path), units) for field in fields]
    return Listed(say(f"place_shop.policy.{group}"), joined(told))


def searched(shown: list[str], text: str) -> bool:
    """Whether every word looked for stands in one of the texts, capitals aside."""
    whole = " ".join(shown).casefold()
    return all(word in whole for word in text.casefold().split())


def fields_shown(section: Section, group: str = "") -> tuple[Field, ...]:
    """The fields of a form: those of a policy group, else all of the model."""
    fields = rows_of(MODEL_OF[section])
    if section is not Section.POLICIES:
        return fields
    return tuple(row(Policies, name) for name in POLICY_GROUPS[group])
