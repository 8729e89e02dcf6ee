"""An arrangement made by hand is judged and printed, however odd; only a name that the job does not know is refused."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest

from setupassist.documents.plan import Slot
from setupassist.documents.store import example_shop
from setupassist.errors import InputFault, NoPlan
from setupassist.pipeline import Measured, Planned, hand_made, make_plan, make_sheet, measure_job, measure_path
from setupassist.words import Said, words_in
from setupassist.work import Work, open_job


def slot(station: int, ink: str | None, lap: int = 1) -> dict[str, Any]:
    return {"lap": lap, "station": station, "holds": "flash" if ink is None else "screen", "ink": ink}


GOOD = [slot(2, "white base"), slot(3, None), slot(5, "yellow"), slot(6, "red"), slot(7, "black key")]


def planned_of(path: Path) -> tuple[Work, Measured, Planned]:
    work = open_job(path, shop=example_shop())
    measured = measure_job(work)
    return work, measured, make_plan(work, measured)


def with_arrangement(work: Work, slots: list[dict[str, Any]]) -> Work:
    made = tuple(Slot.model_validate(entry) for entry in slots)
    return replace(work, job=work.job.model_copy(update={"arrangement": made}))


def test_what_it_breaks_is_told_with_rule_and_places(write_job) -> None:
    work, _, planned = planned_of(write_job(arrangement=[slot(2, "yellow"), *GOOD[1:2], slot(4, "white base")]))
    plan = hand_made(work, planned).plan
    assert plan.broken == tuple(limit.text for limit in plan.broken_limits)
    order = next(limit for limit in plan.broken_limits if limit.limit == "order")
    assert order.slots == ((1, 2), (1, 4))
    assert order.text == "yellow (station 2) prints before white base (station 4); it goes after it"
    assert isinstance(order.text, Said)
    assert words_in("es")(order.text).startswith("yellow (estación 2) imprime antes que")
    assert {limit.limit for limit in plan.broken_limits} >= {"order", "flash-between", "every-screen-prints"}


def test_a_sound_arrangement_breaks_nothing(write_job) -> None:
    work, _, planned = planned_of(write_job(arrangement=GOOD))
    plan = hand_made(work, planned).plan
    assert plan.broken_limits == ()
    assert [s.ink for s in plan.slots] == ["white base", None, "yellow", "red", "black key"]


@pytest.mark.parametrize("stranger", ["white base", "blocker", "grey base"])
def test_an_ink_that_needs_no_screen_any_more_is_a_broken_limit(write_job, stranger: str) -> None:
    """On a white shirt no base is printed; the arrangement still holds one from before."""
    white = {"name": "white tee", "colour": "#ffffff", "fibre": "cotton"}
    slots = [slot(2, stranger), slot(5, "yellow"), slot(6, "red"), slot(7, "black key")]
    work, measured, planned = planned_of(write_job(garment=white, arrangement=slots))
    plan = hand_made(work, planned).plan
    assert [limit.text for limit in plan.broken_limits] == [f"{stranger} is no screen of this job"]
    assert plan.broken_limits[0].slots == ((1, 2),)
    assert [(s.station, s.ink) for s in plan.slots] == [(2, stranger), (5, "yellow"), (6, "red"), (7, "black key")]
    assert plan.slots[0].mesh_per_inch is None
    assert plan.estimate is not None
    assert make_sheet(work, measured, planned, date="1 May").startswith(b"%PDF")


def test_a_name_that_the_job_does_not_know_is_refused(write_job) -> None:
    with pytest.raises(InputFault, match=r"arrangement: names 'whit base', which .*did you mean 'white base'"):
        planned_of(write_job(arrangement=[slot(2, "whit base")]))
    with pytest.raises(InputFault, match="has a screen without an ink"):
        planned_of(write_job(arrangement=[{"lap": 1, "station": 2, "holds": "screen"}]))


def test_a_station_off_the_way_is_a_broken_limit_where_the_press_changed_under_it(write_job) -> None:
    work, _, planned = planned_of(write_job())
    work = with_arrangement(work, [*GOOD[:-1], slot(12, "black key")])
    plan = hand_made(work, planned).plan
    assert [limit.limit for limit in plan.broken_limits] == ["on-the-way"]
    assert plan.slots[-1].station == 12


def test_a_clash_is_told_where_there_is_nothing_to_print(write_job) -> None:
    small = {
        "name": "five", "stations": 5, "load": 1, "unload": 5, "heads": [2, 3, 4], "flash_slots": [3], "flash_units": 1,
    }  # fmt: skip
    work, measured, planned = planned_of(write_job(press=small))
    with pytest.raises(NoPlan) as caught:
        make_sheet(work, measured, planned, date="1 May")
    told = "no plan exists; these limits clash: the press has 3 heads for 4 screens"
    assert str(caught.value) == told
    assert words_in("es")(caught.value.args[0]) == (
        "no hay ningún plan; estos límites chocan: la máquina tiene 3 cabezales para 4 pantallas"
    )


def test_a_base_that_no_plate_bears_is_told_by_the_plates_there_are(tmp_path: Path) -> None:
    import numpy as np
    from PIL import Image

    for name in ("red", "black"):
        Image.fromarray(np.full((64, 64), 128, np.uint8)).save(tmp_path / f"{name}.png", dpi=(300, 300))
    with pytest.raises(InputFault, match="--base: no plate is called 'rad'; did you mean 'red'"):
        measure_path(tmp_path, shop=example_shop(), base="rad")
