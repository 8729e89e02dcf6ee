"""The place of stations: the line as an editor, the strategies, the garment after each station."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from functools import partial

from PySide6.QtCore import QPoint, Qt
from PySide6.QtGui import QAction, QResizeEvent
from PySide6.QtWidgets import QFrame, QHBoxLayout, QMenu, QPushButton, QScrollArea, QVBoxLayout, QWidget

from setupassist.app.actions import PARTING, Action
from setupassist.app.labels import label
from setupassist.app.line.clash_view import ClashView
from setupassist.app.line.editor import LineEditor
from setupassist.app.line.garment_strip import GarmentStrip
from setupassist.app.line.shelf import Shelf
from setupassist.app.line.strategy_table import StrategyTable
from setupassist.app.line.voice import voice_of
from setupassist.app.model import DeskModel
from setupassist.app.place import Place
from setupassist.app.selection import Of, Selection
from setupassist.app.theme import Look
from setupassist.desk import edits, moves, stations_told
from setupassist.desk.edits import Edit
from setupassist.desk.garment_stages import AfterPrint, stages_of
from setupassist.desk.line import Line, line_of, problem_of, shown, standing_slots, standings_of
from setupassist.desk.moves import Held
from setupassist.desk.strategies import comparison
from setupassist.desk.tasks import Stage
from setupassist.documents.plan import Clash, Slot, WayOut
from setupassist.documents.terms import StrategyName
from setupassist.planner.problem import Problem, Standing
from setupassist.words import say

MOST_WIDE = 1800
MARGIN = 22


class StationsPlace(Place):
    """What stands where, and what the person does to it."""

    key = "stations"

    def __init__(self, model: DeskModel, look: Look) -> None:
        super().__init__(model, look)
        self.voice = voice_of(model, look)
        self.editor = LineEditor(model, self.voice)
        self.editor.menu_wanted.connect(self._menu)
        self.shelf = Shelf(self.editor, self.voice)
        self.clash = ClashView(self.voice)
        self.clash.taken.connect(self._take_way)
        self.table = StrategyTable(self.voice)
        self.table.picked.connect(self._choose)
        self.strip = GarmentStrip(model, self.voice)
        self.strip.picked.connect(self._pick_print)
        self._build()
        model.opened.connect(self.editor.forget)

    # ------------------------------------------------------------ putting it together

    def _build(self) -> None:
        look, say_ = self.look, self.say
        self.head = label("", "heading", name="line-head")
        self.more = label("", "quiet", name="line-more")
        self.back = self._button("head.back", self._planners_line, "back-to-planner")
        self.again = self._button("head.again", self._plan_again, "plan-again")
        head = QHBoxLayout()
        head.setSpacing(look.px(12))
        told = QVBoxLayout()
        told.setSpacing(0)
        told.addWidget(self.head)
        told.addWidget(self.more)
        head.addLayout(told, 1)
        for widget in (self.back, self.again, self.shelf):
            head.addWidget(widget, 0, Qt.AlignmentFlag.AlignTop)
        self.table_title = label(say_("place_stations.table.title"), "heading")
        self.table_note = label(say_("place_stations.table.note"), "small")
        self.strip_title = label(say_("place_stations.strip.title"), "heading")
        self.strip_note = label(say_("place_stations.strip.note"), "small", name="strip-note")
        self.now_title = label(say_("place_stations.now.title"), "heading")
        self.now = label("", name="stands-now")
        self.this_now = self._button("now.this", self._stands_now, "this-stands-now")
        self.clear_now = self._button("now.clear", self._nothing_now, "nothing-stands-now")
        now = QHBoxLayout()
        now.setSpacing(look.px(12))
        now.addWidget(self.now, 1)
        for button in (self.this_now, self.clear_now):
            now.addWidget(button, 0, Qt.AlignmentFlag.AlignTop)
        page = QWidget()
        column = QVBoxLayout(page)
        margin = look.px(MARGIN)
        column.setContentsMargins(margin, look.px(16), margin, look.px(20))
        column.setSpacing(look.px(6))
        column.addLayout(head)
        column.addSpacing(look.px(4))
        parts: tuple[tuple[QWidget, int], ...] = (
            (self.editor, 0), (self.clash, look.px(18)), (self.table_title, look.px(8)),
            (self.table, 0), (self.table_note, 0), (self.strip_title, look.px(14)), (self.strip, 0),
            (self.strip_note, 0), (self.now_title, look.px(14)),
        )  # fmt: skip
        for part, gap in parts:
            column.addSpacing(gap)
            column.addWidget(part)
        column.addLayout(now)
        column.addStretch(1)
        page.setMaximumWidth(look.px(MOST_WIDE))
        self.scroller = QScrollArea()
        self.scroller.setFrameShape(QFrame.Shape.NoFrame)
        self.scroller.setWidgetResizable(True)
        self.scroller.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        self.scroller.setVerticalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOn)  # no card moves for its sake
        self.scroller.setFocusPolicy(Qt.FocusPolicy.NoFocus)
        self.scroller.setWidget(page)
        whole = QVBoxLayout(self)
        whole.setContentsMargins(0, 0, 0, 0)
        whole.addWidget(self.scroller)

    def _button(self, key: str, run: Callable[[], object], name: str) -> QPushButton:
        button = QPushButton(self.say(f"place_stations.{key}"))
        button.setObjectName(name)
        button.clicked.connect(run)
        return button

    # ------------------------------------------------------------ showing

    def refresh(self) -> None:
        """Shows the line as it is now, in place."""
        model, desk = self.model, self.model.desk
        if not model.has_job:
            return
        words, line = model.words, line_of(desk)
        told = shown(desk)
        self.head.setText(words(stations_told.head_of(desk)))
        more = words(stations_told.more_of(desk))
        self.more.setText(more)
        self.more.setVisible(bool(more))
        self.back.setVisible(model.job.arrangement is not None)
        self.again.setVisible(bool(stations_told.troubles(desk)))
        for widget in (self.editor, self.shelf):
            widget.setVisible(line is not None)
        if line is not None:
            self.editor.show_line(line)
            press = model.press
            self.shelf.tell(line, units=press.flash_units if press is not None else 0)
        by_hand = model.job.arrangement is not None
        self.clash.tell(self._clash(), by_hand=by_hand)
        self.table.tell(comparison(desk))
        self.table_title.setText(self.say(f"place_stations.table.title{'-by-hand' if by_hand else ''}"))
        self._refresh_strip(line)
        self.now.setText(words(stations_told.now_of(desk)))
        self.this_now.setEnabled(line is not None and told is not None)
        self.clear_now.setEnabled(bool(model.job.on_press_now))

    def resizeEvent(self, event: QResizeEvent) -> None:
        super().resizeEvent(event)
        self.strip.fit(self.height())

    def _clash(self) -> Clash | None:
        """The clash of the job as it is now; None where there is none or it is not known."""
        desk = self.model.desk
        planned = desk.results.plans.get(self.model.job.strategy)
        if planned is None or not desk.fresh(Stage.PLANS, self.model.job.strategy):
            return None
        return planned.plan.clash

    def _refresh_strip(self, line: Line | None) -> None:
        stages = stages_of(self.model.desk, line) if line is not None else None
        self.strip.tell(stages, line.laps if line is not None else 1)
        figures = line is not None and self.model.results.plates is not None and stages is None
        for widget in (self.strip_title, self.strip):
            widget.setVisible(stages is not None or (figures and widget is self.strip_title))
        key = "figures" if figures else "note"
        self.strip_note.setText(self.say(f"place_stations.strip.{key}"))
        self.strip_note.setVisible(stages is not None or figures)

    def status(self) -> str:
        """How things stand with the line."""
        if not self.model.has_job:
            return ""
        return self.model.words(stations_told.status_of(self.model.desk))

    def selection_changed(self) -> None:
        """Marks what is selected, on the line and in the strip."""
        if not self.isVisible():
            self.later()
            return
        self.editor.choose_selected()
        self.strip.choose(self.editor.chosen_place)

    # ------------------------------------------------------------ what can be done

    def actions_of(self) -> Sequence[Action | None]:
        """Everything that keys do on the line."""
        key = "place_stations.action."
        return (
            Action(f"{key}to-left", partial(self._carry, -1, 0), "Alt+Left", self._thing_chosen),
            Action(f"{key}to-right", partial(self._carry, 1, 0), "Alt+Right", self._thing_chosen),
            Action(f"{key}lap-before", partial(self._carry, 0, -1), "Alt+Up", self._several_laps),
            Action(f"{key}lap-after", partial(self._carry, 0, 1), "Alt+Down", self._several_laps),
            Action(f"{key}pin", self._pin, "P", self._thing_chosen, self._pinned),
            Action(f"{key}keep-empty", self._keep_empty, "E", self._place_chosen, self._kept_empty),
            Action(f"{key}out-of-service", self._out_of_service, "O", self._place_chosen, self._out),
            Action(f"{key}flash", self._flash, "F", self._place_chosen, self._flashes),
            Action(f"{key}remove", self._remove, "Del", self._thing_chosen),
            Action(f"{key}planners-line", self._planners_line, "Backspace", self._by_hand),
            PARTING,
            *(
                Action(f"{key}{name.value}", partial(self._choose, name.value), str(at), self._has_job,
                       partial(self._is_strategy, name))
                for at, name in enumerate(StrategyName, start=1)
            ),
            PARTING,
            Action(f"{key}stands-now", self._stands_now, "", self._line_there),
            Action(f"{key}nothing-now", self._nothing_now, "", lambda: bool(self.model.job.on_press_now)),
        )  # fmt: skip

    def _menu(self, at: QPoint) -> None:
        """The same actions at the pointer; they are the window's own, so that their keys stand beside them."""
        menu = QMenu(self)
        menu.setObjectName("line-menu")
        for action in self.actions_of():
            if action is None:
                menu.addSeparator()
                continue
            entry = self.window().findChild(QAction, action.key)
            if entry is not None:
                menu.addAction(entry)
        menu.aboutToHide.connect(menu.deleteLater)
        menu.popup(at)

    def _has_job(self) -> bool:
        return self.model.has_job

    def _line_there(self) -> bool:
        return self.model.has_job and bool(standing_slots(self.model.desk))

    def _slot(self) -> Slot | None:
        """The print or flash action that is selected; asked of the desk, since the line may not be drawn anew yet."""
        selection, slots = self.model.selection, standing_slots(self.model.desk)
        here = [slot for slot in slots if (slot.lap, slot.station) == (selection.lap, selection.station)]
        if selection.of is Of.STATION:
            return min(here, key=lambda slot: slot.holds == "screen", default=None)
        if selection.of in (Of.SCREEN, Of.INK):
            mine = [slot for slot in slots if slot.holds == "screen" and slot.ink == selection.name]
            return next((slot for slot in mine if slot in here), mine[0] if mine else None)
        return None

    def _at(self) -> tuple[int, int] | None:
        """(lap, station) of what is selected, where garments pass and something may stand."""
        selection, press, slot = self.model.selection, self.model.press, self._slot()
        if press is None or not self.model.has_job:
            return None
        if selection.of in (Of.SCREEN, Of.STATION) and selection.station in press.way:
            return selection.lap, selection.station
        return (slot.lap, slot.station) if slot is not None and slot.station in press.way else None

    def _thing_chosen(self) -> bool:
        return self._slot() is not None

    def _place_chosen(self) -> bool:
        return self._at() is not None

    def _several_laps(self) -> bool:
        press = self.model.press
        return self._thing_chosen() and press is not None and press.max_laps > 1

    def _by_hand(self) -> bool:
        return self.model.has_job and self.model.job.arrangement is not None

    def _pinned(self) -> bool:
        slot, job = self._slot(), self.model.has_job and self.model.job
        if slot is None or not job:
            return False
        return slot.station in job.flash_pins if slot.holds == "flash" else job.pins.get(slot.ink or "") == slot.station

    def _kept_empty(self) -> bool:
        place = self._at()
        return place is not None and place[1] in self.model.job.keep_empty

    def _out(self) -> bool:
        place, press = self._at(), self.model.press
        return place is not None and press is not None and place[1] in press.out_of_service

    def _flashes(self) -> bool:
        place = self._at()
        slots = standing_slots(self.model.desk)
        return any((slot.lap, slot.station) == place and slot.holds == "flash" for slot in slots)

    def _is_strategy(self, name: StrategyName) -> bool:
        return self.model.has_job and self.model.job.strategy is name

    def _base(self) -> tuple[Problem, tuple[Standing, ...]] | None:
        """The planning question and what stands on the line now; None while there is no line."""
        told, problem = shown(self.model.desk), problem_of(self.model.desk)
        if told is None or problem is None or not told.plan.feasible:
            return None
        return problem, standings_of(told.plan)

    def _carry(self, along: int, laps: int) -> None:
        """What is chosen goes a station on, or into another lap."""
        slot, press = self._slot(), self.model.press
        if slot is None or press is None or slot.station not in press.way:
            return
        at = press.way.index(slot.station) + along
        if not 0 <= at < len(press.way):
            self.model.told.emit(say("place_stations.told.end-of-line", station=slot.station))
            return
        lap = slot.lap + laps
        if not 1 <= lap <= press.max_laps:
            self.model.told.emit(say("place_stations.told.most-laps", laps=press.max_laps))
            return
        self.editor.let_go(Held(_screen(slot), slot.station, slot.lap), (lap, press.way[at]))

    def _pin(self) -> None:
        slot, job = self._slot(), self.model.job
        if slot is None:
            return
        screen = _screen(slot)
        if self._pinned():
            self.model.edit(
                lambda: edits.pin_flash(job, slot.station, False) if screen is None else edits.pin(job, screen, None)
            )
        elif self.model.edit(lambda: moves.pinned_here(job, screen, slot.station)) and job.arrangement is not None:
            self.model.told.emit(say("place_stations.told.hands-over"))

    def _keep_empty(self) -> None:
        place, job = self._at(), self.model.job
        if place is not None:
            self.model.edit(lambda: edits.keep_empty(job, place[1], place[1] not in job.keep_empty))

    def _out_of_service(self) -> None:
        place, press, job = self._at(), self.model.press, self.model.job
        if place is None or press is None:
            return
        station = place[1]
        if station not in press.heads:
            self.model.told.emit(say("place_stations.told.no-head", station=station))
            return
        self.model.edit(lambda: edits.out_of_service(job, press, station, station not in press.out_of_service))

    def _flash(self) -> None:
        place, base, job = self._at(), self._base(), self.model.job
        if place is None or base is None:
            return
        (lap, station), (problem, standings) = place, base
        if self._flashes():
            self.model.edit(lambda: moves.flash_rests(job, standings, station, lap))
        elif self.model.edit(lambda: moves.flash_acts(job, problem, standings, station, lap)):
            self.model.select(Selection(Of.STATION, "", station, lap))

    def _remove(self) -> None:
        slot, base, job = self._slot(), self._base(), self.model.job
        if slot is None or base is None:
            return
        screen, (problem, standings) = _screen(slot), base
        if screen is None:
            self.model.edit(lambda: moves.flash_rests(job, standings, slot.station))
        elif screen not in problem.ink_of_screen:
            self.model.edit(lambda: moves.taken_off(job, standings, screen))
        else:
            self.model.told.emit(say("place_stations.told.flash-needed"))

    def _planners_line(self) -> None:
        self._edit(moves.planners_line)

    def _choose(self, name: str) -> None:
        self._edit(lambda job: edits.strategy(job, name))

    def _take_way(self, way: WayOut) -> None:
        press, job = self.model.press, self.model.job
        if press is not None:
            self.model.edit(lambda: moves.way_out_taken(job, press, way))

    def _stands_now(self) -> None:
        told = shown(self.model.desk)
        if told is not None and told.plan.feasible:
            slots = told.plan.slots
            self._edit(lambda job: edits.standing_now(job, slots))

    def _nothing_now(self) -> None:
        self._edit(lambda job: edits.standing_now(job, None))

    def _plan_again(self) -> None:
        desk = self.model.desk
        for stage, part in ((Stage.MEASURED, ""), (Stage.PLANS, self.model.job.strategy), (Stage.MADE, "")):
            desk.again(stage, part)
        self.model.pump()

    def _edit(self, edit: Callable[..., Edit]) -> None:
        job = self.model.job
        self.model.edit(lambda: edit(job))

    def _pick_print(self, after: AfterPrint) -> None:
        self.model.select(Selection(Of.SCREEN, after.screen, after.station, after.lap))


def _screen(slot: Slot) -> str | None:
    """The screen of a slot; None for a flash."""
    return slot.ink if slot.holds == "screen" else None
