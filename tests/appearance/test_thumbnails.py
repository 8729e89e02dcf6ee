"""Small pictures: true means whatever the bands, and inks that cover by their tone."""

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from setupassist.appearance import thumbnails as room
from setupassist.appearance.thumbnails import (
    art_crop,
    box_crop,
    cell_px,
    garment_picture,
    one_plate_picture,
    thumbnails,
    union_thumb,
)
from setupassist.art.plates import Plate, PlateSet
from setupassist.errors import Cancelled


def plate_set(*arrays, band=None):
    plates = tuple(Plate(f"ink {i}", f"{i}.png", *a.shape, 300.0, False) for i, a in enumerate(arrays))

    def read(band_rows):
        step = band or band_rows
        for start in range(0, max(a.shape[0] for a in arrays), step):
            yield tuple(a[start : start + step] for a in arrays)

    return PlateSet("made here", plates, read)


def means(array, cell):
    rows, columns = array.shape
    return np.array(
        [[array[r : r + cell, c : c + cell].mean() for c in range(0, columns, cell)] for r in range(0, rows, cell)]
    )


@settings(max_examples=60, deadline=None)
@given(
    rows=st.integers(1, 40), columns=st.integers(1, 40), longest=st.integers(1, 45), band=st.integers(1, 17),
    seed=st.integers(0, 999),
)  # fmt: skip
def test_cells_hold_the_mean_ink_whatever_the_band_height(rows, columns, longest, band, seed):
    array = np.random.default_rng(seed).integers(0, 256, (rows, columns), dtype=np.uint8)
    (thumb,) = thumbnails(plate_set(array, band=band), longest_px=longest)
    least = -(-max(rows, columns) // longest)
    cell = cell_px(max(rows, columns), longest)
    assert least <= cell <= room.NEAR * least
    assert max(thumb.shape) <= longest
    assert np.abs(thumb - means(array, cell)).max() <= 0.5


@settings(max_examples=40, deadline=None)
@given(
    rows=st.integers(1, 70), columns=st.integers(1, 70), longest=st.integers(2, 9), band=st.integers(1, 17),
    seed=st.integers(0, 999),
)  # fmt: skip
def test_packed_ink_gives_the_same_pictures(rows, columns, longest, band, seed):
    array = np.where(np.random.default_rng(seed).random((rows, columns)) < 0.4, 255, 0).astype(np.uint8)
    plain = plate_set(array, band=band)
    packed = replace(plain, plates=tuple(replace(plate, two_level=True) for plate in plain.plates))
    assert np.array_equal(thumbnails(packed, longest_px=longest)[0], thumbnails(plain, longest_px=longest)[0])


def test_every_plate_gets_its_own_picture_in_order():
    light, full = np.full((30, 20), 51, np.uint8), np.full((30, 20), 255, np.uint8)
    first, second = thumbnails(plate_set(light, full, band=7), longest_px=10)
    assert first.shape == second.shape == (10, 7)
    assert set(first.ravel()) == {51}
    assert set(second.ravel()) == {255}


def test_stop_is_heard_between_bands(monkeypatch):
    monkeypatch.setattr(room, "BAND_ROWS", 4)
    asked = []
    with pytest.raises(Cancelled):
        thumbnails(plate_set(np.zeros((40, 4), np.uint8)), stop=lambda: len(asked) == 2 or asked.append(1))
    assert len(asked) == 2


def test_full_ink_is_its_colour_and_no_ink_is_the_cloth():
    ink = np.array([[0, 255]], np.uint8)
    picture = garment_picture([ink], ["#c8202f"], "#1f2a44")
    assert picture.tolist() == [[[0x1F, 0x2A, 0x44], [0xC8, 0x20, 0x2F]]]


def test_half_tone_mixes_in_linear_light():
    # half of white light over black: 0.5 linear is sRGB 0.7354, 188 of 255 (IEC 61966-2-1)
    # 127/255 and 128/255 straddle it
    grey = garment_picture([np.array([[127, 128]], np.uint8)], ["#ffffff"], "#000000")[0, :, 0]
    assert grey[0] <= 188 <= grey[1]
    assert grey[1] - grey[0] <= 1


def test_base_shows_only_where_nothing_lies_on_it():
    base, red = np.array([[255, 255, 0]], np.uint8), np.array([[255, 0, 0]], np.uint8)
    picture = garment_picture([base, red], ["#f4f4f2", "#b02020"], "#000000")
    assert picture[0].tolist() == [[0xB0, 0x20, 0x20], [0xF4, 0xF4, 0xF2], [0, 0, 0]]


def test_order_of_printing_decides_what_is_on_top():
    full = np.array([[255]], np.uint8)
    assert garment_picture([full, full], ["#ff0000", "#0000ff"], "#ffffff")[0, 0].tolist() == [0, 0, 255]
    assert garment_picture([full, full], ["#0000ff", "#ff0000"], "#ffffff")[0, 0].tolist() == [255, 0, 0]


def test_an_ink_of_no_opacity_leaves_the_cloth():
    full = np.array([[255]], np.uint8)
    assert garment_picture([full], ["#ff0000"], "#336699", opacities=[0.0])[0, 0].tolist() == [0x33, 0x66, 0x99]


def test_crop_holds_all_ink_with_a_margin():
    one, two = np.zeros((100, 80), np.uint8), np.zeros((100, 80), np.uint8)
    one[20:40, 30:40] = 255
    two[50:60, 35:50] = 255
    assert art_crop([one, two], margin_share=0.1) == (16, 64, 26, 54)
    assert art_crop([np.zeros((9, 7), np.uint8)]) == (0, 9, 0, 7)
    picture = garment_picture([one, two], ["#fff", "#000"], "#888", crop=(16, 64, 26, 54))
    assert picture.shape == (48, 28, 3)


def test_crop_from_the_measured_box_stays_on_the_plate():
    assert box_crop((100, 200), (0.25, 0.5, 0.5, 0.25), margin_share=0.1) == (40, 85, 40, 160)
    assert box_crop((10, 10), (0.0, 0.0, 1.0, 1.0)) == (0, 10, 0, 10)


def test_one_plate_is_black_on_white():
    picture = one_plate_picture(np.array([[0, 255, 55]], np.uint8))
    assert picture[0].tolist() == [[255] * 3, [0] * 3, [200] * 3]


def test_union_takes_the_most_ink():
    assert union_thumb([np.array([[10, 200]], np.uint8), np.array([[90, 20]], np.uint8)]).tolist() == [[90, 200]]


def test_pictures_that_do_not_fit_together_are_refused():
    with pytest.raises(ValueError, match="one colour"):
        garment_picture([np.zeros((2, 2), np.uint8)], [], "#fff")
    with pytest.raises(ValueError, match="differ in shape"):
        garment_picture([np.zeros((2, 2), np.uint8), np.zeros((2, 3), np.uint8)], ["#fff", "#fff"], "#fff")
