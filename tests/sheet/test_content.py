"""Content: screens out of a plan, values in force, and pictures out of plates."""

import dataclasses

import numpy as np
import pytest

from setupassist.art.plates import Plate, PlateSet
from setupassist.documents.job import Override
from setupassist.documents.measure import Art, Measure
from setupassist.documents.plan import Question, Slot
from setupassist.sheet.page_one import counts_by_size, set_by_hand
from setupassist.sheet.pictures import pictures_of
from setupassist.sheet.press_crew import register_order
from setupassist.sheet.unit_words import Units, UnitWords


def plate_set(arrays):
    plates = tuple(Plate(name, f"{name}.png", *a.shape, 300.0, True) for name, a in arrays.items())

    def read(band_rows):
        for start in range(0, max(a.shape[0] for a in arrays.values()), band_rows):
            yield tuple(a[start : start + band_rows] for a in arrays.values())

    return PlateSet("made here", plates, read)


def test_screens_come_in_print_order_and_second_screens_share_their_ink(ordinary):
    slots = (
        Slot(lap=1, station=6, holds="screen", ink="white base 2", strokes=1),
        Slot(lap=1, station=2, holds="screen", ink="white base", strokes=2),
        Slot(lap=2, station=2, holds="screen", ink="white base"),
    )
    content = dataclasses.replace(ordinary, plan=ordinary.plan.model_copy(update={"slots": slots}))
    first, second = content.screens()
    assert (first.name, first.ink, first.station, first.strokes_per_piece) == ("white base", "white base", 2, 4)
    assert (second.name, second.ink, second.station, second.strokes_per_piece) == ("white base 2", "white base", 6, 1)
    assert second.mesh_per_cm == 61
    assert content.laps == 2


def test_an_ink_really_called_two_is_itself(ordinary):
    needs = (
        *ordinary.steps.screens,
        dataclasses.replace(ordinary.steps.screen("brick"), ink="brick 2", colour="#112233"),
    )
    slots = (Slot(lap=1, station=5, holds="screen", ink="brick 2"),)
    content = dataclasses.replace(
        ordinary, steps=dataclasses.replace(ordinary.steps, screens=needs),
        plan=ordinary.plan.model_copy(update={"slots": slots}),
    )  # fmt: skip
    assert content.screens()[0].colour == "#112233"


def test_counts_in_force_are_the_jobs_then_the_answers_then_the_shops(ordinary):
    asked = tuple(
        Question(id=name, text="?", suggested=value, reason="", source="")
        for name, value in (("tests", "4"), ("spoilage", "0.03"), ("pieces", "50"))
    )
    content = dataclasses.replace(ordinary, steps=dataclasses.replace(ordinary.steps, questions=asked))
    assert (ordinary.tests, ordinary.spoilage, ordinary.pieces) == (6, 0.02, 288)
    assert (content.tests, content.spoilage, content.pieces) == (4, 0.03, 288)
    told = content.job.model_copy(update={"tests": 9, "spoilage": 0.1})
    content = dataclasses.replace(content, job=told)
    assert (content.tests, content.spoilage) == (9, 0.1)


def test_sizes_and_spares_are_told(ordinary):
    assert (
        counts_by_size(ordinary, UnitWords(Units.INCH))
        == "288 in all, 12 spares there, 6 test pieces:  S 48,  M 96,  L 96,  XL 48"
    )


def test_everything_set_by_hand_is_told(ordinary):
    job = ordinary.job.model_copy(update={
        "overrides": {"soot": Override(mesh_per_inch=230.0, off_contact_mm=3.0, squeegee_shore="70/90/70")},
        "pins": {"soot": 10}, "flash_pins": (3,), "keep_empty": (4,), "flash_seconds": {3: 4.5}, "arrangement": (),
    })  # fmt: skip
    said = set_by_hand(dataclasses.replace(ordinary, job=job), UnitWords(Units.METRIC))
    assert said == [
        "all stations", "soot, mesh 91 per cm", "soot, blade 70/90/70", "soot, off-contact 3.0 mm",
        "flash at 3, from 4.5 s", "soot pinned at 10", "flash pinned at 3", "4 kept empty",
    ]  # fmt: skip


def test_base_is_the_target_of_registering_else_key_else_the_most_ink(ordinary):
    def without(*inks):
        slots = tuple(slot for slot in ordinary.plan.slots if slot.ink not in inks)
        return dataclasses.replace(ordinary, plan=ordinary.plan.model_copy(update={"slots": slots}))

    assert [s.name for s in register_order(ordinary)] == [s.name for s in ordinary.screens()]
    assert [s.name for s in register_order(without("white base"))][:2] == ["soot", "straw"]
    assert register_order(without("white base", "soot"))[0].name == "straw"


def test_pictures_are_cropped_and_laid_in_print_order(ordinary):
    shape = (200, 100)
    arrays = {name: np.zeros(shape, np.uint8) for name in ("white base", "straw", "brick")}
    arrays["white base"][40:80, 20:60] = 255
    arrays["straw"][40:80, 20:40] = 255
    arrays["brick"][40:60, 20:40] = 255
    measure = ordinary.measure.model_copy(
        update={"art": Art(width_mm=100.0, height_mm=200.0, art_box_mm=(20.0, 40.0, 40.0, 40.0))}
    )
    pictures = pictures_of(plate_set(arrays), measure, ordinary.steps, ordinary.plan, press=ordinary.press)
    assert set(pictures.plates) == {"white base", "straw", "brick"}
    assert pictures.plates["straw"].shape == pictures.garment.shape[:2] == (46, 46)
    at = {"brick": (5, 5), "straw": (30, 5), "white base": (30, 30)}
    for name, (row, column) in at.items():
        colour = ordinary.steps.screen(name).colour
        assert "#{:02x}{:02x}{:02x}".format(*pictures.garment[row, column]) == colour
    assert "#{:02x}{:02x}{:02x}".format(*pictures.garment[0, 0]) == "#35363c"


def test_a_screen_without_a_plate_takes_the_union_of_what_it_carries(ordinary):
    arrays = {"straw": np.zeros((20, 20), np.uint8), "brick": np.zeros((20, 20), np.uint8)}
    arrays["straw"][5:10] = 255
    arrays["brick"][10:15] = 255
    base = dataclasses.replace(ordinary.steps.screen("white base"), plate=None, carries=("straw", "brick"))
    steps = dataclasses.replace(ordinary.steps, screens=(base, *ordinary.steps.screens[1:]))
    measure = Measure(plates=ordinary.measure.plates)
    pictures = pictures_of(plate_set(arrays), measure, steps, ordinary.plan)
    assert np.array_equal(pictures.plates["white base"], np.maximum(pictures.plates["straw"], pictures.plates["brick"]))


def test_figures_alone_make_no_picture(ordinary):
    pictures = pictures_of(None, ordinary.measure, ordinary.steps, ordinary.plan)
    assert pictures.garment is None
    assert not pictures.plates


def test_plates_of_two_sizes_make_no_garment_picture(ordinary):
    arrays = {"straw": np.full((20, 20), 255, np.uint8), "brick": np.full((20, 30), 255, np.uint8)}
    pictures = pictures_of(plate_set(arrays), Measure(plates=ordinary.measure.plates), ordinary.steps, ordinary.plan)
    assert pictures.garment is None
    assert set(pictures.plates) == {"straw", "brick"}


def test_content_is_frozen(ordinary):
    with pytest.raises(dataclasses.FrozenInstanceError):
        ordinary.date = "never"
