"""Cloths that change a press setting or a base's mesh."""

from __future__ import annotations

from dataclasses import dataclass

from setupassist.resource_files import read_toml
from setupassist.trade.names import words_of
from setupassist.trade.typical import Typical, typical
from setupassist.words import say


@dataclass(frozen=True)
class Fabric:
    """What a cloth changes; None where it changes nothing. ``base_mesh`` is in threads per inch."""

    name: str
    off_contact: Typical | None = None
    base_mesh: Typical | None = None
    squeegee_hardness: Typical | None = None

    @property
    def words(self) -> str:
        """The cloth's name as a person reads it."""
        return say(f"trade.fabric.{self.name.replace(' ', '-')}")


def fabric_of(text: str) -> Fabric | None:
    """The cloth of ``resources/trade/fabrics.toml`` that a garment's ``fabric`` names, None for ordinary jersey."""
    words = " ".join(words_of(text))
    for name, entry in read_toml("trade/fabrics.toml").items():
        if any(f" {phrase} " in f" {words} " for phrase in entry["words"]):
            changes = {key: typical(value) for key, value in entry.items() if key != "words"}
            return Fabric(name=name, **changes)
    return None
