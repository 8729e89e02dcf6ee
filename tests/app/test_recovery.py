"""A crash loses nothing that is older than two seconds, and never harms the job's own file."""

from __future__ import annotations

import hashlib
import json
import os
import random
import signal
import subprocess
import sys
import time
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import pytest
from pytestqt.qtbot import QtBot

from setupassist.app.window import Window
from setupassist.desk import drafts, edits
from setupassist.desk.opening import open_paths
from setupassist.documents.job import Job
from setupassist.documents.places import state_folder
from setupassist.documents.store import example_shop, read_job
from setupassist.documents.store import write_job as write_job_to
from setupassist.errors import MachineFault
from setupassist.words import say

OLDEST_LOSS_SECONDS = 2.0

EDITOR = """
import random, sys, time
from pathlib import Path
from PySide6.QtCore import QTimer
from PySide6.QtWidgets import QApplication
from setupassist.app import theme
from setupassist.app.model import DeskModel
from setupassist.app.window import Window
from setupassist.desk import edits
from setupassist.documents.store import example_shop
from tests.app.test_recovery import digest

app = QApplication([])
theme.load_fonts()
model = DeskModel(example_shop())
window = Window(model)
window.show()
window.open([Path(sys.argv[1])])
chance = random.Random(int(sys.argv[2]))
inks = [plate.name for plate in model.job.plates.plates]

def edit():
    kind = chance.randrange(5)
    if kind == 0:
        model.edit(lambda: edits.title(model.job, f"Title {chance.randrange(10**6)}"))
    elif kind == 1:
        model.edit(lambda: edits.pin(model.job, chance.choice(inks), chance.randint(2, 9)))
    elif kind == 2:
        model.edit(lambda: edits.keep_empty(model.job, chance.randint(2, 9), chance.random() < 0.5))
    elif kind == 3:
        model.edit(lambda: edits.override(model.job, chance.choice(inks), "strokes", chance.randint(1, 3)))
    elif model.undo.canUndo():
        model.undo.undo()
    print(time.time(), digest(model.job), flush=True)

timer = QTimer()
timer.setInterval(20)
timer.timeout.connect(edit)
timer.start()
app.exec()
"""


def digest(job: Job) -> str:
    """A short mark of all that a job holds."""
    return hashlib.sha256(job.model_dump_json(by_alias=True).encode()).hexdigest()[:16]


@pytest.mark.parametrize("seed", range(4))
def test_killed_at_a_random_moment(write_job: Callable[..., Path], home: Path, seed: int) -> None:
    file = write_job()
    before = file.read_bytes()
    here = Path(__file__).parents[2]
    environment = os.environ | {"SETUPASSIST_HOME": str(home), "QT_QPA_PLATFORM": "offscreen", "PYTHONPATH": str(here)}
    with subprocess.Popen(
        [sys.executable, "-c", EDITOR, str(file), str(seed)],
        stdout=subprocess.PIPE, text=True, env=environment, cwd=here,
    ) as process:  # fmt: skip
        assert process.stdout is not None
        first = process.stdout.readline()
        assert first, "the window never came up"
        time.sleep(random.Random(seed).uniform(0.2, 3.0))
        process.send_signal(signal.SIGKILL)
        killed = time.time()
        told = [first, *process.stdout]
    edited = [(float(at), mark) for at, mark in (line.split() for line in told if line.count(" ") == 1)]
    assert file.read_bytes() == before, "the job's own file was touched"
    opened = open_paths([file], shop=example_shop())
    back = drafts.recovered(opened) or opened
    # Edits may come back to a job as it was before: the latest time at which the job was like that counts.
    times = [at for at, mark in edited if mark == digest(back.job)]
    if not times:
        assert digest(back.job) == digest(opened.job)
        assert killed - edited[0][0] <= OLDEST_LOSS_SECONDS
        return
    after = [at for at, _ in edited if at > max(times)]
    if after:
        assert killed - after[0] <= OLDEST_LOSS_SECONDS, f"an edit {killed - after[0]:.2f} s old was lost"


def test_a_draft_that_cannot_be_written_is_told_and_work_goes_on(
    opened: Window, monkeypatch: pytest.MonkeyPatch, qtbot: QtBot, at_rest: Callable[[], None]
) -> None:
    said: list[str] = []
    opened.model.told.connect(said.append)

    def full(*_: object, **__: object) -> None:
        raise MachineFault(say("app.run.no-file", file="draft", why="No space left on device"))

    monkeypatch.setattr(drafts, "keep", full)
    model = opened.model
    assert model.edit(lambda: edits.pin(model.job, "red", 7))
    qtbot.waitUntil(lambda: any("No space left" in sentence for sentence in said), timeout=5000)
    monkeypatch.undo()
    assert model.edit(lambda: edits.pin(model.job, "red", 8))
    file = model.desk.opened.file
    qtbot.waitUntil(lambda: drafts.draft_of(file) is not None, timeout=5000)
    draft = drafts.draft_of(file)
    assert draft is not None
    assert draft.job.pins == {"red": 8}
    at_rest()


def test_a_draft_that_failed_is_tried_again_without_another_edit(
    opened: Window, monkeypatch: pytest.MonkeyPatch, qtbot: QtBot, at_rest: Callable[[], None]
) -> None:
    model, file = opened.model, opened.model.desk.opened.file
    keep, failed = drafts.keep, []

    def once(*told: object, **more: object) -> None:
        if not failed:
            failed.append(1)
            raise MachineFault("the disk was busy")
        keep(*told, **more)  # type: ignore[arg-type]

    monkeypatch.setattr(drafts, "keep", once)
    model.edit(lambda: edits.pin(model.job, "red", 7))
    qtbot.waitUntil(lambda: drafts.draft_of(file) is not None, timeout=5000)
    at_rest()


def test_a_draft_of_a_newer_version_is_left_alone(write_job: Callable[..., Path]) -> None:
    opened = open_paths([write_job()], shop=example_shop())
    drafts.keep(replace(opened, job=edits.pin(opened.job, "red", 7).job), at="2026-01-01")
    path = drafts.draft_path(opened.file)
    data = json.loads(path.read_text())
    path.write_text(json.dumps(data | {"format": "setupassist-draft/9"}))
    assert drafts.recovered(opened) is None
    assert path.exists()


def test_two_windows_on_one_job_do_not_take_each_others_draft(
    window: Window, write_job: Callable[..., Path], at_rest: Callable[[], None]
) -> None:
    file = write_job()
    opened = open_paths([file], shop=example_shop())
    drafts.keep(replace(opened, job=edits.pin(opened.job, "red", 7).job), at="2026-01-01")
    path = drafts.draft_path(opened.file)
    path.write_text(json.dumps(json.loads(path.read_text()) | {"process": os.getppid()}))
    said: list[str] = []
    window.model.told.connect(said.append)
    window.open([file])
    assert window.model.job.pins == {}
    assert any("another window" in sentence for sentence in said)
    at_rest()


def test_a_job_whose_file_is_gone_is_offered_from_its_draft(
    window: Window, write_job: Callable[..., Path], at_rest: Callable[[], None]
) -> None:
    file = write_job()
    opened = open_paths([file], shop=example_shop())
    drafts.keep(replace(opened, job=edits.pin(opened.job, "red", 7).job), at="2026-01-01T06:45")
    file.unlink()
    (draft,) = drafts.drafts()
    window.model.open_draft(draft)
    assert window.model.job.pins == {"red": 7}
    assert window.model.desk.modified
    at_rest()


def test_leaving_with_unsaved_edits_asks_and_does_as_told(
    opened: Window, monkeypatch: pytest.MonkeyPatch, at_rest: Callable[[], None]
) -> None:
    from setupassist.app import dialogs
    from setupassist.app.dialogs import Leaving

    model, file = opened.model, opened.model.desk.opened.file
    answers = [Leaving.STAY, Leaving.SAVE, Leaving.GIVE_UP]
    monkeypatch.setattr(dialogs, "ask_leaving", lambda *_: answers.pop(0))
    model.edit(lambda: edits.pin(model.job, "red", 7))
    opened.close_job()
    assert model.has_job
    opened.close_job()
    assert not model.has_job
    assert read_job(file).pins == {"red": 7}
    opened.open([file])
    at_rest()
    model.edit(lambda: edits.pin(model.job, "red", 8))
    opened.close_job()
    assert read_job(file).pins == {"red": 7}
    assert drafts.draft_of(file) is None
    assert not list((state_folder() / drafts.FOLDER).glob("*.json"))
    at_rest()


def test_a_file_changed_by_somebody_else_is_replaced_only_when_asked_twice(
    opened: Window, qtbot: QtBot, at_rest: Callable[[], None]
) -> None:
    model, file = opened.model, opened.model.desk.opened.file
    said: list[str] = []
    model.told.connect(said.append)
    other = edits.title(model.job, "Theirs").job
    write_job_to(file, other)
    model.edit(lambda: edits.title(model.job, "Ours"))
    model.save()
    qtbot.waitUntil(lambda: any("somebody else" in sentence for sentence in said), timeout=5000)
    assert read_job(file).title == "Theirs"
    assert model.desk.modified
    model.save()
    qtbot.waitUntil(lambda: not model.desk.modified, timeout=5000)
    assert read_job(file).title == "Ours"
    assert read_job(file.with_name(file.name + ".last")).title == "Theirs"
    at_rest()
