"""The form for a base: how far it is drawn in, under which inks it goes, what it replaces; seen before written."""

from __future__ import annotations

from contextlib import suppress
from dataclasses import dataclass
from functools import partial
from pathlib import Path
from typing import Any

import shiboken6
from PySide6.QtCore import Qt, Signal
from PySide6.QtGui import QKeyEvent
from PySide6.QtWidgets import QCheckBox, QGridLayout, QLabel, QPushButton, QVBoxLayout, QWidget

from setupassist.app import dialogs
from setupassist.app.entry import Line, Named, Pick
from setupassist.app.flow import Flow
from setupassist.app.labels import Swatch, label
from setupassist.app.model import DeskModel
from setupassist.app.sheet_out import over
from setupassist.app.theme import Look
from setupassist.desk import base_making
from setupassist.desk.base_making import BaseMade, BaseWish, InkAbove
from setupassist.desk.form_values import UNSET, shown, typed, unit_word
from setupassist.desk.forms import row
from setupassist.desk.tasks import Lane
from setupassist.documents.shop import Policies
from setupassist.errors import InputFault, SetupAssistError
from setupassist.words import say

CHOKE = row(Policies, "choke_mm")
"""A choke is typed as in the shop book: its unit and its range."""


@dataclass(frozen=True)
class Target:
    """Where a base is to be written, and as which ink it is taken into the job; "" leaves the job as it is.

    ``instead`` is the base that it replaces there, "" where it is one more plate.
    """

    file: Path
    ink: str = ""
    instead: str = ""


class ArtBase(QWidget):
    """A form in the page of findings, gone until it is wanted. ``made_changed`` tells that another base is to be seen.

    What is made lies aside until it is written; the job or the plates changing takes it away again.
    """

    made_changed = Signal()
    closed = Signal()

    def __init__(self, model: DeskModel, look: Look) -> None:
        super().__init__()
        self.model, self.look = model, look
        self.made: BaseMade | None = None
        self._then: Target | None = None
        self._chosen: dict[str, bool] = {}
        self._choke_mm: float | None = None
        self._of: object = None
        say_it = partial(self._say, "base")
        self.choke = Line(look, wide=80)
        self.choke.setObjectName("base-choke")
        self.choke.setAccessibleName(say_it("choke"))
        self.choke.setAccessibleDescription(say_it("choke-told"))
        self.choke.setToolTip(say_it("choke-told"))
        self.choke.setProperty("glossary", say_it("word"))
        self.choke.told.connect(self._enter_choke)
        self.instead = Pick()
        self.instead.setObjectName("base-instead")
        self.instead.setAccessibleName(say_it("instead"))
        self.instead.setAccessibleDescription(say_it("instead-told"))
        self.instead.setToolTip(say_it("instead-told"))
        self.instead.told.connect(self._replace)
        self._instead: str | None = None
        self.inks: dict[str, QCheckBox] = {}
        self._grid_of: tuple[InkAbove, ...] = ()
        self.state: QLabel = label("", "quiet", name="base-state")
        self.show_it = self._button("show", self.make)
        self.take = self._button("take", self.take_in)
        self.export = self._button("export", self.write_to_file)
        self.close_it = self._button("close", self.shut)
        self._lay_out()
        self.hide()
        model.busy_changed.connect(self._tell)
        model.opened.connect(self.shut)

    def _say(self, table: str, key: str, **values: object) -> str:
        return self.model.say(f"place_art_check.{table}.{key}", **values)

    def _button(self, name: str, run: Any) -> QPushButton:
        button = QPushButton(self._say("base", name))
        button.setObjectName(f"base-{name}")
        button.clicked.connect(run)
        return button

    def _lay_out(self) -> None:
        px = self.look.px
        fields = Flow(gap=px(14), line_gap=px(6))
        self.choke_named = Named(self.look, self._say("base", "choke"), self.choke)
        fields.addWidget(self.choke_named)
        fields.addWidget(Named(self.look, self._say("base", "instead"), self.instead))
        self._inks = QGridLayout()
        self._inks.setHorizontalSpacing(px(8))
        self._inks.setVerticalSpacing(px(2))
        self._inks.setColumnStretch(2, 1)
        does = Flow(gap=px(6), line_gap=px(4))
        for button in (self.show_it, self.take, self.export, self.close_it):
            does.addWidget(button)
        column = QVBoxLayout(self)
        column.setContentsMargins(0, 0, 0, px(8))
        column.setSpacing(px(6))
        column.addWidget(label(self._say("base", "heading"), "heading"))
        column.addLayout(fields)
        column.addWidget(label(self._say("base", "under"), "small"))
        column.addLayout(self._inks)
        column.addWidget(self.state)
        column.addLayout(does)

    # ------------------------------------------------------------ open and shut

    @property
    def possible(self) -> bool:
        """Whether there are plates that a base can be made of."""
        return self.model.has_job and base_making.can_be_made(self.model.desk)

    def open(self) -> None:
        """Shows the form with what is suggested, the focus in its first field."""
        if not self.possible:
            return
        self._chosen, self._choke_mm, self._instead = {}, None, None
        self.setVisible(True)
        self.refresh()
        self.choke.setFocus(Qt.FocusReason.TabFocusReason)

    def shut(self) -> None:
        """Gives up what lies aside."""
        self._give_up()
        if not self.isHidden():
            self.hide()
            self.closed.emit()

    def keyPressEvent(self, event: QKeyEvent) -> None:
        if event.key() == Qt.Key.Key_Escape:
            self.shut()
        else:
            super().keyPressEvent(event)

    def _give_up(self) -> None:
        self._then = None
        task = self.model.runner.running.get(Lane.OUT)
        if task is not None and task.asked is self:
            task.stopped.set()
        if self.made is not None:
            self.made = None
            self.made_changed.emit()

    # ------------------------------------------------------------ showing

    def refresh(self) -> None:
        """Shows the form as the plates are known now."""
        if self.isHidden():
            return
        if not self.model.has_job:
            self.shut()
            return
        desk = self.model.desk
        if desk.results.plates is not self._of:
            self._of = desk.results.plates
            self._give_up()
        units = self.model.units
        self.choke.hold(str(shown(CHOKE, self.choke_mm, units)))
        unit = self.model.words(unit_word(CHOKE, units))
        self.choke_named.name.setText(f"{self._say('base', 'choke')}, {unit}")
        bases = [base.name for base in base_making.bases_there(desk)]
        self.instead.hold([(name, name) for name in bases] + [(self._say("base", "beside"), "")], self.replaced)
        self._show_inks()
        self._tell()

    @property
    def choke_mm(self) -> float:
        """How far the base is to be drawn in."""
        return self.model.desk.shop.policies.choke_mm if self._choke_mm is None else self._choke_mm

    @property
    def replaced(self) -> str:
        """The base that the new one is to replace, "" where it is one more plate."""
        bases = [base.name for base in base_making.bases_there(self.model.desk)]
        if self._instead is not None and self._instead in ("", *bases):
            return self._instead
        return bases[0] if bases else ""

    def _show_inks(self) -> None:
        inks = base_making.inks_above(self.model.desk)
        if inks != self._grid_of:
            self._grid_of = inks
            while (item := self._inks.takeAt(0)) is not None:
                widget = item.widget()
                if widget is not None:
                    widget.hide()
                    widget.deleteLater()
            self.inks = {}
            for row, ink in enumerate(inks):
                box = QCheckBox(ink.name)
                box.setObjectName(f"base-under-{ink.name}")
                why = self.model.words(ink.why)
                box.setAccessibleDescription(why)
                box.clicked.connect(self._choose)
                self.inks[ink.name] = box
                self._inks.addWidget(Swatch(ink.colour, wide=self.look.px(22), high=self.look.px(14)), row, 0)
                self._inks.addWidget(box, row, 1)
                self._inks.addWidget(label(why, "small"), row, 2)
        for ink in inks:
            self.inks[ink.name].setChecked(self._chosen.get(ink.name, ink.carried))

    def _choose(self) -> None:
        self._chosen = {ink.name: self.inks[ink.name].isChecked() for ink in self._grid_of}
        self._tell()

    def _replace(self, name: str) -> None:
        self._instead = name

    def _enter_choke(self, text: str) -> None:
        try:
            value = typed(CHOKE, text, self.model.units, self.choke_mm)
        except InputFault as fault:
            self.model.tell(fault)
            self.choke.back()
            return
        self._choke_mm = None if value is UNSET else float(value)
        self.refresh()

    def wish(self) -> BaseWish:
        """What the form asks for."""
        chosen = {ink.name: self._chosen.get(ink.name, ink.carried) for ink in self._grid_of}
        return BaseWish(tuple(name for name, carried in chosen.items() if carried), self.choke_mm)

    @property
    def _making(self) -> bool:
        task = self.model.runner.running.get(Lane.OUT)
        return task is not None and task.asked is self

    def _tell(self) -> None:
        """Says how far it is."""
        if self.isHidden() or not self.model.has_job:
            return
        wish, task = self.wish(), self.model.runner.running.get(Lane.OUT)
        making = self._making
        if making and task is not None:
            share = task.share
            text = self._say("base", "making")
            if share is not None:
                text = self._say("base", "making-share", percent=round(100 * share))
        elif not wish.under:
            text = self._say("base", "nothing")
        elif self.made is None:
            text = ""
        else:
            text = self._say("base", "shown" if self.made.wish == wish else "changed")
        self.state.setText(text)
        self.state.setVisible(bool(text))
        may = bool(wish.under) and not making and self.possible and self.model.runner.free(Lane.OUT)
        for button in (self.show_it, self.take, self.export):
            button.setEnabled(may)

    # ------------------------------------------------------------ making and writing

    def make(self) -> None:
        """Makes the base aside and shows it over the art."""
        self._begin()

    def take_in(self) -> None:
        """Writes the base beside the plates, and takes it into the job."""
        model = self.model
        try:
            ink = self.replaced or base_making.free_ink(model.desk, self._say("base", "ink"))
            file = base_making.free_file(base_making.folder_of_plates(model.desk), ink)
            base_making.taking_in(model.desk, file, ink, instead=self.replaced)  # a fault is told before it is written
        except SetupAssistError as fault:
            model.tell(fault)
            return
        self._write(Target(file, ink, self.replaced))

    def write_to_file(self) -> None:
        """Asks for a file and writes the base there, the job left as it is."""
        model = self.model
        kinds = f"{self._say('base', 'png')} (*.png);;{self._say('base', 'tiff')} (*.tif *.tiff)"
        try:
            suggested = base_making.free_file(base_making.folder_of_plates(model.desk), self._say("base", "ink"))
        except SetupAssistError as fault:
            model.tell(fault)
            return
        target = dialogs.ask_target(over(), self._say("base", "export"), suggested, kinds)
        if target is None:
            return
        if target.suffix.lower() not in (".png", ".tif", ".tiff"):
            target = target.with_name(f"{target.name}.png")
            if target.exists():
                model.told.emit(say("errors.fault.where-what", where=target.name, what=say("place_run.is-there")))
                return
        self._write(Target(target))

    def _write(self, target: Target) -> None:
        self._then = target
        if self.made is not None and self.made.wish == self.wish():
            self._go_on()
        else:
            self._begin()

    def _begin(self) -> None:
        measured, wish, runner = self.model.results.measured, self.wish(), self.model.runner
        if measured is None or not wish.under or not self.possible or not runner.free(Lane.OUT):
            self._then = None
            return
        runner.start(
            Lane.OUT,
            say("place_art_check.base.making"),
            lambda progress, stop: base_making.make(measured, wish, progress=progress, stop=stop),
            partial(self._came, measured.plates),
            asked=self,
        )
        self._tell()

    def _came(self, of: object, made: BaseMade | None, error: SetupAssistError | None) -> None:
        if not shiboken6.isValid(self) or self.isHidden():
            return
        if error is not None or made is None:
            self._then = None
            if error is not None:
                self.model.tell(error)
        elif of is self.model.results.plates:
            self.made = made
            self.made_changed.emit()
            self._go_on()
        self._tell()

    def _go_on(self) -> None:
        """Writes what is made where that was wanted."""
        target, self._then = self._then, None
        made, model = self.made, self.model
        if target is None or made is None:
            return
        turned = bool(target.ink) and model.job.source.light_is_ink
        where = model.desk.opened

        def done(value: Any, error: SetupAssistError | None) -> None:
            now = model.desk.opened
            if error is not None:
                model.tell(error)
            elif not target.ink:
                model.told.emit(say("place_art_check.base.written", file=str(target.file)))
            elif now is not None and where is not None and now.file == where.file and take_into_job(model, target):
                model.told.emit(say("place_art_check.base.taken", file=target.file.name))
                if shiboken6.isValid(self):
                    self.shut()

        model.on_disk(say("app.run.saving"), lambda: base_making.write(made, target.file, light_is_ink=turned), done)


def take_into_job(model: DeskModel, target: Target) -> bool:
    """Makes a written base a plate of the job; first its plates are listed where they were a folder or one file.

    Where that cannot be done the fault is told, the job stays as it is, and the file goes again.
    """
    try:
        listed, taken = base_making.taking_in(model.desk, target.file, target.ink, instead=target.instead)
    except SetupAssistError as fault:
        model.tell(fault)
        with suppress(OSError):
            target.file.unlink()
        return False
    model.edit(listed)
    return model.edit(taken)
