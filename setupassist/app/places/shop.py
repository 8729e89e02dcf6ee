"""The place of the shop book: kinds of entries, the entries of a kind, and the form of the one that is chosen."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from functools import partial

from PySide6.QtCore import Qt
from PySide6.QtGui import QResizeEvent, QUndoStack
from PySide6.QtWidgets import (
    QBoxLayout,
    QHBoxLayout,
    QLabel,
    QLineEdit,
    QPushButton,
    QScrollArea,
    QSizePolicy,
    QStackedWidget,
    QVBoxLayout,
    QWidget,
)

from setupassist.app import dialogs
from setupassist.app.actions import PARTING, Action
from setupassist.app.labels import column, label, rule
from setupassist.app.model import DeskModel
from setupassist.app.place import Place
from setupassist.app.scrolled import scrolled
from setupassist.app.shop.bringing_in import BringingIn
from setupassist.app.shop.decision_form import DecisionForm
from setupassist.app.shop.entry_list import EntryList, Shown
from setupassist.app.shop.fields import TextEdit
from setupassist.app.shop.form import Form
from setupassist.app.shop.kinds import Kinds
from setupassist.app.shop.press_line import OUT, PressLine
from setupassist.app.theme import TITLE, Look
from setupassist.desk import decision_rows, shop_edits
from setupassist.desk.decision_rows import State
from setupassist.desk.press_fit import toggled
from setupassist.desk.shop_edits import ShopEdit
from setupassist.desk.shop_entries import LISTS, POLICY_GROUPS, Section, count_of, entries, listed, searched
from setupassist.documents.press import Press
from setupassist.documents.store import example_shop, write_shop
from setupassist.errors import SetupAssistError
from setupassist.words import say

SIDE_BY_SIDE = 860
"""Below this width the kinds stand above the entries."""


class ShopPlace(Place):
    """The whole shop book as forms. Every edit is kept at once and can be undone here."""

    key = "shop"
    needs_job = False
    has_reasons = False

    def __init__(self, model: DeskModel, look: Look) -> None:
        super().__init__(model, look)
        self.section = Section.PRESSES
        self._chosen: dict[Section, int] = {}
        self._forms: dict[tuple[Section, str], Form] = {}
        self._units = model.units
        whole = QVBoxLayout(scrolled(self))
        whole.setContentsMargins(0, 0, 0, 0)
        whole.setSpacing(0)
        whole.addWidget(self._head())
        whole.addWidget(rule())
        lists = QWidget()
        lists.setObjectName("shop-lists")
        self._lists = QBoxLayout(QBoxLayout.Direction.LeftToRight, lists)
        self._lists.setContentsMargins(0, 0, 0, 0)
        self._lists.setSpacing(0)
        self.kinds = Kinds(model, look)
        self.kinds.chosen.connect(self.show_section)
        self._lists.addWidget(self.kinds)
        self._lists.addWidget(self._entries(), 1)
        row = QHBoxLayout()
        row.setSpacing(0)
        row.addWidget(lists)
        self._lists_widget = lists
        row.addWidget(_upright())
        row.addWidget(self._right(), 1)
        whole.addLayout(row, 1)
        model.book.kept_changed.connect(self.later)
        self._fold()

    # ------------------------------------------------------------ putting it together

    def _head(self) -> QWidget:
        look, px = self.look, self.look.px
        head = QWidget()
        laid = QVBoxLayout(head)
        laid.setContentsMargins(px(20), px(8), px(20), px(8))
        laid.setSpacing(px(2))
        row = QHBoxLayout()
        row.setSpacing(px(8))
        self.name = TextEdit()
        self.name.setObjectName("shop-name")
        self.name.setAccessibleName(self.say("place_shop.head.name"))
        self.name.setFont(look.font(TITLE, weight=600))
        self.name.setStyleSheet("QLineEdit { border-color: transparent; padding-left: 0; }")
        self.name.left.connect(self._renamed)
        self.name.given_up.connect(self._name_back)
        row.addWidget(self.name, 1)
        for key, run in (("import", self.bring_in), ("export", self.export), ("example", self.from_example)):
            made = self._button(f"place_shop.head.{'example-again' if key == 'example' else key}", run, f"shop-{key}")
            made.setAccessibleName(self.say(f"place_shop.action.{key}"))
            made.setToolTip(self.say(f"place_shop.action.{key}"))
            row.addWidget(made)
        laid.addLayout(row)
        state = QHBoxLayout()
        self.state: QLabel = label("", "quiet", name="shop-state")
        self.again = self._button("place_shop.head.again", self.model.book.keep, "shop-again")
        state.addWidget(self.state, 1)
        state.addWidget(self.again)
        laid.addLayout(state)
        self.faults = BringingIn(self.model, look)
        laid.addWidget(self.faults)
        return head

    def _button(self, key: str, run: Callable[[], object], name: str) -> QPushButton:
        button = QPushButton(self.say(key))
        button.setObjectName(name)
        button.clicked.connect(lambda _=False, run=run: run())
        return button

    def _entries(self) -> QWidget:
        px = self.look.px
        holder, laid = column(margins=(px(10), px(10), px(10), px(10)), spacing=px(6))
        self.search = QLineEdit()
        self.search.setObjectName("shop-search")
        self.search.setPlaceholderText(self.say("place_shop.list.search"))
        self.search.setAccessibleName(self.say("place_shop.list.search"))
        self.search.setClearButtonEnabled(True)
        self.search.textChanged.connect(self._searched)
        laid.addWidget(self.search)
        self.list = EntryList(self.look)
        self.list.setObjectName("shop-entries")
        self.list.setAccessibleName(self.say("place_shop.list.name"))
        self.list.chosen.connect(self.choose)
        self.list.deleted.connect(self.remove)
        self.list.entered_form.connect(self._into_form)
        laid.addWidget(self.list, 1)
        self.nothing: QLabel = label("", "quiet", name="shop-nothing")
        laid.addWidget(self.nothing)
        self.buttons = QWidget()
        rows = QVBoxLayout(self.buttons)
        rows.setContentsMargins(0, 0, 0, 0)
        rows.setSpacing(px(4))
        for keys in (("add", "copy", "remove"), ("up", "down")):
            row = QHBoxLayout()
            row.setSpacing(px(4))
            for key in keys:
                run = {"up": partial(self.shift, -1), "down": partial(self.shift, 1)}.get(key) or getattr(self, key)
                made = self._button(f"place_shop.list.{key}", run, f"entry-{key}")
                made.setAccessibleName(self.say(f"place_shop.action.{key}"))
                made.setToolTip(self.say(f"place_shop.action.{key}"))
                row.addWidget(made)
            row.addStretch(1)
            rows.addLayout(row)
        laid.addWidget(self.buttons)
        return holder

    def _right(self) -> QWidget:
        px = self.look.px
        holder, laid = column(spacing=0)
        self.drawing, drawn = column(margins=(0, 0, 0, px(8)), spacing=px(4))
        self.line = PressLine(self.model, self.look)
        self.line.toggled.connect(self._toggled)
        scroll = QScrollArea()
        scroll.setWidgetResizable(True)
        scroll.setFocusPolicy(Qt.FocusPolicy.NoFocus)
        scroll.setVerticalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        scroll.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Fixed)
        scroll.setWidget(self.line)
        scroll.setFixedHeight(self.line.sizeHint().height() + px(14))
        drawn.addWidget(scroll)
        self.line_fault: QLabel = label("", "strong", name="fault-line")
        self.line_fault.hide()
        drawn.addWidget(self.line_fault)
        self.drawing.setParent(self)
        self.drawing.hide()
        self.stack = QStackedWidget()
        self.empty: QLabel = label(self.say("place_shop.form.nothing"), "quiet")
        self.empty.setAlignment(Qt.AlignmentFlag.AlignTop)
        self.empty.setContentsMargins(px(20), px(16), px(16), px(16))
        self.stack.addWidget(self.empty)
        self.decision = DecisionForm(self.model, self.look)
        self.stack.addWidget(self.decision)
        laid.addWidget(self.stack, 1)
        return holder

    def resizeEvent(self, event: QResizeEvent) -> None:
        super().resizeEvent(event)
        self._fold()

    def _fold(self) -> None:
        px = self.look.px
        wide = self.width() >= px(SIDE_BY_SIDE)
        direction = QBoxLayout.Direction.LeftToRight if wide else QBoxLayout.Direction.TopToBottom
        if self._lists.direction() != direction or not self._lists_widget.maximumWidth() < 10_000:
            self._lists.setDirection(direction)
            self._lists_widget.setFixedWidth(px(400) if wide else px(250))
        self.kinds.fold(not wide, self.height() // 4)

    # ------------------------------------------------------------ what it shows

    @property
    def undo_stack(self) -> QUndoStack:
        return self.model.book.undo

    @property
    def at(self) -> int:
        """The entry that is chosen, by its place in the book; -1 where there is none."""
        many = self._many()
        return min(self._chosen.get(self.section, 0), many - 1)

    def _many(self) -> int:
        if self.section is Section.DECISIONS:
            return len(decision_rows.rows(self.model.desk.shop))
        return count_of(self.model.desk.shop, self.section)

    def take_focus(self) -> None:
        self.list.setFocus(Qt.FocusReason.ShortcutFocusReason)

    def status(self) -> str:
        book, shop = self.model.book, self.model.desk.shop
        if book.trouble:
            return self.say("place_shop.status.unkept")
        if book.damaged:
            return self.say("place_shop.status.damaged")
        if not book.own:
            return self.say("place_shop.status.example")
        return self.say("place_shop.status.own", shop=shop.name, count=len(shop.presses))

    def refresh(self) -> None:
        model, shop = self.model, self.model.desk.shop
        if model.units != self._units:
            self._units = model.units
            self.drawing.setParent(self)
            self.drawing.hide()
            for form in self._forms.values():
                self.stack.removeWidget(form)
                form.deleteLater()
            self._forms.clear()
        if not (self.name.hasFocus() and self.name.isModified()) and self.name.text() != shop.name:
            self.name.setText(shop.name)
            self.name.setToolTip(shop.name)
            self.name.setCursorPosition(0)
        self._tell_state()
        self.kinds.tell(shop)
        self._show_entries()
        self._show_form()

    def _tell_state(self) -> None:
        book = self.model.book
        if book.trouble:
            told = self.say("place_shop.head.unkept", reason=book.trouble[0])
        elif book.damaged:
            told = self.say("place_shop.head.damaged")
        elif not book.own:
            told = self.say("place_shop.head.example")
        else:
            told = self.say(f"place_shop.head.{'named' if book.named else 'own'}", file=str(book.path))
        self.state.setText(told)
        self.again.setVisible(bool(book.trouble))

    def _shown(self) -> list[Shown]:
        words, shop = self.model.words, self.model.desk.shop
        if self.section is Section.DECISIONS:
            return [self._row(at, made) for at, made in enumerate(decision_rows.rows(shop))]
        return [
            Shown(at, words(each.name), words(each.line), each.colour, each.swatch)
            for at, each in enumerate(listed(shop, self.section, self._units))
        ]

    def _row(self, at: int, made: decision_rows.DecisionRow) -> Shown:
        words, reason = self.model.words, made.told(self.model.language)
        line = (
            reason
            if made.is_note
            else self.say("place_shop.decision.suggests-line", answer=made.suggested, reason=reason)
        )
        name = words(made.name)
        if made.state is not State.SHIPPED:
            name = f"{name} ({self.say(f'place_shop.list.{made.state}')})"
        return Shown(at, name, line, quiet=made.state is State.OFF, strong=made.state is State.OWN)

    def _show_entries(self) -> None:
        shown = self._shown()
        text = self.search.text()
        found = [each for each in shown if not text or searched([each.name, each.line], text)]
        self.list.put(found, self.at)
        self.nothing.setText(self.say(f"place_shop.list.{'none-found' if shown else 'none'}") if not found else "")
        self.nothing.setVisible(not found)
        listing = self.section in LISTS
        self.buttons.setVisible(listing)
        at, many = self.at, self._many()
        for key, can in (("copy", at >= 0), ("remove", at >= 0), ("up", at > 0), ("down", 0 <= at < many - 1)):
            button = self.findChild(QPushButton, f"entry-{key}")
            if isinstance(button, QPushButton):
                button.setEnabled(listing and can)

    def _show_form(self) -> None:
        shop, at = self.model.desk.shop, self.at
        if at < 0:
            self.stack.setCurrentWidget(self.empty)
            return
        if self.section is Section.DECISIONS:
            self.decision.show_row(decision_rows.rows(shop)[at])
            self.stack.setCurrentWidget(self.decision)
            return
        group = list(POLICY_GROUPS)[at] if self.section is Section.POLICIES else ""
        form = self._forms.get((self.section, group))
        if form is None:
            form = self._forms[self.section, group] = Form(self.model, self.look, self.section, group)
            self.stack.addWidget(form)
            if self.section is Section.PRESSES:
                form.put_first(self.drawing)
                self.drawing.show()
        form.show_entry(0 if group else at)
        self.stack.setCurrentWidget(form)
        entry = entries(shop, self.section)[0 if group else at]
        if isinstance(entry, Press):
            if entry != self.line.press:
                self.line_fault.hide()
            self.line.show_press(entry)

    # ------------------------------------------------------------ going about

    def show_section(self, section: Section) -> None:
        """Shows a kind of entries."""
        self.section = section
        self.kinds.choose(section)
        self.search.blockSignals(True)
        self.search.clear()
        self.search.blockSignals(False)
        self._show_entries()
        self._show_form()

    def choose(self, at: int) -> None:
        """Shows an entry."""
        self._chosen[self.section] = at
        self._show_entries()
        self._show_form()

    def _searched(self) -> None:
        self._show_entries()
        found = self.list.entries.shown
        if found and all(each.at != self.at for each in found):
            self.choose(found[0].at)

    def _into_form(self) -> None:
        form = self.stack.currentWidget()
        if form is not None:
            self.list.setFocus()
            form.focusNextChild()

    def _find(self) -> None:
        self.search.setFocus(Qt.FocusReason.ShortcutFocusReason)
        self.search.selectAll()

    # ------------------------------------------------------------ edits

    def add(self) -> None:
        """One more entry; its form is shown."""
        if self.section in LISTS:
            many = self._many()
            self.search.clear()
            if self.model.book.edit(lambda: shop_edits.add(self.model.desk.shop, self.section, self.model.words)):
                self._now(many)

    def copy(self) -> None:
        """The chosen entry once more."""
        at = self.at
        if self._may(at) and self.model.book.edit(lambda: shop_edits.copy(self.model.desk.shop, self.section, at)):
            self._now(at + 1)

    def remove(self) -> None:
        """The book without the chosen entry."""
        at = self.at
        if self._may(at):
            self.model.book.edit(lambda: shop_edits.remove(self.model.desk.shop, self.section, at, units=self._units))
            self._now(max(0, min(at, self._many() - 1)))

    def shift(self, by: int) -> None:
        """The chosen entry one place up or down."""
        at = self.at
        if self._may(at) and 0 <= at + by < self._many():
            self.model.book.edit(
                lambda: shop_edits.move(self.model.desk.shop, self.section, at, at + by, units=self._units)
            )
            self._now(at + by)

    def _may(self, at: int) -> bool:
        return self.section in LISTS and at >= 0

    def _now(self, at: int) -> None:
        self._chosen[self.section] = at
        self.refresh()

    def _toggled(self, name: str, station: int) -> None:
        shop, at = self.model.desk.shop, self.at
        press = shop.presses[at]
        if name == OUT and station not in press.heads:
            return
        try:
            edit = shop_edits.values(shop, Section.PRESSES, at, {name: toggled(press, name, station)})
        except SetupAssistError as fault:
            self.line_fault.setText(self.model.words(fault.sentences()[0]))
            self.line_fault.show()
            return
        self.line_fault.hide()
        self.model.book.edit(edit)
        self._show_form()

    def _renamed(self) -> None:
        text = self.name.text().strip()
        if text != self.model.desk.shop.name:
            try:
                self.model.book.edit(shop_edits.shop_name(self.model.desk.shop, text))
            except SetupAssistError as fault:
                self.model.tell(fault)
        self.name.setModified(False)
        self._name_back()

    def _name_back(self) -> None:
        self.name.setText(self.model.desk.shop.name)

    # ------------------------------------------------------------ whole books

    def bring_in(self) -> None:
        """Takes a book from a file in place of this one, as one edit; what is wrong with it is told here."""
        self.faults.ask()

    def export(self) -> None:
        """Writes the book to a file."""
        kind = f"{self.say('place_shop.files.book')} (*.toml)"
        suggested = self.model.book.path.with_name("shop.toml")
        target = dialogs.ask_target(self, self.say("place_shop.action.export"), suggested, kind)
        if target is None:
            return
        shop = self.model.desk.shop

        def done(_: object, error: SetupAssistError | None) -> None:
            if error is not None:
                self.model.tell(error)
            else:
                self.model.told.emit(say("place_shop.files.exported", file=target.name))

        self.model.on_disk(say("app.run.saving"), lambda: write_shop(target, shop), done)

    def from_example(self) -> None:
        """The example's entries again, as one edit."""
        self.model.book.edit(ShopEdit(say("place_shop.edit.example"), example_shop()))

    # ------------------------------------------------------------ menu

    def actions_of(self) -> Sequence[Action | None]:
        listing = self._is_listing
        return (
            Action("place_shop.action.add", self.add, "Ctrl+Shift+N", listing),
            Action("place_shop.action.copy", self.copy, "Ctrl+D", listing),
            Action("place_shop.action.remove", self.remove, enabled=listing),
            Action("place_shop.action.up", partial(self.shift, -1), "Alt+Up", listing),
            Action("place_shop.action.down", partial(self.shift, 1), "Alt+Down", listing),
            Action("place_shop.action.search", self._find, "Ctrl+F"),
            PARTING,
            Action("place_shop.action.import", self.bring_in),
            Action("place_shop.action.export", self.export),
            Action("place_shop.action.example", self.from_example),
        )

    def _is_listing(self) -> bool:
        return self.section in LISTS


def _upright() -> QWidget:
    """A hairline from top to bottom."""
    made = rule()
    made.setStyleSheet("QFrame { max-height: 100000px; min-width: 1px; max-width: 1px; }")
    return made
