"""Plates out of TIFF files: single plates, several inks in one page, or one ink a page.

In a separated page (photometric 5) the value is ink by the standard, whatever the polarity asked for; DotRange tells
which values are no ink and full ink. Names come from InkNames; a page of its own is named by PageName. Samples of 16
bits become ink of 8 by rounding to the nearest level, once, straight from the stored value (DotRange and polarity
included): no level is lost beyond that, none is invented.

Source: TIFF Revision 6.0, 1992, sections 16 (InkSet, NumberOfInks, DotRange) and 17; published. Which samples are
inks where ExtraSamples contradicts NumberOfInks: common practice of writers.
"""

from __future__ import annotations

import unicodedata
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from setupassist.art.bands import Chunks, Picture
from setupassist.art.files import (
    MOST_INFLATION,
    MOST_PIXELS_WHOLE,
    MOST_TIFF_BYTES,
    Damaged,
    check_file,
    cut_short,
    label,
    opened,
    reading,
)
from setupassist.art.plates import INK_UNNAMED, Bits, Note, Plate, Rows
from setupassist.art.samples import Samples, Tones, covered, eight_bits, grey_table, luminance, tone_table
from setupassist.art.tiff_strips import (
    DEFLATE,
    DIFFERENCES,
    FAX,
    IN_PIECES,
    JPEG,
    LZMA,
    LZW,
    NONE,
    PACK_BITS,
    PREDICTED,
    READABLE,
    YCBCR,
    ZSTANDARD,
    packed_rows,
    sample_rows,
)
from setupassist.art.tiff_tags import TiffPage, read_pages
from setupassist.documents.base import MOST_NAME_LENGTH
from setupassist.documents.measure import MOST_PLATES
from setupassist.documents.terms import Severity
from setupassist.errors import InputFault, one_line
from setupassist.words import say

WHITE_IS_ZERO, BLACK_IS_ZERO, RGB, PALETTE, SEPARATED = 0, 1, 2, 3, 5
PROCESS = ("process cyan", "process magenta", "process yellow", "process black")
CMYK = 1
MOST_TILE_BYTES = 1 << 28
MULTIPLIED, ALPHA = 1, (1, 2)
MOST_OUT_OF_ONE = {
    **dict.fromkeys(DEFLATE, MOST_INFLATION),
    LZW: 2731,
    PACK_BITS: 64,
    NONE: 64,
    LZMA: 8000,
    ZSTANDARD: 33_000,
    JPEG: 2048,
}
"""Bytes that one byte can become. Computed from the published codes: an LZW code of 12 bits stands for 4096 bytes at
most, two bytes of PackBits for 128, four of Zstandard for 128 KiB; LZMA repeats 273 bytes for a third of a bit; JPEG
spends a bit at least on a block of 8 x 8, which may stand for 16 times as many pixels of a colour. Unpacked bytes stand
for themselves, but a writer may store one blank strip for many: 64 of them is enough."""
OLD_JPEG, TRANSPARENCY_MASK = 6, 4
JPEG_SAMPLES = (1, 3, 4)
COMPRESSIONS = {34712: "JPEG 2000", 34887: "LERC", 50001: "WebP", 50002: "JPEG XL"}
COLOUR_KINDS = {YCBCR: "YCbCr", 8: "Lab", 9: "Lab"}
SMALL_COLOURS = 256


@dataclass(frozen=True)
class Ink:
    """One ink of a page: its name, its sample, and how the sample's values become ink.

    ``alpha`` is the sample that tells how opaque a pixel is, None where there is none. ``nameless`` is True where the
    name only stands in for one that the file does not tell.
    """

    name: str
    sample: int
    tones: Tones
    alpha: int | None = None
    nameless: bool = False


def open_tiff(path: Path, name: str, *, light_is_ink: bool, page: int | None) -> list[Picture]:
    """The pictures of a TIFF file: one a page, or one a plane where the inks of a page lie apart.

    ``name`` is given to the plate of a file that holds a single one. ``page`` counts the full-size pages from 1.
    """
    with reading(path):
        pages = read_pages(path)
        chosen = _chosen(path, pages, page)
        _check_bytes(path, chosen)
        pictures: list[Picture] = []
        notes: list[str | Note] = []
        for each in chosen:
            if each.photometric == SEPARATED:
                inks = _separated_inks(path, each, notes)
                if light_is_ink:
                    notes.append(say("art.note.says-ink-itself", file=label(path), count=1))
            else:
                inks = [_grey_ink(path, each, name, notes, many=len(pages) > 1, light_is_ink=light_is_ink)]
            if each.compression == JPEG:
                notes.append(say("art.note.jpeg-inside", file=label(path), count=1))
            if each.orientation not in (0, 1):
                notes.append(say("art.note.turned", file=label(path), count=1))
            pictures += _pictures(path, each, inks)
    plates = sum(len(picture.plates) for picture in pictures)
    if plates > MOST_PLATES:
        told = say("art.tiff.too-many-inks", inks=plates, most=MOST_PLATES)
        raise InputFault(label(path), told, say("art.tiff.fewer"))
    first = pictures[0]
    pictures[0] = Picture(first.plates, first.chunks, tuple(dict.fromkeys(notes)))
    return pictures


def _chosen(path: Path, pages: list[TiffPage], page: int | None) -> list[TiffPage]:
    """The pages to read, each held against what this version reads."""
    if page is not None:
        if not 1 <= page <= len(pages):
            told = say("art.kind.no-page", count=len(pages), page=page)
            raise InputFault(label(path), told, say("art.kind.choose-page"))
        pages = [pages[page - 1]]
    kinds = {_kind(each) for each in pages}
    if len(kinds) > 1:
        first = pages[0]
        odd = next(each for each in pages if _kind(each) != _kind(first))
        two = {"first": first.number, "first_kind": _kind(first), "other": odd.number, "other_kind": _kind(odd)}
        raise InputFault(label(path), say("art.tiff.pages-of-kinds", **two), say("art.tiff.one-page-or-ink"))
    for each in pages:
        _check(path, each)
    return pages


def _kind(page: TiffPage) -> str:
    if page.photometric == SEPARATED:
        return say("art.tiff.kind-inks")
    grey = page.photometric in (WHITE_IS_ZERO, BLACK_IS_ZERO)
    return say("art.tiff.kind-grey") if grey else say("art.tiff.kind-colour")


def _check(path: Path, page: TiffPage) -> None:
    """InputFault for a page that this version does not read."""
    if page.compression not in READABLE:
        how = COMPRESSIONS.get(page.compression) or say("art.tiff.method", number=page.compression)
        how = say("art.tiff.old-jpeg") if page.compression == OLD_JPEG else how
        raise InputFault(label(path), say("art.tiff.compression", how=how), say("art.tiff.save-compression"))
    if page.photometric not in (WHITE_IS_ZERO, BLACK_IS_ZERO, RGB, PALETTE, SEPARATED) and not _is_colour(page):
        what = COLOUR_KINDS.get(page.photometric) or say("art.tiff.number-kind", number=page.photometric)
        what = say("art.tiff.transparency-mask") if page.photometric == TRANSPARENCY_MASK else what
        raise InputFault(label(path), say("art.tiff.samples-kind", what=what), say("art.tiff.export-grey-or-inks"))
    if page.compression in FAX and (page.bits != 1 or page.samples_stored != 1):
        raise Damaged(say("art.damage.fax-of-many"))
    if page.compression in PREDICTED and page.predictor != 1 and (page.predictor != DIFFERENCES or page.bits < 8):
        raise InputFault(label(path), say("art.tiff.predictor"), say("art.kind.save-as-png"))
    if page.compression == JPEG and (page.samples_stored not in JPEG_SAMPLES or page.bits != 8):
        told = say("art.tiff.jpeg-samples", samples=page.samples_stored, bits=page.bits)
        raise InputFault(label(path), told, say("art.tiff.save-compression"))
    if page.photometric == RGB and (page.samples < 3 or page.planar or page.bits < 8):
        raise InputFault(label(path), say("art.tiff.rare-colour"), say("art.tiff.export-grey-or-inks"))
    if page.photometric == PALETTE and (page.samples_stored != 1 or len(page.colour_map) != 3 << page.bits):
        raise Damaged(say("art.damage.no-palette"))
    held = page.segment_rows * page.segment_row_bytes
    if page.tiled and max(held, page.segment_rows * page.columns * page.samples_stored * 2) > MOST_TILE_BYTES:
        raise InputFault(label(path), say("art.tiff.large-tiles"), say("art.tiff.save-small-tiles"))
    if page.compression not in IN_PIECES and held * (8 if page.compression in FAX else 1) > MOST_PIXELS_WHOLE:
        raise InputFault(label(path), say("art.tiff.large-strips"), say("art.tiff.save-deflate"))


def _check_bytes(path: Path, pages: list[TiffPage]) -> None:
    """InputFault where the pages promise more than their strips, or all of them more than the file, can hold."""
    least_bytes, size = 0.0, check_file(path, most_bytes=MOST_TIFF_BYTES)
    for page in pages:
        row_bytes = (page.columns * page.samples_stored * page.bits + 7) // 8
        promised = page.samples_apart * page.rows * row_bytes
        # fax codes spend a bit on a row at least
        most = 8 * row_bytes if page.compression in FAX else MOST_OUT_OF_ONE[page.compression]
        if promised > int(page.counts.sum()) * most:
            raise cut_short(path)
        least_bytes += promised / most
    if least_bytes > size:
        raise InputFault(label(path), say("art.tiff.shared-bytes"), say("art.file.export-plates-again"))


def _is_colour(page: TiffPage) -> bool:
    """Whether the samples of a page are red, green and blue once they are unpacked."""
    jpeg = page.compression == JPEG and page.photometric == YCBCR and page.samples == 3 and not page.planar
    return page.photometric == RGB or jpeg


def _grey_ink(path: Path, page: TiffPage, name: str, notes: list[str | Note], *, many: bool, light_is_ink: bool) -> Ink:
    """The one plate of a grey, two-level, palette or colour page."""
    if many:
        if not _clean(page.page_name):
            told = say("art.note.nameless-page", file=label(path), page=page.number)
            notes.append(_nameless(told, f"page {page.number}"))
        name = _clean(page.page_name) or f"page {page.number}"
    nameless = many and not _clean(page.page_name)
    colour = _is_colour(page)
    alpha = _alpha_sample(page)
    if alpha is not None:
        notes.append(say("art.note.see-through", file=label(path)))
    if page.samples > _first_extra(page) + (alpha is not None):
        unsaid = 0 in page.extra_samples or not page.extra_samples
        notes.append(say("art.note.more-samples" if unsaid else "art.note.samples-left-out", file=label(path), count=1))
    if colour:
        notes.append(say("art.note.luminance", file=label(path), count=1))
    inks = grey_table(8, black_is_zero=True, light_is_ink=light_is_ink)
    if page.photometric == PALETTE:
        return Ink(name, 0, Tones(inks[luminance(*_palette(page))]), nameless=nameless)
    if colour:
        return Ink(name, 0, Tones(inks), alpha, nameless)
    black_is_zero = page.photometric == BLACK_IS_ZERO
    tones = Tones(grey_table(page.bits, black_is_zero=black_is_zero, light_is_ink=light_is_ink))
    return Ink(name, 0, tones, alpha, nameless)


def _nameless(told: str, stand_in: str) -> Note:
    return Note(INK_UNNAMED, Severity.NOTE, told, say("art.note.name-wanted"), (stand_in,))


def _first_extra(page: TiffPage) -> int:
    """The first sample of a grey or colour page beyond the picture's own."""
    return 3 if _is_colour(page) else 1


def _alpha_sample(page: TiffPage) -> int | None:
    """The sample of a grey or colour page that says how opaque a pixel is; None where none does, or it lies apart."""
    at = _first_extra(page)
    kinds = page.extra_samples[: max(0, page.samples - at)]
    said = [at + place for place, kind in enumerate(kinds) if kind in ALPHA]
    return said[0] if said and not page.planar and page.bits >= 8 else None


def _palette(page: TiffPage) -> Rows:
    """Red, green and blue 0..255 (3, colours) of a palette of 16-bit values, or of 8-bit ones as old writers left."""
    colours = np.minimum(np.array(page.colour_map, np.uint64), 0xFFFF).astype(np.uint16).reshape(3, -1)
    return colours.astype(np.uint8) if colours.max() < SMALL_COLOURS else eight_bits(colours)


def _separated_inks(path: Path, page: TiffPage, notes: list[str | Note]) -> list[Ink]:
    """The inks of a separated page; alpha samples are left out, nameless ones are numbered, both with a note.

    A sample is an ink where ExtraSamples leaves it out, or NumberOfInks or the names reach it: common writers list
    the fifth ink and on as extra samples.
    """
    names = [_clean(name) for name in page.ink_names]
    own = page.samples - len(page.extra_samples)
    if page.ink_set == CMYK and own == len(PROCESS) and 0 < len(names) == len(page.extra_samples) != own:
        names = [*PROCESS, *names]
    if not any(names) and page.ink_set == CMYK and own == len(PROCESS):
        names = list(PROCESS)
    sure = max(own, page.ink_count, len(names))
    inks: list[Ink] = []
    for sample in range(page.samples):
        extra = page.extra_samples[sample - own] if sample >= max(own, 0) else None
        if sample >= sure and extra in ALPHA:
            notes.append(say("art.note.alpha-left-out", file=label(path), count=1))
            continue
        name = names[sample] if sample < len(names) else ""
        if not name:
            name = f"ink {sample + 1}"
            told = say("art.note.nameless-sample", file=label(path), sample=sample + 1, name=name)
            notes.append(_nameless(told, name))
        nameless = not (sample < len(names) and names[sample])
        inks.append(Ink(name, sample, Tones(_dot_table(path, page, sample)), nameless=nameless))
    if not inks:
        raise Damaged(say("art.damage.only-alpha"))
    return inks


def _dot_table(path: Path, page: TiffPage, sample: int) -> Rows:
    """Ink for every value of a sample, by DotRange where there is one."""
    top = (1 << page.bits) - 1
    zero, full = 0, top
    if len(page.dot_range) >= 2 * (sample + 1):
        zero, full = page.dot_range[2 * sample : 2 * sample + 2]
    elif len(page.dot_range) >= 2:
        zero, full = page.dot_range[:2]
    if page.bits == 1:  # some writers tell the range of the picture that the two levels were made of
        zero, full = (0, 1) if zero <= full else (1, 0)
    if zero == full or max(zero, full) > top:
        told = say("art.tiff.dot-range", zero=zero, full=full)
        raise InputFault(label(path), told, say("art.file.export-again"))
    return tone_table(page.bits, zero=zero, full=full)


def _clean(name: str) -> str:
    return one_line(unicodedata.normalize("NFC", name), MOST_NAME_LENGTH).strip()


def _pictures(path: Path, page: TiffPage, inks: list[Ink]) -> list[Picture]:
    """One picture for inks that lie side by side, else one for each."""
    groups = [[ink] for ink in inks] if page.planar else [inks]
    return [_picture(path, page, group) for group in groups]


def _picture(path: Path, page: TiffPage, inks: list[Ink]) -> Picture:
    plates = tuple(
        Plate(
            ink.name, path.name, page.rows, page.columns, page.dpi, ink.tones.two_level,
            stand_in=ink.name if ink.nameless else "",
        )
        for ink in inks
    )  # fmt: skip
    plane = inks[0].sample if page.planar else 0
    bits_as_stored = page.bits == 1 and page.samples_stored == 1 and not page.tiled

    def chunks(wanted: Sequence[int]) -> Chunks:
        with opened(path) as file:
            if bits_as_stored and inks[0].tones.two_level:
                for raw in packed_rows(file, page, plane):
                    yield (inks[0].tones.bits(raw, page.columns),)
                return
            for samples in sample_rows(file, page, plane):
                yield tuple(_inked(samples, page, inks[index]) for index in wanted)

    return Picture(plates, chunks)


def _inked(samples: Samples, page: TiffPage, ink: Ink) -> Bits | Rows:
    """Ink of one plate out of samples (rows, columns, samples stored), as a Picture yields it."""
    if _is_colour(page):
        red, green, blue = (eight_bits(samples[..., colour]) for colour in range(3))
        rows = ink.tones.ink(luminance(red, green, blue))
    else:
        rows = ink.tones.ink(samples[..., 0 if page.planar else ink.sample])
    if ink.alpha is not None:
        alpha = eight_bits(samples[..., ink.alpha])
        if page.extra_samples[ink.alpha - _first_extra(page)] != MULTIPLIED:
            return covered(rows, alpha)
        # the value is already less where the pixel is see-through: ink that is 255 less the value must not count that
        return np.minimum(rows, alpha) if ink.tones.rising else np.maximum(rows, 255 - alpha) - (255 - alpha)
    return np.packbits(rows, axis=1) if ink.tones.two_level else rows
