"""Plates opened from a path: a folder of single-plate images, one image, or a TIFF of several inks."""

from __future__ import annotations

import itertools
import os
import re
import unicodedata
from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from types import MappingProxyType

from setupassist.art.bands import Pick, Picture, alike, plain_name, plate_set
from setupassist.art.bmp import open_bmp
from setupassist.art.files import MOST_TIFF_BYTES, check_dpi, check_file, label, opened, short
from setupassist.art.jpeg import open_jpeg
from setupassist.art.plates import INK_UNNAMED, Note, Plate, PlateSet, name_fault
from setupassist.art.png import SIGNATURE, open_png
from setupassist.art.tiff import open_tiff
from setupassist.documents.base import MOST_NAME_LENGTH
from setupassist.documents.measure import MOST_PLATES
from setupassist.errors import InputFault, InputFaults, did_you_mean, one_line, system_reason
from setupassist.words import say

IMAGE_ENDINGS = frozenset({".png", ".tif", ".tiff", ".jpg", ".jpeg", ".bmp"})
OTHER_PICTURE_ENDINGS = frozenset({".ai", ".eps", ".gif", ".heic", ".jp2", ".ps", ".psd", ".svg", ".webp"})
PDF_ENDING = ".pdf"
PAGED_ENDINGS = frozenset({".tif", ".tiff", PDF_ENDING})
DOCUMENT_ENDINGS = frozenset({".json", ".toml", ".txt", ".md"})
MOST_FOLDER_ENTRIES = 10_000
MOST_LEFT_OUT_TOLD = 8
NO_NAMES: Mapping[str, str] = MappingProxyType({})


def name_from_file(path: Path) -> str:
    """The ink's name in a file name: without a leading number and the ending, ``-`` and ``_`` read as spaces.

    Composed and decomposed letters make one name (Unicode's form NFC). Empty where nothing printable is left.
    """
    stem = unicodedata.normalize("NFC", path.stem)
    plain = " ".join(stem.replace("-", " ").replace("_", " ").split())
    name = re.sub(r"^\d+[\s.)]*", "", plain) or plain
    return one_line(name, MOST_NAME_LENGTH)


def open_plates(
    path: Path,
    *,
    dpi: float | None = None,
    light_is_ink: bool = False,
    page: int | None = None,
    names: Mapping[str, str] = NO_NAMES,
) -> PlateSet:
    """The plates of a folder of images, of one image, of a TIFF with several inks or pages, or of a page of a PDF.

    ``dpi`` fills in where a file tells none, and is what a PDF is drawn at (600 without it). Dark is ink in grey and
    two-level pictures, ``light_is_ink`` turns that round. ``page`` picks one page of a TIFF or PDF, counted from 1. A
    folder may hold a PDF by itself. ``names`` are names for inks that the file leaves nameless, by what
    stands in for them. Plates of different sizes are listed; reading them raises InputFault. Raises
    InputFault, or InputFaults for several bad files of a folder.
    """
    return _found_at(path, dpi=dpi, light_is_ink=light_is_ink, page=page, names=names).whole_set(dpi)


def open_files(
    files: Sequence[tuple[Path, str | None]],
    *,
    dpi: float | None = None,
    light_is_ink: bool = False,
    page: int | None = None,
    source: str = "",
    names: Mapping[str, str] = NO_NAMES,
) -> PlateSet:
    """The plates that a job lists as (file, ink).

    An image of one plate goes by the ink's name given, else by its file's. Of a file with several inks the named one
    is taken, all of them where no name is given; such a file is read once, however many of its inks are listed.
    """
    return _found_in(files, dpi=dpi, light_is_ink=light_is_ink, page=page, source=source, names=names).whole_set(dpi)


def open_what_opens(
    files: Path | Sequence[tuple[Path, str | None]],
    *,
    dpi: float | None = None,
    light_is_ink: bool = False,
    page: int | None = None,
    source: str = "",
    leave_out: Collection[str] = (),
    names: Mapping[str, str] = NO_NAMES,
) -> tuple[PlateSet | None, tuple[InputFault, ...]]:
    """The sound plates of a path or of a job's list, None where there is none, and what is wrong with the others.

    Takes what ``open_plates`` or ``open_files`` takes; files whose ``label`` is in ``leave_out`` are passed over.
    Headers are checked here; damage that shows only on the way is an InputFault of ``PlateSet.read``. A plate whose
    name no ink may bear, or that another plate has, is left out. Raises MachineFault where the machine fails.
    """
    faults: list[InputFault] = []
    try:
        if isinstance(files, Path):
            found = _found_at(files, dpi=dpi, light_is_ink=light_is_ink, page=page, leave_out=leave_out, names=names)
        else:
            files = [entry for entry in files if label(entry[0]) not in leave_out]
            if not files and leave_out:
                return None, ()
            found = _found_in(files, dpi=dpi, light_is_ink=light_is_ink, page=page, source=source, names=names)
        faults += found.faults
        picks = _well_named(found, faults)
        return (replace(found, picks=picks, faults=[]).whole_set(dpi) if picks else None), tuple(faults)
    except InputFault as fault:
        return None, (*faults, *(fault.faults if isinstance(fault, InputFaults) else (fault,)))


@dataclass(frozen=True)
class _Found:
    """What opened of a path or a list, and the faults of what did not."""

    source: str
    pictures: list[Picture]
    picks: list[Pick]
    notes: list[str | Note]
    faults: list[InputFault]

    def whole_set(self, dpi: float | None) -> PlateSet:
        """The set; InputFault or InputFaults where anything did not open."""
        if self.faults:
            raise self.faults[0] if len(self.faults) == 1 else InputFaults(self.faults)
        if len(self.picks) > MOST_PLATES:
            told = say("art.set.lists-too-many", plates=len(self.picks), most=MOST_PLATES)
            raise InputFault(self.source, told, say("art.set.leave-some-out"))
        used = [self.pictures[number] for number in dict.fromkeys(pick.picture for pick in self.picks)]
        notes = [*self.notes, *self._named(used), *_dpi_notes(used, dpi)]
        return plate_set(self.source, self.pictures, self.picks, notes)

    def _named(self, used: Sequence[Picture]) -> list[str | Note]:
        """The notes of the pictures, in which plates go by the names that they have in the set."""
        called: dict[str, str] = {}
        for pick in self.picks:
            called.setdefault(self.pictures[pick.picture].plates[pick.index].name, pick.name)
        return [
            replace(note, plates=tuple(called[name] for name in note.plates if name in called))
            if isinstance(note, Note)
            else note
            for picture in used
            for note in picture.notes
        ]


def _found_at(
    path: Path,
    *,
    dpi: float | None,
    light_is_ink: bool,
    page: int | None,
    names: Mapping[str, str],
    leave_out: Collection[str] = (),
) -> _Found:
    check_dpi(label(path), dpi)
    faults: list[InputFault] = []
    if os.path.isdir(path):  # says no to a path that cannot be, where Path raises
        files, notes = _folder(path)
        alone = files[0].suffix.lower() == PDF_ENDING
        if page is not None and not alone:
            told, remedy = say("art.set.folder-has-no-pages"), say("art.set.leave-page-out")
            raise InputFault(label(path, whole=True), told, remedy)
        pictures = []
        for file in (file for file in files if label(file) not in leave_out):
            try:
                if alone:
                    pictures = _open(file, dpi=dpi, light_is_ink=light_is_ink, page=page)
                else:
                    pictures.append(_single(file, dpi=dpi, light_is_ink=light_is_ink))
            except InputFault as fault:
                faults.append(fault)
    elif label(path) in leave_out:
        notes, pictures = [], []
    else:
        notes, pictures = [], _open(path, dpi=dpi, light_is_ink=light_is_ink, page=page)
    pictures = [_named(_with_dpi(picture, dpi), names) for picture in pictures]
    picks = [
        Pick(number, index, plate.name)
        for number, picture in enumerate(pictures)
        for index, plate in enumerate(picture.plates)
    ]
    return _Found(label(path) or label(path, whole=True), pictures, picks, notes, faults)


def _found_in(
    files: Sequence[tuple[Path, str | None]],
    *,
    dpi: float | None,
    light_is_ink: bool,
    page: int | None,
    source: str,
    names: Mapping[str, str],
) -> _Found:
    check_dpi(source, dpi)
    if not files:
        raise InputFault(source, say("art.set.lists-none"), say("art.set.name-a-file"))
    pictures: list[Picture] = []
    opened_before: dict[Path, list[int]] = {}
    picks: list[Pick] = []
    faults: list[InputFault] = []
    for path, ink in files:
        try:
            if path not in opened_before:
                # A page is asked of the file that has pages, not of a base or another single plate listed beside it.
                own = page if len(files) == 1 or path.suffix.lower() in PAGED_ENDINGS else None
                found = _open(path, dpi=dpi, light_is_ink=light_is_ink, page=own)
                opened_before[path] = list(range(len(pictures), len(pictures) + len(found)))
                pictures += [_named(_with_dpi(picture, dpi), names) for picture in found]
            picks += _picked(path, ink, pictures, opened_before[path])
        except InputFault as fault:
            opened_before.setdefault(path, [])
            faults.append(fault)
    return _Found(source or files[0][0].parent.name, pictures, picks, [], faults)


def _well_named(found: _Found, faults: list[InputFault]) -> list[Pick]:
    """The plates whose names inks may bear, each name once; what is wrong with the others goes to ``faults``."""
    named: dict[str, tuple[Pick, Plate]] = {}
    for pick in found.picks:
        plate = replace(found.pictures[pick.picture].plates[pick.index], name=pick.name)
        wrong = name_fault(plate)
        if wrong is None and plain_name(plate.name) in named:
            wrong = alike(named[plain_name(plate.name)][1], plate)
        if wrong is not None:
            faults.append(wrong)
        else:
            named[plain_name(plate.name)] = pick, plate
    return [pick for pick, _ in named.values()]


def _picked(path: Path, ink: str | None, pictures: Sequence[Picture], numbers: Sequence[int]) -> list[Pick]:
    """The plates of one file that a job's entry means."""
    every = [
        Pick(number, index, plate.name) for number in numbers for index, plate in enumerate(pictures[number].plates)
    ]
    if ink is None:
        return every
    if len(every) == 1:
        return [replace(every[0], name=ink)]
    wanted = [pick for pick in every if plain_name(pick.name) == plain_name(ink)]
    if not wanted:
        told = say("art.set.no-ink", ink=short(ink))
        raise InputFault(label(path), told, did_you_mean(ink, [pick.name for pick in every]))
    return [replace(wanted[0], name=ink.strip())]


def _folder(folder: Path) -> tuple[list[Path], list[str | Note]]:
    """The images of a folder sorted by file name, or its one PDF where it holds no image; and what is left out."""
    where = label(folder, whole=True)
    try:
        entries = list(itertools.islice(folder.iterdir(), MOST_FOLDER_ENTRIES + 1))
    except OSError as error:
        told = say("art.set.not-listed", reason=system_reason(error))
        raise InputFault(where, told, say("art.set.check-permissions")) from None
    if len(entries) > MOST_FOLDER_ENTRIES:
        raise InputFault(where, say("art.set.too-many-files"), say("art.set.nothing-but-plates"))
    images: list[Path] = []
    pdfs: list[Path] = []
    left_out: list[str | Note] = []
    for entry in sorted(entries, key=lambda entry: entry.name):
        ending = entry.suffix.lower()
        if entry.name.startswith(".") or ending in DOCUMENT_ENDINGS:
            continue
        if ending in IMAGE_ENDINGS or ending in OTHER_PICTURE_ENDINGS:
            images.append(entry)
        elif not entry.is_dir():
            key = "art.note.pdf-left-out" if ending == PDF_ENDING else "art.note.left-out"
            left_out.append(say(key, file=label(entry), count=1))
            if ending == PDF_ENDING:
                pdfs.append(entry)
    if not images and len(pdfs) == 1:
        return pdfs, [note for note in left_out if note != say("art.note.pdf-left-out", file=label(pdfs[0]), count=1)]
    if not images and pdfs:
        raise InputFault(where, say("art.set.several-pdfs", count=len(pdfs)), say("art.set.one-pdf"))
    if not images:
        raise InputFault(where, say("art.set.no-images"), say("art.set.one-image-a-plate"))
    if len(images) > MOST_PLATES:
        told = say("art.set.too-many-images", images=len(images), most=MOST_PLATES)
        raise InputFault(where, told, say("art.set.leave-some-out"))
    if len(left_out) > MOST_LEFT_OUT_TOLD:
        more = len(left_out) - MOST_LEFT_OUT_TOLD
        left_out[MOST_LEFT_OUT_TOLD:] = [say("art.note.more-left-out", count=more)]
    return images, left_out


def _single(path: Path, *, dpi: float | None, light_is_ink: bool) -> Picture:
    """The one plate of an image in a folder."""
    pictures = _open(path, dpi=dpi, light_is_ink=light_is_ink, page=None)
    plates = sum(len(picture.plates) for picture in pictures)
    if plates > 1:
        raise InputFault(label(path), say("art.set.inks-in-a-folder", plates=plates), say("art.set.by-itself"))
    picture = pictures[0]
    return replace(picture, plates=(replace(picture.plates[0], name=name_from_file(path)),))


def _open(path: Path, *, dpi: float | None, light_is_ink: bool, page: int | None) -> list[Picture]:
    """The pictures of one file, its kind told by its first bytes."""
    check_file(path, most_bytes=MOST_TIFF_BYTES)
    with opened(path) as file:
        head = file.read(1024)
    name = name_from_file(path)
    if head[:4] in (b"II*\0", b"MM\0*", b"II+\0", b"MM\0+"):
        return open_tiff(path, name, light_is_ink=light_is_ink, page=page)
    if b"%PDF-" in head:
        from setupassist.art.pdf import open_pdf

        return [open_pdf(path, dpi=dpi, page=page, light_is_ink=light_is_ink)]
    if page not in (None, 1):
        raise InputFault(label(path), say("art.kind.no-page", count=1, page=page), say("art.set.leave-page-out"))
    if head.startswith(SIGNATURE):
        return [open_png(path, name, light_is_ink=light_is_ink)]
    if head.startswith(b"\xff\xd8\xff"):
        return [open_jpeg(path, name, light_is_ink=light_is_ink)]
    if head.startswith(b"BM"):
        return [open_bmp(path, name, light_is_ink=light_is_ink)]
    raise InputFault(label(path), say("art.kind.unknown"), say("art.kind.export-as-png"))


def _with_dpi(picture: Picture, dpi: float | None) -> Picture:
    plates = tuple(plate if plate.dpi is not None else replace(plate, dpi=dpi) for plate in picture.plates)
    return replace(picture, plates=plates)


def _named(picture: Picture, names: Mapping[str, str]) -> Picture:
    """The picture with the person's names for its nameless inks; what is named is wanted no more."""
    plates = tuple(replace(plate, name=names.get(plate.stand_in, plate.name)) for plate in picture.plates)
    asked = [
        note
        for note in picture.notes
        if not (isinstance(note, Note) and note.code == INK_UNNAMED and names.keys() >= set(note.plates))
    ]
    return replace(picture, plates=plates, notes=tuple(asked))


def _dpi_notes(pictures: Sequence[Picture], dpi: float | None) -> list[str]:
    """What is not done with the resolution given: files that tell one themselves keep it."""
    own = [plate for picture in pictures for plate in picture.plates if plate.dpi is not None and plate.dpi != dpi]
    if dpi is None or not own:
        return []
    files = list(dict.fromkeys(short(plate.file) for plate in own))
    told = {"file": files[0], "own": own[0].dpi, "given": dpi}
    if len(files) > 1:
        return [say("art.note.own-dpi-and-more", more=len(files) - 1, **told)]
    return [say("art.note.own-dpi", **told)]
