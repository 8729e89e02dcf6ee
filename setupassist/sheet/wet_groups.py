"""Screens that are wet together, with the harm between them and its chief cause, as the plan's own matrix says."""

from __future__ import annotations

from dataclasses import dataclass

from setupassist.documents.plan import Slot
from setupassist.resource_files import read_toml
from setupassist.sheet.content import SheetContent, ink_of_screen, role_said
from setupassist.words import say


@dataclass(frozen=True)
class WetGroup:
    """Prints between two flash actions, in print order. ``harm`` in cm²·ΔE, None where no matrix tells it.

    ``blend`` is the part of the harm between plates that are to mix wet (no flash may come between them).
    ``cause`` is (first ink, second ink, harm) of the worst pair. ``alone`` where all are screens that the plan keeps
    alone until they are gelled.
    """

    slots: tuple[Slot, ...]
    harm: float | None
    cause: tuple[str, str, float] | None
    alone: bool
    gelled: bool
    blend: float = 0.0

    def words(self, role: str) -> str:
        """What stands under the bracket; empty for a single screen that nothing is said of."""
        if self.alone:
            key = "sheet.wet.alone-until-gelled" if self.gelled else "sheet.wet.alone"
            return say(key, role=role_said(role))
        if len({slot.ink for slot in self.slots}) < 2:
            return ""
        if self.harm is None:
            return say("sheet.wet.together")
        harm = harm_word(self.harm)
        if self.harm < 0.5:
            return say("sheet.wet.together-harm", harm=harm)
        said = say("sheet.wet.together-figure", harm=harm, figure=self.harm)
        if self.cause is not None:
            first, second, worst = self.cause
            told = {"harm": harm, "figure": self.harm, "first": first, "second": second, "worst": worst}
            said = say("sheet.wet.together-chiefly", **told)
        if self.blend >= 0.5:
            said = say("sheet.wet.meant-to-mix", said=said, blend=self.blend)
        return said


def wet_groups(content: SheetContent) -> tuple[WetGroup, ...]:
    """The groups in print order; every print stands in exactly one."""
    groups: list[tuple[list[Slot], bool]] = [([], False)]
    for slot in content.in_print_order():
        if slot.holds == "flash":
            groups[-1] = (groups[-1][0], True)
            groups.append(([], False))
        else:
            groups[-1][0].append(slot)
    return tuple(_group(content, slots, gelled) for slots, gelled in groups if slots)


def harm_word(harm: float) -> str:
    """The word for a group's harm in cm²·ΔE."""
    rows = read_toml("sheet/harm_words.toml")["words"]
    word = next(row["word"] for row in rows if harm < row.get("below", float("inf")))
    return say(f"sheet.harm.{word}")


def _group(content: SheetContent, slots: list[Slot], gelled: bool) -> WetGroup:
    harm = content.plan.harm
    at = {ink: index for index, ink in enumerate(harm.inks)}
    known, alone_inks = set(harm.inks), set(content.plan.limits.alone_until_flash)
    inks = [ink_of_screen(slot.ink or "", known) for slot in slots]
    pairs: dict[tuple[str, str], float] = {}
    for later, second in enumerate(inks):
        for first in inks[:later]:
            if first != second and first in at and second in at:
                pairs[first, second] = harm.matrix[at[first]][at[second]]
    worst = max(pairs, key=lambda pair: pairs[pair], default=None)
    told = bool(harm.inks)
    mixing = {frozenset(pair) for pair in content.plan.limits.no_flash_between}
    return WetGroup(
        slots=tuple(slots),
        harm=sum(pairs.values()) if told else None,
        cause=(*worst, pairs[worst]) if worst is not None and pairs[worst] >= 0.5 else None,
        alone=len(set(inks)) == 1 and inks[0] in alone_inks,
        gelled=gelled,
        blend=sum(value for pair, value in pairs.items() if frozenset(pair) in mixing),
    )
