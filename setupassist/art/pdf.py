"""Plates out of a PDF: one for every ink that a page paints, spot and process."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import Any

from setupassist.art.bands import Chunks, Picture
from setupassist.art.files import check_file, label
from setupassist.art.pdf_spool import Spool
from setupassist.art.plates import Note, Plate
from setupassist.art.tiff import PROCESS
from setupassist.documents.measure import MOST_PLATES
from setupassist.documents.terms import Severity
from setupassist.errors import InputFault, one_line
from setupassist.words import joined, say

USUAL_DPI = 600.0
MOST_NAMES_TOLD = 6

NOT_SEPARATED, FONT_MISSING, APPROXIMATED = "not-separated", "font-missing", "approximated"
KINDS = {
    "art.pdf.note-rgb": (NOT_SEPARATED, Severity.WARN, "art.pdf.separate-first"),
    "art.pdf.note-lab": (NOT_SEPARATED, Severity.WARN, "art.pdf.separate-first"),
    "art.pdf.note-image-unread": (NOT_SEPARATED, Severity.WARN, "art.pdf.export-again"),
    "art.pdf.note-joint-blend": (APPROXIMATED, Severity.NOTE, "art.pdf.export-flat"),
    "art.pdf.note-knockout": (APPROXIMATED, Severity.NOTE, "art.pdf.export-flat"),
    "art.pdf.note-fine-tiling": (APPROXIMATED, Severity.NOTE, "art.pdf.export-flat"),
    "art.pdf.note-tiled-text": (APPROXIMATED, Severity.NOTE, "art.pdf.export-flat"),
    "art.pdf.note-overprint-in-group": (APPROXIMATED, Severity.NOTE, "art.pdf.export-flat"),
}
"""Notes by id: code and severity of the finding, and what to do."""
SCREEN = frozenset({"art.pdf.note-rgb", "art.pdf.note-lab"})


def open_pdf(path: Path, *, dpi: float | None = None, page: int | None = None, light_is_ink: bool = False) -> Picture:
    """The plates of one page of a PDF, drawn at ``dpi`` (600 where none is given) when they are first read.

    A page that is nothing but images of one size that fill it keeps their own pixels and resolution.
    ``page`` counts from 1; without it the first page is taken. Process inks are called as in a TIFF of inks. Raises
    InputFault for a file that cannot be read, has no such page, is encrypted, or goes beyond the limits.
    """
    check_file(path)
    request: dict[str, Any] = {"path": str(path.resolve()), "page": page or 1, "dpi": dpi or USUAL_DPI}
    spool = Spool(path, request)
    found = spool.found
    if len(found["inks"]) > MOST_PLATES:
        told = say("art.tiff.too-many-inks", inks=len(found["inks"]), most=MOST_PLATES)
        raise InputFault(label(path), told, say("art.tiff.fewer"))
    plates = tuple(
        Plate(
            one_line(ink["name"], 1000),
            path.name,
            found["rows"],
            found["columns"],
            found["dpi"],
            ink["two_level"],
            ink["colour"],
            page=page or 1,
            pages=found["of"],
        )
        for ink in found["inks"]
    )

    def chunks(wanted: Sequence[int]) -> Chunks:
        yield from spool.bands(wanted)

    notes = _notes(path, found, page=page)
    if light_is_ink:
        notes.append(say("art.note.says-ink-itself", file=label(path), count=1))
    return Picture(plates, chunks, tuple(notes))


def _notes(path: Path, found: dict[str, Any], *, page: int | None) -> list[str | Note]:
    """What the person should know of how the page was read."""
    file = label(path)
    notes: list[str | Note] = []
    if page is None and found["of"] > 1:
        notes.append(say("art.pdf.note-first-page", file=file, count=found["of"]))
    for key, places in found["told"].items():
        code, severity, remedy = KINDS[key]
        at = tuple((x, y) for x, y in places)
        shared_out = tuple(ink["name"] for ink in found["inks"] if ink["name"] in PROCESS) if key in SCREEN else ()
        notes.append(Note(code, severity, say(key, file=file), say(remedy), shared_out, at))
    if found["fonts"]:
        names = [one_line(name, 60) for name in found["fonts"]]
        more = len(names) - MOST_NAMES_TOLD
        listed = joined([*names[:MOST_NAMES_TOLD], *(["…"] if more > 0 else [])])
        told = say("art.pdf.note-fonts", file=file, count=len(names), fonts=listed)
        notes.append(Note(FONT_MISSING, Severity.WARN, told, say("art.pdf.embed-fonts")))
    for other, ink in found["merged"].items():
        notes.append(say("art.pdf.note-merged", file=file, one=one_line(ink, 60), other=one_line(other, 60)))
    if found["unseen"]:
        names = [one_line(name, 60) for name in found["unseen"]]
        notes.append(say("art.pdf.note-unseen", file=file, count=len(names), inks=joined(names[:MOST_NAMES_TOLD])))
    if found["annotated"]:
        notes.append(say("art.pdf.note-annotations", file=file))
    return notes
