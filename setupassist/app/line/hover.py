"""What hovers over the line: the thing in hand, and below the line what letting it go would do."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from PySide6.QtCore import QPoint, QRectF, Qt
from PySide6.QtGui import QPainter, QPaintEvent, QPixmap
from PySide6.QtWidgets import QWidget

from setupassist.app.line.lettering import Lettering, broken, high, set_left
from setupassist.app.line.limits import Foot, LimitList
from setupassist.app.line.voice import Voice
from setupassist.app.theme import BODY, HEADING, SMALL
from setupassist.desk.line import Limit, Line, Place
from setupassist.desk.moves import Costs, Held, changes_told
from setupassist.planner.judge import Broken
from setupassist.planner.trial import Standings
from setupassist.sheet.content import limit_letters

MOST_MENDED = 2


@dataclass(frozen=True)
class Outcome:
    """What letting go would do, worded: a heading, its cost, and the limits that it breaks."""

    heading: str
    cost: str
    limits: tuple[Limit, ...] = ()


class Ghost(QWidget):
    """A picture of the thing in hand under the pointer."""

    def __init__(self, picture: QPixmap, parent: QWidget) -> None:
        super().__init__(parent)
        self.picture = picture
        self.setAttribute(Qt.WidgetAttribute.WA_TransparentForMouseEvents)
        self.resize(picture.deviceIndependentSize().toSize())

    def paintEvent(self, event: QPaintEvent) -> None:
        painter = QPainter(self)
        painter.setOpacity(0.88)
        painter.drawPixmap(QPoint(0, 0), self.picture)
        painter.end()


class HoverPanel(QWidget):
    """Lies over what is below the line while something is in hand, so that nothing moves."""

    def __init__(self, voice: Voice, foot: Foot, parent: QWidget) -> None:
        super().__init__(parent)
        self.voice, self.foot = voice, foot
        self.outcome = Outcome("", "")
        self.setObjectName("hover")
        self.setAttribute(Qt.WidgetAttribute.WA_TransparentForMouseEvents)
        self.limits = LimitList(voice, foot, choosing=False)
        self.limits.setParent(self)
        self._said: list[Lettering] = []
        self._keys = Lettering((), voice.look.font(SMALL))
        self.hide()

    def tell(self, outcome: Outcome, at: QPoint, width: int) -> None:
        """Shows what letting go would do, in that width below a point; it only grows while it is seen."""
        look = self.voice.look
        self.outcome = outcome
        heading, body, small = look.font(HEADING, weight=600), look.font(BODY), look.font(SMALL)
        room = width - look.px(8)
        self._said = [Lettering(tuple(broken(outcome.heading, heading, room)), heading)]
        if outcome.cost:
            self._said.append(Lettering(tuple(broken(outcome.cost, body, room)), body))
        self._keys = Lettering(tuple(broken(self.voice.say("hover.keys"), small, room)), small, "quiet")
        self.limits.resize(width, self.limits.height())
        self.limits.tell(outcome.limits)
        self.limits.lay_out()
        top = int(high(self._said)) + look.px(6)
        self.limits.move(0, top)
        tall = top + (self.limits.height() if outcome.limits else 0) + int(self._keys.high) + look.px(16)
        self.resize(width, max(self._whole(at.y(), tall), self.height() if self.isVisible() else 0))
        self.move(at)
        self.setAccessibleName(f"{outcome.heading}. {outcome.cost}")
        self.show()
        self.raise_()
        self.update()

    def _whole(self, top: int, tall: int) -> int:
        """At least that height, and no part of the page below is cut through."""
        page = self.parentWidget()
        others = page.children() if page is not None else []
        ends = [one.y() for one in others if isinstance(one, QWidget) and one is not self and one.isVisible()]
        return min((end - top for end in ends if end - top >= tall), default=tall)

    def paintEvent(self, event: QPaintEvent) -> None:
        painter, look = QPainter(self), self.voice.look
        painter.fillRect(self.rect(), look.colour("paper"))
        painter.setPen(look.colour("quiet"))
        for turn, limit in enumerate(self.limits.shown):
            for place in limit.places:
                x = self.foot(place, turn)
                if x is not None:
                    painter.drawLine(x, 0, x, self.limits.y())
        top = float(look.px(2))
        for said in self._said:
            painter.fillRect(QRectF(0, top, said.wide + look.px(6), said.high), look.colour("paper"))
            set_left(painter, said, 0, top, look)
            top += said.high
        foot = self.height() - self._keys.high - look.px(10)
        set_left(painter, self._keys, 0, foot, look)
        painter.setPen(look.colour("ink"))
        painter.drawLine(0, self.height() - 1, self.width(), self.height() - 1)
        painter.end()


def outcome_of(voice: Voice, line: Line, costs: Costs, place: Place, *, order: Sequence[str], slide: bool) -> Outcome:
    """What letting the thing in hand go at a place would do."""
    lap, station = place
    held, found = costs.held, costs.row(lap, slide=slide)[station]
    where, thing = voice.where(line, place), voice.thing(held.screen)
    if (lap, station) == (held.lap, held.station):
        return Outcome(voice.say("hover.here", thing=thing, place=where), "")
    others = [card for card in line.cards if card.station == station and card.station != held.station]
    if others and (slide or not held.station):
        heading = voice.say("hover.slide", thing=thing, place=where)
    elif others:
        heading = voice.say("hover.swap", thing=thing, place=where, other=voice.thing(others[0].screen))
    else:
        heading = voice.say("hover.to", thing=thing, place=where)
    after = costs.after(place, slide=slide)
    limits = tuple(
        Limit(letter, broke.text, _cards_now(line, held, place, broke, after))
        for letter, broke in zip(limit_letters(), found.broken, strict=False)
    )
    told = [voice(said) for said in changes_told(found.wishes, order)]
    if limits:
        told.insert(0, voice.say("hover.breaks", count=len(limits)))
    if found.mended:
        mended = [voice(broke.text) for broke in found.mended[:MOST_MENDED]]
        told.append(voice.say("hover.mends", count=len(found.mended), limits="; ".join(mended)))
    return Outcome(heading, "  ·  ".join(told or [voice.say("hover.no-cost")]), limits)


def _cards_now(line: Line, held: Held, place: Place, broke: Broken, after: Standings) -> tuple[Place, ...]:
    """Where the cards that a limit is about stand now, the thing in hand where it hovers.

    The judge tells of places as they would be; a line drawn to one must reach the card that people see.
    """
    found = []
    for lap, station in broke.slots:
        for thing in (s.ink for s in after if (s.lap, s.station) == (lap, station)):
            if thing == held.screen and (lap, station) == place:
                found.append(place)
                continue
            cards = [card for card in line.cards if card.lap == lap and card.screen == thing]
            at = next((card.place for card in cards if thing is not None or card.station == station), None)
            found.append(at or (lap, place[1]))
    return tuple(dict.fromkeys(found))
