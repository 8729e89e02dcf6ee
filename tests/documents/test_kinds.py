"""Every check that a document can fail is told in our own words, whatever is read."""

from __future__ import annotations

import json
import tomllib
from collections.abc import Callable, Iterator
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from setupassist.documents.base import read_document
from setupassist.documents.job import Job
from setupassist.documents.schemas import DOCUMENTS
from setupassist.documents.store import parse_shop, read_job
from setupassist.errors import InputFault
from setupassist.words import Said, Words, ids, words_in

OWN_SENTENCES = {"missing", "extra_forbidden", "value_error", "assertion_error"}
LIMITS = {"gt": "greater_than", "ge": "greater_than_equal", "lt": "less_than", "le": "less_than_equal"}
LENGTHS = {"tuple": "too", "list": "too", "dict": "too", "str": "string_too"}
KINDS_OF = {
    "model": {"model_type"},
    "model-fields": {"missing", "extra_forbidden"},
    "int": {"int_type", "int_from_float"},
    "float": {"float_type", "finite_number"},
    "bool": {"bool_type"},
    "str": {"string_type"},
    "enum": {"enum"},
    "literal": {"literal_error"},
    "tuple": {"tuple_type", "missing", "too_long"},
    "dict": {"dict_type"},
    "function-after": {"value_error", "assertion_error"},
    "function-before": {"value_error", "assertion_error"},
    "function-wrap": {"value_error", "assertion_error"},
    **{key: set() for key in ("nullable", "default", "definitions", "definition-ref", "any", "union")},
    **{key: set() for key in ("model-field", "no-info", "tagged-union")},
}
SAYS_NOTHING = {"metadata", "serialization", "ref", "config", "cls", "custom_init", "root_model"}
"""Tagged unions ask a function of ours, which names a tag that is there; below every such field gets odd values."""


def checks(schema: Any) -> Iterator[dict[str, Any]]:
    if isinstance(schema, dict):
        if isinstance(schema.get("type"), str):
            yield schema
        for key, inner in schema.items():
            if key not in SAYS_NOTHING:
                yield from checks(inner)
    elif isinstance(schema, list | tuple):
        for inner in schema:
            yield from checks(inner)


@pytest.mark.parametrize("name", sorted(DOCUMENTS))
def test_every_kind_of_check_has_its_sentence(name: str) -> None:
    told = {key.rpartition(".")[2] for key in ids("en") if key.startswith("documents.kind.")}
    seen = set()
    for check in checks(DOCUMENTS[name].__pydantic_core_schema__):
        kinds = set(KINDS_OF[check["type"]])  # a KeyError here is a new kind of check: give it its sentences
        kinds |= {kind for limit, kind in LIMITS.items() if limit in check}
        if "max_length" in check:
            kinds.add(f"{LENGTHS[check['type']]}_long")
        if "min_length" in check:
            kinds.add(f"{LENGTHS[check['type']]}_short")
        assert not {"pattern", "multiple_of"} & check.keys()
        seen |= kinds
        assert kinds <= told | OWN_SENTENCES, check["type"]
    assert {"missing", "extra_forbidden", "model_type", "string_type"} <= seen


@pytest.mark.parametrize(
    ("change", "spanish"),
    [
        ({"pieces": 2.5}, "'pieces' debe ser un número entero, no 2.5"),
        ({"spoilage": "x"}, "'spoilage' debe ser un número, no \"x\""),
        ({"spoilage": 2}, "'spoilage' debe ser 1 como máximo, no 2"),
        ({"title": 1}, "'title' debe ser texto, no 1"),
        ({"source": {"light_is_ink": 1}}, "'source.light_is_ink' debe ser true (sí) o false (no), no 1"),
        ({"order": 1}, "'order' debe ser una lista, no 1"),
        ({"order": [["a", "b", "c"]]}, "'order[0]' tiene más de 2 elementos; repartirlo"),
        ({"plates": []}, "'plates' tiene muy pocos elementos; agregar uno"),
        ({"inks": 1}, "'inks' debe ser una tabla de nombres y valores, no 1"),
        ({"sizes": {"s" * 81: 1}}, f"'sizes.{'s' * 60}"),
        ({"strategy": "x"}, "debe ser uno de 'leanest', 'cleanest' o 'quickest-changeover', no \"x\""),
        ({"press": None}, "'press' debe ser una tabla de nombres y valores, no null"),
        ({"plates": [{"file": "a", "ink": ""}]}, "'plates[0].ink' está vacío; darle un nombre"),
        ({"garment": {"colour": "reed"}}, "garment.colour: 'reed' no es un color; escribirlo como #rrggbb"),
        ({"titel": 1}, "campo desconocido 'titel'; ¿se quiso decir 'title'?"),
        ({"plates": [{}]}, "falta 'plates[0].file'; agregarlo"),
        ({"garments": [{}, {}]}, "dos grupos de prendas tienen el mismo nombre; dar a cada uno el suyo"),
    ],
)  # fmt: skip
def test_a_kind_in_spanish(change: dict[str, Any], spanish: str) -> None:
    job = {"format": "setupassist-job/1", "plates": "a", "press": "b"} | change
    with pytest.raises(InputFault) as caught:
        read_document(Job, job, "job.json")
    assert spanish in words_in("es")(caught.value.sentence)


JSON = st.recursive(
    st.none() | st.booleans() | st.integers() | st.floats(allow_nan=False) | st.text(max_size=8),
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(st.text(max_size=8), inner, max_size=3),
    max_leaves=6,
)


@settings(max_examples=150, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(st.sampled_from(sorted(DOCUMENTS)), st.data())
def test_odd_values_anywhere_are_told_in_our_own_words(name: str, data: st.DataObject) -> None:
    fields = sorted(field.alias or key for key, field in DOCUMENTS[name].model_fields.items())
    document = data.draw(st.dictionaries(st.sampled_from(fields), JSON, min_size=1, max_size=4))
    try:
        read_document(DOCUMENTS[name], document, "x.json")
    except InputFault as fault:
        for sentence in fault.sentences():
            assert isinstance(sentence, Said)
            assert "Input should" not in sentence
            assert words_in("es")(sentence)


@pytest.mark.parametrize(
    "text",
    ["{", "[1 2]", '{"a" 1}', '{"a": 1} x', '{"a": "x', '{"a": "\n"}', '{"a": "\\q"}', '{"a": "\\u12"}', "{1: 2}"],
)
def test_the_json_reader_s_complaints_are_all_recognised(
    tmp_path: Any, text: str, crossed: Words, left: Callable[..., str]
) -> None:
    (tmp_path / "job.json").write_text(text)
    with pytest.raises(InputFault) as caught:
        read_job(tmp_path / "job.json")
    assert left(crossed(caught.value.sentence), ("job.json", "JSON")) == ""
    with pytest.raises(json.JSONDecodeError) as own:
        json.loads(text)
    assert own.value.msg in str(caught.value)


BAD_TOML = [
    "= 3", "a = 1 b = 2", "a = '\x01'", "a = 1\na = 2", "[a]\n[a]", "a = {b = 1}\n[a.c]", "[[a]]\n[a]", "[a", "[[a]",
    "a = {b = 1, b = 2}", "a = {b = 1", "a = [1", "a 1", "a. = 1", 'a = "\\q"', 'a = "\\xzz"', 'a = "\\uzzzz"',
    'a = "\\ud800"', 'a = "x', "a = 1979-13-01", "a = ?", "a = 'x\ny'", "a.b = 1\n[a.b]", "a = {b.c = 1, b = 2}",
]  # fmt: skip


@pytest.mark.parametrize("text", BAD_TOML)
def test_the_toml_reader_s_complaints_are_all_recognised(text: str) -> None:
    with pytest.raises(tomllib.TOMLDecodeError) as own:
        tomllib.loads(text)
    with pytest.raises(InputFault) as caught:
        parse_shop(text, "shop.toml")
    what = caught.value.what
    assert isinstance(what, Said)
    assert str(own.value) in what
    place = what.values["problem"]
    assert isinstance(place, Said), own.value
    assert isinstance(place.values["problem"], Said), own.value


@pytest.mark.parametrize("text", ["a = " + "[" * 5000, "a = " + "9" * 5000])
def test_toml_beyond_what_can_be_read_is_said(text: str) -> None:
    with pytest.raises(InputFault, match="nested too deeply or holds a number too long"):
        parse_shop(text, "shop.toml")
