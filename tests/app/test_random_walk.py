"""A random walk of edits, undone to the start and redone to the end, gives the same documents at every step."""

from __future__ import annotations

import random
from collections.abc import Callable
from pathlib import Path

import pytest
from pytestqt.qtbot import QtBot

from setupassist.app.model import DeskModel
from setupassist.app.window import Window
from setupassist.desk import edits
from setupassist.desk.edits import Edit
from setupassist.documents.base import read_document
from setupassist.documents.job import Job
from setupassist.documents.plan import Slot
from setupassist.documents.terms import Fibre, InkSystem, Role, StrategyName
from setupassist.words import say
from tests.app.conftest import SAMPLES

STEPS = 150
SOURCES = ("lantern-walk", "night-heron", "figures")


def inks_of(job: Job) -> list[str]:
    plates = job.plates
    if isinstance(plates, tuple):
        return [plate.ink or plate.file for plate in plates]
    return [] if isinstance(plates, str) else [plate.name for plate in plates.plates]


def random_slots(chance: random.Random, inks: list[str]) -> list[Slot]:
    stations = chance.sample(range(2, 10), min(len(inks), 7))
    slots = [Slot(lap=1, station=at, holds="screen", ink=ink) for at, ink in zip(stations, inks, strict=False)]
    return [*slots, Slot(lap=1, station=chance.choice([3, 5, 8]), holds="flash")]


def random_edit(chance: random.Random, model: DeskModel) -> Callable[[], Edit]:
    """Any edit that the window can make, with any value, some of them faulty."""
    job, inks = model.job, inks_of(model.job)
    ink, station = chance.choice(inks), chance.randint(1, 12)
    press = model.press
    assert press is not None
    makes: list[Callable[[], Edit]] = [
        lambda: edits.title(job, f"Title {chance.randrange(100)}"),
        lambda: edits.answer(job, "base-hits", chance.choice(["one", "two-strokes", "print-flash-print", None])),
        lambda: edits.answer(job, "tests", str(chance.randint(0, 9))),
        lambda: edits.note_ink(job, ink, role=chance.choice([*(role.value for role in Role), None])),
        lambda: edits.note_ink(job, ink, colour=chance.choice([f"#{chance.randrange(16**6):06x}", None, "no colour"])),
        lambda: edits.note_ink(job, ink, prints=chance.choice([1, 2, None, 3])),
        lambda: edits.garment(job, 0, colour=f"#{chance.randrange(16**6):06x}"),
        lambda: edits.garment(job, len(job.groups) - 1, fibre=chance.choice([fibre.value for fibre in Fibre])),
        lambda: edits.add_garment(job, f"group {chance.randrange(50)}"),
        lambda: edits.remove_garment(job, chance.randrange(len(job.groups))),
        lambda: edits.pieces(job, chance.choice([None, 12, 288])),
        lambda: edits.pieces(job, 30, {"S": 10, "M": 20}),
        lambda: edits.pin(job, ink, chance.choice([station, None])),
        lambda: edits.pin_flash(job, station, chance.random() < 0.5),
        lambda: edits.keep_empty(job, station, chance.random() < 0.6),
        lambda: edits.out_of_service(job, press, station, chance.random() < 0.6),
        lambda: edits.on_press(job, chance.choice([p.name for p in model.desk.shop.presses])),
        lambda: edits.strategy(job, chance.choice([name.value for name in StrategyName])),
        lambda: edits.arrangement(job, random_slots(chance, inks), say("desk.edit.field")),
        lambda: edits.arrangement(job, None, say("desk.edit.field")),
        lambda: edits.standing_now(job, chance.choice([None, random_slots(chance, inks)])),
        lambda: edits.override(job, ink, "strokes", chance.choice([1, 2, 3, None, 99])),
        lambda: edits.override(job, ink, "mesh_per_inch", chance.choice([110.0, 156.0, 230.0, None])),
        lambda: edits.flash_seconds(job, station, chance.choice([3.5, 6.0, None, -1.0])),
        lambda: edits.sheet(job, paper=chance.choice(["a4", "letter", None])),
        lambda: edits.with_fields(job, say("desk.edit.field"), location="back", placement=f"{station} mm"),
        lambda: edits.with_fields(
            job, say("desk.edit.field"), ink_system=chance.choice([system.value for system in InkSystem])
        ),
    ]
    return chance.choice(makes)


def open_source(model: DeskModel, source: str, write_job: Callable[..., Path]) -> None:
    assert model.open([write_job() if source == "figures" else SAMPLES / source])


@pytest.mark.parametrize("source", SOURCES)
@pytest.mark.parametrize("seed", range(3))
def test_undone_to_the_start_and_redone_to_the_end(
    model: DeskModel, write_job: Callable[..., Path], monkeypatch: pytest.MonkeyPatch, source: str, seed: int
) -> None:
    monkeypatch.setattr(model.desk, "wanted", lambda: iter(()))  # documents are walked here, not plans
    open_source(model, source, write_job)
    chance = random.Random(seed)
    states, names = [model.job], []
    for _ in range(STEPS):
        model.edit(random_edit(chance, model))
        count = model.undo.count()
        if count < len(names):  # a merged edit that came back to where it began is no edit
            del states[count + 1 :], names[count:]
        if count > len(names):
            states.append(model.job)
            names.append(model.undo.undoText())
        else:
            states[-1] = model.job
            assert count == len(names)
        assert read_document(Job, model.job.model_dump(mode="json", by_alias=True), "walk") == model.job
    assert len(states) > STEPS // 3
    for state, name in zip(reversed(states[:-1]), reversed(names), strict=True):
        assert model.undo.undoText() == name
        model.undo.undo()
        assert model.job == state
    assert not model.undo.canUndo()
    assert not model.desk.modified
    for state in states[1:]:
        model.undo.redo()
        assert model.job == state
    assert not model.undo.canRedo()


def test_a_walk_in_the_window_with_everything_worked_out(
    opened: Window, at_rest: Callable[[], None], qtbot: QtBot
) -> None:
    model, chance = opened.model, random.Random(11)
    first = model.job
    for step in range(40):
        model.edit(random_edit(chance, model))
        opened.go(chance.choice(list(opened.places)))
        if step % 8 == 0:
            at_rest()
        else:
            qtbot.wait(chance.choice([0, 5, 30]))
    at_rest()
    while model.undo.canUndo():
        model.undo.undo()
    assert model.job == first
    at_rest()
    made = model.results.made
    assert made is not None
    assert made.plan.feasible
