"""The findings of the art: the verdict, the list, and what can be done about the chosen one."""

from __future__ import annotations

from PySide6.QtCore import Qt, Signal
from PySide6.QtGui import QKeyEvent, QMouseEvent
from PySide6.QtWidgets import QHBoxLayout, QLabel, QPushButton, QVBoxLayout, QWidget

from setupassist.app.art_limits import ArtLimits
from setupassist.app.grid import Grid
from setupassist.app.labels import label
from setupassist.app.model import DeskModel
from setupassist.app.report_out import ReportOut
from setupassist.app.theme import Look
from setupassist.desk import findings_told
from setupassist.desk.art_facts import findings_known
from setupassist.desk.base_making import can_be_made
from setupassist.desk.grid import Head
from setupassist.desk.tasks import Stage
from setupassist.documents.measure import Finding
from setupassist.sheet.unit_words import UnitWords

MENDED_BY_A_BASE = frozenset({"base-peeks-out", "base-not-choked", "base-missing-under", "base-leaves-bare"})


class FindingsGrid(Grid):
    """The list of findings; ``entered`` tells that one was clicked, or Return pressed on it: go to its next place."""

    entered = Signal(str)

    def keyPressEvent(self, event: QKeyEvent) -> None:
        if event.key() in (Qt.Key.Key_Return, Qt.Key.Key_Enter) and self.key:
            self.entered.emit(self.key)
            return
        super().keyPressEvent(event)

    def mouseReleaseEvent(self, event: QMouseEvent) -> None:
        super().mouseReleaseEvent(event)
        index = self.indexAt(event.position().toPoint())
        if event.button() is Qt.MouseButton.LeftButton and index.isValid():
            self.entered.emit(self.grid.rows[index.row()].key)


class ArtFindings(QWidget):
    """The list with its heading, and the chosen finding below it.

    ``walked`` tells a finding, numbered from 1, that the keyboard went to, ``entered`` one that is to be gone to;
    ``next_wanted`` that the chosen one's next place is, ``base_wanted`` that a base is to be made.
    """

    walked = Signal(int)
    entered = Signal(int)
    next_wanted = Signal()
    base_wanted = Signal()

    def __init__(self, model: DeskModel, look: Look) -> None:
        super().__init__()
        self.model = model
        self.number, self.place = 0, 0
        self.verdict: QLabel = label("", "heading", name="art-verdict")
        self.report = QPushButton(model.say("place_art_check.action.save-report"))
        self.report.setObjectName("art-save-report")
        self.report.clicked.connect(self.save_report)
        self.out = ReportOut.of(model)
        self.heading: QLabel = label(model.say("place_art.heading.findings"), "heading", name="art-findings")
        heads = [
            Head(model.say(f"place_art.column.{name}"), "wrap" if name == "text" else "fit")
            for name in findings_told.COLUMNS
        ]
        self.grid = FindingsGrid(look, heads, name="grid-findings", told=model.say("place_art.heading.findings"))
        self.grid.walked.connect(self._walked)
        self.grid.entered.connect(self._entered)
        self.none: QLabel = label("", "quiet", name="art-no-findings")
        self.where: QLabel = label("", "quiet", name="art-finding-place")
        self.next_place = QPushButton(model.say("place_art_check.places.next"))
        self.next_place.setObjectName("art-next-place")
        self.next_place.setAccessibleDescription(model.say("place_art_check.places.next-told"))
        self.next_place.setToolTip(model.say("place_art_check.places.next-told"))
        self.next_place.clicked.connect(self.next_wanted)
        self.make_base = QPushButton(model.say("place_art_check.action.base"))
        self.make_base.setObjectName("art-finding-base")
        self.make_base.clicked.connect(self.base_wanted)
        row = QHBoxLayout()
        row.setSpacing(look.px(10))
        row.addWidget(self.where, 1)
        row.addWidget(self.make_base, 0, Qt.AlignmentFlag.AlignTop)
        row.addWidget(self.next_place, 0, Qt.AlignmentFlag.AlignTop)
        self.limits = ArtLimits(model, look)
        self._held: Finding | None = None
        self.column = QVBoxLayout(self)
        self.column.setContentsMargins(0, 0, 0, 0)
        self.column.setSpacing(look.px(6))
        for each in (self.heading, self.grid, self.none):
            self.column.addWidget(each)
        self.column.addLayout(row)
        self.column.addWidget(self.limits)
        self.column.addWidget(self.limits.back, 0, Qt.AlignmentFlag.AlignLeft)

    # ------------------------------------------------------------ showing

    def refresh(self, words: UnitWords) -> bool:
        """Shows the findings as they are known now; whether the one in hand has another number, or is gone."""
        before = self.number
        self._find_again()
        desk = self.model.desk
        told = findings_told.verdict(desk)
        self.verdict.setText(self.model.words(told) if told is not None else "")
        self.verdict.setVisible(told is not None)
        self.report.setVisible(self.out.possible)
        rows = findings_told.finding_rows(desk, self.model.words)
        self.grid.show_rows(rows)
        self.grid.setVisible(bool(rows))
        later = "no-findings" if desk.fresh(Stage.MEASURED) else "findings-later"
        self.none.setText(self.model.say(f"place_art.state.{later}"))
        waits = desk.results.plates is not None and not desk.trouble(Stage.MEASURED)
        self.none.setVisible(waits and not rows)
        self.heading.setVisible(bool(rows) or waits)
        self.show_chosen(words)
        return self.number != before

    def show_chosen(self, words: UnitWords) -> None:
        """Shows what is told of the chosen finding, if one is chosen."""
        finding = self.finding
        if finding is None:
            self.number = self.place = 0
        else:
            self.place = min(self.place, max(0, len(finding.places_mm) - 1))
            told = (findings_told.place_told(finding, self.place, words), findings_told.figures_told(finding, words))
            self.where.setText("\n".join(text for text in told if text))
        self.where.setVisible(finding is not None)
        self.next_place.setVisible(finding is not None and len(finding.places_mm) > 1)
        mends = finding is not None and finding.code in MENDED_BY_A_BASE
        self.make_base.setVisible(mends and can_be_made(self.model.desk))
        self.limits.show_finding(finding)

    @property
    def finding(self) -> Finding | None:
        """The chosen finding; None where none is, or where it is gone."""
        return self._held if self.number else None

    def _find_again(self) -> None:
        """Follows the chosen finding to its number now; it stays in hand while the plan is still being worked out."""
        held, desk = self._held, self.model.desk
        if held is None or not self.number or not self.model.has_job:
            return
        found = findings_known(desk)
        alike = [at for at, one in enumerate(found, 1) if (one.code, one.plates) == (held.code, held.plates)]
        if alike:
            self.number = self.number if self.number in alike else alike[0]
            self._held = found[self.number - 1]
        elif desk.fresh(Stage.MADE) or desk.trouble(Stage.MADE) or desk.trouble(Stage.PLANS, desk.job.strategy):
            self.number, self._held = 0, None

    def choose(self, number: int, place: int = 0) -> None:
        """Makes a finding, and one of its places, the one in hand; 0 chooses none."""
        self.number, self.place = number, place
        found = findings_known(self.model.desk) if self.model.has_job and number else ()
        self._held = found[number - 1] if number <= len(found) and number else None
        if number:
            self.grid.go_to(str(number - 1), 0)

    # ------------------------------------------------------------ what the person does

    def save_report(self) -> None:
        """Saves the report of the check."""
        self.out.save()

    def _walked(self, key: str) -> None:
        self.walked.emit(int(key) + 1)

    def _entered(self, key: str) -> None:
        self.entered.emit(int(key) + 1)
