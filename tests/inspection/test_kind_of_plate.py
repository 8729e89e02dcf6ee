"""Kind of drawn plates, and the halftone of mixed ones."""

from __future__ import annotations

import numpy as np
import pytest

from setupassist.documents.terms import Kind
from setupassist.inspection.survey import measure_plates

MM = 600 / 25.4


def only(draw, array, dpi=600):
    return measure_plates(draw.plate_set([array], dpi=dpi)).plates[0]


@pytest.mark.parametrize("dot", [1, 2])
@pytest.mark.parametrize("tone", [0.2, 0.5, 0.8])
def test_dispersed_dots_are_stochastic(draw, on_paper, dot, tone):
    plate = only(draw, on_paper(900, 900, (100, 120, draw.dispersed(640, 600, dot=dot, tone=tone))))
    assert plate.kind is Kind.STOCHASTIC
    assert plate.halftone is None


@pytest.mark.parametrize("dot", [1, 4])
@pytest.mark.parametrize("tone", [0.05, 0.2])
def test_scattered_dots_have_a_size(draw, on_paper, dot, tone):
    """A square of side a has 4 a / pi by its area and its rim; at random places a share ``tone`` of its rim is lost."""
    plate = only(draw, on_paper(1500, 1500, (100, 120, draw.dispersed(1300, 1200, dot=dot, tone=tone))))
    assert plate.dot_mm == pytest.approx(4 / np.pi / (1 - tone) * dot / MM, rel=0.03)


def test_only_scattered_dots_that_stand_apart_have_a_size(draw, on_paper):
    for art in (draw.dispersed(640, 600, tone=0.6), draw.screened(640, 600, tone=0.2), draw.lettering(640, 600)):
        assert only(draw, on_paper(900, 900, (100, 120, art))).dot_mm is None


@pytest.mark.parametrize(("dpi", "dot"), [(300, 1), (300, 2), (600, 3), (1200, 4)])
def test_coarse_dispersed_dots_are_stochastic(draw, on_paper, dpi, dot):
    plate = only(draw, on_paper(1500, 1500, (100, 120, draw.dispersed(1300, 1200, dot=dot))), dpi)
    assert plate.kind is Kind.STOCHASTIC
    assert plate.halftone is None


@pytest.mark.parametrize(("dpi", "height"), [(600, 40), (600, 55), (600, 80), (600, 150), (300, 20), (300, 45)])
def test_lettering_is_solid(draw, on_paper, dpi, height):
    plate = only(draw, on_paper(1400, 1400, (100, 100, draw.lettering(1200, 1200, height=height))), dpi)
    assert plate.kind is Kind.SOLID
    assert plate.halftone is None


def test_outlined_shapes_are_solid(draw):
    art = np.zeros((1200, 1200), np.uint8)
    for radius in range(60, 560, 50):
        art |= draw.disc(1200, 1200, 600, 600, radius) ^ draw.disc(1200, 1200, 600, 600, radius - 8)
    plate = only(draw, art)
    assert plate.kind is Kind.SOLID
    assert plate.halftone is None


def test_wavy_hatching_is_solid(draw):
    y, x = np.mgrid[0:1400, 0:1400]
    waves = (y + 10 * np.sin(x / 60)) % 26 < 8
    art = np.where(waves & (draw.disc(1400, 1400, 700, 700, 600) > 0), 255, 0).astype(np.uint8)
    plate = only(draw, art)
    assert plate.kind is Kind.SOLID
    assert plate.halftone is None


def test_soft_edges_stay_solid(draw):
    art = np.maximum(draw.disc(900, 900, 300, 300, 210, soft=True), draw.disc(900, 900, 650, 640, 150.3, soft=True))
    plate = only(draw, art)
    assert plate.kind is Kind.SOLID
    true_cm2 = np.pi * (210**2 + 150.3**2) / MM**2 / 100
    assert plate.ink_area_cm2 == pytest.approx(true_cm2, rel=0.005)


def test_greys_are_tone(draw, on_paper):
    ramp = np.broadcast_to(np.linspace(20, 235, 600).astype(np.uint8), (600, 600))
    plate = only(draw, on_paper(900, 900, (100, 100, ramp)))
    assert plate.kind is Kind.TONE
    assert plate.ink_area_cm2 == pytest.approx(ramp.sum() / 255 / MM**2 / 100, rel=0.001)


def test_a_light_tint_is_tone(draw, on_paper):
    assert only(draw, on_paper(900, 900, (100, 100, np.full((600, 600), 40, np.uint8)))).kind is Kind.TONE


@pytest.mark.parametrize(("solid_rows", "kind"), [(500, Kind.SOLID), (120, Kind.HALFTONE)])
def test_a_mixed_plate_takes_the_kind_of_the_greater_inked_area(draw, on_paper, solid_rows, kind):
    dots = draw.screened(600, 1000, lpi=45, angle=22.5, tone=0.4)
    solid = np.full((solid_rows, 1000), 255, np.uint8)
    plate = only(draw, on_paper(1500, 1200, (100, 100, solid), (800, 100, dots)))
    assert plate.kind is kind
    assert plate.halftone is not None
    assert plate.halftone.lines_per_inch == pytest.approx(45, rel=0.012)
    assert plate.halftone.angle_deg == pytest.approx(22.5, abs=0.8)


def test_dots_beside_small_type_are_still_read(draw, on_paper):
    dots = draw.screened(900, 900, lpi=55, angle=61, tone=0.5)
    letters = draw.lettering(900, 800, height=50)
    plate = only(draw, on_paper(1100, 2000, (100, 100, letters), (100, 1000, dots)))
    assert plate.kind is Kind.HALFTONE
    assert plate.halftone.lines_per_inch == pytest.approx(55, rel=0.012)
    assert plate.halftone.angle_deg == pytest.approx(61, abs=0.8)


def test_a_ramp_of_dots_is_one_halftone(draw, on_paper):
    tone = np.broadcast_to(np.linspace(0.02, 0.98, 1200), (900, 1200))
    plate = only(draw, on_paper(1100, 1400, (100, 100, draw.screened(900, 1200, lpi=45, angle=52.5, tone=tone))))
    assert plate.kind is Kind.HALFTONE
    assert plate.halftone.angle_deg == pytest.approx(52.5, abs=0.8)


@pytest.mark.parametrize("art", [np.zeros((300, 300), np.uint8), np.pad(np.full((1, 1), 255, np.uint8), 150)])
def test_hardly_any_ink_is_empty(draw, art):
    assert only(draw, art).kind is Kind.EMPTY
