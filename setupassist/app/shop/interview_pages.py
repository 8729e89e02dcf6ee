"""The pages of the short interview: one step at a time, back and forth, by keyboard alone where one likes."""

from __future__ import annotations

from functools import partial

from PySide6.QtCore import Qt, Signal
from PySide6.QtGui import QKeyEvent
from PySide6.QtWidgets import (
    QButtonGroup,
    QCheckBox,
    QGridLayout,
    QHBoxLayout,
    QPushButton,
    QRadioButton,
    QScrollArea,
    QVBoxLayout,
    QWidget,
)

from setupassist.app.labels import clear, column, label, rule
from setupassist.app.model import DeskModel
from setupassist.app.shop.fields import FieldRow, TextEdit
from setupassist.app.shop.press_line import OUT, PressLine
from setupassist.app.theme import Look
from setupassist.desk import interview
from setupassist.desk.form_values import Typed
from setupassist.desk.forms import row, value_at
from setupassist.desk.interview import Interview, Step
from setupassist.desk.shop_entries import MODEL_OF, Section, entries
from setupassist.documents.shop import Shop
from setupassist.documents.terms import InkSystem
from setupassist.errors import InputFault


class _Area(QScrollArea):
    """Leaves the keys to the pages."""

    def keyPressEvent(self, event: QKeyEvent) -> None:
        event.ignore()


class InterviewPages(QWidget):
    """Shows the step that the interview is at. ``left`` for later; ``finished`` when the book is made."""

    left = Signal()
    finished = Signal()

    def __init__(self, model: DeskModel, look: Look) -> None:
        super().__init__()
        self.model, self.look = model, look
        self.setObjectName("interview")
        self._texts: dict[str, Typed] = {}
        self._rows: dict[str, tuple[Section, FieldRow]] = {}
        self._meshes: dict[float, tuple[QCheckBox, TextEdit]] = {}
        say, px = model.say, look.px
        whole = QVBoxLayout(self)
        whole.setContentsMargins(px(60), px(32), px(60), px(24))
        whole.setSpacing(px(4))
        self.progress = label("", "quiet", name="interview-progress")
        self.title = label("", "title", name="interview-title")
        self.more = label("", "quiet", name="interview-more")
        for widget in (self.progress, self.title, self.more):
            whole.addWidget(widget)
        whole.addSpacing(px(8))
        whole.addWidget(rule())
        self.area = _Area()
        self.area.setWidgetResizable(True)
        self.area.setFocusPolicy(Qt.FocusPolicy.NoFocus)
        holder, self._content = column(margins=(0, px(10), px(10), px(10)), spacing=px(2))
        self.area.setWidget(holder)
        whole.addWidget(self.area, 1)
        self.fault = label("", "strong", name="interview-fault")
        self.fault.hide()
        whole.addWidget(self.fault)
        whole.addWidget(rule())
        whole.addSpacing(px(8))
        foot = QHBoxLayout()
        foot.setSpacing(px(8))
        self.back = self._button("back", partial(self.go, -1))
        self.next = self._button("next", partial(self.go, 1))
        self.leave = self._button("leave", self._leave)
        for button in (self.back, self.next):
            foot.addWidget(button)
        foot.addStretch(1)
        foot.addWidget(self.leave)
        whole.addLayout(foot)
        self.next.setText(say("interview.next"))

    def _button(self, key: str, run: partial[None] | object) -> QPushButton:
        button = QPushButton(self.model.say(f"interview.{key}"))
        button.setObjectName(f"interview-{key}")
        button.setAutoDefault(True)
        button.clicked.connect(run)
        return button

    @property
    def now(self) -> Interview:
        """Where the interview stands."""
        told = self.model.book.interview
        assert told is not None, "the interview has not begun"
        return told

    # ------------------------------------------------------------ the steps

    def show_step(self) -> None:
        """Shows the step that the interview is at, from the start of its page."""
        self.next.setFocus()  # what has the focus tells what is in it before its page goes
        now, say = self.now, self.model.say
        self._texts, self._rows, self._meshes = {}, {}, {}
        clear(self._content)
        self._tell("")
        self.progress.setText(say("interview.progress", step=now.number, steps=len(Step)))
        self.title.setText(say(f"interview.step.{now.step}"))
        self.more.setText(say(f"interview.more.{now.step}"))
        self.back.setEnabled(now.number > 1)
        last = now.number == len(Step)
        self.next.setText(say("interview.finish" if last else "interview.next"))
        {
            Step.SHOP: self._shop,
            Step.PRESS: self._press,
            Step.STATIONS: self._stations,
            Step.MESHES: self._stock,
            Step.INK: self._ink,
        }[now.step]()
        self._content.addStretch(1)
        first = next((w for w in self._content_widgets() if w.focusPolicy() & Qt.FocusPolicy.TabFocus), None)
        (first or self.next).setFocus(Qt.FocusReason.TabFocusReason)

    def _content_widgets(self) -> list[QWidget]:
        holder = self.area.widget()
        return [w for w in holder.findChildren(QWidget) if not w.isHidden()] if holder is not None else []

    def _shop(self) -> None:
        name = FieldRow(self.model, self.look, row(Shop, "name"), sources=False)
        name.show_value(self.now.shop.name, "", None, "")
        name.typed.connect(self._named)
        self._content.addWidget(name)
        self._fields(Section.POLICIES, interview.POLICY_FIELDS)

    def _press(self) -> None:
        self._fields(Section.PRESSES, interview.PRESS_FIELDS)

    def _stations(self) -> None:
        line = PressLine(self.model, self.look)
        line.show_press(self.now.press)
        line.toggled.connect(self._toggled)
        scroll = QScrollArea()
        scroll.setWidgetResizable(True)
        scroll.setFocusPolicy(Qt.FocusPolicy.NoFocus)
        scroll.setVerticalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        scroll.setWidget(line)
        scroll.setFixedHeight(line.sizeHint().height() + self.look.px(14))
        self.line = line
        self._content.addWidget(scroll)
        self._content.addSpacing(self.look.px(8))
        self._fields(Section.PRESSES, ("flash_units",))

    def _stock(self) -> None:
        look, words = self.look, self.model.words
        stock = dict(self.now.stock)
        holder = QWidget()
        grid = QGridLayout(holder)
        grid.setContentsMargins(0, 0, 0, 0)
        grid.setHorizontalSpacing(look.px(16))
        grid.setVerticalSpacing(look.px(4))
        grid.setColumnStretch(2, 1)
        for at, (mesh, inch, thread) in enumerate(interview.usual_meshes()):
            named = words.say(f"place_shop.line.mesh-{self.now.units}", cm=f"{mesh:g}", inch=f"{inch:g}")
            tick = QCheckBox(words.say("interview.mesh", mesh=named, thread=f"{thread:g}"))
            tick.setObjectName(f"mesh-{mesh:g}")
            tick.setAccessibleName(words.say("interview.tick-of", mesh=named))
            tick.setChecked(mesh in stock)
            count = TextEdit(steps=True)
            count.setObjectName(f"count-{mesh:g}")
            count.setAccessibleName(words.say("interview.quantity-of", mesh=named))
            count.setFixedWidth(look.px(70))
            count.setText(str(stock[mesh]) if mesh in stock else "")
            tick.clicked.connect(partial(self._ticked, mesh))
            count.left.connect(partial(self._counted, mesh))
            count.stepped.connect(partial(self._stepped, mesh))
            grid.addWidget(tick, at, 0)
            grid.addWidget(count, at, 1)
            self._meshes[mesh] = (tick, count)
        self._content.addWidget(holder)

    def _ink(self) -> None:
        holder, laid = column(spacing=self.look.px(6))
        self.systems = QButtonGroup(holder)
        for at, system in enumerate(InkSystem):
            name = self.model.say(f"terms.ink_system.{system.value}")
            button = QRadioButton(name)
            button.setObjectName(f"system-{system.value}")
            button.setAccessibleName(f"{self.model.say('interview.field.system')}: {name}")
            button.setChecked(system is self.now.system)
            self.systems.addButton(button, at)
            laid.addWidget(button)
        self.systems.idToggled.connect(self._system)
        self._content.addWidget(holder)

    def _fields(self, section: Section, paths: tuple[str, ...]) -> None:
        for path in paths:
            made = FieldRow(self.model, self.look, row(MODEL_OF[section], path), sources=False, units=self.now.units)
            made.typed.connect(self._typed)
            self._rows[path] = (section, made)
            self._content.addWidget(made)
        self._show_fields({})

    def _show_fields(self, faults: dict[str, str]) -> None:
        for path, (section, made) in self._rows.items():
            value = value_at(entries(self.now.shop, section)[0], path)
            made.show_value(value, "", self._texts.get(path), faults.get(path, ""))

    # ------------------------------------------------------------ what the person tells

    def _put(self, now: Interview) -> None:
        self.model.book.interview = now

    def _named(self, path: str, text: Typed, merges: bool) -> None:
        made = self.sender()
        assert isinstance(made, FieldRow)
        try:
            self._put(interview.named(self.now, str(text)))
        except InputFault as fault:
            made.show_value(self.now.shop.name, "", text, fault.what)
        else:
            made.show_value(self.now.shop.name, "", None, "")

    def _typed(self, path: str, text: Typed, merges: bool) -> None:
        section = self._rows[path][0]
        now, got = interview.told(self.now, section, {**self._texts, path: text}, path)
        self._put(now)
        self._texts = dict(got.left)
        self._show_fields(dict(got.faults))

    def _toggled(self, name: str, station: int) -> None:
        if name == OUT:
            return
        try:
            self._put(interview.switched(self.now, name, station))
        except InputFault as fault:
            self._tell(self.model.words(fault.what))
            return
        self._tell("")
        self.line.show_press(self.now.press)

    def _ticked(self, mesh: float) -> None:
        ticked = self._meshes[mesh][0].isChecked()
        self._stocked(mesh, interview.USUAL_OF_A_MESH if ticked else None)

    def _counted(self, mesh: float) -> None:
        text = self._meshes[mesh][1].text().strip()
        if text.isdecimal() and len(text) < 9:
            self._stocked(mesh, int(text) or None)
        else:
            self._stocked(mesh, None if not text else dict(self.now.stock).get(mesh))

    def _stepped(self, mesh: float, way: int) -> None:
        count = dict(self.now.stock).get(mesh, 0) + way
        self._stocked(mesh, count if count > 0 else None)

    def _stocked(self, mesh: float, count: int | None) -> None:
        self._put(interview.stocked(self.now, mesh, count))
        tick, edit = self._meshes[mesh]
        told = dict(self.now.stock).get(mesh)
        tick.setChecked(told is not None)
        edit.setText("" if told is None else str(told))

    def _system(self, at: int, chosen: bool) -> None:
        if chosen:
            self._put(interview.with_system(self.now, list(InkSystem)[at]))

    # ------------------------------------------------------------ going about

    def _tell(self, text: str) -> None:
        self.fault.setText(text)
        self.fault.setVisible(bool(text))

    def go(self, by: int, *_: object) -> None:
        """A step on or back; on from the last makes the book. Text that is not valid holds the step."""
        focus = self.focusWidget()
        if isinstance(focus, TextEdit):
            focus.left.emit()
        if by > 0 and self._texts:
            return
        now = self.now
        if by > 0 and now.number == len(Step):
            self.model.book.edit(interview.finished(now, self.model.words))
            self.finished.emit()
            return
        self._put(interview.gone(now, by))
        self.show_step()

    def _leave(self) -> None:
        self.left.emit()

    def keyPressEvent(self, event: QKeyEvent) -> None:
        if event.key() in (Qt.Key.Key_Return, Qt.Key.Key_Enter, Qt.Key.Key_PageDown):
            self.go(1)
        elif event.key() == Qt.Key.Key_PageUp:
            self.go(-1)
        elif event.key() == Qt.Key.Key_Escape:
            self._leave()
        else:
            super().keyPressEvent(event)
