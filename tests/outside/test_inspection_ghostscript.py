"""Line widths, gaps, choke, offsets and hairlines of plates drawn by Ghostscript, a general-purpose interpreter.

Source of each truth: the PostScript program that was drawn (Debian package ghostscript), in millimetres; the
interpreter's own scan conversion, with edges smoothed over 4 x 4 parts of a pixel (``GraphicsAlphaBits``), makes the
pixels.
"""

from __future__ import annotations

import subprocess
from pathlib import Path

import numpy as np
import pytest
from PIL import Image

from setupassist.art.plates import Plate, PlateSet
from setupassist.inspection.survey import measure_plates

pytestmark = pytest.mark.outside

PAGE_MM, DPI = 70.0, 600
PIXEL_MM = 25.4 / DPI
POINTS = 72 / 25.4
MARK = """
gsave {x} {y} translate 0.3 setlinewidth 0 setlinecap
newpath 0 0 2.5 0 360 arc stroke
newpath -4 0 moveto 4 0 lineto stroke newpath 0 -4 moveto 0 4 lineto stroke
grestore
"""


def drawn(program: str, folder: Path, programs: dict[str, str]) -> PlateSet:
    """A set of plates, one for each PostScript program; lengths in it are mm from the lower left corner."""
    arrays, plates = [], []
    pixels = round(PAGE_MM / PIXEL_MM)
    for name, said in programs.items():
        source, picture = folder / f"{name}.ps", folder / f"{name}.png"
        source.write_text(f"{POINTS} {POINTS} scale 0 setgray\n{said}\nshowpage\n")
        command = [program, "-q", "-dNOPAUSE", "-dBATCH", "-dSAFER", "-sDEVICE=pnggray", f"-r{DPI}"]
        command += ["-dGraphicsAlphaBits=4", f"-g{pixels}x{pixels}", f"-sOutputFile={picture}", str(source)]
        subprocess.run(command, check=True, capture_output=True, timeout=60)
        with Image.open(picture) as image:
            arrays.append(255 - np.asarray(image))
        plates.append(Plate(name, picture.name, pixels, pixels, DPI, two_level=False))

    def read(rows: int):
        for top in range(0, pixels, rows):
            yield tuple(array[top : top + rows] for array in arrays)

    return PlateSet("drawn by Ghostscript", tuple(plates), read)


@pytest.fixture
def draw(reference_program, tmp_path):
    program = reference_program("gs", "ghostscript")
    return lambda **programs: drawn(program, tmp_path, {name.replace("_", " "): p for name, p in programs.items()})


def turned(angle: float, said: str) -> str:
    """Drawn turned by ``angle`` about the middle of the page."""
    return f"gsave 35 35 translate {angle} rotate {said} grestore"


@pytest.mark.parametrize("angle", [0, 11, 30, 45, 71, 90])
@pytest.mark.parametrize("width", [0.12, 0.3, 0.8, 2.0])
def test_a_stroke_has_the_width_it_was_drawn_with(draw, angle, width):
    block = "-25 -30 20 12 rectfill"
    line = f"{width} setlinewidth newpath -22 8 moveto 22 8 lineto stroke"
    plate = measure_plates(draw(key=turned(angle, f"{block} {line}"))).plates[0]
    assert plate.finest_line_mm == pytest.approx(width, abs=max(1.0 * PIXEL_MM, 0.04 * width))
    x, y = plate.finest_line_places_mm[0]
    turn = np.deg2rad(angle)
    along, across = (x - 35) * np.cos(turn) - (y - 35) * np.sin(turn), (x - 35) * np.sin(turn) + (y - 35) * np.cos(turn)
    assert abs(along) < 22
    assert across == pytest.approx(-8, abs=0.6 + width / 2)


@pytest.mark.parametrize("angle", [0, 20, 45, 77])
@pytest.mark.parametrize("gap", [0.12, 0.4, 1.2])
def test_a_gap_between_blocks(draw, angle, gap):
    blocks = f"-20 {gap / 2} 40 15 rectfill -20 {-15 - gap / 2} 40 15 rectfill"
    plate = measure_plates(draw(key=turned(angle, blocks))).plates[0]
    assert plate.finest_gap_mm == pytest.approx(gap, abs=max(1.0 * PIXEL_MM, 0.04 * gap))
    assert plate.finest_line_mm is None


@pytest.mark.parametrize("angle", [0, 33, 60])
@pytest.mark.parametrize("gap", [0.08, 0.2])
def test_a_hairline_between_two_inks(draw, angle, gap):
    upper, lower = f"-20 {gap / 2} 40 15 rectfill", f"-20 {-15 - gap / 2} 40 15 rectfill"
    contact = measure_plates(draw(red=turned(angle, upper), blue=turned(angle, lower))).contacts[0]
    assert contact.hairline_cm == pytest.approx(4.0, rel=0.04)
    assert contact.hairline_mm == pytest.approx(gap, abs=1.5 * PIXEL_MM)  # soft edges are ink already


@pytest.mark.parametrize("choke", [-0.3, 0.0, 0.2, 0.35, 0.8])
def test_a_base_is_drawn_in_by_what_its_ellipse_is_smaller(draw, choke):
    disc = "newpath 35 35 {r} 0 360 arc fill"
    found = measure_plates(draw(white_base=disc.format(r=20 - choke), red=disc.format(r=20))).chokes[0]
    assert found.median_mm == pytest.approx(choke, abs=0.8 * PIXEL_MM)
    ring = np.pi * ((20 - choke) ** 2 - 20**2)
    assert found.peek_out_mm2 == pytest.approx(max(0.0, ring), rel=0.03, abs=0.5)
    assert found.peek_out_mm == pytest.approx(max(0.0, -choke), abs=1.5 * PIXEL_MM)


@pytest.mark.parametrize(("dx", "dy"), [(0.1, 0.0), (-0.23, 0.31), (0.5, -0.05), (1.7, 1.1)])
def test_marks_tell_how_far_a_plate_lies_off(draw, dx, dy):
    def plate(right: float, up: float, art: str) -> str:
        marks = "".join(MARK.format(x=35, y=y) for y in (6, 64))
        return f"gsave {right} {up} translate {marks} {art} grestore"

    plates = draw(
        white=plate(0, 0, "20 20 30 30 rectfill"),
        red=plate(dx, dy, "newpath 35 35 14 0 360 arc fill"),
        blue=plate(0, 0, "newpath 30 30 6 0 360 arc fill"),
    )
    measure = measure_plates(plates)
    assert measure.plate("red").register_offset_mm == pytest.approx((-dx, dy), abs=0.5 * PIXEL_MM)
    assert measure.plate("blue").register_offset_mm == pytest.approx((0, 0), abs=0.1 * PIXEL_MM)
    assert measure.plate("red").ink_area_cm2 == pytest.approx(np.pi * 1.4**2, rel=0.002)
