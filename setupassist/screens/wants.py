"""What each screen asks of its mesh: the count aimed at, the range the trade accepts, and the limits."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from setupassist.documents.plan import Reason
from setupassist.documents.shop import Policies, Shop
from setupassist.documents.terms import InkSystem, Kind, Role
from setupassist.quantities import Units, per_cm, per_inch
from setupassist.resource_files import read_toml
from setupassist.steps.needs import ScreenNeed
from setupassist.trade.fabrics import Fabric
from setupassist.trade.inks import particle_um
from setupassist.trade.mesh import Cloth
from setupassist.trade.typical import cited, shop_source
from setupassist.words import Said, say

DOTS = frozenset({Kind.HALFTONE, Kind.TONE, Kind.STOCHASTIC})


@dataclass(frozen=True)
class Want:
    """One screen's wishes and limits; counts per inch, lengths µm, volume cm³/m², None where nothing is asked."""

    ink: str
    role: Role
    wish_per_inch: float
    low_per_inch: float
    high_per_inch: float
    wish_source: str
    ruling_lpi: float | None
    threads_per_line: float
    particle_um: float
    opening_per_particle: float
    particle_source: str
    least_volume: float | None
    volume_source: str
    finest_line_um: float | None
    finest_gap_um: float | None
    line_threads: float
    line_source: str
    gap_threads: float
    gap_source: str

    @property
    def role_words(self) -> Said:
        """What the screen is for, with its article: ``a base``."""
        return say(f"screens.a.{self.role.value}")

    @property
    def least_per_inch(self) -> float | None:
        """Coarsest count that carries the ruling."""
        return None if self.ruling_lpi is None else self.ruling_lpi * self.threads_per_line

    @property
    def least_opening_um(self) -> float:
        """Smallest opening that passes the largest particle."""
        return self.particle_um * self.opening_per_particle


@dataclass(frozen=True)
class Miss:
    """A limit that a mesh does not meet: ``short`` is ln(needed ÷ had), above 0."""

    reason: Reason
    short: float


def want_of(
    need: ScreenNeed,
    *,
    shop: Shop,
    ink_name: str,
    fabric: Fabric | None,
    halftone_ruling_lpi: float | None,
    must_hide: bool = False,
) -> Want:
    """What the screen of ``need`` asks of its mesh; ``ink_name`` is the ink's name on the shelf.

    ``must_hide`` says that a colour straight on the cloth has to hide it like a base does, by the base's mesh.
    """
    policies = shop.policies
    ruling = ruling_of(need, halftone_ruling_lpi)
    dots = need.kind in DOTS
    row = _row(need.role, need.ink_system, dots=dots)
    if must_hide and not dots and "system" not in row:
        row = {
            key: value for key, value in _row(Role.BASE, need.ink_system, dots=False).items() if key != "least_volume"
        }
    wish, low, high = (float(row[f"{end}_per_inch"]) for end in ("wish", "low", "high"))
    source = cited(row["tag"], row["source"])
    if need.role is Role.BASE and not dots and fabric is not None and fabric.base_mesh is not None:
        mesh = fabric.base_mesh
        wish, low, high = mesh.number, mesh.low or mesh.number, mesh.high or mesh.number
        source = say("screens.source.of-cloth", source=mesh.cited, cloth=fabric.words)
    if ruling is not None:
        wish = max(wish, ruling * policies.mesh_per_ruling)
        high = max(high, wish)
    particle, particle_source = particle_um(shop.ink(ink_name), need.ink_system, need.role)
    volume = row.get("least_volume")
    return Want(
        ink=need.ink,
        role=need.role,
        wish_per_inch=wish,
        low_per_inch=low,
        high_per_inch=high,
        wish_source=source,
        ruling_lpi=ruling,
        threads_per_line=policies.least_mesh_per_ruling,
        particle_um=particle,
        opening_per_particle=policies.opening_per_particle,
        particle_source=say(
            "screens.source.particle",
            source=shop_source(particle_source),
            policy=policy_source(policies, "opening_per_particle"),
        ),
        least_volume=None if volume is None else float(volume["value"]),
        volume_source="" if volume is None else cited(volume["tag"], volume["source"]),
        finest_line_um=None if need.finest_line_mm is None else need.finest_line_mm * 1000,
        finest_gap_um=None if need.finest_gap_mm is None else need.finest_gap_mm * 1000,
        line_threads=policies.line_threads,
        line_source=policy_source(policies, "line_threads"),
        gap_threads=policies.gap_threads,
        gap_source=policy_source(policies, "gap_threads"),
    )


def ruling_of(need: ScreenNeed, halftone_ruling_lpi: float | None) -> float | None:
    """Lines per inch that the screen must carry: measured, else the ruling chosen for a tone plate."""
    if need.halftone is not None:
        return need.halftone.lines_per_inch
    return halftone_ruling_lpi if need.kind is Kind.TONE else None


def misses(want: Want, cloth: Cloth, *, policies: Policies) -> list[Miss]:
    """The limits of ruling, particle and deposit that this mesh does not meet: it cannot print that screen."""
    units = Units(policies.units)
    found = []
    count = per_inch(cloth.mesh_per_cm)
    least = want.least_per_inch
    if want.ruling_lpi is not None and least is not None and count < least - 1e-6:
        text = _reason("ruling", ruling=ruling_words(want.ruling_lpi, units), least=least_words(least, units),
                       threads=want.threads_per_line, count=count_words(count, units))  # fmt: skip
        found.append(_miss("ruling", text, policy_source(policies, "least_mesh_per_ruling"), least / count))
    opening = want.least_opening_um
    if opening > cloth.opening_um:
        text = _reason("particle", particle=want.particle_um, least=opening, opening=cloth.opening_um)
        found.append(_miss("particle", text, want.particle_source, opening / cloth.opening_um))
    if want.least_volume is not None and cloth.volume_cm3_m2 < want.least_volume:
        text = _reason("deposit", role=want.role_words, least=want.least_volume, volume=cloth.volume_cm3_m2)
        found.append(_miss("deposit", text, want.volume_source, want.least_volume / cloth.volume_cm3_m2))
    return found


def detail_misses(want: Want, cloth: Cloth) -> list[Miss]:
    """The finest line and gap that this mesh does not hold cleanly: avoided, but never a reason for no screen."""
    found = []
    line, gap = want.finest_line_um, want.finest_gap_um
    least = cloth.finest_line_um(want.line_threads)
    if line is not None and 0 < line < least:
        text = _reason("finest-line", line=line, least=least)
        found.append(_miss("finest-line", text, want.line_source, least / line))
    least = cloth.finest_gap_um(want.gap_threads)
    if gap is not None and 0 < gap < least:
        text = _reason("finest-gap", gap=gap, least=least)
        found.append(_miss("finest-gap", text, want.gap_source, least / gap))
    return found


def count_words(count_per_inch: float, units: Units) -> str:
    """A mesh count in the shop's unit, whole: ``156/in`` or ``61/cm``."""
    if units is Units.METRIC:
        return say("screens.count.per-cm", count=per_cm(count_per_inch))
    return say("screens.count.per-inch", count=count_per_inch)


def least_words(count_per_inch: float, units: Units) -> str:
    """A least mesh count in the shop's unit, rounded up: ``158/in`` for 157.5."""
    if units is Units.METRIC:
        return say("screens.count.per-cm", count=math.ceil(per_cm(count_per_inch) - 1e-6))
    return say("screens.count.per-inch", count=math.ceil(count_per_inch - 1e-6))


def ruling_words(lines_per_inch: float, units: Units) -> str:
    """A halftone ruling in the shop's unit, to a tenth; whole where that is nothing: ``55 lines per inch``."""
    if units is Units.METRIC:
        return say("screens.count.lines-per-cm", lines=_to_a_tenth(per_cm(lines_per_inch)))
    return say("screens.count.lines-per-inch", lines=_to_a_tenth(lines_per_inch))


def _to_a_tenth(number: float) -> str:
    return f"{number:.1f}".removesuffix(".0")


def mesh_words(cloth: Cloth, units: Units) -> str:
    """A mesh as the shop writes it: ``156/in (61-64)`` or ``61-64 per cm``."""
    if units is Units.METRIC:
        return say("screens.count.mesh-per-cm", count=cloth.mesh_per_cm, thread=cloth.thread_um)
    return cloth.name


def _row(role: Role, system: InkSystem, *, dots: bool) -> Mapping[str, Any]:
    art = "dots" if dots else "solid"
    best: Mapping[str, Any] | None = None
    for row in read_toml("trade/mesh_by_role.toml")["mesh"]:
        fits = row["role"] == role.value and row["art"] in (art, "any") and row.get("system") in (None, system.value)
        if fits and (best is None or "system" in row):
            best = row
    if best is None:
        return _row(Role.COLOUR, system, dots=dots)
    return best


def policy_source(policies: Policies, field: str) -> str:
    """Where a policy of the shop comes from, as the shop book says."""
    own = policies.sources.get(field)
    return say("sources.this-shops-policy") if own is None else shop_source(own)


def _reason(told: str, **values: object) -> Said:
    return say(f"screens.reason.{told}", **values)


def _miss(rule: str, text: str, source: str, ratio: float) -> Miss:
    return Miss(Reason(rule=rule, text=text, source=source), math.log(ratio))
