"""Woven mesh: pitch, opening, open area, thickness and theoretical ink volume, measured values first.

Counts are threads per cm, lengths µm. Pitch, opening and open area are ISO 9044's definitions for woven wire
cloth, which weavers of polyester mesh use too; weavers' tables describe slack mesh.
"""

from __future__ import annotations

from dataclasses import dataclass

from setupassist.documents.shop import StockScreen
from setupassist.documents.terms import Known
from setupassist.quantities import per_cm, per_inch
from setupassist.resource_files import read_toml
from setupassist.trade.typical import setting
from setupassist.words import say

UM_PER_CM = 10_000.0
LABEL_TOLERANCE = 0.03


def pitch_um(mesh_per_cm: float) -> float:
    """Distance between the middles of two threads, p = 10 000 ÷ n (ISO 9044)."""
    return UM_PER_CM / mesh_per_cm


def count_per_cm(pitch_um: float) -> float:
    """Threads per cm from the pitch."""
    return UM_PER_CM / pitch_um


def opening_um(mesh_per_cm: float, thread_um: float) -> float:
    """Side of the square opening, w = p − d (ISO 9044); ValueError where the thread leaves none."""
    opening = pitch_um(mesh_per_cm) - thread_um
    if opening <= 0:
        raise ValueError(say("trade.mesh.no-opening", thread=thread_um, count=mesh_per_cm))
    return opening


def open_area(opening_um: float, pitch_um: float) -> float:
    """Share of the mesh that is open, (w ÷ p)², 0..1 (ISO 9044 gives it as a whole percent)."""
    return (opening_um / pitch_um) ** 2


def thickness_um(thread_um: float) -> float:
    """Fabric thickness where none was measured: a share of the thread, 1.5 d by default (seen 1.44 to 1.58 d)."""
    return thread_um * setting("thickness_per_thread").number


def ink_volume_cm3_m2(open_area: float, thickness_um: float) -> float:
    """Theoretical ink volume, open area × thickness; 1 cm³/m² is 1 µm of wet film."""
    return open_area * thickness_um


@dataclass(frozen=True)
class Cloth:
    """One woven mesh: ``open_area`` 0..1; ``known`` says whether the volume was entered or estimated."""

    mesh_per_cm: float
    thread_um: float
    opening_um: float
    open_area: float
    thickness_um: float
    volume_cm3_m2: float
    known: Known

    @property
    def mesh_per_inch(self) -> float:
        """The count that the trade writes on the frame."""
        return label_per_inch(self.mesh_per_cm)

    @property
    def name(self) -> str:
        """Count and thread as the trade writes them: ``156/in (61-64)``."""
        told = {"per_inch": self.mesh_per_inch, "per_cm": self.mesh_per_cm, "thread": self.thread_um}
        return say("trade.mesh.name", **told)

    def finest_line_um(self, threads: float) -> float:
        """Finest clean line that it holds, so many threads wide (3 in the example shop)."""
        return threads * self.thread_um

    def finest_gap_um(self, threads: float) -> float:
        """Finest gap, dot or speck that it holds: an opening and so many threads (2 in the example shop)."""
        return self.opening_um + threads * self.thread_um

    def ruling_per_cm(self, mesh_per_ruling: float) -> float:
        """Halftone ruling that it carries at that many threads a line."""
        return self.mesh_per_cm / mesh_per_ruling


def woven(
    mesh_per_cm: float,
    thread_um: float,
    *,
    measured_opening_um: float | None = None,
    measured_thickness_um: float | None = None,
    measured_volume_cm3_m2: float | None = None,
) -> Cloth:
    """The mesh of that count and thread; a measured value wins over the formula.

    Threads flatten where they cross, so a measured opening is often smaller than p − d. ValueError where an
    opening is not smaller than the pitch or the thread leaves none.
    """
    pitch = pitch_um(mesh_per_cm)
    opening = measured_opening_um if measured_opening_um is not None else opening_um(mesh_per_cm, thread_um)
    if not 0 < opening < pitch:
        raise ValueError(say("trade.mesh.wrong-opening", opening=opening, pitch=pitch))
    area = open_area(opening, pitch)
    thickness = measured_thickness_um if measured_thickness_um is not None else thickness_um(thread_um)
    volume = measured_volume_cm3_m2 if measured_volume_cm3_m2 is not None else ink_volume_cm3_m2(area, thickness)
    measured = measured_volume_cm3_m2 is not None or None not in (measured_opening_um, measured_thickness_um)
    return Cloth(
        mesh_per_cm, thread_um, opening, area, thickness, volume, Known.ENTERED if measured else Known.ESTIMATED
    )


def cloth_of(screen: StockScreen) -> Cloth:
    """The mesh of a screen in stock, its measured values first."""
    return woven(
        screen.mesh_per_cm,
        screen.thread_um,
        measured_opening_um=screen.opening_um,
        measured_thickness_um=screen.thickness_um,
        measured_volume_cm3_m2=screen.volume_cm3_m2,
    )


def label_per_inch(mesh_per_cm: float) -> float:
    """Threads per inch as the trade labels that metric count (61/cm is sold as 156), else the rounded conversion."""
    for entry in read_toml("trade/mesh_labels.toml")["label"]:
        if abs(entry["mesh_per_cm"] - mesh_per_cm) < 0.05:
            return float(entry["mesh_per_inch"])
    return float(round(per_inch(mesh_per_cm)))


def same_count(mesh_per_cm: float, mesh_per_inch: float) -> bool:
    """Whether a count that a person gave per inch means this metric count: by its label, or within 3 %."""
    if label_per_inch(mesh_per_cm) == mesh_per_inch:
        return True
    return abs(per_cm(mesh_per_inch) / mesh_per_cm - 1) < LABEL_TOLERANCE


def stencil_over_mesh_um(thickness_um: float, share: float) -> float:
    """Stencil over the mesh in µm: ``share`` (EOM, 0..1) of the fabric thickness."""
    return thickness_um * share
