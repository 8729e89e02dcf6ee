"""What all plates of a job have in common: sizes, resolution, marks, and how they meet."""

from __future__ import annotations

from setupassist.desk.desk import Desk
from setupassist.desk.inks_told import inks_told
from setupassist.desk.plate_rows import fine_length
from setupassist.desk.sound_plates import SoundPlates, without_missing
from setupassist.desk.tasks import Stage
from setupassist.documents.measure import Contact, Finding, Measure
from setupassist.documents.shop import Shop
from setupassist.documents.terms import UNDER_ROLES, Severity
from setupassist.pipeline import Planned, steps_and_screens
from setupassist.quantities import MM_PER_INCH
from setupassist.sheet.unit_words import UnitWords, number
from setupassist.words import say

FACTS = ("size", "art-box", "resolution", "marks", "overlap", "edge", "choke", "fine")


def findings_known(desk: Desk) -> tuple[Finding, ...]:
    """The findings in the order in which they are numbered, worst first, with lengths in the desk's units.

    They are the plan's, else those of the plates.
    """
    return findings_in(desk, desk.units)


def findings_in(desk: Desk, units: str | None) -> tuple[Finding, ...]:
    """The same findings with lengths in other units; None are the shop's."""
    found: tuple[Finding, ...] = desk.once(("findings", units), lambda: _findings(desk, desk.shop.in_units(units)))
    return found


def _findings(desk: Desk, shop: Shop) -> tuple[Finding, ...]:
    from setupassist.check.findings import findings_of_job, findings_of_plates

    planned, measured = planned_known(desk), desk.results.measured
    if planned is None:
        return findings_of_plates(measured.measure, shop=shop) if _fresh(desk) and measured is not None else ()
    if shop is desk.shop or desk.work is None or measured is None:
        return planned.findings
    steps, screens = planned.steps, planned.plan.screens
    if not screens:  # no plan exists: its findings went by the screens that were drawn before any had a station
        sound = SoundPlates(desk.results.plates, desk.results.unread) if desk.results.plates is not None else None
        work = desk.work if sound is None else without_missing(desk.work, sound)
        steps, screens = steps_and_screens(work, measured)
    return findings_of_job(
        measured.measure, steps, screens, press=desk.work.press, shop=shop, keep_empty=desk.job.keep_empty
    )


def planned_known(desk: Desk) -> Planned | None:
    """The plan whose findings count: the one that is made, else any that is fresh."""
    made, measured = desk.results.made, desk.results.measured
    if made is not None and (desk.fresh(Stage.MADE) or measured is None or not _fresh(desk)):
        return made
    if measured is None or not _fresh(desk):
        return None
    return next((plan for name, plan in desk.results.plans.items() if desk.fresh(Stage.PLANS, name)), None)


def _fresh(desk: Desk) -> bool:
    return desk.fresh(Stage.MEASURED)


def stops(desk: Desk) -> int:
    """How many findings would stop the job."""
    return sum(finding.severity is Severity.STOP for finding in findings_known(desk))


def reversed_plates(desk: Desk) -> tuple[str, ...]:
    """Names of plates that look like negatives."""
    return tuple(name for f in findings_known(desk) if f.code == "looks-reversed" for name in f.plates)


def no_resolution(desk: Desk) -> bool:
    """Whether the plates are open, and neither a file nor the person tells a resolution."""
    plates = desk.results.plates
    return plates is not None and not isinstance(plates, Measure) and plates.dpi is None


def drawn_by_us(desk: Desk) -> bool:
    """Whether the plates are drawn out of a PDF, at a resolution that the person may choose."""
    plates = desk.results.plates
    if plates is None or isinstance(plates, Measure):
        return False
    return any(plate.file.lower().endswith(".pdf") for plate in plates.plates)


def page_of(desk: Desk) -> tuple[int, int] | None:
    """The page that the plates were taken from, and how many there are; None where there is no choice.

    The count is 0 while the chosen page cannot be opened.
    """
    plates, chosen = desk.results.plates, desk.job.source.page
    if plates is not None and not isinstance(plates, Measure) and not desk.trouble(Stage.PLATES):
        first = max(plates.plates, key=lambda plate: plate.pages)
        if first.pages > 1:
            return (first.page if desk.fresh(Stage.PLATES) else chosen or 1), first.pages
    return None if chosen is None else (chosen, 0)


def has_plates(desk: Desk) -> bool:
    """Whether plates were opened, as they lie on the disk now, rather than figures or nothing."""
    plates = desk.results.plates
    return plates is not None and not isinstance(plates, Measure) and not desk.trouble(Stage.PLATES)


def art_facts(desk: Desk, words: UnitWords) -> dict[str, str]:
    """What is known of all plates together, worded, by its name in ``FACTS``."""
    return {name: told for name, told in _facts(desk, words).items() if told is not None}


def _facts(desk: Desk, words: UnitWords) -> dict[str, str | None]:
    plates = desk.results.plates
    told: dict[str, str | None] = {"resolution": _resolution(desk, words)}
    measured = desk.results.measured if desk.fresh(Stage.MEASURED) else None
    if measured is None:
        return told | {"size": _size_in_pixels(plates, words)}
    measure, art = measured.measure, measured.measure.art
    if art.width_mm and art.height_mm:
        told["size"] = words.size(art.width_mm, art.height_mm)
    if art.art_box_mm is not None:
        x, y, width, height = art.art_box_mm
        places = {"size": words.size(width, height), "left": words.length(x), "top": words.length(y)}
        told["art-box"] = words(say("place_art.fact.art-box", **places))
    if measured.plates is not None:
        told["marks"] = _marks(measure, words)
    under = {ink.name for ink in inks_told(desk) if ink.role in UNDER_ROLES}
    tops = [contact for contact in measure.contacts if not under.intersection(contact.plates)]
    largest = max(tops, key=lambda contact: contact.overlap_cm2, default=None)
    if largest is not None and largest.overlap_cm2 >= 0.05:
        told["overlap"] = _pair(largest, words, say("place_art.meets.overlap", area=largest.overlap_cm2))
    longest = max(tops, key=lambda contact: contact.shared_edge_cm, default=None)
    if longest is not None and longest.shared_edge_cm >= 0.5:
        told["edge"] = _pair(longest, words, say("place_art.meets.edge", edge=round(longest.shared_edge_cm)))
    chokes = [
        words(say("place_art.fact.choke", base=choke.base, median=fine_length(choke.median_mm, words)))
        for choke in measure.chokes
        if choke.median_mm is not None
    ]
    told["choke"] = ";  ".join(chokes) or None
    if all(plate.finest_line_mm is None and plate.finest_gap_mm is None for plate in measure.plates):
        told["fine"] = words(say("place_art.not-measured"))
    return told


def _resolution(desk: Desk, words: UnitWords) -> str | None:
    plates, measured = desk.results.plates, desk.results.measured
    if plates is None:
        return None
    if isinstance(plates, Measure):
        per_cm = measured.measure.art.pixels_per_cm if measured is not None else None
        return None if per_cm is None else words(say("place_art.fact.dpi", dpi=number(per_cm * 2.54)))
    if plates.dpi is None:
        return words(say("place_art.not-told"))
    by_hand = all(plate.dpi == desk.job.source.dpi for plate in plates.plates)
    return words(say(f"place_art.fact.{'dpi-by-hand' if by_hand else 'dpi'}", dpi=number(plates.dpi)))


def _size_in_pixels(plates: object, words: UnitWords) -> str | None:
    from setupassist.art.plates import PlateSet

    if not isinstance(plates, PlateSet):
        return None
    first = plates.plates[0]
    if plates.dpi is not None:
        return words.size(first.columns / plates.dpi * MM_PER_INCH, first.rows / plates.dpi * MM_PER_INCH)
    return words(say("place_art.fact.pixels", columns=first.columns, rows=first.rows))


def _marks(measure: Measure, words: UnitWords) -> str | None:
    inked = [plate for plate in measure.plates if plate.ink_area_cm2]
    if len(inked) < 2:
        return None
    missing = next((f.plates for f in measure.findings if f.code == "marks-missing"), ())
    if len(missing) >= len(inked):
        return words(say("place_art.fact.no-marks"))
    if missing:
        return words(say("place_art.fact.some-marks", count=len(missing), plates=", ".join(missing)))
    offsets = [max(map(abs, p.register_offset_mm)) for p in inked if p.register_offset_mm is not None]
    if offsets:
        return words(say("place_art.fact.marks-and-offset", offset=fine_length(max(offsets), words)))
    return words(say("place_art.fact.marks"))


def _pair(contact: Contact, words: UnitWords, how: str) -> str:
    one, two = contact.plates
    return words(say("place_art.fact.pair", one=one, two=two, how=how))
