"""The panel of reasons: it follows the selection, and every trade word in it can be asked for."""

from __future__ import annotations

from html import escape

from PySide6.QtCore import Qt, QUrl, Signal
from PySide6.QtGui import QShowEvent
from PySide6.QtWidgets import QLabel, QScrollArea, QVBoxLayout, QWidget

from setupassist.app.labels import clear, column, label
from setupassist.app.model import DeskModel
from setupassist.app.selection import Of, Selection
from setupassist.app.theme import Look
from setupassist.desk import reasons
from setupassist.desk.art_facts import findings_known
from setupassist.desk.asked import asked
from setupassist.desk.reasons import About, Told

SCHEME = "word"
BEFORE_LINKS = "\u200c"
"""Has no width. A label that begins with a link would never let Shift+Tab out of it."""


class ReasonsPanel(QScrollArea):
    """Sentences about what is selected; ``asked`` names a glossary entry that was clicked."""

    asked = Signal(str)

    def __init__(self, model: DeskModel, look: Look) -> None:
        super().__init__()
        self.model, self.look = model, look
        self.setObjectName("reasons")
        self.setAccessibleName(model.say("app.panel.reasons"))
        self.setWidgetResizable(True)
        self.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        self.setMinimumSize(220, 90)
        holder, self._column = column(margins=(look.px(18), look.px(16), look.px(16), look.px(16)), spacing=look.px(8))
        holder.setObjectName("ground")
        self.setWidget(holder)
        self.extra: dict[Of, QWidget] = {}
        model.selected.connect(self.refresh)
        model.stage_changed.connect(self.refresh)
        model.job_changed.connect(self.refresh)
        self._shown: tuple[About, Selection] | None = None

    def showEvent(self, event: QShowEvent) -> None:
        super().showEvent(event)
        self.refresh()

    def refresh(self, *_: object) -> None:
        """Tells about the selection as it is known now; draws nothing anew where nothing changed."""
        if not self.isVisible():
            return
        about = self._about()
        now = (about, self.model.selection)
        if now == self._shown:
            return
        self._shown = now
        clear(self._column)
        words = self.model.words
        self._column.addWidget(label(words(about.title), "heading"))
        for told in about.told:
            self._tell(self._column, told)
        may = _MAY.get(self.model.selection.of)
        if may is not None and self.model.has_job:
            self._column.addSpacing(self.look.px(8))
            self._column.addWidget(label(self.model.say("app.panel.you-may"), "heading"))
            self._column.addWidget(self._linked(self.model.say(may)))
        self._column.addStretch(1)

    def _about(self) -> About:
        selection, desk = self.model.selection, self.model.desk
        if not self.model.has_job:
            return About(self.model.say("app.panel.reasons"), (Told(self.model.say("app.panel.nothing-open")),))
        if selection.of is Of.INK:
            return reasons.about_ink(desk, selection.name)
        if selection.of is Of.SCREEN:
            return reasons.about_screen(desk, selection.name)
        if selection.of is Of.STATION:
            return reasons.about_station(desk, selection.station, selection.lap)
        if selection.of is Of.QUESTION:
            question = next((one.question for one in asked(desk) if one.question.id == selection.name), None)
            if question is not None:
                return reasons.about_question(question)
        if selection.of is Of.FINDING and int(selection.name) < len(findings := findings_known(desk)):
            return reasons.about_finding(findings[int(selection.name)])
        return reasons.about_run(desk)

    def _tell(self, into: QVBoxLayout, told: Told) -> None:
        words = self.model.words
        if told.heading:
            into.addWidget(label(words(told.heading), "strong"))
        into.addWidget(self._linked(words(told.text)))
        if told.source:
            into.addWidget(label(words(told.source), "small"))

    def _linked(self, text: str) -> QLabel:
        """The text with each glossary word a link; told as rich text with everything else escaped."""
        from setupassist.trade.glossary import words_found

        parts, at = [], 0
        for start, end, entry in words_found(text, self.model.language):
            parts.append(escape(text[at:start]))
            style = f"color: {self.look.theme.ink}; text-decoration: none;"
            parts.append(f'<a href="{SCHEME}:{entry}" style="{style}">{escape(text[start:end])}</a>')
            at = end
        parts.append(escape(text[at:]))
        made = label(BEFORE_LINKS + "".join(parts))
        made.setTextFormat(Qt.TextFormat.RichText)
        made.setAccessibleName(text)
        if at:
            made.setTextInteractionFlags(
                Qt.TextInteractionFlag.LinksAccessibleByMouse | Qt.TextInteractionFlag.LinksAccessibleByKeyboard
            )
        made.linkActivated.connect(lambda link: self.asked.emit(QUrl(link).path()))
        return made


_MAY = {
    Of.SCREEN: "app.may.screen",
    Of.STATION: "app.may.station",
    Of.INK: "app.may.ink",
    Of.QUESTION: "app.may.question",
    Of.FINDING: "app.may.finding",
}
