"""The desk as the window's widgets see it: signals, undo, tasks in threads, drafts on disk."""

from __future__ import annotations

import datetime
import os
from collections.abc import Callable, Sequence
from dataclasses import replace
from functools import partial
from pathlib import Path
from typing import Any

from PySide6.QtCore import QObject, QTimer, Signal
from PySide6.QtGui import QUndoStack

from setupassist.app.book import BookModel
from setupassist.app.drawing import Drawing
from setupassist.app.runner import Runner
from setupassist.app.selection import Selection
from setupassist.app.undo import DocumentEdit, name_edits
from setupassist.desk import drafts, memory
from setupassist.desk.desk import Desk, Results, SheetWish
from setupassist.desk.edits import Edit
from setupassist.desk.opening import Opened, open_paths
from setupassist.desk.saving import ChangedOnDisk, save_job
from setupassist.desk.tasks import Lane, Task
from setupassist.documents.draft import Draft, Preferences
from setupassist.documents.job import Job
from setupassist.documents.press import Press
from setupassist.documents.shop import Shop
from setupassist.errors import Cancelled, SetupAssistError
from setupassist.words import Words, languages, say, wanted_language, words_in
from setupassist.work import JOB_FILE

DRAFT_AFTER_MS = 300


class DeskModel(QObject):
    """The desk with signals.

    ``opened``: another job, or none. ``job_changed``: an edit was made or undone. ``stage_changed``: something was
    worked out, went stale or failed. ``busy_changed``: what runs. ``selected``: another selection. ``told``: a passing
    sentence for the person (in English or a Said; word it). ``preferences_changed``: language, theme, units, text size.
    ``shop_changed``: the shop book. ``saved_changed``: whether the file holds the job.
    """

    opened = Signal()
    job_changed = Signal()
    stage_changed = Signal(str)
    busy_changed = Signal()
    selected = Signal()
    told = Signal(object)
    preferences_changed = Signal()
    shop_changed = Signal()
    saved_changed = Signal()
    recovered = Signal(str)

    def __init__(self, shop: Shop, parent: QObject | None = None, *, shop_file: Path | None = None) -> None:
        super().__init__(parent)
        self.desk = Desk(shop)
        self.preferences: Preferences = memory.preferences()
        self.selection = Selection()
        self.undo = QUndoStack(self)
        self.book = BookModel(self, shop, shop_file)
        self.runner = Runner(self)
        self.runner.changed.connect(self.busy_changed)
        self.drawing = Drawing(self.runner, self)
        self._draft_timer = QTimer(self)
        self._draft_timer.setSingleShot(True)
        self._draft_timer.setInterval(DRAFT_AFTER_MS)
        self._draft_timer.timeout.connect(self._keep_draft)
        self._to_disk: list[tuple[str, Callable[[], Any], Callable[[Any, SetupAssistError | None], None]]] = []
        self._wanting_sheet: set[str] = set()
        self._draft_kept: Job | None = None
        self._draft_trouble = False
        self.brought_back = False
        self._seen_on_disk: Job | None = None

    # ------------------------------------------------------------ what is asked most

    @property
    def words(self) -> Words:
        """The window's language."""
        return words_in(self.language)

    @property
    def language(self) -> str:
        """The language that the person chose, else the system's."""
        chosen = self.preferences.language
        return chosen if chosen in languages() else wanted_language()

    @property
    def units(self) -> str:
        """``inch`` or ``metric``: the person's choice, else the shop's."""
        return self.preferences.units or self.desk.shop.policies.units

    def say(self, key: str, **values: Any) -> str:
        """A text of the window in its language."""
        return self.words.say(key, **values)

    @property
    def has_job(self) -> bool:
        """Whether a job is open."""
        return self.desk.opened is not None

    @property
    def job(self) -> Job:
        """The job as it is now."""
        return self.desk.job

    @property
    def press(self) -> Press | None:
        """The job's press."""
        return self.desk.press

    @property
    def results(self) -> Results:
        """All that is known of the job."""
        return self.desk.results

    # ------------------------------------------------------------ opening, saving, closing

    def open(self, paths: Sequence[Path]) -> bool:
        """Opens what was dropped or named; what is wrong with it is told, and then the old job stays."""
        try:
            opened = open_paths(paths, shop=self.desk.shop, press=self.preferences.press)
        except SetupAssistError as fault:
            self.tell(fault)
            if paths and (paths[0] / JOB_FILE).is_file():
                self.told.emit(say("app.open-without-job"))
            return False
        self.flush()
        back = drafts.recovered(opened)
        draft = drafts.draft_of(opened.file) if back is not None else None
        if draft is not None and drafts.in_another_window(draft):
            self.told.emit(say("app.open-elsewhere", file=opened.file.name))
            back = None
        self._open(back or opened, brought_back=back is not None)
        lately = opened.file if opened.saved is not None else paths[0]
        self.on_disk(say("app.run.saving"), lambda: memory.opened_lately(lately))
        if back is not None and draft is not None:
            self.recovered.emit(draft.kept_at)
        return True

    def open_draft(self, draft: Draft) -> None:
        """A job whose file is not there, as its draft has it."""
        file = Path(draft.file)
        if file.exists():
            self.open([file])
            return
        self.flush()
        self._open(Opened(draft.job, Path(draft.folder), file, None), brought_back=True)
        self.recovered.emit(draft.kept_at)

    def _open(self, opened: Opened, *, brought_back: bool) -> None:
        self.brought_back = brought_back
        self.runner.stop()
        self.desk.open(opened)
        self._draft_kept = None
        self.undo.clear()
        self.selection = Selection()
        self.opened.emit()
        self.saved_changed.emit()
        self.selected.emit()
        self._note_draft()
        self.pump()

    def back_to_saved(self) -> None:
        """The job as its file holds it, as one edit that can be undone."""
        opened = self.desk.opened
        if opened is not None and opened.saved is not None:
            self.edit(Edit(say("app.edit.back-to-saved"), opened.saved))

    def save(self, file: Path | None = None) -> None:
        """Writes the job to its file (or another beside its plates) in the background; a failure is told.

        A file that somebody else has changed meanwhile is told of and left; saving once more replaces it.
        """
        opened = self.desk.opened
        if opened is None:
            return
        target, seen = file or opened.file, self._seen_on_disk

        def done(value: Any, error: SetupAssistError | None) -> None:
            self._seen_on_disk = error.on_disk if isinstance(error, ChangedOnDisk) else None
            if error is not None:
                self.tell(error)
                return
            if self.desk.opened is not None and self.desk.opened.file == opened.file:
                self.desk.opened = replace(self.desk.opened, file=target, saved=opened.job)
                if not self.desk.modified:
                    drafts.drop(opened.file)
                self.saved_changed.emit()
                self.on_disk(say("app.run.saving"), lambda: memory.opened_lately(target))

        self.on_disk(say("app.run.saving"), lambda: save_job(opened, target, seen=seen), done)

    def close_job(self, *, keep_draft: bool) -> None:
        """Takes the job off the desk; without ``keep_draft`` what was not saved is given up."""
        opened = self.desk.opened
        if opened is None:
            return
        if keep_draft:
            self.flush()
        else:
            self._draft_timer.stop()
            drafts.drop(opened.file)
        self.runner.stop()
        self.desk.close()
        self.undo.clear()
        self.selection = Selection()
        self.opened.emit()
        self.selected.emit()

    def shut(self) -> bool:
        """Keeps the draft, stops all threads and waits a bounded time; whether all ended."""
        self.flush()
        self.book.flush()
        return self.runner.close()

    # ------------------------------------------------------------ edits

    def edit(self, edit: Edit | Callable[[], Edit]) -> bool:
        """Makes an edit that can be undone; a fault is told and nothing changes. False where nothing changed."""
        if not self.has_job:
            return False
        try:
            made = edit() if callable(edit) else edit
        except SetupAssistError as fault:
            self.tell(fault)
            return False
        if made.job == self.job:
            return False
        self.undo.push(DocumentEdit(made.name, self.words, self._put, self.job, made.job, merges=made.merges))
        return True

    def _put(self, job: Job) -> None:
        if self.desk.opened is None:
            return
        self.desk.put(job)
        self.job_changed.emit()
        self.saved_changed.emit()
        self._note_draft()
        self.pump()

    def put_shop(self, shop: Shop) -> None:
        """The shop book after an edit, kept by whoever edited it."""
        self.desk.put_shop(shop)
        self.shop_changed.emit()
        if self.has_job:
            self.job_changed.emit()
            self.pump()

    def name_edits(self) -> None:
        """Says the names of all edits in the window's language, after it has changed."""
        for stack in (self.undo, self.book.undo):
            name_edits(stack, self.words)

    def select(self, selection: Selection) -> None:
        """Another thing is selected."""
        if selection != self.selection:
            self.selection = selection
            self.selected.emit()

    def prefer(self, **changes: Any) -> None:
        """Changes how the person likes the window, and keeps it."""
        self.preferences = self.preferences.model_copy(update=changes)
        kept = self.preferences
        self.on_disk(say("app.run.saving"), lambda: memory.prefer(kept))
        if changes.keys() & {"language", "theme", "text_percent", "units"}:
            self.preferences_changed.emit()
            self.pump()

    def tell(self, fault: SetupAssistError) -> None:
        """Tells a fault in the person's words; a stop that the person asked for is no fault."""
        if not isinstance(fault, Cancelled):
            for sentence in fault.sentences():
                self.told.emit(sentence)

    # ------------------------------------------------------------ tasks

    def want_sheet(self, wanted: bool, who: str = "place") -> None:
        """Whether somebody wants the sheet: it is set only where anybody does."""
        (self._wanting_sheet.add if wanted else self._wanting_sheet.discard)(who)
        self.pump()

    def _sheet_wish(self) -> SheetWish | None:
        return self.how_printed() if self._wanting_sheet and self.has_job else None

    def how_printed(self) -> SheetWish:
        """How the open job's sheet and reports are printed today."""
        sheet, policies = self.job.sheet, self.desk.shop.policies
        return SheetWish(
            date=datetime.date.today().isoformat(),
            language=sheet.language or self.language,
            paper=sheet.paper or policies.paper,
            units=sheet.units or self.units,
        )

    def pump(self) -> None:
        """Begins what is wanted and can be begun; ends what nobody asks any more."""
        self.desk.sheet_wish, self.desk.units = self._sheet_wish(), self.units
        for task in list(self.runner.running.values()):
            if isinstance(task.asked, Task) and self.desk.outdated(task.asked):
                task.stopped.set()
        begun: set[Lane] = set()
        for wanted in self.desk.wanted():
            if wanted.lane in begun or not self.runner.free(wanted.lane):
                continue
            begun.add(wanted.lane)
            what = say(f"app.run.{wanted.stage}")
            self.runner.start(wanted.lane, what, wanted.run, partial(self._came, wanted), asked=wanted)
        self.stage_changed.emit("")

    def _came(self, task: Any, value: Any, error: SetupAssistError | None) -> None:
        if error is None:
            taken = self.desk.take(task, value)
        else:
            outdated = isinstance(error, Cancelled) and self.desk.outdated(task)
            taken = not outdated and self.desk.fail(task, error)
        if taken:
            self.stage_changed.emit(task.stage)
        self.pump()

    def on_disk(
        self,
        what: str,
        write: Callable[[], Any],
        done: Callable[[Any, SetupAssistError | None], None] | None = None,
    ) -> None:
        """Writes something in the background, one after another."""

        def told(value: Any, error: SetupAssistError | None) -> None:
            if done is not None:
                done(value, error)
            elif error is not None:
                self.tell(error)
            self._next_on_disk()

        self._to_disk.append((what, write, told))
        self._next_on_disk()

    def _next_on_disk(self) -> None:
        if self._to_disk and self.runner.free(Lane.DISK):
            what, write, done = self._to_disk.pop(0)
            self.runner.start(Lane.DISK, what, lambda progress, stop: write(), done)

    # ------------------------------------------------------------ drafts

    def _note_draft(self) -> None:
        if not self._draft_timer.isActive():
            self._draft_timer.start()

    def _keep_draft(self) -> None:
        opened = self.desk.opened
        if opened is None or opened.job == self._draft_kept:
            return
        self._draft_kept = opened.job
        at = _now()
        if self.desk.modified:
            self.on_disk(say("app.run.saving"), lambda: drafts.keep(opened, at=at), self._draft_done)
        else:
            self.on_disk(say("app.run.saving"), lambda: drafts.drop(opened.file))

    def _draft_done(self, value: Any, error: SetupAssistError | None) -> None:
        """A draft that could not be kept is told once and tried again until it is."""
        if error is None:
            self._draft_trouble = False
            return
        if not self._draft_trouble:
            self.tell(error)
        self._draft_trouble, self._draft_kept = True, None
        self._note_draft()

    def flush(self) -> None:
        """Keeps the draft at once, before the job leaves the desk."""
        self._draft_timer.stop()
        opened = self.desk.opened
        if opened is not None and self.desk.modified and opened.job != self._draft_kept:
            try:
                drafts.keep(opened, at=_now())
            except SetupAssistError as fault:
                self.tell(fault)


def _now() -> str:
    return datetime.datetime.now().isoformat(timespec="milliseconds")


def absolute(paths: Sequence[str | os.PathLike[str]]) -> list[Path]:
    """Paths as the person named them, made absolute."""
    return [Path(path).absolute() for path in paths]
