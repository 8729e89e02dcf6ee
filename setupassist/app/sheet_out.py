"""The sheet out of the window: on a printer or as a PDF, from any place, as soon as it is set."""

from __future__ import annotations

from collections.abc import Callable
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING, Any

from PySide6.QtCore import QObject, QTimer, Signal
from PySide6.QtWidgets import QApplication, QWidget

from setupassist.app import dialogs
from setupassist.app.model import DeskModel
from setupassist.desk.content import why_no_plan, why_no_sheet
from setupassist.desk.tasks import Lane, Stage
from setupassist.errors import SetupAssistError
from setupassist.words import say

if TYPE_CHECKING:
    from PySide6.QtPrintSupport import QPrinter

WHO = "out"
PDF = ".pdf"
MOST_NAME = 80


class SheetOut(QObject):
    """Prints and saves the sheet of the job on the desk; one a model, whatever becomes of the places.

    ``saved`` tells a file that was written. Between asking and having, the sheet is set in the background.
    """

    saved = Signal(str)

    def __init__(self, model: DeskModel) -> None:
        super().__init__(model)
        self.model = model
        self.last: Path | None = None
        self._then: list[Callable[[bytes], object]] = []
        model.stage_changed.connect(self._look)
        model.opened.connect(self._forget)

    @staticmethod
    def of(model: DeskModel) -> SheetOut:
        """The one of that model."""
        found = model.findChild(SheetOut)
        return found if found is not None else SheetOut(model)

    def save(self) -> None:
        """Asks for a file and writes the sheet there as a PDF."""
        model, opened = self.model, self.model.desk.opened
        if opened is None or not self._possible():
            return
        suggested = (self.last.parent if self.last is not None else opened.folder) / file_name(model.job.title, model)
        self._want()
        target = dialogs.ask_target(
            over(), model.say("place_run.action.save-pdf"), suggested, f"{model.say('place_run.pdf-files')} (*{PDF})"
        )
        if target is not None and target.suffix.lower() != PDF:
            target = target.with_name(target.name + PDF)
            if target.exists():
                model.told.emit(say("errors.fault.where-what", where=target.name, what=say("place_run.is-there")))
                target = None
        if target is None:
            self._rest()
            return
        file = target
        self._when_set(lambda pdf: self._write(file, pdf))

    def print_sheet(self) -> None:
        """Asks for a printer and prints the sheet there."""
        if self.model.desk.opened is None or not self._possible():
            return
        if not self.model.runner.free(Lane.PRINT):
            self.model.told.emit(say("place_run.still-printing"))
            return
        self._want()
        self._when_set(self._ask_printer)

    # ------------------------------------------------------------ waiting for the sheet

    def _possible(self) -> bool:
        """Whether there will be a sheet; tells why where there will be none."""
        told = why_no_plan(self.model.desk)
        for sentence in told:
            self.model.told.emit(sentence)
        return not told

    def _want(self) -> None:
        self.model.desk.again(Stage.SHEET)
        self.model.want_sheet(True, WHO)

    def _rest(self) -> None:
        if not self._then:
            self.model.want_sheet(False, WHO)

    def _when_set(self, then: Callable[[bytes], object]) -> None:
        self._then.append(then)
        self._look()

    def _look(self, *_: object) -> None:
        """Goes on where the sheet is set, gives up where it cannot be."""
        if not self._then:
            return
        desk = self.model.desk
        pdf = desk.results.sheet
        if desk.fresh(Stage.SHEET) and pdf is not None:
            waiting, self._then = self._then, []
            for then in waiting:
                then(pdf)
            self._rest()
            return
        why = why_no_sheet(desk)
        if why:
            self._then = []
            for sentence in why:
                self.model.told.emit(sentence)
            self._rest()

    def _forget(self) -> None:
        """Another job is on the desk."""
        self._then = []
        self.last = None
        self._rest()

    # ------------------------------------------------------------ doing it

    def _write(self, file: Path, pdf: bytes) -> None:
        from setupassist.documents.store import write_atomically

        def done(value: Any, error: SetupAssistError | None) -> None:
            if error is not None:
                self.model.tell(error)
                return
            self.last = file
            self.model.told.emit(say("place_run.saved", file=str(file)))
            self.saved.emit(str(file))
            self.model.stage_changed.emit("")

        self.model.on_disk(say("app.run.saving"), lambda: write_atomically(file, pdf), done)

    def _ask_printer(self, pdf: bytes) -> None:
        """Asks after the events in hand, which a dialog must not hold."""
        QTimer.singleShot(0, self, partial(self._ask_now, pdf))

    def _ask_now(self, pdf: bytes) -> None:
        if not self.model.has_job:
            return
        paper = self.model.job.sheet.paper or self.model.desk.shop.policies.paper
        printer = dialogs.ask_printer(over(), self.model, paper, self.model.job.title)
        if printer is not None:
            self._print(pdf, printer)

    def _print(self, pdf: bytes, printer: QPrinter) -> None:
        from setupassist.app.printing import print_pages

        def done(count: Any, error: SetupAssistError | None) -> None:
            if error is not None:
                self.model.tell(error)
            else:
                self.model.told.emit(say("place_run.printed", count=count))

        self.model.runner.start(
            Lane.PRINT,
            say("place_run.printing"),
            lambda progress, stop: print_pages(pdf, printer, progress=progress, stop=stop),
            done,
        )

    def show_folder(self) -> None:
        """Shows the folder of the sheet that was saved last."""
        if self.last is not None:
            dialogs.show_folder(self.last.parent)


def file_name(title: str, model: DeskModel) -> str:
    """A file name made of a job's title: letters, digits, spaces, dashes."""
    kept = "".join(c if c.isalnum() or c in " -_" else " " for c in title)
    name = " ".join(kept.split())[:MOST_NAME].strip()
    return (name or model.say("place_run.untitled")) + PDF


def over() -> QWidget:
    """What a dialog opens over."""
    shown = [w for w in QApplication.topLevelWidgets() if w.isWindow() and w.isVisible() and w.objectName() != ""]
    found = QApplication.activeWindow() or next(iter(shown or QApplication.topLevelWidgets()), None)
    assert found is not None
    return found
