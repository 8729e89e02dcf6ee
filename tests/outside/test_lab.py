"""Lab against scikit-image, which follows the same standards (IEC 61966-2-1, CIE 15, D65 and the 2° observer)."""

from __future__ import annotations

import warnings

import numpy as np
import pytest
from skimage.color import lab2rgb, rgb2lab

from setupassist.colour import hex_of_lab, lab_of, lab_to_srgb, srgb_to_lab

pytestmark = pytest.mark.outside


def test_every_shade_to_lab() -> None:
    steps = np.linspace(0.0, 1.0, 52)
    shades = np.stack(np.meshgrid(steps, steps, steps), axis=-1)
    assert np.array_equal(srgb_to_lab(shades), rgb2lab(shades))


def test_lab_to_the_nearest_shade() -> None:
    lab = np.stack(np.meshgrid(np.linspace(0, 100, 41), np.linspace(-90, 90, 41), np.linspace(-90, 90, 41)), axis=-1)
    with warnings.catch_warnings():
        warnings.simplefilter("ignore", UserWarning)  # many of these lie outside sRGB
        reference = np.clip(lab2rgb(lab), 0.0, 1.0)
    assert np.abs(lab_to_srgb(lab) - reference).max() < 1e-12


@pytest.mark.parametrize("colour", ["#000000", "#ffffff", "#808080", "#bf4a34", "#2d6284", "#ff0000"])
def test_there_and_back(colour: str) -> None:
    assert hex_of_lab(lab_of(colour)) == colour
