"""Plates opened from a path: a folder of single-plate images, one image, or a TIFF of several inks."""

from __future__ import annotations

import itertools
import os
import re
import unicodedata
from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path

from setupassist.art.bands import Pick, Picture, plain_name, plate_set
from setupassist.art.bmp import open_bmp
from setupassist.art.files import check_dpi, check_file, label, opened, short
from setupassist.art.jpeg import open_jpeg
from setupassist.art.plates import PlateSet
from setupassist.art.png import SIGNATURE, open_png
from setupassist.art.tiff import open_tiff
from setupassist.documents.base import MOST_NAME_LENGTH
from setupassist.documents.measure import MOST_PLATES
from setupassist.errors import InputFault, InputFaults, did_you_mean, one_line

IMAGE_ENDINGS = frozenset({".png", ".tif", ".tiff", ".jpg", ".jpeg", ".bmp"})
OTHER_PICTURE_ENDINGS = frozenset({".ai", ".eps", ".gif", ".heic", ".jp2", ".ps", ".psd", ".svg", ".webp"})
DOCUMENT_ENDINGS = frozenset({".json", ".toml", ".txt", ".md"})
MOST_FOLDER_ENTRIES = 10_000
MOST_LEFT_OUT_TOLD = 8
PDF_REMEDY = "export the plates as TIFF or PNG"


def name_from_file(path: Path) -> str:
    """The ink's name in a file name: without a leading number and the ending, ``-`` and ``_`` read as spaces.

    Composed and decomposed letters make one name (Unicode's form NFC). Empty where nothing printable is left.
    """
    stem = unicodedata.normalize("NFC", path.stem)
    plain = " ".join(stem.replace("-", " ").replace("_", " ").split())
    name = re.sub(r"^\d+[\s.)]*", "", plain) or plain
    return one_line(name, MOST_NAME_LENGTH)


def open_plates(
    path: Path, *, dpi: float | None = None, light_is_ink: bool = False, page: int | None = None
) -> PlateSet:
    """The plates of a folder of images, of one image, or of a TIFF with several inks or pages.

    ``dpi`` fills in where a file tells none. Dark is ink in grey and two-level pictures, ``light_is_ink`` turns that
    round. ``page`` picks one page of a TIFF, counted from 1. Plates of different sizes are listed; reading them
    raises InputFault. Raises InputFault, or InputFaults for several bad files of a folder.
    """
    check_dpi(label(path), dpi)
    if os.path.isdir(path):  # says no to a path that cannot be, where Path raises
        if page is not None:
            raise InputFault(label(path, whole=True), "is a folder, which has no pages", "leave the page out")
        files, notes = _folder(path)
        pictures, faults = [], []
        for file in files:
            try:
                pictures.append(_single(file, light_is_ink=light_is_ink))
            except InputFault as fault:
                faults.append(fault)
        if faults:
            raise faults[0] if len(faults) == 1 else InputFaults(faults)
    else:
        notes, pictures = [], _open(path, light_is_ink=light_is_ink, page=page)
    pictures = [_with_dpi(picture, dpi) for picture in pictures]
    picks = [
        Pick(number, index, plate.name)
        for number, picture in enumerate(pictures)
        for index, plate in enumerate(picture.plates)
    ]
    notes += [note for picture in pictures for note in picture.notes] + _dpi_notes(pictures, dpi)
    return plate_set(label(path) or label(path, whole=True), pictures, picks, notes)


def open_files(
    files: Sequence[tuple[Path, str | None]],
    *,
    dpi: float | None = None,
    light_is_ink: bool = False,
    page: int | None = None,
    source: str = "",
) -> PlateSet:
    """The plates that a job lists as (file, ink).

    An image of one plate goes by the ink's name given, else by its file's. Of a file with several inks the named one
    is taken, all of them where no name is given; such a file is read once, however many of its inks are listed.
    """
    check_dpi(source, dpi)
    if not files:
        raise InputFault(source, "lists no plates", "name at least one file")
    pictures: list[Picture] = []
    opened_before: dict[Path, list[int]] = {}
    picks: list[Pick] = []
    faults: list[InputFault] = []
    for path, ink in files:
        try:
            if path not in opened_before:
                found = _open(path, light_is_ink=light_is_ink, page=page)
                opened_before[path] = list(range(len(pictures), len(pictures) + len(found)))
                pictures += [_with_dpi(picture, dpi) for picture in found]
            picks += _picked(path, ink, pictures, opened_before[path])
        except InputFault as fault:
            opened_before.setdefault(path, [])
            faults.append(fault)
    if faults:
        raise faults[0] if len(faults) == 1 else InputFaults(faults)
    if len(picks) > MOST_PLATES:
        raise InputFault(source, f"lists {len(picks)} plates, above the limit of {MOST_PLATES}", "leave some out")
    notes = [note for picture in pictures for note in picture.notes] + _dpi_notes(pictures, dpi)
    return plate_set(source or files[0][0].parent.name, pictures, picks, notes)


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
        raise InputFault(label(path), f"holds no ink '{short(ink)}'", did_you_mean(ink, [pick.name for pick in every]))
    return [replace(wanted[0], name=ink.strip())]


def _folder(folder: Path) -> tuple[list[Path], list[str]]:
    """The images of a folder sorted by file name, and notes on what is left out."""
    where = label(folder, whole=True)
    try:
        entries = list(itertools.islice(folder.iterdir(), MOST_FOLDER_ENTRIES + 1))
    except OSError as error:
        raise InputFault(where, f"cannot be listed ({error.strerror})", "check its permissions") from None
    if len(entries) > MOST_FOLDER_ENTRIES:
        raise InputFault(where, "holds far too many files", "hand in a folder with nothing but plates")
    images: list[Path] = []
    left_out: list[str] = []
    for entry in sorted(entries, key=lambda entry: entry.name):
        ending = entry.suffix.lower()
        if entry.name.startswith(".") or ending in DOCUMENT_ENDINGS:
            continue
        if ending in IMAGE_ENDINGS or ending in OTHER_PICTURE_ENDINGS:
            images.append(entry)
        elif not entry.is_dir():
            why = f"a PDF among images is not read; {PDF_REMEDY}" if ending == ".pdf" else "it is not an image"
            left_out.append(f"{label(entry)} is left out: {why}")
    if not images:
        raise InputFault(where, "holds no images", "put one PNG, TIFF, JPEG or BMP a plate into it")
    if len(images) > MOST_PLATES:
        raise InputFault(where, f"holds {len(images)} images, above the limit of {MOST_PLATES}", "leave some out")
    if len(left_out) > MOST_LEFT_OUT_TOLD:
        more = len(left_out) - MOST_LEFT_OUT_TOLD
        left_out[MOST_LEFT_OUT_TOLD:] = [f"{more} more files are left out: they are not read"]
    return images, left_out


def _single(path: Path, *, light_is_ink: bool) -> Picture:
    """The one plate of an image in a folder."""
    pictures = _open(path, light_is_ink=light_is_ink, page=None)
    plates = sum(len(picture.plates) for picture in pictures)
    if plates > 1:
        raise InputFault(
            label(path), f"holds {plates} inks, while a folder takes one plate a file", "hand it in by itself"
        )
    picture = pictures[0]
    return replace(picture, plates=(replace(picture.plates[0], name=name_from_file(path)),))


def _open(path: Path, *, light_is_ink: bool, page: int | None) -> list[Picture]:
    """The pictures of one file, its kind told by its first bytes."""
    check_file(path)
    with opened(path) as file:
        head = file.read(1024)
    name = name_from_file(path)
    if head[:4] in (b"II*\0", b"MM\0*", b"II+\0", b"MM\0+"):
        return open_tiff(path, name, light_is_ink=light_is_ink, page=page)
    if b"%PDF-" in head:
        raise InputFault(label(path), "is a PDF; this version reads images and TIFF", PDF_REMEDY)
    if page not in (None, 1):
        raise InputFault(label(path), f"has one page, so there is no page {page}", "leave the page out")
    if head.startswith(SIGNATURE):
        return [open_png(path, name, light_is_ink=light_is_ink)]
    if head.startswith(b"\xff\xd8\xff"):
        return [open_jpeg(path, name, light_is_ink=light_is_ink)]
    if head.startswith(b"BM"):
        return [open_bmp(path, name, light_is_ink=light_is_ink)]
    raise InputFault(label(path), "is not a PNG, TIFF, JPEG or BMP image", "export the plate again as PNG or TIFF")


def _with_dpi(picture: Picture, dpi: float | None) -> Picture:
    plates = tuple(plate if plate.dpi is not None else replace(plate, dpi=dpi) for plate in picture.plates)
    return replace(picture, plates=plates)


def _dpi_notes(pictures: Sequence[Picture], dpi: float | None) -> list[str]:
    """What is not done with the resolution given: files that tell one themselves keep it."""
    own = [plate for picture in pictures for plate in picture.plates if plate.dpi is not None and plate.dpi != dpi]
    if dpi is None or not own:
        return []
    files = list(dict.fromkeys(short(plate.file) for plate in own))
    named = files[0] + (f" and {len(files) - 1} more" if len(files) > 1 else "")
    return [f"{named}: the file says {own[0].dpi:g} dpi itself, so the {dpi:g} dpi given are not used for it"]
