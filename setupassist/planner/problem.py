"""What the planner is asked, free of files and pixels: a press, inks, limits, harm and wishes."""

from __future__ import annotations

from dataclasses import dataclass, field

from setupassist.documents.plan import Limits, Slot
from setupassist.documents.press import Press
from setupassist.documents.terms import Role, StrategyName


@dataclass(frozen=True, order=True)
class Standing:
    """A print of a screen (``ink`` named as its screen: NAME or ``NAME 2``) or, with ``ink`` None, a flash action."""

    lap: int
    station: int
    ink: str | None = None

    @property
    def slot(self) -> Slot:
        """The standing as a job's document has it."""
        if self.ink is None:
            return Slot(lap=self.lap, station=self.station, holds="flash")
        return Slot(lap=self.lap, station=self.station, holds="screen", ink=self.ink)


@dataclass(frozen=True)
class Problem:
    """One planning question.

    ``harm`` is (N, N) in whole tenths of cm²·ΔE, rows printed before columns, in the order of ``inks``.
    ``prints`` is 2 for an ink that is printed, flashed and printed again (1 where it is not named): by one screen
    in two laps or by two screens, the second called ``NAME 2``. ``limits.order`` is transitively closed.
    ``pins`` name an ink (or ``NAME 2``) and its station; ``flash_pins`` stations where a flash unit must stand.
    ``on_press_now`` is what stands at a station: an ink's name, ``flash`` or anything else. ``kept`` is an earlier
    plan to stay near to, after all wishes; what cannot stand on this press, or names a stranger, decides nothing.

    The rest decides nothing and only words the reasons: ``overlaps_cm2`` of pairs that meet, ``roles`` of inks,
    and ``given``, the limits that the person wrote (the others were derived).
    """

    press: Press
    inks: tuple[str, ...]
    limits: Limits
    harm: tuple[tuple[int, ...], ...]
    standard_order: tuple[str, ...]
    strategy: StrategyName = StrategyName.LEANEST
    prints: dict[str, int] = field(default_factory=dict)
    pins: dict[str, int] = field(default_factory=dict)
    flash_pins: tuple[int, ...] = ()
    keep_empty: tuple[int, ...] = ()
    on_press_now: dict[int, str] = field(default_factory=dict)
    kept: tuple[Standing, ...] = ()
    slack_share: float = 0.15
    slack_tenths: int = 50
    overlaps_cm2: dict[frozenset[str], float] = field(default_factory=dict)
    roles: dict[str, Role] = field(default_factory=dict)
    given: Limits = field(default_factory=Limits)

    def times_printed(self, ink: str) -> int:
        """How often an ink is printed: 1, or 2 with a flash between."""
        return self.prints.get(ink, 1)

    @property
    def ink_of_screen(self) -> dict[str, str]:
        """The ink of every screen that may stand: itself, and ``NAME 2`` of an ink that is printed twice."""
        second = {f"{ink} 2": ink for ink in self.inks if self.times_printed(ink) == 2}
        return {ink: ink for ink in self.inks} | second
