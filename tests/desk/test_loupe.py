"""The loupe without a window: what is read and kept, what is seen, how it is measured out."""

from __future__ import annotations

import json

import numpy as np
import pytest

from setupassist.art.plates import Plate, PlateSet
from setupassist.desk import loupe
from setupassist.desk.garment_art import GarmentArt, Layer
from setupassist.desk.loupe import LoupeReader, Wish
from setupassist.documents.measure import Measure
from setupassist.quantities import Units
from setupassist.sheet.scale_bar import BAR_SHARE, scale_bar
from setupassist.sheet.unit_words import UnitWords
from setupassist.words import words_in
from tests.conftest import figures

DPI = 254.0  # ten pixels a mm
METRIC, INCH = UnitWords(Units.METRIC), UnitWords(Units.INCH, words_in("es"))


def never() -> bool:
    return False


@pytest.fixture
def drawn() -> tuple[PlateSet, dict[str, np.ndarray], list[int]]:
    """Two plates of 70 x 90 mm: teal at 40 % on the left half, red in a square; and the bands that were read."""
    teal, red = np.zeros((900, 700), np.uint8), np.zeros((900, 700), np.uint8)
    teal[:, :350] = 102
    red[300:400, 300:400] = 255
    read: list[int] = []

    def bands(rows: int):
        for top in range(0, 900, rows):
            read.append(top)
            yield teal[top : top + rows], red[top : top + rows]

    plates = tuple(Plate(name, f"{name}.png", 900, 700, DPI, False) for name in ("teal", "red"))
    return PlateSet("drawn", plates, bands), {"teal": teal, "red": red}, read


def test_a_small_move_reads_nothing_and_a_large_one_reads_once(drawn, monkeypatch: pytest.MonkeyPatch) -> None:
    plates, truth, read = drawn
    monkeypatch.setattr(loupe, "MOST_KEPT_BYTES", 2 * 700 * 200)
    reader = LoupeReader()
    for place in ((35.0, 30.0), (10.0, 33.0), (60.0, 27.0)):
        part = reader.part(plates, place, 6.0, stop=never)
        left, top = round(place[0] * 10 - 30), round(place[1] * 10 - 30)
        for name, levels in part.levels.items():
            np.testing.assert_array_equal(levels, truth[name][top : top + 60, left : left + 60])
    once = len(read)
    assert once
    reader.part(plates, (35.0, 70.0), 6.0, stop=never)
    assert len(read) > once


def test_the_part_is_moved_in_at_the_edge(drawn) -> None:
    plates, _, _ = drawn
    part = LoupeReader().part(plates, (70.0, 0.0), 6.0, stop=never)
    assert part.box_mm == pytest.approx((64.0, 0.0, 6.0, 6.0))


def test_other_plates_are_read_anew(drawn) -> None:
    plates, _, read = drawn
    reader = LoupeReader()
    reader.part(plates, (35, 30), 6.0, stop=never)
    once = len(read)
    again = PlateSet("other", plates.plates, plates.read)
    reader.part(again, (35, 30), 6.0, stop=never)
    assert len(read) == 2 * once


def test_what_is_read_while_it_is_let_go_is_not_kept(drawn) -> None:
    """The loupe is put away in the window's thread while another reads a band for it."""
    plates, truth, read = drawn
    reader = LoupeReader()

    def put_away() -> bool:
        reader.forget()
        return False

    part = reader.part(plates, (35, 30), 6.0, stop=put_away)
    np.testing.assert_array_equal(part.levels["teal"], truth["teal"][270:330, 320:380])
    once = len(read)
    reader.part(plates, (35, 30), 6.0, stop=never)
    assert len(read) == 2 * once
    reader.part(plates, (35, 30), 6.0, stop=never)
    assert len(read) == 2 * once


def test_films_too_wide_to_keep_whole_rows_are_kept_in_part(drawn, monkeypatch: pytest.MonkeyPatch) -> None:
    plates, _, _ = drawn
    monkeypatch.setattr(loupe, "MOST_KEPT_BYTES", 2 * 200 * 120)
    x, y, wide, high = loupe.band_around(plates, (32, 27, 6, 6))
    assert (wide, high) == pytest.approx((20.0, 12.0))
    assert (x + wide / 2, y + high / 2) == pytest.approx((35, 30))


def test_what_lies_at_the_place_is_told_and_seen(drawn) -> None:
    plates, _, _ = drawn
    art = GarmentArt("tee", "#ffffff", (Layer("teal", "#15808a", ("teal",)), Layer("red", "#ff0000", ("red",))), True)
    seen = LoupeReader().see(Wish(plates, (31.0, 35.0), 6.0, art, None), stop=never)
    assert seen.inks == (("red", 1.0), ("teal", pytest.approx(0.4)))
    assert loupe.inks_words(seen, METRIC) == "red, teal 40 %"
    assert tuple(seen.picture[30, 30]) == (255, 0, 0)
    film = LoupeReader().see(Wish(plates, (31.0, 35.0), 6.0, None, "red"), stop=never)
    assert tuple(film.picture[30, 30]) == (0, 0, 0)
    bare = LoupeReader().see(Wish(plates, (60.0, 80.0), 6.0, art, None), stop=never)
    assert loupe.inks_words(bare, INCH) == "sin tinta"


def test_what_is_not_among_the_plates_is_not_asked_for(drawn) -> None:
    plates, _, _ = drawn
    art = GarmentArt("tee", "#ffffff", (Layer("navy", "#000080", ("navy",)),), True)
    assert not loupe.can_show(Wish(plates, (1, 1), 6.0, art, None))
    assert not loupe.can_show(Wish(plates, (1, 1), 6.0, None, None))
    assert not loupe.can_show(Wish(plates, (1, 1), 6.0, None, "navy"))
    assert loupe.can_show(Wish(plates, (1, 1), 6.0, None, "red"))


def test_places_and_bars_are_told_in_the_persons_units() -> None:
    assert loupe.place_words((25.4, 50.8), METRIC) == "x 25.40 mm, y 50.80 mm"
    assert loupe.place_words((25.4, 50.8), INCH) == "x 1.000 pulg, y 2.000 pulg"
    for side in loupe.SIDES_MM:
        for words in (METRIC, INCH):
            length, told = scale_bar(side, words)
            assert 0 < length <= side * BAR_SHARE
            shown = float(told.split()[0].replace("\u00a0", ""))
            assert length == pytest.approx(shown if words is METRIC else shown * 25.4)


def test_only_plates_of_one_size_with_a_resolution_can_be_seen(drawn) -> None:
    plates, _, _ = drawn
    assert loupe.can_be_seen(plates)
    assert loupe.size_mm(plates) == pytest.approx((70, 90))
    bare = tuple(Plate(plate.name, plate.file, 900, 700, None, False) for plate in plates.plates)
    odd = (plates.plates[0], Plate("odd", "odd.png", 90, 700, DPI, False))
    for other in (
        None,
        Measure.model_validate_json(json.dumps(figures())),
        PlateSet("x", bare, plates.read),
        PlateSet("x", odd, plates.read),
    ):
        assert not loupe.can_be_seen(other)
