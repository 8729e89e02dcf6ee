"""What a person typed into the form of an entry: taken where it is valid, kept with a sentence where it is not yet."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

from setupassist.desk import shop_edits
from setupassist.desk.form_values import UNSET, Typed, typed
from setupassist.desk.forms import Field, rows_of, value_at
from setupassist.desk.shop_edits import ShopEdit
from setupassist.desk.shop_entries import MODEL_OF, Section, entries
from setupassist.documents.shop import Shop
from setupassist.errors import InputFault


@dataclass(frozen=True)
class Entered:
    """``edit`` is what could be taken, None where nothing changes; ``left`` what could not, with its ``faults``."""

    edit: ShopEdit | None
    left: Mapping[str, Typed] = field(default_factory=dict)
    faults: Mapping[str, str] = field(default_factory=dict)


def entered(
    shop: Shop, section: Section, at: int, texts: Mapping[str, Typed], *, last: str, units: str, merges: bool = False
) -> Entered:
    """The texts of an entry's fields, ``last`` being the one just typed.

    Values that are valid only together (both ends of a range, a new load and unload) are taken together; else each
    that is valid by itself. What was there before stays in force for the others.
    """
    entry = entries(shop, section)[at]
    fields = {f.path: f for f in rows_of(MODEL_OF[section])}
    values, faults = {}, {}
    for path, text in texts.items():
        was = value_at(entry, path)
        try:
            value = typed(fields[path], text, units, was)
        except InputFault as fault:
            faults[path] = fault.what
            continue
        if not _same(fields[path], value, was):
            values[path] = value
    made: ShopEdit | None = None
    ready = values
    if len(values) > 1:
        try:
            made, ready = shop_edits.values(shop, section, at, values, units=units, merges=merges), {}
        except InputFault:
            made = None
    for path in sorted(ready, key=lambda each: each != last):
        try:
            edit = shop_edits.values(
                made.shop if made else shop, section, at, {path: ready[path]}, units=units, merges=merges
            )
        except InputFault as fault:
            faults[path] = fault.what
            continue
        made = edit if made is None else ShopEdit(made.name, edit.shop, "", made.note or edit.note)
    left = {path: texts[path] for path in texts if path in faults}
    return Entered(made if made is not None and made.shop != shop else None, left, faults)


def _same(of: Field, value: object, was: object) -> bool:
    if value is UNSET:
        return bool(was == of.default)
    return value == was or (isinstance(was, tuple) and isinstance(value, tuple | list) and tuple(value) == was)
