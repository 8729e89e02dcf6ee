"""Forms made from the document models: what each field holds, within what range, in what unit, and how it is called.

Nothing here is written by hand for one field: kind, range, default and choices come from the model, the unit from the
end of the name (or a small table), label and help from the catalogue ``shop_fields``.
"""

from __future__ import annotations

import types
from collections.abc import Iterator
from dataclasses import dataclass, replace
from enum import Enum, StrEnum
from functools import cache
from typing import Annotated, Any, Literal, Union, get_args, get_origin

from pydantic import AfterValidator
from pydantic.fields import FieldInfo
from pydantic_core import PydanticUndefined

from setupassist.documents.base import Colour, Document
from setupassist.documents.press import DwellRange, Press
from setupassist.documents.shop import Decision, Dryer, FlashUnit, Ink, Policies, Shop, StockScreen
from setupassist.trade.typical import shop_source
from setupassist.words import Said, say

ROOMS: dict[type[Document], str] = {
    Shop: "shop",
    Press: "press",
    DwellRange: "dwell_range",
    StockScreen: "screen",
    Ink: "ink",
    FlashUnit: "flash_unit",
    Dryer: "dryer",
    Policies: "policies",
    Decision: "decision",
}
"""Models that have a form, with the table of the catalogue that holds their words."""


class FieldKind(StrEnum):
    """What a field holds."""

    WHOLE = "whole"
    NUMBER = "number"
    TEXT = "text"
    CHOICE = "choice"
    YES_NO = "yes-no"
    COLOUR = "colour"
    STATIONS = "stations"
    SIZE = "size"
    NAMES = "names"
    SUB_FORM = "sub-form"
    ENTRIES = "entries"
    SOURCES = "sources"


class Unit(StrEnum):
    """What a number counts in, in a document."""

    NONE = "none"
    MM = "mm"
    UM = "um"
    MESH = "mesh"
    NEWTONS = "newtons"
    VOLUME = "volume"
    SECONDS = "seconds"
    MINUTES = "minutes"
    SPEED = "speed"
    BELT = "belt"
    GRAMS = "grams"
    SHARE = "share"
    DENSITY = "density"
    DELTA_E = "delta-e"
    HARM = "harm"


_BY_END = (
    ("_m_per_min", Unit.BELT), ("_mm_per_second", Unit.SPEED), ("_mm", Unit.MM), ("_um", Unit.UM),
    ("_n_per_cm", Unit.NEWTONS), ("_cm3_m2", Unit.VOLUME), ("_per_cm", Unit.MESH), ("_seconds", Unit.SECONDS),
    ("_grams", Unit.GRAMS), ("_delta_e", Unit.DELTA_E), ("_share", Unit.SHARE),
)  # fmt: skip
_BY_NAME = {
    "print_mm_per_second": Unit.SPEED,
    "flood_mm_per_second": Unit.SPEED,
    "setup_minutes_per_screen": Unit.MINUTES,
    "setup_minutes_per_flash": Unit.MINUTES,
    "from_": Unit.SECONDS,
    "to": Unit.SECONDS,
    "step": Unit.SECONDS,
    "density": Unit.DENSITY,
    "spoilage": Unit.SHARE,
    "likely_share_of_pace": Unit.SHARE,
    "wet_touch": Unit.SHARE,
    "wet_harm_slack": Unit.HARM,
}
_WORDS_OF_CHOICES = {"system": "ink_system"}
_COLOUR_CHECK = next(a for a in get_args(Colour) if isinstance(a, AfterValidator)).func


@dataclass(frozen=True)
class Bound:
    """An end of a range; ``inside`` says whether the value itself is allowed."""

    value: float
    inside: bool


@dataclass(frozen=True)
class Field:
    """One field of a form. ``path`` leads to it through sub-forms (``dwell_seconds.from_``); values are the
    document's: mm, threads per cm, shares of one.
    """

    path: str
    alias: str
    room: str
    kind: FieldKind
    unit: Unit
    low: Bound | None
    high: Bound | None
    required: bool
    default: Any
    may_be_empty: bool
    choices: tuple[str, ...]
    form: type[Document] | None

    @property
    def label(self) -> Said:
        """What it is called."""
        return say(f"shop_fields.{self.room}.{self.alias}.label")

    @property
    def help(self) -> Said:
        """What it means, in a sentence."""
        return say(f"shop_fields.{self.room}.{self.alias}.help")

    @property
    def top(self) -> str:
        """Name of the document's own field that it lies in."""
        return self.path.partition(".")[0]

    def choice(self, value: str) -> Said:
        """One of its choices in words."""
        return say(f"terms.{_WORDS_OF_CHOICES.get(self.alias, self.alias)}.{value}")

    def usual(self) -> Any:
        """The value that is meant where none is given; None where there is no such value."""
        return None if self.required else self.default


@cache
def fields_of(model: type[Document]) -> tuple[Field, ...]:
    """The fields of a model in its order; a sub-form is one field."""
    return tuple(_field(model, name, info) for name, info in model.model_fields.items())


@cache
def rows_of(model: type[Document]) -> tuple[Field, ...]:
    """The fields that can be typed in, those of sub-forms in place of them; sources, entries and names apart."""
    return tuple(_rows(model, ""))


def _rows(model: type[Document], at: str) -> Iterator[Field]:
    for field in fields_of(model):
        path = at + field.path
        if field.kind is FieldKind.SUB_FORM:
            assert field.form is not None
            yield from _rows(field.form, f"{path}.")
        elif field.kind not in (FieldKind.SOURCES, FieldKind.ENTRIES, FieldKind.NAMES) and field.alias != "format":
            yield replace(field, path=path)


def row(model: type[Document], path: str) -> Field:
    """The field of that path."""
    return next(field for field in rows_of(model) if field.path == path)


def value_at(document: Document, path: str) -> Any:
    """The value that the document holds there."""
    value: Any = document
    for name in path.split("."):
        value = getattr(value, name)
    return value.value if isinstance(value, Enum) else value


def source_of(document: Document, field: Field) -> str:
    """Where the value comes from, as the entry tells; empty where it does not."""
    sources: dict[str, str] = getattr(document, "sources", {})
    return shop_source(sources[field.top]) if field.top in sources else ""


def _field(model: type[Document], name: str, info: FieldInfo) -> Field:
    bare, checks, optional = _bare(info.annotation, list(info.metadata))
    kind, choices, form = _kind(bare, checks)
    if kind is FieldKind.SIZE:
        _, checks, _ = _bare(get_args(bare)[0], [])
    default = None if info.default is PydanticUndefined else info.default
    return Field(
        path=name,
        alias=info.alias or name,
        room=ROOMS[model],
        kind=kind,
        unit=_unit(name, kind),
        low=_bound(checks, "ge", "gt"),
        high=_bound(checks, "le", "lt"),
        required=info.is_required(),
        default=default.value if isinstance(default, Enum) else default,
        may_be_empty=optional or not info.is_required(),
        choices=choices,
        form=form,
    )


def _bare(annotation: Any, checks: list[Any]) -> tuple[Any, list[Any], bool]:
    """The annotation without None and Annotated, all checks on it, and whether None is allowed."""
    optional = False
    while True:
        origin = get_origin(annotation)
        if origin in (Union, types.UnionType):
            inner = [arg for arg in get_args(annotation) if arg is not type(None)]
            optional = len(inner) < len(get_args(annotation))
            annotation = inner[0]
        elif origin is Annotated:
            first, *more = get_args(annotation)
            for check in more:
                checks = [*checks, *(check.metadata if isinstance(check, FieldInfo) else [check])]
            annotation = first
        else:
            return annotation, checks, optional


def _kind(bare: Any, checks: list[Any]) -> tuple[FieldKind, tuple[str, ...], type[Document] | None]:
    origin, args = get_origin(bare), get_args(bare)
    if origin is Literal:
        return FieldKind.CHOICE, tuple(map(str, args)), None
    if origin is dict:
        return FieldKind.SOURCES, (), None
    if origin is tuple:
        inner, _, _ = _bare(args[0], [])
        if isinstance(inner, type) and issubclass(inner, Document):
            return FieldKind.ENTRIES, (), inner
        if inner is float:
            return FieldKind.SIZE, (), None
        return (FieldKind.STATIONS if inner is int else FieldKind.NAMES), (), None
    if isinstance(bare, type) and issubclass(bare, Document):
        return FieldKind.SUB_FORM, (), bare
    if isinstance(bare, type) and issubclass(bare, Enum):
        return FieldKind.CHOICE, tuple(str(each.value) for each in bare), None
    if bare is str and any(getattr(check, "func", None) is _COLOUR_CHECK for check in checks):
        return FieldKind.COLOUR, (), None
    plain = {bool: FieldKind.YES_NO, int: FieldKind.WHOLE, float: FieldKind.NUMBER, str: FieldKind.TEXT}
    return plain[bare], (), None


def _unit(name: str, kind: FieldKind) -> Unit:
    if kind not in (FieldKind.NUMBER, FieldKind.SIZE, FieldKind.WHOLE):
        return Unit.NONE
    if name in _BY_NAME:
        return _BY_NAME[name]
    return next((unit for end, unit in _BY_END if name.endswith(end)), Unit.NONE)


def _bound(checks: list[Any], inside: str, outside: str) -> Bound | None:
    for check in checks:
        for name in (inside, outside):
            value = getattr(check, name, None)
            if value is not None:
                return Bound(float(value), name == inside)
    return None
