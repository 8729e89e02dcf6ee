"""TIFF files that make much work or memory out of few bytes are refused at once, their honest twins are read."""

import lzma
import time
import zlib

import numpy as np
import pytest
from PIL import Image

from setupassist.art.opening import open_plates
from setupassist.art.tiff import MOST_OUT_OF_ONE
from setupassist.art.tiff_strips import JPEG, LZMA, ZSTANDARD
from setupassist.errors import InputFault


def shared(writer, path, *, pages, columns, rows, strip_rows, bits=8, compression=8):
    """Pages whose strips all lie at one place: a strip of paper, stored once."""
    strip = np.full((1, strip_rows, columns), 255, np.uint8)
    tiff = writer()
    count = -(-rows // strip_rows)
    for _ in range(pages):
        tiff.add(strip, strip_rows=strip_rows, compression=compression, photometric=1)
        fields, segments = tiff.pages[-1]
        at = 8  # the first segment written
        fields |= {257: ("I", [rows]), 273: ("I", [at] * count), 279: ("I", [len(segments[0])] * count)}
    tiff.pages[1:] = [(fields, []) for fields, _ in tiff.pages[1:]]
    return tiff.write(path)


def refused(path, match, *, seconds=2.0):
    start = time.perf_counter()
    with pytest.raises(InputFault, match=match):
        open_plates(path)
    assert time.perf_counter() - start < seconds


def test_pages_that_share_one_strip_for_more_than_it_can_hold(tmp_path, tiff_writer):
    size = {"columns": 20_000, "rows": 400, "strip_rows": 400}
    path = shared(tiff_writer, tmp_path / "a.tif", pages=1, **size)
    assert len(open_plates(path).plates) == 1
    refused(shared(tiff_writer, tmp_path / "a.tif", pages=40, **size), "shares its bytes between strips or pages")


@pytest.mark.parametrize("pages", [2, 64])
def test_a_blank_page_stored_once_is_no_fault(tmp_path, tiff_writer, whole, pages):
    path = shared(tiff_writer, tmp_path / "a.tif", pages=pages, columns=50, rows=50, strip_rows=50, compression=1)
    found = whole(open_plates(path))
    assert [rows.shape for rows in found] == [(50, 50)] * pages
    assert not any(rows.any() for rows in found)


def test_unpacked_strips_shared_beyond_reason(tmp_path, tiff_writer):
    path = shared(tiff_writer, tmp_path / "a.tif", pages=1, columns=2000, rows=20_000, strip_rows=10, compression=1)
    refused(path, "promises far more pixels")


@pytest.mark.parametrize(("compression", "ratio"), [(5, 2731), (32773, 64)])
def test_packed_bytes_hold_no_more_than_their_code_can(tmp_path, tiff_writer, compression, ratio):
    tiff = tiff_writer().add(np.full((1, 10, 100), 255, np.uint8), strip_rows=10, compression=32773)
    fields, segments = tiff.pages[0]
    rows = len(segments[0]) * ratio // 100 + 2
    fields |= {257: ("I", [rows]), 278: ("I", [rows]), 259: ("H", [compression])}
    refused(tiff.write(tmp_path / "a.tif"), "is cut short")
    fields |= {257: ("I", [rows - 2]), 278: ("I", [rows - 2])}
    assert open_plates(tiff.write(tmp_path / "a.tif")).plates[0].rows == rows - 2


@pytest.mark.parametrize("tile", [(1, 1), (8, 64), (64, 15)])
def test_tiles_smaller_than_the_standard_has_them(tmp_path, tiff_writer, tile):
    tiff = tiff_writer().add(np.zeros((1, 70, 70), np.uint8), tile=tile)
    refused(tiff.write(tmp_path / "a.tif"), rf"has tiles of {tile[1]} x {tile[0]} pixels, too small to read")


def test_too_many_small_strips(tmp_path, tiff_writer):
    row = {"rows": 100_001, "strip_rows": 1, "pages": 1}
    refused(shared(tiff_writer, tmp_path / "a.tif", columns=64, **row), "is cut into 100001 strips or tiles")
    assert open_plates(shared(tiff_writer, tmp_path / "a.tif", columns=2048, **row)).plates[0].rows == 100_001


def test_small_strips_of_all_pages_are_counted_together(tmp_path, tiff_writer):
    few = {"columns": 64, "rows": 25_000, "strip_rows": 1}
    assert len(open_plates(shared(tiff_writer, tmp_path / "a.tif", pages=4, **few)).plates) == 4
    refused(shared(tiff_writer, tmp_path / "a.tif", pages=5, **few), "is cut into 125000 strips or tiles")


def test_deflate_makes_no_more_of_a_byte_than_the_limit_says():
    """The limit of 1032 is the format's own; what zlib reaches comes close and stays below."""
    best = 10_000_000 / len(zlib.compress(bytes(10_000_000), 9))
    assert 1000 < best <= 1032


def test_other_packings_make_no_more_of_a_byte_than_their_limits_say(tmp_path):
    """Blank pictures, the best case of each."""
    best = 100_000_000 / len(lzma.compress(bytes(100_000_000), preset=9))
    assert 5000 < best <= MOST_OUT_OF_ONE[LZMA]
    for packing, number, picture in (
        ("zstd", ZSTANDARD, Image.new("L", (8000, 8000))),
        ("jpeg", JPEG, Image.new("L", (8000, 8000))),
        ("jpeg", JPEG, Image.new("RGB", (8000, 8000))),
    ):
        picture.save(tmp_path / "a.tif", compression=packing, tiffinfo={278: 8000})
        with Image.open(tmp_path / "a.tif") as told:
            packed = sum(told.tag_v2[279])
        assert 50 < 64_000_000 * len(picture.getbands()) / packed <= MOST_OUT_OF_ONE[number]
        assert open_plates(tmp_path / "a.tif").plates[0].rows == 8000
