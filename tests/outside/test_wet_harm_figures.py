"""Wet harm against figures that were computed by other code for the same formula."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.stats import spearmanr

from setupassist.films.harm import shifts

pytestmark = pytest.mark.outside

# Source: computed (not published, not measured) with a separate single-constant Kubelka–Munk program from ink
# colours given as Lab under D50, differences taken under D50. Here the nearest sRGB bytes after Bradford adaptation,
# clipped where sRGB has no such colour (orange, green, the blue of yellow), and differences under D65.
INKS = {
    "white": "#f1f1ee",
    "yellow": "#fbcf00",
    "orange": "#fe7122",
    "red": "#cc1e2a",
    "green": "#008b3f",
    "royal": "#2d44a9",
    "navy": "#212b4c",
    "black": "#2c2c2b",
}
# rows: one part of this ink; columns, in the same order: nine parts of this host
COMPUTED = [
    [0.0, 1.0, 1.2, 0.7, 1.4, 1.1, 0.8, 0.8],
    [27, 0.0, 1.2, 1.1, 2.5, 16, 8.0, 3.6],
    [25, 8.8, 0.0, 0.8, 1.5, 8.8, 5.0, 2.3],
    [38, 37, 9.7, 0.0, 21, 9.2, 2.2, 3.5],
    [28, 32, 49, 27, 0.0, 4.7, 2.1, 3.9],
    [33, 28, 33, 19, 7.4, 0.0, 0.7, 1.1],
    [40, 37, 39, 24, 15, 3.7, 0.0, 1.5],
    [35, 33, 32, 19, 14, 7.6, 2.1, 0.0],
]
IN_GAMUT = ("white", "red", "black")


def test_shifts_rank_as_other_code_ranks_them() -> None:
    found, expected = shifts(list(INKS.values())), np.array(COMPUTED)
    off = ~np.eye(len(INKS), dtype=bool)
    assert spearmanr(found[off], expected[off]).statistic > 0.98
    assert np.median(np.abs(found - expected)[off]) < 0.5
    assert np.abs(found - expected)[off].max() < 3.0


@pytest.mark.parametrize("first", IN_GAMUT)
@pytest.mark.parametrize("host", IN_GAMUT)
def test_shifts_of_colours_within_srgb_agree(first: str, host: str) -> None:
    names = list(INKS)
    i, j = names.index(first), names.index(host)
    assert shifts(list(INKS.values()))[i, j] == pytest.approx(COMPUTED[i][j], rel=0.03, abs=0.35)
