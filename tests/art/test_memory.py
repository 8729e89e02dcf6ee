"""Peak memory grows neither with a plate's height nor with the number of plates."""

import io
import struct
import subprocess
import sys
import zlib

import numpy as np
import pytest
from PIL import Image

COLUMNS = 2000
MOST_GROWTH_MB = 15

READ = """
import re, resource, sys
from pathlib import Path
from setupassist.art.opening import open_plates
from setupassist.errors import InputFault
rows = ink = 0
try:
    plates = open_plates(Path(sys.argv[1]))
    for band in plates.read(64):
        rows += len(band[0])
        ink += sum(int(part[:, 0].sum()) // 255 for part in band)
except InputFault:
    rows = -1
if sys.platform == "linux":  # what resource tells there counts the parent's memory too
    peak = int(re.search(r"VmHWM:\\s+(\\d+) kB", Path("/proc/self/status").read_text())[1]) / 1024
else:
    peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024**2
print(rows, ink, peak)
"""


def peak_mb(path, rows, ink):
    """Peak memory of a fresh interpreter that reads the plates, which must show ``ink`` in their first column.

    ``rows`` is -1 where the plates must be refused.
    """
    done = subprocess.run([sys.executable, "-c", READ, str(path)], capture_output=True, text=True, check=True)
    found = done.stdout.split()
    assert [int(word) for word in found[:2]] == [rows, ink]
    return float(found[2])


def chunk(name, body):
    return struct.pack(">I", len(body)) + name + body + struct.pack(">I", zlib.crc32(name + body))


def two_level_png(path, rows):
    """Ink in every third row, written row by row."""
    packer = zlib.compressobj(1)
    empty, full = b"\0" + b"\xff" * (COLUMNS // 8), b"\0" + bytes(COLUMNS // 8)
    data = b"".join(packer.compress(empty if row % 3 else full) for row in range(rows)) + packer.flush()
    head = struct.pack(">IIBBBBB", COLUMNS, rows, 1, 0, 0, 0, 0)
    path.write_bytes(b"\x89PNG\r\n\x1a\n" + chunk(b"IHDR", head) + chunk(b"IDAT", data) + chunk(b"IEND", b""))


def grey_tiff(path, rows, compression, predictor):
    """Full ink down to the last row in one strip of its own."""
    data = io.BytesIO()
    picture = Image.fromarray(np.zeros((rows, COLUMNS), np.uint8))
    picture.save(data, "TIFF", compression=compression, tiffinfo={278: rows, 317: predictor})
    path.write_bytes(data.getvalue())


def test_height_does_not_count(tmp_path):
    two_level_png(tmp_path / "low.png", 4000)
    two_level_png(tmp_path / "high.png", 40_000)
    low = peak_mb(tmp_path / "low.png", 4000, 1334)
    high = peak_mb(tmp_path / "high.png", 40_000, 13_334)
    assert high - low < MOST_GROWTH_MB


@pytest.mark.parametrize(
    ("compression", "predictor"), [("raw", 1), ("tiff_adobe_deflate", 1), ("tiff_adobe_deflate", 2), ("lzma", 2)]
)
def test_height_does_not_count_for_one_strip(tmp_path, compression, predictor):
    grey_tiff(tmp_path / "low.tif", 2000, compression, predictor)
    grey_tiff(tmp_path / "high.tif", 30_000, compression, predictor)
    with Image.open(tmp_path / "high.tif") as told:
        assert (told.tag_v2[278], told.tag_v2.get(317, 1)) == (30_000, predictor)
    low = peak_mb(tmp_path / "low.tif", 2000, 2000)
    high = peak_mb(tmp_path / "high.tif", 30_000, 30_000)
    assert high - low < MOST_GROWTH_MB


def test_number_of_plates_does_not_count(tmp_path):
    for count in (2, 12):
        (tmp_path / str(count)).mkdir()
        for number in range(count):
            two_level_png(tmp_path / str(count) / f"{number:02}-ink {number}.png", 12_000)
    few = peak_mb(tmp_path / "2", 12_000, 2 * 4000)
    many = peak_mb(tmp_path / "12", 12_000, 12 * 4000)
    assert many - few < MOST_GROWTH_MB


def test_of_pictures_decoded_whole_one_is_in_memory_at_a_time(tmp_path):
    """Each of these is 24 MB decoded: eight more of them would be 192 MB."""
    for count in (1, 9):
        (tmp_path / str(count)).mkdir()
        for number in range(count):
            Image.fromarray(np.zeros((12_000, COLUMNS), np.uint8)).save(
                tmp_path / str(count) / f"{number}-ink {number}.jpg", quality=50
            )
    one = peak_mb(tmp_path / "1", 12_000, 12_000)
    nine = peak_mb(tmp_path / "9", 12_000, 9 * 12_000)
    assert nine - one < MOST_GROWTH_MB


def test_absurd_headers_cost_no_memory(tmp_path):
    """The limits stand before anything is allocated: 40 gigapixels, and 300 megapixels that are not there."""
    two_level_png(tmp_path / "sound.png", 4)
    usual = peak_mb(tmp_path / "sound.png", 4, 2)
    for rows, columns, interlaced in ((200_000, 200_000, 0), (15_000, 20_000, 0), (15_000, 20_000, 1)):
        head = struct.pack(">IIBBBBB", columns, rows, 8, 0, 0, 0, interlaced)
        data = zlib.compress(bytes(50_000))
        body = chunk(b"IHDR", head) + chunk(b"IDAT", data) + chunk(b"IEND", b"")
        (tmp_path / "a.png").write_bytes(b"\x89PNG\r\n\x1a\n" + body)
        assert peak_mb(tmp_path / "a.png", -1, 0) - usual < MOST_GROWTH_MB


def test_the_measure_itself_sees_memory(tmp_path):
    """A picture that can only be decoded whole shows in the peak."""
    peaks = []
    for rows in (100, 30_000):
        Image.fromarray(np.zeros((rows, COLUMNS), np.uint8)).save(tmp_path / "a.jpg", quality=50)
        peaks.append(peak_mb(tmp_path / "a.jpg", rows, rows))
    assert peaks[1] - peaks[0] > 40
