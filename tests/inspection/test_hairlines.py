"""Unprinted hairlines between neighbours: drawn gaps of known width and length come back, others stay silent."""

from __future__ import annotations

import numpy as np
import pytest

from setupassist.inspection.survey import measure_plates

MM = 600 / 25.4


def halves(angle: float, gap: float, *, shape=(900, 900), radius=300.0):
    """Two halves of a disc with a straight gap of ``gap`` pixels between them."""
    y, x = np.mgrid[0.0 : shape[0], 0.0 : shape[1]] - 450.3
    turn = np.deg2rad(angle)
    side = x * np.sin(turn) + y * np.cos(turn)
    inside = np.hypot(x, y) < radius
    one = inside & (side < -gap / 2)
    two = inside & (side >= gap / 2)
    return [np.where(part, 255, 0).astype(np.uint8) for part in (one, two)]


def hairline(draw, plates, **options):
    measure = measure_plates(draw.plate_set(plates, **options))
    return next(c for c in measure.contacts if set(c.plates) == {p.name for p in measure.plates[:2]})


@pytest.mark.parametrize("angle", [0, 17, 45, 63, 90])
@pytest.mark.parametrize("gap", [2, 4, 7])
def test_a_hairline_has_its_length_width_and_place(draw, angle, gap):
    found = hairline(draw, halves(angle, gap))
    assert found.hairline_cm == pytest.approx(600 / MM / 10, rel=0.04)
    assert found.hairline_mm == pytest.approx(gap / MM, abs=0.8 / MM)
    [(x, y)] = found.hairline_places_mm
    assert (x, y) == (pytest.approx(450 / MM, abs=0.7), pytest.approx(450 / MM, abs=0.7))


@pytest.mark.parametrize("dpi", [300, 1200])
def test_hairlines_at_other_resolutions(draw, dpi):
    mm = dpi / 25.4
    found = hairline(draw, halves(30, round(0.15 * mm)), dpi=dpi)
    assert found.hairline_mm == pytest.approx(round(0.15 * mm) / mm, abs=0.8 / mm)
    assert found.hairline_cm == pytest.approx(600 / mm / 10, rel=0.04)


@pytest.mark.parametrize("gap", [-6, -1, 0, 10])
def test_touching_overlapping_and_wide_gaps_are_none(draw, gap):
    found = hairline(draw, halves(17, gap))
    assert (found.hairline_cm, found.hairline_mm, found.hairline_places_mm) == (0, None, ())


def test_a_short_run_is_none_and_broken_runs_do_not_add_up(draw):
    one, two = halves(0, 4)
    one[:, : 450 - 50], two[:, : 450 - 50] = 0, 0
    one[:, 450 + 50 :], two[:, 450 + 50 :] = 0, 0
    assert hairline(draw, [one, two]).hairline_cm == 0  # 100 px are 4.2 mm
    one, two = halves(0, 4)
    for left in range(150, 750, 100):  # 60 px of hairline, then 40 px where they touch
        one[440:453, left : left + 40] = 255
    assert hairline(draw, [one, two]).hairline_cm == 0


def test_what_another_ink_covers_is_no_hairline_and_a_base_does_not_cover(draw):
    one, two = halves(17, 4)
    key = draw.disc(900, 900, 450, 450, 320)
    assert hairline(draw, [one, two, key]).hairline_cm == 0
    assert hairline(draw, [one, two, key], names=["red", "blue", "white base"]).hairline_cm > 2


def test_a_thin_line_on_an_edge_leaves_no_hairline_behind_it(draw):
    """Both inks lie within reach of the paper behind the line, but only one of them sees it."""
    one, two = halves(30, 0)
    line = np.zeros_like(one)
    y, x = np.mgrid[0.0:900, 0.0:900] - 450.3
    ring = np.abs(np.hypot(x, y) - 301.5) < 1.5
    line[ring] = 255
    assert hairline(draw, [one | two, line]).hairline_cm == 0
    assert hairline(draw, [line, one | two]).hairline_cm == 0


def test_edges_that_run_together_leave_no_hairline(draw):
    one, two = halves(17, 0)[0], halves(17, 1.3)[0]
    assert np.count_nonzero(one != two) > 100
    assert hairline(draw, [one, two]).hairline_cm == 0


def test_soft_edges_that_meet_leave_no_hairline(draw):
    y, x = np.mgrid[0.0:900, 0.0:900] - 450.3
    turn = np.deg2rad(20)
    side = x * np.sin(turn) + y * np.cos(turn)
    inside = np.hypot(x, y) < 300
    for gap, told in ((0.0, False), (4.0, True)):
        soft = [np.clip(part - gap / 2 + 0.5, 0, 1) * 255 * inside for part in (side, -side)]
        assert (hairline(draw, [part.round().astype(np.uint8) for part in soft]).hairline_cm > 0) is told


@pytest.mark.parametrize("angle", [0, 20, 90])
@pytest.mark.parametrize("shift", [0.0, 0.2, 0.4, 0.6, 0.8])
@pytest.mark.parametrize("gap", [3.0, 5.3])
def test_a_hairline_between_soft_edges_shows_wherever_they_fall(draw, angle, shift, gap):
    y, x = np.mgrid[0.0:900, 0.0:900] - 450
    turn = np.deg2rad(angle)
    side = x * np.sin(turn) + y * np.cos(turn) + shift
    inside = np.hypot(x, y) < 300
    soft = [(np.clip(part - gap / 2 + 0.5, 0, 1) * 255 * inside).round().astype(np.uint8) for part in (side, -side)]
    found = hairline(draw, soft)
    assert found.hairline_cm == pytest.approx(600 / MM / 10, rel=0.05)
    assert gap - 2 <= found.hairline_mm * MM <= gap + 0.5


def test_a_base_and_the_ink_on_it_leave_no_hairline(draw):
    base = draw.disc(900, 900, 450, 450, 300)
    ring = (draw.disc(900, 900, 450, 450, 400) > 0) & (draw.disc(900, 900, 450, 450, 304) == 0)
    plates = [base, np.where(ring, 255, 0).astype(np.uint8)]
    assert hairline(draw, plates, names=["white base", "red"]).hairline_cm == 0
    assert hairline(draw, plates, names=["blue", "red"]).hairline_cm > 6.5


def test_turning_the_set_keeps_the_hairline(draw):
    plates = halves(17, 5)
    straight = hairline(draw, plates)
    turned = hairline(draw, [np.ascontiguousarray(np.rot90(plate)) for plate in plates])
    assert turned.hairline_cm == pytest.approx(straight.hairline_cm, rel=0.03)
    assert turned.hairline_mm == pytest.approx(straight.hairline_mm, rel=0.05)
