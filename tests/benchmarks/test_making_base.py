"""How long a base for a film-size set takes, and its peak of memory; the known answer comes first.

Small by default; ``SETUPASSIST_BENCH=full`` makes the base of twelve two-level plates of 8400 x 9600 pixels at 600 dpi,
two of them dots. Wanted: a peak under 700 MB, whatever the height.
"""

from __future__ import annotations

import os
import subprocess
import sys
import time
from pathlib import Path

import numpy as np
import pytest
from PIL import Image
from scipy.ndimage import distance_transform_edt

from setupassist.cli import main

pytestmark = pytest.mark.benchmark

FULL = os.environ.get("SETUPASSIST_BENCH") == "full"
COLUMNS, ROWS = (8400, 9600) if FULL else (840, 960)
DPI, CHOKE_MM, PLATES, DOTTED = 600, 0.35, 12, (3, 7)
PEAK = """
import re, sys
from pathlib import Path
from setupassist.cli import main
assert main(["base", sys.argv[1], "-o", sys.argv[2], "--choke", "0.35mm"]) == 0
status = Path("/proc/self/status")
print(re.search(r"VmHWM:\\s+(\\d+) kB", status.read_text())[1] if status.exists() else "unknown")
"""


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    path = tmp_path_factory.mktemp("plates")
    rng = np.random.default_rng(5)
    y, x = np.ogrid[0:ROWS, 0:COLUMNS]
    for number in range(PLATES):
        ink = np.zeros((ROWS, COLUMNS), bool)
        for _ in range(6):
            down, across = rng.integers(ROWS // 5, 4 * ROWS // 5), rng.integers(COLUMNS // 5, 4 * COLUMNS // 5)
            radius = int(rng.integers(COLUMNS // 20, COLUMNS // 7))
            part = np.s_[down - radius : down + radius, across - radius : across + radius]
            ink[part] |= np.hypot(y[part[0]] - down, x[:, part[1]] - across) < radius
        if number in DOTTED:
            period = DPI / 45
            ink &= np.cos(2 * np.pi * (x + y) / period) + np.cos(2 * np.pi * (x - y) / period) > 0.3
        Image.fromarray(~ink).save(path / f"{number:02d}-ink {number}.png", dpi=(DPI, DPI))
    return path


def test_a_base_of_a_film_size_set(folder: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    output = tmp_path / "base.png"
    start = time.perf_counter()
    assert main(["base", str(folder), "-o", str(output), "--choke", f"{CHOKE_MM}mm"]) == 0
    seconds = time.perf_counter() - start
    with Image.open(output) as image:
        base = ~np.asarray(image)
    union = np.zeros((ROWS, COLUMNS), bool)
    for number, file in enumerate(sorted(folder.iterdir())):
        if number not in DOTTED:
            with Image.open(file) as image:
                union |= ~np.asarray(image)
    part = np.s_[: min(ROWS, 2000), :]
    deep = distance_transform_edt(np.pad(union[part], ((1, 0), (1, 1))))[1:, 1:-1] >= CHOKE_MM / 25.4 * DPI + 0.5
    assert base[part][deep].all(), "what lies deep in the solids has base, whatever dots lie beside them"
    peak = subprocess.run(
        [sys.executable, "-c", PEAK, str(folder), str(tmp_path / "again.png")],
        capture_output=True,
        text=True,
        check=True,
    ).stdout.split()[-1]
    assert (tmp_path / "again.png").read_bytes() == output.read_bytes()
    if peak != "unknown":
        assert int(peak) < 700_000
    with capsys.disabled():
        print(f"\nbase of {PLATES} plates of {COLUMNS} x {ROWS}: {seconds:.2f} s, peak {peak} kB")
