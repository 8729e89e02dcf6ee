"""The line as an editor: what is chosen, what is in hand, and the keys."""

from __future__ import annotations

from dataclasses import dataclass

from PySide6.QtCore import QEvent, QPoint, Qt, QTimer, Signal
from PySide6.QtGui import QHideEvent, QKeyEvent, QPixmap, QResizeEvent, QWheelEvent
from PySide6.QtWidgets import QApplication, QFrame, QScrollArea, QSizePolicy, QStyle, QVBoxLayout, QWidget

from setupassist.app.line.canvas import SLIDE_MS, Canvas, CostWord, leader_foot
from setupassist.app.line.card import CardWidget, Item
from setupassist.app.line.hover import Ghost, HoverPanel, outcome_of
from setupassist.app.line.limits import LimitList
from setupassist.app.line.shelf import Chip
from setupassist.app.line.voice import Voice
from setupassist.app.model import DeskModel
from setupassist.app.selection import Of, Selection
from setupassist.desk import line as lines
from setupassist.desk import moves
from setupassist.desk.line import Limit, Line, Place
from setupassist.desk.moves import Costs, Held
from setupassist.planner.wishes import STRATEGIES

ROLL_MS = 40


@dataclass(eq=False)
class _Drag:
    """Something in hand: what it is, what it would cost, its picture, and where it hovers."""

    held: Held
    costs: Costs
    item: Item
    ghost: Ghost
    grip: QPoint
    at: QPoint
    place: Place | None = None
    slide: bool = False


class _Scroll(QScrollArea):
    """Scrolls sideways only; turning the wheel scrolls the page that it lies on."""

    def wheelEvent(self, event: QWheelEvent) -> None:
        sideways = abs(event.angleDelta().x()) > abs(event.angleDelta().y())
        if sideways or event.modifiers() & Qt.KeyboardModifier.ShiftModifier:
            super().wheelEvent(event)
        else:
            event.ignore()


class LineEditor(QWidget):
    """The line, and below it the limits that it breaks. ``menu_wanted`` asks for a menu at a point of the screen."""

    menu_wanted = Signal(QPoint)

    def __init__(self, model: DeskModel, voice: Voice, *, motion_ms: int | None = None) -> None:
        super().__init__()
        self.model, self.voice = model, voice
        self.canvas = Canvas(self, voice, motion_ms=motion() if motion_ms is None else motion_ms)
        self.scroller = _Scroll()
        self.scroller.setObjectName("line-scroll")
        self.scroller.setFrameShape(QFrame.Shape.NoFrame)
        self.scroller.setVerticalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        self.scroller.setFocusPolicy(Qt.FocusPolicy.NoFocus)
        self.scroller.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Fixed)
        self.scroller.setWidget(self.canvas)
        self.scroller.horizontalScrollBar().valueChanged.connect(self._scrolled)
        self.limits = LimitList(voice, self._foot)
        self.limits.setObjectName("broken-limits")
        self.limits.chosen.connect(self._limit_chosen)
        column = QVBoxLayout(self)
        column.setContentsMargins(0, 0, 0, 0)
        column.setSpacing(0)
        column.addWidget(self.scroller)
        column.addWidget(self.limits)
        self.hover: HoverPanel | None = None
        self._drag: _Drag | None = None
        self._shown = False
        self._roll = QTimer(self)
        self._roll.setInterval(ROLL_MS)
        self._roll.timeout.connect(self._roll_on)

    @property
    def line(self) -> Line:
        """The line that is shown."""
        return self.canvas.line

    @property
    def dragging(self) -> bool:
        """Whether something is in hand."""
        return self._drag is not None

    # ------------------------------------------------------------ showing

    def show_line(self, line: Line) -> None:
        """Another line; its cards slide there where it is the same job's."""
        if line == self.line:
            return
        if self._drag is not None and line.cards != self.line.cards:
            self.cancel()
        at = QApplication.focusWidget()
        focused = isinstance(at, Item) and self.canvas.isAncestorOf(at)
        self.canvas.show_line(line, slides=self._shown)
        self._shown = True
        self.limits.tell(line.limits)
        self.canvas.leaders = self.limits.shown
        self._fit()
        self._follow()
        self.choose_selected(focus=focused)

    def forget(self) -> None:
        """Another job: the next line is not the old one on the move."""
        self._shown = False
        self.cancel()

    def _follow(self) -> None:
        """The selection goes with a screen that was moved."""
        selection = self.model.selection
        item = self._item_of(selection)
        if isinstance(item, CardWidget) and selection.of is Of.SCREEN:
            lap, station = item.place
            self.model.select(Selection(Of.SCREEN, selection.name, station, lap))

    def choose_selected(self, *, focus: bool = False) -> None:
        """Marks what the window's selection names."""
        item = self._item_of(self.model.selection)
        old, self.canvas.chosen = self.canvas.chosen, item
        first = item or next(iter(self.canvas.items()), None)
        for other in self.canvas.items():
            policy = Qt.FocusPolicy.StrongFocus if other is first else Qt.FocusPolicy.ClickFocus
            other.setFocusPolicy(policy)
        if focus and item is not None and not item.hasFocus():
            item.setFocus(Qt.FocusReason.OtherFocusReason)
        if item is not None and item is not old:
            self._bring_into_view(item)
        self.canvas.update()

    def _item_of(self, selection: Selection) -> Item | None:
        cards = list(self.canvas.cards.values())
        if selection.of in (Of.SCREEN, Of.INK):
            mine = [card for card in cards if card.card.screen == selection.name]
            if not mine:
                rests = [s for s in self.canvas.spots.values() if s.spot.screen == selection.name]
                return next((s for s in rests if s.place == (selection.lap, selection.station)), None)
            here = (selection.lap, selection.station)
            spot = self.canvas.spots.get(here)
            if spot is not None and spot.spot.screen == selection.name:
                return spot
            mine.sort(key=lambda c: (c.place != here, c.place[0] != selection.lap, c.place))
            return mine[0]
        if selection.of is Of.STATION:
            here = (selection.lap, selection.station)
            flashes = [card for card in cards if card.place == here and card.card.screen is None]
            return flashes[0] if flashes else self.canvas.item_at(here)
        return None

    @property
    def chosen(self) -> Item | None:
        """What is chosen on the line."""
        return self._item_of(self.model.selection)

    @property
    def chosen_place(self) -> Place | None:
        """The place of what is chosen, between load and unload."""
        item = self.chosen
        if item is None or item.place[1] not in self.line.stations[1:-1]:
            return None
        return item.place

    def _bring_into_view(self, item: Item) -> None:
        margin = self.voice.look.px(90)
        self.scroller.ensureVisible(item.x() + item.width() // 2, 0, margin, 0)

    def _limit_chosen(self, limit: Limit | None) -> None:
        self.canvas.told_limit = limit
        if limit is not None and limit.places:
            item = self.canvas.item_at(limit.places[0])
            if item is not None:
                self._bring_into_view(item)
                self._select(item)
        self.canvas.leaders = self.limits.shown
        self.canvas.update()

    # ------------------------------------------------------------ room

    def resizeEvent(self, event: QResizeEvent) -> None:
        super().resizeEvent(event)
        self._fit()

    def _fit(self) -> None:
        self.canvas.fit(self.width())
        bar = self.scroller.horizontalScrollBar().sizeHint().height()
        extra = bar if self.canvas.width() > self.width() else 0
        self.scroller.setFixedHeight(self.canvas.height() + extra)
        self._scrolled()

    def _scrolled(self, *_: object) -> None:
        first = self.scroller.horizontalScrollBar().value()
        self.canvas.seen = (first, first + self.width())
        self.canvas.update()
        self.limits.lay_out()
        if self.hover is not None and self.hover.isVisible():
            self.hover.limits.lay_out()

    def _foot(self, place: Place, turn: int) -> int | None:
        where = self.canvas.geometry_
        if place[1] not in where.stations or not 1 <= place[0] <= len(where.rows):
            return None
        x = leader_foot(self.voice.look.px(5), where, place, turn) - self.scroller.horizontalScrollBar().value()
        return min(max(x, 1), self.width() - 2)

    # ------------------------------------------------------------ choosing

    def entered(self, item: Item) -> None:
        """The focus came to an item: it is chosen."""
        self._select(item)
        self.canvas.update()

    def moved(self) -> None:
        """An item moved or lost the focus: what is painted around it is painted anew."""
        self.canvas.update()

    def _select(self, item: Item) -> None:
        lap, station = item.place
        screen = item.screen_name
        if screen is not None:
            self.model.select(Selection(Of.SCREEN, screen, station, lap))
        else:
            self.model.select(Selection(Of.STATION, "", station, lap))

    def menu_at(self, item: Item, at: QPoint) -> None:
        """A menu is asked for on an item."""
        if not isinstance(item, Chip):
            self._select(item)
            self.menu_wanted.emit(at)

    def step(self, item: Item, along: int, laps: int) -> None:
        """The selection goes along the line, or to another lap."""
        lap, station = item.place
        if laps:
            target = self.canvas.item_at((lap + laps, station))
        else:
            row = [one for one in self.canvas.items() if one.place[0] == lap]
            at = row.index(item) + along
            target = row[at] if 0 <= at < len(row) else None
        if target is not None:
            target.setFocus(Qt.FocusReason.OtherFocusReason)

    def to_end(self, item: Item, last: bool) -> None:
        """The selection goes to the first or last station of the lap."""
        row = [one for one in self.canvas.items() if one.place[0] == item.place[0]]
        row[-1 if last else 0].setFocus(Qt.FocusReason.OtherFocusReason)

    def typed(self, item: Item, event: QKeyEvent) -> bool:
        """A key on an item; whether it was one of ours."""
        key = Qt.Key(event.key())
        if self._drag is not None:
            if key is Qt.Key.Key_Escape:
                self.cancel()
                return True
            if key is Qt.Key.Key_Shift:
                self._hover(self._drag.at, event.type() is QEvent.Type.KeyPress)
                return True
            return True
        if event.type() is not QEvent.Type.KeyPress or event.modifiers() & ~Qt.KeyboardModifier.KeypadModifier:
            return False
        if isinstance(item, Chip):
            if key not in (Qt.Key.Key_Return, Qt.Key.Key_Enter, Qt.Key.Key_Space):
                return False
            self._put_at_chosen(item)
        elif key in (Qt.Key.Key_Left, Qt.Key.Key_Right):
            self.step(item, 1 if key is Qt.Key.Key_Right else -1, 0)
        elif key in (Qt.Key.Key_Up, Qt.Key.Key_Down) and self.line.laps > 1:
            self.step(item, 0, 1 if key is Qt.Key.Key_Down else -1)
        elif key in (Qt.Key.Key_Home, Qt.Key.Key_End):
            self.to_end(item, key is Qt.Key.Key_End)
        elif key is Qt.Key.Key_Escape and self.canvas.told_limit is not None:
            self.limits.unchoose()
        else:
            return False
        return True

    def _put_at_chosen(self, chip: Chip) -> None:
        """What lies beside the line goes to the chosen station."""
        place = self.chosen_place
        if place is not None:
            self.let_go(held_of(chip), place)

    # ------------------------------------------------------------ carrying

    def pressed(self, item: Item) -> None:
        """The mouse went down on an item."""
        self.limits.unchoose()
        if not isinstance(item, Chip):
            self._select(item)

    def dragged(self, item: Item, at: QPoint, slide: bool) -> None:
        """The mouse carries an item of the line."""
        if self._drag is None:
            self.take(held_of(item), item, at)
        self._hover(at, slide)

    def take(self, held: Held, item: Item, at: QPoint) -> None:
        """Takes a thing in hand: from here on every station tells what letting it go there would cost."""
        told, problem = lines.shown(self.model.desk), lines.problem_of(self.model.desk)
        if told is None or problem is None or not told.plan.feasible:
            return
        picture = QPixmap(item.grab())
        grip = item.mapFromGlobal(at)
        page = self.window()
        ghost = Ghost(picture, page)
        self._drag = _Drag(held, Costs(problem, lines.standings_of(told.plan), held), item, ghost, grip, at)
        if isinstance(item, CardWidget):
            item.lifted = True
            item.update()
        ghost.show()
        ghost.raise_()
        if self.hover is None:
            self.hover = HoverPanel(self.voice, self._foot, self.parentWidget() or self)
        self._roll.start()

    def _hover(self, at: QPoint, slide: bool) -> None:
        drag = self._drag
        if drag is None:
            return
        drag.at = at
        drag.ghost.move(self.window().mapFromGlobal(at) - drag.grip)
        place = self._place_under(at)
        if (place, slide) == (drag.place, drag.slide) and self.canvas.costs:
            return
        drag.place, drag.slide = place, slide
        lap = place[0] if place is not None else drag.held.lap
        self._tell_costs(drag, min(lap, self.line.laps))
        self._tell_outcome(drag)

    def _place_under(self, at: QPoint) -> Place | None:
        seen = self.scroller.viewport().mapFromGlobal(at)
        if not 0 <= seen.x() < self.scroller.viewport().width():
            return None
        point = self.canvas.mapFromGlobal(at)
        place = self.canvas.geometry_.place_at(point.x(), point.y(), reach=self.voice.look.px(40))
        return place if place is not None and place[1] in self.line.stations[1:-1] else None

    def _tell_costs(self, drag: _Drag, lap: int) -> None:
        order = STRATEGIES[self.model.job.strategy]
        words = {}
        for station, found in drag.costs.row(lap, slide=drag.slide).items():
            if (lap, station) == (drag.held.lap, drag.held.station):
                words[station] = CostWord(self.voice.say("cost.here"), True)
            else:
                words[station] = CostWord(self.voice(moves.cost_in_short(found, order)), not found.broken)
        self.canvas.costs, self.canvas.costs_lap, self.canvas.target = words, lap, drag.place
        self.canvas.update()

    def _tell_outcome(self, drag: _Drag) -> None:
        assert self.hover is not None
        if drag.place is None:
            self.canvas.leaders = ()
            self.hover.hide()
            return
        order = STRATEGIES[self.model.job.strategy]
        outcome = outcome_of(self.voice, self.line, drag.costs, drag.place, order=order, slide=drag.slide)
        page = self.parentWidget() or self
        below = self.scroller.mapTo(page, QPoint(0, self.scroller.height()))
        self.hover.tell(outcome, below, self.width())
        self.canvas.leaders = self.hover.limits.shown
        self.canvas.update()

    def released(self, at: QPoint, slide: bool) -> None:
        """The mouse lets go: what is in hand is put down where it hovers, or stays where it was."""
        drag = self._drag
        if drag is None:
            return
        self._hover(at, slide)
        place = drag.place
        self._put_down()
        if place is None or place == (drag.held.lap, drag.held.station):
            return
        self.let_go(drag.held, place, slide=slide, costs=drag.costs)

    def let_go(self, held: Held, place: Place, *, slide: bool = False, costs: Costs | None = None) -> bool:
        """Puts a thing down at a place: the line is arranged by hand from here on."""
        if costs is None:
            told, problem = lines.shown(self.model.desk), lines.problem_of(self.model.desk)
            if told is None or problem is None or not told.plan.feasible:
                return False
            standings = lines.standings_of(told.plan)
        else:
            problem, standings = costs.problem, costs.now.standings
        lap, station = place
        job = self.model.job
        if held.screen is not None:
            self.model.select(Selection(Of.SCREEN, held.screen, station, lap))
        else:
            self.model.select(Selection(Of.STATION, "", station, lap))
        return self.model.edit(
            lambda: moves.let_go(job, problem, standings, held, station=station, lap=lap, slide=slide)
        )

    def cancel(self) -> None:
        """Gives up what is in hand; nothing has changed."""
        if self._drag is not None:
            self._drag.item.give_up()
            self._put_down()

    def _put_down(self) -> None:
        drag, self._drag = self._drag, None
        assert drag is not None
        self._roll.stop()
        if isinstance(drag.item, CardWidget):
            drag.item.lifted = False
            drag.item.update()
        drag.ghost.hide()
        drag.ghost.deleteLater()
        if self.hover is not None:
            self.hover.hide()
        self.canvas.costs, self.canvas.target = {}, None
        self.canvas.leaders = self.limits.shown
        self.canvas.update()

    def _roll_on(self) -> None:
        """Scrolls the line while the thing in hand is held against its edge."""
        drag = self._drag
        if drag is None:
            return
        x, edge = self.scroller.viewport().mapFromGlobal(drag.at).x(), self.voice.look.px(36)
        bar = self.scroller.horizontalScrollBar()
        step = -12 if x < edge else 12 if x > self.scroller.viewport().width() - edge else 0
        if step and bar.minimum() <= bar.value() + step <= bar.maximum():
            bar.setValue(bar.value() + step)
            self._hover(drag.at, drag.slide)

    def hideEvent(self, event: QHideEvent) -> None:
        super().hideEvent(event)
        self.cancel()


def held_of(item: Item) -> Held:
    """An item as it is in hand."""
    lap, station = item.place
    return Held(item.screen_name, station, lap)


def motion() -> int:
    """How long a card takes to its new station: nothing where the system wants no motion, or nobody looks."""
    if QApplication.platformName() == "offscreen":
        return 0
    style = QApplication.style()
    return SLIDE_MS if style.styleHint(QStyle.StyleHint.SH_Widget_Animation_Duration) > 0 else 0
