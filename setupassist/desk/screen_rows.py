"""Screens, flashes, inks and stock of a plan as tables: each value with how it is known and whether it is by hand."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from setupassist.desk import edits, entering
from setupassist.desk.edits import Edit
from setupassist.desk.grid import Cell, Choice, Entry, Row
from setupassist.documents.job import Job, Override
from setupassist.documents.plan import ScreenSetting
from setupassist.documents.shop import StockScreen
from setupassist.documents.terms import Known
from setupassist.quantities import per_cm
from setupassist.sheet.unit_words import UnitWords, number, thousands
from setupassist.trade.mesh import cloth_of, label_per_inch, same_count
from setupassist.words import Said, say

if TYPE_CHECKING:
    from setupassist.sheet.content import SheetContent, SheetScreen

FLASH_SECONDS = "flash_seconds"
FIELD_OF = {
    "tension": "tension_n_per_cm",
    "stencil over mesh": "stencil_um",
    "squeegee hardness": "squeegee_shore",
    "squeegee width": "squeegee_width_mm",
    "squeegee angle": "squeegee_angle_deg",
    "stroke length": "stroke_length_mm",
    "strokes": "strokes",
    "off-contact": "off_contact_mm",
}
"""The field of an override by the setting's name in the plan; the other settings are the shop's own."""

COLUMNS = ("station", "screen", "role", "mesh", "blade", "strokes", "off-contact", "stencil", "tension", "ink")
DETAILS = ("what", "value", "known", "source")
FLASHES = ("station", "flash-seconds", "known")
INKS = ("ink", "system", "colour", "amount")
STOCK = ("mesh", "in-stock", "left", "used-for")


def screen_rows(content: SheetContent, words: UnitWords) -> tuple[Row, ...]:
    """A row a screen in print order, its cells as in ``COLUMNS``; the key is the screen's name."""
    rows = []
    for screen in content.screens():
        teller = _Teller(content, screen, words)
        stations = dict.fromkeys(str(slot.station) for slot in screen.slots)
        cells = (
            Cell(", ".join(stations), small=_laps(screen, content, words)),
            Cell(words(screen.name), colour=screen.colour, strong=True),
            Cell(words(say(f"terms.role.{screen.role}"))),
            teller.mesh(),
            teller.setting("squeegee hardness", bare=True),
            teller.setting("strokes"),
            teller.setting("off-contact"),
            teller.setting("stencil over mesh"),
            teller.setting("tension", bare=True),
            teller.ink(),
        )
        rows.append(Row(screen.name, cells))
    return tuple(rows)


def setting_rows(content: SheetContent, name: str, words: UnitWords) -> tuple[Row, ...]:
    """All values of one screen, a row each as in ``DETAILS``; () where the plan has no such screen."""
    screen = next((screen for screen in content.screens() if screen.name == name), None)
    if screen is None or screen.choice is None:
        return ()
    teller, choice = _Teller(content, screen, words), screen.choice
    rows = [teller.detail("mesh", teller.mesh(), Known.COMPUTED, say("place_screens.source.stock"))]
    thread = choice.thread_um if teller.override.thread_um is None else teller.override.thread_um
    if thread is not None:
        told = words.setting(thread, "µm")
        entry = teller.entry("thread_um", thread)
        rows.append(teller.detail("thread", teller.cell(told, entry), Known.ENTERED, say("sources.the-shop-book")))
    if choice.opening_um is not None:
        opening = Cell(words.setting(choice.opening_um, "µm"))
        measured = (stock := teller.stock()) is not None and stock.opening_um is not None
        known, source = (
            (Known.ENTERED, say("sources.the-shop-book"))
            if measured
            else (Known.COMPUTED, say("place_screens.source.opening"))
        )
        rows.append(teller.detail("opening", opening, known, source))
    if choice.open_area is not None:
        area = Cell(f"{choice.open_area:.0%}")
        rows.append(teller.detail("open-area", area, Known.COMPUTED, say("place_screens.source.open-area")))
    if choice.ink_volume_cm3_m2 is not None:
        volume = Cell(words(say("place_screens.volume", volume=choice.ink_volume_cm3_m2)))
        rows.append(teller.detail("volume", volume, choice.volume_known, say("place_screens.source.volume")))
    for setting in choice.settings:
        cell = teller.setting(setting.name)
        rows.append(teller.detail(setting.name, cell, setting.known, setting.source))
    ink = teller.ink()
    if ink.text:
        rows.append(teller.detail("ink", ink, Known.ESTIMATED, say("place_screens.source.ink")))
    return tuple(rows)


def flash_rows(content: SheetContent, words: UnitWords) -> tuple[Row, ...]:
    """A row a station where a flash unit stands, as in ``FLASHES``; the key is the station."""
    rows = []
    for station in content.flash_stations():
        slots = [slot for slot in content.in_print_order() if slot.holds == "flash" and slot.station == station]
        own = content.job.flash_seconds.get(station)
        seconds = own if own is not None else slots[0].seconds
        laps = ", ".join(str(slot.lap) for slot in slots)
        small = words(say("place_screens.laps", laps=laps)) if content.laps > 1 else ""
        entry = Entry(str(station), FLASH_SECONDS, "" if seconds is None else f"{seconds:g}", own is not None)
        known = say("place_screens.by-hand") if own is not None else say("terms.known.typical")
        rows.append(
            Row(
                str(station),
                (
                    Cell(str(station), small=small, strong=True),
                    Cell(words.seconds_from(seconds), strong=own is not None, entry=entry),
                    Cell(words(known), strong=own is not None),
                ),
            )
        )
    return tuple(rows)


def ink_rows(content: SheetContent, words: UnitWords) -> tuple[Row, ...]:
    """A row an ink with the amount for the whole order, as in ``INKS``."""
    rows: dict[str, Row] = {}
    for screen in content.screens():
        if screen.ink not in rows:
            system = words(say("place_screens.not-told"))
            if screen.need is not None:
                system = words(say(f"terms.ink_system.{screen.need.ink_system.value}"))
            cells = (
                Cell(words(screen.ink), colour=screen.colour, strong=True),
                Cell(system),
                Cell(screen.colour),
                _Teller(content, screen, words).ink(),
            )
            rows[screen.ink] = Row(screen.ink, cells)
    return tuple(rows.values())


def ink_basis(content: SheetContent, words: UnitWords) -> str:
    """What the amounts are for."""
    estimate, share = content.plan.estimate, content.shop.policies.ink_transfer_share
    if estimate is None or estimate.pieces_to_print is None:
        return ""
    pieces = thousands(estimate.pieces_to_print)
    return words(say("place_screens.ink-basis", pieces=pieces, share=share))


def stock_rows(content: SheetContent, words: UnitWords) -> tuple[Row, ...]:
    """A row a mesh of the stock that the plan uses, as in ``STOCK``, finest last; then one for what is not in stock."""
    holders, strangers = stock_use(content)
    rows = []
    for at in sorted(holders, key=lambda at: content.shop.screens[at].mesh_per_cm):
        stock, names = content.shop.screens[at], holders[at]
        left = stock.quantity - len(names)
        cells = (
            _mesh_cell(stock, words),
            Cell(thousands(stock.quantity)),
            Cell(words(say("place_screens.none-left")) if left <= 0 else thousands(left), strong=left <= 0),
            Cell(", ".join(words(name) for name in names)),
        )
        rows.append(Row(f"stock {at}", cells))
    if strangers:
        missing = Cell(words(say("place_screens.not-in-stock")), strong=True)
        rows.append(Row("strangers", (missing, Cell("–"), Cell("–"), Cell(", ".join(words(n) for n in strangers)))))
    return tuple(rows)


def stock_use(content: SheetContent) -> tuple[dict[int, list[str]], list[str]]:
    """Names of the screens that each mesh of the stock (by its place in the book) is used for; and those without."""
    holders: dict[int, list[str]] = {}
    strangers = []
    for screen in content.screens():
        found = [at for at, stock in enumerate(content.shop.screens) if _is_of(screen, stock)]
        free = [at for at in found if len(holders.get(at, ())) < content.shop.screens[at].quantity]
        if free:
            holders.setdefault(free[0], []).append(screen.name)
        else:
            strangers.append(screen.name)
    return holders, strangers


def without_stock(content: SheetContent) -> tuple[tuple[str, str], ...]:
    """(Screen, why) of every screen that no screen in stock fits."""
    return tuple(
        (screen.name, screen.choice.nearest)
        for screen in content.screens()
        if screen.choice is not None and screen.choice.nearest is not None
    )


def by_hand(job: Job) -> int:
    """How many values of screens and flashes the person has overruled; mesh and thread count once."""
    count = len(job.flash_seconds)
    for override in job.overrides.values():
        fields = set(override.model_dump(exclude_none=True))
        count += len(fields - {"thread_um"}) if "mesh_per_inch" in fields else len(fields)
    return count


def edit_of(job: Job, entry: Entry, text: str, *, metric: bool) -> Edit:
    """The job with a value overruled as the person typed it; InputFault where it cannot be."""
    values = entering.entered(entry.field, text, metric=metric)
    if entry.field == FLASH_SECONDS:
        return edits.flash_seconds(job, int(entry.owner), float(values[FLASH_SECONDS] or 0))
    return edits.overrule(job, entry.owner, **values)


def taken_back(job: Job, entry: Entry) -> Edit:
    """The job with a value back to the computed one; of a second screen, the ink's own where it has none."""
    if entry.field == FLASH_SECONDS:
        return edits.flash_seconds(job, int(entry.owner), None)
    first = entry.owner.removesuffix(" 2")
    owner = first if entry.owner not in job.overrides and first in job.overrides else entry.owner
    fields = ("mesh_per_inch", "thread_um") if entry.field == entering.MESH else (entry.field,)
    return edits.overrule(job, owner, **dict.fromkeys(fields))


class _Teller:
    """Cells of one screen: what the job overrules first, else what the plan holds."""

    def __init__(self, content: SheetContent, screen: SheetScreen, words: UnitWords) -> None:
        self.content, self.screen, self.words = content, screen, words
        overrides = content.job.overrides
        self.override = overrides.get(screen.name) or overrides.get(screen.ink) or Override()

    def cell(self, text: str, entry: Entry | None, known: Known | None = None, small: str = "") -> Cell:
        """A cell with its mark; ``told`` says the mark in words."""
        by_hand = entry is not None and entry.by_hand
        if by_hand:
            mark = said = self.words(say("place_screens.by-hand"))
        else:
            mark = self.words.known(known) if known is not None else ""
            said = self.words(say(f"terms.known.{known.value}")) if known is not None else ""
        told = ", ".join(part for part in (text, small, said) if part)
        return Cell(text, small=small, mark=mark, strong=by_hand, told=told, entry=entry)

    def entry(self, field: str, value: float | str | None, *, by_hand: bool | None = None) -> Entry:
        """What a person may type over a value."""
        own = getattr(self.override, field) is not None if by_hand is None else by_hand
        now = "" if value is None else entering.shown(field, value, metric=self.words.metric)
        return Entry(self.screen.name, field, now, own)

    def mesh(self) -> Cell:
        """Count in the person's unit, the other unit in small; offers the stock."""
        words, screen, own = self.words, self.screen, self.override.mesh_per_inch
        inch, cm = screen.mesh_per_inch, screen.mesh_per_cm
        if own is not None and (cm is None or not same_count(cm, own)):
            alike = (s.mesh_per_cm for s in self.content.shop.screens if same_count(s.mesh_per_cm, own))
            inch, cm = own, next(alike, per_cm(own))
        now = ""
        if inch is not None:
            now = entering.mesh_shown(per_cm(inch) if cm is None else cm, inch, metric=words.metric)
        entry = Entry(screen.name, entering.MESH, now, own is not None, self._stock_choices())
        if inch is None and cm is None:
            return Cell(words(say("place_screens.none-fits")), strong=True, entry=entry)
        text, (unit, other) = words.mesh_number(cm, inch), words.mesh_units(cm, inch)
        cell = self.cell(text, entry, Known.COMPUTED, small=other)
        return replace(cell, told=cell.told.replace(text, f"{text} {unit}", 1))

    def _stock_choices(self) -> tuple[Choice, ...]:
        holders, _ = stock_use(self.content)
        told = []
        for at, stock in enumerate(self.content.shop.screens):
            mesh = self.words.mesh(stock.mesh_per_cm, label_per_inch(stock.mesh_per_cm))
            left = max(0, stock.quantity - len(holders.get(at, ())))
            said = say("place_screens.choice", mesh=mesh, thread=stock.thread_um, count=left, stock=stock.quantity)
            told.append(Choice(self.words(said), f"{stock.mesh_per_cm:g}-{stock.thread_um:g} cm"))
        return tuple(told)

    def setting(self, name: str, *, bare: bool = False) -> Cell:
        """A setting by its name in the plan; ``bare`` leaves its unit to the column's name."""
        found = self.screen.setting(name)
        field = FIELD_OF.get(name)
        own = getattr(self.override, field) if field is not None else None
        if found is None and own is None:
            return Cell("–")
        value = own if own is not None else found.value if found is not None else ""
        unit: str = found.unit if found is not None else ""
        if name == "squeegee angle" and isinstance(value, int | float):
            unit = say("screens.unit.angle", vertical=90 - value)
        shown = self.words.setting(value, "" if bare else unit)
        shown = number(value) if name == "strokes" and not isinstance(value, str) else shown
        entry = self.entry(field, value) if field is not None else None
        return self.cell(shown, entry, found.known if found is not None else Known.ENTERED)

    def ink(self) -> Cell:
        """Ink of the whole order; none where another screen of the ink tells it."""
        estimate = self.content.plan.estimate
        grams = estimate.ink_grams.get(self.screen.name) if estimate is not None else None
        if grams is None:
            return Cell(small=self.words.say("office.with-ink", ink=self.screen.ink)) if self._second else Cell()
        return self.cell(self.words.grams(grams), None, Known.ESTIMATED)

    @property
    def _second(self) -> bool:
        return self.screen.name != self.screen.ink

    def detail(self, name: str, cell: Cell, known: Known, source: str) -> Row:
        """A row of ``DETAILS``; a name of ours is an id, a setting's is worded already."""
        said = name if isinstance(name, Said) else say(f"place_screens.detail.{name}")
        by_hand = cell.entry is not None and cell.entry.by_hand
        how = say("place_screens.by-hand") if by_hand else say(f"terms.known.{known.value}")
        where = say("sources.entered-for-this-job") if by_hand else source
        value = Cell(cell.text, small=cell.small, strong=by_hand, told=cell.told, entry=cell.entry)
        cells = (Cell(self.words(said)), value, Cell(self.words(how), strong=by_hand), Cell(self.words(where)))
        return Row(str(said), cells)

    def stock(self) -> StockScreen | None:
        """The screen in stock that it is, as far as mesh, thread and frame tell."""
        return next((stock for stock in self.content.shop.screens if _is_of(self.screen, stock)), None)


def _is_of(screen: SheetScreen, stock: StockScreen) -> bool:
    choice = screen.choice
    if choice is None or choice.mesh_per_cm is None or choice.thread_um is None or choice.nearest is not None:
        return False
    frame: ScreenSetting | None = choice.setting("frame")
    size = f"{stock.frame_mm[0]:g} × {stock.frame_mm[1]:g}"
    alike = choice.mesh_per_cm == stock.mesh_per_cm and choice.thread_um == stock.thread_um
    return alike and (frame is None or frame.value == size)


def _mesh_cell(stock: StockScreen, words: UnitWords) -> Cell:
    inch = cloth_of(stock).mesh_per_inch
    unit, other = words.mesh_units(stock.mesh_per_cm, inch)
    text = words.mesh_number(stock.mesh_per_cm, inch)
    return Cell(text, small=f"{unit}, {other}", strong=True)


def _laps(screen: SheetScreen, content: SheetContent, words: UnitWords) -> str:
    if content.laps == 1:
        return ""
    return words(say("place_screens.laps", laps=", ".join(str(slot.lap) for slot in screen.slots)))
