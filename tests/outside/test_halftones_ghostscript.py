"""Ruling, angle, kind and tone of halftones made by Ghostscript, a general-purpose PostScript interpreter.

Source of each truth: the interpreter itself (Debian package ghostscript). ``/ActualFrequency`` and ``/ActualAngle``
of the halftone dictionary (PostScript Language Reference, 3rd edition, section 7.4, table 7.5) say which lattice it
really used, as pixels make it round the wish. That angle is counted in device space, where y runs down on a page
image; which way it turns as seen is therefore read from the pixels: the picture repeats after a step along one of
the two candidates, not the other.
"""

from __future__ import annotations

import subprocess
from pathlib import Path

import numpy as np
import pytest
from PIL import Image

from setupassist.art.plates import Plate, PlateSet
from setupassist.documents.terms import Kind
from setupassist.inspection.survey import measure_plates

pytestmark = pytest.mark.outside

ROUND = "{ 180 mul cos exch 180 mul cos add 2 div }"
ELLIPSE = "{ 180 mul cos 0.6 mul exch 180 mul cos add 1.6 div }"
LINE = "{ exch pop 180 mul cos }"
PAGE_MM, ART_MM = 60.0, 50.0
ONE_STEP = 0.005  # a dot cell of a few hundred pixels gives tones in steps of this share at most
POINTS = 72 / 25.4

PROGRAM = """
{{}} settransfer
<< /HalftoneType 1 /Frequency {lpi} /Angle {angle} /SpotFunction {spot} /AccurateScreens true
   /ActualFrequency 0 /ActualAngle 0 >> sethalftone
currenthalftone dup /ActualFrequency get =string cvs print ( ) print /ActualAngle get =string cvs print flush
{gray} setgray {at} {at} {side} {side} rectfill
showpage
"""


def print_page(program: str, folder: Path, case: dict) -> tuple[np.ndarray, float, float]:
    """Ink (True) of a page with one screened square; ruling and device angle that were really used."""
    source, picture = folder / "page.ps", folder / "page.img"
    at, side = (PAGE_MM - ART_MM) / 2 * POINTS, ART_MM * POINTS
    source.write_text(PROGRAM.format(**case, gray=1 - case["tone"], at=at, side=side))
    dpi = case["dpi"]
    pixels = round(PAGE_MM / 25.4 * dpi)
    command = [program, "-q", "-dNOPAUSE", "-dBATCH", "-dSAFER", f"-sDEVICE={case['device']}", f"-r{dpi}"]
    command += [f"-g{pixels}x{pixels}", f"-sOutputFile={picture}", str(source)]
    told = subprocess.run(command, check=True, capture_output=True, text=True, timeout=60).stdout.split()
    with Image.open(picture) as image:
        assert image.mode == "1"
        ink = ~np.asarray(image)
    return ink, float(told[0]), float(told[1])


def unlike_after(ink: np.ndarray, dx: int, dy: int) -> float:
    """Share of pixels in the middle of the page that differ after a step (dx right, dy down)."""
    third = len(ink) // 3
    here = ink[third : 2 * third, third : 2 * third]
    there = ink[third + dy : 2 * third + dy, third + dx : 2 * third + dx]
    return float((here != there).mean())


def seen_angle(ink: np.ndarray, dpi: int, lpi: float, device_angle: float) -> float:
    """Angle counter-clockwise as seen, in [0, 90): of the two senses, the one after whose steps the page repeats."""
    best: dict[int, float] = {}
    for sense in (1, -1):
        turn = np.deg2rad(sense * device_angle)
        steps = [k * dpi / lpi * np.array([np.cos(turn), -np.sin(turn)]) for k in range(1, 13)]
        best[sense] = min(unlike_after(ink, *(int(v) for v in np.round(step))) for step in steps)
    assert max(best.values()) > 3 * min(best.values()), "the page must tell the two senses apart"
    return (min(best, key=lambda sense: best[sense]) * device_angle) % 90


CASES = [
    {"device": "tiffg4", "dpi": 600, "lpi": 45, "angle": 22.5, "spot": ROUND, "tone": 0.4},
    {"device": "pngmono", "dpi": 600, "lpi": 55, "angle": 61, "spot": ELLIPSE, "tone": 0.3},
    {"device": "pngmono", "dpi": 600, "lpi": 35, "angle": 15, "spot": LINE, "tone": 0.5},
    {"device": "pngmono", "dpi": 600, "lpi": 65, "angle": 75, "spot": ROUND, "tone": 0.7},
    {"device": "tiffg4", "dpi": 600, "lpi": 85, "angle": 10, "spot": ROUND, "tone": 0.2},
    {"device": "pngmono", "dpi": 300, "lpi": 45, "angle": 52.5, "spot": ELLIPSE, "tone": 0.5},
    {"device": "tiffg4", "dpi": 1200, "lpi": 65, "angle": 22.5, "spot": ROUND, "tone": 0.1},
]


@pytest.mark.parametrize("case", CASES, ids=lambda case: f"{case['dpi']}dpi-{case['lpi']}lpi-{case['angle']}deg")
def test_ruling_angle_and_tone_of_a_page(reference_program, tmp_path, case):
    program = reference_program("gs", "ghostscript")
    dpi = case["dpi"]
    ink, lpi, device_angle = print_page(program, tmp_path, case)
    assert lpi == pytest.approx(case["lpi"], rel=0.03)
    angle = seen_angle(ink, dpi, lpi, device_angle)
    levels = np.where(ink, 255, 0).astype(np.uint8)
    page = PlateSet("page", (Plate("ink", "page", *ink.shape, dpi, True),), lambda rows: iter(bands(levels, rows)))
    plate = measure_plates(page).plates[0]
    square_cm2 = (ART_MM / 10) ** 2
    assert plate.kind is Kind.HALFTONE
    assert plate.halftone is not None
    assert plate.halftone.lines_per_inch == pytest.approx(lpi, rel=0.012)
    assert abs((plate.halftone.angle_deg - angle + 45) % 90 - 45) < 0.8
    assert plate.ink_area_cm2 == pytest.approx(case["tone"] * square_cm2, abs=ONE_STEP * square_cm2)
    assert plate.ink_box_mm is not None
    assert plate.ink_box_mm[2:] == pytest.approx((ART_MM, ART_MM), abs=0.6)


def bands(levels: np.ndarray, rows: int) -> list[tuple[np.ndarray]]:
    """The page in bands of rows, as a reader of plates hands them over."""
    return [(levels[top : top + rows],) for top in range(0, len(levels), rows)]
