"""Brackets below the station line: which columns of which lap a wet group joins, and what is said of it."""

from __future__ import annotations

from dataclasses import dataclass

from setupassist.sheet.content import SheetContent
from setupassist.sheet.stations import Cell, Stands
from setupassist.sheet.wet_groups import wet_groups
from setupassist.words import say


@dataclass(frozen=True)
class Bracket:
    """A mark under columns ``first`` to ``last`` of a row, open where the group goes on beyond it."""

    first: int
    last: int
    text: str
    open_left: bool
    open_right: bool


def brackets_by_row(content: SheetContent, rows: tuple[tuple[Cell, ...], ...]) -> list[list[Bracket]]:
    """The brackets of every lap, from left to right; groups that nothing is said of have none."""
    roles = {screen.name: screen.role for screen in content.screens()}
    column = {cell.station: at for at, cell in enumerate(rows[0]) if cell.stands not in (Stands.LOAD, Stands.UNLOAD)}
    by_row: list[list[Bracket]] = [[] for _ in rows]
    for group in wet_groups(content):
        text = group.words(roles.get(group.slots[0].ink or "", "base"))
        laps = sorted({slot.lap for slot in group.slots})
        if not text:
            continue
        for lap in laps:
            places = [column[s.station] for s in group.slots if s.lap == lap and s.station in column]
            if places:
                key = "sheet.wet.goes-on-alone" if group.alone else "sheet.wet.goes-on-together"
                said = text if lap == laps[0] else say(key, lap=lap - 1)
                by_row[lap - 1].append(
                    Bracket(min(places), max(places), said, open_left=lap > laps[0], open_right=lap < laps[-1])
                )
    return [sorted(marks, key=lambda mark: mark.first) for marks in by_row]
