"""The limits that the chosen finding comes from, edited where they are shown, and the answers that set it aside."""

from __future__ import annotations

from collections.abc import Sequence

from PySide6.QtCore import QObject
from PySide6.QtWidgets import QApplication, QHBoxLayout, QPushButton, QVBoxLayout, QWidget

from setupassist.app.labels import clear, column, label
from setupassist.app.model import DeskModel
from setupassist.app.shop.fields import FieldRow, style_of_sources
from setupassist.app.theme import Look
from setupassist.desk import finding_limits, shop_edits
from setupassist.desk.entering_shop import entered
from setupassist.desk.finding_limits import Limit, Offer
from setupassist.desk.form_values import Typed
from setupassist.documents.measure import Finding


class ArtLimits(QWidget):
    """Fields of the shop book as its own form has them, and a way back; they hold for every job.

    The book's edits have their own undo: while one that was made here is the last, a button takes it back, and so do
    the keys while the focus is here.
    """

    def __init__(self, model: DeskModel, look: Look) -> None:
        super().__init__()
        self.model, self.look = model, look
        self.rows: dict[Limit, FieldRow] = {}
        self.offers: dict[Offer, QPushButton] = {}
        self._typed_here: dict[Limit, tuple[Typed, str]] = {}
        self._made_at = -1
        holder, self._rows = column(spacing=look.px(2))
        self.heading = label(model.say("place_art_check.limit.heading"), "strong", name="art-limits")
        self.told = label(model.say("place_art_check.limit.told"), "small")
        self.offered, self._offered = column(spacing=look.px(4))
        self.back = QPushButton()
        self.back.setObjectName("art-limit-back")
        self.back.clicked.connect(self.take_back)
        self.holder = holder
        whole = QVBoxLayout(self)
        whole.setContentsMargins(0, 0, 0, 0)
        whole.setSpacing(look.px(4))
        for widget in (self.offered, self.heading, self.holder, self.told):
            whole.addWidget(widget)
        self.setStyleSheet(style_of_sources(look))
        model.book.undo.indexChanged.connect(self._tell_back)

    @property
    def in_hand(self) -> bool:
        """Whether the focus is in one of the fields."""
        focus = QApplication.focusWidget()
        return focus is not None and self.holder.isAncestorOf(focus)

    def show_finding(self, finding: Finding | None) -> None:
        """Shows what the finding comes from; the fields stay as they are where they are the same ones."""
        desk = self.model.desk
        limits = finding_limits.limits_of(desk, finding) if finding is not None else ()
        offers = finding_limits.offers_of(desk, finding) if finding is not None else ()
        if list(limits) != list(self.rows):
            self._make_rows(limits)
        if list(offers) != list(self.offers):
            self._make_offers(offers)
        for limit, row in self.rows.items():
            pending, fault = self._typed_here.get(limit, (None, ""))
            source = self.model.words(limit.source(desk.shop))
            row.show_value(limit.value(desk.shop), source, pending, fault)
        for widget in (self.heading, self.holder, self.told):
            widget.setVisible(bool(limits))
        self.offered.setVisible(bool(offers))
        self.setVisible(bool(limits or offers))
        self._tell_back()

    def _make_rows(self, limits: Sequence[Limit]) -> None:
        clear(self._rows)
        self.rows, self._typed_here = {}, {}
        for limit in limits:
            row = FieldRow(self.model, self.look, limit.field)
            row.fold(True)
            row.typed.connect(self._typed)
            row.sourced.connect(self._sourced)
            self.rows[limit] = row
            self._rows.addWidget(row)

    def _make_offers(self, offers: Sequence[Offer]) -> None:
        clear(self._offered)
        self.offers = {}
        for offer in offers:
            button, text = QPushButton(self.model.words(offer.told)), self.model.words(offer.text)
            button.setObjectName(f"art-answer-{offer.question}")
            button.setAccessibleDescription(text)
            button.clicked.connect(self._answer)
            self.offers[offer] = button
            line, row = QWidget(), QHBoxLayout()
            row.setContentsMargins(0, 0, 0, 0)
            row.setSpacing(self.look.px(10))
            row.addWidget(label(text), 1)
            row.addWidget(button)
            line.setLayout(row)
            self._offered.addWidget(line)

    # ------------------------------------------------------------ what the person does

    def _of(self, sender: QObject | None) -> Limit | None:
        return next((limit for limit, row in self.rows.items() if row is sender), None)

    def _typed(self, path: str, text: Typed, merges: bool) -> None:
        limit, model = self._of(self.sender()), self.model
        if limit is None:
            return
        units = self.rows[limit].units
        got = entered(model.desk.shop, limit.section, limit.at, {path: text}, last=path, units=units, merges=merges)
        self._typed_here.pop(limit, None)
        if path in got.left:
            self._typed_here[limit] = text, got.faults[path]
        if got.edit is not None and model.book.edit(got.edit):
            self._made_at = model.book.undo.index()
        fault = got.faults.get(path, "")
        source = model.words(limit.source(model.desk.shop))
        self.rows[limit].show_value(limit.value(model.desk.shop), source, text if fault else None, fault)
        self._tell_back()

    def _sourced(self, path: str, text: str) -> None:
        limit, model = self._of(self.sender()), self.model
        if limit is None:
            return
        if model.book.edit(lambda: shop_edits.source(model.desk.shop, limit.section, limit.at, limit.field, text)):
            self._made_at = model.book.undo.index()
            self._tell_back()

    def _answer(self) -> None:
        offer = next((offer for offer, button in self.offers.items() if button is self.sender()), None)
        if offer is not None:
            self.model.edit(lambda: finding_limits.answered(self.model.job, offer))

    def take_back(self) -> None:
        """Undoes the last change of the shop book that was made here."""
        if self.model.book.undo.index() == self._made_at:
            self.model.book.undo.undo()
            self._made_at = self.model.book.undo.index() if self.model.book.undo.canUndo() else -1
            self._tell_back()

    def _tell_back(self) -> None:
        """Names what the button would take back; it stands where the last change of the book was made here."""
        undo = self.model.book.undo
        there = self._made_at > 0 and undo.index() == self._made_at and undo.canUndo()
        self.back.setVisible(there)
        if there:
            self.back.setText(self.model.say("place_art_check.limit.back", what=undo.undoText()))
