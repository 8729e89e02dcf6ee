"""Pages that are nothing but images: their plates are the images' own pixels, two-level where those are."""

from __future__ import annotations

import tracemalloc
import zlib

import numpy as np
import pytest
from pikepdf import Array, Dictionary, Name

from setupassist.art.opening import open_plates
from setupassist.art.pdf_reading import Reading


@pytest.fixture
def dots():
    return (np.random.default_rng(4).random((150, 90)) > 0.6).astype(int)


def opened(pdf, content, images, **entries):
    """A page of 72 x 120 points, so that 90 x 150 pixels are 90 dpi."""
    pdf.page(content, size=(72, 120), XObject=images, **entries)
    return open_plates(pdf.save())


FULL = "72 0 0 120 0 0 cm"


def test_two_level_plates_of_stencils_that_overprint(pdf, dots, whole_plates):
    """One stencil an ink, as screened plates are exported: dots stay dots of two levels at 90 dpi."""
    other = 1 - dots
    images = {"A": pdf.image(dots, None, 1, ImageMask=True), "B": pdf.image(other, None, 1, ImageMask=True)}
    plates = opened(pdf, f"/over0 gs q /R cs 1 scn {FULL} /A Do Q q /B cs 1 scn {FULL} /B Do Q", images)
    assert [(p.name, p.two_level, p.dpi, p.rows, p.columns) for p in plates.plates] == [
        ("Fire Red", True, 90.0, 150, 90),
        ("Navy 2", True, 90.0, 150, 90),
    ]
    ink = whole_plates(plates)
    # a stencil marks where its samples are 0
    assert np.array_equal(ink["Fire Red"] > 0, dots == 0)
    assert np.array_equal(ink["Navy 2"] > 0, other == 0)


def test_a_stencil_that_does_not_overprint_knocks_out(pdf, dots, whole_plates):
    images = {"A": pdf.image(dots, None, 1, ImageMask=True, Decode=[1, 0])}
    plates = opened(pdf, f"/B cs 1 scn 0 0 72 120 re f q /R cs 1 scn {FULL} /A Do Q", images)
    ink = whole_plates(plates)
    assert np.array_equal(ink["Fire Red"], dots * 255)
    assert np.array_equal(ink["Navy 2"], (1 - dots) * 255)


def test_device_n_of_a_whole_page_in_any_compression(pdf, whole_plates):
    picture = np.random.default_rng(1).integers(0, 256, (150, 90, 2)).astype(np.uint8)
    packed = pdf.stream(
        zlib.compress(picture.tobytes()), Type=Name.XObject, Subtype=Name.Image, Width=90, Height=150,
        BitsPerComponent=8, ColorSpace=pdf.spaces.RB, Filter=Name.FlateDecode,
    )  # fmt: skip
    ink = whole_plates(opened(pdf, f"q {FULL} /A Do Q", {"A": packed}))
    assert np.array_equal(ink["Fire Red"], picture[..., 0])
    assert np.array_equal(ink["Navy 2"], picture[..., 1])


def test_a_plate_of_one_image_is_never_whole_in_memory(pdf):
    """Of nine megabytes a plate, with a fill below that the image knocks out."""
    ramp = np.add.outer(np.arange(3000), np.arange(3000)) // 16 % 256
    picture = np.stack([ramp, 255 - ramp], axis=2).astype(np.uint8)
    packed = pdf.stream(
        zlib.compress(picture.tobytes()), Type=Name.XObject, Subtype=Name.Image, Width=3000, Height=3000,
        BitsPerComponent=8, ColorSpace=pdf.spaces.RB, Filter=Name.FlateDecode,
    )  # fmt: skip
    pdf.page("/R cs 1 scn 0 0 72 72 re f q 72 0 0 72 0 0 cm /A Do Q", XObject={"A": packed})
    native = Reading(pdf.save(), 1, 600).native
    del packed
    for number, ink in enumerate(("Fire Red", "Navy 2")):
        top = 0
        tracemalloc.start()
        try:
            for band in native.bands(ink):
                assert np.array_equal(band, picture[top : top + len(band), :, number])
                top += len(band)
            assert tracemalloc.get_traced_memory()[1] < 8_000_000
        finally:
            tracemalloc.stop()
        assert top == 3000


def test_a_two_level_image_with_a_palette(pdf, dots, whole_plates):
    space = Array([Name.Indexed, pdf.spaces.R, 1, b"\xff\x00"])
    plates = opened(pdf, f"q {FULL} /A Do Q", {"A": pdf.image(dots, space, 1)})
    assert plates.plates[0].two_level
    assert np.array_equal(whole_plates(plates)["Fire Red"], (1 - dots) * 255)


@pytest.mark.parametrize(
    ("matrix", "turned"),
    [
        ("72 0 0 120 0 0", lambda dots: dots),
        ("-72 0 0 120 72 0", lambda dots: dots[:, ::-1]),
        ("72 0 0 -120 0 120", lambda dots: dots[::-1]),
        ("-72 0 0 -120 72 120", lambda dots: dots[::-1, ::-1]),
    ],
)
def test_mirrored_images(pdf, dots, whole_plates, matrix, turned):
    plates = opened(pdf, f"q {matrix} cm /A Do Q", {"A": pdf.image(dots, pdf.spaces.R, 1)})
    assert plates.plates[0].two_level
    assert np.array_equal(whole_plates(plates)["Fire Red"], turned(dots) * 255)


@pytest.mark.parametrize(
    ("content", "entries"),
    [
        (f"q {FULL} /A Do Q 0 0 5 5 re f", {}),
        ("q 60 0 0 120 0 0 cm /A Do Q", {}),
        ("q 0 120 -72 0 72 0 cm /A Do Q", {}),
        (f"/H gs q {FULL} /A Do Q", {"ExtGState": {"H": Dictionary(ca=0.5)}}),
        (f"q {FULL} /A Do Q", {"Rotate": 90}),
        (f"q 0 0 9 9 re W n {FULL} /A Do Q", {}),
    ],
)
def test_anything_else_on_the_page_makes_it_one_to_be_drawn(pdf, dots, content, entries):
    plate = opened(pdf, content, {"A": pdf.image(dots, pdf.spaces.R, 1)}, **entries).plates[0]
    assert (plate.dpi, plate.two_level) == (600, False)


def test_a_resolution_asked_for_is_told_as_not_used(pdf, dots):
    pdf.page(f"q {FULL} /A Do Q", size=(72, 120), XObject={"A": pdf.image(dots, pdf.spaces.R, 1)})
    plates = open_plates(pdf.save(), dpi=300)
    assert plates.plates[0].dpi == 90
    assert any("says 90 dpi itself" in note for note in plates.notes)


def test_a_resolution_that_is_no_whole_number_stays(pdf, dots):
    pdf.page("q 72.1 0 0 120.2 0 0 cm /A Do Q", size=(72.1, 120.2), XObject={"A": pdf.image(dots, pdf.spaces.R, 1)})
    plate = open_plates(pdf.save()).plates[0]
    assert plate.two_level
    assert plate.dpi == pytest.approx(90 * 72 / 72.1)
