"""Ruling and angle of drawn halftones: 1.2 % and 0.8 degrees are asked for."""

from __future__ import annotations

import numpy as np
import pytest

from setupassist.documents.terms import Kind
from setupassist.inspection.survey import measure_plates

CASES = [
    (300, 25, "round", 15.0, 0.3),
    (300, 45, "ellipse", 7.5, 0.7),
    (300, 65, "line", 61.0, 0.5),
    (600, 25, "square", 75.0, 0.05),
    (600, 35, "line", 45.0, 0.1),
    (600, 45, "round", 22.5, 0.95),
    (600, 55, "round", 0.0, 0.05),
    (600, 65, "ellipse", 88.0, 0.5),
    (600, 85, "square", 37.0, 0.8),
    (1200, 45, "round", 61.0, 0.3),
    (1200, 85, "ellipse", 22.5, 0.5),
]


@pytest.mark.parametrize("case", CASES)
def test_ruling_and_angle_come_back(draw, on_paper, case):
    dpi, lpi, shape, angle, tone = case
    side, rim = round(20 * dpi / 25.4), round(4 * dpi / 25.4)
    dots = draw.screened(side, side, dpi=dpi, lpi=lpi, angle=angle, shape=shape, tone=tone)
    art = on_paper(side + 2 * rim, side + 2 * rim, (rim, rim, dots))
    plate = measure_plates(draw.plate_set([art], dpi=dpi)).plates[0]
    assert plate.kind is Kind.HALFTONE
    assert plate.halftone.lines_per_inch == pytest.approx(lpi, rel=0.012)
    assert abs((plate.halftone.angle_deg - angle + 45) % 90 - 45) < 0.8


def test_the_angle_turns_with_the_art(draw, on_paper):
    """Mirrored art has the mirrored angle: 22.5 becomes 67.5 degrees."""
    art = on_paper(900, 900, (100, 100, draw.screened(700, 700, angle=22.5)))
    mirrored = measure_plates(draw.plate_set([art[:, ::-1].copy()])).plates[0]
    assert mirrored.halftone.angle_deg == pytest.approx(67.5, abs=0.8)


def test_doubling_the_resolution_keeps_millimetres(draw, on_paper):
    art = on_paper(500, 500, (60, 40, draw.screened(380, 400, dpi=300, lpi=35, angle=30, tone=0.3)))
    once = measure_plates(draw.plate_set([art], dpi=300))
    twice = measure_plates(draw.plate_set([np.kron(art, np.ones((2, 2), np.uint8))], dpi=600))
    one, two = once.plates[0], twice.plates[0]
    assert two.ink_area_cm2 == pytest.approx(one.ink_area_cm2, rel=1e-9)
    assert two.ink_box_mm == pytest.approx(one.ink_box_mm, abs=1e-9)
    assert two.kind is one.kind is Kind.HALFTONE
    assert two.halftone.lines_per_inch == pytest.approx(one.halftone.lines_per_inch, rel=0.003)
    assert two.halftone.angle_deg == pytest.approx(one.halftone.angle_deg, abs=0.2)
