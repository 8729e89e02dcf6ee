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


def test_peek_out_is_told_with_its_place_and_reach(draw):
    ink, base = draw.disc(*SIZE, 650, 700, 500), draw.disc(*SIZE, 650, 700, 490)
    base[680:720, 1100:1170] = 255  # 18 px beyond the edge of the ink at its right
    found = choke(draw, base, ink)
    assert found.peek_out_mm == pytest.approx(19 / MM, abs=1.5 / MM)
    [(x, y)] = found.peek_out_places_mm
    assert (x, y) == (pytest.approx(1160 / MM, abs=0.5), pytest.approx(700 / MM, abs=0.5))


def test_a_pixel_of_base_beyond_the_ink_is_the_rasters(draw):
    ink, base = draw.disc(*SIZE, 650, 700, 500), draw.disc(*SIZE, 650, 700, 501)
    found = choke(draw, base, ink)
    assert (found.peek_out_mm, found.peek_out_places_mm) == (0, ())
    assert found.peek_out_mm2 > 0


@pytest.mark.parametrize("pixels", [0, 6, 14])
def test_what_lies_bare_is_measured_without_the_margin(draw, pixels):
    """A third of the base is missing; the margin of twice the choke and 0.2 mm on the way round does not count."""
    ink, base = np.zeros(SIZE, np.uint8), np.zeros(SIZE, np.uint8)
    ink[200:1200, 200:1100] = 255
    base[200 + pixels : 1200 - pixels, 200 + pixels : 800] = 255
    found = choke(draw, base, ink)
    [bare] = found.bare
    margin = 2 * pixels + 0.2 * MM
    share = (1000 - 2 * margin) * (300 - margin) / (1000 * 900)
    assert bare.ink == "ink 0"
    assert bare.share == pytest.approx(share, rel=0.02)
    [(x, y)] = bare.places_mm
    assert (x, y) == (pytest.approx(945 / MM, abs=1), pytest.approx(700 / MM, abs=1))


def test_a_choked_base_leaves_nothing_bare(draw):
    ink, base = draw.disc(*SIZE, 650, 700, 500), draw.disc(*SIZE, 650, 700, 492)
    assert choke(draw, base, ink).bare == ()


def test_an_ink_beside_the_base_lies_bare_as_a_whole(draw):
    base, on_it, beside = np.zeros(SIZE, np.uint8), np.zeros(SIZE, np.uint8), np.zeros(SIZE, np.uint8)
    on_it[200:900, 200:600], base[208:892, 208:592], beside[200:900, 800:1200] = 255, 255, 255
    [bare] = choke(draw, base, on_it, beside).bare
    assert bare.ink == "ink 1"
    assert bare.share > 0.8


def test_turning_the_set_turns_places(draw):
    ink, base = draw.disc(*SIZE, 650, 700, 500), draw.disc(*SIZE, 650, 700, 490)
    base[680:720, 1100:1170] = 255
    straight = choke(draw, base, ink)
    turned = choke(draw, np.ascontiguousarray(np.rot90(base)), np.ascontiguousarray(np.rot90(ink)))
    assert turned.peek_out_mm2 == straight.peek_out_mm2
    assert turned.median_mm == pytest.approx(straight.median_mm, abs=0.5 / MM)
    [(x, y)] = straight.peek_out_places_mm
    [(u, v)] = turned.peek_out_places_mm
    assert (u, v) == (pytest.approx(y, abs=0.4), pytest.approx(SIZE[1] / MM - x, abs=0.4))


def test_dust_and_type_beside_the_art_do_not_peek(draw, on_paper):
    ink, base = draw.disc(*SIZE, 650, 700, 400), draw.disc(*SIZE, 650, 700, 390)
    rng = np.random.default_rng(2)
    for x, y in zip(rng.integers(0, 1290, 60), rng.integers(0, 1490, 60), strict=True):
        base[y : y + 4, x : x + 5] = 255  # 0.2 mm
    base = on_paper(*SIZE, (0, 0, base), (1350, 200, draw.lettering(70, 700, height=60)))
    found = choke(draw, base, ink)
    assert (found.peek_out_mm, found.peek_out_places_mm) == (0, ())
    assert found.peek_out_mm2 < 0.5
    base[1120:1170, 640:660] = 255  # and a real one below the art still does: 70 px beyond
    assert choke(draw, base, ink).peek_out_mm == pytest.approx(70 / MM, abs=8 / MM)


@pytest.mark.parametrize("pixels", [40, 150, 300])
def test_a_base_far_beyond_the_ink_is_told_by_how_far(draw, pixels):
    ink, base = np.zeros(SIZE, np.uint8), np.zeros(SIZE, np.uint8)
    ink[300:1200, 300:900], base[308:1192, 308:892] = 255, 255
    base[600:760, 800 : 900 + pixels] = 255
    found = choke(draw, base, ink)
    assert found.peek_out_mm == pytest.approx(pixels / MM, abs=(1.5 if pixels < 28 else 9) / MM)
    assert found.peek_out_mm2 == pytest.approx(160 * pixels / MM**2, rel=0.01)
