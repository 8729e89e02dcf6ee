"""Findings that the pixels of a set can tell by themselves, and those told before any pixel is read."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

from setupassist.art.files import label
from setupassist.art.pdf import NOT_SEPARATED
from setupassist.art.plates import Note, Plate, PlateSet
from setupassist.documents.measure import Finding, PlateMeasure
from setupassist.documents.terms import Kind, Severity
from setupassist.inspection.marks import limit
from setupassist.inspection.planes import Box, PackedPlate
from setupassist.words import Said, joined, say

SAME_DPI = 0.001
ROUNDED_PIXELS = 1.5
FILE_NOTES = "art.note."


def odd_sizes(plates: PlateSet) -> list[Finding]:
    """Plates that are not of the first one's size or resolution; nothing is measured then.

    A plate of another resolution has other pixels for the same size; only its resolution is told then.
    """
    first, found = plates.plates[0], []
    odd = [
        p
        for p in plates.plates
        if (p.rows, p.columns) != (first.rows, first.columns) and not _same_lengths(p, first, plates.dpi)
    ]
    if odd:
        text = _told("sizes-differ", plates=_listed([p.name for p in odd]), first=first.name,
                     columns=first.columns, rows=first.rows)  # fmt: skip
        names = tuple(p.name for p in odd)
        remedy = _remedy("sizes-differ")
        found.append(Finding(code="sizes-differ", severity=Severity.STOP, plates=names, text=text, remedy=remedy))
    dpi = plates.dpi
    uneven = [p for p in plates.plates if p.dpi is not None and dpi is not None and abs(p.dpi - dpi) > SAME_DPI * dpi]
    if uneven and dpi is not None:
        text = _told("resolutions-differ", plates=_listed([p.name for p in uneven]), dpi=dpi)
        names = tuple(p.name for p in uneven)
        found.append(
            Finding(
                code="resolutions-differ",
                severity=Severity.STOP,
                plates=names,
                text=text,
                remedy=_remedy("resolutions-differ"),
                measured=uneven[0].dpi,
                limit=dpi,
            )
        )
    return found


def _same_lengths(one: Plate, other: Plate, dpi: float | None) -> bool:
    """Whether plates of two resolutions are of one size on the film, but for rounding to pixels of the coarser."""
    first, second = one.dpi or dpi, other.dpi or dpi
    if first is None or second is None or abs(first - second) <= SAME_DPI * second:
        return False
    most = ROUNDED_PIXELS / min(first, second)
    sides = ((one.rows, other.rows), (one.columns, other.columns))
    return all(abs(here / first - there / second) <= most for here, there in sides)


def no_ink(measures: Sequence[PlateMeasure]) -> list[Finding]:
    """Plates without ink."""
    return [
        Finding(
            code="no-ink",
            severity=Severity.STOP,
            plates=(plate.name,),
            measured=plate.ink_area_cm2,
            text=_told("no-ink", plate=plate.name),
            remedy=_remedy("no-ink"),
        )
        for plate in measures
        if plate.kind is Kind.EMPTY
    ]


def resolution_low(measures: Sequence[PlateMeasure], dpi: float) -> list[Finding]:
    """Solid plates and halftones with too few pixels."""
    found = []
    least, pixels = limit("solid_least_dpi"), limit("halftone_least_pixels")
    for plate in measures:
        if plate.kind is Kind.SOLID and dpi < least * 0.999:
            text = _told("resolution-low", plate=plate.name, dpi=dpi, least=least)
            found.append(_low(plate.name, text, dpi, least))
        elif plate.kind is Kind.HALFTONE and plate.halftone is not None:
            row = dpi / plate.halftone.lines_per_inch
            if row < pixels:
                text = _told("dot-rows-low", plate=plate.name, pixels=row, lines=dpi / row, dpi=dpi, least=pixels)
                found.append(_low(plate.name, text, row, pixels))
    return found


def marks_missing(names: Sequence[str], plates: Sequence[PackedPlate], marks: Sequence[Sequence[Box]]) -> list[Finding]:
    """Inked plates without registration marks; a single plate cannot tell, as marks are known by their recurring."""
    inked = [i for i, plate in enumerate(plates) if plate.ink.any()]
    without = tuple(names[i] for i in inked if not marks[i])
    if len(inked) < 2 or not without:
        return []
    if len(without) == len(inked):
        return [
            Finding(
                code="marks-missing",
                severity=Severity.NOTE,
                plates=without,
                text=_told("no-marks-at-all"),
                remedy=_remedy("no-marks-at-all"),
            )
        ]
    return [
        Finding(
            code="marks-missing",
            severity=Severity.WARN,
            plates=without,
            text=_told("marks-missing", plates=_listed(without)),
            remedy=_remedy("marks-missing"),
        )
    ]


def _low(name: str, text: str, measured: float, least: float) -> Finding:
    return Finding(
        code="resolution-low",
        severity=Severity.WARN,
        plates=(name,),
        text=text,
        remedy=_remedy("resolution-low"),
        measured=measured,
        limit=least,
    )


def _told(finding: str, **values: object) -> Said:
    return say(f"inspection.finding.{finding}", **values)


def _remedy(finding: str) -> Said:
    """What to do about a finding."""
    return say(f"inspection.remedy.{finding}")


def _listed(names: Sequence[str], most: int = 4) -> str:
    more = len(names) - most
    first = joined(names[:most])
    return say("inspection.names.more", names=first, more=more) if more > 0 else first


def reading_notes(plates: PlateSet) -> list[Finding]:
    """What the readers left out or took for granted, and plates without a resolution among others that have one.

    What they say of several files alike is one finding that names them.
    """
    found = [
        Finding(
            code=note.code,
            severity=note.severity,
            text=note.text,
            remedy=note.remedy,
            plates=note.plates,
            places_mm=note.places_mm,
        )
        if isinstance(note, Note)
        else _plain_note(note, ())
        for note in plates.notes
        if isinstance(note, Note) or _file_told(note) is None
    ]
    told: dict[str, list[str]] = {}
    for note in plates.notes:
        if isinstance(note, Said) and (file := _file_told(note)) is not None:
            told.setdefault(note.key, []).append(file)
    for key, every in told.items():
        files = list(dict.fromkeys(every))
        text = say(key, file=_listed(files), count=len(files))
        names = tuple(plate.name for plate in plates.plates if label(Path(plate.file)) in files)
        found.append(_plain_note(text, names))
    silent = [plate.name for plate in plates.plates if plate.dpi is None]
    if silent and plates.dpi is not None:
        text = _told("no-resolution", plates=_listed(silent), dpi=plates.dpi)
        found.append(_plain_note(text, tuple(silent)))
    return found


def but_shared_out(same: Sequence[Finding], plates: PlateSet) -> list[Finding]:
    """Pairs of plates with one image, without those that come from objects shared out to the process inks.

    Pure hues and greys of screen colours are the same on two or more of them; that they are not separated is told.
    """
    shared = {
        name for note in plates.notes if isinstance(note, Note) and note.code == NOT_SEPARATED for name in note.plates
    }
    return [finding for finding in same if not shared.issuperset(finding.plates)]


def _file_told(note: str) -> str | None:
    """The file of a note that several files may give alike, None for any other."""
    if not isinstance(note, Said) or not note.key.startswith(FILE_NOTES) or note.values.keys() - {"count"} != {"file"}:
        return None
    return str(note.values["file"])


def _plain_note(text: str, plates: tuple[str, ...]) -> Finding:
    remedy = _remedy("reading-note")
    return Finding(code="reading-note", severity=Severity.NOTE, plates=plates, text=text, remedy=remedy)
