"""Belt speed and what a dryer lets through."""

from __future__ import annotations

from collections.abc import Iterable

from setupassist.documents.plan import DryerLoad
from setupassist.documents.shop import Dryer
from setupassist.documents.terms import InkSystem, Role
from setupassist.trade.inks import typical_ink

MM_PER_M = 1000.0
MINUTES_PER_HOUR = 60.0


def cure_seconds(inks: Iterable[tuple[InkSystem, Role]]) -> float:
    """Time in the heat that the slowest of these inks wants, the middle of its usual range; 0 for no ink."""
    return max((typical_ink(system, role).cure_time.middle for system, role in inks), default=0.0)


def fastest_m_per_min(dryer: Dryer, dwell_seconds: float) -> float | None:
    """Fastest belt that keeps a garment in the heat so long, within the belt's own top speed; None where free."""
    by_cure = dryer.heated_length_mm / MM_PER_M / (dwell_seconds / 60) if dwell_seconds > 0 else None
    limits = [speed for speed in (by_cure, dryer.fastest_m_per_min) if speed is not None]
    return min(limits) if limits else None


def needed_m_per_min(pieces_per_hour: float, dryer: Dryer) -> float:
    """Belt speed that carries so many pieces an hour, side by side on the lanes."""
    return pieces_per_hour / MINUTES_PER_HOUR * dryer.spacing_mm / MM_PER_M / dryer.lanes


def belt_pieces_per_hour(m_per_min: float, dryer: Dryer) -> float:
    """Pieces an hour at a belt speed."""
    return m_per_min * MINUTES_PER_HOUR / (dryer.spacing_mm / MM_PER_M) * dryer.lanes


def dryer_load(press_pieces_per_hour: float, dryer: Dryer, *, dwell_seconds: float) -> DryerLoad:
    """What the belt must do at the press's own pace, and whether it limits that pace."""
    needed = needed_m_per_min(press_pieces_per_hour, dryer)
    fastest = fastest_m_per_min(dryer, dwell_seconds)
    return DryerLoad(
        needed_m_per_min=needed,
        fastest_m_per_min=fastest,
        pieces_per_hour=None if fastest is None else belt_pieces_per_hour(fastest, dryer),
        dwell_seconds=dwell_seconds,
        limits_pace=fastest is not None and needed > fastest * (1 + 1e-9),
    )
