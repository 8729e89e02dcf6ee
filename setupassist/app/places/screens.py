"""The place of screens and inks: what every screen is set to and how that is known, flashes, inks, stock."""

from __future__ import annotations

from collections.abc import Sequence

from PySide6.QtCore import QSize, Qt
from PySide6.QtGui import QResizeEvent
from PySide6.QtWidgets import QBoxLayout, QScrollArea, QVBoxLayout, QWidget

from setupassist.app.actions import Action
from setupassist.app.grid import Grid
from setupassist.app.labels import label
from setupassist.app.model import DeskModel
from setupassist.app.place import Place
from setupassist.app.scrolled import scrolled
from setupassist.app.selection import Of, Selection
from setupassist.app.theme import Look
from setupassist.desk import edits, screen_rows
from setupassist.desk.content import content_of, why_no_plan
from setupassist.desk.grid import Cell, Head, Row
from setupassist.desk.tasks import Stage
from setupassist.documents.terms import Known
from setupassist.quantities import Units
from setupassist.sheet.unit_words import UnitWords
from setupassist.words import say

RANKS = {"role": 6, "tension": 5, "stencil": 4, "ink": 3, "off-contact": 2, "blade": 1}
"""Columns that give way where the room is short, the highest first; the detail below has them all."""
MOST_WIDE = {"stencil": 110}
RIGHT = frozenset({"amount", "in-stock", "left"})
SIDE_BY_SIDE = 760


class ScreensPlace(Place):
    """Screens in print order above; below, all values of the chosen one, and inks, flashes and stock."""

    key = "screens"

    def __init__(self, model: DeskModel, look: Look) -> None:
        super().__init__(model, look)
        self._screen = ""
        self.state = label("", "quiet", name="screens-state")
        self.faults = label("", "strong", name="screens-without-stock")
        self.screens = self._grid("screens", screen_rows.COLUMNS, {"screen": "stretch"}, edits=True, least_rows=4)
        self.details = self._grid("details", screen_rows.DETAILS, {"source": "wrap"}, edits=True)
        self.flashes = self._grid("flashes", screen_rows.FLASHES, {"known": "stretch"}, edits=True)
        self.inks = self._grid("inks", screen_rows.INKS, {"ink": "stretch"})
        self.stock = self._grid("stock", screen_rows.STOCK, {"used-for": "wrap"})
        self.screens.walked.connect(self._walked)
        self.inks.walked.connect(self._ink_walked)
        self.flashes.walked.connect(self._flash_walked)
        self.heads = {name: label(self.say(f"place_screens.heading.{name}"), "heading") for name in
                      ("screens", "inks", "flashes", "stock")}  # fmt: skip
        self.heads["chosen"] = label("", "heading", name="chosen-screen")
        self.basis = label("", "small")
        self.letters = label(self._letters(), "small")
        self._lay_out()

    def _grid(
        self, name: str, columns: Sequence[str], room: dict[str, str], *, edits: bool = False,
        least_rows: int | None = None,
    ) -> Grid:  # fmt: skip
        heads = []
        for column in columns:
            key = column
            if column == "mesh" and name == "screens":
                key = "mesh-per-cm" if self.model.units == "metric" else "mesh-per-inch"
            rank = RANKS.get(column, 0) if name == "screens" else 0
            text = self.say(f"place_screens.column.{key}")
            right = column in RIGHT or (name, column) == ("screens", "ink")
            most = MOST_WIDE.get(column, 0)
            heads.append(Head(text, room.get(column, "fit"), right, rank, most=most))
        title = "chosen" if name == "details" else name
        return Grid(
            self.look,
            heads,
            name=f"grid-{name}",
            told=self.say(f"place_screens.heading.{title}", screen=""),
            typed=self._typed if edits else None,
            taken_back=self._take_back if edits else None,
            least_rows=least_rows,
        )

    def _lay_out(self) -> None:
        px = self.look.px
        below = QWidget()
        column = QVBoxLayout(below)
        column.setContentsMargins(px(22), px(4), px(22), px(20))
        column.setSpacing(px(6))
        for widget in (self.letters, self.heads["chosen"], self.details):
            column.addWidget(widget)
        self._pair = QBoxLayout(QBoxLayout.Direction.LeftToRight)
        self._pair.setSpacing(px(28))
        for groups in (("inks",), ("flashes", "stock")):
            side = QVBoxLayout()
            side.setSpacing(px(6))
            for name in groups:
                side.addSpacing(px(12))
                side.addWidget(self.heads[name])
                side.addWidget(getattr(self, name))
                if name == "inks":
                    side.addWidget(self.basis)
            side.addStretch(1)
            self._pair.addLayout(side, 1)
        column.addLayout(self._pair)
        column.addStretch(1)
        self.below = QScrollArea()
        self.below.setWidgetResizable(True)
        self.below.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        self.below.setFocusPolicy(Qt.FocusPolicy.NoFocus)
        self.below.setMinimumHeight(px(150))
        self.below.setWidget(below)
        above = QVBoxLayout()
        above.setContentsMargins(px(22), px(16), px(22), 0)
        above.setSpacing(px(6))
        for above_widget in (self.heads["screens"], self.state, self.faults, self.screens):
            above.addWidget(above_widget)
        whole = QVBoxLayout(scrolled(self))
        whole.setContentsMargins(0, 0, 0, 0)
        whole.setSpacing(px(6))
        whole.addLayout(above)
        whole.addWidget(self.below, 1)

    def minimumSizeHint(self) -> QSize:
        return QSize(self.look.px(420), self.look.px(300))

    def resizeEvent(self, event: QResizeEvent) -> None:
        super().resizeEvent(event)
        wide = self.width() >= self.look.px(SIDE_BY_SIDE)
        self._pair.setDirection(QBoxLayout.Direction.LeftToRight if wide else QBoxLayout.Direction.TopToBottom)

    @property
    def unit_words(self) -> UnitWords:
        """Words and figures in the person's language and units."""
        return UnitWords(Units(self.model.units), self.model.words)

    def _letters(self) -> str:
        words = self.unit_words
        told = ",  ".join(f"{words.known(k)} {words(say(f'terms.known.{k.value}'))}" for k in Known)
        return self.say("place_screens.letters", letters=told)

    # ------------------------------------------------------------ showing

    def refresh(self) -> None:
        """Shows the plan's screens as they are known now."""
        content, words = content_of(self.model.desk), self.unit_words
        self._tell_state(content is not None)
        self.below.setVisible(content is not None)
        self.screens.setVisible(content is not None)
        self.faults.setVisible(False)
        if content is None:
            return
        missing = screen_rows.without_stock(content)
        told = [words(say("place_screens.no-stock", screen=name, why=why)) for name, why in missing]
        self.faults.setText("\n".join(told))
        self.faults.setVisible(bool(told))
        self.screens.show_rows(screen_rows.screen_rows(content, words))
        names = [row.key for row in self.screens.grid.rows]
        if self._screen not in names:
            self._screen = names[0] if names else ""
        self._show("flashes", screen_rows.flash_rows(content, words))
        self._show("inks", screen_rows.ink_rows(content, words))
        self._show("stock", screen_rows.stock_rows(content, words))
        self.basis.setText(screen_rows.ink_basis(content, words))
        self.selection_changed()
        self._show_details()
        if self.model.selection.of is Of.NOTHING:
            self._select_screen(self._screen)

    def _show(self, name: str, rows: tuple[Row, ...]) -> None:
        grid: Grid = getattr(self, name)
        grid.show_rows(rows)
        grid.setVisible(bool(rows))
        self.heads[name].setVisible(bool(rows))

    def _show_details(self) -> None:
        content = content_of(self.model.desk)
        if content is not None:
            words = self.unit_words
            self.heads["chosen"].setText(self.say("place_screens.heading.chosen", screen=self._screen))
            self.details.setAccessibleName(self.heads["chosen"].text())
            self.details.show_rows(screen_rows.setting_rows(content, self._screen, words))

    def _tell_state(self, known: bool) -> None:
        desk = self.model.desk
        told = [self.model.words(text) for text in why_no_plan(desk)]
        if told:
            told.insert(0, self.say("place_screens.no-plan"))
        elif not known:
            told = [self.say("place_screens.planning")]
        elif not desk.fresh(Stage.MADE):
            told = [self.say("place_screens.anew")]
        self.state.setText("\n".join(told))
        self.state.setVisible(bool(told))

    def status(self) -> str:
        content = content_of(self.model.desk)
        if content is None:
            return ""
        count, missing = len(content.screens()), len(screen_rows.without_stock(content))
        stock = self.say("place_screens.status.all", count=count)
        if missing:
            stock = self.say("place_screens.status.short", screens=count, count=missing)
        by_hand = screen_rows.by_hand(self.model.job)
        return self.say("place_screens.status.by-hand", stock=stock, count=by_hand) if by_hand else stock

    # ------------------------------------------------------------ selection

    def selection_changed(self) -> None:
        """Marks the selected screen, whoever selected it."""
        selection = self.model.selection
        names = [row.key for row in self.screens.grid.rows]
        if selection.of in (Of.SCREEN, Of.INK) and selection.name in names and selection.name != self._screen:
            self._screen = selection.name
            self._show_details()
        if self._screen:
            self.screens.go_to(self._screen)

    def _walked(self, name: str) -> None:
        self._screen = name
        self._show_details()
        self._select_screen(name)

    def _select_screen(self, name: str) -> None:
        content = content_of(self.model.desk)
        screens = content.screens() if content is not None else ()
        found = next((screen for screen in screens if screen.name == name), None)
        if found is not None:
            self.model.select(Selection(Of.SCREEN, name, found.station, found.slots[0].lap))

    def _ink_walked(self, ink: str) -> None:
        self._select_screen(ink)

    def _flash_walked(self, station: str) -> None:
        self.model.select(Selection(Of.STATION, station=int(station)))

    # ------------------------------------------------------------ edits

    def _typed(self, cell: Cell, text: str) -> bool:
        entry = cell.entry
        assert entry is not None
        metric = self.model.units == "metric"
        return self.model.edit(lambda: screen_rows.edit_of(self.model.job, entry, text, metric=metric))

    def _take_back(self, cell: Cell) -> None:
        entry = cell.entry
        assert entry is not None
        self.model.edit(lambda: screen_rows.taken_back(self.model.job, entry))

    def _take_value_back(self) -> None:
        for grid in (self.screens, self.details, self.flashes):
            if grid.hasFocus():
                grid.take_back()

    def _take_screen_back(self) -> None:
        if self._screen in self.model.job.overrides:
            self.model.edit(lambda: edits.computed(self.model.job, self._screen))

    def actions_of(self) -> Sequence[Action | None]:
        return (
            Action("place_screens.action.take-back", self._take_value_back, "Backspace"),
            Action(
                "place_screens.action.take-all-back",
                self._take_screen_back,
                "Shift+Backspace",
                lambda: self._screen in self.model.job.overrides,
            ),
        )
