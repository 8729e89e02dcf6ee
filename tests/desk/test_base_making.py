"""A base made for the job on the desk: suggested with reasons, made aside, taken into the job, undone."""

from __future__ import annotations

import gc
import os
import tempfile
import time
from pathlib import Path

import numpy as np
import pytest
from PIL import Image

from setupassist.desk import art_facts, base_making, edits
from setupassist.desk.base_making import BaseMade, BaseWish
from setupassist.desk.desk import Desk
from setupassist.desk.inks_told import inks_told
from setupassist.desk.opening import open_paths
from setupassist.documents.job import JobPlate
from setupassist.documents.store import example_shop
from setupassist.documents.terms import Role
from setupassist.errors import Cancelled, InputFault
from tests.desk.conftest import work_off
from tests.desk.test_pages import write_pdf

DPI = 254  # ten pixels a mm


def draw(folder: Path, *inks: tuple[str, tuple[int, int, int, int]]) -> Path:
    """A picture a plate, each ink a rectangle (top, bottom, left, right)."""
    folder.mkdir(parents=True, exist_ok=True)
    for at, (name, (top, bottom, left, right)) in enumerate(inks, 1):
        rows = np.full((400, 400), 255, np.uint8)
        rows[top:bottom, left:right] = 0
        Image.fromarray(rows).save(folder / f"{at:02}-{name}.png", dpi=(DPI, DPI))
    return folder


@pytest.fixture
def desk(tmp_path: Path) -> Desk:
    """Teal and red side by side, a thin black key over them."""
    made = Desk(example_shop())
    inks = ("teal", (50, 350, 50, 200)), ("red", (50, 350, 200, 350)), ("black key", (100, 120, 50, 350))
    made.open(open_paths([draw(tmp_path / "set", *inks)], shop=made.shop))
    work_off(made)
    return made


def never() -> bool:
    return False


def made_for(desk: Desk, under: tuple[str, ...] = ("teal", "red"), choke_mm: float = 0.5) -> BaseMade:
    measured = desk.results.measured
    assert measured is not None
    return base_making.make(measured, BaseWish(under, choke_mm), progress=lambda share: None, stop=never)


def names(desk: Desk) -> list[str]:
    plates = desk.results.plates
    assert plates is not None
    return [plate.name for plate in plates.plates]


def take(desk: Desk, made: BaseMade, *, instead: str = "") -> Path:
    """Writes the base beside the plates and takes it in, as the window does."""
    assert desk.opened is not None
    file = base_making.free_file(base_making.folder_of_plates(desk), "white base")
    desk.put(base_making.plates_listed(desk).job)
    base_making.write(made, file, light_is_ink=desk.job.source.light_is_ink)
    desk.put(base_making.taken_in(desk.job, desk.opened.folder, file, "white base", instead=instead).job)
    work_off(desk)
    return file


def test_inks_are_suggested_with_reasons(desk: Desk) -> None:
    told = {ink.name: (ink.carried, str(ink.why)) for ink in base_making.inks_above(desk)}
    assert told == {
        "teal": (True, "its colour needs white below it"),
        "red": (True, "its colour needs white below it"),
        "black key": (False, "needs none: key"),
    }


def test_a_base_lies_aside_and_goes_when_nobody_wants_it(desk: Desk) -> None:
    made = made_for(desk)
    file = made.file
    assert file.is_file()
    (rows,) = next(iter(made.plates.read(400)))
    inside = np.zeros((400, 400), bool)
    inside[55:345, 55:345] = True
    assert (rows[inside] == 255).all()
    assert not rows[:54].any()
    assert not rows[:, 346:].any()
    del made
    gc.collect()
    assert not file.exists()
    assert not file.parent.exists()


def test_a_stop_leaves_nothing_behind(desk: Desk, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    aside = tmp_path / "aside"
    aside.mkdir()
    monkeypatch.setattr(tempfile, "tempdir", str(aside))
    with pytest.raises(Cancelled):
        base_making.make(
            desk.results.measured, BaseWish(("teal",), 0.3), progress=lambda share: None, stop=lambda: True
        )
    assert not list(aside.iterdir())


def test_bases_that_nobody_touched_for_a_day_go(desk: Desk, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """A window that was ended hard leaves them behind."""
    monkeypatch.setattr(tempfile, "tempdir", str(tmp_path))
    old, young, other = (tmp_path / name for name in ("setupassist-base-old", "setupassist-base-young", "other"))
    for folder in (old, young, other):
        folder.mkdir()
        (folder / "base.png").write_bytes(b"left behind")
        if folder is not young:
            os.utime(folder, (time.time() - 100_000, time.time() - 100_000))
    made = made_for(desk)
    assert made.file.parent.name.startswith("setupassist-base-")
    assert not old.exists()
    assert young.exists()
    assert other.exists()


def test_it_is_taken_into_the_job_beside_its_plates_and_checks_clean(desk: Desk) -> None:
    before = desk.job
    file = take(desk, made_for(desk))
    assert file.parent == base_making.folder_of_plates(desk)
    assert names(desk) == ["white base", "teal", "red", "black key"]
    plates = desk.job.plates
    assert isinstance(plates, tuple)
    assert plates[0] == JobPlate(file="white base.png", ink="white base", role=Role.BASE)
    codes = {finding.code for finding in art_facts.findings_known(desk)}
    assert not codes & {"base-peeks-out", "base-not-choked"}
    measured = desk.results.measured
    assert measured is not None
    assert measured.measure.chokes[0].median_mm == pytest.approx(0.5, abs=0.1)
    assert base_making.free_file(file.parent, "white base").name == "white base 2.png"
    assert base_making.free_ink(desk, "white base") == "white base (2)"
    desk.put(base_making.plates_listed(desk).job.model_copy(update={"plates": plates[1:]}))
    work_off(desk)
    assert names(desk) == ["teal", "red", "black key"]
    assert before.plates == "."


def test_it_replaces_a_base_that_was_there_and_what_is_said_of_it_stays(tmp_path: Path) -> None:
    desk = Desk(example_shop())
    inks = ("white base", (40, 360, 40, 360)), ("teal", (50, 350, 50, 350))
    folder = draw(tmp_path / "set", *inks)
    desk.open(open_paths([folder], shop=desk.shop))
    desk.put(edits.note_ink(desk.job, "white base", colour="#eeeeee").job)
    work_off(desk)
    assert [ink.name for ink in base_making.bases_there(desk)] == ["white base"]
    take(desk, made_for(desk, ("teal",)), instead="white base")
    assert names(desk) == ["white base", "teal"]
    assert desk.results.plates.plates[0].file == "white base.png"
    assert (folder / "01-white base.png").is_file()
    assert {ink.name: ink.colour for ink in inks_told(desk)}["white base"] == "#eeeeee"


def test_inks_of_a_pdf_are_listed_and_a_base_stands_beside_them(tmp_path: Path) -> None:
    desk = Desk(example_shop())
    desk.open(open_paths([write_pdf(tmp_path / "two pages.pdf")], shop=desk.shop))
    desk.put(desk.job.model_copy(update={"source": desk.job.source.model_copy(update={"page": 2, "dpi": 254})}))
    work_off(desk)
    take(desk, made_for(desk, ("straw", "navy")))
    assert names(desk) == ["white base", "straw", "navy"]
    assert {plate.columns for plate in desk.results.plates.plates} == {desk.results.plates.plates[0].columns}


@pytest.mark.parametrize("name", ["red  ink", "red " * 40 + "ink"])
def test_files_of_any_name_are_listed(tmp_path: Path, name: str) -> None:
    """Two spaces, or a name too long to be told whole: a file is known by its own name."""
    desk = Desk(example_shop())
    desk.open(open_paths([draw(tmp_path / "set", (name, (50, 350, 50, 350)))], shop=desk.shop))
    work_off(desk)
    plates = base_making.plates_listed(desk).job.plates
    assert isinstance(plates, tuple)
    assert [plate.file for plate in plates] == [f"01-{name}.png"]


def test_a_set_of_negatives_gets_a_negative(desk: Desk) -> None:
    desk.put(desk.job.model_copy(update={"source": desk.job.source.model_copy(update={"light_is_ink": True})}))
    work_off(desk)
    made = made_for(desk, ("teal",))
    area = np.mean(next(iter(made.plates.read(400)))[0])
    take(desk, made)
    base = next(iter(desk.results.plates.read(400)))[0]
    assert np.mean(base) == pytest.approx(area)


def test_it_is_written_as_tiff_where_that_is_wanted(desk: Desk, tmp_path: Path) -> None:
    made = made_for(desk)
    base_making.write(made, tmp_path / "base.tif")
    with Image.open(tmp_path / "base.tif") as image:
        assert image.size == (400, 400)
        assert image.getpixel((200, 200)) == 0


def test_a_base_outside_of_the_jobs_folder_is_no_plate_of_it(desk: Desk, tmp_path: Path) -> None:
    listed = base_making.plates_listed(desk).job
    with pytest.raises(InputFault, match="outside"):
        base_making.taken_in(listed, desk.opened.folder, tmp_path / "base.png", "white base")


def test_nothing_can_be_made_of_figures(write_job) -> None:
    desk = Desk(example_shop())
    desk.open(open_paths([write_job()], shop=desk.shop))
    work_off(desk)
    assert not base_making.can_be_made(desk)
    assert base_making.inks_above(desk) == ()
