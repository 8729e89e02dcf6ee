"""Where no line exists: the limits that clash in words, the ways out that help with a button each, the rest told."""

from __future__ import annotations

from collections.abc import Sequence
from functools import partial

from PySide6.QtCore import Signal
from PySide6.QtWidgets import QHBoxLayout, QPushButton, QSizePolicy, QVBoxLayout, QWidget

from setupassist.app.labels import clear, label, rule
from setupassist.app.line.voice import Voice
from setupassist.documents.plan import Clash, WayOut
from setupassist.planner.wish_words import wish_value_words

MOST_IN_VAIN = 4
"""Changes that were tried and do not help on their own: so many are told."""
TOLD_WISHES = ("laps", "flash_units", "wet_harm", "moves")


class ClashView(QWidget):
    """The clash; ``taken`` tells the way out that the person takes."""

    taken = Signal(object)

    def __init__(self, voice: Voice) -> None:
        super().__init__()
        self.voice = voice
        self.clash: Clash | None = None
        self.by_hand = False
        self.buttons: list[QPushButton] = []
        self._column = QVBoxLayout(self)
        self._column.setContentsMargins(0, 0, 0, 0)
        self._column.setSpacing(voice.look.px(6))
        self.hide()

    def tell(self, clash: Clash | None, *, by_hand: bool) -> None:
        """Shows a clash, nothing where there is none; ``by_hand`` where a line arranged by hand stands above it."""
        self.setVisible(clash is not None)
        if (clash, by_hand) == (self.clash, self.by_hand):
            return
        self.clash, self.by_hand = clash, by_hand
        clear(self._column)
        self.buttons = []
        if clash is None:
            return
        voice = self.voice
        if by_hand:
            self._column.addWidget(label(voice.say("head.clash-besides"), "heading", name="clash-title"))
        for text in clash.limits:
            said = label(voice.say("clash.limit", limit=voice(text)), name="clash-limit")
            self._column.addWidget(said)
        self._column.addSpacing(voice.look.px(10))
        self._column.addWidget(label(voice.say("ways.title"), "heading"))
        helps = [way for way in clash.ways_out if way.works]
        in_vain = [way for way in clash.ways_out if not way.works]
        if not helps:
            self._column.addWidget(label(voice.say("ways.none"), "quiet"))
        for way in helps:
            self._column.addWidget(rule())
            self._column.addWidget(self._way(way))
        if in_vain:
            self._tell_in_vain(in_vain)

    def _tell_in_vain(self, ways: Sequence[WayOut]) -> None:
        voice = self.voice
        self._column.addSpacing(voice.look.px(10))
        self._column.addWidget(label(voice.say("ways.in-vain"), "quiet", name="ways-in-vain"))
        for way in ways[:MOST_IN_VAIN]:
            said = voice.say("clash.limit", limit=voice(way.text))
            self._column.addWidget(label(said, "quiet", name="way-in-vain"))
        more = len(ways) - MOST_IN_VAIN
        if more > 0:
            self._column.addWidget(label(voice.say("ways.in-vain-more", count=more), "quiet"))

    def _way(self, way: WayOut) -> QWidget:
        voice, look = self.voice, self.voice.look
        holder = QWidget()
        row = QHBoxLayout(holder)
        row.setContentsMargins(0, look.px(2), 0, look.px(2))
        row.setSpacing(look.px(16))
        words = QVBoxLayout()
        words.setSpacing(0)
        text = label(voice(way.text), "strong", name="way-out")
        words.addWidget(text)
        words.addWidget(label(self._comes_of(way), "quiet"))
        row.addLayout(words, 1)
        button = QPushButton(voice.say("ways.apply"))
        button.setObjectName("apply-way")
        button.setAccessibleName(voice.say("ways.apply-name", way=voice(way.text)))
        button.setSizePolicy(QSizePolicy.Policy.Fixed, QSizePolicy.Policy.Fixed)
        button.clicked.connect(partial(self._take, way))
        self.buttons.append(button)
        row.addWidget(button)
        return holder

    def _comes_of(self, way: WayOut) -> str:
        values = {wish.name: wish.value for wish in way.wishes}
        told = [
            self.voice(wish_value_words(name, values[name]))
            for name in TOLD_WISHES
            if name in values and (values[name] or name == "laps")
        ]
        return self.voice.say("ways.works", values=", ".join(told))

    def _take(self, way: WayOut) -> None:
        self.taken.emit(way)
