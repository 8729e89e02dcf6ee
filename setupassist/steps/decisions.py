"""The decision table: suggestions with their reasons, as data that a shop can switch off or rewrite."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import Any

from setupassist.documents.shop import Decision, Shop
from setupassist.errors import InputFault, did_you_mean
from setupassist.resource_files import read_toml
from setupassist.steps.conditions import holds
from setupassist.steps.inks import InkFact
from setupassist.steps.scene import Scene
from setupassist.trade.typical import cited
from setupassist.words import fields_of, say

NOTE = "note"
_FIGURE = re.compile(r"\{([a-z0-9_]+)\}")


@dataclass(frozen=True)
class Row:
    """One row of the table: where all of ``when`` hold, ``suggest`` answers ``question``.

    ``own_reason`` are the words of a shop that rewrote the row; None where the catalogue words it. ``count`` names
    the figure that chooses between one and other.
    """

    id: str
    question: str
    when: tuple[str, ...]
    suggest: str
    source: str
    own_reason: str | None = None
    count: str = ""

    def holds(self, scene: Scene, ink: InkFact | None = None) -> bool:
        """Whether every condition holds."""
        return all(holds(name, scene, ink) for name in self.when)

    def filled(self, figures: Mapping[str, Any]) -> Row:
        """The row with the job's figures in its suggestion."""
        return replace(self, suggest=fill(self.suggest, figures))

    def reason(self, figures: Mapping[str, Any]) -> str:
        """Why it suggests that, with the job's figures; KeyError where one is missing."""
        if self.own_reason is not None:
            return fill(self.own_reason, figures)
        return say_figures(f"decisions.reason.{self.id}", figures, self.count)


def fill(text: str, figures: Mapping[str, Any]) -> str:
    """The text with each ``{name}`` replaced where a figure of that name is known."""
    return _FIGURE.sub(lambda found: str(figures.get(found.group(1), found.group(0))), text)


def say_figures(key: str, figures: Mapping[str, Any], count: str = "") -> str:
    """The sentence of that id with the figures it names; ``count`` names the one that tells one from other."""
    told = {name: figures[name] for name in fields_of(key)}
    return say(key, **told, **({"count": figures[count]} if count else {}))


def shipped_rows() -> tuple[Row, ...]:
    """The rows of ``trade/decisions.toml`` in file order."""
    return tuple(
        Row(
            id=row["id"],
            question=row["question"],
            when=tuple(row["when"]),
            suggest=row["suggest"],
            source=cited(row["tag"], row["source"]),
            count=row.get("count", ""),
        )
        for row in read_toml("trade/decisions.toml")["decision"]
    )


def cut_first() -> tuple[str, ...]:
    """Questions whose usual suggestions are given up where the press has no room, the first to go first."""
    return tuple(read_toml("trade/decisions.toml")["room"]["given_up"])


@dataclass(frozen=True)
class DecisionTable:
    """The shipped rows as this shop uses them."""

    rows: tuple[Row, ...]

    def decide(self, question: str, scene: Scene, ink: InkFact | None = None) -> Row | None:
        """The first row of the question that holds, None where the shop has switched all of them off."""
        return next((row for row in self.rows if row.question == question and row.holds(scene, ink)), None)

    def notes(self, scene: Scene) -> tuple[Row, ...]:
        """Every note that holds; none silences another."""
        return tuple(row for row in self.rows if row.question == NOTE and row.holds(scene))


def table_of(shop: Shop) -> tuple[DecisionTable, list[InputFault]]:
    """The shop's decision table, and a fault for each row id that the shipped table does not have."""
    shipped = shipped_rows()
    known = {row.id for row in shipped}
    off = set(shop.policies.decisions_off)
    rewritten = {row.id: row for row in shop.decisions}
    faults = [
        InputFault(say(f"steps.where.{where}"), say("steps.fault.no-row", row=qid), did_you_mean(qid, known))
        for where, ids in (("decisions-off", off), ("decisions", rewritten))
        for qid in sorted(ids)
        if qid not in known
    ]
    rows = []
    for row in shipped:
        if row.id not in off:
            rows.append(_rewritten(row, rewritten[row.id]) if row.id in rewritten else row)
    return DecisionTable(tuple(rows)), faults


def _rewritten(row: Row, own: Decision) -> Row:
    source = own.source if "source" in own.model_fields_set else say("decisions.source.this-shop")
    return replace(row, suggest=own.suggest, own_reason=own.reason, source=source)
