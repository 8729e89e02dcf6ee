"""Odd plates: negatives, the same image twice, plates that lie mirrored or turned; each with twins that are not."""

from __future__ import annotations

from functools import cache

import numpy as np
import pytest

from setupassist.inspection.marks import find_marks
from setupassist.inspection.odd import looks_reversed, looks_turned, same_plate_twice
from setupassist.inspection.register import offsets
from setupassist.inspection.survey import measure_plates
from setupassist.words import words_in

SIZE = (1800, 1600)
NAMES = [f"ink {number}" for number in range(6)]


@cache
def disc(draw, x, y, radius):
    return draw(*SIZE, x, y, radius)


def shapes(draw, count=4):
    return [disc(draw.disc, 700 + 60 * number, 900, 420 - 40 * number).copy() for number in range(count)]


def asymmetric(plate, draw, shape="target", dx=0, dy=0):
    """Three marks: two above, one of them off the corner, and one below."""
    for x, y in ((200, 160), (1100, 160), (1400, 1650)):
        draw.put_mark(plate, shape, 5.0, x + dx, y + dy)


def even(plate, draw, shape="target", dx=0, dy=0):
    """Four marks, one in each corner, all lying alike."""
    for x, y in ((150, 160), (1450, 160), (150, 1640), (1450, 1640)):
        draw.put_mark(plate, shape, 5.0 if shape != "wedge" else 3.0, x + dx, y + dy)


def sets(draw, put, shape="target", count=4):
    plates = shapes(draw, count)
    for number, plate in enumerate(plates):
        put(plate, draw, shape, 4 * number, -3 * number)
    return [np.where(plate > 127, 255, 0).astype(np.uint8) for plate in plates]


FLIPS = {
    "mirrored left to right": lambda plate: plate[:, ::-1],
    "mirrored top to bottom": lambda plate: plate[::-1],
    "turned by 180 degrees": lambda plate: plate[::-1, ::-1],
}


def turned(draw, arrays):
    plates = draw.packed([np.ascontiguousarray(array) for array in arrays])
    marks = find_marks(plates)
    return looks_turned(NAMES[: len(plates)], plates, marks, offsets(plates, marks)), marks, plates


@pytest.mark.parametrize("way", FLIPS)
@pytest.mark.parametrize("which", [0, 2, 3])
def test_the_layout_of_marks_tells_a_turned_plate(draw, way, which):
    arrays = sets(draw, asymmetric)
    art = shapes(draw)
    arrays[which] = FLIPS[way](arrays[which])
    found, marks, plates = turned(draw, arrays)
    assert [(f.code, f.severity, f.plates) for f in found] == [("looks-turned", "note", (NAMES[which],))]
    assert found[0].text == f"{NAMES[which]} looks {way}: its marks lie so among those of the other plates"
    assert len(found[0].places_mm) == 3
    for plate, boxes, picture in zip(plates, marks, art, strict=True):
        for box in boxes:
            plate.erase(box)
        assert plate.ink_pixels() == np.count_nonzero(picture)


@pytest.mark.parametrize("way", FLIPS)
@pytest.mark.parametrize("which", [0, 2])
def test_the_shape_of_marks_tells_a_turned_plate(draw, way, which):
    """Wedges in four corners lie alike in layout; a wedge along the falling diagonal is its own mirror image there."""
    arrays = sets(draw, even, "wedge")
    arrays[which] = FLIPS[way](arrays[which])
    found, *_ = turned(draw, arrays)
    assert [f.plates for f in found] == [(NAMES[which],)]
    assert way in found[0].text


def test_labels_of_a_turned_plate_are_taken_with_its_marks(draw):
    arrays, art = sets(draw, asymmetric), shapes(draw)
    for number, plate in enumerate(arrays):
        plate[140:180, 300:500] |= draw.lettering(40, 200, height=36, seed=number + 1)
    arrays[1], art[1] = arrays[1][:, ::-1], art[1][:, ::-1]
    found, marks, plates = turned(draw, arrays)
    assert [f.plates for f in found] == [("ink 1",)]
    for plate, boxes, picture in zip(plates, marks, art, strict=True):
        for box in boxes:
            plate.erase(box)
        assert plate.ink_pixels() == np.count_nonzero(picture)


def test_two_ways_that_fit_alike_are_both_told(draw):
    """Crosses at the left corners and at the middle of the right side: mirrored or turned, they lie the same."""
    arrays = shapes(draw)
    for number, plate in enumerate(arrays):
        for x, y in ((150, 160), (150, 1640), (1450, 900)):
            draw.put_mark(plate, "target", 5.0, x + number, y)
    arrays[1] = arrays[1][:, ::-1]
    found, *_ = turned(draw, [np.where(plate > 127, 255, 0).astype(np.uint8) for plate in arrays])
    assert [f.plates for f in found] == [("ink 1",)]
    assert "looks mirrored left to right or turned by 180 degrees: " in found[0].text
    assert words_in("es")(found[0].text).startswith(
        "ink 1 parece reflejada de izquierda a derecha o girada 180 grados: "
    )


@pytest.mark.parametrize("way", FLIPS)
@pytest.mark.parametrize("shape", ["target", "cross", "ring", "dot"])
def test_symmetric_marks_cannot_tell(draw, way, shape):
    arrays = sets(draw, lambda plate, draw, shape, dx, dy: even(plate, draw, shape, 0, 0), "target")
    arrays[2] = FLIPS[way](arrays[2])
    found, marks, _ = turned(draw, arrays)
    assert found == []
    assert [len(boxes) for boxes in marks] == [4, 4, 4, 4]


def test_straight_plates_are_not_told(draw):
    for put, shape in ((asymmetric, "target"), (even, "wedge"), (even, "corner")):
        found, marks, _ = turned(draw, sets(draw, put, shape))
        assert found == []
        assert all(marks)


def test_two_plates_cannot_tell_which_is_turned(draw):
    arrays = sets(draw, even, "wedge", 2)
    arrays[1] = arrays[1][:, ::-1]
    assert turned(draw, arrays)[0] == []


def test_a_damaged_mark_is_not_a_turned_plate(draw):
    """Half of one asymmetric mark is gone; the others lie straight."""
    arrays = sets(draw, even, "wedge", 4)
    arrays[1][160:, :200] = 0
    found, *_ = turned(draw, arrays)
    assert found == []


def test_a_plate_without_marks_is_not_turned(draw):
    arrays = sets(draw, asymmetric)
    arrays[1] = shapes(draw)[1]
    assert turned(draw, arrays)[0] == []


def test_art_without_marks_is_never_called_turned(draw):
    """A mirrored picture whose set has no marks: nothing is said."""
    arrays = shapes(draw)
    arrays[1] = arrays[1][:, ::-1]
    assert turned(draw, arrays)[0] == []


def twice(draw, arrays):
    return [f.plates for f in same_plate_twice(NAMES[: len(arrays)], draw.packed(arrays))]


def test_the_same_plate_twice(draw):
    arrays = shapes(draw)
    arrays.append(arrays[1].copy())
    arrays[4][850:900, 700:760] = 0
    assert twice(draw, arrays) == [("ink 1", "ink 4")]


def test_three_times_the_same_are_three_pairs(draw):
    one, two = shapes(draw, 2)
    assert twice(draw, [one, two, one, one]) == [("ink 0", "ink 2"), ("ink 0", "ink 3"), ("ink 2", "ink 3")]


def test_as_much_ink_elsewhere_is_another_plate(draw):
    one = disc(draw.disc, 700, 900, 300)
    assert twice(draw, [one, disc(draw.disc, 760, 900, 300), one[:, ::-1]]) == []


def test_dots_of_other_phase_are_another_plate(draw):
    """Cells hold nearly as much ink, the bits differ."""
    one, two = (draw.screened(*SIZE, lpi=60, angle=0, phase=phase) for phase in ((0.1, 0.3), (0.6, 0.8)))
    assert twice(draw, [one, two]) == []
    assert twice(draw, [one, one.copy()]) == [("ink 0", "ink 1")]


def test_tints_are_the_same_where_their_levels_are(draw, on_paper):
    sixty, ninety, strong, stronger = (
        on_paper(*SIZE, (100, 100, np.full((1500, 1300), level, np.uint8))) for level in (60, 90, 160, 200)
    )
    assert twice(draw, [sixty, ninety, strong, stronger]) == []
    assert twice(draw, [sixty, ninety, sixty.copy(), stronger, stronger.copy()]) == [
        ("ink 0", "ink 2"),
        ("ink 3", "ink 4"),
    ]


def test_greys_that_swap_places_are_two_images(draw, on_paper):
    """As much ink in all, the halves' greys swapped within every tile: no bit differs, the cells do."""
    rows = np.where(np.arange(1500) // 8 % 2, 60, 100).astype(np.uint8)
    one, two = (on_paper(*SIZE, (104, 104, np.repeat(r[:, None], 1300, 1))) for r in (rows, 160 - rows))
    assert twice(draw, [one, two]) == []


def test_empty_plates_are_no_pair(draw):
    assert twice(draw, [np.zeros(SIZE, np.uint8)] * 2) == []


def test_a_negative_looks_reversed_and_a_frame_does_not(draw):
    arrays = shapes(draw)
    arrays[1] = 255 - arrays[1]
    frame = np.full(SIZE, 255, np.uint8)
    frame[100:-100, 100:-100] = 0
    found = looks_reversed(NAMES[:5], draw.packed([*arrays, frame]))
    assert [(f.code, f.severity, f.plates, f.measured, f.limit) for f in found] == [
        ("looks-reversed", "stop", ("ink 1",), 1.0, 0.6)
    ]
    assert looks_reversed(["full"], draw.packed([np.full(SIZE, 255, np.uint8)])) == []


def test_a_base_may_hold_the_image_of_its_ink(draw):
    disc = draw.disc(900, 900, 450, 450, 300)
    for names, told in ((["white base", "red"], False), (["blue", "red"], True), (["base", "under base"], True)):
        found = measure_plates(draw.plate_set([disc, disc], names=names)).findings
        assert ("same-plate-twice" in {finding.code for finding in found}) is told


def told(draw, plates, **options):
    return {finding.code: finding for finding in measure_plates(draw.plate_set(plates, **options)).findings}


def test_a_plate_by_itself_that_bleeds_off_all_sides_is_a_warning(draw):
    art = 255 - draw.disc(900, 900, 450, 450, 200)
    assert told(draw, [art])["looks-reversed"].severity == "warn"
    assert told(draw, [art, draw.disc(900, 900, 300, 300, 90)])["looks-reversed"].severity == "stop"


def test_a_negative_does_not_hide_the_marks_of_the_others(draw, on_paper):
    mark = draw.target(150)
    art = [draw.disc(1500, 1500, 700 + 60 * n, 750, 300 + 20 * n) for n in range(4)]
    plates = [on_paper(1500, 1500, (30, 670, mark), (1320, 670, mark), (0, 0, one)) for one in art]
    plates[2] = 255 - plates[2]
    found = told(draw, plates)
    assert found["looks-reversed"].plates == ("ink 2",)
    assert "marks-missing" not in found


def test_fog_of_a_scan_is_told_and_a_full_picture_is_not(draw):
    rng = np.random.default_rng(1)
    disc = draw.disc(900, 900, 450, 450, 300)
    foggy = np.maximum(disc, rng.normal(12, 4, disc.shape).clip(0, 255).astype(np.uint8))
    found = told(draw, [foggy, disc])
    assert found["paper-not-clear"].plates == ("ink 0",)
    assert found["paper-not-clear"].measured == pytest.approx(12 / 255, abs=0.01)
    ramp = np.tile(np.linspace(0, 255, 900).astype(np.uint8), (900, 1))
    assert "paper-not-clear" not in told(draw, [ramp, disc])
    assert "paper-not-clear" not in told(draw, [draw.disc(900, 900, 450, 450, 300, soft=True), disc])
