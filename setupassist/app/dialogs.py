"""Every dialog behind a function that returns a value, so that a test can answer for the person."""

from __future__ import annotations

from enum import Enum
from pathlib import Path
from typing import TYPE_CHECKING

from PySide6.QtCore import QUrl
from PySide6.QtGui import QColor, QDesktopServices
from PySide6.QtWidgets import QColorDialog, QFileDialog, QMessageBox, QWidget

from setupassist.app.model import DeskModel

if TYPE_CHECKING:
    from PySide6.QtPrintSupport import QPrinter

PLATE_FILES = "*.png *.tif *.tiff *.pdf *.jpg *.jpeg *.bmp"


class Leaving(Enum):
    """What to do with unsaved changes."""

    SAVE = "save"
    GIVE_UP = "give up"
    STAY = "stay"


def ask_files(parent: QWidget, model: DeskModel) -> list[Path]:
    """Plates or a job to open; [] where the person thought better of it."""
    endings = f"*.json {PLATE_FILES}"
    kinds = f"{model.say('app.files.plates-or-job')} ({endings} {endings.upper()})"
    kinds = f"{kinds};;{model.say('place_art_check.files.any')} (*)"
    names, _ = QFileDialog.getOpenFileNames(parent, model.say("app.action.open"), "", kinds)
    return [Path(name) for name in names]


def ask_folder(parent: QWidget, model: DeskModel) -> Path | None:
    """A folder of plates to open."""
    name = QFileDialog.getExistingDirectory(parent, model.say("app.action.open-folder"))
    return Path(name) if name else None


def ask_target(parent: QWidget, title: str, suggested: Path, kind: str) -> Path | None:
    """A file to write; the dialog itself asks before it replaces one."""
    name, _ = QFileDialog.getSaveFileName(parent, title, str(suggested), kind)
    return Path(name) if name else None


def ask_printer(parent: QWidget, model: DeskModel, paper: str, title: str) -> QPrinter | None:
    """A printer set up by the person, landscape on that paper to begin with; None where they thought better of it."""
    from PySide6.QtGui import QPageLayout, QPageSize
    from PySide6.QtPrintSupport import QPrintDialog, QPrinter

    printer = QPrinter(QPrinter.PrinterMode.HighResolution)
    printer.setDocName(title)
    printer.setCreator(model.say("app.title"))
    size = QPageSize.PageSizeId.A4 if paper == "a4" else QPageSize.PageSizeId.Letter
    printer.setPageSize(QPageSize(size))
    printer.setPageOrientation(QPageLayout.Orientation.Landscape)
    printer.setFullPage(True)
    dialog = QPrintDialog(printer, parent)
    dialog.setWindowTitle(model.say("place_run.action.print"))
    return printer if dialog.exec() == QPrintDialog.DialogCode.Accepted else None


def show_folder(folder: Path) -> None:
    """Shows a folder in the system's own file window."""
    QDesktopServices.openUrl(QUrl.fromLocalFile(str(folder)))


def ask_colour(parent: QWidget, title: str, now: str) -> str | None:
    """A colour as ``#rrggbb``; None where the person thought better of it."""
    first = QColor(now) if QColor.isValidColorName(now) else QColor("#808080")
    picked = QColorDialog.getColor(first, parent, title)
    return picked.name() if picked.isValid() else None


def ask_leaving(parent: QWidget, model: DeskModel) -> Leaving:
    """Whether to save before the job leaves the window."""
    box = QMessageBox(parent)
    box.setWindowTitle(model.say("app.leave.title"))
    box.setText(model.say("app.leave.question", title=model.job.title))
    box.setInformativeText(model.say("app.leave.more"))
    save = box.addButton(model.say("app.leave.save"), QMessageBox.ButtonRole.AcceptRole)
    give_up = box.addButton(model.say("app.leave.give-up"), QMessageBox.ButtonRole.DestructiveRole)
    stay = box.addButton(model.say("app.leave.stay"), QMessageBox.ButtonRole.RejectRole)
    box.setDefaultButton(save)
    box.setEscapeButton(stay)
    box.exec()
    chosen = box.clickedButton()
    if chosen is save:
        return Leaving.SAVE
    return Leaving.GIVE_UP if chosen is give_up else Leaving.STAY


def ask_book(parent: QWidget, model: DeskModel) -> Path | None:
    """A shop book to bring in."""
    kinds = f"{model.say('place_shop.files.book')} (*.toml)"
    name, _ = QFileDialog.getOpenFileName(parent, model.say("place_shop.action.import"), "", kinds)
    return Path(name) if name else None
