"""The form of a row of the decision table: as shipped, switched off, or written by the shop."""

from __future__ import annotations

from PySide6.QtCore import QEvent, QObject, Signal
from PySide6.QtGui import QFocusEvent
from PySide6.QtWidgets import QButtonGroup, QHBoxLayout, QPlainTextEdit, QRadioButton, QScrollArea, QVBoxLayout, QWidget

from setupassist.app.labels import column, label, rule
from setupassist.app.model import DeskModel
from setupassist.app.shop.fields import Choices, TextEdit
from setupassist.app.theme import Look
from setupassist.desk import decision_rows
from setupassist.desk.decision_rows import DecisionRow, State
from setupassist.desk.forms import row
from setupassist.documents.shop import Decision
from setupassist.errors import InputFault, InputFaults


class ReasonEdit(QPlainTextEdit):
    """Some lines of text; Tab goes on to the next field."""

    left = Signal()

    def __init__(self, look: Look) -> None:
        super().__init__()
        self.setTabChangesFocus(True)
        self.setMinimumHeight(look.px(90))
        self.setMaximumHeight(look.px(150))

    def focusOutEvent(self, event: QFocusEvent) -> None:
        super().focusOutEvent(event)
        self.left.emit()


class DecisionForm(QWidget):
    """One row at a time; what the shop writes is checked when the person leaves a field."""

    def __init__(self, model: DeskModel, look: Look) -> None:
        super().__init__()
        self.model, self.look = model, look
        self.row: DecisionRow | None = None
        self._filled = ("", "")
        whole = QVBoxLayout(self)
        whole.setContentsMargins(0, 0, 0, 0)
        whole.setSpacing(0)
        scroll = QScrollArea()
        scroll.setWidgetResizable(True)
        scroll.setFocusPolicy(scroll.focusPolicy().NoFocus)
        holder, laid = column(margins=(look.px(20), look.px(12), look.px(16), look.px(12)), spacing=look.px(6))
        scroll.setWidget(holder)
        whole.addWidget(scroll, 1)
        say = model.say
        self.title = label("", "heading", name="entry-title")
        self.shipped = label("", name="row-shipped")
        self.because = label("", name="row-because")
        self.source_told = label("", "small", name="row-source")
        laid.addWidget(self.title)
        laid.addWidget(label(say("place_shop.decision.shipped"), "strong"))
        for widget in (self.shipped, self.because, self.source_told):
            laid.addWidget(widget)
        laid.addSpacing(look.px(10))
        laid.addWidget(label(say("place_shop.decision.state"), "strong"))
        self.states = QButtonGroup(self)
        choices = QHBoxLayout()
        choices.setSpacing(look.px(16))
        for at, state in enumerate(State):
            button = QRadioButton(say(f"place_shop.decision.state-{state}"))
            button.setObjectName(f"state-{state}")
            button.setAccessibleName(f"{say('place_shop.decision.state')}: {button.text()}")
            self.states.addButton(button, at)
            choices.addWidget(button)
        choices.addStretch(1)
        self.states.idClicked.connect(self._switched)
        laid.addLayout(choices)
        self.own, own = column(spacing=look.px(6))
        self._field(own, "suggest")
        self.suggest = Choices()
        self.suggest.setObjectName("edit-suggest")
        self.suggest.activated.connect(self._chosen)
        self.suggest_text = TextEdit()
        self.suggest_text.setObjectName("edit-suggest-text")
        self.suggest_text.left.connect(self._left)
        self.suggest_text.given_up.connect(self.refresh)
        own.addWidget(self.suggest)
        own.addWidget(self.suggest_text)
        self._field(own, "reason")
        self.reason = ReasonEdit(look)
        self.reason.setObjectName("edit-reason")
        self.reason.left.connect(self._left)
        own.addWidget(self.reason)
        own.addWidget(label(say("place_shop.decision.figures"), "small"))
        self._field(own, "source")
        self.source = TextEdit()
        self.source.setObjectName("edit-source")
        self.source.left.connect(self._left)
        self.source.given_up.connect(self.refresh)
        own.addWidget(self.source)
        self.fault = label("", "strong", name="fault-row")
        own.addWidget(self.fault)
        self.own.setMaximumWidth(look.px(640))
        laid.addWidget(self.own)
        laid.addStretch(1)
        whole.addWidget(rule())
        self.help = label("", "quiet", name="field-help")
        self.help.setContentsMargins(look.px(20), look.px(8), look.px(16), look.px(8))
        whole.addWidget(self.help)
        for name, editors in self._editors().items():
            field = row(Decision, name)
            for each in editors:
                each.setAccessibleName(model.words(field.label))
                each.setAccessibleDescription(model.words(field.help))
                each.installEventFilter(self)
        self.help.setText(model.words(row(Decision, "id").help))

    def _editors(self) -> dict[str, list[QWidget]]:
        return {"suggest": [self.suggest, self.suggest_text], "reason": [self.reason], "source": [self.source]}

    def _field(self, into: QVBoxLayout, name: str) -> None:
        told = label(self.model.words(row(Decision, name).label), name=f"label-{name}")
        into.addWidget(told)

    # ------------------------------------------------------------ what it shows

    def show_row(self, made: DecisionRow) -> None:
        """The row as the shop has it now."""
        say, words, language = self.model.say, self.model.words, self.model.language
        other = self.row is None or self.row.id != made.id
        self.row = made
        self.title.setText(words(made.name))
        reason = made.reason(language)
        answer = made.answer(made.suggest)
        self.shipped.setText("" if made.is_note else say("place_shop.decision.suggests", answer=answer))
        self.shipped.setVisible(not made.is_note)
        self.because.setText(say(f"place_shop.decision.{'tells' if made.is_note else 'because'}", reason=reason))
        self.source_told.setText(say("place_shop.decision.source", source=made.source))
        button = self.states.button(list(State).index(made.state))
        if button is not None:
            button.setChecked(True)
        self.own.setVisible(made.state is State.OWN)
        if made.own is None:
            return
        choices = bool(made.answers)
        label_of_suggest = self.findChild(QWidget, "label-suggest")
        if isinstance(label_of_suggest, QWidget):
            label_of_suggest.setVisible(not made.is_note)
        self.suggest.setVisible(choices)
        self.suggest_text.setVisible(not choices and not made.is_note)
        if other or self.suggest.count() != len(made.answers):
            self.suggest.clear()
            for each in made.answers:
                self.suggest.addItem(words(made.answer(each)), each)
        self.suggest.setCurrentIndex(max(0, self.suggest.findData(made.own.suggest)))
        if other or not self.fault.text():
            self._fill(made.own)
        if other:
            self._tell("")

    def _fill(self, own: Decision) -> None:
        for edit, text in ((self.suggest_text, own.suggest), (self.source, self._source(own))):
            if edit.text() != text and not (edit.hasFocus() and edit.isModified()):
                edit.setText(text)
        typing = self.reason.hasFocus() and self.reason.document().isModified()
        if self.reason.toPlainText() != own.reason and not typing:
            self.reason.setPlainText(own.reason)

    def _source(self, own: Decision) -> str:
        return own.source if "source" in own.model_fields_set else self.model.say("decisions.source.this-shop")

    def refresh(self) -> None:
        """Back to what is in force."""
        if self.row is not None and self.row.own is not None:
            for edit in (self.suggest_text, self.source):
                edit.setModified(False)
            self._fill(self.row.own)
            self._tell("")

    def _tell(self, text: str) -> None:
        self.fault.setText(text)
        self.fault.setVisible(bool(text))

    # ------------------------------------------------------------ what the person does

    def _switched(self, at: int) -> None:
        made = self.row
        if made is not None:
            state, language = list(State)[at], self.model.language
            self._tell("")
            self.model.book.edit(lambda: decision_rows.switch(self.model.desk.shop, made, state, language))

    def _chosen(self) -> None:
        self._write({"suggest": str(self.suggest.currentData())})

    def _left(self) -> None:
        made = self.row
        if made is None or made.own is None or made.state is not State.OWN:
            return
        own, changes = made.own, {}
        if not made.answers and not made.is_note and self.suggest_text.text() != own.suggest:
            changes["suggest"] = self.suggest_text.text().strip()
        if self.reason.toPlainText() != own.reason:
            changes["reason"] = self.reason.toPlainText()
        if self.source.text() != self._source(own):
            changes["source"] = self.source.text()
        if changes:
            self._write(changes)
        else:
            self._tell("")

    def _write(self, changes: dict[str, str]) -> None:
        assert self.row is not None
        try:
            edit = decision_rows.write(self.model.desk.shop, self.row, changes)
        except InputFault as fault:
            faults = fault.faults if isinstance(fault, InputFaults) else [fault]
            self._tell(self.model.words(faults[0].sentence))
            return
        self._tell("")
        self.model.book.edit(edit)

    def eventFilter(self, watched: QObject, event: QEvent) -> bool:
        if event.type() is QEvent.Type.FocusIn:
            name = next((n for n, widgets in self._editors().items() if watched in widgets), None)
            if name is not None:
                self.help.setText(self.model.words(row(Decision, name).help))
        return False
