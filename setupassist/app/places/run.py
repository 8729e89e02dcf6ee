"""The place of the run and its sheet: the figures that people ask for, and the sheet as it will be printed."""

from __future__ import annotations

from collections.abc import Sequence

from PySide6.QtCore import QSize, Qt
from PySide6.QtGui import QResizeEvent
from PySide6.QtWidgets import (
    QBoxLayout,
    QComboBox,
    QFrame,
    QGridLayout,
    QHBoxLayout,
    QLabel,
    QPushButton,
    QScrollArea,
    QSizePolicy,
    QVBoxLayout,
    QWidget,
)

from setupassist.app.actions import Action
from setupassist.app.grid import Grid
from setupassist.app.labels import clear, label
from setupassist.app.model import DeskModel
from setupassist.app.pages_view import STEP, PagesView
from setupassist.app.place import Place
from setupassist.app.scrolled import scrolled
from setupassist.app.sheet_out import SheetOut
from setupassist.app.theme import Look
from setupassist.desk import content as known
from setupassist.desk import edits, run_rows
from setupassist.desk.grid import Cell, Head
from setupassist.desk.run_rows import Figure, Notice
from setupassist.desk.tasks import Stage
from setupassist.quantities import Units
from setupassist.sheet.unit_words import UnitWords
from setupassist.words import languages, words_in

BESIDE = 800
"""Below this width the figures stand above the sheet."""
FIGURES_WIDE = 350
LEAST_HIGH = 120
"""Where the figures stand above the sheet, they keep this much, or a third of the place."""
CHOICES_BESIDE = 780


class FigureLabel(QWidget):
    """A large number with what it counts and what goes with it."""

    def __init__(self, look: Look) -> None:
        super().__init__()
        column = QVBoxLayout(self)
        column.setContentsMargins(0, 0, 0, look.px(6))
        column.setSpacing(0)
        self.number: QLabel = label("", "figure", wrap=False)
        self.what: QLabel = label("", "strong")
        self.beside: QLabel = label("", "small")
        for part in (self.number, self.what, self.beside):
            column.addWidget(part)
        column.addStretch(1)

    def tell(self, figure: Figure) -> None:
        """Shows a figure."""
        self.number.setText(figure.number)
        self.what.setText(f"{figure.what}  {figure.mark}".strip())
        self.beside.setText(figure.beside)
        self.beside.setVisible(bool(figure.beside))
        self.setAccessibleName(f"{figure.number} {figure.what}, {figure.beside}".rstrip(", "))


class RunPlace(Place):
    """Left the run, right its sheet."""

    key = "run"
    has_reasons = False

    def __init__(self, model: DeskModel, look: Look) -> None:
        super().__init__(model, look)
        self.out = SheetOut.of(model)
        self.figures: list[FigureLabel] = []
        self._notices: tuple[Notice, ...] | None = None
        self.counts = self._grid("counts", run_rows.COUNTS, {"what": "wrap"}, edits=True)
        self.facts = self._grid("facts", run_rows.FACTS, {"value": "wrap"})
        self.pages = PagesView(model, look)
        self.pages.moved.connect(self._moved)
        self.choices = {name: self._choice(name) for name in ("language", "paper", "units")}
        self._lay_out()
        self.out.saved.connect(self.later)

    def _grid(self, name: str, columns: Sequence[str], room: dict[str, str], *, edits: bool = False) -> Grid:
        heads = [Head(self.say(f"place_run.column.{column}"), room.get(column, "fit")) for column in columns]
        made = Grid(
            self.look,
            heads,
            name=f"grid-{name}",
            told=self.say(f"place_run.heading.{name}"),
            typed=self._typed if edits else None,
            taken_back=self._take_back if edits else None,
        )
        made.horizontalHeader().hide()
        return made

    # ------------------------------------------------------------ putting it together

    def _lay_out(self) -> None:
        self._pair = QBoxLayout(QBoxLayout.Direction.LeftToRight, scrolled(self))
        self._pair.setContentsMargins(0, 0, 0, 0)
        self._pair.setSpacing(0)
        self.line = QFrame()
        self.line.setStyleSheet(f"background: {self.look.theme.hairline};")
        self._pair.addWidget(self._run())
        self._pair.addWidget(self.line)
        self._pair.addWidget(self._sheet(), 1)

    def _run(self) -> QScrollArea:
        px = self.look.px
        inside = QWidget()
        column = QVBoxLayout(inside)
        column.setContentsMargins(px(22), px(16), px(16), px(20))
        column.setSpacing(px(6))
        column.addWidget(label(self.say("place_run.heading.run"), "heading"))
        self._figures = QGridLayout()
        self._figures.setHorizontalSpacing(px(14))
        self._figures.setVerticalSpacing(px(4))
        self._across = 0
        column.addLayout(self._figures)
        self._told = QVBoxLayout()
        self._told.setSpacing(px(4))
        self.headings = {}
        for name, grid in (("counts", self.counts), ("facts", self.facts)):
            self.headings[name] = label(self.say(f"place_run.heading.{name}"), "heading")
            column.addSpacing(px(8))
            column.addWidget(self.headings[name])
            column.addWidget(grid)
        column.addSpacing(px(8))
        column.addLayout(self._told)
        column.addStretch(1)
        self.run_scroll = QScrollArea()
        self.run_scroll.setWidgetResizable(True)
        self.run_scroll.setFocusPolicy(Qt.FocusPolicy.NoFocus)
        self.run_scroll.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        self.run_scroll.setWidget(inside)
        return self.run_scroll

    def _sheet(self) -> QWidget:
        px = self.look.px
        whole = QWidget()
        column = QVBoxLayout(whole)
        column.setContentsMargins(px(18), px(16), px(18), px(14))
        column.setSpacing(px(8))
        doing = QHBoxLayout()
        doing.setSpacing(px(8))
        self.buttons: dict[str, QPushButton] = {}
        for name, run in (("print", self.out.print_sheet), ("save-pdf", self.out.save)):
            doing.addWidget(self._button(f"place_run.{name}", run, name))
        doing.addStretch(1)
        self.at: QLabel = label("", "quiet", wrap=False, name="sheet-page")
        self.percent: QLabel = label("", "quiet", wrap=False, name="sheet-zoom")
        looking = QHBoxLayout()
        looking.setSpacing(px(8))
        looking.addWidget(self.at)
        looking.addStretch(1)
        looking.addWidget(self.percent)
        for name in ("farther", "nearer", "fit"):
            looking.addWidget(self._button(f"place_run.{name}", getattr(self, f"_{name}"), name))
        self._top = QBoxLayout(QBoxLayout.Direction.LeftToRight)
        self._top.setSpacing(px(8))
        self._top.addLayout(doing)
        self._top.addLayout(looking)
        chosen = QHBoxLayout()
        chosen.setSpacing(px(14))
        for name, box in self.choices.items():
            one = QVBoxLayout()
            one.setSpacing(px(2))
            one.addWidget(label(self.say(f"place_run.choice.{name}"), "small", wrap=False))
            one.addWidget(box)
            chosen.addLayout(one, 1)
        self.state: QLabel = label("", "strong", name="sheet-state")
        self.again = self._button("place_run.try-again", self._try_again, "try-again")
        column.addLayout(self._top)
        column.addLayout(chosen)
        column.addWidget(self.state)
        column.addWidget(self.again, 0, Qt.AlignmentFlag.AlignLeft)
        column.addWidget(self.pages, 1)
        self.spare = QWidget()
        column.addWidget(self.spare, 1)
        return whole

    def _button(self, key: str, run: object, name: str) -> QPushButton:
        made = QPushButton(self.say(key))
        made.setObjectName(f"sheet-{name}")
        made.setAccessibleName(self.say(key))
        made.clicked.connect(run)
        if not hasattr(self, "buttons"):
            self.buttons = {}
        self.buttons[name] = made
        return made

    def _choice(self, name: str) -> QComboBox:
        box = QComboBox()
        box.setObjectName(f"sheet-{name}")
        box.setAccessibleName(self.say(f"place_run.choice.{name}"))
        box.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Fixed)
        box.setMinimumContentsLength(6)
        box.setSizeAdjustPolicy(QComboBox.SizeAdjustPolicy.AdjustToMinimumContentsLengthWithIcon)
        for value, text in self._values(name):
            box.addItem(text, value)
        box.activated.connect(getattr(self, f"_{name}_chosen"))
        return box

    def _values(self, name: str) -> list[tuple[str | None, str]]:
        """(Value, what a person reads) of each choice; None leaves it to the shop book or the window."""
        policies = self.model.desk.shop.policies
        if name == "language":
            told = [(code, words_in(code).say("app.language-name")) for code in languages()]
            now = words_in(self.model.language).say("app.language-name")
            return [(None, self.say("place_run.choice.as-window", now=now)), *told]
        values = ("a4", "letter") if name == "paper" else ("inch", "metric")
        now = policies.paper if name == "paper" else self.model.units
        told = [(value, self.say(f"terms.{name}.{value}")) for value in values]
        lead = "as-shop" if name == "paper" or self.model.preferences.units is None else "as-window"
        return [(None, self.say(f"place_run.choice.{lead}", now=self.say(f"terms.{name}.{now}"))), *told]

    def minimumSizeHint(self) -> QSize:
        return QSize(self.look.px(420), self.look.px(300))

    def resizeEvent(self, event: QResizeEvent) -> None:
        super().resizeEvent(event)
        px = self.look.px
        beside = self.width() >= px(BESIDE)
        direction = QBoxLayout.Direction.LeftToRight if beside else QBoxLayout.Direction.TopToBottom
        self._pair.setDirection(direction)
        if beside:
            self.line.setFixedSize(1, 16_777_215)
            self.line.setMinimumHeight(0)
            self.run_scroll.setFixedWidth(px(FIGURES_WIDE))
            self.run_scroll.setMinimumHeight(0)
            self.run_scroll.setMaximumHeight(16_777_215)
        else:
            self.line.setFixedSize(16_777_215, 1)
            self.line.setMinimumWidth(0)
            self.run_scroll.setMinimumWidth(0)
            self.run_scroll.setMaximumWidth(16_777_215)
            self.run_scroll.setMinimumHeight(min(px(LEAST_HIGH), self.height() // 3))
            self.run_scroll.setMaximumHeight(self.height() // 3)
        self._spread(2 if beside else max(2, self.width() // px(190)))
        room = self.width() - (px(FIGURES_WIDE) if beside else 0)
        side = room >= px(CHOICES_BESIDE)
        self._top.setDirection(QBoxLayout.Direction.LeftToRight if side else QBoxLayout.Direction.TopToBottom)

    def _spread(self, across: int) -> None:
        """Puts so many figures beside one another."""
        if across == self._across:
            return
        for column in range(max(across, self._across)):
            self._figures.setColumnStretch(column, 0)
        self._across = across
        for at, shown in enumerate(self.figures):
            self._figures.addWidget(shown, at // across, at % across)
        for column in range(across):
            self._figures.setColumnStretch(column, 1)

    @property
    def unit_words(self) -> UnitWords:
        """Words and figures in the person's language and units."""
        return UnitWords(Units(self.model.units), self.model.words)

    # ------------------------------------------------------------ showing

    def refresh(self) -> None:
        """Shows the run and the sheet as they are known now."""
        content, words = known.content_of(self.model.desk), self.unit_words
        self._show_figures(() if content is None else run_rows.figures(content, words))
        for name, grid, rows in (
            ("counts", self.counts, () if content is None else run_rows.count_rows(content, words)),
            ("facts", self.facts, () if content is None else run_rows.fact_rows(content, words)),
        ):
            grid.show_rows(rows)
            grid.setVisible(bool(rows))
            self.headings[name].setVisible(bool(rows))
        self._show_notices(() if content is None else run_rows.notices(content, words))
        self._show_choices()
        self._show_sheet()

    def _show_figures(self, figures: tuple[Figure, ...]) -> None:
        if not self._across:
            self._spread(2)
        while len(self.figures) < len(figures):
            at = len(self.figures)
            made = FigureLabel(self.look)
            self.figures.append(made)
            self._figures.addWidget(made, at // self._across, at % self._across)
        for at, shown in enumerate(self.figures):
            shown.setVisible(at < len(figures))
            if at < len(figures):
                shown.tell(figures[at])

    def _show_notices(self, notices: tuple[Notice, ...]) -> None:
        if notices == self._notices:
            return
        self._notices = notices
        clear(self._told)
        for notice in notices:
            self._told.addSpacing(self.look.px(6))
            self._told.addWidget(label(notice.heading, "heading"))
            for text in notice.texts:
                self._told.addWidget(label(text, "strong" if notice.strong else ""))

    def _show_choices(self) -> None:
        sheet = self.model.job.sheet
        for name, box in self.choices.items():
            for at, (value, text) in enumerate(self._values(name)):
                box.setItemText(at, text)
                box.setItemData(at, text, Qt.ItemDataRole.ToolTipRole)
                if value == getattr(sheet, name):
                    box.setCurrentIndex(at)
            box.setToolTip(box.currentText())

    def _show_sheet(self) -> None:
        desk = self.model.desk
        why = [self.model.words(text) for text in known.why_no_sheet(desk)]
        pdf, fresh = desk.results.sheet, desk.fresh(Stage.SHEET)
        told = why
        if why and known.why_no_plan(desk):
            told = [self.say("place_run.no-plan"), *why]
        elif not why and not fresh:
            told = [self.say("place_run.anew" if pdf is not None else self._under_way())]
        self.state.setText("\n".join(told))
        self.state.setVisible(bool(told))
        self.again.setVisible(bool(why) and not known.clashes(desk))
        shown = pdf if not why else None
        self.pages.show_pdf(shown, stale=not fresh)
        self.pages.setVisible(shown is not None)
        self.spare.setVisible(shown is None)
        for name in ("nearer", "farther", "fit"):
            self.buttons[name].setEnabled(shown is not None)
        for name in ("print", "save-pdf"):
            self.buttons[name].setEnabled(self._may_go_out())

    def _under_way(self) -> str:
        return "place_run.setting" if self.model.desk.fresh(Stage.MADE) else "place_run.planning"

    def _moved(self, page: int, total: int, percent: int) -> None:
        self.at.setText(self.say("place_run.page", page=page, total=total) if page else "")
        self.percent.setText(self.say("place_run.zoom", percent=percent) if page else "")

    def status(self) -> str:
        if known.why_no_plan(self.model.desk):
            return self.say("place_run.status.no-plan")
        content = known.content_of(self.model.desk)
        if content is None or content.plan.estimate is None:
            return ""
        broken = len(content.broken_limits)
        if broken:
            return self.say("place_run.status.by-hand", count=broken)
        likely = content.plan.estimate.likely_pieces_per_hour or content.plan.estimate.pieces_per_hour
        return self.say("place_run.status.pace", number=f"{round(likely, -1):.0f}")

    # ------------------------------------------------------------ edits

    def _typed(self, cell: Cell, text: str) -> bool:
        entry = cell.entry
        assert entry is not None
        metric = self.model.units == "metric"
        return self.model.edit(lambda: run_rows.edit_of(self.model.job, entry, text, metric=metric))

    def _take_back(self, cell: Cell) -> None:
        entry = cell.entry
        assert entry is not None
        self.model.edit(lambda: run_rows.taken_back(self.model.job, entry))

    def _language_chosen(self, at: int) -> None:
        self._choose("language", at)

    def _paper_chosen(self, at: int) -> None:
        self._choose("paper", at)

    def _units_chosen(self, at: int) -> None:
        self._choose("units", at)

    def _choose(self, name: str, at: int) -> None:
        value = self.choices[name].itemData(at)
        if value != getattr(self.model.job.sheet, name):
            self.model.edit(lambda: edits.sheet(self.model.job, **{name: value}))

    # ------------------------------------------------------------ doing

    def _nearer(self) -> None:
        self.pages.zoom_by(STEP)

    def _farther(self) -> None:
        self.pages.zoom_by(1 / STEP)

    def _fit(self) -> None:
        self.pages.fit_width()

    def _try_again(self) -> None:
        known.try_again(self.model.desk)
        self.model.pump()

    def _may_go_out(self) -> bool:
        return self.model.has_job and not known.why_no_plan(self.model.desk)

    def _saved_once(self) -> bool:
        return self.out.last is not None

    def actions_of(self) -> Sequence[Action | None]:
        return (
            Action("place_run.action.print", self.out.print_sheet, "Ctrl+P", self._may_go_out, everywhere=True),
            Action("place_run.action.save-pdf", self.out.save, "Ctrl+E", self._may_go_out, everywhere=True),
            Action("place_run.action.show-folder", self.out.show_folder, "", self._saved_once, everywhere=True),
            Action("place_run.action.take-back", self.counts.take_back, "Backspace"),
        )
