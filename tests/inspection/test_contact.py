"""Overlap and shared edge of drawn pairs."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from setupassist.inspection.survey import measure_plates

MM = 600 / 25.4


def only(draw, *arrays, dpi=600):
    return measure_plates(draw.plate_set(arrays, dpi=dpi)).contacts[0]


def square(shape, top, left, height, width):
    art = np.zeros(shape, np.uint8)
    art[top : top + height, left : left + width] = 255
    return art


def cm2(pixels, mm=MM):
    return pixels / mm**2 / 100


@pytest.mark.parametrize("dpi", [150, 300, 600, 1200])
def test_overlap_of_solids_is_exact(draw, dpi):
    one, two = draw.disc(700, 640, 300, 320, 250), draw.disc(700, 640, 400, 390, 200)
    both = np.count_nonzero((one > 0) & (two > 0))
    assert only(draw, one, two, dpi=dpi).overlap_cm2 == pytest.approx(cm2(both, dpi / 25.4), rel=1e-6)


def test_overlap_of_soft_edged_solids(draw):
    one, two = draw.disc(700, 640, 300, 320, 250, soft=True), draw.disc(700, 640, 400, 390, 200, soft=True)
    both = np.minimum(one, two).sum(dtype=np.int64) / 255
    assert only(draw, one, two).overlap_cm2 == pytest.approx(cm2(both), rel=0.002)


def test_fine_art_over_a_full_solid_overlaps_by_its_own_ink(draw):
    one = np.full((900, 900), 255, np.uint8)
    two = draw.lettering(900, 900, height=60)
    assert only(draw, one, two).overlap_cm2 == pytest.approx(cm2(np.count_nonzero(two)), rel=1e-6)


@pytest.mark.parametrize("angle", [22.5, 52.5])
def test_dots_on_dots_multiply(draw, on_paper, angle):
    """Demichel: 40 % on 30 % meet on 12 %, whether the dots stand alike or at another angle."""
    one = on_paper(1200, 1200, (100, 100, draw.screened(1000, 1000, angle=22.5, tone=0.4)))
    two = on_paper(1200, 1200, (100, 100, draw.screened(1000, 1000, angle=angle, tone=0.3)))
    assert only(draw, one, two).overlap_cm2 == pytest.approx(cm2(0.12 * 1000 * 1000), rel=0.03)


def test_dots_on_a_solid_and_tone_on_dots(draw, on_paper):
    dots = on_paper(1200, 1200, (100, 100, draw.screened(1000, 1000, tone=0.4)))
    solid = square((1200, 1200), 300, 100, 800, 500)
    assert only(draw, dots, solid).overlap_cm2 == pytest.approx(cm2(0.4 * 800 * 500), rel=0.02)
    tone = on_paper(1200, 1200, (100, 100, np.full((1000, 600), 102, np.uint8)))
    assert only(draw, dots, tone).overlap_cm2 == pytest.approx(cm2(0.16 * 1000 * 600), rel=0.02)


@pytest.mark.parametrize("gap", [0, 1, 4])
def test_a_straight_shared_edge(draw, gap):
    one = square((1400, 900), 100, 100, 1200, 300)
    two = square((1400, 900), 100, 400 + gap, 1200, 300)
    assert only(draw, one, two).shared_edge_cm == pytest.approx(1200 / MM / 10, rel=0.05)
    assert only(draw, one, two).overlap_cm2 == 0


@pytest.mark.parametrize("angle", [10, 22, 33, 45, 80])
@pytest.mark.parametrize("gap", [0, 3])
def test_a_slanting_shared_edge(draw, angle, gap):
    y, x = np.mgrid[0:1200, 0:1200].astype(float)
    turn = np.deg2rad(angle)
    depth = (x - 600) * np.sin(turn) + (y - 600) * np.cos(turn)
    ends = np.abs((x - 600) * np.cos(turn) - (y - 600) * np.sin(turn)) < 400
    one, two = (((depth > low) & (depth < low + 200) & ends) * np.uint8(255) for low in (-200, gap))
    assert only(draw, one, two).shared_edge_cm == pytest.approx(800 / MM / 10, rel=0.05)


@pytest.mark.parametrize("gap", [0, 3])
def test_a_round_shared_edge(draw, gap):
    inner = draw.disc(1200, 1200, 600, 600, 400)
    outer = 255 - draw.disc(1200, 1200, 600, 600, 400 + gap)
    assert only(draw, inner, outer).shared_edge_cm == pytest.approx(2 * np.pi * 400 / MM / 10, rel=0.05)


def test_neither_a_wide_gap_nor_an_overlap_is_a_shared_edge(draw):
    one = square((1400, 900), 100, 100, 1200, 300)
    for left in (400 + 8, 400 - 8):
        assert only(draw, one, square((1400, 900), 100, left, 1200, 300)).shared_edge_cm < 0.1 * 1200 / MM / 10


def test_dots_share_no_edge(draw, on_paper):
    one = on_paper(1200, 1200, (100, 100, draw.screened(1000, 1000, angle=22.5, tone=0.4)))
    two = on_paper(1200, 1200, (100, 100, draw.screened(1000, 1000, angle=52.5, tone=0.4)))
    assert only(draw, one, two).shared_edge_cm < 2


@settings(max_examples=25, deadline=None)
@given(boxes=st.lists(st.tuples(*[st.integers(0, 260)] * 2, *[st.integers(20, 140)] * 2), min_size=4, max_size=4))
def test_overlap_never_exceeds_either_ink_and_is_exact(draw, boxes):
    one, two = (np.maximum(*(square((400, 400), *box) for box in pair)) for pair in (boxes[:2], boxes[2:]))
    measure = measure_plates(draw.plate_set([one, two], dpi=150))
    areas = [plate.ink_area_cm2 for plate in measure.plates]
    overlap = measure.contacts[0].overlap_cm2
    assert overlap <= min(areas) * (1 + 1e-9)
    assert overlap == pytest.approx(cm2(np.count_nonzero((one > 0) & (two > 0)), 150 / 25.4), rel=1e-6, abs=1e-9)
