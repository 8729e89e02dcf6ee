"""Names that no ink may bear and sets beyond measure are refused before a pixel is read."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import numpy as np
import pytest
from PIL import Image

from setupassist.art.opening import open_plates
from setupassist.art.plates import Plate, PlateSet, Rows
from setupassist.errors import InputFault


def unread(band_rows: int) -> Iterator[tuple[Rows, ...]]:
    raise AssertionError("read before it was checked")


@pytest.mark.parametrize(("columns", "rows", "count"), [(200_000, 6_000, 64), (50_000, 1, 64), (30_000, 40_000, 11)])
def test_a_set_beyond_measure_is_refused(columns: int, rows: int, count: int) -> None:
    plates = tuple(Plate(f"ink {n}", "set.tif", rows, columns, 300.0, True) for n in range(count))
    with pytest.raises(InputFault, match="more than can be measured"):
        PlateSet("set.tif", plates, unread)


def test_a_large_set_of_real_film_is_taken() -> None:
    plates = tuple(Plate(f"ink {n}", "set.tif", 21_260, 18_898, 1200.0, True) for n in range(24))
    assert PlateSet("set.tif", plates, unread).dpi == 1200


@pytest.mark.parametrize(("name", "said"), [("01-flash.png", "a flash unit"), ("02-Flash.png", "a flash unit")])
def test_a_plate_called_flash_is_refused(tmp_path: Path, name: str, said: str) -> None:
    Image.fromarray(np.zeros((20, 20), np.uint8)).save(tmp_path / name, dpi=(300, 300))
    with pytest.raises(InputFault, match=said) as caught:
        open_plates(tmp_path)
    assert name in str(caught.value)


def test_a_band_of_all_plates_fits_into_the_memory_meant_for_it() -> None:
    plates = tuple(Plate(f"ink {n}", "set.tif", 500, 10_000, 300.0, False) for n in range(20))
    together = PlateSet("set.tif", plates, unread)
    assert together.band_rows(24_000_000, most=256) == 120
    assert together.band_rows(24_000_000, most=100) == 100
    assert together.band_rows(1000, most=256, least=8) == 8
    assert together.band_rows(1000, most=256) == 1
