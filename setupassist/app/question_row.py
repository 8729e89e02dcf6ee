"""One question as a row: what is asked, what the art says, the answers, the suggestion and its reason."""

from __future__ import annotations

from PySide6.QtCore import QEvent, QObject, Qt, Signal
from PySide6.QtGui import QKeyEvent, QPainter, QPaintEvent, QResizeEvent
from PySide6.QtWidgets import QBoxLayout, QLabel, QPushButton, QRadioButton, QSizePolicy, QVBoxLayout, QWidget

from setupassist.app.entry import ColourLine, Line
from setupassist.app.flow import Flow
from setupassist.app.labels import label, rule
from setupassist.app.model import DeskModel
from setupassist.app.theme import Look
from setupassist.desk.asked import Asked
from setupassist.steps.questions import answer_words

BESIDE = 560
"""From this width on the reason stands beside the answers, else below them."""


class QuestionRow(QWidget):
    """Shows an ``Asked``. ``answered`` brings the text of an answer ("" for the suggestion), ``stepped`` the wish to
    go up (-1) or down (1), ``reached`` that the focus came here.
    """

    answered = Signal(str)
    stepped = Signal(int)
    reached = Signal()

    def __init__(self, model: DeskModel, look: Look, one: Asked) -> None:
        super().__init__()
        self.model, self.look, self.one = model, look, one
        self.setObjectName(f"question-{one.question.id}")
        self.active = False
        px = look.px
        self.text = label("", "strong")
        self.says = label("", "quiet")
        self.reason = label("", "quiet")
        self.source = label("", "small")
        self.mark = label("", "strong", wrap=False)
        self.suggested = label("", "quiet", wrap=False)
        self.take = QPushButton(model.say("place_questions.question.take"))
        self.take.clicked.connect(self.take_suggestion)
        self.choices: list[QRadioButton] = []
        self.field: Line | ColourLine | None = None
        self._flow = Flow(gap=px(18), line_gap=px(2))
        self._foot = Flow(gap=px(10), line_gap=px(2))
        for widget in (self.mark, self.suggested, self.take):
            self._foot.addWidget(widget)
        asked = QVBoxLayout()
        asked.setSpacing(px(3))
        for text in (self.text, self.says):
            asked.addWidget(text)
        asked.addSpacing(px(3))
        asked.addLayout(self._flow)
        asked.addLayout(self._foot)
        asked.addStretch(1)
        why = QVBoxLayout()
        why.setSpacing(px(3))
        for text in (self.reason, self.source):
            why.addWidget(text)
        why.addStretch(1)
        self._pair = QBoxLayout(QBoxLayout.Direction.LeftToRight)
        self._pair.setSpacing(px(24))
        self._pair.addLayout(asked, 62)
        self._pair.addLayout(why, 38)
        whole = QVBoxLayout(self)
        whole.setContentsMargins(px(14), px(8), px(4), 0)
        whole.setSpacing(px(8))
        whole.addLayout(self._pair)
        whole.addWidget(rule())
        self.setSizePolicy(QSizePolicy.Policy.Preferred, QSizePolicy.Policy.Minimum)
        self.setFocusPolicy(Qt.FocusPolicy.NoFocus)

    # ------------------------------------------------------------ showing

    def show_asked(self, one: Asked) -> None:
        """Shows the question as it is asked now; widgets stay where the answers stay."""
        words, question = self.model.words, one.question
        changed = one.question.answers != self.one.question.answers or one.kind != self.one.kind
        self.one = one
        if changed or (not self.choices and self.field is None):
            self._make_answers()
        _tell(self.text, words(question.text))
        _tell(self.says, words(question.says))
        _tell(self.reason, words(question.reason))
        _tell(self.source, words(question.source))
        self.says.setVisible(bool(question.says))
        suggested = words(answer_words(question.suggested))
        by_hand = one.answer is not None
        for at, (button, answer) in enumerate(zip(self.choices, question.answers, strict=False), 1):
            key = "choice-suggested" if answer == question.suggested else "choice"
            shown = words(answer_words(answer))
            button.setText(self.model.say(f"place_questions.question.{key}", number=at, answer=shown))
            button.setAccessibleName(f"{self.text.text()} {button.text()}")
            button.setChecked(answer == one.given)
            font = self.look.font(weight=600 if by_hand and answer == one.given else 400)
            button.setFont(font)
        if self.field is not None:
            self._show_field(one, suggested)
        _tell(self.mark, self.model.say("place_questions.question.by-you"))
        self.mark.setVisible(by_hand)
        self.take.setVisible(by_hand)
        _tell(self.suggested, self.model.say("place_questions.question.is-suggested", answer=suggested))
        self.suggested.setVisible(by_hand or self.field is not None)
        self.take.setAccessibleName(f"{self.text.text()} {self.take.text()}")

    def _show_field(self, one: Asked, suggested: str) -> None:
        answer = one.answer if one.answer is not None else ""
        placeholder = self.model.say("place_questions.suggested-value", value=suggested)
        line = self.field
        if isinstance(line, ColourLine):
            line.hold(one.given, answer, placeholder)
            line.line.setAccessibleName(self.text.text())
        elif isinstance(line, Line):
            line.hold(answer, placeholder)
            line.setAccessibleName(self.text.text())

    def _make_answers(self) -> None:
        had_focus = self.has_focus()
        gone: list[QWidget] = [*self.choices, *([self.field] if self.field is not None else [])]
        for widget in gone:
            self._flow.removeWidget(widget)
            widget.hide()
            widget.deleteLater()
        self.choices, self.field = [], None
        qid = self.one.question.id
        if self.one.kind == "choice":
            for at, answer in enumerate(self.one.question.answers):
                button = QRadioButton()
                button.setObjectName(f"answer-{qid}-{answer}")
                button.setProperty("place", at)
                button.clicked.connect(self._clicked)
                button.installEventFilter(self)
                self._flow.addWidget(button)
                self.choices.append(button)
        elif self.one.kind == "colour":
            say = self.model.say
            colour = ColourLine(self.look, choose=say("place_questions.question.choose"), title="")
            colour.told.connect(self.answered)
            self._put_field(colour, colour.line)
            colour.choose.installEventFilter(self)
        else:
            line = Line(self.look, wide=150)
            line.told.connect(self.answered)
            self._put_field(line, line)
        self.take.installEventFilter(self)
        if had_focus:
            self.focus()

    def _put_field(self, field: Line | ColourLine, line: Line) -> None:
        self.field = field
        line.setObjectName(f"answer-{self.one.question.id}")
        line.stepped.connect(self.stepped)
        line.installEventFilter(self)
        self._flow.addWidget(field)

    def mark_active(self, active: bool) -> None:
        """Marks the row as the one that the person is at."""
        if active != self.active:
            self.active = active
            self.update()

    def resizeEvent(self, event: QResizeEvent) -> None:
        super().resizeEvent(event)
        beside = self.width() >= self.look.px(BESIDE)
        self._pair.setDirection(QBoxLayout.Direction.LeftToRight if beside else QBoxLayout.Direction.TopToBottom)
        self._pair.setSpacing(self.look.px(24 if beside else 4))

    def paintEvent(self, event: QPaintEvent) -> None:
        if self.active:
            painter = QPainter(self)
            painter.fillRect(0, 0, self.look.px(4), self.height() - self.look.px(1), self.look.colour("mark"))
            painter.end()

    # ------------------------------------------------------------ answering

    def has_focus(self) -> bool:
        """Whether the focus is anywhere in this row."""
        focus = self.window().focusWidget() if self.isVisible() else None
        return focus is not None and (focus is self or self.isAncestorOf(focus))

    def focus(self) -> None:
        """Takes the focus: to the answer in force, or to the field."""
        if self.field is not None:
            line = self.field.line if isinstance(self.field, ColourLine) else self.field
            line.setFocus(Qt.FocusReason.TabFocusReason)
            return
        chosen = next((button for button in self.choices if button.isChecked()), None)
        widget = chosen or (self.choices[0] if self.choices else None)
        if widget is not None:
            widget.setFocus(Qt.FocusReason.OtherFocusReason)

    def choose(self, place: int) -> None:
        """Gives the answer in that place, as if it were clicked; nothing where there is none."""
        if 0 <= place < len(self.choices):
            self.choices[place].setFocus(Qt.FocusReason.OtherFocusReason)
            self.answered.emit(self.one.question.answers[place])

    def take_suggestion(self) -> None:
        """Goes back to what is suggested."""
        if self.one.answer is not None:
            if self.take.hasFocus():
                self.focus()
            self.answered.emit("")

    def _clicked(self) -> None:
        button = self.sender()
        if isinstance(button, QRadioButton):
            self.answered.emit(self.one.question.answers[int(button.property("place"))])

    def eventFilter(self, watched: QObject, event: QEvent) -> bool:
        if event.type() is QEvent.Type.FocusIn:
            self.reached.emit()
        if event.type() is QEvent.Type.KeyPress and isinstance(event, QKeyEvent):
            return self._key(watched, event)
        return False

    def _key(self, watched: QObject, event: QKeyEvent) -> bool:
        key, typed = event.key(), isinstance(watched, Line)
        if key in (Qt.Key.Key_Return, Qt.Key.Key_Enter) and not isinstance(watched, QPushButton):
            if isinstance(watched, Line):
                watched.editingFinished.emit()
            self.stepped.emit(1)
            return True
        if typed:
            return False
        if key in (Qt.Key.Key_Up, Qt.Key.Key_Down):
            self.stepped.emit(-1 if key == Qt.Key.Key_Up else 1)
            return True
        if key in (Qt.Key.Key_Backspace, Qt.Key.Key_Delete):
            self.take_suggestion()
            return True
        if Qt.Key.Key_1 <= key <= Qt.Key.Key_9 and not event.modifiers() & ~Qt.KeyboardModifier.KeypadModifier:
            self.choose(key - Qt.Key.Key_1)
            return True
        return False


def _tell(where: QLabel, text: str) -> None:
    if where.text() != text:
        where.setText(text)
