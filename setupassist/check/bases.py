"""Findings on bases: what shows beyond the inks, how far it is drawn in, and what lies without it."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from setupassist.check.ground import Ground
from setupassist.documents.measure import Bare, Choke, Finding
from setupassist.documents.terms import UNDER_ROLES, Severity
from setupassist.screens.wants import DOTS
from setupassist.words import say

MOST_DRAWN_IN_MM = 1.2  # a base that shows further out has lost its ink there
ODD_PLATES = frozenset({"no-ink", "looks-reversed", "looks-turned", "sizes-differ"})
LEAST_RUN_MM = 1.0  # base that shows along less of an edge is the raster's doing


def base_findings(ground: Ground) -> Iterator[Finding]:
    """Bases that peek out or are not drawn in; with a job, inks that lack the base that they need."""
    printed = {plate.name for plate in ground.printed()}
    chokes = [choke for choke in ground.measure.chokes if choke.base in printed]
    for choke in chokes:
        if not ground.base_shows():
            yield from _shows(choke, ground)
    yield from _missing_under(chokes, ground)


def _shows(choke: Choke, ground: Ground) -> Iterator[Finding]:
    policies = ground.policies
    asked = ground.length(policies.choke_mm)
    if choke.peek_out_mm > policies.peek_out_mm and choke.peek_out_mm2 >= LEAST_RUN_MM * policies.peek_out_mm:
        width = ground.length(choke.peek_out_mm)
        yield Finding(
            code="base-peeks-out",
            severity=Severity.STOP,
            plates=(choke.base,),
            text=say("check.base-peeks-out", base=choke.base, width=width, area=choke.peek_out_mm2),
            remedy=say(f"check.remedy.{_peek_remedy(choke, ground)}", choke=asked),
            measured=choke.peek_out_mm,
            limit=policies.peek_out_mm,
            places_mm=choke.peek_out_places_mm,
        )
    elif choke.median_mm is not None and choke.median_mm < policies.register_tolerance_mm:
        least = ground.length(policies.register_tolerance_mm)
        drawn_in = ground.length(max(0.0, choke.median_mm))
        yield Finding(
            code="base-not-choked",
            severity=Severity.WARN,
            plates=(choke.base,),
            text=say("check.base-not-choked", base=choke.base, choke=drawn_in, least=least),
            remedy=say("check.remedy.base-not-choked", choke=asked),
            measured=choke.median_mm,
            limit=policies.register_tolerance_mm,
        )


def _peek_remedy(choke: Choke, ground: Ground) -> str:
    """Far beyond the inks, or beside a plate that is wrong itself, drawing in is no remedy."""
    odd = any(finding.code in ODD_PLATES for finding in ground.measure.findings)
    return "base-peeks-far-out" if odd or choke.peek_out_mm > MOST_DRAWN_IN_MM else "base-peeks-out"


def _missing_under(chokes: Iterable[Choke], ground: Ground) -> Iterator[Finding]:
    """Of several bases the one that carries most of an ink counts."""
    if ground.steps is None:
        return
    dots = {plate.name for plate in ground.measure.plates if plate.kind in DOTS}
    for need in ground.steps.screens:
        if need.plate is None or need.ink not in ground.steps.needs_base or need.role in UNDER_ROLES:
            continue
        plate, lies = need.plate, list[tuple[str, Bare]]()
        for choke in chokes:
            # Where both are dots or tone, base ends in the shadows on purpose: the cloth is their dark.
            if not dots.issuperset((plate, choke.base)):
                lies += [(choke.base, bare) for bare in choke.bare if bare.ink == plate]
        if not lies:
            continue
        base, bare = min(lies, key=lambda entry: entry[1].share)
        if bare.share > ground.policies.bare_share:
            yield Finding(
                code="base-missing-under",
                severity=Severity.WARN,
                plates=(plate, base),
                text=say("check.base-missing-under", ink=plate, base=base, share=bare.share),
                remedy=say("check.remedy.base-missing-under"),
                measured=bare.share,
                limit=ground.policies.bare_share,
                places_mm=bare.places_mm,
            )
