from __future__ import annotations

import pytest

from setupassist.colour import parse_colour
from setupassist.documents.shop import Policies, Shop
from setupassist.documents.store import example_shop
from setupassist.documents.terms import Role
from setupassist.trade.names import role_from_name


@pytest.fixture(scope="module")
def shop() -> Shop:
    return example_shop()


def test_presses(shop: Shop) -> None:
    names = [press.name for press in shop.presses]
    assert names == ["Long bench", "Big wheel", "Short bench"]
    long, big, short = shop.presses
    assert (long.stations, long.heads, long.flash_slots, long.flash_units) == (
        12,
        tuple(range(2, 12)),
        (3, 4, 6, 8, 10),
        2,
    )
    assert (big.stations, big.heads, big.flash_slots, big.flash_units) == (
        16,
        tuple(range(2, 16)),
        (3, 5, 8, 11, 13),
        3,
    )
    assert (short.stations, short.max_laps) == (8, 2)
    assert max(press.flash_units for press in shop.presses) <= shop.flash_units_owned == 3


def test_every_source_names_a_field_and_every_policy_has_one(shop: Shop) -> None:
    entries = [
        *shop.presses,
        *shop.screens,
        *shop.inks,
        *shop.flash_units,
        *shop.dryers,
        shop.policies,
    ]
    for entry in entries:
        sources = entry.sources
        assert set(sources) <= set(type(entry).model_fields), entry
        assert all(text.strip() for text in sources.values())
    numbers = {name for name in Policies.model_fields if isinstance(getattr(shop.policies, name), (int, float))}
    assert numbers <= set(shop.policies.sources)
    assert all(ink.sources for ink in shop.inks)
    assert all(screen.sources for screen in shop.screens)


def test_inks_say_what_their_names_say(shop: Shop) -> None:
    for ink in shop.inks:
        told = role_from_name(ink.name)
        if ink.role is not None:
            assert told in (ink.role, Role.COLOUR), ink.name
        assert ink.colour is not None
        parse_colour(ink.colour)
        assert (ink.contrast_ratio is None) == (ink.at_um is None)


def test_enough_screens_for_twelve_inks_of_either_kind(shop: Shop) -> None:
    fine = sum(screen.quantity for screen in shop.screens if screen.mesh_per_cm >= 90)
    middle = sum(screen.quantity for screen in shop.screens if 61 <= screen.mesh_per_cm < 90)
    assert fine >= 12
    assert middle >= 12


def test_a_book_in_other_units_is_the_same_book_else(shop: Shop) -> None:
    assert shop.in_units(None) is shop
    assert shop.in_units(shop.policies.units) is shop
    metric = shop.in_units("metric")
    assert metric.policies.units == "metric"
    assert metric.in_units(shop.policies.units) == shop
