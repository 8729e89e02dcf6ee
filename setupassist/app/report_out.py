"""The report of the check out of the window: saved as a PDF, set in the background."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

from PySide6.QtCore import QObject, Signal

from setupassist.app import dialogs
from setupassist.app.model import DeskModel
from setupassist.app.sheet_out import PDF, file_name, over
from setupassist.desk import report
from setupassist.desk.tasks import Lane, Stop
from setupassist.errors import Cancelled, SetupAssistError
from setupassist.words import say


class ReportOut(QObject):
    """Saves the report of the job on the desk; one a model, whatever becomes of the places.

    ``saved`` tells a file that was written.
    """

    saved = Signal(str)

    def __init__(self, model: DeskModel) -> None:
        super().__init__(model)
        self.model = model

    @staticmethod
    def of(model: DeskModel) -> ReportOut:
        """The one of that model."""
        found = model.findChild(ReportOut)
        return found if found is not None else ReportOut(model)

    @property
    def possible(self) -> bool:
        """Whether there is anything to report."""
        return self.model.has_job and report.can_be_made(self.model.desk)

    def save(self) -> None:
        """Asks for a file and writes the report there, in the language, on the paper and in the units of the sheet."""
        model, opened = self.model, self.model.desk.opened
        if opened is None or not self.possible:
            return
        if not model.runner.free(Lane.OUT):
            model.told.emit(say("place_art_check.out.still-writing"))
            return
        title = model.say("place_art_check.report.file", title=model.job.title)
        kinds = f"{model.say('place_run.pdf-files')} (*{PDF})"
        target = dialogs.ask_target(
            over(), model.say("place_art_check.action.save-report"), opened.folder / file_name(title, model), kinds
        )
        if target is None:
            return
        if target.suffix.lower() != PDF:
            target = target.with_name(target.name + PDF)
            if target.exists():
                model.told.emit(say("errors.fault.where-what", where=target.name, what=say("place_run.is-there")))
                return
        self._write(target)

    def _write(self, file: Path) -> None:
        make = report.report_of(self.model.desk, self.model.how_printed())

        def done(value: Any, error: SetupAssistError | None) -> None:
            if error is not None:
                self.model.tell(error)
                return
            self.model.told.emit(say("place_art_check.report.saved", file=str(file)))
            self.saved.emit(str(file))

        self.model.runner.start(
            Lane.OUT,
            say("place_art_check.report.making"),
            lambda progress, stop: _set_and_write(file, make, stop),
            done,
        )


def _set_and_write(file: Path, make: Callable[[], bytes], stop: Stop) -> None:
    """Writes nothing where the person has thought better of it meanwhile."""
    from setupassist.documents.store import write_atomically

    pdf = make()
    if stop():
        raise Cancelled
    write_atomically(file, pdf)
