"""The order: garment groups as they are taken, sizes and pieces that add up, renaming that forgets nothing."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from setupassist.desk import order
from setupassist.desk.desk import Desk
from setupassist.desk.opening import open_paths
from setupassist.documents.store import example_shop
from setupassist.documents.terms import BleedTest, Fibre
from setupassist.errors import InputFault
from tests.desk.conftest import work_off

GROUPS = [
    {"name": "charcoal tee", "colour": "#26282d", "fibre": "cotton", "pieces": 60},
    {"name": "white tee", "colour": "#f7f6f2", "fibre": "cotton", "pieces": 40},
]


@pytest.fixture
def two(write_job: Callable[..., Path]) -> Desk:
    """The small job for two garment groups."""
    desk = Desk(example_shop())
    path = write_job(garment=None, garments=GROUPS, answers={"base for white tee": "none", "tests": "4"})
    desk.open(open_paths([path], shop=desk.shop))
    return desk


def test_what_nobody_told_is_taken_as_suggested(write_job: Callable[..., Path]) -> None:
    desk = Desk(example_shop())
    desk.open(open_paths([write_job(garment={"name": "tee"})], shop=desk.shop))
    line = order.garment_lines(desk)[0]
    assert (line.colour, line.fibre, line.told) == ("#ffffff", Fibre.COTTON, {"name"})
    desk.put(desk.job.model_copy(update={"answers": {"garment-colour": "#1f2a44", "fibre": "blend"}}))
    work_off(desk)
    line = order.garment_lines(desk)[0]
    assert (line.colour, line.fibre, line.share) == ("#1f2a44", Fibre.BLEND, 0.5)
    assert line.bleed is BleedTest.NOT_DONE


def test_bleed_and_share_matter_only_where_they_do(desk: Desk) -> None:
    assert order.garment_lines(desk)[0].bleed is None
    desk.put(order.garment_edit(desk.job, 0, "fibre", "polyester").job)
    line = order.garment_lines(desk)[0]
    assert (line.bleed, line.share) == (BleedTest.NOT_DONE, None)
    desk.put(order.garment_edit(desk.job, 0, "colour", "white").job)
    assert order.garment_lines(desk)[0].bleed is None
    desk.put(order.garment_edit(desk.job, 0, "fibre", "blend").job)
    desk.put(order.garment_edit(desk.job, 0, "polyester_share", "65 %").job)
    assert desk.job.groups[0].polyester_share == 0.65
    assert order.garment_lines(desk)[0].share == 0.65


def test_a_told_field_takes_the_place_of_its_answer(write_job: Callable[..., Path]) -> None:
    desk = Desk(example_shop())
    desk.open(open_paths([write_job(garment={"name": "tee"}, answers={"fibre": "nylon"})], shop=desk.shop))
    desk.put(order.garment_edit(desk.job, 0, "fibre", "blend").job)
    assert desk.job.answers == {}
    assert desk.job.groups[0].fibre is Fibre.BLEND
    desk.put(order.garment_edit(desk.job, 0, "fibre", "").job)
    assert "fibre" not in desk.job.groups[0].model_fields_set


def test_a_renamed_group_keeps_its_answers_and_a_removed_one_takes_them_along(two: Desk) -> None:
    two.put(order.garment_edit(two.job, 1, "name", "natural tee").job)
    assert two.job.answers == {"base for natural tee": "none", "tests": "4"}
    work_off(two)
    assert two.results.made is not None
    two.put(order.remove_garment(two.job, 1).job)
    assert two.job.answers == {"tests": "4"}
    assert [group.name for group in two.job.groups] == ["charcoal tee"]


def test_a_group_more_has_a_name_of_its_own(two: Desk) -> None:
    for name in ("tee", "tee", "white tee"):
        two.put(order.add_garment(two.job, name).job)
    assert [group.name for group in two.job.groups] == ["charcoal tee", "white tee", "tee", "tee 2", "white tee 2"]
    assert two.job.total_pieces == 100


def test_two_groups_of_one_name_are_refused(two: Desk) -> None:
    with pytest.raises(InputFault):
        order.garment_edit(two.job, 1, "name", "charcoal tee")


def test_sizes_tell_the_pieces_of_one_group(desk: Desk) -> None:
    desk.put(order.sizes_edit(desk.job, "S 36; M: 84, one size 20").job)
    assert desk.job.sizes == {"S": 36, "M": 84, "one size": 20}
    assert desk.job.total_pieces == 140
    with pytest.raises(InputFault, match="140"):
        order.pieces_edit(desk.job, "150")
    desk.put(order.sizes_edit(desk.job, "").job)
    assert (desk.job.sizes, desk.job.total_pieces) == ({}, 140)
    desk.put(order.pieces_edit(desk.job, "1,200").job)
    assert desk.job.total_pieces == 1200
    desk.put(order.pieces_edit(desk.job, "").job)
    assert desk.job.total_pieces is None


def test_pieces_and_sizes_of_several_groups_must_add_up(two: Desk) -> None:
    assert order.pieces_are_sums(two.job)
    two.put(order.garment_edit(two.job, 0, "pieces", "70").job)
    assert two.job.total_pieces == 110
    two.put(order.garment_edit(two.job, 0, "pieces", "60").job)
    two.put(order.sizes_edit(two.job, "S 50, M 50").job)
    with pytest.raises(InputFault, match="110"):
        order.sizes_edit(two.job, "S 60, M 50")
    with pytest.raises(InputFault, match="the sizes add up to 100 pieces, not 110"):
        order.garment_edit(two.job, 0, "pieces", "70")
    two.put(order.remove_garment(two.job, 1).job)
    assert (two.job.sizes, two.job.total_pieces) == ({}, 60)


@pytest.mark.parametrize("text", ["S", "S thirty", "36", "S 1, S 2"])
def test_what_is_no_size_is_a_fault(text: str) -> None:
    with pytest.raises(InputFault):
        order.sizes_read(text)


@pytest.mark.parametrize(
    ("field", "text"), [("pieces", "many"), ("grams_per_m2", "thick"), ("colour", "#1"), ("fibre", "x")]
)
def test_what_cannot_be_read_is_a_fault(desk: Desk, field: str, text: str) -> None:
    with pytest.raises(InputFault):
        order.garment_edit(desk.job, 0, field, text)


@given(
    st.dictionaries(
        st.text("SMLXab ", min_size=1, max_size=6).map(lambda t: " ".join(t.split())).filter(bool),
        st.integers(0, 99_999_999),
        max_size=8,
    )
)
def test_sizes_are_read_as_they_are_told(sizes: dict[str, int]) -> None:
    assert order.sizes_read(order.sizes_told(sizes)) == sizes
