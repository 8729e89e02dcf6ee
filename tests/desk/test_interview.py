"""The interview of the first start: every step may be left as it is, and what comes of it plans a sample job."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest

from setupassist.desk import edits, interview
from setupassist.desk.desk import Desk
from setupassist.desk.interview import Step, begun, finished, gone, named, stocked, switched, told, usual_meshes
from setupassist.desk.opening import open_paths
from setupassist.desk.shop_entries import Section
from setupassist.desk.tasks import Stage
from setupassist.documents.shop import Shop
from setupassist.documents.store import parse_shop, shop_bytes
from setupassist.documents.terms import InkSystem
from setupassist.errors import InputFault, SetupAssistError
from setupassist.trade.mesh import woven
from setupassist.words import words_in

ENGLISH, SPANISH = words_in("en"), words_in("es")
SAMPLES = Path(__file__).parents[2] / "sample_art"


def test_steps_go_forth_and_back_and_stop_at_the_ends() -> None:
    now = begun(ENGLISH, "inch")
    seen = [now.step]
    for _ in range(6):
        now = gone(now, 1)
        seen.append(now.step)
    assert seen == [*Step, Step.INK, Step.INK]
    assert (now.number, len(Step)) == (5, 5)
    for _ in range(6):
        now = gone(now, -1)
    assert now.step is Step.SHOP


@pytest.mark.parametrize("words", [ENGLISH, SPANISH])
def test_nothing_told_makes_a_valid_book_all_the_same(words) -> None:
    shop = finished(begun(words, "metric"), words).shop
    assert parse_shop(shop_bytes(shop).decode(), "x") == shop
    assert shop.name == words.say("interview.shop-name")
    assert (shop.policies.units, shop.policies.paper) == ("metric", "a4" if words is ENGLISH else "letter")
    assert shop.presses[0].heads == tuple(range(2, 10))
    assert shop.screens == ()
    assert shop.decisions == ()


def test_usual_meshes_are_woven() -> None:
    assert len(usual_meshes()) == 12
    for mesh, _, thread in usual_meshes():
        assert woven(mesh, thread).open_area > 0.1
    assert (61.0, 156.0, 64.0) in usual_meshes()


def test_what_is_not_valid_comes_back_with_its_sentence() -> None:
    now = begun(ENGLISH, "inch")
    same, got = told(now, Section.PRESSES, {"stations": "1"}, "stations")
    assert same == now
    assert got.faults == {"stations": "must be 2 to 100"}
    with pytest.raises(InputFault):
        named(now, " ")
    alone, _ = told(now, Section.PRESSES, {"heads": "3"}, "heads")
    with pytest.raises(InputFault, match="at least one"):
        switched(alone, "heads", 3)


def test_a_mesh_is_ticked_counted_and_taken_out() -> None:
    now = stocked(stocked(begun(ENGLISH, "inch"), 77.0, 6), 43.0, 0)
    assert now.stock == ((43.0, 1), (77.0, 6))
    assert stocked(now, 43.0, None).stock == ((77.0, 6),)
    assert stocked(now, 43.0, 10**9).stock[0] == (43.0, interview.MOST_OF_A_MESH)


def whole(words, system: InkSystem) -> Shop:
    """A shop told from the first step to the last."""
    now = named(begun(words, "inch"), "Quay Prints")
    now, _ = told(now, Section.POLICIES, {"paper": "a4"}, "paper")
    now, _ = told(now, Section.PRESSES, {"name": "Old faithful", "stations": "14"}, "stations")
    now, got = told(now, Section.PRESSES, {"max_print_mm": ("16", "18"), "flash_units": "2"}, "flash_units")
    assert not got.faults
    for station in (4, 7, 9):
        now = switched(now, "flash_slots", station)
    for mesh, count in ((43.0, 4), (61.0, 6), (77.0, 8), (90.0, 8), (120.0, 8)):
        now = stocked(now, mesh, count)
    return finished(replace(now, system=system), words).shop


def test_what_is_told_stands_in_the_book() -> None:
    shop = whole(ENGLISH, InkSystem.WATER_BASED)
    press = shop.presses[0]
    assert (press.name, press.stations, press.unload, press.heads) == ("Old faithful", 14, 14, tuple(range(2, 14)))
    assert (press.flash_slots, press.flash_units) == ((4, 7, 9), 2)
    assert press.max_print_mm == (406.4, 457.2)
    assert shop.flash_units_owned == 2
    assert [(s.mesh_per_cm, s.quantity) for s in shop.screens][:2] == [(43, 4), (61, 6)]
    assert shop.screens[0].frame_mm == press.frame_mm
    assert shop.decisions[0].suggest == "water-based"
    assert shop.decisions[0].reason == "this shop mostly prints water-based"
    assert parse_shop(shop_bytes(shop).decode(), "x") == shop


@pytest.mark.parametrize("system", [InkSystem.PLASTISOL, InkSystem.WATER_BASED])
def test_a_book_from_the_interview_plans_the_sample_job(system: InkSystem) -> None:
    shop = whole(ENGLISH, system)
    desk = Desk(shop)
    desk.open(open_paths([SAMPLES / "lantern-walk"], shop=shop))
    desk.put(edits.on_press(desk.job, "Old faithful").job)
    for _ in range(20):
        task = next((task for task in desk.wanted() if task.stage is not Stage.PICTURES), None)
        if task is None:
            break
        try:
            desk.take(task, task.run(lambda share: None, lambda: False))
        except SetupAssistError as error:
            desk.fail(task, error)
    made = desk.results.made
    assert made is not None, [desk.trouble(stage) for stage in Stage]
    assert made.plan.feasible
    printed = [slot for slot in made.plan.slots if slot.holds == "screen"]
    assert len(printed) >= 5
    assert all(slot.mesh_per_cm for slot in printed), "the stock told holds a mesh for every screen"
    assert {slot.station for slot in made.plan.slots if slot.holds == "flash"} <= {4, 7, 9}
