"""Marks inside of the art's box are found where everything speaks for them, and art that is like them is kept."""

from __future__ import annotations

from functools import cache

import numpy as np
import pytest

from setupassist.inspection.inner_marks import is_thin
from setupassist.inspection.marks import find_marks

MM = 600 / 25.4
SIZE = (2000, 1800)
CORNERS = ((260, 260), (1540, 260), (260, 1740), (1540, 1740))
CENTRES = ((900, 260), (900, 1740))


@cache
def picture(disc, number):
    return disc(*SIZE, 850 + 30 * number, 1000, 420 - 40 * number)


def art_in(draw, number):
    """A picture of its own for every plate, in the middle."""
    return picture(draw.disc, number).copy()


def framed(draw, count, places, shape="target", *, mm=6.0, without=(), line=0.25):
    """Plates with a frame near their rim (in the first one), a picture in the middle and things between."""
    plates = []
    for number in range(count):
        plate = art_in(draw, number)
        if number == 0:
            plate[60:-60, 60:-60] |= 255
            plate[72:-72, 72:-72] = art_in(draw, 0)[72:-72, 72:-72]
        if number not in without:
            for x, y in places:
                draw.put_mark(plate, shape, mm, x + 3 * number, y - number, line=line)
        plates.append(np.where(plate > 127, 255, 0).astype(np.uint8))
    return plates


def marked(draw, arrays):
    plates = draw.packed(arrays)
    return plates, find_marks(plates)


def assert_taken(draw, arrays, arts, marks):
    """Every plate but for its art is taken for marks."""
    plates, found = marked(draw, arrays)
    assert len(found.marks) == marks
    for plate, boxes, art in zip(plates, found, arts, strict=True):
        for box in boxes:
            plate.erase(box)
        assert plate.ink_pixels() == np.count_nonzero(art)


def assert_kept(draw, arrays):
    """Nothing is taken for a mark."""
    _, found = marked(draw, arrays)
    assert list(found) == [[]] * len(arrays)
    assert found.marks == ()


@pytest.mark.parametrize("shape", ["cross", "target", "ring"])
@pytest.mark.parametrize("places", [CENTRES, ((260, 1000), (1540, 1000)), CORNERS, CORNERS + CENTRES])
def test_marks_within_a_frame(draw, shape, places):
    assert_taken(draw, framed(draw, 4, places, shape), framed(draw, 4, ()), len(places))


def test_corners_within_a_frame(draw):
    """A corner is not alike when mirrored; the four of them are each other's mirror images."""
    corner = draw.mark("corner", 5.0) > 127
    arrays = framed(draw, 3, ())
    for plate in arrays:
        for bottom in (False, True):
            for right in (False, True):
                top, left = 1700 if bottom else 180, 1500 if right else 180
                picture = corner[:: -1 if bottom else 1, :: -1 if right else 1]
                plate[top : top + len(corner), left : left + len(corner)][picture] = 255
    assert_taken(draw, arrays, framed(draw, 3, ()), 4)


def test_labels_beside_marks_within_a_frame(draw):
    arrays = framed(draw, 4, CENTRES)
    for number, plate in enumerate(arrays):
        plate[230:270, 1030:1270] |= draw.lettering(40, 240, height=36, seed=number + 1)
    assert_taken(draw, arrays, framed(draw, 4, ()), 2)


def test_small_type_of_one_plate_is_no_label(draw):
    """The others have none beside the mark: it is the art of that plate."""
    arrays = framed(draw, 4, CENTRES)
    type_ = draw.lettering(40, 240, height=36, seed=3)
    arrays[2][230:270, 1050:1290] |= type_
    arts = framed(draw, 4, ())
    arts[2][230:270, 1050:1290] |= type_
    assert_taken(draw, arrays, arts, 2)


def test_the_free_corner_of_an_l(draw):
    """Three marks stand clear of the art, the fourth in the corner that an L leaves free."""
    places, arrays, arts = ((150, 150), (1650, 1850), (150, 1850), (1500, 300)), [], []
    for number in range(2):
        art = np.zeros(SIZE, np.uint8)
        art[300:1700, 300 + 60 * number : 600] = 255
        art[1300:1700, 300 : 1550 - 40 * number] = 255
        arts.append(art)
        plate = art.copy()
        for x, y in places:
            draw.put_mark(plate, "target", 6.0, x, y)
        arrays.append(np.where(plate > 127, 255, 0).astype(np.uint8))
    assert_taken(draw, arrays, arts, 4)


def test_a_plate_may_lack_the_marks_within_a_frame(draw):
    assert_taken(draw, framed(draw, 5, CENTRES, without=(3,)), framed(draw, 5, ()), 2)


@pytest.mark.parametrize(
    ("count", "places", "changes"),
    [
        (2, CENTRES, {}),
        (4, CENTRES, {"without": (2, 3)}),
        (4, CENTRES[:1], {}),
        (4, ((900, 260), (1200, 1740)), {}),
        (4, ((600, 260), (1200, 260)), {"shape": "ring", "mm": 4.0}),
        (4, ((260, 260), (900, 260), (1540, 260)), {"shape": "ring"}),
        (4, ((500, 260), (700, 260), (900, 260), (1100, 260), (1300, 260)), {"shape": "ring"}),
        (4, CENTRES, {"shape": "dot", "mm": 3.0}),
        (4, CENTRES, {"shape": "wedge", "mm": 3.0}),
        (4, CENTRES, {"shape": "ring", "line": 1.6}),
    ],
    ids=["two plates", "half of the plates", "one alone", "facing nothing", "too near", "three in a row", "a row",
         "dots", "wedges", "thick lines"],
)  # fmt: skip
def test_what_might_be_art_is_kept(draw, count, places, changes):
    assert_kept(draw, framed(draw, count, places, **changes))


def star(across, thick=6):
    from PIL import Image, ImageDraw

    turns = np.pi * (np.arange(11) / 5 - 0.5)
    radius = np.where(np.arange(11) % 2, 0.2, 0.48) * across
    points = [(across / 2 + r * np.cos(a), across / 2 + r * np.sin(a)) for r, a in zip(radius, turns, strict=True)]
    image = Image.new("L", (across, across))
    ImageDraw.Draw(image).line(points, fill=255, width=thick)
    return np.asarray(image)


def letter(text, height):
    from PIL import Image, ImageDraw, ImageFont

    image = Image.new("L", (2 * height, 2 * height))
    ImageDraw.Draw(image).text((height // 4, 0), text, font=ImageFont.load_default(height), fill=255)
    return np.where(np.asarray(image) > 127, 255, 0).astype(np.uint8)


@pytest.mark.parametrize(
    "make",
    [lambda: star(150), lambda: letter("R", 180), lambda: letter("S", 180), lambda: letter("B", 130)],
    ids=["stars", "R", "S", "B"],
)
@pytest.mark.parametrize("places", [((200, 900), (1600, 900)), ((900, 200), (900, 1600))])
def test_drawn_ornaments_that_face_each_other_are_kept(draw, make, places):
    picture, arrays = make(), framed(draw, 4, ())
    for plate in arrays:
        for x, y in places:
            here = plate[y : y + len(picture), x - len(picture) // 2 : x - len(picture) // 2 + len(picture)]
            here |= picture[: here.shape[0], : here.shape[1]]
    assert_kept(draw, arrays)


def test_rings_that_another_plate_fills_are_kept(draw):
    """Outlines in three plates, their filling in the fourth."""
    arrays = framed(draw, 4, CENTRES, "ring", without=(3,))
    for x, y in CENTRES:
        arrays[3] |= draw.disc(*SIZE, x, y, 50)
    assert_kept(draw, arrays)


def test_rings_with_type_that_comes_back_are_kept(draw):
    """The same word beside the ring in every plate is no label."""
    arrays = framed(draw, 4, CENTRES, "ring")
    for plate in arrays:
        plate[230:270, 1000:1240] |= draw.lettering(40, 240, height=36, seed=3)
    assert_kept(draw, arrays)


def test_lines_are_thin(draw):
    """Shapes by cells of 8 pixels."""

    def cells(shape, **changes):
        picture = draw.mark(shape, 6.0, **changes) > 127
        picture = np.pad(picture, ((0, -picture.shape[0] % 8), (0, -picture.shape[1] % 8)))
        return picture.reshape(picture.shape[0] // 8, 8, -1, 8).sum((1, 3)).astype(np.uint8)

    assert [shape for shape in draw.mark_shapes if is_thin(cells(shape), 64)] == ["cross", "target", "ring", "corner"]
    assert not is_thin(cells("ring", line=1.6), 64)


def small_print(draw, put):
    """Two plates with little ink: a small disc in each, and what is put beside it."""
    plates = [draw.disc(*SIZE, 900, 1000, 90), draw.disc(*SIZE, 880, 1010, 60)]
    bare = [plate.copy() for plate in plates]
    for plate in plates:
        put(plate)
    return plates, bare


def test_marks_of_a_small_print_may_hold_more_ink_than_a_tenth(draw):
    def put(plate):
        for x, y in CENTRES:
            draw.put_mark(plate, "target", 6.0, x, y)
        plate[plate < 128], plate[plate > 127] = 0, 255

    arrays, bare = small_print(draw, put)
    assert sum(map(np.count_nonzero, arrays)) > 1.1 * sum(map(np.count_nonzero, bare))
    assert_taken(draw, arrays, bare, 2)


def test_ornaments_that_hold_much_of_the_ink_are_kept(draw):
    """Stars on opposite sides of a small print, clear of it, as marks would be."""
    picture = star(150)

    def put(plate):
        for x in (200, 1450):
            plate[925:1075, x : x + 150] |= picture

    assert_kept(draw, small_print(draw, put)[0])


def test_a_line_of_type_at_the_rim_does_not_hide_the_marks(draw):
    """A caption that several plates print is art, far from any mark, and the marks lie inside of the box of it all."""
    arrays, bare = [], []
    for number in range(4):
        plate = art_in(draw, number)
        for top, left in ((40, 60), (1920, 1300)):
            plate[top : top + 40, left : left + 400] |= draw.lettering(40, 400, height=36, seed=left)
        bare.append(plate.copy())
        for x, y in CENTRES:
            draw.put_mark(plate, "target", 6.0, x, y)
        arrays.append(np.where(plate > 127, 255, 0).astype(np.uint8))
    assert_taken(draw, arrays, bare, 2)
