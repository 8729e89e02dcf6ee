"""JPEG reads back as another decoder shows it, and tells its resolution."""

import io

import numpy as np
import pytest
from PIL import Image

from setupassist.art.opening import open_plates
from setupassist.errors import InputFault


@pytest.mark.parametrize("progressive", [False, True])
def test_grey(tmp_path, whole, drawn, progressive):
    picture = drawn(231, 175)
    path = tmp_path / "a.jpg"
    Image.fromarray(picture).save(path, quality=95, progressive=progressive, dpi=(300, 300))
    plates = open_plates(path)
    assert np.array_equal(whole(plates)[0], 255 - np.asarray(Image.open(path)))
    assert plates.plates[0].dpi == 300.0
    assert np.array_equal(whole(open_plates(path, light_is_ink=True))[0], np.asarray(Image.open(path)))


def test_flat_patches_keep_their_tone(tmp_path, whole):
    picture = np.kron(np.array([[0, 64], [128, 255]], np.uint8), np.ones((32, 32), np.uint8))
    Image.fromarray(picture).save(tmp_path / "a.jpg", quality=95)
    assert np.abs(whole(open_plates(tmp_path / "a.jpg"))[0].astype(int) - (255 - picture)).max() <= 1


def test_colour_is_luminance(tmp_path, whole):
    pixels = np.zeros((64, 64, 3), np.uint8)
    pixels[:32] = (200, 100, 50)
    Image.fromarray(pixels).save(tmp_path / "a.jpg", quality=95, subsampling=0)
    rows = whole(open_plates(tmp_path / "a.jpg"))[0].astype(int)
    assert np.abs(rows[:32] - (255 - (0.299 * 200 + 0.587 * 100 + 0.114 * 50))).max() <= 2
    assert rows[32:].min() >= 253


def test_dots_per_centimetre_are_rounded_to_what_was_meant(tmp_path):
    data = io.BytesIO()
    Image.new("L", (9, 9)).save(data, "JPEG", dpi=(300, 300))
    inch = data.getvalue()
    at = inch.index(b"JFIF\0") + 7
    assert inch[at : at + 5] == b"\x01\x01\x2c\x01\x2c"
    (tmp_path / "a.jpg").write_bytes(inch[:at] + b"\x02\x00\x76\x00\x76" + inch[at + 5 :])  # 118 a centimetre
    assert open_plates(tmp_path / "a.jpg").plates[0].dpi == 300.0


def test_four_colours_are_refused(tmp_path):
    Image.new("CMYK", (9, 9)).save(tmp_path / "a.jpg")
    with pytest.raises(InputFault, match=r"a\.jpg: is a JPEG of 4 colours.*grey picture"):
        open_plates(tmp_path / "a.jpg")


def test_camera_data_is_never_looked_into(tmp_path, whole):
    picture = np.full((16, 16), 90, np.uint8)
    Image.fromarray(picture).save(tmp_path / "a.jpg", exif=b"Exif\0\0MM\0*\0\0\xff\xff broken", quality=95)
    assert np.abs(whole(open_plates(tmp_path / "a.jpg"))[0].astype(int) - 165).max() <= 1
