"""Registration marks are found without being told their shape, and nothing counts them."""

from __future__ import annotations

import numpy as np
import pytest

from setupassist.inspection.survey import measure_plates

MM = 600 / 25.4
SIZE = (2000, 1800)


def marked(draw, on_paper, art, shift=(0, 0), label=False):
    mark = draw.target(180)
    places = [(60, 810), (1760, 810)]
    parts = [(y + shift[1], x + shift[0], mark) for y, x in places]
    if label:
        parts.append((90, 1030, draw.lettering(40, 400, height=36, seed=label)))
    return on_paper(*SIZE, *parts, (0, 0, art))


def shapes(draw):
    one = draw.disc(*SIZE, 900, 1000, 420)
    two = draw.disc(*SIZE, 1100, 1100, 300)
    three = np.zeros(SIZE, np.uint8)
    three[700:1500, 500:800] = 255
    return [one, two, three, one ^ draw.disc(*SIZE, 900, 1000, 300)]


@pytest.mark.parametrize("label", [False, True])
def test_marks_and_labels_leave_no_trace(draw, on_paper, label):
    art = shapes(draw)
    shifts = [(0, 0), (5, -3), (12, 7), (0, 9)]
    plates = [
        marked(draw, on_paper, a, shift, label=label and number + 1)
        for number, (a, shift) in enumerate(zip(art, shifts, strict=True))
    ]
    bare, found = measure_plates(draw.plate_set(art)), measure_plates(draw.plate_set(plates))
    assert found.art.art_box_mm == pytest.approx(bare.art.art_box_mm, abs=0.05)
    for mine, true in zip(found.plates, bare.plates, strict=True):
        assert mine.ink_area_cm2 == pytest.approx(true.ink_area_cm2, rel=1e-6)
        assert mine.coverage == pytest.approx(true.coverage, rel=1e-3)
        assert mine.ink_box_mm == pytest.approx(true.ink_box_mm, abs=0.05)
    for mine, true in zip(found.contacts, bare.contacts, strict=True):
        assert mine.overlap_cm2 == pytest.approx(true.overlap_cm2, rel=1e-3, abs=1e-3)
        assert mine.shared_edge_cm == pytest.approx(true.shared_edge_cm, rel=0.01, abs=0.05)
    assert [f.code for f in found.findings] == []
    assert [(f.code, f.severity) for f in bare.findings] == [("marks-missing", "note")]


def corner(across):
    art = np.zeros((across, across), np.uint8)
    art[:9], art[:, :9] = 255, 255
    return art


def wedge(across):
    return np.triu(np.full((across, across), 255, np.uint8))


def ring(across):
    y, x = np.mgrid[0:across, 0:across] - across / 2
    return np.where(np.abs(np.hypot(x, y) - 0.4 * across) < 5, 255, 0).astype(np.uint8)


@pytest.mark.parametrize("mark", [corner(120), wedge(90), ring(300)], ids=["corner", "wedge", "ring"])
def test_the_shape_of_a_mark_does_not_matter(draw, on_paper, mark):
    plates = []
    for number, art in enumerate(shapes(draw)):
        left = 60 + 4 * number
        plates.append(on_paper(*SIZE, (40, left, mark), (40, 1400, mark), (1650, left, mark), (0, 0, art)))
    found = measure_plates(draw.plate_set(plates))
    for plate, art in zip(found.plates, shapes(draw), strict=True):
        assert plate.ink_area_cm2 == pytest.approx(np.count_nonzero(art) / MM**2 / 100, rel=1e-6)
    assert found.findings == ()


def test_a_plate_without_the_marks_of_the_others(draw, on_paper):
    art = shapes(draw)
    plates = [marked(draw, on_paper, a) for a in art[:3]] + [art[3]]
    found = measure_plates(draw.plate_set(plates)).findings
    assert [(f.code, f.severity, f.plates) for f in found] == [("marks-missing", "warn", ("ink 3",))]


def test_two_plates_with_marks(draw, on_paper):
    art = shapes(draw)[:2]
    found = measure_plates(draw.plate_set([marked(draw, on_paper, a) for a in art]))
    assert found.plates[0].ink_area_cm2 == pytest.approx(np.count_nonzero(art[0]) / MM**2 / 100, rel=1e-6)
    assert found.findings == ()


def test_small_shapes_on_their_base_are_not_marks(draw):
    """A star beside the art lies in base and colour alike: two plates are no proof of a mark."""
    base, ink = draw.disc(*SIZE, 900, 1000, 420), draw.disc(*SIZE, 900, 1000, 420)
    base = np.maximum(base, draw.disc(*SIZE, 1600, 300, 70))
    ink = np.maximum(ink, draw.disc(*SIZE, 1600, 300, 76))
    found = measure_plates(draw.plate_set([base, ink]))
    assert found.plates[1].ink_area_cm2 == pytest.approx(np.count_nonzero(ink) / MM**2 / 100, rel=1e-6)


def test_marks_of_one_plate_cannot_be_told(draw, on_paper):
    art = marked(draw, on_paper, shapes(draw)[0])
    found = measure_plates(draw.plate_set([art]))
    assert found.plates[0].ink_area_cm2 == pytest.approx(np.count_nonzero(art) / MM**2 / 100, rel=1e-6)
    assert found.findings == ()
