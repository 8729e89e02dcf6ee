"""The common habits of every document: frozen, strict, unknown fields refused with the nearest known name."""

from __future__ import annotations

import json
import math
import re
from collections.abc import Iterable, Sequence
from typing import Annotated, Any, TypeVar, Union, get_args, get_origin

from pydantic import (
    AfterValidator,
    BaseModel,
    BeforeValidator,
    ConfigDict,
    ValidationError,
    ValidatorFunctionWrapHandler,
    WrapValidator,
)

from setupassist.errors import InputFault, InputFaults, did_you_mean, one_line
from setupassist.words import ENGLISH, Said, joined, say, words_in
from setupassist.written_colours import parse_colour

MOST_NAME_LENGTH = 80
MOST_COUNT = 10_000_000
MOST_FAULTS_READ = 100
MOST_DEPTH = 60


class Document(BaseModel):
    """A frozen document; unknown fields, wrong types and non-finite numbers are refused."""

    model_config = ConfigDict(frozen=True, extra="forbid", strict=True, allow_inf_nan=False)


def _checked_name(name: str) -> str:
    if not name.strip():
        raise ValueError(say("documents.name.empty"))
    if len(name) > MOST_NAME_LENGTH:
        raise ValueError(say("documents.name.too-long", most=MOST_NAME_LENGTH))
    if not name.isprintable():
        raise ValueError(say("documents.name.control-character"))
    return name.strip()


def _checked_ink_name(name: str) -> str:
    name = _checked_name(name)
    if name.lower() == "flash":
        raise ValueError(say("documents.name.flash"))
    return name


def _checked_colour(text: str) -> str:
    parse_colour(text)
    return text


def _whole_number_key(key: Any) -> Any:
    if isinstance(key, str) and re.fullmatch(r"0|[1-9][0-9]{0,8}", key):
        return int(key)
    return key


def _kept_said(text: Any, handler: ValidatorFunctionWrapHandler) -> str:
    return text if isinstance(text, Said) else str(handler(text))


Text = Annotated[str, WrapValidator(_kept_said)]
"""A sentence for people: what was said by id keeps its id, so that a face can say it in another language."""

Name = Annotated[str, AfterValidator(_checked_name)]
InkName = Annotated[str, AfterValidator(_checked_ink_name)]
Colour = Annotated[str, AfterValidator(_checked_colour)]
StationKey = Annotated[int, BeforeValidator(_whole_number_key)]

D = TypeVar("D", bound=Document)


def read_document(model: type[D], data: Any, where: str) -> D:
    """``data`` (JSON-like) as a document of type ``model``.

    Raises InputFaults with one plain sentence a fault; ``where`` names the file in each.
    """
    try:
        text = json.dumps(data, allow_nan=False, ensure_ascii=False).encode("utf-8")
    except UnicodeEncodeError:
        what, remedy = say("documents.value.half-character"), say("documents.value.write-anew")
        raise InputFault(where, what, remedy) from None
    except (TypeError, ValueError, RecursionError) as error:
        odd = _odd_value(data)
        what = say("documents.value.not-for-documents", field=odd) if odd else say("documents.value.too-deep")
        raise InputFault(where, what, say("documents.value.use-plain-values")) from error
    try:
        return model.model_validate_json(text)
    except ValidationError as error:
        raise InputFaults(_faults(model, error, where)) from None


def _odd_value(data: Any, at: str = "", depth: int = 0) -> str | None:
    """Path of the first value that no document holds: a date, a number without end, something nested too deeply."""
    if depth > MOST_DEPTH:
        return None
    entries: Iterable[tuple[str, Any]] = ()
    if isinstance(data, dict):
        entries = ((f"{at}.{key}".lstrip("."), value) for key, value in data.items())
    elif isinstance(data, list | tuple):
        entries = ((f"{at}[{index}]", value) for index, value in enumerate(data))
    elif data is None or isinstance(data, str | bool | int) or (isinstance(data, float) and math.isfinite(data)):
        return None
    else:
        return one_line(at, 120)
    return next((odd for odd in (_odd_value(value, path, depth + 1) for path, value in entries) if odd), None)


def _faults(model: type[BaseModel], error: ValidationError, where: str) -> list[InputFault]:
    told: dict[tuple[str, str], InputFault] = {}
    for detail in error.errors(include_url=False)[:MOST_FAULTS_READ]:
        parts, owner = _place(model, detail["loc"])
        field = "".join(f"[{p}]" if isinstance(p, int) else f".{p}" for p in parts).lstrip(".")
        field = one_line(field, 120)
        kind = detail["type"]
        what, remedy = _said(detail, field), ""
        if kind == "extra_forbidden":
            what = say("documents.field.unknown", field=field)
            remedy = did_you_mean(str(parts[-1]), _field_names(owner))
        elif kind == "missing":
            what, remedy = say("documents.field.missing", field=field), say("documents.field.add-it")
        told.setdefault((field, kind), InputFault(where, what, remedy))
    inner = [field for field, _ in told if field]
    return [
        f
        for (field, kind), f in told.items()
        if kind != "too_short" or not any(i.startswith(field + "[") for i in inner)
    ]


def _said(detail: Any, field: str) -> str:
    """What is wrong with the value of a field, named with it."""
    what = _plain(detail)
    if not field:
        return what
    return say(
        "documents.field.told-in-full" if what.startswith("'") else "documents.field.told", field=field, what=what
    )


def _plain(detail: Any) -> str:
    """What is wrong with a value, by the kind of check it failed, or as the check itself says."""
    kind, context = detail["type"], detail.get("ctx") or {}
    if kind in ("value_error", "assertion_error") and context.get("error") is not None:
        own = context["error"].args
        return own[0] if own and isinstance(own[0], str) else str(context["error"])
    key = f"documents.kind.{kind}"
    given = one_line(json.dumps(detail.get("input"), ensure_ascii=False, default=str), 40)
    bounds = [value for value in context.values() if isinstance(value, int | float)]
    return say(
        key if words_in(ENGLISH).knows(key) else "documents.kind.other",
        given=given,
        choices=_either(re.findall(r"'[^']*'", str(context.get("expected", "")))),
        bound=_short(bounds[0]) if bounds else "",
    )


def _either(choices: Sequence[str]) -> str:
    """``'a', 'b' or 'c'``."""
    if len(choices) < 2:
        return "".join(choices)
    return say("documents.field.either", first=joined(choices[:-1]), last=choices[-1])


def _short(bound: float) -> str:
    return str(int(bound) if float(bound).is_integer() else bound)


def _place(model: Any, loc: Iterable[str | int]) -> tuple[list[str | int], Any]:
    """Field path without pydantic's union tags, and the model in which the last part stands."""
    parts: list[str | int] = []
    owner: Any = model
    choices: list[Any] = [model]
    for part in loc:
        models = [c for c in choices if isinstance(c, type) and issubclass(c, BaseModel)]
        named = next((m for m in models if isinstance(part, str) and part in _field_names(m)), None)
        if isinstance(part, int) and any(get_origin(c) in (tuple, list) for c in choices):
            choices = _open(next(get_args(c)[0] for c in choices if get_origin(c) in (tuple, list)))
        elif isinstance(part, str) and named is not None:
            owner = named
            choices = _open(_annotation(named, part))
        elif any(get_origin(c) is dict for c in choices):
            choices = _open(next(get_args(c)[1] for c in choices if get_origin(c) is dict))
        elif models and isinstance(part, str) and part not in _TAGS:
            owner = models[0]
        else:
            continue
        parts.append(part)
    return parts, owner


_TAGS = frozenset({"[key]", "name", "path", "list", "figures", "written-out", "function-after", "one", "many"})


def _open(annotation: Any) -> list[Any]:
    origin = get_origin(annotation)
    if origin is Annotated:
        return _open(get_args(annotation)[0])
    if origin is Union or (origin is not None and getattr(origin, "__name__", "") == "UnionType"):
        return [inner for arg in get_args(annotation) for inner in _open(arg)]
    return [annotation]


def _field_names(model: Any) -> set[str]:
    if not (isinstance(model, type) and issubclass(model, BaseModel)):
        return set()
    return {field.alias or name for name, field in model.model_fields.items()}


def _annotation(model: type[BaseModel], alias: str) -> Any:
    for name, field in model.model_fields.items():
        if alias in (name, field.alias):
            return field.annotation
    return Any
