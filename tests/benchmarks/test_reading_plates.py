"""Reading twelve two-level plates side by side, against bare Pillow loads of the same files.

Full size: ``SETUPASSIST_BENCH=full pytest -s tests/benchmarks/test_reading_plates.py`` (8400 x 9600 at 600 dpi).
"""

import os
import subprocess
import sys
import time

import numpy as np
import pytest
from PIL import Image, ImageDraw

from setupassist.art.opening import open_plates

pytestmark = pytest.mark.benchmark

FULL = os.environ.get("SETUPASSIST_BENCH") == "full"
COLUMNS, ROWS = (8400, 9600) if FULL else (840, 960)
PLATES = 12
BAND_ROWS = 256
PEAK = """
import re, sys
from pathlib import Path
from setupassist.art.opening import open_plates
for band in open_plates(Path(sys.argv[1])).read(256):
    pass
status = Path("/proc/self/status")
print(re.search(r"VmHWM:\\s+(\\d+) kB", status.read_text())[1] if status.exists() else "unknown")
"""


@pytest.fixture(scope="module")
def folder(tmp_path_factory):
    """Discs on all plates; half of a plate is dots on every third one. The path and each plate's ink in pixels."""
    path = tmp_path_factory.mktemp("plates")
    rng = np.random.default_rng(7)
    ink = []
    dots = np.fromfunction(lambda y, x: np.cos((x + y) / 2.5) + np.cos((x - y) / 2.5) > 0.4, (320, 320))
    dots = np.tile(dots, (ROWS // 320 + 1, COLUMNS // 320 + 1))[:ROWS, : COLUMNS // 2]
    for number in range(PLATES):
        picture = Image.new("1", (COLUMNS, ROWS))
        pen = ImageDraw.Draw(picture)
        for disc in range(40):
            across, down, radius = rng.uniform(0, COLUMNS), rng.uniform(0, ROWS), rng.uniform(0.01, 0.1) * COLUMNS
            pen.ellipse((across - radius, down - radius, across + radius, down + radius), fill=disc % 3 != 0)
        dark = np.array(picture)
        if number % 3 == 0:
            dark[:, : COLUMNS // 2] = dots
        Image.fromarray(~dark).save(path / f"{number:02}-ink {number}.png", dpi=(600, 600))
        ink.append(int(dark.sum()))
    return path, ink


def test_twelve_plates_side_by_side(folder, capsys):
    path, truth = folder
    found = np.zeros(PLATES, np.int64)
    for band in open_plates(path).read(BAND_ROWS):
        found += [np.count_nonzero(rows) for rows in band]
    assert found.tolist() == truth

    def seconds(work):
        times = []
        for _ in range(3):
            start = time.perf_counter()
            work()
            times.append(time.perf_counter() - start)
        return min(times)

    def bare():
        for file in sorted(path.iterdir()):
            with Image.open(file) as picture:
                picture.load()

    def converted():
        for file in sorted(path.iterdir()):
            with Image.open(file) as picture:
                np.multiply(~np.asarray(picture), 255, dtype=np.uint8)

    def rows():
        for _ in open_plates(path).read(BAND_ROWS):
            pass

    def bits():
        for _ in open_plates(path).read_bits(BAND_ROWS):
            pass

    told = {work.__name__: seconds(work) for work in (bare, converted, rows, bits)}
    peak = subprocess.run([sys.executable, "-c", PEAK, str(path)], capture_output=True, text=True, check=True).stdout
    with capsys.disabled():
        print(
            f"\n{PLATES} plates of {COLUMNS} x {ROWS}: bare Pillow load {told['bare']:.3f} s, with conversion "
            f"{told['converted']:.3f} s; rows in bands {told['rows']:.3f} s "
            f"({told['rows'] / told['bare']:.2f} x bare), "
            f"packed bits {told['bits']:.3f} s ({told['bits'] / told['bare']:.2f} x bare); peak {peak.strip()} kB"
        )
