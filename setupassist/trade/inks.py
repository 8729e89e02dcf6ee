"""Typical inks by system and role: what to assume where the shop's shelf does not say."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from setupassist.documents.shop import Ink
from setupassist.documents.terms import InkSystem, Role
from setupassist.resource_files import read_toml
from setupassist.trade.typical import Tag, Typical, by_id, cited, typical
from setupassist.words import say


@dataclass(frozen=True)
class Range:
    """Lowest and highest usual value of a property, in ``unit``."""

    low: float
    high: float
    unit: str
    tag: Tag
    source: str

    @property
    def middle(self) -> float:
        """The mean of the two ends."""
        return (self.low + self.high) / 2

    @property
    def cited(self) -> str:
        """The source as a person reads it."""
        return cited(self.tag, self.source)


@dataclass(frozen=True)
class TypicalInk:
    """One ink system in one role: density g/cm³, largest particle µm, cure °C and s, gel °C, residue g a screen.

    ``gel_temperature`` is None where the system is not flashed by a gel point, ``residue`` where the shop's own
    policy holds. ``notes`` are (text, source).
    """

    system: InkSystem
    role: Role
    density: Typical
    particle: Typical
    cure_temperature: Range
    cure_time: Range
    gel_temperature: Range | None
    residue: Typical | None
    notes: tuple[tuple[str, str], ...]


def typical_ink(system: InkSystem, role: Role = Role.COLOUR) -> TypicalInk:
    """The typical ink of ``resources/trade/inks.toml``; what the role says wins over the system."""
    table = read_toml("trade/inks.toml")
    of_system: Mapping[str, Any] = table["system"][system.value]
    of_role: Mapping[str, Any] = table["role"].get(role.value, {})
    entry = {**of_system, **of_role}
    notes = [t["note"] for t in (of_system, of_role) if "note" in t]
    return TypicalInk(
        system=system,
        role=role,
        density=typical(entry["density"]),
        particle=typical(entry["particle"]),
        cure_temperature=_range(entry["cure_temperature"]),
        cure_time=_range(entry["cure_time"]),
        gel_temperature=_range(entry["gel_temperature"]) if "gel_temperature" in entry else None,
        residue=typical(entry["residue"]) if "residue" in entry else None,
        notes=tuple((by_id(note["text"]), cited(note["tag"], note["source"])) for note in notes),
    )


def density_g_cm3(ink: Ink | None, system: InkSystem, role: Role) -> float:
    """The ink's own density, else the typical one."""
    if ink is not None and ink.density is not None:
        return ink.density
    return typical_ink(system, role).density.number


def particle_um(ink: Ink | None, system: InkSystem, role: Role) -> tuple[float, str]:
    """Largest particle and its source: the ink's own, else the typical one."""
    if ink is not None and ink.particle_um is not None:
        return ink.particle_um, ink.sources.get("particle_um", say("trade.the-shop-book"))
    particle = typical_ink(system, role).particle
    return particle.number, particle.cited


def _range(entry: Mapping[str, Any]) -> Range:
    return Range(float(entry["low"]), float(entry["high"]), entry["unit"], Tag(entry["tag"]), by_id(entry["source"]))
