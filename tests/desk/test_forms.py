"""Forms made from the models: every field has its words, its range is kept, and what is not typed anew stays."""

from __future__ import annotations

import math
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from setupassist.desk import form_values
from setupassist.desk.form_values import UNSET, shown, typed, with_source, with_values
from setupassist.desk.forms import (
    ROOMS,
    Field,
    FieldKind,
    Unit,
    fields_of,
    row,
    rows_of,
    source_of,
    value_at,
)
from setupassist.documents.base import Document
from setupassist.documents.press import DwellRange, Press
from setupassist.documents.shop import Dryer, Ink, Policies, Shop, StockScreen
from setupassist.documents.store import example_shop
from setupassist.errors import InputFault
from setupassist.words import Said, ids, words_in

UNITS = ("inch", "metric")
SHOP = example_shop()
ENTRIES: list[Document] = [
    *SHOP.presses, *SHOP.screens, *SHOP.inks, *SHOP.flash_units, *SHOP.dryers, SHOP.policies,
]  # fmt: skip
ALL = [(model, field) for model in ROOMS for field in rows_of(model)]


def by_path(model: type[Document]) -> dict[str, Field]:
    return {field.path: field for field in rows_of(model)}


def test_every_field_of_every_model_has_a_label_and_a_sentence_in_every_language() -> None:
    wanted = {
        f"shop_fields.{room}.{info.alias or name}.{part}"
        for model, room in ROOMS.items()
        for name, info in model.model_fields.items()
        for part in ("label", "help")
    }
    for language in ("en", "es"):
        texts = ids(language)
        assert not wanted - texts.keys()
        told = {key for key in texts if key.startswith("shop_fields.") and key.rpartition(".")[2] in ("label", "help")}
        assert told == wanted, "words of a field that no model has"
        for key in wanted:
            assert texts[key].strip()
            assert key.endswith("label") or texts[key].endswith("."), key


def test_the_models_with_a_form_are_all_that_the_shop_book_is_made_of() -> None:
    found, left = set(), [Shop]
    while left:
        model = left.pop()
        found.add(model)
        left += [field.form for field in fields_of(model) if field.form is not None and field.form not in found]
    assert found == set(ROOMS)


@pytest.mark.parametrize(
    ("model", "path", "kind", "unit", "ends"),
    [
        (Press, "stations", FieldKind.WHOLE, Unit.NONE, (2, True, 100, True)),
        (Press, "frame_mm", FieldKind.SIZE, Unit.MM, (1, True, 5000, True)),
        (Press, "heads", FieldKind.STATIONS, Unit.NONE, None),
        (Press, "cooling", FieldKind.CHOICE, Unit.NONE, None),
        (Press, "print_mm_per_second", FieldKind.NUMBER, Unit.SPEED, (1, True, 10_000, True)),
        (Press, "dwell_seconds.from_", FieldKind.NUMBER, Unit.SECONDS, (0, True, 60, True)),
        (StockScreen, "mesh_per_cm", FieldKind.NUMBER, Unit.MESH, (1, False, 400, True)),
        (StockScreen, "opening_um", FieldKind.NUMBER, Unit.UM, (1, True, 5000, True)),
        (Ink, "colour", FieldKind.COLOUR, Unit.NONE, None),
        (Ink, "low_bleed", FieldKind.YES_NO, Unit.NONE, None),
        (Ink, "contrast_ratio", FieldKind.NUMBER, Unit.NONE, (0, False, 1, True)),
        (Ink, "role", FieldKind.CHOICE, Unit.NONE, None),
        (Dryer, "fastest_m_per_min", FieldKind.NUMBER, Unit.BELT, (0, False, 100, True)),
        (Policies, "spoilage", FieldKind.NUMBER, Unit.SHARE, (0, True, 1, True)),
    ],
)
def test_a_field_is_what_its_model_says(model, path, kind, unit, ends) -> None:
    field = row(model, path)
    assert (field.kind, field.unit) == (kind, unit)
    if ends is not None:
        assert (field.low.value, field.low.inside, field.high.value, field.high.inside) == ends


def test_optional_fields_may_be_empty_and_needed_ones_may_not() -> None:
    assert row(StockScreen, "opening_um").may_be_empty
    assert not row(StockScreen, "mesh_per_cm").may_be_empty
    with pytest.raises(InputFault, match="Mesh: must not be empty"):
        typed(row(StockScreen, "mesh_per_cm"), " ", "inch", 61)
    assert typed(row(StockScreen, "opening_um"), "", "inch", 90.0) is UNSET
    assert typed(row(Policies, "tests"), "", "inch", 4) is UNSET
    assert row(Policies, "tests").usual() == 6


@pytest.mark.parametrize("units", UNITS)
def test_the_example_shop_goes_through_its_forms_unchanged(units: str) -> None:
    for entry in ENTRIES:
        fields = by_path(type(entry))
        told = {}
        for path, field in fields.items():
            value = value_at(entry, path)
            text = shown(field, value, units)
            got = typed(field, text, units, value)
            assert got is UNSET and value == field.default if value is None else got == value, path
            told[path] = got
        assert with_values(entry, told, fields=fields).model_copy(update={"sources": entry.sources}) == entry  # type: ignore[attr-defined]


@pytest.mark.parametrize("units", UNITS)
def test_what_is_typed_anew_comes_back_as_it_is_read(units: str) -> None:
    """Without the memory of the value before, a value is kept to what is shown of it."""
    for entry in ENTRIES:
        for path, field in by_path(type(entry)).items():
            value = value_at(entry, path)
            if value is None:
                continue
            text = shown(field, value, units)
            again = typed(field, text, units)
            assert shown(field, again, units) == text, path


@pytest.mark.parametrize(("model", "field"), [(m, f) for m, f in ALL if f.low is not None or f.high is not None])
@pytest.mark.parametrize("units", UNITS)
def test_every_range_is_kept(model: type[Document], field: Field, units: str) -> None:
    """Just inside is taken, just outside is told with the range; an end as it is shown counts as the end."""
    step = 1 if field.kind is FieldKind.WHOLE else max(abs(b.value) for b in (field.low, field.high) if b) * 0.02 + 1e-9

    def text(value: float) -> Any:
        made = form_values._told(value, field.unit, units)
        return (made, made) if field.kind is FieldKind.SIZE else made

    for bound, inwards in ((field.low, 1), (field.high, -1)):
        if bound is None:
            continue
        got = typed(field, text(bound.value + inwards * step), units)
        assert got is not UNSET
        beyond = -abs(step) if bound.value == 0 else bound.value - inwards * max(step, abs(bound.value) * 0.02)
        if not (field.unit is Unit.MESH and beyond <= 0):
            with pytest.raises(InputFault) as refused:
                typed(field, text(beyond), units)
            assert refused.value.where == field.label
            assert isinstance(refused.value.what, Said)
            assert refused.value.what.key == "shop_fields.fault.out-of-range"
            assert words_in("es")(refused.value.what) != refused.value.what
        if bound.inside:
            end = typed(field, text(bound.value), units)
            assert (end if field.kind is not FieldKind.SIZE else end[0]) == bound.value


@pytest.mark.parametrize("model", list(ROOMS))
def test_the_models_agree_with_the_ranges_of_their_forms(model: type[Document]) -> None:
    """What a form takes at the very ends, the model takes too: no range was read wrongly."""
    for entry in (e for e in ENTRIES if type(e) is model):
        fields = by_path(model)
        for path, field in fields.items():
            if field.kind is not FieldKind.NUMBER or path in ("mesh_per_cm", "thread_um") or "." in path:
                continue
            for bound, inwards in ((field.low, 1), (field.high, -1)):
                end = bound.value if bound.inside else math.nextafter(bound.value, math.inf * inwards)
                assert value_at(with_values(entry, {path: end}, fields=fields), path) == end
                beyond = bound.value if not bound.inside else math.nextafter(bound.value, -math.inf * inwards)
                with pytest.raises(InputFault):
                    with_values(entry, {path: beyond}, fields=fields)
        break


def test_mesh_is_typed_as_the_trade_labels_it() -> None:
    field = row(StockScreen, "mesh_per_cm")
    assert shown(field, 61, "inch") == "156"
    assert typed(field, "156", "inch") == 61
    assert typed(field, "200", "inch") == pytest.approx(200 / 2.54, abs=1e-4)
    assert typed(field, "61", "metric") == 61


def test_lengths_are_kept_in_mm_and_shares_of_one() -> None:
    frame = row(StockScreen, "frame_mm")
    assert shown(frame, (584.0, 787.0), "inch") == ("22.99", "30.98")
    assert typed(frame, ("22.99", "31"), "inch", (584.0, 787.0)) == (584.0, 787.4)
    assert typed(frame, ("23", "31"), "inch") == (584.2, 787.4)
    assert shown(row(Policies, "spoilage"), 0.07, "inch") == "7"
    assert typed(row(Policies, "spoilage"), "7", "metric") == 0.07
    assert typed(row(Policies, "residue_grams"), "16", "inch") == pytest.approx(453.59, abs=0.01)


@pytest.mark.parametrize(
    ("text", "stations"),
    [("2-4, 7", (2, 3, 4, 7)), ("", ()), ("5;6", (5, 6)), ("2–3", (2, 3)), (" 9 ", (9,))],
)
def test_stations_are_typed_as_runs(text: str, stations: tuple[int, ...]) -> None:
    assert typed(row(Press, "heads"), text, "inch") == stations


@pytest.mark.parametrize("text", ["two", "4-2", "1-99999", "2--3", "-1", "2,x", "1-9999"])
def test_what_is_no_list_of_stations_is_told(text: str) -> None:
    with pytest.raises(InputFault, match="must be a list of stations"):
        typed(row(Press, "heads"), text, "inch")


@given(st.lists(st.integers(1, 100), unique=True))
def test_stations_come_back(stations: list[int]) -> None:
    assert form_values.stations_of(row(Press, "heads"), form_values.stations_text(tuple(stations))) == tuple(stations)


@pytest.mark.parametrize("text", ["x", "1,5", "1e999", "nan", "inf", "--1", "0x10", "1 2"])
def test_what_is_no_number_is_told(text: str) -> None:
    with pytest.raises(InputFault, match="must be"):
        typed(row(Policies, "choke_mm"), text, "metric")
    with pytest.raises(InputFault, match="must be a whole number"):
        typed(row(Policies, "tests"), text, "metric")


def test_a_changed_value_drops_the_source_of_the_old_one() -> None:
    press = SHOP.presses[0]
    field = row(Press, "index_seconds")
    assert source_of(press, field) == "from memory: 1.5 to 2.5 s"
    made = with_values(press, {"index_seconds": 2.5}, fields=by_path(Press))
    assert source_of(made, field) == ""
    assert "crew_seconds" in made.sources
    told = with_source(made, field, " timed on Monday ")
    assert told.sources["index_seconds"] == "timed on Monday"
    assert "index_seconds" not in with_source(told, field, "").sources


def test_a_sub_form_keeps_what_was_not_typed() -> None:
    made = with_values(SHOP.presses[0], {"dwell_seconds.from_": 2.0}, fields=by_path(Press))
    assert made.dwell_seconds == DwellRange(**{"from": 2.0, "to": 10.0, "step": 1.0})
    with pytest.raises(InputFault, match="longest added dwell must not be shorter") as refused:
        with_values(made, {"dwell_seconds.to": 1.0}, fields=by_path(Press))
    assert refused.value.where == "Longest added dwell"
    assert "menor que la más corta" in words_in("es")(refused.value.what)


def test_a_document_fault_names_the_field_by_its_label() -> None:
    with pytest.raises(InputFault) as refused:
        with_values(SHOP.presses[0], {"heads": [2, 40]}, fields=by_path(Press))
    assert refused.value.where == "Heads at"
    assert refused.value.what == "Heads at: station 40 is not on the way from load (1) to unload (12)"
    assert words_in("es")(refused.value.what).startswith("Cabezales en: la estación 40")
    with pytest.raises(InputFault) as refused:
        with_values(SHOP.inks[0], {"colour": "mauvish"}, fields=by_path(Ink))
    assert refused.value.where == "Colour"
