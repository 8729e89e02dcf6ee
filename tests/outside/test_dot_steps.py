"""Tone of a dot of whole pixels in a cell of 16 x 16: the published steps of a digital halftone."""

from __future__ import annotations

import numpy as np
import pytest

from setupassist.art.plates import Plate, PlateSet
from setupassist.inspection.survey import measure_plates

pytestmark = pytest.mark.outside

CELL, DPI, CELLS = 16, 600, 50

# Source: a trade magazine's article on dot shape (Screen Printing): in a cell of 16 x 16 pixels a dot of 16 pixels is
# a tone of 6.25 %, one of 4 pixels 1.56 %; 2400 dpi at 150 lines an inch makes a cell of 16 pixels, as 600 dpi at 37.5.
PUBLISHED = [(4, 6.25), (2, 1.56)]


@pytest.mark.parametrize(("side", "percent"), PUBLISHED)
def test_a_dot_of_whole_pixels_has_its_published_tone(side, percent):
    dot = np.zeros((CELL, CELL), np.uint8)
    dot[6 : 6 + side, 6 : 6 + side] = 255
    patch = np.pad(np.tile(dot, (CELLS, CELLS)), 64)
    page = PlateSet("page", (Plate("ink", "page", *patch.shape, DPI, True),), lambda _: iter([(patch,)]))
    plate = measure_plates(page).plates[0]
    patch_cm2 = (CELL * CELLS * 2.54 / DPI) ** 2
    assert 100 * plate.ink_area_cm2 / patch_cm2 == pytest.approx(percent, abs=0.005)
    if plate.halftone is not None:
        assert plate.halftone.lines_per_inch == pytest.approx(DPI / CELL, rel=0.012)
    assert plate.halftone is not None or side == 2
