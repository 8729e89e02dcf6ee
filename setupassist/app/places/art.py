"""The place of art: the picture, the table of plates, what all plates have in common, the findings."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from functools import partial

from PySide6.QtCore import QSize, Qt, QTimer, Signal
from PySide6.QtGui import QKeyEvent, QResizeEvent, QShowEvent, QUndoStack
from PySide6.QtWidgets import QApplication, QHBoxLayout, QLabel, QPushButton, QScrollArea, QVBoxLayout, QWidget

from setupassist.app import dialogs
from setupassist.app.actions import PARTING, Action
from setupassist.app.art_base import ArtBase
from setupassist.app.art_findings import ArtFindings
from setupassist.app.art_picture import ArtPicture
from setupassist.app.art_reading import ArtFacts, ArtReading
from setupassist.app.flow import Flow
from setupassist.app.grid import Grid
from setupassist.app.labels import label
from setupassist.app.model import DeskModel
from setupassist.app.place import Place
from setupassist.app.selection import Of, Selection
from setupassist.app.theme import Look
from setupassist.desk import art_facts, findings_told, plate_rows
from setupassist.desk.grid import Cell, Head, Row
from setupassist.desk.inks_told import inks_told, note_of
from setupassist.desk.tasks import Lane, Stage
from setupassist.documents.terms import Severity
from setupassist.quantities import Units
from setupassist.sheet.unit_words import UnitWords

RANKS = {"line": 7, "coverage": 6, "ruling": 5, "colour": 4, "prints": 3, "system": 2, "kind": 1}
"""Columns that give way where the room is short, the highest first; the detail below has them all."""
MOST = {"source": 130}
"""Columns that are cut beyond so many pixels, so that what stands beside them can be read."""
RIGHT = frozenset({"area", "coverage", "line"})
SIDE_BY_SIDE = 640
"""Below this width the picture stands above the table, in the same page."""
ABOVE_HIGH = 340
UP_AND_DOWN = frozenset({
    Qt.Key.Key_Up, Qt.Key.Key_Down, Qt.Key.Key_PageUp, Qt.Key.Key_PageDown, Qt.Key.Key_Home, Qt.Key.Key_End
})  # fmt: skip


class Plates(Grid):
    """The table of plates; ``stepped`` tells that the keyboard went to another plate."""

    stepped = Signal()

    def keyPressEvent(self, event: QKeyEvent) -> None:
        before = self.key
        super().keyPressEvent(event)
        if event.key() in UP_AND_DOWN and self.key != before:
            self.stepped.emit()


class ArtPlace(Place):
    """The art on its garment or plate by plate at the left; what the plates are and what is wrong with them right."""

    key = "art"

    def __init__(self, model: DeskModel, look: Look) -> None:
        super().__init__(model, look)
        self._plate = ""
        self.picture = ArtPicture(model, look)
        self.picture.mark_chosen.connect(self._mark_chosen)
        self.view = self.picture.view
        self.reading = ArtReading(model, look)
        self.facts = ArtFacts(model, look)
        self.plates = Plates(
            look,
            self._heads(plate_rows.COLUMNS, {"ink": "stretch"}, RANKS),
            name="grid-plates",
            told=self.say("place_art.heading.plates"),
            typed=self._typed,
            taken_back=self._take_back,
        )
        self.plates.setProperty("glossary", self.say("place_art.column.ink"))
        self.plates.stepped.connect(self._stepped)
        self.plates.walked.connect(self._walked)
        self.plates.clicked.connect(self._plate_clicked)
        self.details = Grid(
            look,
            self._heads(plate_rows.DETAILS, {"value": "stretch"}, {}),
            name="grid-plate",
            told=self.say("place_art.heading.details"),
            typed=self._typed,
            taken_back=self._take_back,
        )
        self.found = ArtFindings(model, look)
        self.findings = self.found.grid
        self.found.walked.connect(self._finding_walked)
        self.found.entered.connect(self._finding_entered)
        self.found.next_wanted.connect(self._next_place)
        self.found.base_wanted.connect(self._open_base)
        self.base = ArtBase(model, look)
        self.base.made_changed.connect(self._show_base)
        self.base.closed.connect(self._base_closed)
        self.make_base = QPushButton(self.say("place_art_check.action.base"))
        self.make_base.setObjectName("art-make-base")
        self.make_base.clicked.connect(self._open_base)
        self.heads: dict[str, QLabel] = {
            name: label(self.say(f"place_art.heading.{name}", ink=""), "heading", name=f"art-{name}")
            for name in ("plates", "chosen", "together")
        }
        self.state: QLabel = label("", "quiet", name="art-state")
        self._lay_out()
        model.busy_changed.connect(self._tell_state)
        model.opened.connect(self._another)

    def _heads(self, columns: Sequence[str], room: Mapping[str, str], ranks: Mapping[str, int]) -> list[Head]:
        return [
            Head(
                self.say(f"place_art.column.{name}"),
                room.get(name, "fit"),
                name in RIGHT,
                ranks.get(name, 0),
                most=MOST.get(name, 0),
            )
            for name in columns
        ]

    def _lay_out(self) -> None:
        px = self.look.px
        holder = QWidget()
        right = QVBoxLayout(holder)
        right.setContentsMargins(0, 0, px(6), px(8))
        right.setSpacing(px(6))
        first_line = Flow(gap=px(6), line_gap=px(4))
        for button in (self.found.report, self.make_base):
            first_line.addWidget(button)
        right.addWidget(self.found.verdict)
        right.addLayout(first_line)
        right.addWidget(self.base)
        right.addSpacing(px(4))
        for first in (self.reading, self.heads["plates"], self.plates, self.state):
            right.addWidget(first)
        right.addSpacing(px(8))
        right.addWidget(self.found)
        for name, widget in (("together", self.facts), ("chosen", self.details)):
            right.addSpacing(px(8))
            right.addWidget(self.heads[name])
            right.addWidget(widget)
        right.addStretch(1)
        self.side = QScrollArea()
        self.side.setWidgetResizable(True)
        self.side.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        self.side.setFocusPolicy(Qt.FocusPolicy.NoFocus)
        self.side.setWidget(holder)
        self._right = right
        self._pair = QHBoxLayout(self)
        self._pair.setContentsMargins(px(22), px(16), px(16), px(12))
        self._pair.setSpacing(px(20))
        self._pair.addWidget(self.picture, 46)
        self._pair.addWidget(self.side, 54)
        self._beside = True

    def minimumSizeHint(self) -> QSize:
        return QSize(self.look.px(420), self.look.px(300))

    def resizeEvent(self, event: QResizeEvent) -> None:
        super().resizeEvent(event)
        beside = self.width() >= self.look.px(SIDE_BY_SIDE)
        if beside != self._beside:
            self._beside = beside
            self._pair.insertWidget(0, self.picture, 46) if beside else self._right.insertWidget(0, self.picture)
            self.picture.setMinimumHeight(0 if beside else self.look.px(ABOVE_HIGH))

    def showEvent(self, event: QShowEvent) -> None:
        super().showEvent(event)
        focus, around = QApplication.focusWidget(), self.parentWidget()
        if focus is None or around is None or not around.isAncestorOf(focus) or self.isAncestorOf(focus):
            return
        if self.plates.isVisible():
            self.plates.setFocus()

    @property
    def undo_stack(self) -> QUndoStack:
        """The shop book's while one of its limits is in hand, else the job's."""
        return self.model.book.undo if self.found.limits.in_hand else self.model.undo

    @property
    def unit_words(self) -> UnitWords:
        """Words and figures in the person's language and units."""
        return UnitWords(Units(self.model.units), self.model.words)

    # ------------------------------------------------------------ showing

    def _another(self) -> None:
        self._plate = ""
        self.picture.start()
        self.found.choose(0)
        self.side.verticalScrollBar().setValue(0)

    def refresh(self) -> None:
        """Shows the plates as they are known now."""
        if not self.model.has_job:
            return
        desk, words = self.model.desk, self.unit_words
        rows = plate_rows.plate_rows(desk, words)
        names = [row.key for row in rows]
        if self._plate not in names:
            self._plate = names[0] if names else ""
        self.picture.choose_plate(self._plate)
        self._show(self.plates, rows, "plates")
        self._show_details()
        if self.found.refresh(words):
            self._follow_finding()
        self.base.refresh()
        self.make_base.setVisible(self.base.possible)
        self.heads["together"].setVisible(self.facts.refresh(words))
        self.reading.refresh()
        self._tell_state()
        self.selection_changed()
        self.picture.refresh()

    def _show(self, grid: Grid, rows: Sequence[Row], name: str) -> None:
        grid.show_rows(rows)
        grid.setVisible(bool(rows))
        self.heads[name].setVisible(bool(rows))

    def _show_details(self) -> None:
        rows = plate_rows.detail_rows(self.model.desk, self._plate, self.unit_words)
        self._show(self.details, rows, "chosen")
        self.heads["chosen"].setText(self.say("place_art.heading.chosen", ink=self._plate))

    def _tell_state(self) -> None:
        """Says that the plates are still being measured, and how far that is."""
        if not self.model.has_job:
            return
        desk, text = self.model.desk, ""
        if desk.results.plates is not None and not desk.fresh(Stage.MEASURED) and not desk.trouble(Stage.MEASURED):
            task = self.model.runner.running.get(Lane.ART)
            share = task.share if task is not None and getattr(task.asked, "stage", None) is Stage.MEASURED else None
            text = self.say("place_art.state.measuring")
            if share is not None:
                text = self.say("place_art.state.measuring-share", percent=round(100 * share))
        self.state.setText(text)
        self.state.setVisible(bool(text))

    # ------------------------------------------------------------ selection

    def _walked(self, name: str) -> None:
        self._plate = name
        self._show_details()
        self.picture.choose_plate(name)
        self.model.select(Selection(Of.INK, name))

    def _plate_clicked(self) -> None:
        self.model.select(Selection(Of.INK, self.plates.key))

    def _stepped(self) -> None:
        self.picture.show_together(False)

    def _finding_walked(self, number: int) -> None:
        self.model.select(Selection(Of.FINDING, str(number - 1)))

    def _finding_entered(self, number: int) -> None:
        """Goes to a finding's place in hand, or to the next one where the picture is there already."""
        if number == self.found.number == self.picture.jumped:
            self._next_place()
        else:
            self._go_to_finding(number, self.found.place if number == self.found.number else 0)

    def _next_place(self) -> None:
        finding = self.found.finding
        if finding is not None:
            self._go_to_finding(self.found.number, (self.found.place + 1) % max(1, len(finding.places_mm)))

    def _go_to_finding(self, number: int, place: int = 0) -> None:
        self.model.select(Selection(Of.FINDING, str(number - 1)))
        self.found.choose(number, place)
        self.found.show_chosen(self.unit_words)
        self._show_its_plate()
        self.picture.jump(number, place)
        if not self._beside and self.found.finding is not None and self.found.finding.places_mm:
            self.side.ensureWidgetVisible(self.picture.view)

    def _show_its_plate(self) -> None:
        """Where one plate is seen as its film, that of the finding in hand."""
        finding, names = self.found.finding, [row.key for row in self.plates.grid.rows]
        if finding is None or self.picture.together or self._plate in finding.plates:
            return
        name = next((plate for plate in finding.plates if plate in names), None)
        if name is not None:
            self._plate = name
            self.plates.go_to(name)
            self.picture.choose_plate(name)
            self._show_details()

    def _follow_finding(self) -> None:
        """Selects the finding in hand by its number now, or nothing where it is gone."""
        number = self.found.number
        self.model.select(Selection(Of.FINDING, str(number - 1)) if number else Selection())
        self.picture.choose_finding(number, self.found.place)

    def _mark_chosen(self, number: int, place: int) -> None:
        self.model.select(Selection(Of.FINDING, str(number - 1)))
        self.found.choose(number, place)
        self.found.show_chosen(self.unit_words)
        self.picture.choose_finding(number, place)

    def _step(self, step: int) -> None:
        number = findings_told.number_after(len(self.findings.grid.rows), self.found.number, step)
        if number:
            self._go_to_finding(number)

    def selection_changed(self) -> None:
        """Marks the selected ink or finding, whoever selected it."""
        selection = self.model.selection
        names = [row.key for row in self.plates.grid.rows]
        if selection.of in (Of.INK, Of.SCREEN) and selection.name in names and selection.name != self._plate:
            self._plate = selection.name
            self.picture.choose_plate(self._plate)
            self._show_details()
        if self._plate:
            self.plates.go_to(self._plate)
        number = int(selection.name) + 1 if selection.of is Of.FINDING else 0
        if number != self.found.number:
            self.found.choose(number)
            self.found.show_chosen(self.unit_words)
            self.picture.choose_finding(number)

    # ------------------------------------------------------------ edits

    def _typed(self, cell: Cell, text: str) -> bool:
        entry, model = cell.entry, self.model
        assert entry is not None
        if text == plate_rows.OTHER_COLOUR:
            picked = dialogs.ask_colour(self, self.say("place_art.column.colour"), entry.now)
            if picked is None:
                return False
            text = picked
        place, _ = note_of(model.desk, entry.owner)
        words, others = self.unit_words, tuple(ink.name for ink in inks_told(model.desk) if ink.name != entry.owner)
        return model.edit(lambda: plate_rows.edit_of(model.job, entry, text, place, words=words, others=others))

    def _take_back(self, cell: Cell) -> None:
        entry, model = cell.entry, self.model
        assert entry is not None
        place, _ = note_of(model.desk, entry.owner)
        model.edit(lambda: plate_rows.taken_back(model.job, entry, place))

    def _take_value_back(self) -> None:
        for grid in (self.plates, self.details):
            if grid.hasFocus():
                grid.take_back()

    # ------------------------------------------------------------ what the frame asks

    def status(self) -> str:
        desk = self.model.desk
        plates = desk.results.plates
        if plates is None:
            return self.say(f"place_art.status.{'no-plates' if desk.trouble(Stage.PLATES) else 'opening'}")
        told = self.say("place_art.status.plates", count=len(plates.plates))
        if not desk.fresh(Stage.MEASURED):
            if not desk.trouble(Stage.MEASURED):
                return self.say("place_art.status.measuring", plates=told)
            missing = len(desk.results.unread)
            return self.say("place_art.status.missing", plates=told, count=missing) if missing else told
        severities = [finding.severity for finding in art_facts.findings_known(desk)]
        for severity, key in ((Severity.STOP, "stops"), (Severity.WARN, "warnings")):
            if severity in severities:
                return self.say(f"place_art.status.{key}", plates=told, count=severities.count(severity))
        return told

    def actions_of(self) -> Sequence[Action | None]:
        return (
            Action("place_art.action.together", self.picture.toggle, "T", self._has_pictures),
            Action("place_art.action.larger", self.view.larger, "+", self._has_pictures),
            Action("place_art.action.smaller", self.view.smaller, "-", self._has_pictures),
            Action("place_art.action.whole", self.view.whole, "0", self._has_pictures),
            Action("place_art_check.action.loupe", self._toggle_loupe, "L", self._may_look, self._looking),
            Action("place_art_check.action.loupe-nearer", self.picture.loupe.nearer, "", self._looking),
            Action("place_art_check.action.loupe-farther", self.picture.loupe.farther, "", self._looking),
            PARTING,
            Action("place_art_check.action.next-finding", partial(self._step, 1), "N", self._has_findings),
            Action("place_art_check.action.last-finding", partial(self._step, -1), "Shift+N", self._has_findings),
            Action("place_art_check.action.next-place", self._next_place, "M", self._finding_in_hand),
            Action("place_art_check.action.base", self._open_base, "B", self._may_base),
            Action(
                "place_art_check.action.save-report",
                self.found.save_report,
                "Ctrl+Shift+E",
                self._may_report,
                everywhere=True,
            ),
            PARTING,
            Action("place_art.action.take-back", self._take_value_back, "Backspace"),
            Action("place_art.action.again", self.reading.read_again),
            Action("place_art.action.light-is-ink", self.facts.turn_round, "", self._may_turn, self._light_is_ink),
        )

    def _has_pictures(self) -> bool:
        return bool(self.model.results.pictures)

    def _toggle_loupe(self) -> None:
        """Takes the loupe out or away; who walks the findings stays there, and the loupe goes along."""
        if self.findings.hasFocus():
            self.picture.loupe.toggle(self.picture.finding_place())
        else:
            self.picture.toggle_loupe()

    def _may_look(self) -> bool:
        return self.picture.loupe.may_be_on

    def _looking(self) -> bool:
        return self.picture.loupe.on

    def _open_base(self) -> None:
        self.base.open()
        QTimer.singleShot(0, self.base, self._see_base)

    def _see_base(self) -> None:
        self.side.ensureWidgetVisible(self.base)

    def _show_base(self) -> None:
        self.picture.show_base(self.base.made)

    def _base_closed(self) -> None:
        if self.isVisible() and QApplication.focusWidget() is None:
            self.plates.setFocus()

    def _may_base(self) -> bool:
        return self.base.possible

    def _may_report(self) -> bool:
        return self.found.out.possible

    def _has_findings(self) -> bool:
        return bool(self.findings.grid.rows)

    def _finding_in_hand(self) -> bool:
        return self.model.selection.of is Of.FINDING

    def _may_turn(self) -> bool:
        return self.facts.may_turn

    def _light_is_ink(self) -> bool:
        return self.model.has_job and self.model.job.source.light_is_ink
