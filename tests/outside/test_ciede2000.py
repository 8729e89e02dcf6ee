"""CIEDE2000 against the pairs of Sharma, Wu and Dalal, Color Research and Application 30 (2005), table 1."""

from __future__ import annotations

import numpy as np
import pytest

from setupassist.colour import ciede2000

pytestmark = pytest.mark.outside

PAIRS = [
    ((50, 2.6772, -79.7751), (50, 0, -82.7485), 2.0425),
    ((50, 3.1571, -77.2803), (50, 0, -82.7485), 2.8615),
    ((50, 2.8361, -74.0200), (50, 0, -82.7485), 3.4412),
    ((50, -1.3802, -84.2814), (50, 0, -82.7485), 1.0000),
    ((50, -1.1848, -84.8006), (50, 0, -82.7485), 1.0000),
    ((50, -0.9009, -85.5211), (50, 0, -82.7485), 1.0000),
    ((50, 2.5, 0), (73, 25, -18), 27.1492),
    ((50, 2.5, 0), (61, -5, 29), 22.8977),
    ((50, 2.5, 0), (56, -27, -3), 31.9030),
    ((50, 2.5, 0), (58, 24, 15), 19.4535),
]


@pytest.mark.parametrize(("one", "two", "difference"), PAIRS)
def test_pair(one: tuple[float, float, float], two: tuple[float, float, float], difference: float) -> None:
    there = ciede2000(np.array(one, dtype=float), np.array(two, dtype=float))
    back = ciede2000(np.array(two, dtype=float), np.array(one, dtype=float))
    assert round(float(there), 4) == difference
    assert round(float(back), 4) == difference


def test_all_pairs_at_once() -> None:
    first, second = (np.array([pair[i] for pair in PAIRS], dtype=float) for i in (0, 1))
    assert np.round(ciede2000(first, second), 4).tolist() == [pair[2] for pair in PAIRS]
