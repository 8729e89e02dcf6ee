"""The loupe cuts the very pixels of every plate, whatever the bands."""

import numpy as np
import pytest

from setupassist.appearance import loupe as room
from setupassist.appearance.loupe import box_around, crop, crops
from setupassist.art.plates import Plate, PlateSet
from setupassist.errors import Cancelled

DPI = 254.0  # ten pixels a mm


@pytest.fixture
def drawn():
    rng = np.random.default_rng(4)
    grey = rng.integers(0, 256, (900, 700), dtype=np.uint8)
    bits = np.where(rng.random((900, 700)) < 0.4, 255, 0).astype(np.uint8)
    plates = (Plate("grey", "grey.tif", 900, 700, DPI, False), Plate("bits", "bits.png", 900, 700, None, True))
    read = []

    def bands(rows):
        for top in range(0, 900, rows):
            read.append(top)
            yield grey[top : top + rows], bits[top : top + rows]

    return PlateSet("drawn", plates, bands), {"grey": grey, "bits": bits}, read


@pytest.mark.parametrize("rows", [1, 7, 512, 2000])
def test_a_crop_holds_the_pixels_of_its_box(drawn, monkeypatch, rows):
    plates, truth, _ = drawn
    monkeypatch.setattr(room, "BAND_ROWS", rows)
    cut = crop(plates, (12.3, 30.0, 4.5, 6.0))
    assert cut.box_mm == pytest.approx((12.3, 30.0, 4.5, 6.0))
    assert cut.pixels_per_mm == 10
    assert list(cut.levels) == ["grey", "bits"]
    for name, levels in cut.levels.items():
        np.testing.assert_array_equal(levels, truth[name][300:360, 123:168])


def test_only_the_rows_needed_are_read(drawn, monkeypatch):
    plates, _, read = drawn
    monkeypatch.setattr(room, "BAND_ROWS", 100)
    crop(plates, (0, 5, 10, 10))
    assert read == [0, 100]


def test_several_boxes_take_one_pass(drawn, monkeypatch):
    plates, truth, read = drawn
    monkeypatch.setattr(room, "BAND_ROWS", 64)
    one, two = crops(plates, [(60, 80, 5, 5), (0, 0, 5, 5)])
    np.testing.assert_array_equal(one.levels["bits"], truth["bits"][800:850, 600:650])
    np.testing.assert_array_equal(two.levels["bits"], truth["bits"][:50, :50])
    assert len(read) == len(set(read))


def test_a_box_over_the_rim_is_moved_in_and_a_larger_one_cut(drawn):
    plates, truth, _ = drawn
    cut = crop(plates, box_around((0.0, 90.0), 6.0))
    assert cut.box_mm == pytest.approx((0, 84, 6, 6))
    np.testing.assert_array_equal(cut.levels["bits"], truth["bits"][840:, :60])
    assert crop(plates, (-5, -5, 500, 500)).levels["grey"].shape == (900, 700)


def test_a_loupe_needs_a_resolution_and_gives_way(drawn):
    plates, _, _ = drawn
    bare = PlateSet("bare", (Plate("a", "a", 900, 700, None, False),), plates.read)
    with pytest.raises(ValueError, match="resolution"):
        crop(bare, (0, 0, 1, 1))
    with pytest.raises(Cancelled):
        crop(plates, (0, 0, 1, 1), stop=lambda: True)
