"""The press unrolled for one job: the way, what may stand where, and the prints to be laid on it."""

from __future__ import annotations

from dataclasses import dataclass

from setupassist.documents.press import Cooling
from setupassist.planner.problem import Problem


@dataclass(frozen=True)
class Line:
    """Stations in travel order and what each may take; heads out of service and stations kept empty are taken out.

    ``cooling_stations`` is what a flash asks for; ``cooling_required`` makes a limit of it.
    """

    way: tuple[int, ...]
    heads: frozenset[int]
    flash_slots: frozenset[int]
    flash_units: int
    laps: int
    cooling_stations: int
    cooling_required: bool


@dataclass(frozen=True)
class Print:
    """The ``nth`` print (1 or 2) of an ink."""

    ink: str
    nth: int = 1


def line_of(problem: Problem) -> Line:
    """The line that a problem's press, stations kept empty and heads out of service leave."""
    press, empty = problem.press, set(problem.keep_empty)
    return Line(
        way=press.way,
        heads=frozenset(set(press.heads) - set(press.out_of_service) - empty),
        flash_slots=frozenset(set(press.flash_slots) - empty),
        flash_units=press.flash_units,
        laps=press.max_laps,
        cooling_stations=press.cooling_stations,
        cooling_required=press.cooling is Cooling.REQUIRED,
    )


def prints_of(problem: Problem) -> list[Print]:
    """Every print of the job, inks in standard order, so that the order of ``inks`` decides nothing."""
    return [Print(ink, nth) for ink in problem.standard_order for nth in range(1, problem.times_printed(ink) + 1)]
