"""Peak memory grows neither with a plate's height nor with the number of plates."""

import io
import resource
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
import resource, sys
from pathlib import Path
from setupassist.art.opening import open_plates
plates = open_plates(Path(sys.argv[1]))
rows = ink = 0
for band in plates.read(64):
    rows += len(band[0])
    ink += sum(int(part[:, 0].sum()) // 255 for part in band)
print(rows, ink, resource.getrusage(resource.RUSAGE_SELF).ru_maxrss)
"""


def peak_mb(path, rows, ink):
    """Peak memory of a fresh interpreter that reads the plates, which must show ``ink`` in their first column."""
    done = subprocess.run([sys.executable, "-c", READ, str(path)], capture_output=True, text=True, check=True)
    found = [int(word) for word in done.stdout.split()]
    assert found[:2] == [rows, ink]
    return found[2] / (1024 if sys.platform != "darwin" else 1024**2)


def two_level_png(path, rows):
    """Ink in every third row, written row by row."""

    def chunk(name, body):
        return struct.pack(">I", len(body)) + name + body + struct.pack(">I", zlib.crc32(name + body))

    packer = zlib.compressobj(1)
    empty, full = b"\0" + b"\xff" * (COLUMNS // 8), b"\0" + bytes(COLUMNS // 8)
    data = b"".join(packer.compress(empty if row % 3 else full) for row in range(rows)) + packer.flush()
    head = struct.pack(">IIBBBBB", COLUMNS, rows, 1, 0, 0, 0, 0)
    path.write_bytes(b"\x89PNG\r\n\x1a\n" + chunk(b"IHDR", head) + chunk(b"IDAT", data) + chunk(b"IEND", b""))


def grey_tiff(path, rows, compression):
    """Full ink down to the last row in one strip of its own."""
    data = io.BytesIO()
    picture = Image.fromarray(np.zeros((rows, COLUMNS), np.uint8))
    picture.save(data, "TIFF", compression=compression, tiffinfo={278: rows})
    path.write_bytes(data.getvalue())


@pytest.mark.skipif(sys.platform == "win32", reason="peak memory is asked of resource")
def test_height_does_not_count(tmp_path):
    two_level_png(tmp_path / "low.png", 4000)
    two_level_png(tmp_path / "high.png", 40_000)
    low = peak_mb(tmp_path / "low.png", 4000, 1334)
    high = peak_mb(tmp_path / "high.png", 40_000, 13_334)
    assert high - low < MOST_GROWTH_MB


@pytest.mark.parametrize("compression", ["raw", "tiff_adobe_deflate"])
def test_height_does_not_count_for_one_strip(tmp_path, compression):
    grey_tiff(tmp_path / "low.tif", 2000, compression)
    grey_tiff(tmp_path / "high.tif", 30_000, compression)
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


def test_an_absurd_header_costs_no_memory(tmp_path):
    """The limits stand before anything is allocated."""
    from setupassist.art.opening import open_plates
    from setupassist.errors import InputFault

    head = struct.pack(">IIBBBBB", 200_000, 200_000, 8, 0, 0, 0, 0)
    chunk = struct.pack(">I", 13) + b"IHDR" + head + struct.pack(">I", zlib.crc32(b"IHDR" + head))
    (tmp_path / "a.png").write_bytes(b"\x89PNG\r\n\x1a\n" + chunk)
    before = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
    with pytest.raises(InputFault, match="above the limit"):
        open_plates(tmp_path / "a.png")
    assert resource.getrusage(resource.RUSAGE_SELF).ru_maxrss - before < MOST_GROWTH_MB * 1024
