"""Findings on inks that a base carries in part, where no job says which cloth they lie on."""

from __future__ import annotations

from collections.abc import Iterator

from setupassist.check.base_plate import needs_base
from setupassist.check.ground import Ground
from setupassist.documents.measure import Bare, Finding
from setupassist.documents.terms import Severity
from setupassist.screens.wants import DOTS
from setupassist.words import say

MOST_BARE = 0.5  # an ink of which less lies on the base was never meant to be carried by it


def bare_findings(ground: Ground) -> Iterator[Finding]:
    """Of plates alone: inks that a base leaves bare in part; of several bases the one that carries most counts."""
    if ground.steps is not None:
        return
    dots = {plate.name for plate in ground.measure.plates if plate.kind in DOTS}
    for plate in ground.measure.plates:
        if not needs_base(plate):
            continue
        lies = list[tuple[str, Bare]]()
        for choke in ground.measure.chokes:
            # Where both are dots or tone, base ends in the shadows on purpose: the cloth is their dark.
            if dots.issuperset((plate.name, choke.base)):
                continue
            told = [bare for bare in choke.bare if bare.ink == plate.name]
            lies.append((choke.base, told[0] if told else Bare(ink=plate.name, share=0.0)))
        if not lies:
            continue
        base, bare = min(lies, key=lambda entry: entry[1].share)
        if ground.policies.bare_share < bare.share <= MOST_BARE:
            yield Finding(
                code="base-leaves-bare",
                severity=Severity.NOTE,
                plates=(plate.name, base),
                text=say("check.base-missing-under", ink=plate.name, base=base, share=bare.share),
                remedy=say("check.remedy.base-leaves-bare"),
                measured=bare.share,
                limit=ground.policies.bare_share,
                places_mm=bare.places_mm,
            )
