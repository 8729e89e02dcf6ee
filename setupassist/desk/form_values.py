"""Values of a form as a person reads and types them: in their units, within the range, told in a sentence where not.

What stands in a field is text; a size is two texts, a choice the name of one, yes or no a bool. A value that was not
typed anew keeps every digit that the document holds, however it is shown.
"""

from __future__ import annotations

import math
import re
from collections.abc import Mapping
from typing import Any

from setupassist.desk.forms import Field, FieldKind, Unit
from setupassist.documents.base import Document, read_document
from setupassist.errors import InputFault, InputFaults
from setupassist.quantities import GRAMS_PER_OUNCE, MM_PER_INCH, per_cm
from setupassist.resource_files import read_toml
from setupassist.trade.mesh import label_per_inch
from setupassist.words import Said, joined, say

Typed = str | bool | tuple[str, str]

UNSET = object()
"""Takes a field back to what is meant without it."""

_NUMBER = re.compile(r"[+-]?(\d+(\.\d*)?|\.\d+)([eE][+-]?\d{1,3})?")
_WHOLE = re.compile(r"[+-]?\d{1,15}")
_STATIONS = re.compile(r"(\d{1,4})(?:\s*[-–]\s*(\d{1,4}))?")
_MOST_STATIONS_TYPED = 1000

_TIMES: dict[Unit, tuple[float, float]] = {
    Unit.MM: (1.0, 1 / MM_PER_INCH),
    Unit.SPEED: (1.0, 1 / MM_PER_INCH),
    Unit.BELT: (1.0, 1 / 0.3048),
    Unit.GRAMS: (1.0, 1 / GRAMS_PER_OUNCE),
    Unit.SHARE: (100.0, 100.0),
}
"""What a document's number is multiplied with to be shown: metric, inch."""
_TWO_WORDS = frozenset({Unit.MM, Unit.SPEED, Unit.BELT, Unit.GRAMS, Unit.MESH})


def unit_word(field: Field, units: str) -> str:
    """The unit that the field is shown in, in words; empty where it counts plain things."""
    if field.unit is Unit.NONE:
        return ""
    return say(f"shop_fields.unit.{field.unit}{'-inch' if units == 'inch' and field.unit in _TWO_WORDS else ''}")


def shown(field: Field, value: Any, units: str) -> Typed:
    """The value as it stands in the field."""
    if field.kind is FieldKind.YES_NO:
        return bool(value)
    if field.kind is FieldKind.SIZE:
        return (_told(value[0], field.unit, units), _told(value[1], field.unit, units))
    if value is None:
        return ""
    if field.kind is FieldKind.STATIONS:
        return stations_text(value)
    if field.kind is FieldKind.NUMBER:
        return _told(value, field.unit, units)
    return str(value)


def in_words(field: Field, value: Any, units: str) -> str:
    """The value in a sentence: with its unit, a choice or yes and no worded; empty where there is none."""
    if value is None or value == ():
        return ""
    if field.kind is FieldKind.YES_NO:
        return say(f"shop_fields.{'yes' if value else 'no'}")
    if field.kind is FieldKind.CHOICE:
        return field.choice(str(value))
    told = shown(field, value, units)
    text = f"{told[0]} × {told[1]}" if isinstance(told, tuple) else str(told)
    unit = unit_word(field, units)
    return say("shop_fields.with-unit", number=text, unit=unit) if unit else text


def range_words(field: Field, units: str) -> str:
    """The range in words, without its unit; empty where there is none."""
    low, high = field.low, field.high
    told = {
        "low": _told(low.value, field.unit, units) if low else "",
        "high": _told(high.value, field.unit, units) if high else "",
    }
    if low is None and high is None:
        return ""
    if high is None:
        return say(f"shop_fields.range.{'least' if low and low.inside else 'above'}", low=told["low"])
    if low is None:
        return say(f"shop_fields.range.{'most' if high.inside else 'below'}", high=told["high"])
    return say(f"shop_fields.range.{'both' if low.inside else 'above-to'}", **told)


def typed(field: Field, text: Typed, units: str, was: Any = None) -> Any:
    """The document's value of what stands in the field; UNSET where an emptied field has a usual value.

    ``was`` is the value that the field showed before. Raises InputFault with the field's label and a sentence.
    """
    if was is not None and text == shown(field, was, units):
        return was
    if field.kind is FieldKind.YES_NO:
        return bool(text)
    if field.kind is FieldKind.SIZE:
        return _size(field, text, units, was)
    text = str(text).strip()
    if not text and field.kind is not FieldKind.STATIONS:
        if field.may_be_empty:
            return UNSET
        raise fault(field, say("shop_fields.fault.empty"))
    if field.kind is FieldKind.STATIONS:
        return stations_of(field, text)
    if field.kind is FieldKind.WHOLE:
        if not _WHOLE.fullmatch(text):
            raise fault(field, say("shop_fields.fault.no-whole-number"))
        return int(_within(field, float(text), units))
    if field.kind is FieldKind.NUMBER:
        return _number(field, text, units)
    if field.kind is FieldKind.CHOICE and text not in field.choices:
        raise fault(field, say("shop_fields.fault.no-choice", choices=joined(map(field.choice, field.choices))))
    return text


def fault(field: Field, what: str) -> InputFault:
    """What is wrong with a field, its label in front."""
    return InputFault(field.label, what)


def stations_text(stations: tuple[int, ...]) -> str:
    """``2-9, 11`` of a list of stations."""
    runs: list[list[int]] = []
    for station in stations:
        if runs and station == runs[-1][-1] + 1:
            runs[-1].append(station)
        else:
            runs.append([station])
    parts = [str(r[0]) if len(r) == 1 else f"{r[0]}{', ' if len(r) == 2 else '-'}{r[-1]}" for r in runs]
    return ", ".join(parts)


def stations_of(field: Field, text: str) -> tuple[int, ...]:
    """The stations of ``2-9, 11``."""
    told: list[int] = []
    for part in filter(None, (each.strip() for each in re.split(r"[,;]", text))):
        found = _STATIONS.fullmatch(part)
        if found is None:
            raise fault(field, say("shop_fields.fault.no-stations"))
        first, last = int(found[1]), int(found[2] or found[1])
        if last < first or last - first > _MOST_STATIONS_TYPED:
            raise fault(field, say("shop_fields.fault.no-stations"))
        told += range(first, last + 1)
    return tuple(told)


def with_values(document: Document, values: Mapping[str, Any], *, fields: Mapping[str, Field]) -> Document:
    """The document with the values at those paths. The source of a value that changes is left out: it spoke of the old.

    Raises InputFault or InputFaults; ``where`` of each is the label of its field.
    """
    told = document.model_dump(mode="json", by_alias=True, exclude_unset=True)
    sources = told.get("sources", {})
    for path, value in values.items():
        _put(told, document, path.split("."), value)
        sources.pop(path.partition(".")[0], None)
    if not sources:
        told.pop("sources", None)
    try:
        return read_document(type(document), told, "")
    except InputFault as error:
        raise of_fields(error, fields, next(iter(values), "")) from None


def with_source(document: Document, field: Field, source: str) -> Document:
    """The document with what is told of where a value comes from; an empty text takes it out."""
    told = document.model_dump(mode="json", by_alias=True, exclude_unset=True)
    sources = {**told.get("sources", {}), field.top: source.strip()}
    told["sources"] = {name: text for name, text in sources.items() if text}
    if not told["sources"]:
        del told["sources"]
    return read_document(type(document), told, "")


def of_fields(error: InputFault, fields: Mapping[str, Field], edited: str) -> InputFault:
    """A document's faults with labels instead of names of fields; what names no field is of ``edited``."""
    faults = error.faults if isinstance(error, InputFaults) else [error]
    made = []
    for each in faults:
        what, named = each.what, edited
        if isinstance(what, Said) and what.key.startswith("documents.field.told"):
            alias = str(what.values["field"])
            named = next((p for p, f in fields.items() if alias in (_alias_path(p, f), f.alias)), edited)
            what = what.values["what"]
        label = fields[named].label if named in fields else each.where
        made.append(InputFault(label, _relabelled(what, fields), each.remedy))
    return made[0] if len(made) == 1 else InputFaults(made)


def _alias_path(path: str, field: Field) -> str:
    lead, dot, _ = path.rpartition(".")
    return f"{lead}{dot}{field.alias}"


def _relabelled(what: str, fields: Mapping[str, Field]) -> str:
    """A document's own sentence with labels for the names of fields in it."""
    if not isinstance(what, Said):
        return what
    own = f"shop_fields.document.{what.key.rpartition('.')[2]}"
    labels = {field.alias: field.label for field in fields.values()}
    told = {name: labels.get(value, value) if name == "field" else value for name, value in what.values.items()}
    return say(own, **told) if own in _OWN_SENTENCES else say(what.key, **told)


_OWN_SENTENCES = frozenset(
    f"shop_fields.document.{name}"
    for name in (
        "dwell-range",
        "no-heads",
        "no-head",
        "off-the-way",
        "beyond-stations",
        "station-twice",
        "entries-alike",
    )
)


def _put(told: dict[str, Any], document: Document, path: list[str], value: Any) -> None:
    alias = type(document).model_fields[path[0]].alias or path[0]
    if len(path) == 1:
        if value is UNSET:
            told.pop(alias, None)
        else:
            told[alias] = value
        return
    inner = getattr(document, path[0])
    told.setdefault(alias, inner.model_dump(mode="json", by_alias=True, exclude_unset=True))
    _put(told[alias], inner, path[1:], value)


def _size(field: Field, text: Typed, units: str, was: Any) -> tuple[float, float] | object:
    pair = text if isinstance(text, tuple) else ("", "")
    if not any(each.strip() for each in pair) and field.may_be_empty:
        return UNSET
    before = (None, None) if was is None else was
    return (_side(field, pair[0], units, before[0]), _side(field, pair[1], units, before[1]))


def _side(field: Field, text: str, units: str, was: float | None) -> float:
    if was is not None and text.strip() == _told(was, field.unit, units):
        return was
    return _number(field, text, units)


def _number(field: Field, text: str, units: str) -> float:
    if not _NUMBER.fullmatch(text.strip()):
        raise fault(field, say("shop_fields.fault.no-number"))
    value = float(text)
    if not math.isfinite(value):
        raise fault(field, say("shop_fields.fault.no-number"))
    return _within(field, _stored(value, field.unit, units), units)


def _within(field: Field, value: float, units: str) -> float:
    """The value where it lies in the range; one that reads like an end of it is that end."""
    ends = [bound for bound in (field.low, field.high) if bound is not None and bound.inside]
    near = next((b.value for b in ends if _told(value, field.unit, units) == _told(b.value, field.unit, units)), value)
    low, high = field.low, field.high
    under = low is not None and (near < low.value or (near == low.value and not low.inside))
    over = high is not None and (near > high.value or (near == high.value and not high.inside))
    if under or over:
        raise fault(field, say("shop_fields.fault.out-of-range", range=in_range(field, units)))
    return near


def in_range(field: Field, units: str) -> str:
    """The range with its unit."""
    told, unit = range_words(field, units), unit_word(field, units)
    return say("shop_fields.with-unit", number=told, unit=unit) if unit and told else told


def _factor(unit: Unit, units: str) -> float:
    metric, inch = _TIMES.get(unit, (1.0, 1.0))
    return inch if units == "inch" else metric


def _stored(value: float, unit: Unit, units: str) -> float:
    if unit is Unit.MESH and units == "inch":
        labels = read_toml("trade/mesh_labels.toml")["label"]
        found = next((entry["mesh_per_cm"] for entry in labels if entry["mesh_per_inch"] == value), None)
        return float(found) if found is not None else round(per_cm(value), 4)
    factor = _factor(unit, units)
    return value if factor == 1 else float(f"{value / factor:.9g}")


def _told(value: float, unit: Unit, units: str) -> str:
    if unit is Unit.MESH and units == "inch":
        return _plain(label_per_inch(value), 0)
    factor = _factor(unit, units)
    if factor == 1:
        return _exact(value)
    if unit is Unit.SHARE:
        return _exact(float(f"{value * factor:.10g}"))
    made = value * factor
    whole_digits = math.floor(math.log10(abs(made))) + 1 if made else 1
    return _plain(made, min(8, max(0, (4 if whole_digits > 0 else 3) - whole_digits)))


def _exact(value: float) -> str:
    text = f"{value:.15f}".rstrip("0").rstrip(".") if abs(value) < 1e-3 else f"{value:.12g}"
    return text if float(text) == value else repr(float(value))


def _plain(value: float, decimals: int) -> str:
    text = f"{value:.{decimals}f}"
    return text.rstrip("0").rstrip(".") if "." in text else text
