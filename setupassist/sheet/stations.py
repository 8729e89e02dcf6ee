"""What stands at every station in every lap, told once for the drawing and for the words."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

from setupassist.documents.plan import Slot
from setupassist.sheet.content import SheetContent, SheetScreen, screen_name
from setupassist.words import joined, say


class Stands(StrEnum):
    """What a cell of the station line holds."""

    LOAD = "load"
    UNLOAD = "unload"
    SCREEN = "screen"
    SCREEN_RESTS = "screen rests this lap"
    FLASH = "flash"
    FLASH_RESTS = "flash off this lap"
    COOLING = "to cool"
    OUT_OF_SERVICE = "head out of service"
    KEPT_EMPTY = "kept empty"
    NO_HEAD = "no head"
    EMPTY = "empty"


@dataclass(frozen=True)
class Cell:
    """One station in one lap.

    ``words`` is what an idle cell says; ``fault`` what must not be overlooked on it. Both are said by id.
    """

    station: int
    lap: int
    stands: Stands
    words: str
    slot: Slot | None = None
    screen: SheetScreen | None = None
    fault: str = ""


def station_rows(content: SheetContent) -> tuple[tuple[Cell, ...], ...]:
    """One row a lap, one cell a station in travel order with load first and unload last."""
    screens = {screen.name: screen for screen in content.screens()}
    return tuple(_row(content, lap, screens) for lap in range(1, content.laps + 1))


def off_the_way(content: SheetContent) -> tuple[Slot, ...]:
    """Slots of a hand-made arrangement at stations where no garment passes."""
    way = set(content.press.way)
    return tuple(slot for slot in content.in_print_order() if slot.station not in way)


def unused_stations(content: SheetContent) -> tuple[int, ...]:
    """Stations between unload and load, which no garment passes."""
    used = {*content.press.way, content.press.load, content.press.unload}
    return tuple(s for s in range(1, content.press.stations + 1) if s not in used)


def _row(content: SheetContent, lap: int, screens: dict[str, SheetScreen]) -> tuple[Cell, ...]:
    press = content.press
    cells = [
        Cell(press.load, lap, Stands.LOAD, say("sheet.station.load") if lap == 1 else say("sheet.station.round-again"))
    ]
    cooling_left, after_flash = 0, False
    for station in press.way:
        here = [slot for slot in content.plan.slots if slot.lap == lap and slot.station == station]
        if here:
            cells.append(_held(content, lap, station, here, screens))
            after_flash = any(slot.holds == "flash" for slot in here)
            cooling_left = max(1, press.cooling_stations) if after_flash else 0
            continue
        cells.append(_idle(content, lap, station, cools=cooling_left > 0, screens=screens))
        cooling_left -= 1
    last = lap == content.laps
    said = say("sheet.station.unload") if last else say("sheet.station.on-to-lap", lap=lap + 1)
    cells.append(Cell(press.unload, lap, Stands.UNLOAD, said))
    return tuple(cells)


def _held(content: SheetContent, lap: int, station: int, here: list[Slot], screens: dict[str, SheetScreen]) -> Cell:
    first = here[0]
    flash = say("sheet.station.flash")
    faults = []
    if len(here) > 1:
        faults.append(say("sheet.station.also-here", others=joined(slot.ink or flash for slot in here[1:])))
    if first.holds == "screen" and station in content.press.out_of_service:
        faults.append(say("sheet.station.out-of-service"))
    if first.holds == "screen" and station not in content.press.heads:
        faults.append(say("sheet.station.no-head-here"))
    if station in content.job.keep_empty:
        faults.append(say("sheet.station.was-to-stay-empty"))
    fault = joined(faults, "; ")
    if first.holds == "flash":
        return Cell(station, lap, Stands.FLASH, flash, first, fault=fault)
    screen = screens[screen_name(first)]
    return Cell(station, lap, Stands.SCREEN, screen.name, first, screen, fault)


def _idle(content: SheetContent, lap: int, station: int, *, cools: bool, screens: dict[str, SheetScreen]) -> Cell:
    other = next((slot for slot in content.plan.slots if slot.station == station), None)
    if other is not None and other.holds == "screen":
        screen = screens[screen_name(other)]
        return Cell(station, lap, Stands.SCREEN_RESTS, say("sheet.station.rests"), other, screen)
    if other is not None:
        return Cell(station, lap, Stands.FLASH_RESTS, say("sheet.station.flash-off"), other)
    if station in content.press.out_of_service:
        return Cell(station, lap, Stands.OUT_OF_SERVICE, say("sheet.station.out-of-service"))
    if station in content.job.keep_empty:
        said = say("sheet.station.kept-empty-to-cool") if cools else say("sheet.station.kept-empty")
        return Cell(station, lap, Stands.KEPT_EMPTY, said)
    if cools:
        return Cell(station, lap, Stands.COOLING, say("sheet.station.to-cool"))
    if station not in content.press.heads:
        return Cell(station, lap, Stands.NO_HEAD, say("sheet.station.no-head"))
    return Cell(station, lap, Stands.EMPTY, say("sheet.station.empty"))
