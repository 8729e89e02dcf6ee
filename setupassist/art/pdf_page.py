"""One page of a PDF taken out of its file: its box, its turn, its layers, held against limits before it is drawn."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

import pikepdf
from pikepdf import Array, Dictionary

from setupassist.art.pdf_objects import (
    Box,
    Refused,
    as_key,
    box_of,
    get,
    identity,
    is_name,
    items,
    number,
    overlap,
    set_limits,
    whole,
)

POINTS_PER_INCH = 72.0
MOST_PAGES = 10_000
MOST_SIDE_INCH = 400.0
MOST_SIDE_PIXELS = 60_000
MOST_PIXELS = 500_000_000
"""400 x 450 mm at 1200 dpi, and some more."""
KEPT = frozenset({"/Type", "/Contents", "/Resources", "/MediaBox", "/CropBox", "/Rotate", "/UserUnit"})
KEPT |= {"/Group", "/Parent"}
HIDDEN, NO_VIEW = 2, 32
NO_ARTWORK = ("/Link", "/Popup")


class Page:
    """A page alone in a document of its own.

    The page is what its CropBox holds, where there is none its MediaBox: films carry the registration marks that stand
    beside the trim, so no TrimBox cuts them off. ``box`` is that in points of the page's own units, ``turn`` degrees
    clockwise, ``unit`` how many points a unit is. ``of`` counts the file's pages, ``annotated`` tells of annotations
    that show.
    """

    def __init__(self, path: Path, number_: int) -> None:
        set_limits()
        with _reading():
            source = pikepdf.open(path)
            self.of = len(source.pages)
            if self.of > MOST_PAGES:
                raise Refused("art.pdf.too-many-pages", most=MOST_PAGES)
            if not 1 <= number_ <= self.of:
                raise Refused("art.kind.no-page", count=self.of, page=number_)
            chosen = source.pages[number_ - 1]
            self.annotated = _annotated(chosen.obj)
            self.box = _box_of(chosen)
            self.unit = max(1e-3, min(1000.0, number(get(chosen.obj, "/UserUnit"), 1.0)))
            self.turn = round(number(_inherited(chosen.obj, "/Rotate")) / 90) * 90 % 360
            for key in [key for key, _ in items(chosen.obj) if key not in KEPT]:
                del chosen.obj[as_key(key)]
            self.document = pikepdf.new()
            self.document.pages.append(chosen)
            self._hidden: set[tuple[Any, ...]] = set()
            layers = get(source.Root, "/OCProperties")
            if isinstance(layers, Dictionary):
                self._book_layers(self.document.copy_foreign(_indirect(source, layers)))
            self._source = source  # its streams are read when the document is saved
            self.object = self.document.pages[0].obj
            self.resources = self.object.get("/Resources", Dictionary())
            self.contents = self.object.get("/Contents", None)

    def inches(self) -> tuple[float, float]:
        """Width and height as seen."""
        width, height = ((self.box[i + 2] - self.box[i]) * self.unit / POINTS_PER_INCH for i in (0, 1))
        return (height, width) if self.turn in (90, 270) else (width, height)

    def pixels(self, dpi: float) -> tuple[int, int]:
        """Columns and rows at a resolution; Refused where the page or its picture is too large."""
        sides = self.inches()
        if max(sides) > MOST_SIDE_INCH:
            raise Refused("art.pdf.too-large", width=sides[0], height=sides[1], most=MOST_SIDE_INCH)
        columns, rows = (max(1, int(side * dpi + 0.5 - 1e-6)) for side in sides)
        if max(columns, rows) > MOST_SIDE_PIXELS or columns * rows > MOST_PIXELS:
            limits = {"megapixels": MOST_PIXELS // 10**6, "side": MOST_SIDE_PIXELS}
            raise Refused("art.size.beyond-limits", columns=columns, rows=rows, **limits)
        return columns, rows

    def place_mm(self, x: float, y: float) -> tuple[float, float]:
        """A point of the page in mm from its upper left corner as seen: right, then down."""
        left, bottom, right, top = self.box
        seen = {0: (x - left, top - y), 90: (y - bottom, x - left), 180: (right - x, y - bottom)}
        across, down = seen.get(self.turn, (top - y, right - x))
        mm = 25.4 * self.unit / POINTS_PER_INCH
        return round(across * mm, 2), round(down * mm, 2)

    def holds(self, x: float, y: float) -> bool:
        """Whether a point lies on the page."""
        return self.box[0] <= x <= self.box[2] and self.box[1] <= y <= self.box[3]

    def hides(self, layer: Any) -> bool:
        """Whether what belongs to a layer, or to a membership of layers, is switched off as the file is opened."""
        if not isinstance(layer, Dictionary):
            return False
        if not is_name(get(layer, "/Type"), "/OCMD"):
            return identity(layer) in self._hidden
        told = get(layer, "/OCGs")
        groups = list(told) if isinstance(told, Array) else [told]
        off = [identity(group) in self._hidden for group in groups if isinstance(group, Dictionary)]
        if not off:
            return False
        policy = get(layer, "/P")
        shown = {"/AllOn": not any(off), "/AnyOff": any(off), "/AllOff": all(off)}
        return not next((value for key, value in shown.items() if is_name(policy, key)), not all(off))

    def _book_layers(self, layers: Any) -> None:
        settings = get(layers, "/D")
        if is_name(get(settings, "/BaseState"), "/OFF"):
            self._hidden = {identity(group) for group in get(layers, "/OCGs") or [] if isinstance(group, Dictionary)}
            self._hidden -= {identity(group) for group in get(settings, "/ON") or [] if isinstance(group, Dictionary)}
        self._hidden |= {identity(group) for group in get(settings, "/OFF") or [] if isinstance(group, Dictionary)}
        self._layers = layers


@contextmanager
def _reading() -> Iterator[None]:
    """Complaints of the PDF library are told as Refused."""
    try:
        yield
    except pikepdf.PasswordError:
        raise Refused("art.pdf.encrypted") from None
    except (pikepdf.PdfError, ValueError, TypeError, KeyError, IndexError, AttributeError):
        raise Refused("art.damage.damaged") from None


def _indirect(source: Any, value: Any) -> Any:
    return value if value.is_indirect else source.make_indirect(value)


def _inherited(node: Any, key: str) -> Any:
    for _ in range(50):
        if get(node, key) is not None:
            return get(node, key)
        node = get(node, "/Parent")
    return None


def _box_of(page: Any) -> Box:
    media = box_of(_inherited(page.obj, "/MediaBox")) or (0.0, 0.0, 612.0, 792.0)
    crop = box_of(_inherited(page.obj, "/CropBox")) or media
    # no box reaches beyond the medium
    return overlap(crop, media) or media


def _annotated(page: Any) -> bool:
    """Whether the page bears annotations that show; links and pop-ups do not."""
    told = get(page, "/Annots")
    for each in list(told)[:1000] if isinstance(told, Array) else []:
        if get(each, "/AP") is None or any(is_name(get(each, "/Subtype"), kind) for kind in NO_ARTWORK):
            continue
        if not whole(get(each, "/F")) & (HIDDEN | NO_VIEW):
            return True
    return False


def padded(page: Page, dpi: float, columns: int, rows: int) -> Array:
    """The page's box made a whole number of pixels, so that nothing is stretched."""
    across, down = (columns, rows) if page.turn in (0, 180) else (rows, columns)
    side = POINTS_PER_INCH / (dpi * page.unit)
    left, bottom, right, top = page.box
    # what is added or cut lies at the right and at the bottom as seen
    width, height = across * side, down * side
    x = right - width if page.turn in (180, 270) else left
    y = bottom if page.turn in (90, 180) else top - height
    return Array([round(value, 6) for value in (x, y, x + width, y + height)])
