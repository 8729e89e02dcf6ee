"""Choke and peek-out of drawn bases."""

from __future__ import annotations

import numpy as np
import pytest

from setupassist.inspection.survey import measure_plates

MM = 600 / 25.4
SIZE = (1500, 1300)


def choke(draw, base, *inks):
    names = ["white base", *(f"ink {number}" for number in range(len(inks)))]
    return measure_plates(draw.plate_set([base, *inks], names=names)).chokes[0]


@pytest.mark.parametrize("pixels", [-6, -1, 0, 1, 4, 8, 20])
def test_a_disc_on_its_base(draw, pixels):
    ink, base = draw.disc(*SIZE, 650, 700, 500), draw.disc(*SIZE, 650, 700, 500 - pixels)
    found = choke(draw, base, ink)
    assert found.base == "white base"
    assert found.median_mm == pytest.approx(pixels / MM, abs=0.75 / MM)
    assert found.p5_mm == pytest.approx(pixels / MM, abs=1.25 / MM)
    peek = np.count_nonzero((base > 0) & (ink == 0))
    assert found.peek_out_mm2 == pytest.approx(peek / MM**2, rel=1e-9)


def test_the_fifth_percentile_sees_the_side_without_choke(draw):
    ink, base = np.zeros(SIZE, np.uint8), np.zeros(SIZE, np.uint8)
    ink[200:1200, 200:1000] = 255
    base[208:1192, 208:1000] = 255
    found = choke(draw, base, ink)
    assert found.median_mm == pytest.approx(8 / MM, abs=0.5 / MM)
    assert found.p5_mm == pytest.approx(0, abs=0.5 / MM)


def test_the_union_counts_and_inks_far_from_the_base_do_not(draw):
    left, right = np.zeros(SIZE, np.uint8), np.zeros(SIZE, np.uint8)
    base, far = np.zeros(SIZE, np.uint8), np.zeros(SIZE, np.uint8)
    left[200:900, 200:600], right[200:900, 600:1000], far[1100:1400, 200:1000] = 255, 255, 255
    base[205:895, 205:995] = 255
    found = choke(draw, base, left, right, far)
    assert found.median_mm == pytest.approx(5 / MM, abs=0.5 / MM)
    assert found.peek_out_mm2 == 0


def test_dots_over_a_base_are_no_edges(draw, on_paper):
    dots = on_paper(*SIZE, (200, 200, draw.screened(700, 900, tone=0.4)))
    base = np.zeros(SIZE, np.uint8)
    base[215:885, 215:1085] = 255
    found = choke(draw, base, dots)
    assert found.peek_out_mm2 < 1
    assert found.median_mm is None or found.median_mm > 0


def test_marks_do_not_count(draw, on_paper):
    mark = draw.target(140)
    shapes = draw.disc(*SIZE, 650, 700, 392), draw.disc(*SIZE, 650, 700, 400), draw.disc(*SIZE, 650, 800, 300)
    plates = [
        on_paper(*SIZE, (30, 600 + 9 * i, mark), (1300, 600 + 9 * i, mark), (0, 0, s)) for i, s in enumerate(shapes)
    ]
    found = choke(draw, *plates)
    assert found.peek_out_mm2 == 0
    assert found.median_mm == pytest.approx(8 / MM, abs=0.75 / MM)


def test_no_base_no_choke(draw):
    assert measure_plates(draw.plate_set([draw.disc(*SIZE, 650, 700, 500)])).chokes == ()
