"""What a page paints with: its inks and their colours, and what of it cannot be separated as it stands."""

from __future__ import annotations

import io
from dataclasses import dataclass, field
from typing import Any

import pikepdf
from pikepdf import Array, Dictionary, Name

from setupassist.art.pdf_colour import PROCESS, Spaces
from setupassist.art.pdf_objects import Refused, get, name_text

PROCESS_COLOURS = dict(zip(PROCESS, ("#00aeef", "#ec008c", "#fff200", "#231f20"), strict=True))
"""What process inks look like on white: common practice of screens."""
MOST_PLACES = 8
MOST_INKS = 64
SWATCH = 10


@dataclass
class Record:
    """What a walk over a page finds.

    ``inks`` holds each ink that is painted, True where that surely shows on the page. ``told`` are notes by id with
    the places (mm) that they speak of. ``least_text`` and ``least_line`` are in inches.
    """

    inks: dict[str, bool] = field(default_factory=dict)
    told: dict[str, list[tuple[float, float]]] = field(default_factory=dict)
    fonts: dict[str, None] = field(default_factory=dict)
    least_text: float = float("inf")
    least_line: float = float("inf")

    def paint(self, ink: str, *, sure: bool) -> None:
        """Books an ink."""
        if ink not in self.inks and len(self.inks) >= MOST_INKS:
            raise Refused("art.tiff.too-many-inks", inks=len(self.inks) + 1, most=MOST_INKS)
        self.inks[ink] = self.inks.get(ink, False) or sure

    def tell(self, key: str, place: tuple[float, float] | None = None) -> None:
        """Books a note, and where on the page it holds."""
        places = self.told.setdefault(key, [])
        if place is not None and len(places) < MOST_PLACES and place not in places:
            places.append(place)

    def ordered(self) -> list[str]:
        """The inks: process inks first, then as they are met."""
        return [ink for ink in PROCESS if ink in self.inks] + [ink for ink in self.inks if ink not in PROCESS]


def font_missing(font: Any) -> str | None:
    """The name of a font that is not in the file, None for one that is."""
    if not isinstance(font, Dictionary):
        return None
    told = get(font, "/DescendantFonts")
    inner = told[0] if isinstance(told, Array) and len(told) else font
    descriptor = get(inner, "/FontDescriptor")
    if get(font, "/Subtype") == Name.Type3:
        return None
    if any(get(descriptor, key) is not None for key in ("/FontFile", "/FontFile2", "/FontFile3")):
        return None
    name = get(font, "/BaseFont")
    return name_text(name) if isinstance(name, Name) else "?"


def colours(document: Any, spaces: Spaces, inks: list[str]) -> dict[str, str]:
    """Colour ``#rrggbb`` of each ink: what its alternate space says at full strength, drawn by the renderer."""
    found = {ink: PROCESS_COLOURS[ink] for ink in inks if ink in PROCESS_COLOURS}
    wanted = [ink for ink in inks if ink in spaces.sources and ink not in found]
    if not wanted:
        return found
    made = pikepdf.new()
    made.add_blank_page(page_size=(SWATCH * len(wanted), SWATCH))
    page, told, body = made.pages[0], Dictionary(), ""
    for at, ink in enumerate(wanted):
        space, index = spaces.sources[ink]
        source = space.source if space.source.is_indirect else document.make_indirect(space.source)
        told[f"/C{at}"] = made.copy_foreign(source)
        parts = " ".join("1" if part == index else "0" for part in range(space.count))
        body += f"/C{at} cs {parts} scn {SWATCH * at} 0 {SWATCH} {SWATCH} re f\n"
    page.obj.Resources = Dictionary(ColorSpace=told)
    page.obj.Contents = made.make_stream(body.encode())
    buffer = io.BytesIO()
    made.save(buffer)
    import pypdfium2

    drawn = pypdfium2.PdfDocument(buffer.getvalue())
    try:
        picture = drawn[0].render(scale=1).to_pil().convert("RGB")
    finally:
        drawn.close()
    for at, ink in enumerate(wanted):
        red, green, blue = picture.getpixel((SWATCH * at + SWATCH // 2, SWATCH // 2))
        found[ink] = f"#{red:02x}{green:02x}{blue:02x}"
    return found
