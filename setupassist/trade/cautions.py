"""Cautions for the sheet: which step they belong to and what brings them."""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass
from enum import StrEnum
from functools import cache

from setupassist.resource_files import read_toml
from setupassist.trade.typical import Tag, by_id, cited
from setupassist.words import say

ALWAYS = "always"


class CautionStep(StrEnum):
    """Where on the sheet a caution stands, in the order of the work."""

    SETUP = "setup"
    INK = "ink"
    TEST = "test"
    RUN = "run"
    CURE = "cure"
    WASH_UP = "wash-up"


@dataclass(frozen=True)
class Caution:
    """One caution; any of ``when`` brings it."""

    id: str
    when: frozenset[str]
    step: CautionStep
    text: str
    tag: Tag
    source: str

    @property
    def cited(self) -> str:
        """The source as a person reads it."""
        return cited(self.tag, self.source)


@cache
def cautions() -> dict[str, Caution]:
    """Every caution of ``resources/trade/cautions.toml`` by its id, in the sheet's order."""
    listed = [
        Caution(
            id=entry["id"],
            when=frozenset(entry["when"]),
            step=CautionStep(entry["step"]),
            text=say(f"cautions.text.{entry['id']}"),
            tag=Tag(entry["tag"]),
            source=by_id(entry["source"]),
        )
        for entry in read_toml("trade/cautions.toml")["caution"]
    ]
    order = list(CautionStep)
    return {caution.id: caution for caution in sorted(listed, key=lambda c: order.index(c.step))}


def cautions_when(conditions: Collection[str]) -> tuple[Caution, ...]:
    """The cautions that hold always or under any of ``conditions`` (words of the file's ``when``)."""
    given = {ALWAYS, *conditions}
    return tuple(caution for caution in cautions().values() if caution.when & given)
