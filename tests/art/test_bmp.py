"""BMP of every common depth reads back as it was drawn."""

import struct

import numpy as np
import pytest
from PIL import Image

from setupassist.art.opening import open_plates


@pytest.mark.parametrize("columns", [1, 31, 64, 203])
def test_written_by_pillow(tmp_path, whole, drawn, columns):
    picture = drawn(95, columns)
    Image.fromarray(picture).save(tmp_path / "grey.bmp", dpi=(300, 300))
    Image.fromarray(picture > 127).save(tmp_path / "bits.bmp", dpi=(600, 600))
    grey, bits = open_plates(tmp_path / "grey.bmp"), open_plates(tmp_path / "bits.bmp")
    assert np.array_equal(whole(grey)[0], 255 - picture)
    assert np.array_equal(whole(bits)[0], np.where(picture > 127, 0, 255))
    assert (grey.plates[0].dpi, bits.plates[0].dpi) == (300.0, 600.0)
    assert (grey.plates[0].two_level, bits.plates[0].two_level) == (False, True)


@pytest.mark.parametrize("mode", ["RGB", "RGBA"])
def test_colour_is_luminance(tmp_path, whole, drawn, mode):
    pixels = np.stack([drawn(50, 41, seed) for seed in range(len(mode))], axis=-1)
    Image.fromarray(pixels, mode).save(tmp_path / "a.bmp")
    truth = 255 - pixels[..., :3] @ np.array([0.299, 0.587, 0.114])
    plates = open_plates(tmp_path / "a.bmp")
    assert np.abs(whole(plates)[0] - truth).max() <= 0.501
    assert any("luminance" in note for note in plates.notes)


def bmp(columns, rows, *, bits, packing, palette, data):
    at = 54 + len(palette)
    head = struct.pack("<2sIHHI", b"BM", at + len(data), 0, 0, at)
    return (
        head + struct.pack("<IiiHHIIiiII", 40, columns, rows, 1, bits, packing, len(data), 0, 0, 0, 0) + palette + data
    )


def test_top_down_rows_and_a_palette_with_white_first(tmp_path, whole):
    palette = bytes((255, 255, 255, 0, 0, 0, 0, 0))
    (tmp_path / "a.bmp").write_bytes(
        bmp(10, -2, bits=1, packing=0, palette=palette, data=bytes((0xFF, 0x80, 0, 0, 0x01, 0x40, 0, 0)))
    )
    rows = whole(open_plates(tmp_path / "a.bmp"))[0] // 255
    assert rows.tolist() == [[1] * 9 + [0], [0] * 7 + [1, 0, 1]]


def test_four_bits(tmp_path, whole):
    palette = b"".join(bytes((value * 17,) * 3 + (0,)) for value in range(16))
    (tmp_path / "a.bmp").write_bytes(bmp(3, 1, bits=4, packing=0, palette=palette, data=bytes((0x0F, 0x70, 0, 0))))
    assert whole(open_plates(tmp_path / "a.bmp"))[0].tolist() == [[255, 0, 255 - 7 * 17]]


def test_run_lengths(tmp_path, whole):
    palette = b"".join(bytes((value,) * 3 + (0,)) for value in range(256))
    data = bytes((4, 200, 0, 0, 1, 10, 3, 20, 0, 1))  # bottom row: 200 four times; top row: 10, then 20 three times
    (tmp_path / "a.bmp").write_bytes(bmp(4, 2, bits=8, packing=1, palette=palette, data=data))
    assert whole(open_plates(tmp_path / "a.bmp"))[0].tolist() == [[245, 235, 235, 235], [55] * 4]
