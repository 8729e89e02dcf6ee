"""The form of an entry of the shop book, made from its model."""

from __future__ import annotations

from PySide6.QtCore import Qt, Signal
from PySide6.QtGui import QResizeEvent
from PySide6.QtWidgets import QScrollArea, QVBoxLayout, QWidget

from setupassist.app.labels import column, label, rule
from setupassist.app.model import DeskModel
from setupassist.app.shop.fields import FieldRow, style_of_sources
from setupassist.app.theme import Look
from setupassist.desk import shop_edits
from setupassist.desk.entering_shop import Entered, entered
from setupassist.desk.form_values import Typed
from setupassist.desk.forms import row, source_of, value_at
from setupassist.desk.shop_entries import MODEL_OF, Section, entries, fields_shown, told_of
from setupassist.documents.base import Document
from setupassist.documents.press import Press
from setupassist.errors import SetupAssistError
from setupassist.words import say

NARROW = 480
"""Below this width labels stand above their fields."""

MOST_PENDING = 50


class Form(QWidget):
    """Rows for the fields of a kind of entry; they are made once for a kind and filled for each entry.

    ``changed`` tells that what stands in it changed without an edit (a fault came or went).
    """

    changed = Signal()

    def __init__(self, model: DeskModel, look: Look, section: Section, group: str = "") -> None:
        super().__init__()
        self.model, self.look, self.section, self.group = model, look, section, group
        self.units = model.units
        self.at = -1
        self._shown: tuple[Document, int] | None = None
        self._faults: dict[str, str] = {}
        self.setStyleSheet(style_of_sources(look))
        whole = QVBoxLayout(self)
        whole.setContentsMargins(0, 0, 0, 0)
        whole.setSpacing(0)
        self.area = QScrollArea()
        self.area.setWidgetResizable(True)
        self.area.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAsNeeded)
        self.area.setFocusPolicy(Qt.FocusPolicy.NoFocus)
        holder, self.column = column(margins=(look.px(20), look.px(12), look.px(16), look.px(12)), spacing=0)
        self.title = label("", "heading", name="entry-title")
        self.column.addWidget(self.title)
        self.column.addSpacing(look.px(6))
        self.rows: dict[str, FieldRow] = {}
        for field in fields_shown(section, group):
            made = FieldRow(model, look, field)
            made.typed.connect(self._typed)
            made.sourced.connect(self._sourced)
            made.reached.connect(self._reached)
            self.rows[field.path] = made
            self.column.addWidget(made)
        self.column.addStretch(1)
        self.area.setWidget(holder)
        whole.addWidget(self.area, 1)
        whole.addWidget(rule())
        self.help = label("", "quiet", name="field-help")
        self.help.setContentsMargins(look.px(20), look.px(8), look.px(16), look.px(8))
        whole.addWidget(self.help)
        self.help.setText(model.words(next(iter(self.rows.values())).field.help))

    def put_first(self, widget: QWidget) -> None:
        """Puts something above the title."""
        self.column.insertWidget(0, widget)

    def resizeEvent(self, event: QResizeEvent) -> None:
        super().resizeEvent(event)
        narrow = self.width() < self.look.px(NARROW)
        for each in self.rows.values():
            each.fold(narrow)

    # ------------------------------------------------------------ what it shows

    def show_entry(self, at: int) -> None:
        """The entry in place ``at`` as it is now, with what was typed for it and is not valid yet."""
        before, same = self._shown, at == self.at
        self.at = at
        entry = self._entry()
        if entry is None:
            return
        many = len(entries(self.model.desk.shop, self.section))
        if same and before is not None and before[0] != entry and before[1] == many:
            self._keep_pending(before[0], entry, {**self._pending(before[0]), **self._pending(entry)})
        self._shown = (entry, many)
        pending = self._pending(entry)
        self._faults = {}
        if pending:
            not_taken = dict.fromkeys(pending, say("place_shop.form.not-taken"))
            self._faults = not_taken | dict(self._try(pending, next(iter(pending))).faults)
        title = self._title(entry)
        self.title.setText(title)
        for path, made in self.rows.items():
            source = self.model.words(source_of(entry, made.field))
            made.show_value(value_at(entry, path), source, pending.get(path), self._faults.get(path, ""))

    def _title(self, entry: Document) -> str:
        if self.group:
            return self.model.say(f"place_shop.policy.{self.group}")
        return self.model.words(told_of(entry, self.units).name)

    def _entry(self) -> Document | None:
        there = entries(self.model.desk.shop, self.section)
        return there[self.at] if 0 <= self.at < len(there) else None

    def _pending(self, entry: Document) -> dict[str, Typed]:
        return next((texts for of, texts in self.model.book.pending if of == entry), {})

    def _keep_pending(self, before: Document, after: Document | None, left: dict[str, Typed]) -> None:
        book = self.model.book
        book.pending = [(of, texts) for of, texts in book.pending if of not in (before, after)]
        if left and after is not None:
            book.pending = [*book.pending, (after, left)][-MOST_PENDING:]

    # ------------------------------------------------------------ what the person does

    def _try(self, texts: dict[str, Typed], last: str, merges: bool = False) -> Entered:
        shop = self.model.desk.shop
        return entered(shop, self.section, self.at, texts, last=last, units=self.units, merges=merges)

    def _typed(self, path: str, text: Typed, merges: bool) -> None:
        entry = self._entry()
        if entry is None:
            return
        got = self._try({**self._pending(entry), path: text}, path, merges)
        job_press = self.model.has_job and isinstance(entry, Press) and self.model.job.press == entry.name
        after = entry
        if got.edit is not None:
            after = entries(got.edit.shop, self.section)[self.at]
        self._keep_pending(entry, after, dict(got.left))
        self._shown = None
        if got.edit is not None:
            self.model.book.edit(got.edit)
            if job_press and isinstance(after, Press) and isinstance(entry, Press) and after.name != entry.name:
                self.model.told.emit(shop_edits.renamed(entry.name))
        self.show_entry(self.at)
        self.changed.emit()

    def _sourced(self, path: str, text: str) -> None:
        field = row(MODEL_OF[self.section], path)
        try:
            edit = shop_edits.source(self.model.desk.shop, self.section, self.at, field, text)
        except SetupAssistError as fault:
            self.model.tell(fault)
            return
        entry = self._entry()
        if entry is not None:
            self._keep_pending(entry, entries(edit.shop, self.section)[self.at], self._pending(entry))
        self.model.book.edit(edit)

    def _reached(self, path: str) -> None:
        made = self.rows[path]
        for row_path, each in self.rows.items():
            each.here(row_path == path)
        self.help.setText(self.model.words(made.field.help))
        if made.isVisible():
            self.area.ensureWidgetVisible(made, 0, self.look.px(20))
