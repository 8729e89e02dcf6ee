"""Labels of findings on a picture: none on another, none on a place."""

from __future__ import annotations

import itertools

from hypothesis import given
from hypothesis import strategies as st

from setupassist.appearance.marks import REACH, Wanted, labelled, labels_apart

HALF, AT_BEST = 10.0, 26.0
WITHIN = (0.0, 0.0, 400.0, 300.0)
points = st.tuples(st.floats(0, 400), st.floats(0, 300))


def apart(one: tuple[float, float], two: tuple[float, float]) -> float:
    return max(abs(one[0] - two[0]), abs(one[1] - two[1]))


@given(st.lists(points, max_size=25))
def test_labels_never_lie_on_one_another_and_stay_inside(places: list[tuple[float, float]]) -> None:
    found = labels_apart(places, half=HALF, reach=AT_BEST, within=WITHIN)
    assert len(found) == len(places)
    there = [label for label in found if label is not None]
    for one, two in itertools.combinations(there, 2):
        assert apart(one, two) >= 2 * HALF * REACH
    for x, y in there:
        assert HALF * REACH <= x <= 400 - HALF * REACH
        assert HALF * REACH <= y <= 300 - HALF * REACH


def test_three_places_at_one_spot_get_three_labels_that_leave_it_free() -> None:
    places = [(200.0, 150.0), (201.0, 150.0), (200.0, 152.0)]
    found = [label for label in labels_apart(places, half=HALF, reach=AT_BEST, within=WITHIN) if label is not None]
    assert len(found) == 3
    assert all(apart(label, place) > HALF * REACH for label in found for place in places)


def test_a_label_leans_away_from_the_middle_and_turns_round_at_the_edge() -> None:
    right, edge = labels_apart([(300.0, 150.0), (398.0, 150.0)], half=HALF, reach=AT_BEST, within=WITHIN)
    assert right == (326.0, 150.0)
    assert edge is not None
    assert edge[0] < 398


def test_places_without_a_label_are_not_covered_where_that_can_be_helped() -> None:
    (free,) = labels_apart([(300.0, 150.0)], half=HALF, reach=AT_BEST, within=WITHIN, others=[(326.0, 150.0)])
    assert free is not None
    assert apart(free, (326.0, 150.0)) > HALF * REACH


def test_where_all_is_full_the_rest_go_without() -> None:
    found = labels_apart([(45.0, 45.0)] * 10, half=HALF, reach=AT_BEST, within=(0.0, 0.0, 90.0, 90.0))
    assert found[-1] is None
    assert found[0] is not None


def test_the_chosen_finding_is_labelled_first_then_each_once_then_again() -> None:
    places = [Wanted(number, (0.0, 0.0)) for number in (1, 1, 1, 1, 2, 2, 3)]
    assert labelled(places) == [0, 4, 6, 1, 5, 2]
    assert labelled(places, chosen=2) == [4, 5, 0, 6, 1, 2]
    assert labelled(places, chosen=1, chosen_most=4)[:4] == [0, 1, 2, 3]
    assert labelled(places, most=2) == [0, 4]
