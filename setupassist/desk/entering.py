"""What a person types over a value: read as numbers in the document's units, with one sentence where it is none."""

from __future__ import annotations

import re

from setupassist.errors import InputFault, one_line
from setupassist.quantities import MM_PER_INCH
from setupassist.trade.mesh import label_per_inch
from setupassist.words import say

Value = float | int | str | None

_AMOUNT = r"(?:(\d+)\s+)?(\d+)\s*/\s*(\d+)|(\d+(?:[.,]\d+)?|[.,]\d+)"
_NUMBER = re.compile(rf"\s*(?:{_AMOUNT})\s*(.*?)\s*")
_MESH = re.compile(r"\s*(\d+(?:[.,]\d+)?)\s*(?:[-–/]\s*(\d+(?:[.,]\d+)?))?\s*(?:/|per|por)?\s*([a-z]*)\W*", re.I)
_INCH = frozenset({"in", "inch", "inches", "pulg", '"', "″"})
_MM = {"mm": 1.0, "cm": 10.0}

LENGTHS = frozenset({"squeegee_width_mm", "stroke_length_mm", "off_contact_mm"})
WHOLE = frozenset({"strokes", "tests", "spares"})
SHARES = frozenset({"spoilage"})
MESH = "mesh"


def entered(field: str, text: str, *, metric: bool) -> dict[str, Value]:
    """The document's fields that ``text`` means for ``field``; InputFault where it cannot be read.

    A length without a unit is in mm or, where ``metric`` is false, in inches (a fraction too); a mesh without one is
    per cm or per inch, with a thread in µm after a dash; a share is in percent.
    """
    if field == MESH:
        return _mesh(text, metric=metric)
    if field == "squeegee_shore":
        plain = " ".join(text.split())
        if not plain:
            raise InputFault("", say("desk.entering.nothing"))
        return {field: int(plain) if plain.isdecimal() else one_line(plain, 40)}
    number, unit = _number(text)
    if field in LENGTHS:
        return {field: round(number * _mm_in(unit, metric=metric), 4)}
    if field in SHARES:
        return {field: round(number / 100, 6)}
    if field in WHOLE:
        if not number.is_integer():
            raise InputFault("", say("desk.entering.not-whole", given=one_line(text, 40)))
        return {field: int(number)}
    return {field: number}


def shown(field: str, value: float | str, *, metric: bool) -> str:
    """The text that editing of a value begins with: ``entered`` reads it back."""
    if isinstance(value, str):
        return value
    if field in LENGTHS and not metric:
        value = value / MM_PER_INCH
    if field in SHARES:
        value = 100 * value
    return f"{value:.4g}" if abs(value) < 1000 else f"{value:.0f}"


def mesh_shown(mesh_per_cm: float, mesh_per_inch: float, *, metric: bool) -> str:
    """The count of a mesh as editing of it begins."""
    return f"{mesh_per_cm:.4g}" if metric else f"{mesh_per_inch:.4g}"


def _mesh(text: str, *, metric: bool) -> dict[str, Value]:
    found = _MESH.fullmatch(text)
    unit = found[3].lower() if found is not None else ""
    if found is None or (unit and unit != "cm" and unit not in _INCH):
        raise InputFault("", say("desk.entering.no-mesh", given=one_line(text, 40)))
    count, thread = _plain(found[1]), None if found[2] is None else _plain(found[2])
    in_cm = unit == "cm" or (not unit and metric)
    return {"mesh_per_inch": label_per_inch(count) if in_cm else count, "thread_um": thread}


def _number(text: str) -> tuple[float, str]:
    """A number, decimal or a fraction, and the unit after it."""
    found = _NUMBER.fullmatch(text)
    if found is None or found[3] == "0":
        raise InputFault("", say("desk.entering.no-number", given=one_line(text, 40)))
    whole, top, below, plain, unit = found.groups()
    number = _plain(plain) if plain is not None else int(whole or 0) + int(top) / int(below)
    return number, unit.lower()


def _plain(text: str) -> float:
    return float(text.replace(",", "."))


def _mm_in(unit: str, *, metric: bool) -> float:
    if unit in _MM:
        return _MM[unit]
    if unit in _INCH:
        return MM_PER_INCH
    if unit:
        raise InputFault("", say("desk.entering.no-length", given=unit))
    return 1.0 if metric else MM_PER_INCH
