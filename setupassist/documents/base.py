"""The common habits of every document: frozen, strict, unknown fields refused with the nearest known name."""

from __future__ import annotations

import json
import math
import re
from collections.abc import Iterable
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

from setupassist.colour import parse_colour
from setupassist.errors import InputFault, InputFaults, did_you_mean, one_line
from setupassist.words import Said

MOST_NAME_LENGTH = 80
MOST_COUNT = 10_000_000
MOST_FAULTS_READ = 100
MOST_DEPTH = 60


class Document(BaseModel):
    """A frozen document; unknown fields, wrong types and non-finite numbers are refused."""

    model_config = ConfigDict(frozen=True, extra="forbid", strict=True, allow_inf_nan=False)


def _checked_name(name: str) -> str:
    if not name.strip():
        raise ValueError("is empty; give it a name")
    if len(name) > MOST_NAME_LENGTH:
        raise ValueError(f"is longer than {MOST_NAME_LENGTH} characters; shorten it")
    if not name.isprintable():
        raise ValueError("holds a control character; write it on one line in plain text")
    return name.strip()


def _checked_ink_name(name: str) -> str:
    name = _checked_name(name)
    if name.lower() == "flash":
        raise ValueError("'flash' stands for a flash unit; give the ink another name")
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
        raise InputFault(where, "holds half of a character (a lone surrogate)", "write the text anew") from None
    except (TypeError, ValueError, RecursionError) as error:
        odd = _odd_value(data)
        what = f"'{odd}' holds a value that a document cannot hold" if odd else "is nested too deeply"
        raise InputFault(where, what, "use text, finite numbers and lists") from error
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
        if kind == "extra_forbidden":
            known = _field_names(owner)
            said = f"unknown field '{field}'", did_you_mean(str(parts[-1]), known)
        elif kind == "missing":
            said = f"'{field}' is missing", "add it"
        else:
            plain = _plain(detail)
            said = (
                (f"{field}: {plain}" if plain.startswith("'") else f"'{field}' {plain}") if field else plain,
                "",
            )
        told.setdefault((field, kind), InputFault(where, *said))
    inner = [field for field, _ in told if field]
    return [
        f
        for (field, kind), f in told.items()
        if kind != "too_short" or not any(i.startswith(field + "[") for i in inner)
    ]


def _plain(detail: Any) -> str:
    kind, context = detail["type"], detail.get("ctx") or {}
    if kind in ("value_error", "assertion_error"):
        return str(context.get("error", detail["msg"]))
    given = one_line(json.dumps(detail.get("input"), ensure_ascii=False, default=str), 40)
    wanted = {
        "int_type": "must be a whole number", "int_from_float": "must be a whole number",
        "float_type": "must be a number", "finite_number": "must be a finite number",
        "string_type": "must be text", "bool_type": "must be true or false",
        "tuple_type": "must be a list", "list_type": "must be a list",
        "dict_type": "must be a table of names and values", "model_type": "must be a table of names and values",
        "model_attributes_type": "must be a table of names and values",
    }.get(kind)  # fmt: skip
    if kind in ("too_short", "too_long"):
        most = context.get("max_length")
        return f"has more than {most} entries; split it" if kind == "too_long" else "has too few entries; add one"
    if wanted is None and kind in ("enum", "literal_error"):
        wanted = f"must be one of {context.get('expected')}"
    if wanted is None and kind.endswith(("than", "equal")):
        bound = next(iter(context.values()))
        word = {
            "greater_than": "above", "greater_than_equal": "at least",
            "less_than": "below", "less_than_equal": "at most",
        }[kind]  # fmt: skip
        wanted = f"must be {word} {int(bound) if float(bound).is_integer() else bound}"
    if wanted is None:
        wanted = detail["msg"][:1].lower() + detail["msg"][1:]
    return f"{wanted}, not {given}"


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
