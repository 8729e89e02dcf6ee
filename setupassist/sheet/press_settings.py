"""The table below the station line: every press setting with a box to tick and room for what it really was."""

from __future__ import annotations

from collections.abc import Sequence

from reportlab.platypus.flowables import Flowable, KeepTogether

from setupassist.documents.plan import Slot
from setupassist.documents.terms import Known
from setupassist.sheet import tables
from setupassist.sheet.content import SheetContent, SheetScreen, screen_name, strokes_of
from setupassist.sheet.tables import ruled, ticked
from setupassist.sheet.type import (
    COLUMN,
    COLUMN_SIZE,
    HAIRLINE,
    HEADING,
    SEMIBOLD,
    SMALL,
    known_mark,
    paragraph,
    plain,
    safe,
    strong,
    width_of,
)
from setupassist.sheet.unit_words import UnitWords

HEAD_PADDING = 14.0


def press_settings(content: SheetContent, words: UnitWords, width: float) -> list[Flowable]:
    """A row for every print and flash: each setting with a box to tick and room for what it really was."""
    names = [words.say(f"settings.{name}") for name in ("blade", "strokes", "off-contact", "flash")]
    names.insert(0, words.say("settings.mesh", unit=words.mesh_units(1, 1)[0]))
    head: list[object] = [plain(words.say(f"settings.{name}"), COLUMN) for name in ("station", "what")]
    for name in names:
        head += [plain(name, COLUMN), plain(words.say("settings.actual"), SMALL)]
    rows: list[list[object]] = [head]
    by_name = {screen.name: screen for screen in content.screens()}
    for slot in content.in_print_order():
        rows.append(_setting_row(content, words, slot, by_name))
    widths = _widths(names, width)
    more: list[tables.Command] = [("RIGHTPADDING", (2, 0), (-1, -1), 2)]
    for at in range(1, 1 + 2 * len(names), 2):
        more += [("LINEAFTER", (at, 0), (at, -1), 0.4, HAIRLINE), ("LEFTPADDING", (at + 1, 0), (at + 1, -1), 6)]
    table = ruled(rows, widths, pad=1.0, middle=True, high=14.5, more=more)
    title = plain(words.say("settings.title"), HEADING)
    if len(rows) <= 14:
        return [KeepTogether([title, table])]
    return [title, table]


def _widths(names: Sequence[str], width: float) -> list[float]:
    """Widths of the columns; a value's head stands on one line, at the cost of the room for names."""
    fixed, what, blank = 44.0, 0.2 * width, 42.0
    shares = (1.15, 1.15, 0.9, 1.0, 0.95)
    share = (width - fixed - what - len(names) * blank) / sum(shares)
    values = [
        max(part * share, width_of(name, SEMIBOLD, COLUMN_SIZE) + HEAD_PADDING)
        for part, name in zip(shares, names, strict=True)
    ]
    widths = [fixed, width - fixed - sum(values) - len(names) * blank]
    for value in values:
        widths += [value, blank]
    return widths


def where_in(content: SheetContent, words: UnitWords, slot: Slot) -> str:
    """A slot's station, with its lap where there are several."""
    if content.laps == 1:
        return str(slot.station)
    return words.say("settings.lap", station=slot.station, lap=slot.lap)


def _setting_row(content: SheetContent, words: UnitWords, slot: Slot, screens: dict[str, SheetScreen]) -> list[object]:
    station = paragraph(strong(where_in(content, words, slot)), SMALL)
    if slot.holds == "flash":
        known = Known.ENTERED if slot.station in content.job.flash_seconds else Known.TYPICAL
        flash = ticked(f"{safe(words.seconds_from(slot.seconds))}{known_mark(words.known(known))}", SMALL)
        return [station, plain(words.say("settings.flash"), SMALL), *([""] * 8), flash, ""]
    screen = screens[screen_name(slot)]
    override = content.job.overrides.get(screen.ink)
    by_hand = override is not None and override.mesh_per_inch is not None
    mesh_known = Known.ENTERED if by_hand else Known.COMPUTED
    has_mesh = screen.mesh_per_cm is not None or screen.mesh_per_inch is not None
    mesh = words.mesh_number(screen.mesh_per_cm, screen.mesh_per_inch) if has_mesh else words.say("settings.none-fits")
    cells: list[object] = [station, paragraph(strong(screen.name), SMALL)]
    cells += [ticked(f"{safe(mesh)}{known_mark(words.known(mesh_known)) if has_mesh else ''}", SMALL), ""]
    cells += [_ticked(screen, words, "squeegee hardness", unit=False), ""]
    stroke_known = Known.ENTERED if override is not None and override.strokes is not None else Known.TYPICAL
    cells += [ticked(f"{strokes_of(slot, screen.choice)}{known_mark(words.known(stroke_known))}", SMALL), ""]
    cells += [_ticked(screen, words, "off-contact"), ""]
    return [*cells, "", ""]


def _ticked(screen: SheetScreen, words: UnitWords, name: str, *, unit: bool = True) -> Flowable:
    setting = screen.setting(name)
    if setting is None:
        return ticked(safe(words.say("settings.by-the-shop")))
    shown = words.setting(setting.value, setting.unit if unit else "")
    return ticked(f"{safe(shown)}{known_mark(words.known(setting.known))}")
