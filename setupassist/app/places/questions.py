"""The place of questions: what the order is, and each question that the plates leave open, with a suggested answer."""

from __future__ import annotations

from collections.abc import Sequence
from functools import partial
from itertools import pairwise

from PySide6.QtCore import QSize, Qt
from PySide6.QtGui import QShowEvent
from PySide6.QtWidgets import QApplication, QLabel, QScrollArea, QVBoxLayout, QWidget

from setupassist.app.actions import Action
from setupassist.app.labels import label, rule
from setupassist.app.model import DeskModel
from setupassist.app.order_form import OrderForm
from setupassist.app.place import Place
from setupassist.app.question_row import QuestionRow
from setupassist.app.selection import Of, Selection
from setupassist.app.theme import Look
from setupassist.desk.asked import Asked, answered, asked, counts
from setupassist.desk.tasks import Stage

TAB = Qt.FocusPolicy.TabFocus


class QuestionsPlace(Place):
    """The form of the order above, the questions below, all in one page that scrolls."""

    key = "questions"

    def __init__(self, model: DeskModel, look: Look) -> None:
        super().__init__(model, look)
        px = look.px
        self.order = OrderForm(model, look)
        self.rows: dict[str, QuestionRow] = {}
        self._active = ""
        self._chain: list[QWidget] = []
        self.state: QLabel = label("", "quiet", name="questions-state")
        self.trouble: QLabel = label("", "strong", name="questions-trouble")
        self.keys: QLabel = label(self.say("place_questions.state.keys"), "small", name="questions-keys")
        self.page = QWidget()
        column = QVBoxLayout(self.page)
        column.setContentsMargins(px(22), px(16), px(16), px(16))
        column.setSpacing(px(8))
        column.addWidget(label(self.say("place_questions.heading.order"), "heading"))
        column.addWidget(self.order)
        column.addSpacing(px(6))
        column.addWidget(label(self.say("place_questions.heading.questions"), "heading", name="questions-heading"))
        for text in (self.trouble, self.state, self.keys):
            column.addWidget(text)
        column.addWidget(rule())
        self._list = QVBoxLayout()
        self._list.setSpacing(0)
        column.addLayout(self._list)
        column.addStretch(1)
        self.area = QScrollArea()
        self.area.setWidgetResizable(True)
        self.area.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        self.area.setFocusPolicy(Qt.FocusPolicy.NoFocus)
        self.area.setWidget(self.page)
        whole = QVBoxLayout(self)
        whole.setContentsMargins(0, 0, 0, 0)
        whole.addWidget(self.area)
        model.opened.connect(self._another)

    def minimumSizeHint(self) -> QSize:
        return QSize(self.look.px(420), self.look.px(260))

    def showEvent(self, event: QShowEvent) -> None:
        super().showEvent(event)
        focus, around = QApplication.focusWidget(), self.parentWidget()
        if focus is None or (around is not None and around.isAncestorOf(focus) and not self.isAncestorOf(focus)):
            self.to_questions()

    # ------------------------------------------------------------ showing

    def _another(self) -> None:
        self._active = ""
        self.area.verticalScrollBar().setValue(0)

    def refresh(self) -> None:
        """Shows order and questions as they are known now; what has the focus and where the page stands stay."""
        if not self.model.has_job:
            return
        held = self._held()
        self.order.refresh()
        self._show_rows(asked(self.model.desk))
        self._tab_order()
        self._tell_state()
        self._hold(held)

    def _show_rows(self, questions: Sequence[Asked]) -> None:
        before = list(self.rows)
        focused = next((qid for qid, row in self.rows.items() if row.has_focus()), None)
        wanted = {one.question.id: one for one in questions}
        for one in questions:
            qid = one.question.id
            if qid not in self.rows:
                row = QuestionRow(self.model, self.look, one)
                row.answered.connect(partial(_answer, self, qid))
                row.stepped.connect(partial(_step, self, qid))
                row.reached.connect(partial(_reach, self, qid))
                self.rows[qid] = row
            self.rows[qid].show_asked(one)
        gone = [qid for qid in before if qid not in wanted]
        order = list(wanted)
        if order != [qid for qid in before if qid in wanted] or set(order) - set(before):
            for at, qid in enumerate(order):
                self._list.insertWidget(at, self.rows[qid])
                self.rows[qid].show()
        if focused in gone:
            self._step_from_gone(before, focused, order)
        for qid in gone:
            row = self.rows.pop(qid)
            self._list.removeWidget(row)
            row.hide()
            row.deleteLater()
        self.rows = {qid: self.rows[qid] for qid in order}
        if self._active in gone:
            self._active = ""

    def _step_from_gone(self, before: Sequence[str], focused: str | None, order: Sequence[str]) -> None:
        """The question that had the focus is asked no more: the next one that still is takes it."""
        at = before.index(focused) if focused is not None else 0
        left = [qid for qid in (*before[at + 1 :], *reversed(before[:at])) if qid in order]
        if left:
            self.rows[left[0]].focus()

    def _tab_order(self) -> None:
        """Tab goes down the page, whatever came into it later."""
        parts: list[QWidget] = [*self.order.fields(), *self.rows.values()]
        every = [widget for part in parts for widget in (part, *part.findChildren(QWidget))]
        chain = [w for w in every if w.focusPolicy() & TAB and w.window() is self.window()]  # popups are windows
        if chain != self._chain:
            self._chain = chain
            for first, then in pairwise(chain):
                QWidget.setTabOrder(first, then)

    def _tell_state(self) -> None:
        desk, say = self.model.desk, self.say
        trouble = [self.model.words(text) for text in self._trouble()]
        if trouble:
            trouble.insert(0, say(f"place_questions.state.{'trouble' if self.rows else 'never-planned'}"))
        self.trouble.setText("\n".join(trouble))
        self.trouble.setVisible(bool(trouble))
        fresh = desk.fresh(Stage.PLANS, desk.job.strategy)
        text = ""
        if not self.rows and not trouble:
            text = say(f"place_questions.state.{'no-questions' if fresh else 'none-yet'}")
        elif self.rows and fresh:
            text = self._counted()
        elif self.rows and not trouble:
            text = say("place_questions.state.anew")
        self.state.setText(text)
        self.state.setVisible(bool(text))
        self.keys.setVisible(bool(self.rows))

    def _trouble(self) -> tuple[str, ...]:
        desk = self.model.desk
        for stage, part in ((Stage.PLATES, ""), (Stage.MEASURED, ""), (Stage.PLANS, desk.job.strategy)):
            if told := desk.trouble(stage, part):
                return told
        return ()

    def _counted(self) -> str:
        mine, suggested = counts(asked(self.model.desk))
        if not mine:
            return self.say("place_questions.status.suggested")
        if not suggested:
            return self.say("place_questions.status.mine")
        return self.say("place_questions.status.both", mine=mine, suggested=suggested)

    # ------------------------------------------------------------ where the page stands

    def _held(self) -> tuple[QWidget, int] | None:
        """The question that has the focus, else the first that is seen, and where it stands in the window."""
        top = self.area.verticalScrollBar().value()
        focused = next((row for row in self.rows.values() if row.has_focus()), None)
        if focused is not None:
            return focused, focused.y() - top
        if self.order.isAncestorOf(self.window().focusWidget() or self.window()) or top == 0:
            return None
        seen = next((row for row in self.rows.values() if row.y() + row.height() > top), None)
        return (seen, seen.y() - top) if seen is not None else None

    def _hold(self, held: tuple[QWidget, int] | None) -> None:
        layout = self.page.layout()
        if held is None or layout is None or held[0] not in self.rows.values():
            return
        row, stood = held
        layout.activate()
        need = (
            layout.totalHeightForWidth(self.page.width()) if layout.hasHeightForWidth() else layout.sizeHint().height()
        )
        self.page.resize(self.page.width(), max(need, self.area.viewport().height()))
        layout.activate()
        bar = self.area.verticalScrollBar()
        bar.setRange(0, max(0, self.page.height() - self.area.viewport().height()))
        bar.setValue(row.y() - stood)

    # ------------------------------------------------------------ going and answering

    def to_questions(self) -> None:
        """The focus to the question that the person was at, else to the first."""
        row = self.rows.get(self._active) or next(iter(self.rows.values()), None)
        if row is not None:
            row.focus()
            self.area.ensureWidgetVisible(row, 0, self.look.px(20))

    def go_to(self, qid: str, step: int) -> None:
        """The focus to the question before or after another."""
        names = list(self.rows)
        at = names.index(qid) + step if qid in names else 0
        if 0 <= at < len(names):
            self.rows[names[at]].focus()

    def reach(self, qid: str) -> None:
        """The focus came to a question: it is the selected one."""
        self._mark(qid)
        self.model.select(Selection(Of.QUESTION, qid))
        self.area.ensureWidgetVisible(self.rows[qid], 0, self.look.px(20))

    def _mark(self, qid: str) -> None:
        self._active = qid
        for name, row in self.rows.items():
            row.mark_active(name == qid)

    def answer(self, qid: str, text: str) -> None:
        """Answers a question; an empty text takes the suggestion."""
        model, question = self.model, self.rows[qid].one.question
        if not model.edit(lambda: answered(model.job, question, text)):
            self.refresh()

    def selection_changed(self) -> None:
        """Marks the selected question, whoever selected it."""
        selection = self.model.selection
        if selection.of is Of.QUESTION and selection.name in self.rows:
            self._mark(selection.name)
        elif selection.of is not Of.QUESTION:
            for row in self.rows.values():
                row.mark_active(False)

    # ------------------------------------------------------------ what the frame asks

    def status(self) -> str:
        if not asked(self.model.desk):
            if self._trouble():
                return self.say("place_questions.status.trouble")
            fresh = self.model.desk.fresh(Stage.PLANS, self.model.job.strategy)
            return self.say("place_questions.state.no-questions" if fresh else "place_questions.status.planning")
        return self._counted()

    def _take_suggestion(self) -> None:
        if self._active in self.rows:
            self.rows[self._active].take_suggestion()

    def _next(self) -> None:
        self.go_to(self._active, 1)

    def actions_of(self) -> Sequence[Action | None]:
        return (
            Action("place_questions.action.first", self.to_questions, "F6"),
            Action("place_questions.action.suggested", self._take_suggestion, "Backspace"),
            Action("place_questions.action.add-garment", self.order.add_garment),
        )


def _answer(place: QuestionsPlace, qid: str, text: str) -> None:
    place.answer(qid, text)


def _step(place: QuestionsPlace, qid: str, step: int) -> None:
    place.go_to(qid, step)


def _reach(place: QuestionsPlace, qid: str) -> None:
    place.reach(qid)
