"""TIFF layouts written by libtiff's own tool read back as the pixels that went in.

Source: ``tiffcp`` of LibTIFF, the reference implementation of TIFF 6.0, from Debian's package libtiff-tools.
"""

import subprocess

import numpy as np
import pytest
import tifffile
from PIL import Image

from setupassist.art.opening import open_plates

pytestmark = pytest.mark.outside

NAMES = ("white base", "warm red", "gold", "deep blue", "black key", "clear")


@pytest.fixture(scope="module")
def tiffcp(reference_program):
    return reference_program("tiffcp", "libtiff-tools")


def planes(rows=301, columns=243):
    """Six planes of discs, ramps and noise (6, rows, columns)."""
    y, x = np.mgrid[0:rows, 0:columns]
    made = []
    for number in range(6):
        plane = np.clip(128 + 90 * np.sin((x + number * y) / 23), 0, 255).astype(np.uint8)
        plane[np.hypot(x - 30 * number, y - 90) < 60] = 255
        plane[200:260, : 40 * number] = 0
        made.append(plane)
    return np.stack(made)


def copied(tiffcp, source, target, *options):
    subprocess.run([tiffcp, *options, str(source), str(target)], check=True, capture_output=True)
    return target


def rows_of(path):
    plates = open_plates(path)
    return plates, np.stack([np.concatenate(column) for column in zip(*plates.read(50), strict=True)])


@pytest.mark.parametrize("order", ["-B", "-L"])
@pytest.mark.parametrize("layout", [("-r", "7"), ("-r", "400"), ("-t", "-w", "64", "-l", "48")])
@pytest.mark.parametrize("packing", ["none", "lzw", "lzw:2", "zip", "zip:2", "packbits", "lzma:2", "zstd:2"])
@pytest.mark.parametrize("planar", ["contig", "separate"])
def test_six_inks(*, tmp_path, tiffcp, order, layout, packing, planar):
    truth = planes()
    names = b"".join(name.encode() + b"\0" for name in NAMES)
    tags = [(332, 3, 1, 2, True), (333, 2, len(names), names, True), (334, 3, 1, 6, True)]
    tifffile.imwrite(
        tmp_path / "source.tif",
        np.ascontiguousarray(np.moveaxis(truth, 0, -1)),
        photometric="separated",
        planarconfig="contig",
        extratags=tags,
        resolution=(300, 300),
    )
    options = (order, "-c", packing, "-p", planar, *layout)
    plates, found = rows_of(copied(tiffcp, tmp_path / "source.tif", tmp_path / "copy.tif", *options))
    assert tuple(plate.name for plate in plates.plates) == NAMES
    assert plates.dpi == 300.0
    assert np.array_equal(found, truth)


@pytest.mark.parametrize(
    "packing", ["none", "lzw", "zip", "packbits", "lzma", "zstd", "g3:1d", "g3:2d", "g3:2d:fill", "g4"]
)
@pytest.mark.parametrize("options", [("-f", "msb2lsb"), ("-f", "lsb2msb"), ("-r", "9"), ("-8",)])
def test_two_levels(tmp_path, tiffcp, packing, options):
    light = planes()[1] > 127
    Image.fromarray(light).save(tmp_path / "source.tif", dpi=(600, 600))
    plates, found = rows_of(
        copied(tiffcp, tmp_path / "source.tif", tmp_path / "01-warm_red.tif", "-c", packing, *options)
    )
    assert np.array_equal(found[0], np.where(light, 0, 255))
    assert (plates.plates[0].name, plates.plates[0].two_level) == ("warm red", True)


@pytest.mark.parametrize("packing", ["none", "lzw:2", "zip:2", "lzma:2", "zstd:2"])
@pytest.mark.parametrize("order", ["-B", "-L"])
def test_sixteen_bits(tmp_path, tiffcp, packing, order):
    values = planes()[2].astype(np.uint16) * 257
    tifffile.imwrite(tmp_path / "source.tif", values, photometric="minisblack")
    _, found = rows_of(copied(tiffcp, tmp_path / "source.tif", tmp_path / "copy.tif", order, "-c", packing))
    assert np.array_equal(found[0], 255 - planes()[2])


@pytest.mark.parametrize("layout", [("-r", "16"), ("-r", "400"), ("-t", "-w", "64", "-l", "48")])
@pytest.mark.parametrize("planar", ["contig", "separate"])
def test_process_inks_packed_as_jpeg(*, tmp_path, tiffcp, layout, planar):
    """What libtiff unpacks of its own JPEG is what is read, but for a level that its other JPEG library rounds."""
    truth = np.ascontiguousarray(np.moveaxis(planes()[:4], 0, -1))
    tifffile.imwrite(tmp_path / "source.tif", truth, photometric="separated", planarconfig="contig")
    packed = copied(tiffcp, tmp_path / "source.tif", tmp_path / "a.tif", "-c", "jpeg:90", "-p", planar, *layout)
    plain = copied(tiffcp, packed, tmp_path / "b.tif", "-c", "none", "-p", "separate")
    plates, found = rows_of(packed)
    assert len(plates.plates) == 4
    assert np.abs(found.astype(int) - rows_of(plain)[1]).max() <= 1
    assert np.abs(found.astype(int) - planes()[:4]).mean() < 3


def test_pages_put_together(tmp_path, tiffcp):
    for number in range(3):
        Image.fromarray(planes()[number] > 127).save(tmp_path / f"{number}.tif")
    subprocess.run(
        [tiffcp, "-c", "g4", *(str(tmp_path / f"{number}.tif") for number in range(3)), str(tmp_path / "all.tif")],
        check=True,
        capture_output=True,
    )
    plates, found = rows_of(tmp_path / "all.tif")
    assert [plate.name for plate in plates.plates] == ["page 1", "page 2", "page 3"]
    assert np.array_equal(found, np.where(planes()[:3] > 127, 0, 255))
