"""What stands on the line as widgets: cards of screens and flashes, and the spots on which nothing stands."""

from __future__ import annotations

from typing import Protocol

from PySide6.QtCore import QPoint, QPointF, QRectF, Qt
from PySide6.QtGui import (
    QColor,
    QContextMenuEvent,
    QFocusEvent,
    QKeyEvent,
    QMouseEvent,
    QMoveEvent,
    QPainter,
    QPaintEvent,
    QPen,
)
from PySide6.QtWidgets import QApplication, QWidget

from setupassist.app.line.lettering import Lettering, block, fitted, high, set_centred
from setupassist.app.line.voice import Voice
from setupassist.app.theme import BODY, SMALL
from setupassist.desk.line import Card, Place, Spot
from setupassist.sheet.stations import Stands

NAMES = (BODY, SMALL, 11.0, 10.0)
SMALLS = (SMALL, 11.0, 10.0)
MESH = 17.0
SWATCH_HIGH = 38
PAD = 3
HATCH = 6
MOST_LETTERS = 2


class Hand(Protocol):
    """Who moves things on the line: told what is pressed, dragged, let go, typed and asked."""

    def pressed(self, item: Item) -> None: ...

    def dragged(self, item: Item, at: QPoint, slide: bool) -> None: ...

    def released(self, at: QPoint, slide: bool) -> None: ...

    def typed(self, item: Item, event: QKeyEvent) -> bool: ...

    def menu_at(self, item: Item, at: QPoint) -> None: ...

    def moved(self) -> None: ...

    def entered(self, item: Item) -> None: ...


class Item(QWidget):
    """Something on the line that can be chosen: it has a place, a name for readers and, where it can, is carried."""

    carried = False

    def __init__(self, hand: Hand, voice: Voice, parent: QWidget) -> None:
        super().__init__(parent)
        self.hand, self.voice, self.look = hand, voice, voice.look
        self.place: Place = (1, 0)
        self._from: QPoint | None = None
        self.setFocusPolicy(Qt.FocusPolicy.ClickFocus)

    @property
    def screen_name(self) -> str | None:
        """The screen that stands or rests here; None for a flash or an idle place."""
        return None

    def mousePressEvent(self, event: QMouseEvent) -> None:
        if event.button() is Qt.MouseButton.LeftButton:
            self._from = event.globalPosition().toPoint()
            self.setFocus(Qt.FocusReason.MouseFocusReason)
            self.hand.pressed(self)

    def mouseMoveEvent(self, event: QMouseEvent) -> None:
        if self._from is None or not self.carried:
            return
        at = event.globalPosition().toPoint()
        if (at - self._from).manhattanLength() >= QApplication.startDragDistance():
            self.hand.dragged(self, at, _slides(event.modifiers()))

    def mouseReleaseEvent(self, event: QMouseEvent) -> None:
        if self._from is not None and event.button() is Qt.MouseButton.LeftButton:
            self._from = None
            self.hand.released(event.globalPosition().toPoint(), _slides(event.modifiers()))

    def give_up(self) -> None:
        """Lets go of the mouse: what it does until the button is up counts no more."""
        self._from = None

    def keyPressEvent(self, event: QKeyEvent) -> None:
        if not self.hand.typed(self, event):
            super().keyPressEvent(event)

    def keyReleaseEvent(self, event: QKeyEvent) -> None:
        if not self.hand.typed(self, event):
            super().keyReleaseEvent(event)

    def contextMenuEvent(self, event: QContextMenuEvent) -> None:
        keyed = event.reason() is QContextMenuEvent.Reason.Keyboard
        self.hand.menu_at(self, self.mapToGlobal(self.rect().center()) if keyed else event.globalPos())

    def focusInEvent(self, event: QFocusEvent) -> None:
        super().focusInEvent(event)
        if event.reason() is not Qt.FocusReason.PopupFocusReason:
            self.hand.entered(self)

    def focusOutEvent(self, event: QFocusEvent) -> None:
        super().focusOutEvent(event)
        self.hand.moved()

    def moveEvent(self, event: QMoveEvent) -> None:
        super().moveEvent(event)
        self.hand.moved()


def _slides(modifiers: Qt.KeyboardModifier) -> bool:
    return bool(modifiers & Qt.KeyboardModifier.ShiftModifier)


class CardWidget(Item):
    """A print of a screen or an action of a flash unit. ``band`` is room above it for what it breaks."""

    carried = True

    def __init__(self, hand: Hand, voice: Voice, parent: QWidget) -> None:
        super().__init__(hand, voice, parent)
        self.card = Card("", 1, 0)
        self.limits = ""
        self.band = 0
        self.lifted = False
        self.setCursor(Qt.CursorShape.OpenHandCursor)

    def tell(self, card: Card, where: str, limits: str) -> None:
        """Shows a card; ``where`` names its place, ``limits`` the sentences of what it breaks."""
        self.card, self.place, self.limits = card, card.place, limits
        say = self.voice.say
        pinned = "-pinned" if card.pinned else ""
        if card.screen is None:
            name, more = say(f"card.flash{pinned}", place=where), self.voice.units.seconds_from(card.seconds)
        else:
            name = say(f"card.screen{pinned}", name=card.screen, place=where)
            mesh = self.voice.units.mesh(card.mesh_per_cm, card.mesh_per_inch)
            more = say("card.screen-more", role=self.role, mesh=mesh, strokes=self.voice.units.strokes(card.strokes))
        if limits:
            more = say("card.breaks", told=more, limits=limits)
        self.setAccessibleName(name)
        self.setAccessibleDescription(more)
        self.setProperty("glossary", "flash" if card.screen is None else "screen")
        self.setToolTip(f"{name}\n{more}")
        self.update()

    @property
    def screen_name(self) -> str | None:
        return self.card.screen

    @property
    def role(self) -> str:
        """Its role, worded."""
        key = f"terms.role.{self.card.role}"
        words = self.voice.words
        return words.say(key) if words.knows(key) else self.card.role

    def wanted_high(self, width: int) -> int:
        """Height that its words take in that width, without the band."""
        look, top, foot = self.look, self._top(width), self._foot(width)
        if self.card.screen is None:
            return int(high(top)) + look.px(30)
        return look.px(SWATCH_HIGH + 5) + int(high(top)) + look.px(10) + int(high(foot)) + look.px(5)

    def band_lines(self, width: int) -> list[Lettering]:
        """What it breaks, as it stands above it; [] where it breaks nothing."""
        letters = self.card.letters
        if not letters:
            return []
        if len(letters) <= MOST_LETTERS:
            said = self.voice.say("line.breaks", letters=", ".join(letters))
        else:
            said = self.voice.say("line.breaks-many", count=len(letters))
        return [fitted(said, self.look, SMALLS, width - 2 * self.look.px(PAD), weight=600, colour="paper", most=2)]

    def _inner(self, width: int) -> float:
        return width - 2 * self.look.px(PAD)

    def _top(self, width: int) -> list[Lettering]:
        card, look, inner = self.card, self.look, self._inner(width)
        if card.screen is None:
            told = [fitted(self.voice.say("line.flash"), look, NAMES, inner, weight=600, most=1)]
            told.append(fitted(self.voice.units.seconds_from(card.seconds), look, SMALLS, inner, most=1))
            if card.seconds_by_hand:
                told.append(fitted(self.voice.say("line.by-hand"), look, SMALLS, inner, weight=600, most=2))
        else:
            told = [fitted(card.screen, look, NAMES, inner, weight=600)]
            told.append(fitted(self.role, look, SMALLS, inner, italic=True, colour="quiet", most=2))
        if card.pinned:
            told.append(fitted(self.voice.say("line.pinned"), look, SMALLS, inner, weight=600, most=1))
        return told

    def _foot(self, width: int) -> list[Lettering]:
        card, look, inner = self.card, self.look, self._inner(width)
        if card.screen is None:
            return []
        number = self.voice.units.mesh_number(card.mesh_per_cm, card.mesh_per_inch)
        unit, _ = self.voice.units.mesh_units(card.mesh_per_cm, card.mesh_per_inch)
        told = [
            fitted(number, look, (MESH,), inner, weight=600, most=1),
            fitted(unit, look, SMALLS, inner, most=2, colour="quiet"),
        ]
        if card.mesh_by_hand:
            told.append(fitted(self.voice.say("line.by-hand"), look, SMALLS, inner, weight=600, most=2))
        return [*told, fitted(self.voice.units.strokes(card.strokes), look, SMALLS, inner, most=2)]

    def body(self) -> QRectF:
        """The card itself, without the band above it."""
        return QRectF(0, self.band, self.width(), self.height() - self.band)

    def paintEvent(self, event: QPaintEvent) -> None:
        painter, look = QPainter(self), self.look
        painter.setRenderHint(QPainter.RenderHint.Antialiasing, False)
        body = self.body()
        if self.lifted:
            painter.setOpacity(0.45)
        painter.fillRect(body, look.colour("paper"))
        if self.card.screen is None:
            self._paint_flash(painter, body)
        else:
            self._paint_screen(painter, body)
        _outline(painter, body, look.colour("ink"), look.px(2.6 if self.card.letters else 1.2), dashed=self.lifted)
        self._paint_band(painter)
        painter.end()

    def _paint_screen(self, painter: QPainter, body: QRectF) -> None:
        look, swatch = self.look, self.look.px(SWATCH_HIGH)
        colour = QColor(self.card.colour or "#ffffff")
        painter.fillRect(QRectF(body.left(), body.top(), body.width(), swatch), colour)
        painter.setPen(look.colour("ink"))
        painter.drawLine(QPointF(body.left(), body.top() + swatch), QPointF(body.right(), body.top() + swatch))
        middle = body.center().x()
        set_centred(painter, self._top(self.width()), middle, body.top() + swatch + look.px(5), look)
        foot = self._foot(self.width())
        set_centred(painter, foot, middle, body.bottom() - look.px(5) - high(foot), look)

    def _paint_flash(self, painter: QPainter, body: QRectF) -> None:
        hatch(painter, body, self.look.colour("ink"), self.look.px(HATCH))
        told = self._top(self.width())
        room = block(told, body.center().x(), body.center().y(), self.look.px(4))
        painter.fillRect(room, self.look.colour("paper"))
        set_centred(painter, told, body.center().x(), room.top() + self.look.px(4), self.look)

    def _paint_band(self, painter: QPainter) -> None:
        told = self.band_lines(self.width())
        if not told:
            return
        tall = high(told) + self.look.px(3)
        room = QRectF(0, self.band - tall, self.width(), tall)
        painter.fillRect(room, self.look.colour("ink"))
        set_centred(painter, told, room.center().x(), room.top() + self.look.px(1), self.look)


class SpotWidget(Item):
    """A place on which nothing prints or flashes: idle, to cool, out of service, or an end of the line."""

    def __init__(self, hand: Hand, voice: Voice, parent: QWidget) -> None:
        super().__init__(hand, voice, parent)
        self.spot = Spot(1, 0, Stands.EMPTY, "")
        self.foot = ""

    @property
    def screen_name(self) -> str | None:
        return self.spot.screen

    def tell(self, spot: Spot, where: str, foot: str) -> None:
        """Shows a spot; ``where`` names its place, ``foot`` stands at the foot of an end of the line."""
        self.spot, self.place, self.foot = spot, spot.place, foot
        told = self.voice(spot.words)
        if spot.screen is not None:
            told = self.voice.say("line.rests", screen=spot.screen, words=told)
        name = self.voice.say("card.spot", place=where, words=told)
        self.setAccessibleName(name)
        self.setToolTip(name)
        self.setProperty("glossary", "station")
        self.update()

    def paintEvent(self, event: QPaintEvent) -> None:
        painter, look, stands = QPainter(self), self.look, self.spot.stands
        body = QRectF(self.rect())
        if stands in (Stands.LOAD, Stands.UNLOAD):
            self._paint_end(painter, body)
        elif stands is Stands.OUT_OF_SERVICE:
            painter.fillRect(body, look.colour("idle"))
            _outline(painter, body, look.colour("hairline"), 1)
        elif stands is Stands.COOLING:
            _outline(painter, body, look.colour("quiet"), 1, dashed=True)
        elif stands is Stands.FLASH_RESTS:
            hatch(painter, body, look.colour("hairline"), look.px(2 * HATCH))
            _outline(painter, body, look.colour("hairline"), look.px(1.2))
        elif stands is Stands.SCREEN_RESTS:
            _outline(painter, body, look.colour("hairline"), look.px(1.2))
        else:
            _outline(painter, body, look.colour("hairline"), 1, dotted=True)
        inner = body.width() - 2 * look.px(PAD)
        told = [fitted(self.voice(self.spot.words), look, SMALLS, inner, most=4, italic=True, colour="quiet")]
        if self.spot.screen is not None:
            told.insert(0, fitted(self.spot.screen, look, SMALLS, inner, weight=600, colour="quiet"))
        room = block(told, body.center().x(), body.center().y(), look.px(4))
        if stands is Stands.FLASH_RESTS:
            painter.fillRect(room, look.colour("paper"))
        set_centred(painter, told, body.center().x(), room.top() + look.px(4), look)
        painter.end()

    def _paint_end(self, painter: QPainter, body: QRectF) -> None:
        look = self.look
        painter.setPen(look.colour("hairline"))
        edge = body.left() if self.spot.stands is Stands.LOAD else body.right() - 1
        painter.drawLine(QPointF(edge, body.top()), QPointF(edge, body.bottom()))
        if self.foot:
            told = [fitted(self.foot, look, SMALLS, body.width(), most=2)]
            set_centred(painter, told, body.center().x(), body.bottom() - high(told) - look.px(5), look)


def hatch(painter: QPainter, body: QRectF, colour: QColor, step: int) -> None:
    """Slanting lines all over."""
    painter.save()
    painter.setClipRect(body)
    painter.setRenderHint(QPainter.RenderHint.Antialiasing, True)
    painter.setPen(QPen(colour, 0.8))
    reach = body.top() - body.width() / 2
    while reach < body.bottom() + body.width() / 2:
        painter.drawLine(QPointF(body.left(), reach + body.width() / 2), QPointF(body.right(), reach))
        reach += step
    painter.restore()


def _outline(
    painter: QPainter, body: QRectF, colour: QColor, wide: int, *, dashed: bool = False, dotted: bool = False
) -> None:
    """A frame just inside the edges."""
    pen = QPen(colour, wide)
    pen.setJoinStyle(Qt.PenJoinStyle.MiterJoin)
    if dashed:
        pen.setDashPattern([3, 3])
    elif dotted:
        pen.setDashPattern([1, 3])
    painter.setPen(pen)
    painter.setBrush(Qt.BrushStyle.NoBrush)
    inset = wide / 2
    painter.drawRect(body.adjusted(inset, inset, -inset, -inset))
