"""Woven mesh against standards' and weavers' tables."""

from __future__ import annotations

import pytest

from setupassist.quantities import per_cm, per_inch
from setupassist.trade import mesh

pytestmark = pytest.mark.outside

# Test-sieve cloth: ISO 3310-1 nominal wires (the series of ASTM E11-17): number, aperture µm, wire µm. The standard
# gives these two; pitch, count and open area (whole digits as shown) follow by ISO 9044's definitions and were
# computed by hand: pitch µm, 25 400 ÷ pitch, threads per cm, open area %.
SIEVES = [
    (18, 1000, 560, 1560, 16.3, 6.41, 41.1),
    (20, 850, 500, 1350, 18.8, 7.41, 39.6),
    (25, 710, 450, 1160, 21.9, 8.62, 37.5),
    (30, 600, 400, 1000, 25.4, 10.00, 36.0),
    (35, 500, 315, 815, 31.2, 12.27, 37.6),
    (40, 425, 280, 705, 36.0, 14.18, 36.3),
    (45, 355, 224, 579, 43.9, 17.27, 37.6),
    (50, 300, 200, 500, 50.8, 20.00, 36.0),
    (60, 250, 160, 410, 62.0, 24.39, 37.2),
    (70, 212, 140, 352, 72.2, 28.41, 36.3),
    (80, 180, 125, 305, 83.3, 32.79, 34.8),
    (100, 150, 100, 250, 101.6, 40.00, 36.0),
    (120, 125, 90, 215, 118.1, 46.51, 33.8),
    (140, 106, 71, 177, 143.5, 56.50, 35.9),
    (170, 90, 63, 153, 166.0, 65.36, 34.6),
    (200, 75, 50, 125, 203.2, 80.00, 36.0),
    (230, 63, 45, 108, 235.2, 92.59, 34.0),
    (270, 53, 36, 89, 285.4, 112.36, 35.5),
    (325, 45, 32, 77, 329.9, 129.87, 34.2),
    (400, 38, 30, 68, 373.5, 147.06, 31.2),
    (450, 32, 28, 60, 423.3, 166.67, 28.4),
    (500, 25, 25, 50, 508.0, 200.00, 25.0),
    (635, 20, 20, 40, 635.0, 250.00, 25.0),
]


@pytest.mark.parametrize("row", SIEVES, ids=lambda row: f"No. {row[0]}")
def test_sieve_row(row: tuple[float, ...]) -> None:
    number, aperture, wire, pitch, per_inch_, per_cm_, open_percent = row
    count = mesh.count_per_cm(aperture + wire)
    cloth = mesh.woven(count, wire)
    assert mesh.pitch_um(count) == pytest.approx(pitch)
    assert cloth.opening_um == pytest.approx(aperture)
    assert round(count, 2) == per_cm_
    assert round(per_inch(count), 1) == per_inch_
    assert round(100 * cloth.open_area, 1) == pytest.approx(open_percent)
    if 45 <= number <= 325:  # the sieve's number is a label: within 6 % of the count in this range
        assert per_inch(count) == pytest.approx(number, rel=0.06)


# Polyester rows of a mesh weaver's public specification page, labelled 90/cm but worked out from 225/in; the
# fabric thickness is its measured one: thread µm, thickness µm, opening µm, open area %, volume cm³/m².
WEAVER = [(40, 59, 73, 42, 25), (48, 72, 65, 33, 24), (54, 84, 59, 27, 23)]


@pytest.mark.parametrize(("thread", "thickness", "opening", "open_percent", "volume"), WEAVER)
def test_weavers_row(thread: float, thickness: float, opening: float, open_percent: float, volume: float) -> None:
    cloth = mesh.woven(per_cm(225), thread, measured_thickness_um=thickness)
    assert round(cloth.opening_um) == opening
    assert round(100 * cloth.open_area) == open_percent
    assert round(cloth.volume_cm3_m2) == volume


@pytest.mark.parametrize(("thread", "thickness", "opening", "open_percent", "volume"), WEAVER)
def test_assumed_thickness_lies_near_the_weavers(
    thread: float, thickness: float, opening: float, open_percent: float, volume: float
) -> None:
    cloth = mesh.woven(per_cm(225), thread)
    assert cloth.thickness_um == pytest.approx(thickness, rel=0.05)
    assert cloth.volume_cm3_m2 == pytest.approx(volume, rel=0.07)


def test_measured_thickness_of_a_thin_thread_mesh() -> None:
    """305/in with 40 µm thread: thickness 63 µm and 25 % open (Screen Printing, June 2009).

    The formula gives 27 %: threads flatten, so a data sheet lies at or below it, never above.
    """
    cloth = mesh.woven(per_cm(305), 40)
    assert cloth.thickness_um == pytest.approx(63, rel=0.05)
    assert round(100 * cloth.open_area) == 27
    assert 0.25 <= cloth.open_area <= 0.25 * 1.1


def test_measured_openings_of_two_fabrics() -> None:
    """AGH University (Kraków), diffraction laboratory page on screen fabrics."""
    plain = mesh.woven(per_cm(150), 51, measured_opening_um=118)
    assert mesh.pitch_um(per_cm(150)) == pytest.approx(169.3, abs=0.05)
    assert round(100 * plain.open_area) == 49
    twill = mesh.woven(190, 31, measured_opening_um=16)
    assert round(100 * twill.open_area) == 9
    assert mesh.opening_um(190, 31) == pytest.approx(21.6, abs=0.05)  # which is why a measured opening wins


def test_metric_counts_per_inch() -> None:
    """Screen Printing, April 2003: 120/cm is 304.8 and 155/cm 393.7 threads per inch."""
    assert per_inch(120) == pytest.approx(304.8)
    assert per_inch(155) == pytest.approx(393.7)


def test_rulings() -> None:
    """Screen Printing, April 2003: 65 lines per inch want 227.5 or 260 threads; a weaver's halftone page: 150/cm."""
    assert mesh.woven(per_cm(227.5), 40).ruling_per_cm(3.5) == pytest.approx(per_cm(65))
    assert mesh.woven(per_cm(260), 40).ruling_per_cm(4) == pytest.approx(per_cm(65))
    cloth = mesh.woven(150, 31)
    assert cloth.ruling_per_cm(3.75) == pytest.approx(40)
    assert cloth.ruling_per_cm(5) == pytest.approx(30)


def test_stencil_over_mesh() -> None:
    """A trade article: 110/in with 80 µm thread and 20 % over mesh is about 23 µm, so the mesh is 115 µm thick.

    The assumed thickness (1.5 threads) gives 24 µm.
    """
    assert mesh.stencil_over_mesh_um(115, 0.20) == pytest.approx(23)
    assert mesh.stencil_over_mesh_um(mesh.woven(per_cm(110), 80).thickness_um, 0.20) == pytest.approx(23, rel=0.05)
