"""Wet harm: known figures, laws and edges. Figures marked computed come from an independent calculation."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from setupassist.films.harm import absorption_ratio, masstone, shift, shifts, wet_harm

COLOURS = st.integers(0, 0xFFFFFF).map(lambda value: f"#{value:06x}")


def test_black_in_yellow_is_a_disaster_and_yellow_in_black_is_nothing() -> None:
    assert shift("#1c1c1e", "#f3c921") > 5 * shift("#f3c921", "#1c1c1e")


def test_a_first_formula_without_floor_gives_the_leads_figures() -> None:
    # computed elsewhere for these set-ups: touch is charged by the ink that comes first
    assert shift("#1f2a44", "#f3c921") * 0.05 * 5 == pytest.approx(9, abs=0.5)
    assert shift("#f3c921", "#1f2a44") * 0.05 * 300 == pytest.approx(81, abs=0.5)


def test_the_smaller_area_touches_and_the_overlap_adds() -> None:
    overlaps = [[0.0, 2.0], [2.0, 0.0]]
    harm = wet_harm(("#c8202f", "#fdfdfb"), (55.0, 12.0), overlaps)
    # 2 cm² + 0.05 x 12 cm² = 2.6 cm²; seen, because 2.6 x 38 / 12 is above 1.5
    assert harm[0][1] == round(10 * 2.6 * shift("#c8202f", "#fdfdfb"))
    assert harm[0][1] > 900


def test_what_nobody_sees_counts_nothing() -> None:
    # navy 5 cm² before yellow 300 cm²: 9 cm²·ΔE over 300 cm² is 0.03 ΔE
    assert wet_harm(("#1f2a44", "#f3c921"), (5.0, 300.0), np.zeros((2, 2))) == ((0, 0), (0, 0))
    seen = wet_harm(("#1f2a44", "#f3c921"), (5.0, 300.0), np.zeros((2, 2)), unseen_delta_e=0.0)
    assert seen[0][1] == round(10 * 0.25 * shift("#1f2a44", "#f3c921"))


def test_the_floor_is_where_it_says() -> None:
    # j of 10 cm², no overlap: harm over area is 0.05 x shift, so 1.5 ΔE wants a shift of 30
    areas, none = (10.0, 10.0), np.zeros((2, 2))
    per_area = 0.05 * shift("#000000", "#ffffff")
    assert wet_harm(("#000000", "#ffffff"), areas, none, unseen_delta_e=per_area * 0.999)[0][1] > 0
    assert wet_harm(("#000000", "#ffffff"), areas, none, unseen_delta_e=per_area * 1.001)[0][1] == 0


def test_edges() -> None:
    assert wet_harm((), (), np.zeros((0, 0))) == ()
    assert wet_harm(("#112233",), (4.0,), [[0.0]]) == ((0,),)
    assert wet_harm(("#000000", "#ffffff"), (4.0, 0.0), np.zeros((2, 2)))[0][1] == 0
    with pytest.raises(ValueError, match="2 colours want 2 areas"):
        wet_harm(("#000000", "#ffffff"), (4.0,), np.zeros((2, 2)))
    with pytest.raises(ValueError, match="2 by 2"):
        wet_harm(("#000000", "#ffffff"), (4.0, 4.0), np.zeros((3, 3)))


@given(st.lists(st.floats(0.01, 0.99), min_size=1, max_size=5))
def test_masstone_undoes_the_ratio(reflectances: list[float]) -> None:
    assert masstone(absorption_ratio(np.array(reflectances))) == pytest.approx(reflectances, abs=1e-9)


@given(st.lists(COLOURS, min_size=1, max_size=4, unique=True))
def test_a_pair_does_not_hang_on_the_others(colours: list[str]) -> None:
    table = shifts(colours)
    assert (table >= 0).all()
    for i, one in enumerate(colours):
        for j, two in enumerate(colours):
            assert table[i, j] == pytest.approx(0.0 if i == j else shift(one, two), abs=1e-9)
