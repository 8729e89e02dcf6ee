"""Registration marks are found without being told their shape, and nothing counts them."""

from __future__ import annotations

import numpy as np
import pytest

from setupassist.inspection.marks import find_marks
from setupassist.inspection.register import offsets
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
    assert [(f.code, f.plates) for f in found.findings] == [("off-register", (f"ink {n}",)) for n in (1, 2, 3)]
    for mine, (right, down) in zip(found.plates, shifts, strict=True):
        assert mine.register_offset_mm == pytest.approx((-right / MM, -down / MM), abs=0.25 / MM)
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
    assert "marks-missing" not in {finding.code for finding in found.findings}


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


def assert_no_marks(draw, plates):
    """Nothing is taken for a mark, and no ink is lost."""
    found = measure_plates(draw.plate_set(plates))
    assert found.art.marks_mm == ()
    assert {plate.register_offset_mm for plate in found.plates} == {None}
    for plate, art in zip(found.plates, plates, strict=True):
        assert plate.ink_area_cm2 == pytest.approx(np.count_nonzero(art) / MM**2 / 100, rel=1e-6)


def test_a_row_of_letters_under_the_picture_is_no_mark(draw, on_paper):
    """The same letters in base, colour and key: they lie outside of the rest, but all on one side of it."""
    letters = draw.lettering(150, 900, height=110)
    round_shapes = [draw.disc(*SIZE, 900, 700, radius) for radius in (400, 380, 200)]
    assert_no_marks(draw, [on_paper(*SIZE, (1400, 450, letters), (0, 0, shape)) for shape in round_shapes])


@pytest.mark.parametrize("choke", [0, 6])
def test_solid_stars_beside_the_picture_are_no_marks(draw, choke):
    """Left and right of the picture, in base and colour alike: filled, as marks of that size are not."""
    plates = []
    for less in (choke, 0):
        art = draw.disc(*SIZE, 900, 1000, 500 - less)
        for x in (160, 1640):
            art = np.maximum(art, draw.disc(*SIZE, x, 1000, 110 - less))
        plates.append(art)
    assert_no_marks(draw, plates)


def test_small_shapes_on_a_choked_base_are_no_marks(draw):
    plates = []
    for less in (5, 0):
        art = draw.disc(*SIZE, 900, 1000, 500 - less)
        for x in (160, 1640):
            art = np.maximum(art, draw.disc(*SIZE, x, 1000, 70 - less))
        plates.append(art)
    assert_no_marks(draw, plates)


def test_a_dot_beside_the_art_is_no_mark(draw):
    base, ink = draw.disc(*SIZE, 900, 1000, 420), draw.disc(*SIZE, 900, 1000, 420)
    assert_no_marks(
        draw, [np.maximum(base, draw.disc(*SIZE, 1600, 300, 70)), np.maximum(ink, draw.disc(*SIZE, 1600, 300, 76))]
    )


def test_marks_of_one_plate_cannot_be_told(draw, on_paper):
    art = marked(draw, on_paper, shapes(draw)[0])
    found = measure_plates(draw.plate_set([art]))
    assert found.plates[0].ink_area_cm2 == pytest.approx(np.count_nonzero(art) / MM**2 / 100, rel=1e-6)
    assert found.findings == ()


def test_light_greys_at_one_place_are_handled(draw, on_paper):
    """Tints too light to count as ink recur too; they are neither marks nor a fault."""
    tint = np.full((90, 90), 30, np.uint8)
    plates = [on_paper(*SIZE, (60, 800, tint), (1800, 800, tint), (0, 0, art)) for art in shapes(draw)]
    found = measure_plates(draw.plate_set(plates))
    assert found.plates[0].ink_box_mm[1] == pytest.approx(60 / MM, abs=0.05)


def test_each_mark_is_followed_through_the_plates(draw, on_paper):
    art = shapes(draw)
    plates = [marked(draw, on_paper, a, (3 * n, -2 * n)) for n, a in enumerate(art[:3])]
    found = find_marks(draw.packed([art[3], *plates]))
    assert [sorted(mark.boxes) for mark in found.marks] == [[1, 2, 3]] * 2
    assert found == [[], *([mark.boxes[plate] for mark in found.marks] for plate in (1, 2, 3))]
    for mark, top in zip(found.marks, (60, 1760), strict=True):
        for plate, (first, last, left, right) in mark.boxes.items():
            true = top - 2 * (plate - 1), 810 + 3 * (plate - 1)
            assert (first, left) == (true[0] // 8, true[1] // 8)
            assert (last, right) == ((true[0] + 181 + 7) // 8, (true[1] + 181 + 7) // 8)


def test_specks_at_the_rim_do_not_hide_marks(draw, on_paper):
    """Dust in the corners of a plate is not art that the marks would lie within."""
    plates = [marked(draw, on_paper, a) for a in shapes(draw)]
    for y, x in ((3, 5), (4, 1790), (1990, 7), (1992, 1785)):
        plates[1][y : y + 4, x : x + 4] = 255
    found = find_marks(draw.packed(plates))
    assert [len(boxes) for boxes in found] == [2, 2, 2, 2]


@pytest.mark.parametrize("dpi", [150, 300, 1200])
def test_marks_at_other_resolutions(draw, dpi):
    per_mm = dpi / 25.4
    rows, columns = round(84 * per_mm), round(70 * per_mm)
    plates, arts = [], []
    for number in range(3):
        art = draw.disc(rows, columns, 0.5 * columns, 0.5 * rows, (20 - 2 * number) * per_mm)
        plate = art.copy()
        for x, y in ((35.2, 6.1), (34.9, 78.3)):
            draw.put_mark(plate, "target", 6.0, x * per_mm + number / 2, y * per_mm, dpi=dpi)
        plates.append(np.where(plate > 127, 255, 0).astype(np.uint8))
        arts.append(art)
    packed = draw.packed(plates, dpi=dpi)
    found = find_marks(packed)
    assert len(found.marks) == 2
    for plate, boxes, art in zip(packed, found, arts, strict=True):
        for box in boxes:
            plate.erase(box)
        assert plate.ink_pixels() == np.count_nonzero(art)


def test_a_page_of_type_in_every_plate_is_no_mark(draw):
    """Thousands of words that come back bit for bit, as in black printed over all process inks."""
    page = draw.lettering(*SIZE, height=70)
    page[:60], page[-60:], page[:, :60], page[:, -60:] = 0, 0, 0, 0
    assert find_marks(draw.packed([page, page.copy(), page.copy()])) == [[], [], []]


@pytest.mark.parametrize("gap", [0, 12, 24])
@pytest.mark.parametrize("side", ["right", "left", "below"])
def test_a_label_that_touches_its_mark_is_told_from_it(draw, on_paper, gap, side):
    """In one plate of three the ink's name stands up to a millimetre off the upper mark, and is one island with it."""
    arts = shapes(draw)[:3]
    plates = [marked(draw, on_paper, art, (3 * number, 0)) for number, art in enumerate(arts)]
    name = draw.lettering(40, 200, height=36, seed=7)
    name = np.pad(name[:, : int(np.flatnonzero(name.any(0))[-1]) + 1], ((0, 0), (0, 0)))
    top, left = {"right": (130, 816 + 181 + gap), "left": (130, 816 - gap - name.shape[1]), "below": (241 + gap, 830)}[
        side
    ]
    plates[2][top : top + name.shape[0], left : left + name.shape[1]] |= name
    packed = draw.packed(plates)
    found = find_marks(packed)
    assert [sorted(mark.boxes) for mark in found.marks] == [[0, 1, 2]] * 2
    told = offsets(packed, found)
    assert [(round(offset.dx), round(offset.dy), len(offset.marks)) for offset in told] == [
        (0, 0, 2),
        (-3, 0, 2),
        (-6, 0, 2),
    ]
    for plate, boxes, art in zip(packed, found, arts, strict=True):
        for box in boxes:
            plate.erase(box)
        assert plate.ink_pixels() == np.count_nonzero(art)


def test_an_outline_and_its_filling_are_no_marks(draw, on_paper):
    """Rings beside the picture in two plates are filled in the third: outlines on a base."""
    plates = []
    for number, art in enumerate(shapes(draw)[:3]):
        thing = ring(240) if number else draw.disc(240, 240, 120, 120, 112)
        plates.append(on_paper(*SIZE, (880, 60, thing), (880, 1500, thing), (0, 0, art)))
    assert_no_marks(draw, plates)


def test_a_mirrored_plate_in_the_measure(draw):
    """Its marks are known by where they would lie, and are no ink of it; nothing is said of its register."""
    plates, arts = [], shapes(draw)
    for art in arts:
        plate = art.copy()
        for x, y in ((200, 160), (1100, 160), (1600, 1850)):
            draw.put_mark(plate, "target", 6.0, x, y)
        plates.append(np.where(plate > 127, 255, 0).astype(np.uint8))
    plates[1] = np.ascontiguousarray(plates[1][:, ::-1])
    found = measure_plates(draw.plate_set(plates))
    assert [(f.code, f.severity, f.plates) for f in found.findings] == [("looks-turned", "note", ("ink 1",))]
    assert [plate.register_offset_mm for plate in found.plates] == [(0, 0), None, (0, 0), (0, 0)]
    for plate, art in zip(found.plates, arts, strict=True):
        assert plate.ink_area_cm2 == pytest.approx(np.count_nonzero(art) / MM**2 / 100, rel=1e-6)


def test_labels_far_from_the_marks_go_with_them(draw, on_paper):
    """Ink names along the top, each plate's in its own place or all in one, no nearer to a mark than 8 mm."""
    mark = draw.target(180)
    for step in (0, 260):
        plates = []
        for number, art in enumerate(shapes(draw)):
            name = draw.lettering(60, 220, height=44, seed=10 + number)
            at = 60 + step * (number if number < 2 else number + 2)
            plates.append(on_paper(*SIZE, (60, 810, mark), (1760, 810, mark), (110, at, name), (0, 0, art)))
        found = measure_plates(draw.plate_set(plates))
        for plate, art in zip(found.plates, shapes(draw), strict=True):
            assert plate.ink_area_cm2 == pytest.approx(np.count_nonzero(art) / MM**2 / 100, rel=1e-6)


def test_a_caption_level_with_a_mark_stays_where_it_lies_on_its_base(draw, on_paper):
    mark, caption = draw.target(180), draw.lettering(60, 420, height=44)
    art = shapes(draw)[:3]
    plates = [
        on_paper(
            *SIZE, (60, 810, mark), (1760, 810, mark), *([(1800, 120, caption)] if number < 2 else []), (0, 0, one)
        )
        for number, one in enumerate(art)
    ]
    found = measure_plates(draw.plate_set(plates))
    more = np.count_nonzero(caption) / MM**2 / 100
    for number, plate in enumerate(found.plates):
        own = np.count_nonzero(art[number]) / MM**2 / 100
        assert plate.ink_area_cm2 == pytest.approx(own + more * (number < 2), rel=1e-6)
