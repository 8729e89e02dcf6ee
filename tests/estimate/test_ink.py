from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from setupassist.estimate.ink import film_cm3, ink_grams, pieces_to_print


@pytest.mark.parametrize(
    ("pieces", "tests", "spoilage", "wanted"),
    [
        (50, 0, 0.02, 51),  # exactly 1, though 0.02 is no binary number
        (100, 0, 0.07, 107),  # 0.07 × 100 is 7.000000000000001 in floats
        (288, 6, 0.02, 300),  # 5.76, so 6
        (288, 6, 0.0, 294),
        (0, 6, 0.02, 6),
        (1, 0, 0.001, 2),
        (10_000_000, 10_000, 1.0, 20_010_000),
    ],
)
def test_pieces_to_print(pieces: int, tests: int, spoilage: float, wanted: int) -> None:
    assert pieces_to_print(pieces, tests=tests, spoilage=spoilage) == wanted


@given(st.integers(0, 10**6), st.integers(0, 100))
def test_whole_percents_are_exact(pieces: int, percent: int) -> None:
    assert pieces_to_print(pieces, tests=0, spoilage=percent / 100) == pieces - (-pieces * percent // 100)


def test_grams_by_hand() -> None:
    # 500 cm² = 0.05 m²; × 36 cm³/m² × 0.6 × 2 strokes = 2.16 cm³; × 1.35 g/cm³ = 2.916 g; 300 prints and 500 g
    assert film_cm3(500, volume_cm3_m2=36, transfer_share=0.6, strokes=2) == pytest.approx(2.16)
    grams = ink_grams(
        500, volume_cm3_m2=36, transfer_share=0.6, strokes=2, density_g_cm3=1.35, prints=300, residue_grams=500
    )
    assert grams == pytest.approx(1374.8)
