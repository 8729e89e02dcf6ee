"""Plates that are written read back as the ink that went in, here and in other readers, and never half."""

from pathlib import Path

import numpy as np
import pytest
from PIL import Image

from setupassist.art.opening import name_from_file, open_plates
from setupassist.art.plates import Plate, PlateSet
from setupassist.art.writing import file_names, write_plate, write_plates
from setupassist.errors import Cancelled


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


@pytest.mark.parametrize(
    ("inks", "files"),
    [
        (["white base", "warm red"], ["01-white base.tif", "02-warm red.tif"]),
        (["a/b", r"a\b", "a_b", "A b"], ["01-a b.tif", "02-a b 2.tif", "03-a_b 3.tif", "04-A b 4.tif"]),
        (
            ["../up", "/etc/x", "///", " .", "2"],
            ["01-.. up.tif", "02-etc x.tif", "03-ink 3.tif", "04-..tif", "05-2.tif"],
        ),
        (["é" * 80, "墨" * 80], [f"01-{'é' * 80}.tif", f"02-{'墨' * 66}.tif"]),
        (["a\x00b\nc"], ["01-a b c.tif"]),
    ],
)
def test_file_names_hold_the_ink_and_nothing_that_leads_away(inks, files):
    assert file_names(inks) == files
    assert all(Path(file).name == file and len(file.encode()) < 255 for file in files)


def test_names_read_back_as_they_were(tmp_path, whole):
    inks = ["2 red", "gold 877", "ñandú", "white base", "ink: 5"]
    assert [name_from_file(Path(file)) for file in file_names(inks)] == [*inks[:4], "ink 5"]
    assert len(file_names(["x"] * 120)) == len(set(file_names(["x"] * 120))) == 120


def test_a_set_is_written_in_one_pass_and_tells_how_far_it_is(tmp_path, drawn, whole):
    inks = [drawn(400, 300, seed) for seed in range(3)]
    shares = []
    files = write_plates(_set(inks), tmp_path / "films", progress=shares.append)
    assert shares == sorted(shares)
    assert shares[-1] == 1.0
    for file, ink in zip(files, inks, strict=True):
        assert np.array_equal(whole(open_plates(file))[0], ink)


def test_a_stopped_set_leaves_nothing(tmp_path, drawn):
    answers = iter([False, True])
    with pytest.raises(Cancelled):
        write_plates(_set([drawn(4000, 900)]), tmp_path / "films", stop=lambda: next(answers))
    assert list(tmp_path.iterdir()) == []


def _set(inks, band_rows=64):
    """A set of plates in memory that hands on bands of 64 rows whatever it is asked for."""
    plates = tuple(Plate(f"ink {n}", "memory", *ink.shape, 300.0, False) for n, ink in enumerate(inks))

    def read(_):
        for top in range(0, len(inks[0]), band_rows):
            yield tuple(ink[top : top + band_rows] for ink in inks)

    return PlateSet("memory", plates, read)
