"""Every edit of the shop book: a name that undo can show, and the book as it is afterwards.

As with a job, an edit is worked out whole before it is kept: each function raises InputFault, and then nothing has
changed.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from setupassist.desk.form_values import of_fields, with_source, with_values
from setupassist.desk.forms import Field, rows_of
from setupassist.desk.press_fit import fitted
from setupassist.desk.shop_entries import MODEL_OF, Section, entries, told_of
from setupassist.documents.base import MOST_NAME_LENGTH, Document, read_document
from setupassist.documents.press import Press
from setupassist.documents.shop import Shop
from setupassist.errors import InputFault
from setupassist.words import Said, Words, say

WHERE = "shop"


@dataclass(frozen=True)
class ShopEdit:
    """A shop book after an edit; edits in a row with the same ``merges`` are undone as one. ``note`` is told once."""

    name: Said
    shop: Shop
    merges: str = ""
    note: str = ""


def with_fields(shop: Shop, name: Said, fields: Mapping[str, Any], *, merges: str = "", note: str = "") -> ShopEdit:
    """The book with whole fields in place of its own; None takes a field back to its default."""
    told = shop.model_dump(mode="json", by_alias=True, exclude_unset=True)
    for field, value in fields.items():
        if value is None:
            told.pop(field, None)
        else:
            told[field] = value
    return ShopEdit(name, read_document(Shop, told, WHERE), merges, note)


def shop_name(shop: Shop, text: str) -> ShopEdit:
    """Another name of the shop."""
    try:
        return with_fields(shop, say("place_shop.edit.shop-name"), {"name": text})
    except InputFault as error:
        fields = {field.path: field for field in rows_of(Shop)}
        raise of_fields(error, fields, "name") from None


def values(
    shop: Shop, section: Section, at: int, changes: Mapping[str, Any], *, units: str = "metric", merges: bool = False
) -> ShopEdit:
    """Values of the entry in place ``at``; UNSET takes one back to what is meant without it.

    A press whose stations, load or unload change keeps what can stay (see ``press_fit``).
    """
    entry = entries(shop, section)[at]
    model = MODEL_OF[section]
    fields = {field.path: field for field in rows_of(model)}
    told, note = fitted(entry, changes) if isinstance(entry, Press) else (dict(changes), "")
    made = with_values(entry, told, fields=fields)
    title = told_of(entry, units).name
    first = fields[next(iter(changes))]
    name = say("place_shop.edit.change", field=first.label, entry=title)
    if len(changes) > 1:
        name = say("place_shop.edit.change-several", entry=title)
    try:
        return _with_entry(
            shop, section, at, made, name, merges=f"{section} {at} {first.path}" if merges else "", note=note
        )
    except InputFault as error:
        raise of_fields(error, fields, "name" if "name" in changes else first.path) from None


def source(shop: Shop, section: Section, at: int, field: Field, text: str) -> ShopEdit:
    """Where a value of an entry comes from."""
    made = with_source(entries(shop, section)[at], field, text)
    return _with_entry(shop, section, at, made, say("place_shop.edit.source", field=field.label))


def _with_entry(
    shop: Shop, section: Section, at: int, made: Document, name: Said, *, merges: str = "", note: str = ""
) -> ShopEdit:
    told = made.model_dump(mode="json", by_alias=True, exclude_unset=True)
    if section is Section.POLICIES:
        return with_fields(shop, name, {"policies": told}, merges=merges, note=note)
    whole = _dumped(shop, section)
    whole[at] = told
    return with_fields(shop, name, {section.value: whole}, merges=merges, note=note)


def _dumped(shop: Shop, section: Section) -> list[dict[str, Any]]:
    return [entry.model_dump(mode="json", by_alias=True, exclude_unset=True) for entry in entries(shop, section)]


def add(shop: Shop, section: Section, words: Words) -> ShopEdit:
    """One more entry at the end, with values to start from."""
    told = dict(_BLANK[section])
    if "name" in MODEL_OF[section].model_fields:
        told = {"name": _free_name(shop, section, words.say(f"place_shop.new.{section}"))} | told
    name = say(f"place_shop.edit.add.{section}")
    return with_fields(shop, name, {section.value: [*_dumped(shop, section), told]})


_BLANK: dict[Section, dict[str, Any]] = {
    Section.PRESSES: {"stations": 10, "load": 1, "unload": 10, "heads": [2, 3, 4, 5, 6, 7, 8, 9]},
    Section.SCREENS: {"mesh_per_cm": 61, "thread_um": 64},
    Section.INKS: {},
    Section.FLASH_UNITS: {},
    Section.DRYERS: {"heated_length_mm": 3000},
}


def copy(shop: Shop, section: Section, at: int) -> ShopEdit:
    """The entry once more, right below it."""
    whole = _dumped(shop, section)
    made = dict(whole[at])
    if "name" in made:
        made["name"] = _free_name(shop, section, made["name"])
    whole.insert(at + 1, made)
    return with_fields(shop, say(f"place_shop.edit.add.{section}"), {section.value: whole})


def remove(shop: Shop, section: Section, at: int, *, units: str = "metric") -> ShopEdit:
    """The book without the entry."""
    title = told_of(entries(shop, section)[at], units).name
    whole = _dumped(shop, section)
    del whole[at]
    return with_fields(shop, say("place_shop.edit.remove", entry=title), {section.value: whole})


def move(shop: Shop, section: Section, at: int, to: int, *, units: str = "metric") -> ShopEdit:
    """The entry in another place of its list."""
    title = told_of(entries(shop, section)[at], units).name
    whole = _dumped(shop, section)
    whole.insert(to, whole.pop(at))
    return with_fields(shop, say("place_shop.edit.move", entry=title), {section.value: whole})


def _free_name(shop: Shop, section: Section, name: str) -> str:
    taken = {getattr(entry, "name", "") for entry in entries(shop, section)}
    base = name.rstrip("0123456789").rstrip() or name
    if name not in taken:
        return name
    for number in range(2, len(taken) + 3):
        end = f" {number}"
        made = base[: MOST_NAME_LENGTH - len(end)].rstrip() + end
        if made not in taken:
            return made
    raise AssertionError("there is always a number that is free")


def whole_book(shop: Shop, name: Said) -> ShopEdit:
    """Another book in place of this one: an import, or the example again."""
    return ShopEdit(name, shop)


def renamed(name: str) -> Said:
    """What is told where the open job still names a press that was renamed."""
    return say("place_shop.form.renamed", name=name)
