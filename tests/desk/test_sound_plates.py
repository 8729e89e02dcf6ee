"""A damaged plate among others: the others are opened, measured and planned, and the gap is told."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
from PIL import Image

from setupassist.desk import edits
from setupassist.desk.desk import Desk
from setupassist.desk.opening import open_paths
from setupassist.desk.sound_plates import UNREAD
from setupassist.desk.tasks import Stage
from setupassist.documents.base import read_document
from setupassist.documents.job import Job
from setupassist.documents.store import example_shop
from setupassist.documents.terms import Severity
from tests.desk.conftest import work_off

NAMES = ("white base", "teal", "red", "gold", "black key")


def plates_in(folder: Path, *, dpi: int | None = 300) -> list[Path]:
    """Five plates of one size, each with a block of its own and noise that does not compress."""
    folder.mkdir(parents=True, exist_ok=True)
    noise = np.random.default_rng(3)
    paths = []
    for at, name in enumerate(NAMES):
        ink = np.full((700, 500), 255, np.uint8)
        ink[40 : 560 - 20 * at, 40:400] = 0
        ink[600:680, 40:400] = noise.integers(0, 255, (80, 360))
        path = folder / f"{at + 1:02}-{name}.png"
        Image.fromarray(ink).save(path, **({"dpi": (dpi, dpi)} if dpi else {}))
        paths.append(path)
    return paths


def spoil(path: Path) -> None:
    """Spoils a picture in the middle of its rows: it opens, but cannot be read to its end."""
    data = bytearray(path.read_bytes())
    at = len(data) * 2 // 3
    data[at : at + 200] = bytes(200)
    path.write_bytes(data)


def desk_of(folder: Path, job: Job | None = None) -> Desk:
    desk = Desk(example_shop())
    opened = open_paths([folder], shop=desk.shop, press="Long bench")
    desk.open(opened)
    if job is not None:
        desk.put(job)
    return desk


@pytest.mark.parametrize("hurt", [lambda path: path.write_bytes(b"no picture"), spoil], ids=["header", "rows"])
def test_the_others_are_shown_measured_and_planned_and_the_plan_says_what_is_missing(tmp_path: Path, hurt) -> None:
    paths = plates_in(tmp_path / "set")
    hurt(paths[2])
    desk = desk_of(tmp_path / "set")
    work_off(desk)
    results = desk.results
    assert list(results.pictures) == ["white base", "teal", "gold", "black key"]
    assert [fault.where for fault in results.unread] == ["03-red.png"]
    assert results.measured is not None
    assert [plate.name for plate in results.measured.measure.plates] == ["white base", "teal", "gold", "black key"]
    assert results.made is not None
    assert results.made.plan.feasible
    first = results.made.findings[0]
    assert (first.code, first.severity) == (UNREAD, Severity.STOP)
    assert "03-red.png" in first.text


def test_a_job_that_says_things_of_the_missing_plate_is_planned_without_them_and_forgets_nothing(
    tmp_path: Path,
) -> None:
    paths = plates_in(tmp_path / "set")
    spoil(paths[2])
    told = enumerate(zip(paths, NAMES, strict=True))
    plates = [{"file": path.name} if at % 2 else {"file": path.name, "ink": name} for at, (path, name) in told]
    said = {
        "format": "setupassist-job/1",
        "press": "Long bench",
        "plates": plates,
        "pins": {"red": 4, "gold": 7},
        "on_top": [["red", "teal"], ["black key", "gold"]],
        "inks": {"red": {"role": "colour"}, "gold": {"colour": "#f6bd3b"}},
        "answers": {"colour-of red": "#bb2222"},
        "overrides": {"red 2": {"strokes": 2}},
    }
    job = read_document(Job, said, "job")
    desk = desk_of(tmp_path / "set", job)
    work_off(desk)
    assert desk.job == job
    made = desk.results.made
    assert made is not None
    assert [slot.station for slot in made.plan.slots if slot.ink == "gold"] == [7]
    assert ("gold", "black key") in made.plan.limits.order
    assert made.findings[0].code == UNREAD


def test_a_hand_made_line_with_the_missing_plate_is_judged_without_it(tmp_path: Path) -> None:
    paths = plates_in(tmp_path / "set")
    desk = desk_of(tmp_path / "set")
    work_off(desk)
    made = desk.results.made
    assert made is not None
    desk.put(edits.arrangement(desk.job, made.plan.slots, edits.say("desk.edit.field")).job)
    work_off(desk)
    paths[2].write_bytes(b"")
    desk.open(desk.opened)
    work_off(desk)
    assert desk.results.made is not None
    assert {slot.ink for slot in desk.results.made.plan.slots if slot.ink} <= {
        "white base",
        "teal",
        "gold",
        "black key",
    }
    assert any(slot.ink == "red" for slot in desk.job.arrangement)


def test_mended_files_are_read_when_asked_again(tmp_path: Path) -> None:
    paths = plates_in(tmp_path / "set")
    whole = paths[2].read_bytes()
    spoil(paths[2])
    desk = desk_of(tmp_path / "set")
    done = [stage for stage, _ in work_off(desk)]
    assert done[:4] == [Stage.PLATES, Stage.PICTURES, Stage.PLATES, Stage.PICTURES]
    assert desk.results.unread
    paths[2].write_bytes(whole)
    assert next(desk.wanted(), None) is None
    desk.again(Stage.PLATES)
    work_off(desk)
    assert not desk.results.unread
    assert "red" in desk.results.pictures
    assert desk.results.made is not None
    assert UNREAD not in {finding.code for finding in desk.results.made.findings}


def test_where_no_plate_can_be_read_that_is_trouble(tmp_path: Path) -> None:
    for path in plates_in(tmp_path / "set"):
        spoil(path)
    desk = desk_of(tmp_path / "set")
    work_off(desk)
    told = desk.trouble(Stage.PLATES)
    assert len(told) == 5
    assert all(name in sentence for name, sentence in zip(("01", "02", "03", "04", "05"), sorted(told), strict=True))
    assert next(desk.wanted(), None) is None


def test_one_damaged_picture_without_a_resolution_is_told_as_damaged(tmp_path: Path) -> None:
    paths = plates_in(tmp_path / "set", dpi=None)
    spoil(paths[2])
    desk = desk_of(tmp_path / "set")
    work_off(desk)
    assert [fault.where for fault in desk.results.unread] == ["03-red.png"]
    assert "dpi" in " ".join(desk.trouble(Stage.MEASURED))
