"""What a check goes by: the plates' figures, the shop's limits, and the mesh that each plate prints through."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field

from setupassist.documents.measure import Measure, PlateMeasure
from setupassist.documents.plan import FOR_GROUP, ScreenChoice
from setupassist.documents.shop import Policies, Shop
from setupassist.quantities import UM_PER_MM, Units, inches
from setupassist.screens.wants import mesh_words
from setupassist.steps.figures import ruling_for
from setupassist.steps.needs import Steps
from setupassist.trade.mesh import Cloth, cloth_of, woven
from setupassist.words import Said, say

BASE_SHOWS = "base-shows"


@dataclass(frozen=True)
class Ground:
    """The plates, the shop, and of a job what it fixes; ``steps`` is None where only plates are known.

    ``cloths`` holds the mesh chosen for a plate by its name, ``finest`` is the finest in stock, None without stock.
    ``tone_lines_per_inch`` is the ruling that tone plates will get.
    """

    measure: Measure
    shop: Shop
    finest: Cloth | None
    tone_lines_per_inch: float
    steps: Steps | None = None
    cloths: Mapping[str, Cloth] = field(default_factory=dict)

    @property
    def policies(self) -> Policies:
        """The shop's limits."""
        return self.shop.policies

    @property
    def units(self) -> Units:
        """How lengths are told."""
        return Units(self.policies.units)

    def printed(self) -> Iterator[PlateMeasure]:
        """The plates that are printed: all of them where no job leaves one out."""
        wanted = None if self.steps is None else {need.plate for need in self.steps.screens}
        return (plate for plate in self.measure.plates if wanted is None or plate.name in wanted)

    def cloth(self, plate: str) -> Cloth | None:
        """The mesh that the plate prints through: the chosen one, else the finest in stock."""
        return self.cloths.get(plate, self.finest)

    def least_island_mm(self, cloth: Cloth) -> float:
        """The smallest dot or speck that a mesh holds."""
        return least_island_mm(cloth, self.policies)

    def base_shows(self) -> bool:
        """Whether the job has base show as white, by the answers in force."""
        asked = () if self.steps is None else self.steps.questions
        return any(
            question.given == "yes"
            for question in asked
            if question.id == BASE_SHOWS or question.id.startswith(f"{BASE_SHOWS}{FOR_GROUP}")
        )

    def length(self, mm: float) -> Said:
        """A fine length in the shop's unit."""
        return length_words(mm, self.units)

    def size(self, mm: float) -> Said:
        """A large length in the shop's unit."""
        if self.units is Units.METRIC:
            return say("check.size.mm", mm=mm)
        return say("check.size.inch", inch=inches(mm))

    def mesh(self, cloth: Cloth) -> str:
        """A mesh as the shop writes it."""
        return mesh_words(cloth, self.units)


def least_island_mm(cloth: Cloth, policies: Policies) -> float:
    """The smallest dot or speck that a mesh holds by the shop's limits."""
    return cloth.finest_gap_um(policies.speck_threads) / UM_PER_MM


def length_words(mm: float, units: Units) -> Said:
    """A fine length in a unit."""
    if units is Units.METRIC:
        return say("check.length.mm", mm=mm)
    return say("check.length.inch", inch=inches(mm))


def ground_of_plates(measure: Measure, shop: Shop) -> Ground:
    """What is known without a garment or a press."""
    return Ground(measure, shop, finest_in_stock(shop), ruling_for(shop))


def ground_of_job(measure: Measure, shop: Shop, steps: Steps, screens: Sequence[ScreenChoice]) -> Ground:
    """What a job's steps and chosen screens add."""
    ruling = steps.answer("halftone-ruling")
    chosen = {screen.ink: cloth for screen in screens if (cloth := _cloth(screen)) is not None}
    cloths = {need.plate: chosen[need.ink] for need in steps.screens if need.plate is not None and need.ink in chosen}
    lines_per_inch = ruling_for(shop) if ruling is None else float(ruling)
    return Ground(measure, shop, finest_in_stock(shop), lines_per_inch, steps, cloths)


def finest_in_stock(shop: Shop) -> Cloth | None:
    """The mesh of most threads that the shop has a screen of, the thinner thread of two; None without any."""
    cloths = [cloth_of(screen) for screen in shop.screens if screen.quantity]
    return max(cloths, key=lambda cloth: (cloth.mesh_per_cm, -cloth.thread_um), default=None)


def _cloth(screen: ScreenChoice) -> Cloth | None:
    if screen.mesh_per_cm is None or screen.thread_um is None:
        return None
    return woven(screen.mesh_per_cm, screen.thread_um, measured_opening_um=screen.opening_um)
