"""What the steps hand on: the screens that the garment needs, and the limits between them."""

from __future__ import annotations

from dataclasses import dataclass, field

from setupassist.documents.job import Garment
from setupassist.documents.measure import Halftone, Lab
from setupassist.documents.plan import Limits, Question
from setupassist.documents.terms import InkSystem, Kind, Role

Box = tuple[float, float, float, float]


@dataclass(frozen=True)
class ScreenNeed:
    """One ink that the garment needs printed.

    ``plate`` is the measured plate's name, None for a screen without one (a blocker, a base that the answers ask
    for), which takes the union of the inks in ``carries``, drawn in by the choke; its area is then an estimate.
    ``prints`` is 2 where it is printed, flashed and printed again. ``ink_box_mm`` is (x, y, width, height).
    """

    ink: str
    role: Role
    kind: Kind
    colour: str
    lab: Lab
    ink_area_cm2: float
    ink_system: InkSystem
    prints: int = 1
    plate: str | None = None
    carries: tuple[str, ...] = ()
    halftone: Halftone | None = None
    ink_box_mm: Box | None = None
    two_strokes: bool = False
    low_bleed: bool = False
    finest_line_mm: float | None = None
    finest_gap_mm: float | None = None


@dataclass(frozen=True)
class GroupNeeds:
    """What one garment group needs: its screens by ink name, and the limits between them.

    ``prints`` says how often each is printed for this group; the plan's screens hold the most of any group.
    """

    garment: Garment
    screens: tuple[str, ...]
    limits: Limits
    prints: dict[str, int] = field(default_factory=dict)


@dataclass(frozen=True)
class Steps:
    """All that the answers fix. ``limits`` and ``screens`` are of the group that needs most.

    ``overlaps`` holds cm² for each pair of inks that meet. ``standard_order`` is total over ``screens``.
    ``cautions`` are ids of ``resources/trade/cautions.toml``; ``notes`` are plain sentences for the sheet.
    ``needs_base`` names the inks that the cloth of some group would show through.
    """

    questions: tuple[Question, ...]
    assumed: tuple[str, ...]
    screens: tuple[ScreenNeed, ...]
    overlaps: dict[frozenset[str], float]
    limits: Limits
    standard_order: tuple[str, ...]
    groups: tuple[GroupNeeds, ...]
    neediest: int
    cautions: tuple[str, ...] = ()
    notes: tuple[str, ...] = ()
    art_box_mm: Box | None = None
    shared_edges_cm: dict[frozenset[str], float] = field(default_factory=dict)
    needs_base: frozenset[str] = frozenset()

    def screen(self, ink: str) -> ScreenNeed:
        """The screen of that ink; KeyError where there is none."""
        for screen in self.screens:
            if screen.ink == ink:
                return screen
        raise KeyError(ink)

    def answer(self, question: str) -> str | None:
        """The answer in force, None where the question was not asked."""
        return next((q.given for q in self.questions if q.id == question), None)
