"""How long the plates of a PDF take, beside Ghostscript's separations without smoothing; the known answer comes first.

Small by default; ``SETUPASSIST_BENCH=full pytest -s tests/benchmarks/test_pdf_time.py`` draws 12 x 14 inches at 600
dpi: nine inks, 2,500 paths, 30 lines of text, two images of 7.2 megapixels. Wanted: within 1.5 times the interpreter
(two processes may run), and under 250 MB a process.
"""

from __future__ import annotations

import os
import shutil
import subprocess
import sys
import time
import zlib
from pathlib import Path

import numpy as np
import pikepdf
import pytest
from pikepdf import Array, Dictionary, Name, Stream
from PIL import Image

from setupassist.art.opening import open_plates

pytestmark = pytest.mark.benchmark

FULL = os.environ.get("SETUPASSIST_BENCH") == "full"
PART = 1 if FULL else 4
DPI = 600 if FULL else 300
WIDTH, HEIGHT = 864 / PART, 1008 / PART
PATHS = 2500 // PART**2
MOST_RATIO, MOST_MB = 1.5, 250
SPOTS = {"Base White": (0, 0, 0, 0.04), "Fire Red": (0, 0.9, 0.8, 0), "Navy 2": (1, 0.6, 0, 0.1),
         "Gold": (0.1, 0.3, 0.9, 0.1), "High White": (0, 0, 0, 0.02)}  # fmt: skip
PROCESS = {"process cyan": "Cyan", "process magenta": "Magenta", "process yellow": "Yellow", "process black": "Black"}
READ = """
import resource, sys
from pathlib import Path
from setupassist.art.opening import open_plates
for band in open_plates(Path(sys.argv[1]), dpi=float(sys.argv[2])).read(256):
    pass
print(resource.getrusage(resource.RUSAGE_CHILDREN).ru_maxrss)
"""


def separation(name: str, cmyk: tuple[float, ...]) -> Array:
    full = Dictionary(FunctionType=2, Domain=[0, 1], C0=[0, 0, 0, 0], C1=list(cmyk), N=1)
    return Array([Name.Separation, Name(f"/{name}"), Name.DeviceCMYK, full])


def tone(rows: int, columns: int) -> np.ndarray:
    y, x = np.mgrid[:rows, :columns].astype(np.float32)
    return np.clip(127 + 90 * np.sin(x / 17 + y / 53) * np.cos(y / 29), 0, 255).astype(np.uint8)


@pytest.fixture(scope="module")
def page(tmp_path_factory: pytest.TempPathFactory) -> Path:
    rng = np.random.default_rng(1)
    document = pikepdf.new()
    document.add_blank_page(page_size=(WIDTH, HEIGHT))
    page = document.pages[0].obj
    keys = dict(zip(SPOTS, "ABCDE", strict=True))
    spaces = Dictionary({f"/{keys[name]}": separation(name, cmyk) for name, cmyk in SPOTS.items()})
    rows, columns = 2400 // PART, 3000 // PART
    one = tone(rows, columns)
    four = np.dstack([one, one[::-1], one[:, ::-1], one // 4])

    def image(samples: np.ndarray, space: object) -> pikepdf.Object:
        data = zlib.compress(samples.tobytes(), 1)
        return document.make_indirect(
            Stream(document, data, Type=Name.XObject, Subtype=Name.Image, Width=columns, Height=rows,
                   BitsPerComponent=8, Filter=Name.FlateDecode, ColorSpace=space)
        )  # fmt: skip

    font = Dictionary(Type=Name.Font, Subtype=Name.Type1, BaseFont=Name("/Times-Roman"))
    page.Resources = Dictionary(
        ColorSpace=spaces, Font=Dictionary(F=font),
        XObject=Dictionary(S=image(one, spaces.B), C=image(four, Name.DeviceCMYK)),
    )  # fmt: skip
    margin = 0.07 * WIDTH
    parts = [f"/A cs 1 scn {margin} {margin} {WIDTH - 2 * margin} {HEIGHT - 2 * margin} re f"]
    for index in range(PATHS):
        x, y = rng.uniform(margin, WIDTH - margin), rng.uniform(0.4 * HEIGHT, 0.9 * HEIGHT)
        size, corners = rng.uniform(3, 25), int(rng.integers(5, 12))
        angles = 2 * np.pi * np.arange(corners) / corners
        points = [(x + size * (0.5 + k % 2 / 2) * np.cos(a), y + size * (0.5 + k % 2 / 2) * np.sin(a))
                  for k, a in enumerate(angles)]  # fmt: skip
        drawn = " l ".join(f"{px:.2f} {py:.2f}" for px, py in points[1:])
        paint = "b" if index % 7 == 0 else "f"
        parts.append(f"/{'BCDE'[index % 4]} cs {rng.uniform(0.2, 1):.3f} scn {points[0][0]:.2f} {points[0][1]:.2f} m "
                     f"{drawn} l {paint}")  # fmt: skip
    parts.append(f"/C cs 1 scn BT /F 10 Tf 1 0 0 1 {margin:.1f} {0.38 * HEIGHT:.1f} Tm 12 TL")
    parts += ["(" + "The quick brown fox jumps over the lazy dog 0123456789 " * 2 + ") '"] * (30 // PART)
    parts.append(f"ET q {0.35 * WIDTH} 0 0 {0.24 * HEIGHT} {0.1 * WIDTH} {0.64 * HEIGHT} cm /S Do Q "
                 f"q {0.35 * WIDTH} 0 0 {0.24 * HEIGHT} {0.52 * WIDTH} {0.5 * HEIGHT} cm /C Do Q")  # fmt: skip
    page.Contents = document.make_stream("\n".join(parts).encode())
    path = tmp_path_factory.mktemp("page") / "page.pdf"
    document.save(path)
    return path


def test_plates_of_a_page(page: Path, capsys: pytest.CaptureFixture[str]) -> None:
    begun = time.perf_counter()
    plates = open_plates(page, dpi=DPI)
    looked = time.perf_counter() - begun
    ink = np.zeros(len(plates.plates))
    for band in plates.read(256):
        ink += [float(rows.sum(dtype=np.int64)) for rows in band]
    ours = time.perf_counter() - begun
    coverage = dict(zip((plate.name for plate in plates.plates), ink / 255, strict=True))
    assert set(coverage) == {*SPOTS, *PROCESS}
    again = time.perf_counter()
    for _ in plates.read(256):
        pass
    second = time.perf_counter() - again
    done = subprocess.run([sys.executable, "-c", READ, str(page), str(DPI)], capture_output=True, text=True, check=True)
    peak = int(done.stdout) / 1024
    assert peak < MOST_MB
    told = (
        f"\nPDF, {len(coverage)} inks at {DPI} dpi: {ours:.2f} s (found in {looked:.2f} s), read again {second:.2f} s"
    )
    told += f", {peak:.0f} MB a process"
    program = shutil.which("gs")
    if program is not None:
        told += beside(program, page, coverage, ours)
    with capsys.disabled():
        print(told)


def beside(program: str, page: Path, coverage: dict[str, float], ours: float) -> str:
    """Holds the plates' ink against the interpreter's, and tells both times."""
    out = page.parent / "separations.tif"
    command = [program, "-q", "-dNOPAUSE", "-dBATCH", "-dSAFER", "-sDEVICE=tiffsep", f"-r{DPI}", f"-sOutputFile={out}"]
    begun = time.perf_counter()
    subprocess.run([*command, str(page)], check=True, capture_output=True)
    theirs = time.perf_counter() - begun
    Image.MAX_IMAGE_PIXELS = None
    for name, ink in coverage.items():
        with Image.open(page.parent / f"separations({PROCESS.get(name, name)}).tif") as picture:
            truth = float((255 - np.asarray(picture.convert("L"))).sum(dtype=np.int64)) / 255
        # without smoothing every pixel that a path touches counts
        assert ink == pytest.approx(truth, rel=0.1 if FULL else 0.2)
    if FULL:
        assert ours <= MOST_RATIO * theirs
    return f"; the interpreter {theirs:.2f} s, so {ours / theirs:.2f} times"
