"""Findings on halftones and tones: rulings too fine for the stock, dots that no mesh holds, holes that fill in.

The smallest dot, and the smallest hole, is one opening and so many threads across; a round dot of diameter D in a
cell of pitch p prints pi D² / 4 p² of it. For 120 threads per cm of 34 µm and 55 lines an inch that is 5 %.
"""

from __future__ import annotations

import math
from collections.abc import Iterator

from setupassist.check.ground import Ground
from setupassist.documents.measure import TONE_STEPS, Finding, PlateMeasure
from setupassist.documents.terms import Kind, Severity
from setupassist.quantities import UM_PER_INCH, per_inch
from setupassist.screens.wants import ruling_words
from setupassist.trade.mesh import Cloth
from setupassist.words import say

MOST_TONE = 0.5


def dot_findings(ground: Ground) -> Iterator[Finding]:
    """What the finest stock screen does not carry, and what the chosen one, else the finest, does not hold."""
    yield from _rulings(ground)
    for plate in ground.printed():
        cloth, lines_per_inch = ground.cloth(plate.name), _ruling(plate, ground)
        if cloth is not None and lines_per_inch is not None and plate.tone_cm2 is not None:
            yield from _lost(plate, cloth, lines_per_inch, ground)
        elif cloth is not None:
            yield from _scattered(plate, cloth, ground)


def least_tone(cloth: Cloth, lines_per_inch: float, threads: float) -> float:
    """The lightest tone 0..0.5 whose round dots the mesh holds; its darkest is the rest to 1."""
    dot = cloth.finest_gap_um(threads) / (UM_PER_INCH / lines_per_inch)
    return min(MOST_TONE, math.pi / 4 * dot * dot)


def _ruling(plate: PlateMeasure, ground: Ground) -> float | None:
    if plate.halftone is not None:
        return plate.halftone.lines_per_inch
    return ground.tone_lines_per_inch if plate.kind is Kind.TONE else None


def _rulings(ground: Ground) -> Iterator[Finding]:
    if ground.finest is None:
        return
    most = per_inch(ground.finest.mesh_per_cm) / ground.policies.least_mesh_per_ruling
    for plate in ground.printed():
        if plate.halftone is not None and plate.halftone.lines_per_inch > most:
            told = {
                "ruling": ruling_words(plate.halftone.lines_per_inch, ground.units),
                "most": ruling_words(math.floor(most), ground.units),
            }
            yield Finding(
                code="ruling-too-fine",
                severity=Severity.WARN,
                plates=(plate.name,),
                text=say("check.ruling-too-fine", plate=plate.name, **told),
                remedy=say("check.remedy.ruling-too-fine"),
                measured=plate.halftone.lines_per_inch,
                limit=most,
            )


def _lost(plate: PlateMeasure, cloth: Cloth, lines_per_inch: float, ground: Ground) -> Iterator[Finding]:
    steps, share = plate.tone_cm2 or (), ground.policies.lost_dots_share
    whole = sum(steps)
    if not whole:
        return
    least = least_tone(cloth, lines_per_inch, ground.policies.speck_threads)
    light = area_below(steps, least) / whole
    # What is full is meant to be full: the last step holds no holes that could fill in.
    dark = area_below((0.0, *reversed(steps[:-1])), least) / whole
    told = {
        "mesh": ground.mesh(cloth),
        "dot": ground.length(ground.least_island_mm(cloth)),
        "ruling": ruling_words(lines_per_inch, ground.units),
    }
    if light > share:
        yield Finding(
            code="dots-lost",
            severity=Severity.WARN,
            plates=(plate.name,),
            text=say("check.dots-lost", plate=plate.name, tone=least, share=light, **told),
            remedy=say("check.remedy.dots-lost", tone=least),
            measured=light,
            limit=share,
            places_mm=plate.light_places_mm,
        )
    if dark > share:
        yield Finding(
            code="shadows-fill",
            severity=Severity.WARN,
            plates=(plate.name,),
            text=say("check.shadows-fill", plate=plate.name, tone=1 - least, share=dark, **told),
            remedy=say("check.remedy.shadows-fill", tone=1 - least),
            measured=dark,
            limit=share,
            places_mm=plate.dark_places_mm,
        )


def _scattered(plate: PlateMeasure, cloth: Cloth, ground: Ground) -> Iterator[Finding]:
    """Stochastic dots of one size: no tone of theirs is held where they are too small."""
    least = ground.least_island_mm(cloth)
    if plate.kind is Kind.STOCHASTIC and plate.dot_mm is not None and plate.dot_mm < least:
        told = {"dot": ground.length(plate.dot_mm), "mesh": ground.mesh(cloth), "least": ground.length(least)}
        yield Finding(
            code="dots-lost",
            severity=Severity.WARN,
            plates=(plate.name,),
            text=say("check.scattered-dots-lost", plate=plate.name, **told),
            remedy=say("check.remedy.scattered-dots-lost"),
            places_mm=plate.light_places_mm,
        )


def area_below(steps: tuple[float, ...], tone: float) -> float:
    """Area of tones below ``tone`` in cm², out of areas by equal steps of tone; a cut step is shared evenly."""
    whole, part = divmod(tone * TONE_STEPS, 1)
    count = int(whole)
    cut = steps[count] * part if count < len(steps) else 0.0
    return sum(steps[:count]) + cut
