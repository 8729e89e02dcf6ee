"""The measure as a whole: boxes, edge cases, laws, stopping."""

from __future__ import annotations

import time
import tracemalloc
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from setupassist.art.plates import Plate, PlateSet
from setupassist.documents.terms import Kind, Role
from setupassist.errors import Cancelled, InputFault
from setupassist.inspection import planes, reading
from setupassist.inspection.survey import measure_plates
from setupassist.words import words_in

MM = 600 / 25.4


def test_boxes_are_exact_to_the_pixel(draw):
    one, two = np.zeros((1000, 900), np.uint8), np.zeros((1000, 900), np.uint8)
    one[101:333, 57:801] = 255
    two[205:914, 43:399] = 255
    measure = measure_plates(draw.plate_set([one, two]))
    assert measure.plates[0].ink_box_mm == pytest.approx((57 / MM, 101 / MM, 744 / MM, 232 / MM))
    assert measure.plates[1].ink_box_mm == pytest.approx((43 / MM, 205 / MM, 356 / MM, 709 / MM))
    assert measure.art.art_box_mm == pytest.approx((43 / MM, 101 / MM, 758 / MM, 813 / MM))
    assert measure.plates[0].coverage == pytest.approx(744 * 232 / (758 * 813))
    assert measure.art.width_mm == pytest.approx(900 / MM)
    assert measure.art.pixels_per_cm == pytest.approx(600 / 2.54)


def test_the_art_box_counts_tone_from_five_percent_and_no_specks(draw):
    art = np.zeros((1000, 1000), np.uint8)
    art[300:600, 300:600] = 255
    art[300:600, 600:700] = 14
    art[300:600, 200:300] = 10
    art[50:54, 50:54] = 255
    box = measure_plates(draw.plate_set([art])).art.art_box_mm
    assert box == pytest.approx((300 / MM, 300 / MM, 400 / MM, 300 / MM))


@pytest.mark.parametrize("shape", [(1, 1), (1, 5000), (5000, 1), (3, 3), (700, 9)])
@pytest.mark.parametrize("level", [0, 255])
def test_the_smallest_plates(draw, shape, level):
    measure = measure_plates(draw.plate_set([np.full(shape, level, np.uint8)] * 2))
    area = np.prod(shape) / MM**2 / 100 if level else 0
    for plate in measure.plates:
        assert plate.ink_area_cm2 == pytest.approx(area)
        assert plate.kind is (Kind.EMPTY if area < 0.01 else Kind.SOLID)
    assert measure.contacts[0].overlap_cm2 == pytest.approx(area)
    assert measure.art.art_box_mm == (pytest.approx((0, 0, shape[1] / MM, shape[0] / MM)) if level else None)


def test_all_ink(draw):
    measure = measure_plates(draw.plate_set([np.full((1100, 700), 255, np.uint8)]))
    plate = measure.plates[0]
    assert plate.kind is Kind.SOLID
    assert plate.coverage == 1
    assert plate.ink_area_cm2 == pytest.approx(1100 * 700 / MM**2 / 100)
    assert measure.findings == ()


def scene(draw, on_paper):
    dots = draw.screened(700, 700, lpi=45, angle=22.5, tone=0.4)
    ramp = np.broadcast_to(np.linspace(30, 220, 500).astype(np.uint8), (400, 500))
    return [
        on_paper(1300, 1100, (200, 100, dots), (1000, 500, np.full((200, 300), 255, np.uint8))),
        draw.disc(1300, 1100, 500, 600, 300),
        on_paper(1300, 1100, (300, 400, ramp)),
        255 - draw.disc(1300, 1100, 500, 600, 303),
    ]


@pytest.mark.parametrize("rows", [1, 40, 511, 4000])
def test_the_reader_may_choose_its_bands(draw, on_paper, rows):
    plates = draw.plate_set(scene(draw, on_paper))
    odd = replace(plates, read=lambda _: plates.read(rows))
    assert measure_plates(odd) == measure_plates(plates)


@pytest.mark.parametrize("rows", [1, 48, 300])
def test_the_band_height_does_not_matter(draw, on_paper, monkeypatch, rows):
    plates = draw.plate_set(scene(draw, on_paper))
    whole = measure_plates(plates)
    monkeypatch.setattr(reading, "BAND_BYTES", rows * 1100 * 4)
    assert measure_plates(plates) == whole


def test_the_order_of_the_plates_does_not_matter(draw, on_paper):
    art = scene(draw, on_paper)
    names = ["a", "b", "c", "d"]
    straight = measure_plates(draw.plate_set(art, names=names))
    turned = measure_plates(draw.plate_set(art[::-1], names=names[::-1]))
    for name in names:
        assert turned.plate(name) == straight.plate(name)
    other = {frozenset(c.plates): c for c in turned.contacts}
    for contact in straight.contacts:
        twin = other[frozenset(contact.plates)]
        assert twin.overlap_cm2 == pytest.approx(contact.overlap_cm2, rel=1e-5)
        assert twin.shared_edge_cm == pytest.approx(contact.shared_edge_cm, rel=1e-5)


@settings(max_examples=20, deadline=None)
@given(down=st.integers(0, 300), right=st.integers(0, 300), seed=st.integers(0, 9))
def test_moving_the_art_keeps_its_area(draw, down, right, seed):
    grain = np.random.default_rng(seed).integers(0, 256, (90, 120)).astype(np.uint8)
    art = np.zeros((400, 430), np.uint8)
    art[down : down + 90, right : right + 120] = grain[: 400 - down, : 430 - right]
    plate = measure_plates(draw.plate_set([art])).plates[0]
    assert plate.ink_area_cm2 == pytest.approx(art.sum(dtype=np.int64) / 255 / MM**2 / 100, rel=1e-9)


def test_roles_and_labs_are_carried_along(draw):
    art = [np.full((50, 50), 255, np.uint8)] * 3
    plates = draw.plate_set(art, names=["white", "red", "gold"])
    measure = measure_plates(plates, base="white", roles={"gold": Role.METALLIC}, labs={"red": (50.0, 60.0, 40.0)})
    assert [plate.role for plate in measure.plates] == [Role.BASE, Role.COLOUR, Role.METALLIC]
    assert [plate.lab for plate in measure.plates] == [None, (50.0, 60.0, 40.0), None]
    with pytest.raises(InputFault, match="no plate is called 'whitte'"):
        measure_plates(plates, base="whitte")


def test_no_resolution_is_refused(draw):
    told = "no resolution in the file; tell the resolution: --dpi in the command, 'source' in the job"
    with pytest.raises(InputFault, match=told) as caught:
        measure_plates(draw.plate_set([np.zeros((9, 9), np.uint8)], dpi=None))
    spanish = "indicar la resolución: --dpi en el comando, 'source' en el trabajo"
    assert words_in("es")(caught.value.sentences()[0]).endswith(spanish)


def test_progress_rises_to_one_and_stopping_stops(draw):
    told: list[float] = []
    plates = draw.plate_set([np.zeros((3000, 300), np.uint8)])
    measure_plates(plates, progress=told.append)
    assert told == sorted(told)
    assert told[-1] == 1
    assert len(told) > 3
    with pytest.raises(Cancelled):
        measure_plates(plates, stop=lambda: True)


def test_memory_grows_by_packed_bits_with_height(draw):
    """Ten times the rows: what stays is a bit a pixel and small maps of cells, under a third of the pixels added."""

    def peak(rows):
        def read(height):
            for top in range(0, rows, height):
                yield (np.full((min(height, rows - top), 600), 255, np.uint8),) * 2

        plates = tuple(Plate(name, "", rows, 600, 600, True) for name in "ab")
        tracemalloc.start()
        try:
            measure_plates(PlateSet("tall", plates, read))
            return tracemalloc.get_traced_memory()[1]
        finally:
            tracemalloc.stop()

    peak(600)
    assert peak(60_000) - peak(6_000) < 2 * 54_000 * 600 / 3


def test_many_planes_are_kept_in_a_file(draw, on_paper, monkeypatch):
    plates = draw.plate_set(scene(draw, on_paper))
    whole = measure_plates(plates)
    made: list[int] = []

    class Counted(planes.mmap.mmap):
        def __new__(cls, *given):
            made.append(1)
            return super().__new__(cls, *given)

    monkeypatch.setattr(planes, "MOST_BYTES_IN_MEMORY", 0)
    monkeypatch.setattr(planes.mmap, "mmap", Counted)
    assert measure_plates(plates) == whole
    assert len(made) >= len(plates.plates)


def test_what_is_not_there_is_null(draw):
    plate = measure_plates(draw.plate_set([np.full((300, 300), 255, np.uint8)])).plates[0]
    assert plate.finest_line_mm is plate.finest_gap_mm is plate.register_offset_mm is plate.tone_cm2 is None
    assert plate.specks == 0


@pytest.mark.parametrize(
    ("count", "columns", "rows", "dpi", "taken"),
    [
        (24, 21_260, 18_898, 1200, True),  # 400 x 450 mm, on its side
        (64, 8_400, 9_600, 600, True),
        (1, 40_000, 29_000, 2400, True),
        (64, 40_000, 2_500, 600, True),
        (12, 50_000, 10_000, 20_000, True),
        (12, 240_000, 2_000, 20_000, False),
    ],
)
def test_sets_too_wide_for_memory_are_refused_before_they_are_read(count, columns, rows, dpi, taken):
    def read(band_rows):
        raise InterruptedError(f"read in bands of {band_rows}")
        yield

    plates = tuple(Plate(f"ink {number}", "a.png", rows, columns, dpi, False) for number in range(count))
    start = time.perf_counter()
    with pytest.raises(InterruptedError if taken else InputFault, match="read in bands" if taken else "too wide"):
        measure_plates(PlateSet("set", plates, read))
    assert time.perf_counter() - start < 5


def test_packed_and_plain_rows_measure_alike(draw):
    """Widths that fill no byte, ink in the last column."""
    art = [draw.screened(301, 333, tone=0.3), draw.disc(301, 333, 320, 150, 90), 255 - draw.lettering(301, 333)]
    plates = draw.plate_set(art)
    plain = replace(plates, plates=tuple(replace(plate, two_level=False) for plate in plates.plates))
    assert measure_plates(plates) == measure_plates(plain)
