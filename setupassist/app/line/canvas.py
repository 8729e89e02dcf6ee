"""The canvas of the line: it lays the cards out, slides them where they go, and paints what lies between them."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from PySide6.QtCore import QAbstractAnimation, QEasingCurve, QPropertyAnimation, QRect, QRectF, Qt
from PySide6.QtGui import QFontMetricsF, QPainter, QPaintEvent, QPen
from PySide6.QtWidgets import QWidget

from setupassist.app.line.card import CardWidget, Hand, Item, SpotWidget
from setupassist.app.line.geometry import Geometry, column_of, laid_out
from setupassist.app.line.lettering import Lettering, balanced, fitted, high, set_centred
from setupassist.app.line.voice import Voice
from setupassist.app.theme import HEADING, SMALL
from setupassist.desk.line import Limit, Line, Place
from setupassist.sheet.brackets import Bracket
from setupassist.sheet.stations import Stands

SLIDE_MS = 200
SIZES = (SMALL, 11.0, 10.0)


@dataclass(frozen=True)
class CostWord:
    """What stands under a station while something hovers: in a few words, and whether it may stand there."""

    text: str
    may: bool


@dataclass(frozen=True)
class Label:
    """A bracket with its words and the room that they may take, clear of the neighbours' words."""

    mark: Bracket
    words: Lettering
    floor: float
    ceiling: float


class Canvas(QWidget):
    """The line itself. ``motion_ms`` is how long a card takes to its new station, 0 for no motion."""

    def __init__(self, hand: Hand, voice: Voice, *, motion_ms: int) -> None:
        super().__init__()
        self.hand, self.voice, self.motion_ms = hand, voice, motion_ms
        self.line = Line()
        self.geometry_ = Geometry((), 1, 0, (), 0, 0)
        self.cards: dict[str, CardWidget] = {}
        self.spots: dict[Place, SpotWidget] = {}
        self.card_high = 0
        self.chosen: Item | None = None
        self.leaders: tuple[Limit, ...] = ()
        self.told_limit: Limit | None = None
        self.costs: Mapping[int, CostWord] = {}
        self.costs_lap = 1
        self.target: Place | None = None
        self.seen = (0, 0)
        self._slides: dict[str, QPropertyAnimation] = {}
        self._labels: list[list[Label]] = []
        self._width = 0
        self.setAccessibleName(voice.say("line.name"))

    # ------------------------------------------------------------ what it shows

    def show_line(self, line: Line, *, slides: bool) -> None:
        """Another line; cards that stay slide to their new places where ``slides``."""
        self.line = line
        self._keep_cards()
        self._keep_spots()
        self._lay_out(self._width, slides=slides)

    def fit(self, width: int) -> None:
        """Lays the line out in that width, or wider where it cannot be read so."""
        if width != self._width:
            self._lay_out(width, slides=self.sliding)

    def items(self) -> Iterable[Item]:
        """Everything on the line by lap and in travel order."""
        order = {station: at for at, station in enumerate(self.line.stations)}
        every: list[Item] = [*self.cards.values(), *self.spots.values()]
        turn = {id(card): card.card.at for card in self.cards.values()}
        return sorted(every, key=lambda i: (i.place[0], order.get(i.place[1], -1), turn.get(id(i), 0)))

    def item_at(self, place: Place) -> Item | None:
        """The first thing at a place, else its spot."""
        cards = sorted((c for c in self.cards.values() if c.place == place), key=lambda c: c.card.at)
        return cards[0] if cards else self.spots.get(place)

    def _keep_cards(self) -> None:
        line, voice = self.line, self.voice
        wanted = {card.key: card for card in line.cards}
        for key in [key for key in self.cards if key not in wanted]:
            self._stop_slide(key)
            gone = self.cards.pop(key)
            if self.chosen is gone:
                self.chosen = None
            gone.hide()
            gone.deleteLater()
        limits = {limit.letter: limit for limit in line.limits}
        for key, card in wanted.items():
            widget = self.cards.get(key)
            if widget is None:
                widget = self.cards[key] = CardWidget(self.hand, voice, self)
                widget.setObjectName(f"card-{key}")
            broken_here = "; ".join(voice(limits[letter].text) for letter in card.letters if letter in limits)
            if widget.card != card or widget.limits != broken_here:
                widget.tell(card, voice.where(line, card.place), broken_here)
            widget.show()
        for card in line.cards:
            if card.at:
                self.cards[card.key].raise_()

    def _keep_spots(self) -> None:
        line, voice = self.line, self.voice
        wanted = {spot.place: spot for spot in line.spots}
        for place in [place for place in self.spots if place not in wanted]:
            gone = self.spots.pop(place)
            if self.chosen is gone:
                self.chosen = None
            gone.hide()
            gone.deleteLater()
        for place, spot in wanted.items():
            widget = self.spots.get(place)
            if widget is None:
                widget = self.spots[place] = SpotWidget(self.hand, voice, self)
                widget.setObjectName(f"spot-{place[0]}-{place[1]}")
                widget.lower()
            foot = ""
            if spot.stands is Stands.LOAD:
                foot = voice.say("line.travel") if line.laps == 1 else voice.say("line.lap", lap=spot.lap)
            if widget.spot != spot or widget.foot != foot:
                widget.tell(spot, voice.where(line, place), foot)
            widget.show()

    # ------------------------------------------------------------ laying out

    def _lay_out(self, width: int, *, slides: bool) -> None:
        self._width = width
        line, look = self.line, self.voice.look
        if not line.stations or width <= 0:
            return
        word = QFontMetricsF(look.font(SIZES[-1], weight=600)).horizontalAdvance(self.voice.say("line.flash"))
        column = column_of(look, len(line.stations), width, word=word)
        card_wide = column - look.px(8)
        self.card_high = max(
            look.px(150), *(card.wanted_high(card_wide) for card in self.cards.values()), look.px(150)
        )  # fmt: skip
        bands = [high(card.band_lines(card_wide)) for card in self.cards.values()]
        band = int(max(bands, default=0)) + look.px(3) if any(bands) else 0
        self._labels = [self._label_row(row, column) for row in line.brackets]
        least = look.px(46)
        below = [
            max(least, look.px(22) + int(max((label.words.high for label in row), default=0))) for row in self._labels
        ]
        shared: list[Counter[Place]] = [Counter() for _ in range(line.laps)]
        for card in line.cards:
            shared[card.lap - 1][card.place] += 1
        stacks = [max(row.values(), default=1) for row in shared]
        self.geometry_ = laid_out(
            look, line.stations, column=column, card=self.card_high, band=band, below=below, stacks=stacks
        )
        for widget in self.cards.values():
            widget.band = band
            at = self.geometry_.card(widget.place, widget.card.at, high=self.card_high)
            self._put(widget, QRect(*at), slides=slides)
        for spot in self.spots.values():
            spot.setGeometry(QRect(*self.geometry_.spot(spot.place, high=self.card_high)))
        self.setFixedSize(max(1, self.geometry_.wide), self.geometry_.high)
        self.update()

    def _put(self, card: CardWidget, at: QRect, *, slides: bool) -> None:
        key = card.card.key
        running = self._slides.get(key)
        if running is not None and running.endValue() == at:
            return
        self._stop_slide(key)
        if not slides or not self.motion_ms or card.geometry() == at or card.geometry().isEmpty() or card.x() < 0:
            card.setGeometry(at)
            return
        slide = QPropertyAnimation(card, b"geometry", self)
        slide.setDuration(self.motion_ms)
        slide.setEasingCurve(QEasingCurve.Type.InOutQuad)
        slide.setStartValue(card.geometry())
        slide.setEndValue(at)
        self._slides[key] = slide
        slide.start()

    def _stop_slide(self, key: str) -> None:
        slide = self._slides.pop(key, None)
        if slide is not None:
            slide.stop()
            slide.deleteLater()

    @property
    def sliding(self) -> bool:
        """Whether some card is still on its way."""
        return any(slide.state() is QAbstractAnimation.State.Running for slide in self._slides.values())

    def _label_row(self, row: tuple[Bracket, ...], column: int) -> list[Label]:
        """The words under each bracket, broken so that they stay clear of the neighbours'."""
        look, labels = self.voice.look, []
        font = look.font(SMALL)
        for at, mark in enumerate(row):
            left, right = self._span(mark, column)
            floor = 0.0 if at == 0 else (self._span(row[at - 1], column)[1] + left) / 2
            last = at + 1 == len(row)
            ceiling = column * len(self.line.stations) if last else (self._span(row[at + 1], column)[0] + right) / 2
            middle, gap = (left + right) / 2, look.px(14)
            even = 2 * min(middle - floor, ceiling - middle) - gap
            whole = Lettering((self.voice(mark.text),), font).wide
            room = even if whole <= even or even >= look.px(150) else ceiling - floor - gap
            lines = balanced(self.voice(mark.text), font, max(room, look.px(48)))
            labels.append(Label(mark, Lettering(tuple(lines), font), floor + gap / 2, ceiling - gap / 2))
        return labels

    def _span(self, mark: Bracket, column: int) -> tuple[float, float]:
        gutter = self.voice.look.px(8)
        return mark.first * column + gutter / 2 + 1, (mark.last + 1) * column - gutter / 2 - 1

    # ------------------------------------------------------------ painting

    def paintEvent(self, event: QPaintEvent) -> None:
        if not self.line.stations:
            return
        painter = QPainter(self)
        self._paint_leaders(painter)
        self._paint_numbers(painter)
        self._paint_frame(painter)
        for lap in range(1, self.line.laps + 1):
            if self.costs and lap == self.costs_lap:
                self._paint_costs(painter, lap)
            else:
                self._paint_brackets(painter, lap)
        painter.end()

    def _paint_numbers(self, painter: QPainter) -> None:
        look, where = self.voice.look, self.geometry_
        for lap, row in enumerate(where.rows, start=1):
            for at, station in enumerate(where.stations):
                size, colour = (HEADING, "ink") if lap == 1 else (SMALL, "quiet")
                told = [fitted(str(station), look, (size,), where.card_wide, most=1, weight=600, colour=colour)]
                top = row.cards - where.band - look.px(5) - high(told)
                set_centred(painter, told, where.left(at) + where.card_wide / 2, top, look)

    def _paint_frame(self, painter: QPainter) -> None:
        """A heavy frame around what is chosen, and around the places of the limit that is told."""
        look = self.voice.look
        chosen = [self.chosen] if self.chosen is not None else []
        told = [item for place in (self.told_limit.places if self.told_limit else ()) if (item := self.item_at(place))]
        hover = self.item_at(self.target) if self.target is not None else None
        for item in (*chosen, *told, *([hover] if hover is not None else [])):
            body = QRectF(item.geometry())
            if isinstance(item, CardWidget) and not item.band_lines(item.width()):
                body.setTop(body.top() + item.band)
            pen = QPen(look.colour("mark"), look.px(3) if item.hasFocus() or item is hover else look.px(2))
            pen.setJoinStyle(Qt.PenJoinStyle.MiterJoin)
            painter.setPen(pen)
            out = look.px(4) - pen.widthF() / 2
            painter.drawRect(body.adjusted(-out, -out, out - 1, out - 1))

    def _paint_brackets(self, painter: QPainter, lap: int) -> None:
        look, where = self.voice.look, self.geometry_
        top = where.rows[lap - 1].below + look.px(6)
        foot = top + look.px(8)
        for label in self._labels[lap - 1]:
            mark, words = label.mark, label.words
            left, right = self._span(mark, where.column)
            painter.setPen(QPen(look.colour("ink"), 1))
            painter.drawLine(int(left), foot, int(right), foot)
            for x, open_ in ((left, mark.open_left), (right, mark.open_right)):
                if not open_:
                    painter.drawLine(int(x), top, int(x), foot)
            middle = self._in_view(left, right, label)
            ground = QRectF(middle - words.wide / 2 - 3, foot + look.px(2), words.wide + 6, words.high)
            painter.fillRect(ground, look.colour("paper"))
            set_centred(painter, [words], middle, foot + look.px(2), look)

    def _in_view(self, left: float, right: float, label: Label) -> float:
        """The middle of that part of a span that is seen, its words kept within their room."""
        first, last = self.seen
        seen_left, seen_right = max(left, first), min(right, last) if last else right
        middle = (seen_left + seen_right) / 2 if seen_left < seen_right else (left + right) / 2
        half = label.words.wide / 2
        return max(label.floor + half, min(middle, label.ceiling - half))

    def _paint_costs(self, painter: QPainter, lap: int) -> None:
        look, where = self.voice.look, self.geometry_
        top = where.rows[lap - 1].below + look.px(7)
        for station, cost in self.costs.items():
            weight = 400 if cost.may else 600
            here = self.target is not None and self.target[1] == station
            told = [fitted(cost.text, look, SIZES, where.card_wide, most=3, weight=weight,
                           colour="ink" if here or not cost.may else "quiet")]  # fmt: skip
            wide = told[0].wide
            ground = QRectF(where.middle(station) - wide / 2 - 2, top, wide + 4, high(told))
            painter.fillRect(ground, look.colour("paper"))
            set_centred(painter, told, where.middle(station), top, look)

    def _paint_leaders(self, painter: QPainter) -> None:
        """Lines from the cards down to the canvas's foot, where the sentences of broken limits take them up."""
        look, where = self.voice.look, self.geometry_
        painter.setRenderHint(QPainter.RenderHint.Antialiasing, False)
        for turn, limit in enumerate(self.leaders):
            strong = limit == self.told_limit
            painter.setPen(QPen(look.colour("ink" if strong else "quiet"), look.px(2) if strong else 1))
            for place in limit.places:
                lap, station = place
                if station not in where.stations or lap > len(where.rows):
                    continue
                x, row = leader_x(look.px(5), where, place, turn), where.rows[lap - 1]
                top = row.cards + self.card_high
                if lap == len(where.rows):
                    painter.drawLine(x, top, x, where.high)
                    continue
                side = where.left(where.stations.index(station)) + where.card_wide + where.gutter // 2
                turn_at = where.rows[lap - 1].end - look.px(3)
                painter.drawLine(x, top, x, turn_at)
                painter.drawLine(x, turn_at, side, turn_at)
                painter.drawLine(side, turn_at, side, where.high)


def leader_x(step: int, where: Geometry, place: Place, turn: int) -> int:
    """Where the line from a place comes down: those of several limits side by side."""
    return where.middle(place[1]) + (turn % 5 - 2) * step


def leader_foot(step: int, where: Geometry, place: Place, turn: int) -> int:
    """Where it leaves the canvas: from an earlier lap it goes down between the columns."""
    lap, station = place
    if lap == len(where.rows):
        return leader_x(step, where, place, turn)
    return where.left(where.stations.index(station)) + where.card_wide + where.gutter // 2
