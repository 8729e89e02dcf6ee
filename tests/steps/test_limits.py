"""Limits: closure, precedence of the job's own pairs, and what is left out."""

from __future__ import annotations

from itertools import combinations, pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from setupassist.documents.plan import Limits
from setupassist.documents.terms import InkSystem, Kind, Role
from setupassist.errors import InputFault
from setupassist.steps.limits import OwnPairs, Rules, derive_limits, flashes_needed
from setupassist.steps.needs import ScreenNeed
from setupassist.steps.order_book import Circle, OrderBook
from setupassist.steps.standard_order import standard_order


def screen(
    ink: str, role: Role = Role.COLOUR, *, area: float = 10.0, kind: Kind = Kind.SOLID, system: str = "plastisol"
) -> ScreenNeed:
    return ScreenNeed(
        ink=ink,
        role=role,
        kind=kind,
        colour="#808080",
        lab=(50.0, 0.0, 0.0),
        ink_area_cm2=area,
        ink_system=InkSystem(system),
        plate=ink,
    )


def limits_of(
    screens: list[ScreenNeed],
    overlaps: dict[tuple[str, str], float],
    *,
    own: OwnPairs | None = None,
    rules: Rules | None = None,
) -> tuple[Limits, tuple[str, ...]]:
    return derive_limits(
        screens,
        {frozenset(pair): area for pair, area in overlaps.items()},
        own=own or OwnPairs(),
        rules=rules or Rules(),
        standard=standard_order(screens),
    )


BASE, RED, KEY = screen("base", Role.BASE, area=50), screen("red"), screen("key", Role.KEY)
GLINT, FOIL = screen("glint", Role.HIGHLIGHT), screen("foil", Role.METALLIC)


def test_base_comes_first_however_little_it_overlaps_but_is_flashed_only_above_a_touch() -> None:
    limits, _ = limits_of([BASE, RED, KEY], {("base", "red"): 0.05, ("base", "key"): 0.0501})
    assert limits.order == (("base", "red"), ("base", "key"))
    assert limits.flash_between == (("base", "key"),)


def test_a_base_that_nothing_lies_on_needs_no_flash_and_is_not_alone() -> None:
    limits, _ = limits_of([BASE, RED], {})
    assert limits == Limits()


def test_layers_bind_above_two_percent_of_the_upper_ink() -> None:
    # the key holds 10 cm²: 0.2 cm² is 2 %
    assert limits_of([RED, KEY], {("red", "key"): 0.2})[0].order == ()
    assert limits_of([RED, KEY], {("red", "key"): 0.21})[0].order == (("red", "key"),)


def test_key_then_highlight_then_specials_among_themselves() -> None:
    overlaps = {("key", "glint"): 5.0, ("key", "foil"): 5.0, ("glint", "foil"): 5.0}
    limits, _ = limits_of([FOIL, GLINT, KEY], overlaps, rules=Rules(flash_before_specials=False))
    assert limits.order == (("key", "glint"), ("key", "foil"), ("glint", "foil"))


def test_layers_are_of_solid_plates_only() -> None:
    tone = screen("red", kind=Kind.TONE)
    assert limits_of([tone, KEY], {("red", "key"): 5.0})[0].order == ()
    assert limits_of([RED, screen("key", Role.KEY, kind=Kind.HALFTONE)], {("red", "key"): 5.0})[0].order == ()


def test_two_bases_do_not_order_each_other() -> None:
    limits, _ = limits_of([BASE, screen("second base", Role.BASE)], {("base", "second base"): 9.0})
    assert limits == Limits()


def test_blocker_before_base_and_a_flash_between() -> None:
    limits, _ = limits_of([BASE, screen("blocker", Role.BLOCKER)], {("base", "blocker"): 9.0})
    assert limits.flash_between == (("blocker", "base"),)
    assert limits.alone_until_flash == ("blocker",)


def test_policies_switch_alone_and_blend_off() -> None:
    blend = [BASE, screen("tan", kind=Kind.HALFTONE), screen("blue", kind=Kind.TONE)]
    overlaps = {("base", "tan"): 5.0}
    on, _ = limits_of(blend, overlaps)
    off, _ = limits_of(blend, overlaps, rules=Rules(alone_until_flash=False, blend_stays_wet=False))
    assert (on.alone_until_flash, on.no_flash_between) == (("base",), (("blue", "tan"),))
    assert (off.alone_until_flash, off.no_flash_between) == ((), ())


def test_a_blend_holds_only_colours() -> None:
    blend = [screen("tan", kind=Kind.HALFTONE), screen("shine", Role.HIGHLIGHT, kind=Kind.HALFTONE)]
    assert limits_of(blend, {})[0].no_flash_between == ()


def test_the_jobs_order_wins_and_what_it_closes_out_is_told() -> None:
    limits, notes = limits_of([BASE, RED], {("base", "red"): 8.0}, own=OwnPairs(order=(("red", "base"),)))
    assert limits.order == (("red", "base"),)
    assert limits.flash_between == ()
    assert any("base before red" in note for note in notes)


def test_a_layer_that_would_close_a_circle_is_left_out() -> None:
    own = OwnPairs(order=(("key", "base"),))
    limits, notes = limits_of([BASE, RED, KEY], {("base", "red"): 8.0, ("red", "key"): 8.0}, own=own)
    assert set(limits.order) == {("key", "base"), ("base", "red"), ("key", "red")}
    assert any("red before key" in note for note in notes)


def test_the_jobs_forbidden_flash_wins_over_the_base() -> None:
    own = OwnPairs(no_flash_between=(("red", "base"),))
    limits, notes = limits_of([BASE, RED, KEY], {("base", "red"): 8.0, ("base", "key"): 8.0}, own=own)
    assert limits.flash_between == (("base", "key"),)
    assert limits.no_flash_between == (("base", "red"),)
    assert limits.alone_until_flash == ()  # red may go onto the wet base
    assert any("base and red" in note for note in notes)


def test_a_flash_inside_a_span_that_stays_wet_is_left_out() -> None:
    # base, red and key in a row, no flash from base to key: so none from base to red
    own = OwnPairs(order=(("base", "red"), ("red", "key")), no_flash_between=(("base", "key"),))
    limits, _ = limits_of([BASE, RED, KEY], {("base", "red"): 8.0}, own=own)
    assert limits.flash_between == ()


def test_the_jobs_flash_wins_over_a_blend() -> None:
    blend = [screen("tan", kind=Kind.HALFTONE), screen("blue", kind=Kind.HALFTONE)]
    limits, notes = limits_of(blend, {}, own=OwnPairs(flash_between=(("blue", "tan"),)))
    assert limits.flash_between == (("blue", "tan"),)
    assert limits.no_flash_between == ()
    assert any("not held wet" in note for note in notes)


def test_no_flash_is_derived_after_puff() -> None:
    screens = [screen("puff", Role.PUFF), screen("gel", Role.CLEAR)]
    limits, notes = limits_of(screens, {("puff", "gel"): 5.0})
    assert limits.no_flash_after == ("puff",)
    assert limits.flash_between == ()
    assert notes


def test_discharge_stays_wet_in_every_pair() -> None:
    screens = [screen(name, system="discharge") for name in ("white", "red", "teal")]
    assert len(limits_of(screens, {})[0].no_flash_between) == 3


def test_a_circle_is_named_by_its_shortest_walk() -> None:
    own = OwnPairs(order=(("base", "red"), ("red", "key"), ("key", "base")))
    with pytest.raises(InputFault, match="'key' before 'base' before 'red' before 'key'"):
        limits_of([BASE, RED, KEY], {}, own=own)


def test_flashes_needed_counts_the_longest_chain() -> None:
    overlaps = {("blocker", "base"): 9.0, ("base", "red"): 8.0, ("base", "key"): 8.0, ("red", "foil"): 5.0}
    screens = [BASE, RED, KEY, FOIL, screen("blocker", Role.BLOCKER)]
    limits, _ = limits_of(screens, overlaps)
    # blocker, flash, base, flash, red, flash, foil
    assert flashes_needed(limits, [one.ink for one in screens]) == 3
    assert flashes_needed(Limits(), ["red"]) == 0


INKS = "abcdefg"
PAIRS = st.lists(st.tuples(st.sampled_from(INKS), st.sampled_from(INKS)), max_size=25)


@given(PAIRS)
def test_an_order_book_is_closed_and_holds_no_circle(pairs: list[tuple[str, str]]) -> None:
    book = OrderBook()
    for pair in pairs:
        book.add(*pair)
    closed = set(book.closure())
    assert not {(b, a) for a, b in closed} & closed
    for a, b in closed:
        for c, d in closed:
            assert b != c or (a, d) in closed


@given(PAIRS)
def test_a_refused_pair_names_a_true_circle_and_changes_nothing(pairs: list[tuple[str, str]]) -> None:
    book = OrderBook()
    for first, later in pairs:
        before = set(book.closure())
        if book.reaches(later, first):
            with pytest.raises(Circle) as caught:
                book.add_or_raise(first, later)
            walk = caught.value.inks
            assert walk[0] == walk[-1] == first
            assert all(book.reaches(a, b) for a, b in pairwise(walk[1:]))
            assert set(book.closure()) == before
        else:
            book.add_or_raise(first, later)


ROLES = st.lists(st.sampled_from(list(Role)), min_size=2, max_size=6)


@given(ROLES, st.data())
def test_limits_never_contradict_each_other(roles: list[Role], data: st.DataObject) -> None:
    kinds = st.sampled_from([Kind.SOLID, Kind.HALFTONE])
    systems = st.sampled_from(["plastisol", "discharge"])
    screens = [screen(INKS[i], role, kind=data.draw(kinds), system=data.draw(systems)) for i, role in enumerate(roles)]
    names = [one.ink for one in screens]
    overlaps = {pair: data.draw(st.sampled_from([0.0, 0.04, 0.15, 6.0])) for pair in combinations(names, 2)}
    pair = st.sampled_from(list(combinations(names, 2)))
    order, no_flash = (tuple(data.draw(st.lists(pair, max_size=most))) for most in (3, 2))
    own = OwnPairs(order=order, no_flash_between=no_flash)
    rules = Rules(flash_before_highlight=True, order_as_listed=data.draw(st.booleans()))
    limits, _ = limits_of(screens, overlaps, own=own, rules=rules)
    closed = set(limits.order)
    assert not {(b, a) for a, b in closed} & closed
    assert {(a, d) for a, b in closed for c, d in closed if b == c} <= closed
    assert set(limits.flash_between) <= closed
    assert set(own.order) <= closed

    def reaches(first: str, later: str) -> bool:
        return first == later or (first, later) in closed

    for a, b in limits.flash_between:
        for x, y in limits.no_flash_between:
            assert not (reaches(x, a) and reaches(b, y)), "a flash inside a span that stays wet"
            assert not (reaches(y, a) and reaches(b, x)), "a flash inside a span that stays wet"
        assert not any(reaches(ink, a) for ink in limits.no_flash_after)
