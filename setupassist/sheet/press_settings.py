"""The table below the station line: every press setting with a box to tick and room for what it really was."""

from __future__ import annotations

from reportlab.platypus.flowables import Flowable, KeepTogether

from setupassist.documents.plan import Slot
from setupassist.documents.terms import Known
from setupassist.sheet import tables
from setupassist.sheet.content import SheetContent, SheetScreen, strokes_of
from setupassist.sheet.tables import ruled, ticked
from setupassist.sheet.type import COLUMN, HAIRLINE, HEADING, SMALL, known_mark, paragraph, plain, safe, strong
from setupassist.sheet.unit_words import UnitWords, seconds_from


def press_settings(content: SheetContent, words: UnitWords, width: float) -> list[Flowable]:
    """A row for every print and flash: each setting with a box to tick and room for what it really was."""
    names = (f"mesh, {words.mesh_units(1, 1)[0]}", "blade, Shore A", "strokes", "off-contact", "flash")
    head: list[object] = [plain("station", COLUMN), plain("what", COLUMN)]
    for name in names:
        head += [plain(name, COLUMN), plain("actual", SMALL)]
    rows: list[list[object]] = [head]
    by_name = {screen.name: screen for screen in content.screens()}
    for slot in content.in_print_order():
        rows.append(_setting_row(content, words, slot, by_name))
    fixed = 44.0
    what = 0.2 * width
    value_shares, blank = (1.15, 1.15, 0.9, 1.0, 0.95), 42.0
    share = (width - fixed - what - 5 * blank) / sum(value_shares)
    widths = [fixed, what]
    for part in value_shares:
        widths += [part * share, blank]
    more: list[tables.Command] = [("RIGHTPADDING", (2, 0), (-1, -1), 2)]
    for at in range(1, 1 + 2 * len(names), 2):
        more += [("LINEAFTER", (at, 0), (at, -1), 0.4, HAIRLINE), ("LEFTPADDING", (at + 1, 0), (at + 1, -1), 6)]
    table = ruled(rows, widths, pad=1.0, middle=True, high=14.5, more=more)
    title = plain("Press settings: tick when set, write what it really was", HEADING)
    if len(rows) <= 14:
        return [KeepTogether([title, table])]
    return [title, table]


def _setting_row(content: SheetContent, words: UnitWords, slot: Slot, screens: dict[str, SheetScreen]) -> list[object]:
    where = f"{slot.station}" if content.laps == 1 else f"{slot.station}, lap {slot.lap}"
    station = paragraph(strong(where), SMALL)
    if slot.holds == "flash":
        known = Known.ENTERED if slot.station in content.job.flash_seconds else Known.TYPICAL
        flash = ticked(f"{safe(seconds_from(slot.seconds))}{known_mark(known)}", SMALL)
        return [station, plain("flash", SMALL), *([""] * 8), flash, ""]
    screen = screens[slot.ink or "not named"]
    override = content.job.overrides.get(screen.ink)
    by_hand = override is not None and override.mesh_per_inch is not None
    mesh_known = Known.ENTERED if by_hand else Known.COMPUTED
    has_mesh = screen.mesh_per_cm is not None or screen.mesh_per_inch is not None
    mesh = words.mesh_number(screen.mesh_per_cm, screen.mesh_per_inch) if has_mesh else "none fits"
    cells: list[object] = [station, paragraph(strong(screen.name), SMALL)]
    cells += [ticked(f"{safe(mesh)}{known_mark(mesh_known) if has_mesh else ''}", SMALL), ""]
    cells += [_ticked(screen, words, "squeegee hardness", unit=False), ""]
    stroke_known = Known.ENTERED if override is not None and override.strokes is not None else Known.TYPICAL
    cells += [ticked(f"{strokes_of(slot, screen.choice)}{known_mark(stroke_known)}", SMALL), ""]
    cells += [_ticked(screen, words, "off-contact"), ""]
    return [*cells, "", ""]


def _ticked(screen: SheetScreen, words: UnitWords, name: str, *, unit: bool = True) -> Flowable:
    setting = screen.setting(name)
    if setting is None:
        return ticked("by the shop")
    shown = words.setting(setting.value, setting.unit if unit else "")
    return ticked(f"{safe(shown)}{known_mark(setting.known)}")
