"""The place of art: the picture, the table of plates, what all plates have in common, the findings."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from functools import partial
from typing import Any

from PySide6.QtCore import QSize, Qt
from PySide6.QtGui import QKeyEvent, QResizeEvent
from PySide6.QtWidgets import (
    QBoxLayout,
    QButtonGroup,
    QCheckBox,
    QComboBox,
    QGridLayout,
    QHBoxLayout,
    QLabel,
    QLineEdit,
    QPushButton,
    QScrollArea,
    QVBoxLayout,
    QWidget,
)

from setupassist.app import dialogs
from setupassist.app.actions import PARTING, Action
from setupassist.app.art_view import ArtView, Mark, image_of
from setupassist.app.grid import Grid
from setupassist.app.labels import label
from setupassist.app.model import DeskModel
from setupassist.app.place import Place
from setupassist.app.selection import Of, Selection
from setupassist.app.theme import Look
from setupassist.desk import art_facts, edits, plate_rows
from setupassist.desk.garment_art import GarmentArt, drawn_as_film, drawn_on_garment, garment_art
from setupassist.desk.grid import Cell, Head, Row
from setupassist.desk.inks_told import note_of
from setupassist.desk.tasks import Lane, Stage
from setupassist.documents.measure import Measure
from setupassist.documents.terms import Severity
from setupassist.errors import InputFault, one_line
from setupassist.quantities import Units
from setupassist.sheet.unit_words import UnitWords
from setupassist.words import say

RANKS = {"coverage": 6, "ruling": 5, "colour": 4, "prints": 3, "system": 2, "kind": 1}
"""Columns that give way where the room is short, the highest first; the detail below has them all."""
RIGHT = frozenset({"area", "coverage", "line"})
SIDE_BY_SIDE = 640
UP_AND_DOWN = frozenset({
    Qt.Key.Key_Up, Qt.Key.Key_Down, Qt.Key.Key_PageUp, Qt.Key.Key_PageDown, Qt.Key.Key_Home, Qt.Key.Key_End
})  # fmt: skip


class _Plates(Grid):
    """The table of plates; stepping through it by keyboard shows each plate."""

    stepped: Any = None

    def keyPressEvent(self, event: QKeyEvent) -> None:
        before = self.key
        super().keyPressEvent(event)
        if self.stepped is not None and event.key() in UP_AND_DOWN and self.key != before:
            self.stepped()


class ArtPlace(Place):
    """The art on its garment or plate by plate at the left; what the plates are and what is wrong with them right."""

    key = "art"

    def __init__(self, model: DeskModel, look: Look) -> None:
        super().__init__(model, look)
        self._plate = ""
        self._together = True
        self._group = 0
        self._drawn: object = None
        self._finding = 0
        self._build_picture()
        self._build_tables()
        self._build_reading()
        self._lay_out()
        model.busy_changed.connect(self._tell_state)
        model.opened.connect(self._another)

    # ------------------------------------------------------------ putting it together

    def _build_picture(self) -> None:
        self.view = ArtView(self.look)
        self.view.setAccessibleName(self.say("place_art.view.picture"))
        self.view.mark_chosen.connect(self._mark_chosen)
        self.caption = label("", "small", name="art-caption")
        self.on_garment = self._toggle("on-garment")
        self.one_plate = self._toggle("plate")
        self._which = QButtonGroup(self)
        for at, button in enumerate((self.on_garment, self.one_plate)):
            self._which.addButton(button, at)
        self._which.idClicked.connect(self._show_which)
        self.on_garment.setChecked(True)
        self.garment = QComboBox()
        self.garment.setObjectName("art-garment")
        self.garment.setAccessibleName(self.say("place_art.view.garment"))
        self.garment.activated.connect(self._choose_garment)
        self.zooms = [
            self._button(f"place_art.view.{name}", run)
            for name, run in (
                ("smaller", self.view.smaller),
                ("larger", self.view.larger),
                ("whole", self.view.whole),
            )
        ]

    def _toggle(self, name: str) -> QPushButton:
        button = QPushButton(self.say(f"place_art.view.{name}"))
        button.setObjectName(f"art-{name}")
        button.setCheckable(True)
        return button

    def _button(self, key: str, run: Any) -> QPushButton:
        button = QPushButton(self.say(key))
        button.setObjectName(key)
        button.clicked.connect(run)
        return button

    def _build_tables(self) -> None:
        self.plates = self._plates_grid()
        self.details = Grid(
            self.look,
            self._heads(plate_rows.DETAILS, {"value": "stretch"}, {}),
            name="grid-plate",
            told=self.say("place_art.heading.details"),
            typed=self._typed,
            taken_back=self._take_back,
        )
        self.findings = Grid(
            self.look,
            self._heads(("number", "severity", "text"), {"text": "wrap"}, {}),
            name="grid-findings",
            told=self.say("place_art.heading.findings"),
        )
        self.findings.walked.connect(self._finding_walked)
        self.heads = {
            name: label(self.say(f"place_art.heading.{name}", ink=""), "heading", name=f"art-{name}")
            for name in ("plates", "chosen", "together", "findings")
        }
        self.state = label("", "quiet", name="art-state")
        self.no_findings = label("", "quiet", name="art-no-findings")
        self._facts: dict[str, tuple[QLabel, QLabel]] = {
            name: (label(self.say(f"place_art.fact-name.{name}"), "quiet", wrap=False), label("", name=f"fact-{name}"))
            for name in art_facts.FACTS
        }

    def _heads(self, columns: Sequence[str], room: Mapping[str, str], ranks: Mapping[str, int]) -> list[Head]:
        return [
            Head(self.say(f"place_art.column.{name}"), room.get(name, "fit"), name in RIGHT, ranks.get(name, 0))
            for name in columns
        ]

    def _plates_grid(self) -> _Plates:
        grid = _Plates(
            self.look,
            self._heads(plate_rows.COLUMNS, {"ink": "stretch"}, RANKS | {"line": 7}),
            name="grid-plates",
            told=self.say("place_art.heading.plates"),
            typed=self._typed,
            taken_back=self._take_back,
        )
        grid.stepped = self._stepped
        grid.walked.connect(self._walked)
        grid.clicked.connect(self._plate_clicked)
        return grid

    def _build_reading(self) -> None:
        self.unread = label("", "strong", name="art-unread")
        self.faults = label("", name="art-faults")
        self.again = self._button("place_art.reading.again", self._read_again)
        self.no_dpi = label(self.say("place_art.reading.no-dpi"), "strong", name="art-no-dpi")
        self.dpi_name = label(self.say("place_art.reading.dpi"), "quiet")
        self.dpi = QLineEdit()
        self.dpi.setObjectName("art-dpi")
        self.dpi.setAccessibleName(self.say("place_art.reading.dpi"))
        self.dpi.setMaximumWidth(self.look.px(90))
        self.dpi.returnPressed.connect(self._enter_dpi)
        self.use_dpi = self._button("place_art.reading.use", self._enter_dpi)
        self.reversed = label("", "strong", name="art-reversed")
        self.light_is_ink = QCheckBox(self.say("place_art.reading.light-is-ink"))
        self.light_is_ink.setObjectName("art-light-is-ink")
        self.light_is_ink.setAccessibleDescription(self.say("place_art.reading.light-is-ink-told"))
        self.light_is_ink.setToolTip(self.say("place_art.reading.light-is-ink-told"))
        self.light_is_ink.clicked.connect(self._turn_round)

    def _lay_out(self) -> None:
        px = self.look.px
        choose = QHBoxLayout()
        choose.setSpacing(px(6))
        for chooser in (self.on_garment, self.one_plate, self.garment):
            choose.addWidget(chooser)
        choose.addStretch(1)
        zoom = QHBoxLayout()
        zoom.setSpacing(px(6))
        for button in self.zooms:
            zoom.addWidget(button)
        zoom.addStretch(1)
        left = QVBoxLayout()
        left.setSpacing(px(8))
        left.addLayout(choose)
        left.addWidget(self.view, 1)
        left.addWidget(self.caption)
        left.addLayout(zoom)

        holder = QWidget()
        right = QVBoxLayout(holder)
        right.setContentsMargins(0, 0, px(6), px(8))
        right.setSpacing(px(6))
        right.addWidget(self.unread)
        right.addWidget(self.faults)
        right.addWidget(self.again, 0, Qt.AlignmentFlag.AlignLeft)
        right.addWidget(self.no_dpi)
        right.addWidget(self.reversed)
        right.addLayout(self._dpi_row())
        for first in (self.heads["plates"], self.plates, self.state):
            right.addWidget(first)
        below: dict[str, tuple[QWidget, ...]] = {
            "findings": (self.findings, self.no_findings), "together": (), "chosen": (self.details,)
        }  # fmt: skip
        for name, widgets in below.items():
            right.addSpacing(px(8))
            right.addWidget(self.heads[name])
            for widget in widgets:
                right.addWidget(widget)
            if name == "together":
                right.addLayout(self._facts_grid())
                right.addWidget(self.light_is_ink, 0, Qt.AlignmentFlag.AlignLeft)
        right.addStretch(1)
        self.side = QScrollArea()
        self.side.setWidgetResizable(True)
        self.side.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        self.side.setFocusPolicy(Qt.FocusPolicy.NoFocus)
        self.side.setWidget(holder)
        self._pair = QBoxLayout(QBoxLayout.Direction.LeftToRight, self)
        self._pair.setContentsMargins(px(22), px(16), px(16), px(12))
        self._pair.setSpacing(px(20))
        self._pair.addLayout(left, 46)
        self._pair.addWidget(self.side, 54)

    def _dpi_row(self) -> QHBoxLayout:
        row = QHBoxLayout()
        row.setSpacing(self.look.px(8))
        for widget in (self.dpi_name, self.dpi, self.use_dpi):
            row.addWidget(widget)
        row.addStretch(1)
        return row

    def _facts_grid(self) -> QGridLayout:
        grid = QGridLayout()
        grid.setHorizontalSpacing(self.look.px(14))
        grid.setVerticalSpacing(self.look.px(3))
        for at, (name, value) in enumerate(self._facts.values()):
            grid.addWidget(name, at, 0, Qt.AlignmentFlag.AlignTop)
            grid.addWidget(value, at, 1)
        grid.setColumnStretch(1, 1)
        return grid

    def minimumSizeHint(self) -> QSize:
        return QSize(self.look.px(420), self.look.px(300))

    def resizeEvent(self, event: QResizeEvent) -> None:
        super().resizeEvent(event)
        wide = self.width() >= self.look.px(SIDE_BY_SIDE)
        self._pair.setDirection(QBoxLayout.Direction.LeftToRight if wide else QBoxLayout.Direction.TopToBottom)

    @property
    def unit_words(self) -> UnitWords:
        """Words and figures in the person's language and units."""
        return UnitWords(Units(self.model.units), self.model.words)

    # ------------------------------------------------------------ showing

    def _another(self) -> None:
        self._plate, self._together, self._group, self._finding = "", True, 0, 0
        self.on_garment.setChecked(True)
        self._drawn = None
        self.view.show_image(None)

    def refresh(self) -> None:
        """Shows the plates as they are known now."""
        if not self.model.has_job:
            return
        desk, words = self.model.desk, self.unit_words
        rows = plate_rows.plate_rows(desk, words)
        names = [row.key for row in rows]
        if self._plate not in names:
            self._plate = names[0] if names else ""
        self.plates.setColumnHidden(plate_rows.COLUMNS.index("line"), True)
        self._show(self.plates, rows, "plates")
        self._show(self.details, plate_rows.detail_rows(desk, self._plate, words), "chosen")
        self.heads["chosen"].setText(self.say("place_art.heading.chosen", ink=self._plate))
        self._show_findings()
        self._show_facts(words)
        self._show_reading()
        self._tell_state()
        self._show_garments()
        self.selection_changed()
        self._draw()

    def _show(self, grid: Grid, rows: Sequence[Row], name: str) -> None:
        grid.show_rows(rows)
        grid.setVisible(bool(rows))
        self.heads[name].setVisible(bool(rows))

    def _show_findings(self) -> None:
        words, findings = self.model.words, art_facts.findings_known(self.model.desk)
        rows = []
        for at, finding in enumerate(findings):
            severity = words(say(f"terms.severity.{finding.severity.value}"))
            cells = (
                Cell(str(at + 1)),
                Cell(severity, strong=finding.severity is not Severity.NOTE),
                Cell(words(finding.text)),
            )
            rows.append(Row(str(at), cells))
        self.findings.show_rows(rows)
        self.findings.setVisible(bool(rows))
        known = self.model.desk.fresh(Stage.MEASURED)
        self.no_findings.setText(self.say(f"place_art.state.{'no-findings' if known else 'findings-later'}"))
        self.no_findings.setVisible(not rows and self.model.results.plates is not None)
        self.heads["findings"].setVisible(bool(rows) or self.model.results.plates is not None)
        self.view.show_marks(self._marks(), self._finding)

    def _marks(self) -> list[Mark]:
        measured = self.model.results.measured
        art = measured.measure.art if measured is not None else None
        if art is None or not art.width_mm or not art.height_mm:
            return []
        return [
            Mark(at, x / art.width_mm, y / art.height_mm)
            for at, finding in enumerate(art_facts.findings_known(self.model.desk), 1)
            for x, y in finding.places_mm
        ]

    def _show_facts(self, words: UnitWords) -> None:
        facts = art_facts.art_facts(self.model.desk, words)
        for name, (head, value) in self._facts.items():
            value.setText(facts.get(name, ""))
            head.setVisible(name in facts)
            value.setVisible(name in facts)
        self.heads["together"].setVisible(bool(facts))

    def _show_reading(self) -> None:
        desk, words = self.model.desk, self.model.words
        unread = desk.results.unread if desk.fresh(Stage.PLATES) else ()
        trouble = [
            words(text) for stage in (Stage.PLATES, Stage.PICTURES, Stage.MEASURED) for text in desk.trouble(stage)
        ]
        no_dpi = art_facts.no_resolution(desk)
        if no_dpi:
            trouble = []
        told = [*(words(fault.sentence) for fault in unread), *dict.fromkeys(trouble)]
        self.unread.setText(self.say("place_art.reading.unread", count=len(unread)) if unread else "")
        self.unread.setVisible(bool(unread))
        self.faults.setText("\n".join(told))
        self.faults.setVisible(bool(told))
        self.again.setVisible(bool(told))
        self.no_dpi.setVisible(no_dpi)
        entered = self.model.job.source.dpi
        for widget in (self.dpi_name, self.dpi, self.use_dpi):
            widget.setVisible(no_dpi or entered is not None)
        if not self.dpi.hasFocus():
            self.dpi.setText("" if entered is None else f"{entered:g}")
        negatives = art_facts.reversed_plates(desk)
        if negatives:
            told_names = ", ".join(negatives)
            self.reversed.setText(self.say("place_art.reading.reversed", count=len(negatives), plates=told_names))
        self.reversed.setVisible(bool(negatives))
        self.light_is_ink.setChecked(self.model.job.source.light_is_ink)
        plates = desk.results.plates
        self.light_is_ink.setVisible(plates is not None and not isinstance(plates, Measure))

    def _tell_state(self) -> None:
        if not self.model.has_job:
            return
        desk = self.model.desk
        task = self.model.runner.running.get(Lane.ART)
        waits = desk.results.plates is not None and not desk.fresh(Stage.MEASURED) and not desk.trouble(Stage.MEASURED)
        text = ""
        if waits:
            share = task.share if task is not None and getattr(task.asked, "stage", None) is Stage.MEASURED else None
            text = self.say("place_art.state.measuring")
            if share is not None:
                text = self.say("place_art.state.measuring-share", percent=round(100 * share))
        self.state.setText(text)
        self.state.setVisible(bool(text))

    def _show_garments(self) -> None:
        groups = self.model.job.groups
        self._group = min(self._group, len(groups) - 1)
        names = [group.name for group in groups]
        if [self.garment.itemText(at) for at in range(self.garment.count())] != names:
            self.garment.clear()
            self.garment.addItems(names)
        self.garment.setCurrentIndex(self._group)
        self.garment.setVisible(len(names) > 1 and bool(self.model.results.pictures))

    # ------------------------------------------------------------ the picture

    def _draw(self) -> None:
        """Asks for the picture that is wanted now, unless it is the one that is shown or being drawn."""
        pictures = self.model.results.pictures
        usable = bool(pictures) and self.model.desk.fresh(Stage.PICTURES)
        for widget in (self.on_garment, self.one_plate, *self.zooms):
            widget.setEnabled(bool(pictures))
        if not pictures:
            self._drawn = None
            self.view.show_image(None, self._why_no_picture())
            self.caption.setText("")
            return
        if not usable and self._drawn is not None:
            return
        art = garment_art(self.model.desk, self._group)
        assert art is not None
        self._tell_caption(art)
        if self._together:
            wanted: object = (id(pictures), art.cloth, art.layers)
            if wanted != self._drawn:
                self.model.drawing.ask(self, lambda: image_of(drawn_on_garment(art, pictures)), self._came)
        else:
            thumb = pictures.get(self._plate, next(iter(pictures.values())))
            wanted = (id(pictures), self._plate)
            if wanted != self._drawn:
                self.model.drawing.ask(self, lambda: image_of(drawn_as_film(thumb)), self._came)
        self._drawn = wanted

    def _came(self, image: Any) -> None:
        if image is None:
            self._drawn = None
        else:
            self.view.show_image(image)

    def _tell_caption(self, art: GarmentArt) -> None:
        names = list(self.model.results.pictures)
        if self._together:
            key = "place_art.view.planned" if art.planned else "place_art.view.by-role"
            text = self.say(key, garment=art.garment)
        else:
            number = names.index(self._plate) + 1 if self._plate in names else 1
            text = self.say("place_art.view.film", ink=self._plate, number=number, count=len(names))
        self.caption.setText(text)
        self.view.setAccessibleDescription(text)

    def _why_no_picture(self) -> str:
        desk = self.model.desk
        if desk.trouble(Stage.PLATES):
            return self.say("place_art.reading.none")
        if desk.results.plates is None:
            return self.say("place_art.view.opening")
        if isinstance(desk.results.plates, Measure):
            return self.say("place_art.view.figures")
        return self.say(f"place_art.view.{'no-picture' if desk.trouble(Stage.PICTURES) else 'drawing'}")

    def _show_which(self, at: int) -> None:
        self._together = at == 0
        self._draw()

    def _toggle_which(self) -> None:
        self._together = not self._together
        (self.on_garment if self._together else self.one_plate).setChecked(True)
        self._draw()

    def _choose_garment(self, at: int) -> None:
        self._group = at
        self._together = True
        self.on_garment.setChecked(True)
        self._draw()

    # ------------------------------------------------------------ selection

    def _walked(self, name: str) -> None:
        self._plate = name
        self.details.show_rows(plate_rows.detail_rows(self.model.desk, name, self.unit_words))
        self.heads["chosen"].setText(self.say("place_art.heading.chosen", ink=name))
        self.model.select(Selection(Of.INK, name))
        if not self._together:
            self._draw()

    def _plate_clicked(self) -> None:
        self.model.select(Selection(Of.INK, self.plates.key))

    def _stepped(self) -> None:
        self._together = False
        self.one_plate.setChecked(True)
        self._draw()

    def _finding_walked(self, at: str) -> None:
        self._choose_finding(int(at) + 1)
        self.model.select(Selection(Of.FINDING, at))

    def _mark_chosen(self, number: int) -> None:
        self._choose_finding(number)
        self.findings.go_to(str(number - 1), 0)
        self.model.select(Selection(Of.FINDING, str(number - 1)))

    def _choose_finding(self, number: int) -> None:
        self._finding = number
        self.view.show_marks(self._marks(), number)
        self.view.bring_to(number)

    def selection_changed(self) -> None:
        """Marks the selected ink or finding, whoever selected it."""
        selection = self.model.selection
        names = [row.key for row in self.plates.grid.rows]
        if selection.of in (Of.INK, Of.SCREEN) and selection.name in names and selection.name != self._plate:
            self._plate = selection.name
            self.later()
        if self._plate:
            self.plates.go_to(self._plate)
        if selection.of is Of.FINDING:
            self.findings.go_to(selection.name, 0)
            self._choose_finding(int(selection.name) + 1)
        elif self._finding:
            self._choose_finding(0)

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
        words = self.unit_words
        return model.edit(lambda: plate_rows.edit_of(model.job, entry, text, place, words=words))

    def _take_back(self, cell: Cell) -> None:
        entry, model = cell.entry, self.model
        assert entry is not None
        place, _ = note_of(model.desk, entry.owner)
        model.edit(lambda: plate_rows.taken_back(model.job, entry, place))

    def _take_value_back(self) -> None:
        for grid in (self.plates, self.details):
            if grid.hasFocus():
                grid.take_back()

    def _enter_dpi(self) -> None:
        text = self.dpi.text().strip().replace(",", ".")
        self.model.edit(partial(self._dpi_edit, text))

    def _dpi_edit(self, text: str) -> edits.Edit:
        if not text:
            return edits.source(self.model.job, dpi=None)
        try:
            dpi = float(text)
        except ValueError:
            what = say("place_art.fault.no-dpi", given=one_line(text, 40))
            raise InputFault("", what, say("place_art.fault.whole-number")) from None
        return edits.source(self.model.job, dpi=dpi)

    def _turn_round(self) -> None:
        light = not self.model.job.source.light_is_ink
        self.model.edit(lambda: edits.source(self.model.job, light_is_ink=light))

    def _read_again(self) -> None:
        for stage in (Stage.PLATES, Stage.PICTURES, Stage.MEASURED):
            self.model.desk.again(stage)
        self.model.pump()

    # ------------------------------------------------------------ what the frame asks

    def status(self) -> str:
        desk = self.model.desk
        plates = desk.results.plates
        if plates is None:
            return self.say(f"place_art.status.{'no-plates' if desk.trouble(Stage.PLATES) else 'opening'}")
        told = self.say("place_art.status.plates", count=len(plates.plates))
        if not desk.fresh(Stage.MEASURED):
            return told if desk.trouble(Stage.MEASURED) else self.say("place_art.status.measuring", plates=told)
        severities = [finding.severity for finding in art_facts.findings_known(desk)]
        for severity, key in ((Severity.STOP, "stops"), (Severity.WARN, "warnings")):
            if severity in severities:
                return self.say(f"place_art.status.{key}", plates=told, count=severities.count(severity))
        return told

    def actions_of(self) -> Sequence[Action | None]:
        return (
            Action("place_art.action.together", self._toggle_which, "T", self._has_pictures),
            Action("place_art.action.larger", self.view.larger, "+", self._has_pictures),
            Action("place_art.action.smaller", self.view.smaller, "-", self._has_pictures),
            Action("place_art.action.whole", self.view.whole, "0", self._has_pictures),
            PARTING,
            Action("place_art.action.take-back", self._take_value_back, "Backspace"),
            Action("place_art.action.again", self._read_again),
            Action(
                "place_art.action.light-is-ink",
                self._turn_round,
                checked=lambda: self.model.has_job and self.model.job.source.light_is_ink,
            ),
        )

    def _has_pictures(self) -> bool:
        return bool(self.model.results.pictures)
