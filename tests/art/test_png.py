"""PNG of every depth and kind reads back as it was drawn."""

import struct

import numpy as np
import pytest
from PIL import Image

from setupassist.art.opening import open_plates

GREY, COLOUR, PALETTE, GREY_ALPHA, COLOUR_ALPHA = 0, 2, 3, 4, 6


@pytest.mark.parametrize("interlaced", [False, True])
@pytest.mark.parametrize("bits", [1, 2, 4, 8, 16])
@pytest.mark.parametrize("shape", [(61, 83), (1, 1), (3, 200), (70, 2)])
def test_grey_of_every_depth(*, tmp_path, write_png, whole, drawn, bits, interlaced, shape):
    top = (1 << bits) - 1
    values = np.rint(drawn(*shape) / 255 * top).astype(np.uint16)
    if bits == 16:
        values ^= np.arange(values.size, dtype=np.uint16).reshape(shape) & 0x3F
    path = write_png(tmp_path / "a.png", values[..., None], bits=bits, kind=GREY, interlaced=interlaced)
    plates = open_plates(path)
    truth = np.rint(255 * (1 - values / top)).astype(np.uint8)
    assert np.array_equal(whole(plates)[0], truth)
    assert plates.plates[0].two_level == (bits == 1)
    assert np.array_equal(whole(open_plates(path, light_is_ink=True))[0], 255 - truth)


@pytest.mark.parametrize("interlaced", [False, True])
@pytest.mark.parametrize("bits", [8, 16])
@pytest.mark.parametrize("kind", [COLOUR, COLOUR_ALPHA, GREY_ALPHA])
def test_colour_is_luminance_and_what_is_see_through_bears_no_ink(
    *, tmp_path, write_png, whole, drawn, bits, kind, interlaced
):
    count = {COLOUR: 3, COLOUR_ALPHA: 4, GREY_ALPHA: 2}[kind]
    eight = np.stack([drawn(47, 53, seed) for seed in range(count)], axis=-1).astype(np.uint16)
    samples = eight * 257 if bits == 16 else eight
    path = write_png(tmp_path / "a.png", samples, bits=bits, kind=kind, interlaced=interlaced)
    plates = open_plates(path)
    weights = (1.0,) if kind == GREY_ALPHA else (0.299, 0.587, 0.114)
    alpha = 1.0 if kind == COLOUR else eight[..., -1] / 255
    truth = (255 - sum(weight * eight[..., index] for index, weight in enumerate(weights))) * alpha
    assert np.abs(whole(plates)[0] - truth).max() <= (0.501 if kind != COLOUR_ALPHA else 1.001)
    assert any("see-through" in note for note in plates.notes) == (kind != COLOUR)
    assert any("luminance" in note for note in plates.notes) == (kind != GREY_ALPHA)


@pytest.mark.parametrize("bits", [1, 2, 4, 8])
def test_palette_is_read_by_the_luminance_of_its_colours(tmp_path, write_png, whole, bits):
    rng = np.random.default_rng(bits)
    colours = rng.integers(0, 256, (1 << bits, 3), dtype=np.uint8)
    values = rng.integers(0, 1 << bits, (40, 37), dtype=np.uint8)
    more = [(b"PLTE", colours.tobytes())]
    path = write_png(tmp_path / "a.png", values[..., None], bits=bits, kind=PALETTE, more=more)
    plates = open_plates(path)
    truth = 255 - (colours[values] @ np.array([0.299, 0.587, 0.114]))
    assert np.abs(whole(plates)[0] - truth).max() <= 0.501
    assert not plates.plates[0].two_level


def test_see_through_entries_of_a_palette_and_a_grey_bear_no_ink(tmp_path, write_png, whole):
    values = np.array([[0, 1, 2, 3]], np.uint8)
    more = [(b"PLTE", bytes([0, 0, 0] * 3 + [255] * 3)), (b"tRNS", bytes([0, 51]))]
    path = write_png(tmp_path / "a.png", values[..., None], bits=2, kind=PALETTE, more=more)
    assert whole(open_plates(path))[0].tolist() == [[0, 51, 255, 0]]
    path = write_png(tmp_path / "b.png", values[..., None], bits=2, kind=GREY, more=[(b"tRNS", b"\0\0")])
    assert whole(open_plates(path))[0].tolist() == [[0, 170, 85, 0]]


def test_palette_of_black_and_white_is_two_level(tmp_path, write_png, whole, drawn):
    values = (drawn(40, 37) > 127).astype(np.uint8)
    more = [(b"PLTE", bytes((255, 255, 255, 0, 0, 0)))]
    plates = open_plates(write_png(tmp_path / "a.png", values[..., None], bits=1, kind=PALETTE, more=more))
    assert plates.plates[0].two_level
    assert np.array_equal(whole(plates)[0], values * 255)


def test_written_by_pillow(tmp_path, whole, drawn):
    picture = drawn(900, 700)
    Image.fromarray(picture).save(tmp_path / "grey.png", optimize=True)
    Image.fromarray(picture > 127).save(tmp_path / "bits.png")
    assert np.array_equal(whole(open_plates(tmp_path / "grey.png"))[0], 255 - picture)
    assert np.array_equal(whole(open_plates(tmp_path / "bits.png"))[0], np.where(picture > 127, 0, 255))


@pytest.mark.parametrize(
    ("across", "unit", "dpi"), [(11811, 1, 300.0), (23622, 1, 600.0), (2835, 1, 72.0), (10000, 1, 254.0), (1, 0, None)]
)
def test_resolution(tmp_path, write_png, across, unit, dpi):
    more = [(b"pHYs", struct.pack(">IIB", across, across, unit))]
    path = write_png(tmp_path / "a.png", np.zeros((2, 2, 1), np.uint8), bits=8, kind=GREY, more=more)
    assert open_plates(path).plates[0].dpi == dpi
    assert open_plates(path, dpi=150).plates[0].dpi == (dpi or 150)
