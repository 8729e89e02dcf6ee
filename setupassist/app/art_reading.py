"""How the plates were read: files that could not be, a resolution that nobody told, negatives; and what mends each."""

from __future__ import annotations

from PySide6.QtCore import Qt
from PySide6.QtWidgets import QCheckBox, QGridLayout, QLabel, QLineEdit, QPushButton, QSizePolicy, QVBoxLayout, QWidget

from setupassist.app.entry import Line
from setupassist.app.flow import Flow
from setupassist.app.labels import label
from setupassist.app.model import DeskModel
from setupassist.app.theme import Look
from setupassist.desk import art_facts, edits
from setupassist.desk.opening import page_edit
from setupassist.desk.tasks import Stage
from setupassist.errors import InputFault, one_line
from setupassist.sheet.unit_words import UnitWords
from setupassist.words import say

USUAL_DPI = "600"
"""What a PDF is drawn at where nobody says."""


class ArtReading(QWidget):
    """What is wrong with the files, and the fields that help; it takes no room where nothing is wrong."""

    def __init__(self, model: DeskModel, look: Look) -> None:
        super().__init__()
        self.model = model
        self.unread: QLabel = label("", "strong", name="art-unread")
        self.faults: QLabel = label("", name="art-faults")
        self.again = QPushButton(model.say("place_art.reading.again"))
        self.again.setObjectName("art-again")
        self.again.clicked.connect(self.read_again)
        self.no_dpi: QLabel = label(model.say("place_art.reading.no-dpi"), "strong", name="art-no-dpi")
        self.dpi_name: QLabel = label(model.say("place_art.reading.dpi"), "quiet", wrap=False)
        self.dpi = QLineEdit()
        self.dpi.setObjectName("art-dpi")
        self.dpi.setAccessibleName(model.say("place_art.reading.dpi"))
        self.dpi.setFixedWidth(look.px(90))
        self.dpi.setSizePolicy(QSizePolicy.Policy.Fixed, QSizePolicy.Policy.Fixed)
        self.dpi.returnPressed.connect(self._enter_dpi)
        self.use_dpi = QPushButton(model.say("place_art.reading.use"))
        self.use_dpi.setObjectName("art-use-dpi")
        self.use_dpi.clicked.connect(self._enter_dpi)
        self.page_name: QLabel = label(model.say("place_art_check.page.name"), "quiet", wrap=False)
        self.page = Line(look, wide=60)
        self.page.setObjectName("art-page")
        self.page.setAccessibleName(model.say("place_art_check.page.name"))
        self.page.setAccessibleDescription(model.say("place_art_check.page.told"))
        self.page.setToolTip(model.say("place_art_check.page.told"))
        self.page.told.connect(self._enter_page)
        self.page.stepped.connect(self._step_page)
        self.page_of: QLabel = label("", "quiet", wrap=False, name="art-page-of")
        self.reversed: QLabel = label("", "strong", name="art-reversed")
        row = Flow(gap=look.px(8), line_gap=look.px(4))
        for widget in (self.dpi_name, self.dpi, self.use_dpi):
            row.addWidget(widget)
        pages = Flow(gap=look.px(8), line_gap=look.px(4))
        for widget in (self.page_name, self.page, self.page_of):
            pages.addWidget(widget)
        column = QVBoxLayout(self)
        column.setContentsMargins(0, 0, 0, 0)
        column.setSpacing(look.px(6))
        for text in (self.unread, self.faults):
            column.addWidget(text)
        column.addWidget(self.again, 0, Qt.AlignmentFlag.AlignLeft)
        for text in (self.reversed, self.no_dpi):
            column.addWidget(text)
        column.addLayout(row)
        column.addLayout(pages)

    def refresh(self) -> None:
        """Shows what is wrong now."""
        desk, words = self.model.desk, self.model.words
        unread = desk.results.unread if desk.fresh(Stage.PLATES) else ()
        no_dpi = art_facts.no_resolution(desk)
        stages = () if no_dpi else (Stage.PLATES, Stage.PICTURES, Stage.MEASURED)
        trouble = [words(text) for stage in stages for text in desk.trouble(stage)]
        told = [*(words(fault.sentence) for fault in unread), *dict.fromkeys(trouble)]
        self.unread.setText(self.model.say("place_art.reading.unread", count=len(unread)) if unread else "")
        self.unread.setVisible(bool(unread))
        self.faults.setText("\n".join(told))
        self.faults.setVisible(bool(told))
        self.again.setVisible(bool(told))
        self.no_dpi.setVisible(no_dpi)
        entered = self.model.job.source.dpi
        by_us = art_facts.drawn_by_us(desk)
        self.dpi_name.setText(self.model.say("place_art_check.page.dpi" if by_us else "place_art.reading.dpi"))
        self.dpi.setPlaceholderText(USUAL_DPI if by_us else "")
        for widget in (self.dpi_name, self.dpi, self.use_dpi):
            widget.setVisible(no_dpi or by_us or entered is not None)
        if not (self.dpi.hasFocus() and self.dpi.isModified()):
            self.dpi.setText("" if entered is None else f"{entered:g}")
        negatives = art_facts.reversed_plates(desk)
        if negatives:
            names = ", ".join(negatives)
            self.reversed.setText(self.model.say("place_art.reading.reversed", count=len(negatives), plates=names))
        self.reversed.setVisible(bool(negatives))
        page = self._show_page()
        self.setVisible(bool(told or no_dpi or negatives or by_us or page or entered is not None))

    def _show_page(self) -> bool:
        """Shows which page was taken; whether there are pages to choose from."""
        page = art_facts.page_of(self.model.desk)
        for widget in (self.page_name, self.page, self.page_of):
            widget.setVisible(page is not None)
        if page is not None:
            now, count = page
            self.page.hold(str(now))
            self.page_of.setText(self.model.say("place_art_check.page.of", count=count) if count else "")
        return page is not None

    def _enter_page(self, text: str) -> None:
        if not self.model.edit(lambda: page_edit(self.model.job, text)):
            self.page.back()

    def _step_page(self, step: int) -> None:
        page = art_facts.page_of(self.model.desk)
        if page is not None:
            now, count = page
            wanted = max(1, now + step if not count else min(count, now + step))
            self.page.setModified(False)
            self.model.edit(lambda: edits.source(self.model.job, page=wanted))

    def _enter_dpi(self) -> None:
        text = self.dpi.text().strip().replace(",", ".")
        self.dpi.setModified(False)
        if not self.model.edit(lambda: self._edit(text)):
            self.refresh()

    def _edit(self, text: str) -> edits.Edit:
        if not text:
            return edits.source(self.model.job, dpi=None)
        try:
            dpi = float(text)
        except ValueError:
            what = say("place_art.fault.no-dpi", given=one_line(text, 40))
            raise InputFault("", what, say("place_art.fault.whole-number")) from None
        return edits.source(self.model.job, dpi=dpi)

    def read_again(self) -> None:
        """Reads the plates again, as they lie on the disk now."""
        for stage in (Stage.PLATES, Stage.PICTURES, Stage.MEASURED):
            self.model.desk.again(stage)
        self.model.pump()


class ArtFacts(QWidget):
    """What all plates have in common, a line each; and whether light is ink."""

    def __init__(self, model: DeskModel, look: Look) -> None:
        super().__init__()
        self.model = model
        self.lines: dict[str, tuple[QLabel, QLabel]] = {}
        grid = QGridLayout(self)
        grid.setContentsMargins(0, 0, 0, 0)
        grid.setHorizontalSpacing(look.px(14))
        grid.setVerticalSpacing(look.px(3))
        for at, name in enumerate(art_facts.FACTS):
            head = label(model.say(f"place_art.fact-name.{name}"), "quiet", wrap=False)
            value = label("", name=f"fact-{name}")
            self.lines[name] = head, value
            grid.addWidget(head, at, 0, Qt.AlignmentFlag.AlignTop)
            grid.addWidget(value, at, 1)
        grid.setColumnStretch(1, 1)
        told = model.say("place_art.reading.light-is-ink-told")
        self.light_is_ink = QCheckBox(model.say("place_art.reading.light-is-ink"))
        self.light_is_ink.setObjectName("art-light-is-ink")
        self.light_is_ink.setAccessibleDescription(told)
        self.light_is_ink.setToolTip(told)
        self.light_is_ink.clicked.connect(self.turn_round)
        grid.addWidget(self.light_is_ink, len(self.lines), 0, 1, 2, Qt.AlignmentFlag.AlignLeft)

    def refresh(self, words: UnitWords) -> bool:
        """Shows what is known now; whether that is anything."""
        facts = art_facts.art_facts(self.model.desk, words)
        for name, (head, value) in self.lines.items():
            value.setText(facts.get(name, ""))
            head.setVisible(name in facts)
            value.setVisible(name in facts)
        self.light_is_ink.setChecked(self.model.job.source.light_is_ink)
        self.light_is_ink.setVisible(self.may_turn)
        return bool(facts)

    @property
    def may_turn(self) -> bool:
        """Whether there are plates to turn round, or to turn back."""
        model = self.model
        return model.has_job and (model.job.source.light_is_ink or art_facts.has_plates(model.desk))

    def turn_round(self) -> None:
        """Light is ink, or dark again."""
        light = not self.model.job.source.light_is_ink
        if not self.model.edit(lambda: edits.source(self.model.job, light_is_ink=light)):
            self.light_is_ink.setChecked(not light)
