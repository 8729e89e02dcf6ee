"""Plates that are written read back as the ink that went in, here and in other readers, and never half."""

import numpy as np
import pytest
from PIL import Image

from setupassist.art.opening import open_plates
from setupassist.art.writing import write_plate


def bands_of(ink, heights):
    top = 0
    for height in heights:
        yield ink[top : top + height]
        top += height


@pytest.mark.parametrize("heights", [(600,), (1,) * 600, (7, 200, 0, 393), (599, 1)])
def test_a_plate_reads_back(tmp_path, drawn, whole, heights):
    ink = drawn(600, 901)
    path = tmp_path / "03-warm red.tif"
    write_plate(path, bands_of(ink, heights), columns=901, rows=600, dpi=299.72, name="röd")
    plates = open_plates(path)
    assert [(plate.name, plate.dpi) for plate in plates.plates] == [("warm red", 299.72)]
    assert plates.notes == ()
    assert np.array_equal(whole(plates)[0], ink)
    with Image.open(path) as picture:
        assert picture.mode == "L"
        assert np.array_equal(np.asarray(picture), 255 - ink)
        assert picture.info["dpi"] == (299.72, 299.72)
        assert picture.tag_v2[285].encode("latin-1").decode() == "röd"
    assert path.stat().st_size < ink.size


@pytest.mark.parametrize(("columns", "rows"), [(1, 1), (7, 1), (1, 9), (200_000, 3)])
def test_small_and_wide_plates(tmp_path, whole, columns, rows):
    ink = (np.arange(rows * columns, dtype=np.uint32) % 251).astype(np.uint8).reshape(rows, columns)
    write_plate(tmp_path / "a.tif", [ink], columns=columns, rows=rows, dpi=300)
    assert np.array_equal(whole(open_plates(tmp_path / "a.tif"))[0], ink)


def test_what_lay_there_stays_where_writing_fails(tmp_path):
    path = tmp_path / "a.tif"
    path.write_bytes(b"mine")
    sound = np.zeros((4, 5), np.uint8)

    def breaks():
        yield sound
        raise KeyboardInterrupt

    for bands, fault in ((breaks(), KeyboardInterrupt), ([sound], ValueError), ([sound[:, :4]] * 2, ValueError)):
        with pytest.raises(fault):
            write_plate(path, bands, columns=5, rows=8, dpi=300)
        assert [(each.name, each.read_bytes()) for each in tmp_path.iterdir()] == [("a.tif", b"mine")]
