"""A base made from its inks: exact on shapes drawn here, and clean by our own inspection."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from scipy.ndimage import distance_transform_edt

from setupassist.art.plates import Plate, PlateSet, Stream
from setupassist.check import base_plate as room
from setupassist.check.base_plate import base_bands, base_is_two_level, carried_inks, disc_rows, over_disc
from setupassist.checking import make_base
from setupassist.documents.measure import Measure
from setupassist.documents.terms import Role
from setupassist.errors import Cancelled, InputFault
from setupassist.inspection.survey import measure_plates
from setupassist.pipeline import Measured

DPI = 300.0
MM = DPI / 25.4


def set_of(**levels: Any) -> PlateSet:
    arrays = [np.asarray(array, np.uint8) for array in levels.values()]
    names = [name.replace("_", " ") for name in levels]
    plates = tuple(
        Plate(name, f"{name}.png", *array.shape, DPI, bool(np.isin(array, (0, 255)).all()))
        for name, array in zip(names, arrays, strict=True)
    )

    def read(rows: int) -> Any:
        for top in range(0, len(arrays[0]), rows):
            yield tuple(array[top : top + rows] for array in arrays)

    return PlateSet("drawn", plates, read)


def made(plates: PlateSet, *, choke_mm: float, **asked: Any) -> np.ndarray:
    measure = measure_plates(plates)
    under = asked.get("under") or carried_inks(measure).under
    return np.concatenate(list(base_bands(plates, measure, under=under, choke_mm=choke_mm)))


def blobs(seed: int, rows: int = 700, columns: int = 600) -> np.ndarray:
    rng = np.random.default_rng(seed)
    y, x = np.mgrid[0:rows, 0:columns]
    ink = np.zeros((rows, columns), bool)
    for _ in range(6):
        cy, cx, r = rng.integers(120, rows - 120), rng.integers(120, columns - 120), rng.integers(30, 110)
        ink |= np.hypot(y - cy, x - cx) < r
    ink[300:420, 80:520] = True
    return np.where(ink, 255, 0).astype(np.uint8)


@pytest.mark.parametrize("radius", [0.5, 1.0, 1.5, 2.3, 4.63, 8.77])
def test_least_and_most_over_a_disc_are_exact(radius: float) -> None:
    rng = np.random.default_rng(3)
    levels = rng.integers(0, 256, (40, 37), dtype=np.uint8)
    reach = disc_rows(radius)
    padded = np.pad(levels, ((0, 0), (reach, reach)))
    offsets = [
        (dy, dx)
        for dy in range(-reach, reach + 1)
        for dx in range(-reach, reach + 1)
        if dy * dy + dx * dx < radius * radius
    ]
    high = 40 - 2 * reach
    moved = [padded[reach + dy : reach + dy + high, reach + dx : reach + dx + 37] for dy, dx in offsets]
    np.testing.assert_array_equal(over_disc(levels, radius, np.minimum), np.min(moved, axis=0))
    np.testing.assert_array_equal(over_disc(levels, radius, np.maximum), np.max(moved, axis=0))


@pytest.mark.parametrize("rows", [64, 101, 4000])
def test_solid_inks_are_drawn_in_by_the_exact_distance(monkeypatch: pytest.MonkeyPatch, rows: int) -> None:
    """A pixel stays where the nearest pixel without ink is farther than the choke, to half a pixel."""
    monkeypatch.setattr(room, "MOST_BAND_ROWS", rows)
    monkeypatch.setattr(room, "LEAST_BAND_ROWS", 1)
    one, two = blobs(1), blobs(2)
    base = made(set_of(red=one, yellow=two), choke_mm=0.5)
    union = np.pad((one > 0) | (two > 0), 1)
    distance = distance_transform_edt(union)[1:-1, 1:-1]
    np.testing.assert_array_equal(base, np.where(distance >= 0.5 * MM + 0.5, 255, 0))


def test_it_is_clean_by_our_own_inspection() -> None:
    one, two = blobs(1), blobs(2)
    base = made(set_of(red=one, yellow=two), choke_mm=0.5)
    (choke,) = measure_plates(set_of(base=base, red=one, yellow=two)).chokes
    assert choke.median_mm == pytest.approx(0.5, abs=1 / MM)
    assert (choke.peek_out_mm2, choke.peek_out_mm) == (0, 0)


def test_tones_are_kept_and_their_edges_drawn_in() -> None:
    """A slope of grey keeps its steps; where it ends, and where ink falls to less than half, it gives way."""
    tone = np.zeros((500, 600), np.uint8)
    tone[100:400, 100:500] = np.linspace(80, 250, 400).astype(np.uint8)
    tone[200:300, 250:300] = 20
    base = made(set_of(grey=tone), choke_mm=0.5)
    inside = np.s_[115:185, 115:485]
    np.testing.assert_array_equal(base[inside], tone[inside])
    reach = round(0.5 * MM)
    assert (base[100 : 100 + reach, 100:500] == 0).all()
    assert (base[250, 300 : 300 + reach] == 20).all()
    assert base[250, 300 + reach + 1] == tone[250, 300 + reach + 1]
    assert (base <= tone).all()


def test_of_two_tones_the_most_ink_counts() -> None:
    one, two = np.full((400, 400), 60, np.uint8), np.zeros((400, 400), np.uint8)
    two[100:300, 100:300] = 100
    base = made(set_of(one=one, two=two), choke_mm=0.5)
    assert base[200, 200] == 100
    assert base[50, 200] == 60


def halftone(lines_per_inch: float, tone: float) -> np.ndarray:
    period = DPI / lines_per_inch
    y, x = np.mgrid[0:800, 0:800]
    u, v = (x + y) / np.sqrt(2) / period, (x - y) / np.sqrt(2) / period
    away = np.hypot(u - np.round(u), v - np.round(v))
    disc = np.hypot(y - 400, x - 400) < 330
    return np.where((away < np.sqrt(tone / np.pi)) & disc, 255, 0).astype(np.uint8)


@pytest.mark.parametrize("tone", [0.15, 0.5])
def test_a_halftone_ink_gets_the_same_dots_within_a_drawn_in_outline(tone: float) -> None:
    dots = halftone(35, tone)
    plates = set_of(red=dots)
    assert base_is_two_level(plates, ["red"])
    base = made(plates, choke_mm=0.5)
    y, x = np.mgrid[0:800, 0:800]
    away = np.hypot(y - 400, x - 400)
    inner, rim = away < 330 - 0.5 * MM - DPI / 35, away > 330 - 0.5 * MM + 1
    np.testing.assert_array_equal(base[inner], dots[inner])
    assert not base[rim].any()


def test_dots_beside_a_solid_are_no_edge_of_it() -> None:
    dots, solid = halftone(35, 0.4), np.zeros((800, 800), np.uint8)
    solid[:, :300] = 255
    base = made(set_of(red=dots, blue=solid), choke_mm=0.5)
    np.testing.assert_array_equal(base[390:410, 200:500], np.maximum(dots, solid)[390:410, 200:500])


def test_shading_in_a_solid_plate_keeps_its_dots_and_the_solid_its_choke() -> None:
    """A plate of a large solid with a little halftone: the dots stay, the gap in the solid is drawn in all the same."""
    plate = np.zeros((900, 900), np.uint8)
    plate[100:800, 100:500] = 255
    plate[100:800, 296:302] = 0  # half a millimetre: narrower than a dot row's paper
    dots = np.zeros_like(plate)
    dots[300:600, 560:860] = halftone(35, 0.4)[250:550, 250:550]
    plates = set_of(red=np.maximum(plate, dots))
    measure = measure_plates(plates)
    assert (measure.plates[0].kind, measure.plates[0].halftone is not None) == ("solid", True)
    base = made(plates, choke_mm=0.3)
    reach = round(0.3 * MM)
    assert not base[200:700, 296 - reach + 1 : 302 + reach - 1].any()
    assert (base[200:700, 120:280] == 255).all()
    np.testing.assert_array_equal(base[350:550, 610:810], dots[350:550, 610:810])


def test_marks_are_carried_over_unchanged() -> None:
    ink = np.zeros((1200, 1000), np.uint8)
    ink[300:900, 200:800] = 255
    other = np.zeros_like(ink)
    other[400:600, 300:600] = 255
    for plate in (ink, other):
        for top in (40, 1060):
            plate[top : top + 90, 498:502] = plate[top + 43 : top + 47, 455:545] = 255
    plates = set_of(red=ink, yellow=other)
    assert measure_plates(plates).art.marks_mm
    base = made(plates, choke_mm=0.5)
    np.testing.assert_array_equal(base[:200], ink[:200])
    np.testing.assert_array_equal(base[1000:], ink[1000:])
    assert base[600, 205] == 0


def labelled_set(plates: int, words: int) -> tuple[PlateSet, np.ndarray]:
    """Plates with two targets above and below, each plate with a row of small type beside them; the targets alone."""
    rng = np.random.default_rng(8)
    targets = np.zeros((1200, 1000), np.uint8)
    for top in (40, 1070):
        targets[top : top + 90, 498:502] = targets[top + 43 : top + 47, 455:545] = 255
    levels = {}
    for number in range(plates):
        plate = targets.copy()
        plate[300:900, 200 : 700 + 5 * number] = 255
        for top in (40, 1070):
            for word in range(words):
                left, down = 570 + 42 * word + 4 * (number % 10), top + 25 + 8 * (number // 10)
                for letter in range(2):
                    at = np.s_[down : down + 25, left + 12 * letter : left + 12 * letter + 9]
                    plate[at] = np.where(rng.random((25, 9)) < 0.6, 255, 0)
        levels[f"ink_{number}"] = plate
    return set_of(**levels), targets


@pytest.mark.parametrize(("plates", "words"), [(2, 3), (16, 9)])
def test_marks_are_carried_over_and_labels_are_not(plates: int, words: int) -> None:
    """The name of the ink that the marks are taken from would name the base's film."""
    drawn, targets = labelled_set(plates, words)
    art = measure_plates(drawn).art
    assert len(art.register_marks_mm) == 2
    assert len(art.marks_mm) > (200 if plates > 2 else 4)
    base = made(drawn, choke_mm=0.5)
    for rim in (np.s_[:250], np.s_[950:]):
        np.testing.assert_array_equal(base[rim], targets[rim])
    assert base[600, 400] == 255


def test_marks_come_from_where_their_own_plate_has_them() -> None:
    """The plate off register whose marks are carried over is not the one that the marks were told by."""
    drawn, targets = labelled_set(3, 3)
    first, moved, third = (np.concatenate([band[n] for band in drawn.read(400)]) for n in range(3))
    moved = np.roll(moved, (14, -9), (0, 1))
    base = made(set_of(key=first, red=moved, teal=third), choke_mm=0.5, under=["red"])
    np.testing.assert_array_equal(base[:250], np.roll(targets, (14, -9), (0, 1))[:250])


def test_which_inks_it_goes_under() -> None:
    ink = blobs(1)
    plates = set_of(base=ink, red=ink, black_key=ink, soot=ink, clear_gel=ink, white_highlight=ink, nothing=ink * 0)
    roles = {"clear gel": Role.CLEAR}
    measure = measure_plates(plates, roles=roles, labs={"soot": (12.0, 0.0, 0.0), "red": (45.0, 60.0, 30.0)})
    carried = carried_inks(measure)
    assert carried.under == ("red", "white highlight")
    assert carried.without == ("black key", "soot", "clear gel", "nothing")
    assert carried_inks(measure, ["Soot", "red"]).under == ("red", "soot")
    with pytest.raises(InputFault, match=r"no plate is called 'rd'; did you mean 'red'"):
        carried_inks(measure, ["rd"])


def test_no_ink_to_go_under_is_a_fault() -> None:
    measure = Measure.model_validate({"plates": ({"name": "black key", "role": Role.KEY, "ink_area_cm2": 3.0},)})
    with pytest.raises(InputFault, match="no ink that needs a base"):
        carried_inks(measure)


def test_a_base_can_be_stopped_and_tells_how_far_it_is() -> None:
    plates = set_of(red=blobs(1))
    measure = measure_plates(plates)
    told: list[float] = []
    list(base_bands(plates, measure, under=["red"], choke_mm=0.3, progress=told.append))
    assert told[-1] == 1.0
    with pytest.raises(Cancelled):
        list(base_bands(plates, measure, under=["red"], choke_mm=0.3, stop=lambda: True))


def counted(plates: PlateSet) -> tuple[PlateSet, list[str]]:
    """The same set, each plate a stream of its own; and the names of plates as their bands are read."""
    read: list[str] = []

    def alone(index: int) -> Stream:
        def bands(rows: int) -> Any:
            for band in plates.read_bits(rows):
                read.append(plates.plates[index].name)
                yield (band[index],)

        return Stream((index,), bands)

    return replace(plates, apart=tuple(alone(index) for index in range(len(plates.plates)))), read


def test_dots_are_sought_in_the_inks_below_which_base_goes_and_no_others() -> None:
    plates, read = counted(set_of(blue=halftone(35, 0.3), red=halftone(35, 0.5), teal=halftone(30, 0.4)))
    measure = measure_plates(plates)
    read.clear()
    bands = list(base_bands(plates, measure, under=["teal", "red"], choke_mm=0.3))
    assert set(read) == {"red", "teal"}
    whole = set_of(red=halftone(35, 0.5), teal=halftone(30, 0.4))
    np.testing.assert_array_equal(np.concatenate(bands), made(whole, choke_mm=0.3))


def test_seeing_where_dots_are_is_told_and_can_be_stopped() -> None:
    plates, read = counted(set_of(blue=halftone(35, 0.3), red=halftone(35, 0.5)))
    measure = measure_plates(plates)
    told: list[float] = []
    bands = base_bands(plates, measure, under=["blue", "red"], choke_mm=0.3, progress=told.append)
    next(bands)
    assert len([share for share in told if share <= 0.5]) > 3
    assert len([share for share in told if share > 0.5]) == 1
    assert told == sorted(told)
    read.clear()
    told.clear()
    with pytest.raises(Cancelled):
        next(
            base_bands(plates, measure, under=["blue"], choke_mm=0.3, progress=told.append, stop=lambda: len(told) > 0)
        )
    assert len(told) == 1


def test_a_base_that_is_stopped_is_not_written(tmp_path: Path) -> None:
    plates = set_of(red=blobs(1))
    measured = Measured(measure_plates(plates), plates)
    with pytest.raises(Cancelled):
        make_base(measured, tmp_path / "base.png", under=["red"], choke_mm=0.3, stop=lambda: True)
    assert not list(tmp_path.iterdir())
