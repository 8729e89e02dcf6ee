"""Offsets by the marks come back to half a pixel, and what the marks cannot tell is not told."""

from __future__ import annotations

import itertools
from functools import cache

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from setupassist.inspection.marks import find_marks
from setupassist.inspection.register import off_register, offsets
from setupassist.inspection.shapes import fit
from setupassist.words import words_in

SHEET_MM = 76, 60
PLACES_MM = (6.13, 8.31), (54.04, 7.87), (5.71, 68.6), (53.2, 69.12)
"""Middles of marks in the four corners, at no whole pixels."""


@cache
def art(disc, *where):
    return disc(*where)


def sheet(draw, number, shape="target", *, dpi=600, move=(0.0, 0.0), mm=5.0, places=PLACES_MM, grey=False, angle=0.0):
    """A plate with a picture of its own and marks, which are moved in pixels and turned about the sheet's middle."""
    per_mm = dpi / 25.4
    rows, columns = (round(side * per_mm) for side in SHEET_MM)
    x, y, radius = 0.5 * columns + 9 * number, 0.5 * rows - 7 * number, (14 - number) * per_mm
    plate = art(draw.disc, rows, columns, x, y, radius).copy()
    mm = min(mm, 3.5) if shape in ("dot", "wedge") else mm  # solid marks of 5 mm hold a tenth of all ink
    turn = np.deg2rad(angle)
    for at_x, at_y in places:
        u, v = at_x * per_mm - columns / 2, at_y * per_mm - rows / 2
        u, v = u * np.cos(turn) - v * np.sin(turn), u * np.sin(turn) + v * np.cos(turn)
        draw.put_mark(plate, shape, mm, columns / 2 + u + move[0], rows / 2 + v + move[1], dpi=dpi)
    return plate if grey else np.where(plate > 127, 255, 0).astype(np.uint8)


def told(draw, arrays, dpi=600):
    plates = draw.packed(arrays, dpi=dpi)
    return offsets(plates, find_marks(plates))


def moves(found):
    return [None if offset is None else (offset.dx, offset.dy) for offset in found]


@pytest.mark.parametrize("shape", ["cross", "target", "ring", "corner", "wedge", "dot"])
@pytest.mark.parametrize("dpi", [150, 300, 600])
def test_whole_pixels_come_back_exactly(draw, shape, dpi):
    far = round(2.5 * dpi / 25.4)
    given_moves = [(0, 0), (3, -2), (-12, 7), (far - 12, 12)]
    found = told(draw, [sheet(draw, i, shape, dpi=dpi, move=move) for i, move in enumerate(given_moves)], dpi)
    assert moves(found) == [(-dx, -dy) for dx, dy in given_moves]
    assert [offset.spread for offset in found] == [0, 0, 0, 0]
    assert [offset.marks for offset in found] == [(0, 1, 2, 3)] * 4


QUARTERS = [(0.0, 0.0), (0.25, 0.5), (-0.5, 0.75), (5.75, -0.25), (11.5, -11.25)]


@pytest.mark.parametrize("shape", ["cross", "target", "ring", "corner", "wedge", "dot"])
@pytest.mark.parametrize(("dpi", "grey"), [(150, True), (300, False), (600, False)])
def test_quarters_of_a_pixel_come_back_to_half_a_pixel(draw, shape, dpi, grey):
    found = told(draw, [sheet(draw, i, shape, dpi=dpi, move=move, grey=grey) for i, move in enumerate(QUARTERS)], dpi)
    for offset, (dx, dy) in zip(found, QUARTERS, strict=True):
        assert (offset.dx, offset.dy) == (pytest.approx(-dx, abs=0.5), pytest.approx(-dy, abs=0.5))
        assert offset.spread <= 1.5


def test_twelve_hundred_dots_an_inch(draw):
    given_moves = [(0.0, 0.0), (0.75, -20.5), (118.0, 47.25)]
    found = told(draw, [sheet(draw, i, dpi=1200, move=move) for i, move in enumerate(given_moves)], 1200)
    for offset, (dx, dy) in zip(found, given_moves, strict=True):
        assert (offset.dx, offset.dy) == (pytest.approx(-dx, abs=0.5), pytest.approx(-dy, abs=0.5))


def test_a_plate_without_marks_has_no_offset_and_fewer_marks_are_enough(draw):
    arrays = [
        sheet(draw, 0, places=()),
        sheet(draw, 1),
        sheet(draw, 2, move=(4, 5), places=PLACES_MM[2:]),
        sheet(draw, 3, move=(-6, 1)),
        sheet(draw, 4, move=(2, 0)),
    ]
    found = told(draw, arrays)
    assert moves(found) == [None, (0, 0), (-4, -5), (6, -1), (-2, 0)]
    assert {offset.reference for offset in found if offset is not None} == {1}


def test_a_plate_that_shares_no_mark_with_the_reference_is_laid_on_another(draw):
    arrays = [
        sheet(draw, 0, places=PLACES_MM[:3]),
        sheet(draw, 1, move=(4, 5)),
        sheet(draw, 2, move=(1, 1)),
        sheet(draw, 3, move=(-3, 2), places=PLACES_MM[3:]),
    ]
    assert moves(told(draw, arrays)) == [(0, 0), (-4, -5), (-1, -1), (3, -2)]


def test_a_mark_of_another_shape_is_left_out(draw):
    """A square of as much ink where the other plates have a target: its place tells nothing."""
    odd = sheet(draw, 2, move=(3, 3), places=PLACES_MM[1:])
    ink = np.count_nonzero(draw.mark("target", 5.0) > 127)
    side, pen = 118, 118 - round((118**2 - ink) ** 0.5)
    square = np.full((side, side), 255, np.uint8)
    square[pen // 2 : side - (pen - pen // 2), pen // 2 : side - (pen - pen // 2)] = 0
    left, top = (round(at * 600 / 25.4 - side / 2) for at in PLACES_MM[0])
    odd[top + 20 : top + 20 + side, left - 15 : left - 15 + side] = square
    plates = draw.packed([sheet(draw, 0), sheet(draw, 1), odd])
    marks = find_marks(plates)
    assert [sorted(mark.boxes) for mark in marks.marks] == [[0, 1, 2]] * 4
    offset = offsets(plates, marks)[2]
    assert (offset.dx, offset.dy, len(offset.marks)) == (-3, -3, 3)


def test_labels_beside_the_marks_change_nothing(draw):
    arrays = []
    for number in range(4):
        plate = sheet(draw, number, move=(2 * number, -number))
        label = draw.lettering(44, 260, height=40, seed=number + 1)
        plate[150:194, 250:510] = label
        arrays.append(plate)
    assert moves(told(draw, arrays)) == [(0, 0), (-2, 1), (-4, 2), (-6, 3)]


def test_turned_film_is_told_by_the_spread(draw):
    arrays = [sheet(draw, 0), sheet(draw, 1), sheet(draw, 2, angle=0.2), sheet(draw, 3, angle=-0.2)]
    plates = draw.packed(arrays)
    found = offsets(plates, find_marks(plates))
    corners = np.array(PLACES_MM)
    longest = max(np.hypot(*(a - b)) for a, b in itertools.combinations(corners, 2))
    for offset in found[2:]:
        assert offset.spread / (600 / 25.4) == pytest.approx(longest * np.deg2rad(0.2), abs=1.2 * 25.4 / 600)
        assert np.hypot(offset.dx, offset.dy) < 1.5
    assert found[1].spread == 0
    findings = off_register(list("abcd"), plates[0].grid, found)
    assert [(f.code, f.severity, f.plates) for f in findings] == [
        ("marks-spread", "warn", ("c",)),
        ("marks-spread", "warn", ("d",)),
    ]
    assert findings[0].measured == pytest.approx(found[2].spread * 25.4 / 600)
    assert findings[0].limit == 0.15
    assert "by 0." in findings[0].text
    assert len(findings[0].places_mm) == 4


def test_noise_does_not_move_the_marks(draw):
    rng = np.random.default_rng(4)
    arrays = []
    for number in range(4):
        plate = sheet(draw, number, move=(3 * number, number))
        for y, x in rng.integers(0, min(plate.shape) - 4, (150, 2)):
            plate[y : y + rng.integers(1, 4), x : x + rng.integers(1, 4)] = 255
        plate[rng.random(plate.shape) < 0.02] = 0
        arrays.append(plate)
    for offset, number in zip(told(draw, arrays), range(4), strict=True):
        assert (offset.dx, offset.dy) == (pytest.approx(-3 * number, abs=0.3), pytest.approx(-number, abs=0.3))


@pytest.mark.parametrize(
    ("move", "remedy", "spanish"),
    [
        (
            (12, -6),
            "move it 0.51 mm to the left and 0.25 mm down",
            "moverla 0.51 mm a la izquierda y 0.25 mm hacia abajo",
        ),
        (
            (-12, 6),
            "move it 0.51 mm to the right and 0.25 mm up",
            "moverla 0.51 mm a la derecha y 0.25 mm hacia arriba",
        ),
        ((0, 7), "move it 0.30 mm up", "moverla 0.30 mm hacia arriba"),
        ((-7, 0), "move it 0.30 mm to the right", "moverla 0.30 mm a la derecha"),
    ],
)
def test_a_plate_off_register_is_told_how_to_be_moved(draw, move, remedy, spanish):
    plates = draw.packed([sheet(draw, 0), sheet(draw, 1, move=move), sheet(draw, 2, move=(3, 1))])
    found = off_register(["white", "red", "key"], plates[0].grid, offsets(plates, find_marks(plates)))
    assert [(f.code, f.severity, f.plates, f.limit) for f in found] == [("off-register", "stop", ("red",), 0.15)]
    finding = found[0]
    assert finding.measured == pytest.approx(np.hypot(*move) * 25.4 / 600)
    assert finding.text == f"red lies {finding.measured:.2f} mm off register with white"
    assert finding.remedy == remedy
    assert words_in("es")(finding.remedy) == spanish
    shift = np.array(move) * 25.4 / 600
    assert np.array(finding.places_mm) == pytest.approx(
        np.array(sorted(PLACES_MM, key=lambda p: p[1])) + shift, abs=0.4
    )


@pytest.mark.parametrize(("pixels", "stops"), [(3, False), (4, True)])
def test_the_limit_is_015_mm(draw, pixels, stops):
    """3 pixels at 600 dpi are 0.127 mm, 4 are 0.169 mm."""
    plates = draw.packed([sheet(draw, 0), sheet(draw, 1, move=(pixels, 0))])
    found = off_register(["a", "b"], plates[0].grid, offsets(plates, find_marks(plates)))
    assert bool(found) is stops


def test_turning_the_set_turns_the_offsets(draw):
    """A quarter turn counter-clockwise takes right to up and down to right."""
    arrays = [sheet(draw, i, move=move) for i, move in enumerate([(0, 0), (4.25, -3.5), (-8, 2.75)])]
    straight = moves(told(draw, arrays))
    turned = moves(told(draw, [np.ascontiguousarray(np.rot90(array)) for array in arrays]))
    for (dx, dy), (u, v) in zip(straight, turned, strict=True):
        assert (u, v) == pytest.approx((dy, -dx), abs=1e-9)


@pytest.mark.parametrize("order", [(0, 2, 1, 3), (0, 3, 2, 1), (2, 0, 3, 1)])
def test_the_order_of_the_plates_matters_for_the_reference_only(draw, order):
    given_moves = [(0, 0), (4, -3), (-8, 2), (6, 11)]
    found = moves(told(draw, [sheet(draw, i, move=given_moves[i]) for i in order]))
    first = given_moves[order[0]]
    assert found == [(first[0] - given_moves[i][0], first[1] - given_moves[i][1]) for i in order]


@settings(max_examples=30, deadline=None)
@given(
    shape=st.sampled_from(["cross", "target", "ring", "corner", "wedge", "dot"]),
    dx=st.integers(-70, 70),
    dy=st.integers(-70, 70),
)
def test_fit_undoes_every_move(draw, shape, dx, dy):
    picture = draw.mark(shape, 5.0) > 127
    fixed = np.pad(picture, 75)
    other = np.roll(fixed, (dy, dx), (0, 1))
    assert fit(fixed, other, 2) == (-dx, -dy)
    assert fit(fixed, picture, 2) == (75, 75)


@pytest.mark.parametrize("pair", list(itertools.permutations(["cross", "target", "ring", "corner", "dot"], 2)))
def test_other_shapes_do_not_fit(draw, pair):
    one, two = (draw.mark(shape, 5.0) > 127 for shape in pair)
    assert fit(one, two, 2) is None


def test_an_asymmetric_mark_does_not_fit_its_mirror_image(draw):
    wedge = draw.mark("wedge", 5.0) > 127
    assert fit(wedge, wedge[:, ::-1], 2) is None
    assert fit(wedge, np.zeros_like(wedge), 2) is None
