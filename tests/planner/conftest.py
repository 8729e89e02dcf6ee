"""A small planning question with invented inks, changed field by field."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import pytest

from setupassist.documents.plan import Limits
from setupassist.documents.press import Cooling, Press
from setupassist.planner.problem import Problem, Standing

Pair = tuple[str, str]


def make_job(
    inks: str = "straw brick slate",
    *,
    stations: int = 8,
    heads: tuple[int, ...] | None = None,
    flash_slots: tuple[int, ...] = (),
    units: int = 0,
    laps: int = 1,
    cooling: int = 0,
    required: bool = False,
    out_of_service: tuple[int, ...] = (),
    harm: dict[Pair, int] | None = None,
    standard: str | None = None,
    limits: dict[str, Any] | None = None,
    **rest: Any,
) -> Problem:
    """A press of ``stations`` (load 1, unload the last) and inks; harm in tenths by (first, second); no slack."""
    names = tuple(inks.split())
    harm = harm or {}
    return Problem(
        press=Press(
            name="small press",
            stations=stations,
            load=1,
            unload=stations,
            heads=heads or tuple(range(2, stations)),
            flash_slots=flash_slots,
            flash_units=units,
            max_laps=laps,
            cooling_stations=cooling,
            cooling=Cooling.REQUIRED if required else Cooling.PREFERRED,
            out_of_service=out_of_service,
        ),
        inks=names,
        limits=Limits(**(limits or {})),
        harm=tuple(tuple(harm.get((a, b), 0) for b in names) for a in names),
        standard_order=tuple((standard or inks).split()),
        **{"slack_share": 0.0, "slack_tenths": 0, **rest},
    )


def draw(*laps: str) -> list[Standing]:
    """Standings drawn as ``2 straw, 3 ~, 4 brick``, a text a lap; ``~`` is a flash."""
    found = []
    for lap, text in enumerate(laps, start=1):
        for part in filter(None, (piece.strip() for piece in text.split(","))):
            station, thing = part.split(maxsplit=1)
            found.append(Standing(lap, int(station), None if thing == "~" else thing))
    return found


@pytest.fixture
def job() -> Callable[..., Problem]:
    """Makes a small planning question."""
    return make_job


@pytest.fixture
def drawn() -> Callable[..., list[Standing]]:
    """Makes standings from a drawing."""
    return draw
