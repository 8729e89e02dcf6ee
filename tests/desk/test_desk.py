"""What the desk asks for, when an answer is fresh, and what an edit makes stale."""

from __future__ import annotations

from pathlib import Path

import numpy as np
from PIL import Image

from setupassist.desk import edits
from setupassist.desk.desk import Desk, SheetWish
from setupassist.desk.opening import open_paths
from setupassist.desk.saving import save_job
from setupassist.desk.tasks import Stage
from setupassist.documents.plan import Slot
from setupassist.documents.store import example_shop
from setupassist.documents.terms import StrategyName
from tests.desk.conftest import SAMPLES, work_off


def stages(done) -> list[Stage]:
    return [stage for stage, _ in done]


def test_figures_are_planned_under_every_strategy_and_then_nothing_is_wanted(desk: Desk) -> None:
    done = work_off(desk)
    assert stages(done) == [Stage.PLATES, Stage.MEASURED, *[Stage.PLANS] * 3, Stage.MADE] or set(stages(done)) == {
        Stage.PLATES, Stage.MEASURED, Stage.PLANS, Stage.MADE,
    }  # fmt: skip
    assert desk.results.made is not None
    assert desk.results.made.plan.feasible
    assert set(desk.results.plans) == set(StrategyName)
    assert next(desk.wanted(), None) is None


def test_a_title_makes_nothing_stale_but_the_sheet(desk: Desk) -> None:
    desk.sheet_wish = SheetWish(date="2026-01-01")
    work_off(desk)
    desk.put(edits.title(desk.job, "Another").job)
    assert stages(work_off(desk)) == [Stage.SHEET]


def test_a_pin_plans_anew_and_measures_nothing(desk: Desk) -> None:
    work_off(desk)
    desk.put(edits.pin(desk.job, "red", 7).job)
    assert not desk.fresh(Stage.PLANS, StrategyName.LEANEST)
    assert Stage.MEASURED not in stages(work_off(desk))
    made = desk.results.made
    assert made is not None
    assert [slot.station for slot in made.plan.slots if slot.ink == "red"] == [7]


def test_an_answer_to_an_older_question_is_dropped(desk: Desk) -> None:
    for _ in range(2):
        task = next(desk.wanted())
        desk.take(task, task.run(lambda share: None, lambda: False))
    task = next(desk.wanted())
    value = task.run(lambda share: None, lambda: False)
    desk.put(edits.keep_empty(desk.job, 4, True).job)
    assert desk.outdated(task)
    assert not desk.take(task, value)
    assert not desk.results.plans


def test_a_hand_made_line_is_judged_without_planning_anew(desk: Desk) -> None:
    work_off(desk)
    assert desk.results.made is not None
    slots = [Slot(lap=1, station=at, holds="screen", ink=ink) for at, ink in ((2, "black key"), (4, "white base"))]
    desk.put(edits.arrangement(desk.job, slots, edits.say("desk.edit.field")).job)
    assert stages(work_off(desk)) == [Stage.MADE]
    assert len(desk.results.made.plan.broken) >= 3


def test_a_clash_is_an_answer_and_a_fault_is_trouble(desk: Desk) -> None:
    work_off(desk)
    desk.put(edits.with_fields(desk.job, edits.say("desk.edit.field"), keep_empty=[2, 3, 4, 5, 6, 7, 8]).job)
    work_off(desk)
    plan = desk.results.plans[StrategyName.LEANEST].plan
    assert not plan.feasible
    assert plan.clash is not None
    desk.put(edits.with_fields(desk.job, edits.say("desk.edit.field"), keep_empty=None, pins={"mauve": 3}).job)
    work_off(desk)
    assert any("mauve" in sentence for sentence in desk.trouble(Stage.PLANS, StrategyName.LEANEST))
    assert next(desk.wanted(), None) is None
    desk.again(Stage.PLANS, StrategyName.LEANEST)
    assert next(desk.wanted()).stage is Stage.PLANS


def test_another_colour_does_not_read_the_plates_again_but_another_base_does() -> None:
    desk = Desk(example_shop())
    desk.open(open_paths([SAMPLES / "lantern-walk"], shop=desk.shop))
    work_off(desk)
    before = desk.results.measured
    assert before is not None
    assert before.plates is not None
    desk.put(edits.note_ink(desk.job, "brick red", colour="#0000ff").job)
    work_off(desk)
    after = desk.results.measured
    assert after is not None
    assert after.measure.contacts is before.measure.contacts
    assert after.measure.plate("brick red").lab != before.measure.plate("brick red").lab
    desk.put(edits.note_ink(desk.job, "brick red", role="base").job)
    work_off(desk)
    assert desk.results.measured is not None
    assert {choke.base for choke in desk.results.measured.measure.chokes} == {"white base", "brick red"}


def test_a_folder_of_plates_becomes_a_job(tmp_path: Path) -> None:
    folder = tmp_path / "river-otter"
    folder.mkdir()
    for at, name in enumerate(["01-white base", "02-teal"]):
        ink = np.full((240, 300), 255, np.uint8)
        ink[40 + at : 200, 40:250] = 0
        Image.fromarray(ink).save(folder / f"{name}.png", dpi=(300, 300))
    desk = Desk(example_shop())
    opened = open_paths([folder], shop=desk.shop, press="Big wheel")
    desk.open(opened)
    work_off(desk)
    assert desk.job.title == "River otter"
    assert desk.job.press == "Big wheel"
    assert opened.file == folder / "job.json"
    assert opened.saved is None
    assert desk.modified
    assert list(desk.results.pictures) == ["white base", "teal"]
    assert desk.results.made is not None


def test_what_is_wrong_with_bare_plates_names_their_folder_as_long_as_no_job_lies_there(tmp_path: Path) -> None:
    folder = tmp_path / "dry-well"
    folder.mkdir()
    for name in ("teal", "red"):
        Image.fromarray(np.full((240, 300), 255, np.uint8)).save(folder / f"{name}.png", dpi=(300, 300))
    desk = Desk(example_shop())
    opened = open_paths([folder], shop=desk.shop, press="Big wheel")
    desk.open(opened)
    work_off(desk)
    strategy = desk.job.strategy
    assert [told.split(";")[0] for told in desk.trouble(Stage.PLANS, strategy)] == [
        "dry-well, plates: no plate holds ink"
    ]
    save_job(opened, opened.file)
    desk.saved(opened.job)
    desk.again(Stage.PLANS, strategy)
    work_off(desk)
    assert [told.split(";")[0] for told in desk.trouble(Stage.PLANS, strategy)] == [
        "job.json, plates: no plate holds ink"
    ]


def test_a_press_that_the_book_lacks_is_told(desk: Desk) -> None:
    desk.put(desk.job.model_copy(update={"press": "Nowhere"}))
    assert any("Nowhere" in sentence for sentence in desk.trouble(Stage.PLATES))
    assert next(desk.wanted(), None) is None
