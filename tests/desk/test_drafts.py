"""Drafts and memory: what is kept comes back, what is damaged is as if it were not there."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import pytest

from setupassist.desk import drafts, edits, memory
from setupassist.desk.desk import Desk
from setupassist.desk.opening import open_paths
from setupassist.documents.store import example_shop


def test_a_draft_brings_back_what_the_file_does_not_hold(desk: Desk) -> None:
    opened = desk.opened
    assert opened is not None
    assert drafts.recovered(opened) is None
    drafts.keep(opened, at="2026-01-01T06:45")
    assert drafts.recovered(opened) is None
    edited = replace(opened, job=edits.pin(opened.job, "red", 7).job)
    drafts.keep(edited, at="2026-01-01T06:46")
    back = drafts.recovered(opened)
    assert back is not None
    assert back.job == edited.job
    assert back.saved == opened.job
    assert [draft.kept_at for draft in drafts.drafts()] == ["2026-01-01T06:46"]
    drafts.drop(opened.file)
    assert drafts.recovered(opened) is None


def test_a_damaged_draft_is_as_if_there_were_none(desk: Desk) -> None:
    assert desk.opened is not None
    drafts.keep(desk.opened, at="")
    drafts.draft_path(desk.opened.file).write_bytes(b'{"format": "setupassist-dr')
    assert drafts.draft_of(desk.opened.file) is None
    assert drafts.drafts() == ()


def test_a_draft_of_a_running_process_is_known(desk: Desk) -> None:
    assert desk.opened is not None
    drafts.keep(desk.opened, at="")
    draft = drafts.draft_of(desk.opened.file)
    assert draft is not None
    assert not drafts.in_another_window(draft)
    assert drafts.in_another_window(draft.model_copy(update={"process": 1}))
    assert not drafts.in_another_window(draft.model_copy(update={"process": 2**22 + 1}))


def test_recents_hold_what_is_still_there_latest_first(tmp_path: Path) -> None:
    folders = [tmp_path / str(at) for at in range(15)]
    for folder in folders:
        folder.mkdir()
        memory.opened_lately(folder)
    memory.opened_lately(folders[5])
    assert memory.recents()[:2] == (folders[5], folders[14])
    assert len(memory.recents()) == memory.MOST_RECENTS
    folders[14].rmdir()
    assert folders[14] not in memory.recents()
    memory.forget_recents()
    assert memory.recents() == ()


def test_preferences_come_back_and_damage_gives_the_defaults() -> None:
    liked = memory.preferences().model_copy(update={"language": "es", "text_percent": 125})
    memory.prefer(liked)
    assert memory.preferences() == liked
    (memory.state_folder() / memory.PREFERENCES).write_text("{")
    assert memory.preferences().language is None


def test_plates_of_two_folders_are_no_job(tmp_path: Path, write_job: Callable[..., Path]) -> None:
    (tmp_path / "a").mkdir()
    one, two = tmp_path / "a" / "x.png", tmp_path / "y.png"
    for path in (one, two):
        path.write_bytes(b"")
    with pytest.raises(Exception, match="another folder"):
        open_paths([one, two], shop=example_shop())
    with pytest.raises(Exception, match="no such file"):
        open_paths([tmp_path / "nowhere"], shop=example_shop())
