"""Edits of the shop book: each leaves a valid book or changes nothing; presses keep what can stay."""

from __future__ import annotations

import random
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from setupassist.desk import decision_rows, shop_edits
from setupassist.desk.decision_rows import State
from setupassist.desk.form_values import UNSET, typed
from setupassist.desk.forms import Field, FieldKind, row, rows_of
from setupassist.desk.press_fit import fitted, toggled, way_of
from setupassist.desk.shop_entries import (
    LISTS,
    MODEL_OF,
    POLICY_GROUPS,
    Section,
    count_of,
    entries,
    fields_shown,
    listed,
    searched,
)
from setupassist.documents.press import Press
from setupassist.documents.shop import Decision, Policies, Shop
from setupassist.documents.store import example_shop, parse_shop, shop_bytes
from setupassist.errors import InputFault, InputFaults
from setupassist.words import words_in

SHOP = example_shop()
ENGLISH = words_in("en")


def test_every_policy_stands_in_one_group_and_every_group_has_a_form() -> None:
    told = [name for names in POLICY_GROUPS.values() for name in names]
    assert sorted(told) == sorted(field.path for field in rows_of(Policies))
    assert count_of(SHOP, Section.POLICIES) == len(listed(SHOP, Section.POLICIES, "inch")) == len(POLICY_GROUPS)
    assert [field.path for field in fields_shown(Section.POLICIES, "art")] == list(POLICY_GROUPS["art"])


def test_entries_are_listed_with_their_figures() -> None:
    assert listed(SHOP, Section.PRESSES, "inch")[0].line == "12 stations, 10 heads, 2 flash units"
    screen = listed(SHOP, Section.SCREENS, "inch")[6]
    assert (screen.name, screen.line) == ("156 per inch (61 per cm)", "thread 64 µm, 8 in stock")
    assert listed(SHOP, Section.SCREENS, "metric")[6].name == "61 per cm (156 per inch)"
    ink = listed(SHOP, Section.INKS, "inch")[0]
    assert (ink.line, ink.colour, ink.swatch) == ("plastisol, base", "#f3f3f0", True)
    assert words_in("es")(ink.line) == "plastisol, base"
    assert searched([ink.name, ink.line], "BASE white")
    assert not searched([ink.name, ink.line], "base red")


@pytest.mark.parametrize("section", LISTS)
def test_entries_are_added_copied_moved_and_removed(section: Section) -> None:
    before = entries(SHOP, section)
    added = shop_edits.add(SHOP, section, ENGLISH).shop
    assert len(entries(added, section)) == len(before) + 1
    twice = shop_edits.add(added, section, ENGLISH).shop
    copied = shop_edits.copy(twice, section, 0).shop
    assert entries(copied, section)[0] == before[0]
    moved = shop_edits.move(copied, section, 0, 1).shop
    assert entries(moved, section)[1] == before[0]
    left = moved
    while entries(left, section):
        left = shop_edits.remove(left, section, 0).shop
    assert entries(left, section) == ()
    assert parse_shop(shop_bytes(left).decode(), "x") == left


def test_a_copy_takes_a_free_name() -> None:
    shop = SHOP
    for at in range(3):
        shop = shop_edits.copy(shop, Section.PRESSES, at).shop
    assert [p.name for p in shop.presses][:4] == ["Long bench", "Long bench 2", "Long bench 3", "Long bench 4"]
    long = shop_edits.values(SHOP, Section.INKS, 0, {"name": "x" * 80}).shop
    assert shop_edits.copy(long, Section.INKS, 0).shop.inks[1].name == "x" * 78 + " 2"


def test_a_name_that_is_taken_is_told_at_the_name() -> None:
    with pytest.raises(InputFault) as refused:
        shop_edits.values(SHOP, Section.PRESSES, 0, {"name": "Big wheel"})
    assert refused.value.where == row(Press, "name").label
    assert refused.value.what == "'Big wheel' is there already; give each its own name"


def test_the_shop_has_a_name() -> None:
    assert shop_edits.shop_name(SHOP, "Quay Prints").shop.name == "Quay Prints"
    with pytest.raises(InputFault, match="Name of the shop: is empty"):
        shop_edits.shop_name(SHOP, "  ")


def test_fewer_stations_take_unload_heads_and_slots_along() -> None:
    edit = shop_edits.values(SHOP, Section.PRESSES, 0, {"stations": 9})
    press = edit.shop.presses[0]
    assert (press.stations, press.load, press.unload) == (9, 1, 9)
    assert press.heads == (2, 3, 4, 5, 6, 7, 8)
    assert press.flash_slots == (3, 4, 6, 8)
    assert edit.note == "Not on the way any more and left out: station 10."
    assert str(edit.name) == "change Stations of Long bench"


def test_more_stations_on_a_press_with_a_head_everywhere_have_heads() -> None:
    press = shop_edits.values(SHOP, Section.PRESSES, 0, {"stations": 14}).shop.presses[0]
    assert press.heads == tuple(range(2, 14))
    gap = shop_edits.values(SHOP, Section.PRESSES, 0, {"heads": (2, 4)}).shop
    assert shop_edits.values(gap, Section.PRESSES, 0, {"stations": 14}).shop.presses[0].heads == (2, 4)


def test_a_head_that_is_taken_away_is_not_out_of_service() -> None:
    shop = shop_edits.values(SHOP, Section.PRESSES, 0, {"out_of_service": (5,)}).shop
    press = shop_edits.values(shop, Section.PRESSES, 0, {"heads": toggled(shop.presses[0], "heads", 5)}).shop.presses[0]
    assert 5 not in press.heads
    assert press.out_of_service == ()


@given(st.integers(2, 30), st.integers(1, 30), st.integers(1, 30))
def test_the_way_is_the_press_own(stations: int, load: int, unload: int) -> None:
    load, unload = min(load, stations), min(unload, stations)
    way = way_of(stations, load, unload)
    if way:
        press = Press(name="x", stations=stations, load=load, unload=unload, heads=(way[0],))
        assert press.way == way


def test_values_that_make_no_press_are_left_to_the_document() -> None:
    for changes in ({"stations": 1}, {"stations": 10**9}, {"load": 0}, {"unload": 99}):
        assert fitted(SHOP.presses[0], changes)[0].items() >= changes.items()
        with pytest.raises(InputFault):
            shop_edits.values(SHOP, Section.PRESSES, 0, changes)


# ---------------------------------------------------------------- decisions


def test_rows_are_followed_switched_off_and_written_anew() -> None:
    rows = {each.id: each for each in decision_rows.rows(SHOP)}
    assert {each.state for each in rows.values()} == {State.SHIPPED}
    made = rows["ink-system-unknown"]
    assert (made.name, made.suggested) == ("ink system", "plastisol")
    assert made.answers == ("plastisol", "water-based", "discharge", "acrylic", "silicone")
    off = decision_rows.switch(SHOP, made, State.OFF).shop
    assert off.policies.decisions_off == ("ink-system-unknown",)
    assert next(r for r in decision_rows.rows(off) if r.id == made.id).state is State.OFF
    own = decision_rows.switch(off, made, State.OWN).shop
    assert own.policies.decisions_off == ()
    assert own.decisions[0].reason == "plastisol is the usual ink of an automatic press"
    mine = next(r for r in decision_rows.rows(own) if r.id == made.id)
    written = decision_rows.write(own, mine, {"suggest": "water-based", "reason": "we print soft"}).shop
    assert written.decisions == (Decision(id=made.id, suggest="water-based", reason="we print soft"),)
    mine = next(r for r in decision_rows.rows(written) if r.id == made.id)
    assert mine.told("en") == "we print soft"
    assert decision_rows.switch(written, mine, State.SHIPPED).shop == SHOP


@pytest.mark.parametrize(
    ("row_id", "changes", "told"),
    [
        ("ink-system-unknown", {"suggest": "paint"}, "must be one of plastisol"),
        ("fibre-unknown", {"reason": " "}, "must not be empty"),
        ("garment-colour-unknown", {"suggest": "mauvish"}, "mauvish"),
        ("polyester-share-unknown", {"suggest": "2"}, "2"),
        ("polyester-share-unknown", {"suggest": "half"}, "half"),
    ],
)
def test_what_a_row_cannot_suggest_is_told(row_id: str, changes: dict[str, str], told: str) -> None:
    made = next(r for r in decision_rows.rows(SHOP) if r.id == row_id)
    own = decision_rows.switch(SHOP, made, State.OWN).shop
    mine = next(r for r in decision_rows.rows(own) if r.id == row_id)
    with pytest.raises(InputFault, match=told):
        decision_rows.write(own, mine, changes)


def test_every_row_has_a_name_and_a_reason_and_can_be_the_shops_own() -> None:
    for language in ("en", "es"):
        words = words_in(language)
        for made in decision_rows.rows(SHOP):
            assert words(made.name)
            assert made.told(language)
            own = decision_rows.switch(SHOP, made, State.OWN, language).shop
            mine = next(r for r in decision_rows.rows(own) if r.id == made.id)
            assert mine.state is State.OWN
            assert decision_rows.write(own, mine, {"suggest": made.suggest}).shop == own


# ---------------------------------------------------------------- any edits


def text_for(field: Field, rng: random.Random) -> Any:
    """Something that a person may type into a field: sound, at the edge, or nonsense."""
    number = rng.choice(
        ["0", "1", "2.5", "-3", "1e5", "", "x", "156", "0.02", "99999999", f"{rng.uniform(0, 400):.3f}"]
    )
    if field.kind is FieldKind.YES_NO:
        return rng.random() < 0.5
    if field.kind is FieldKind.SIZE:
        return (number, rng.choice(["10", "20.5", "", "0"]))
    if field.kind is FieldKind.CHOICE:
        return rng.choice([*field.choices, "", "nonsense"])
    if field.kind is FieldKind.STATIONS:
        return rng.choice(["", "2-4", "2, 3, 3", "1", f"2-{rng.randint(2, 20)}", "x", str(rng.randint(1, 30))])
    if field.kind is FieldKind.COLOUR:
        return rng.choice(["#123456", "#12345", "teal", "", "mauvish"])
    if field.kind is FieldKind.TEXT:
        return rng.choice(["", "a", "flash", "Big wheel", "white", "x" * 81, "ä\n", "ink é", "new ink"])
    return str(rng.randint(-1, 30)) if rng.random() < 0.7 else number


def random_edit(shop: Shop, rng: random.Random) -> shop_edits.ShopEdit | None:
    """One edit as a person might make it; None where there was nothing to do it to."""
    kind = rng.choice(["value"] * 8 + ["add", "copy", "remove", "move", "row", "write", "name", "source"])
    section = rng.choice([*LISTS, Section.POLICIES] if kind in ("value", "source") else list(LISTS))
    many = len(entries(shop, section))
    at = rng.randrange(many) if many else 0
    if kind == "name":
        return shop_edits.shop_name(shop, rng.choice(["", "Mine", "x" * 90]))
    if kind in ("row", "write"):
        made = rng.choice(decision_rows.rows(shop))
        if kind == "write" and made.own is not None:
            return decision_rows.write(
                shop, made, {rng.choice(["suggest", "reason", "source"]): rng.choice(["", "yes"])}
            )
        return decision_rows.switch(shop, made, rng.choice(list(State)))
    if kind == "add":
        return shop_edits.add(shop, section, ENGLISH)
    if not many:
        return None
    if kind == "copy":
        return shop_edits.copy(shop, section, at)
    if kind == "remove":
        return shop_edits.remove(shop, section, at)
    if kind == "move":
        return shop_edits.move(shop, section, at, rng.randrange(many))
    field = rng.choice(rows_of(MODEL_OF[section]))
    if kind == "source":
        return shop_edits.source(shop, section, at, field, rng.choice(["", "timed", "x\ty"]))
    value = typed(field, text_for(field, rng), rng.choice(["inch", "metric"]))
    return shop_edits.values(shop, section, at, {field.path: value})


@settings(max_examples=25, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(st.integers(0, 2**32))
def test_any_edits_leave_a_book_that_is_written_and_read_back(seed: int) -> None:
    rng, shop, made, faults = random.Random(seed), SHOP, 0, 0
    for _ in range(40):
        try:
            edit = random_edit(shop, rng)
        except InputFault as fault:
            faults += 1
            for each in fault.faults if isinstance(fault, InputFaults) else [fault]:
                assert words_in("es")(each.sentence)
            continue
        if edit is not None:
            assert words_in("es")(edit.name)
            shop, made = edit.shop, made + 1
    assert made > 5
    assert parse_shop(shop_bytes(shop).decode("utf-8"), "book") == shop


def test_unset_goes_back_to_the_usual_value() -> None:
    shop = shop_edits.values(SHOP, Section.POLICIES, 0, {"tests": 9}).shop
    assert shop.policies.tests == 9
    back = shop_edits.values(shop, Section.POLICIES, 0, {"tests": UNSET}).shop
    assert back.policies.tests == 6
    assert "tests" not in back.policies.model_fields_set
