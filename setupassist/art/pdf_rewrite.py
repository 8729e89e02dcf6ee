"""A page of a PDF written anew so that it shows one ink: every colour becomes the grey 1 - tint of that ink.

White knocks out where a colour does not hold the ink. Overprint is settled here: an object that overprints and does
not change the plate is left out. What needs no change (paths, text, fonts, soft masks) goes through as it is.

Source: ISO 32000-1, 2008, sections 8.6.7 (overprint), 11.3.5 and 11.7.4.2 (blending of spot inks); published.
"""

from __future__ import annotations

from typing import Any

from pikepdf import Array, Dictionary, Name, Stream

from setupassist.art.pdf_colour import Space, Spaces
from setupassist.art.pdf_content import Contents, State, check_content, first_state
from setupassist.art.pdf_inks import Record
from setupassist.art.pdf_objects import (
    SAME,
    Box,
    Matrix,
    Refused,
    as_key,
    dictionary,
    get,
    identity,
    items,
    matrix_of,
    times,
)
from setupassist.art.pdf_page import Page

MOST_DEPTH = 24
MOST_FORMS = 100_000
MOST_WEIGHT = 20_000_000
NOT_KEPT = frozenset({"/Length", "/Filter", "/DecodeParms", "/Resources", "/OC", "/Metadata", "/PieceInfo"})


class Rewriter:
    """Writes a page anew for one ink, or, without an ink, books in ``record`` what the page paints with."""

    def __init__(self, page: Page, ink: str | None, record: Record, spaces: Spaces, contents: Contents) -> None:
        self.page, self.ink, self.record, self.spaces, self.contents = page, ink, record, spaces, contents
        self.document = page.document
        self.images: dict[tuple[Any, ...], Any] = {}
        self.kept: list[Any] = []
        self.made: list[Any] = []
        self._forms: dict[tuple[Any, ...], Any] = {}
        self._under_way: list[tuple[Any, ...]] = []
        self._checked: set[tuple[Any, ...]] = set()
        self._weights: dict[tuple[Any, ...], int] = {}
        self.names = 0
        self.work = 0
        self.weight = 0
        """Steps that drawing takes, those of forms as often as they are drawn."""

    def whole_page(self) -> tuple[bytes, Any]:
        """The content stream of the page and the resources that it needs."""
        from setupassist.art.pdf_walk import Walk

        contents = self.page.contents
        check_content(list(contents) if isinstance(contents, Array) else [contents])
        if contents is None:
            return b"", Dictionary()
        walk = Walk(self, self.page.resources, first_state(), room=self.page.box, to_page=SAME, placed=True)
        walk.show_first_colours()
        return walk.run(self.contents.of(self.page.object))

    def form(self, form: Any, resources: Any, state: State, to_page: Matrix, *, placed: bool) -> Any:
        """A form written anew as it looks when it is drawn in ``state``; None where it draws itself."""
        key = (identity(form), state.key())
        if key in self._forms:
            self.weight += self._weights[key]
            return self._forms[key]
        self.check_work()
        if identity(form) in self._under_way or len(self._under_way) > MOST_DEPTH:
            return None
        inner = state.copy()
        for side in (inner.fill, inner.stroke):
            side.inherited = side.pattern is not None
        group = get(form, "/Group")
        if group is not None:
            inner.begin_group()
            inner.isolated = inner.isolated or get(group, "/I") is True
        inner.matrix = SAME
        place = times(matrix_of(get(form, "/Matrix")), to_page)
        before, self.weight = self.weight, 0
        made = self.rewritten(form, get(form, "/Resources") or resources, inner, place, placed=placed)
        self._weights[key] = self.weight
        self.weight += before
        if "/Group" in made:
            group = dictionary(dict(items(made.Group)))
            group.CS = Name.DeviceGray
            made.Group = group
        made.Type, made.Subtype = Name.XObject, Name.Form
        self.kept.append(form)
        self._forms[key] = self.document.make_indirect(made)
        return self._forms[key]

    def rewritten(
        self, holder: Any, resources: Any, state: State, to_page: Matrix, *, placed: bool, fresh: bool = False
    ) -> Any:
        """A stream (form, cell of a tiling, glyph) whose content was written anew; ``fresh`` sets its colours first."""
        from setupassist.art.pdf_walk import Walk

        if not isinstance(holder, Stream):
            raise Refused("art.damage.damaged")
        key = identity(holder)
        if key not in self._checked:
            check_content([holder])
            self._checked.add(key)
        room: Box | None = _box(holder)
        self._under_way.append(key)
        try:
            walk = Walk(self, resources, state, room=room, to_page=to_page, placed=placed)
            if fresh:
                walk.show_first_colours()
            body, found = walk.run(self.contents.of(holder))
        finally:
            self._under_way.pop()
        made = Stream(self.document, body)
        for part, value in items(holder):
            if part not in NOT_KEPT:
                made[as_key(part)] = value
        made.Resources = found
        return made

    def within(self, holder: Any) -> bool:
        """Whether a stream is being written anew just now, so that it would draw itself."""
        return identity(holder) in self._under_way or len(self._under_way) > MOST_DEPTH

    def check_work(self) -> None:
        """Counts a form, a cell or a glyph; Refused where they make a page heavier than any art."""
        self.work += 1
        if self.work > MOST_FORMS or self.weight > MOST_WEIGHT:
            raise Refused("art.pdf.too-heavy")

    def forget(self) -> None:
        """Empties the images that were made, which the document would keep as long as it lives."""
        for image in self.made:
            image.write(b"")
        self.made.clear()

    def space(self, value: Any, resources: Any) -> Space:
        """The colour space that an object tells."""
        return self.spaces.of(value, resources)


def _box(holder: Any) -> Box | None:
    from setupassist.art.pdf_objects import box_of

    return box_of(get(holder, "/BBox"))
