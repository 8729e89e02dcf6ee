"""Halftones that presses, scanners and compression have been at: ruling, angle and kind come back all the same."""

from __future__ import annotations

import io

import numpy as np
import pytest
from PIL import Image
from scipy import ndimage

from setupassist.documents.terms import Kind
from setupassist.inspection.survey import measure_plates

SIDE, RIM = 560, 90


def measured(draw, on_paper, dots, dpi=600, size=(SIDE, SIDE)):
    art = on_paper(size[0] + 2 * RIM, size[1] + 2 * RIM, (RIM, RIM, dots))
    return measure_plates(draw.plate_set([art], dpi=dpi)).plates[0]


def agrees(plate, lpi, angle):
    assert plate.halftone.lines_per_inch == pytest.approx(lpi, rel=0.012)
    assert abs((plate.halftone.angle_deg - angle + 45) % 90 - 45) < 0.8


@pytest.mark.parametrize("shape", ["round", "ellipse", "square"])
@pytest.mark.parametrize(("lpi", "turn"), [(25, 0), (35, 5), (45, 10), (55, 15), (65, 3), (85, 8)])
def test_every_angle(draw, on_paper, shape, lpi, turn):
    """Three angles a case, so that all together come every five degrees."""
    for angle in (turn, turn + 30, turn + 60):
        tone = 0.15 + 0.7 * ((angle * 7 + lpi) % 11) / 11
        plate = measured(draw, on_paper, draw.screened(SIDE, SIDE, lpi=lpi, angle=angle, shape=shape, tone=tone))
        assert plate.kind is Kind.HALFTONE
        agrees(plate, lpi, angle)


@pytest.mark.parametrize(("lpi", "angle"), [(35, 22.5), (55, 67.5), (65, 7.5)])
def test_dot_gain_and_loss(draw, on_paper, lpi, angle):
    dots = draw.screened(SIDE, SIDE, lpi=lpi, angle=angle, tone=0.4) > 0
    for changed in (ndimage.binary_dilation(dots), ndimage.binary_erosion(dots)):
        plate = measured(draw, on_paper, np.where(changed, 255, 0).astype(np.uint8))
        assert plate.kind is Kind.HALFTONE
        agrees(plate, lpi, angle)


@pytest.mark.parametrize(("lpi", "angle"), [(35, 22.5), (45, 61), (65, 75)])
def test_the_noise_of_a_scanner(draw, on_paper, lpi, angle):
    """Blurred, grainy, with lone pixels of dust, and put back into two levels."""
    rng = np.random.default_rng(3)
    dots = draw.screened(SIDE, SIDE, lpi=lpi, angle=angle, tone=0.35)
    rough = ndimage.gaussian_filter(dots / 255.0, 1) + rng.normal(0, 0.15, dots.shape)
    levels = np.where(rough > 0.5, 255, 0).astype(np.uint8)
    levels[rng.random(levels.shape) < 0.002] = 255
    plate = measured(draw, on_paper, levels)
    assert plate.kind is Kind.HALFTONE
    agrees(plate, lpi, angle)


@pytest.mark.parametrize("quality", [30, 60, 90])
def test_jpeg_damage(draw, on_paper, quality):
    dots = draw.screened(SIDE, SIDE, lpi=45, angle=22.5, tone=0.4)
    art = on_paper(SIDE + 2 * RIM, SIDE + 2 * RIM, (RIM, RIM, dots))
    kept = io.BytesIO()
    Image.fromarray(255 - art).save(kept, "JPEG", quality=quality)
    levels = 255 - np.asarray(Image.open(kept).convert("L"))
    plate = measure_plates(draw.plate_set([levels])).plates[0]
    assert plate.kind is Kind.HALFTONE
    agrees(plate, 45, 22.5)
    assert plate.ink_area_cm2 == pytest.approx(float(art.sum()) / 255 * (2.54 / 600) ** 2, rel=0.03)


def test_solids_and_dots_on_one_plate(draw, on_paper):
    """The kind is that of the greater area; ruling and angle are those of the dots in both."""
    dots = draw.screened(400, 500, lpi=55, angle=37, tone=0.6)
    for solid, kind in ((80, Kind.HALFTONE), (700, Kind.SOLID)):
        block = np.full((solid, 500), 255, np.uint8)
        type_ = draw.lettering(200, 500)
        art = on_paper(1500, 700, (60, 100, dots), (520, 100, block), (1280, 100, type_))
        plate = measure_plates(draw.plate_set([art])).plates[0]
        assert plate.kind is kind
        agrees(plate, 55, 37)
        steps = np.array(plate.tone_cm2)
        assert steps.sum() == pytest.approx(400 * 500 * (2.54 / 600) ** 2, rel=0.12)
        assert (steps * (np.arange(50) + 0.5)).sum() / steps.sum() / 50 == pytest.approx(0.6, abs=0.05)


def test_tone_steps_show_a_vignette(draw, on_paper):
    """Dots from nothing to full: local ink spreads over all steps, its lightest place is at the light end."""
    ramp = np.tile(np.linspace(0.02, 0.98, 900), (500, 1))
    art = on_paper(700, 1100, (100, 100, draw.screened(500, 900, lpi=45, angle=22.5, tone=ramp)))
    plate = measure_plates(draw.plate_set([art])).plates[0]
    steps = np.array(plate.tone_cm2)
    assert (steps[2:48] > 0).all()
    assert min(x for x, _ in plate.light_places_mm) < 10
    assert max(x for x, _ in plate.dark_places_mm) > 35


def test_dots_left_out_are_not_smaller_dots(draw, on_paper):
    """A tone of 4 % out of dots of 8 % of which half are left out counts as dots of 8 %."""
    dots = draw.screened(900, 900, lpi=45, angle=0, tone=0.08, phase=(0, 0))
    period = 600 / 45
    rng = np.random.default_rng(4)
    for row in range(-1, 70):
        for column in range(-1, 70):
            if rng.random() < 0.5:
                top, left = (max(0, round((at - 0.5) * period)) for at in (row, column))
                dots[top : round((row + 0.5) * period), left : round((column + 0.5) * period)] = 0
    full = draw.screened(900, 500, lpi=45, angle=0, tone=0.3, phase=(0, 0))
    plate = measured(draw, on_paper, np.hstack([dots, full]), size=(900, 1400))
    steps = np.array(plate.tone_cm2)
    assert steps[:3].sum() < 0.02 * steps.sum()
    assert steps[3:6].sum() > 0.9 * steps[:9].sum()
