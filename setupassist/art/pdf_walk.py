"""One content stream walked from its first step to its last and written anew for one ink."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import TYPE_CHECKING, Any

from pikepdf import Array, Dictionary, Name, Stream

from setupassist.art import pdf_booking, pdf_patterns
from setupassist.art.pdf_colour import (
    CMYK,
    GREY,
    NAMED,
    PATTERN,
    PROCESS,
    RGB,
    Family,
    Space,
    tint,
    touches,
)
from setupassist.art.pdf_content import FILLS, STROKES, TEXT, Ink, Path, State, Step
from setupassist.art.pdf_images import (
    NotRead,
    image_of,
    inline_image,
    plate_image,
    white_image,
    without_extras,
)
from setupassist.art.pdf_objects import (
    SAME,
    Box,
    Matrix,
    dictionary,
    get,
    identity,
    is_name,
    items,
    matrix_of,
    moved,
    name_key,
    number,
    sub,
    times,
    whole,
)
from setupassist.art.pdf_shading import Shading

if TYPE_CHECKING:
    from setupassist.art.pdf_rewrite import Rewriter

MOST_SAVED = 2000
STRIPPED = frozenset(
    {"/OP", "/op", "/OPM", "/TR", "/TR2", "/BG", "/BG2", "/UCR", "/UCR2", "/HT", "/Type", "/SA", "/FL", "/SM", "/RI"}
)
JOINT = frozenset({"/Hue", "/Saturation", "/Color", "/Luminosity"})
"""Blend modes that look at all process inks together."""
NOT_WHITE_PRESERVING = frozenset({"/Difference", "/Exclusion"})
TEXT_MODES = {(True, False): 0, (False, True): 1, (True, True): 2, (False, False): 3}


class Walk:
    """The way through one stream. ``room`` bounds what it can paint, in its own first space; ``to_page`` leads from
    there to the page; ``placed`` is False where the stream may be drawn anywhere (cells, glyphs)."""

    def __init__(
        self, rewriter: Rewriter, resources: Any, state: State, *, room: Box | None, to_page: Matrix, placed: bool
    ) -> None:
        self.rewriter, self.resources, self.state = rewriter, resources, state
        self.room, self.to_page, self.placed = room, to_page, placed
        self.out: list[bytes] = []
        self.found = Dictionary()
        self._named: dict[tuple[Any, ...], bytes] = {}
        self._met: dict[tuple[str, str], Any] = {}
        self._saved: list[State] = []
        self._path: list[Path] = []
        self._marks: list[bool] = []
        self._steps: dict[str, Callable[[Step], None]] = {
            "path": self._on_path, "q": self._on_save, "Q": self._on_restore, "cm": self._on_matrix, "gs": self._on_gs,
            "w": self._on_width, "BT": self._on_text_begin, "Tm": self._on_text_matrix, "Td": self._on_text_move,
            "TD": self._on_text_move, "Tr": self._on_text_mode, "Tf": self._on_font, "sh": self._on_shading,
            "Do": self._on_do, "INLINE IMAGE": self._on_inline, "BMC": self._on_mark, "BDC": self._on_mark,
            "EMC": self._on_mark_end, "n": self._on_paint,
            **dict.fromkeys(("cs", "CS"), self._on_space),
            **dict.fromkeys(("sc", "scn", "SC", "SCN"), self._on_colour),
            **dict.fromkeys(("g", "G", "rg", "RG", "k", "K"), self._on_device_colour),
            **dict.fromkeys(FILLS | STROKES, self._on_paint), **dict.fromkeys(TEXT, self._on_text),
        }  # fmt: skip

    def run(self, steps: Sequence[Step]) -> tuple[bytes, Any]:
        """The stream written anew and the resources that it needs."""
        for step in steps:
            if self._path and step.operator not in ("path", "n") and step.operator not in FILLS | STROKES:
                self._flush_path()
            handler = self._steps.get(step.operator)
            if handler is None:
                self.out.append(step.raw)
            else:
                handler(step)
        self.out += [b"Q\n"] * len(self._saved)
        self.rewriter.weight += len(steps)
        return b"".join(self.out), self.found

    # -- what is written

    def put(self, kind: str, value: Any, key: tuple[Any, ...] | None = None) -> bytes:
        """The name under which a resource stands in the new stream; one with a ``key`` is put once."""
        if key is not None and (kind, *key) in self._named:
            return self._named[kind, *key]
        self.rewriter.names += 1
        name = f"/P{self.rewriter.names}"
        if kind not in self.found:
            self.found[kind] = Dictionary()
        self.found[kind][name] = value
        if key is not None:
            self._named[kind, *key] = name.encode()
        return name.encode()

    def resource(self, kind: str, name: str) -> Any:
        """A resource by kind (``/Font``) and name, None where there is none; asked again, it is the same object."""
        if (kind, name) not in self._met:
            self._met[kind, name] = sub(self.resources, kind, name)
        return self._met[kind, name]

    def grey(self, side: Ink) -> float | None:
        """The grey of a colour on the plate, None where there is no plate or no colour."""
        if self.rewriter.ink is None or side.space.root.family in (Family.PATTERN, Family.NONE):
            return None
        return 1 - min(1.0, max(0.0, float(tint(side.space, side.colour, self.rewriter.ink))))

    def show_first_colours(self) -> None:
        """Writes the colours that the state begins with."""
        for stroke in (False, True):
            self._show(stroke)

    def _side(self, stroke: bool) -> Ink:
        return self.state.stroke if stroke else self.state.fill

    def _show(self, stroke: bool) -> None:
        grey = self.grey(self._side(stroke))
        if grey is not None:
            self.out.append(b"%.5g %s\n" % (grey, b"G" if stroke else b"g"))

    def _show_pattern(self, stroke: bool) -> None:
        """Writes a pattern out as the present colour, where that was not done yet."""
        side = self._side(stroke)
        exact = not pdf_patterns.is_drawn_in_room(self, side) or pdf_patterns.repeats_exactly(self, side)
        if self.rewriter.ink is None and not exact:
            self.rewriter.record.tell("art.pdf.note-tiled-text")
        if side.pattern is not None and not side.shown and self.rewriter.ink is not None:
            self.out.append(pdf_patterns.as_colour(self, side, stroke=stroke))
            side.shown = True

    # -- the state

    def _on_save(self, step: Step) -> None:
        if len(self._saved) < MOST_SAVED:
            self._saved.append(self.state.copy())
            self.out.append(step.raw)

    def _on_restore(self, step: Step) -> None:
        if self._saved:
            text = self.state.text_matrix
            self.state = self._saved.pop()
            self.state.text_matrix = text
            self.out.append(step.raw)

    def _on_matrix(self, step: Step) -> None:
        if len(step.operands) == 6:
            self.state.matrix = times(_matrix(step), self.state.matrix)
            self.out.append(step.raw)

    def _on_width(self, step: Step) -> None:
        if step.operands:
            self.state.line_width = number(step.operands[0])
        self.out.append(step.raw)

    def _on_space(self, step: Step) -> None:
        if _named(step):
            name = step.operands[0]
            told = NAMED.get(name) or self.rewriter.space(self.resource("/ColorSpace", name), self.resources)
            self._set(step.operator == "CS", Ink(told, told.first))

    def _on_device_colour(self, step: Step) -> None:
        space = {"g": GREY, "rg": RGB, "k": CMYK}[step.operator.lower()]
        self._set(step.operator.isupper(), Ink(space, _colour(step.operands, space)))

    def _on_colour(self, step: Step) -> None:
        stroke = step.operator[0] == "S"
        space, operands, pattern = self._side(stroke).space, list(step.operands), None
        if operands and isinstance(operands[-1], str):
            pattern = self.resource("/Pattern", operands.pop())
            space = space if space.family is Family.PATTERN else PATTERN
        if space.family is Family.PATTERN:
            base = space.base
            colour = _colour(operands, base) if base is not None else ()
            usable = isinstance(pattern, Dictionary | Stream)
            self._set(stroke, Ink(space, colour, pattern if usable else None, shown=False))
        else:
            self._set(stroke, Ink(space, _colour(operands, space)))

    def _set(self, stroke: bool, side: Ink) -> None:
        if stroke:
            self.state.stroke = side
        else:
            self.state.fill = side
        self._show(stroke)

    def _on_gs(self, step: Step) -> None:
        told = self.resource("/ExtGState", step.operands[0]) if _named(step) else None
        if not isinstance(told, Dictionary):
            return
        state = self.state
        if "/OP" in told:
            state.overprints_stroke = bool(told["/OP"])
            state.overprints_fill = state.overprints_stroke if "/op" not in told else state.overprints_fill
        if "/op" in told:
            state.overprints_fill = bool(told["/op"])
        if "/OPM" in told:
            state.mode = whole(told["/OPM"])
        if "/LW" in told:
            state.line_width = number(told["/LW"])
        blend = _blend(told)
        state.blend = state.blend if blend is None else blend
        state.opacity_fill = number(get(told, "/ca"), state.opacity_fill)
        state.opacity_stroke = number(get(told, "/CA"), state.opacity_stroke)
        if get(told, "/SMask") is not None:
            state.masked = not is_name(get(told, "/SMask"), "/None")
        if self.rewriter.ink is None:
            if blend in JOINT:
                self.rewriter.record.tell("art.pdf.note-joint-blend")
            return
        kept = {key: value for key, value in items(told) if key not in STRIPPED}
        if blend in JOINT | NOT_WHITE_PRESERVING and self.rewriter.ink not in PROCESS:
            kept["/BM"] = Name.Normal
        if kept:
            self.out.append(self.put("/ExtGState", dictionary(kept), identity(told)) + b" gs\n")
            self.rewriter.kept.append(told)

    # -- layers

    def _on_mark(self, step: Step) -> None:
        hidden = False
        if step.operator == "BDC":
            begun = step.operands
            if len(begun) == 2 and begun[0] == "/OC" and isinstance(begun[1], str):
                hidden = self.rewriter.page.hides(self.resource("/Properties", begun[1]))
        self._marks.append(hidden)

    def _on_mark_end(self, _step: Step) -> None:
        if self._marks:
            self._marks.pop()

    @property
    def shows(self) -> bool:
        """Whether no layer that is switched off holds what is painted now."""
        return not any(self._marks)

    # -- paths

    def _on_path(self, step: Step) -> None:
        self._path.append(step.operands[0])

    def _flush_path(self) -> bytes:
        data = b"".join(part.data + part.clip for part in self._path)
        self.out.append(data)
        self._path = []
        return data

    def _on_paint(self, step: Step) -> None:
        name, state = step.operator, self.state
        parts, self._path = self._path, []
        wants = name in FILLS, name in STROKES
        plain = b"".join(part.data for part in parts)
        clip = next((part.clip for part in reversed(parts) if part.clip), b"")
        if not any(wants):
            self.out.append(plain + clip + step.raw)
            return
        thin = min((part.thinnest for part in parts), default=float("inf"))
        fill = wants[0] and self._touched(state.fill, state.overprints_fill, plain, thin)
        stroke = wants[1] and self._touched(state.stroke, state.overprints_stroke, plain, state.line_width)
        close = b"h\n" if name in ("s", "b", "b*") else b""
        rule = b"*" if name.endswith("*") else b""
        in_room = False
        if fill and not state.fill.inherited and pdf_patterns.is_drawn_in_room(self, state.fill):
            drawn = pdf_patterns.in_room(self, state.fill, plain + close, rule)
            if drawn is not None:
                self.out.append(drawn)
                fill, in_room = False, True
        if fill:
            self._show_pattern(False)
        if stroke:
            self._show_pattern(True)
        touched = fill or in_room, stroke
        if self._veils and touched != wants:
            left = _paint(wants[0] and not touched[0], wants[1] and not stroke, rule)
            self.out.append(self._veiled(plain + close + left + b"\n"))
        self.out.append(plain + clip + close + _paint(fill, stroke, rule) + b"\n")

    @property
    def _veils(self) -> bool:
        """Whether what overprints without changing the plate must still cover what lies below the group."""
        return self.state.isolated and self.shows and self.rewriter.ink is not None

    def _veiled(self, painting: bytes) -> bytes:
        """Steps that paint white where the group has painted nothing yet, and leave alone what it has.

        White that multiplies is how a colour that overprints blends within an isolated group (ISO 32000-1, 11.7.4.3).
        """
        return b"q\n" + self._blend("/Multiply") + b"1 g 1 G\n" + painting + b"Q\n"

    def _blend(self, mode: str) -> bytes:
        return self.put("/ExtGState", Dictionary(BM=Name(mode)), ("blend", mode)) + b" gs\n"

    def _touched(self, side: Ink, overprints: bool, path: bytes = b"", thin: float = float("inf")) -> bool:
        """Whether painting with a colour changes the plate; without a plate the colour is booked."""
        if not self.shows:
            return False
        space, colour = side.space, side.colour
        if space.family is Family.PATTERN:
            return pdf_patterns.touched(self, side, overprints=overprints)
        if self.rewriter.ink is None:
            pdf_booking.colour(self, space, colour, pdf_booking.middle(self, path))
            pdf_booking.line(self, thin)
            return space.root.family is not Family.NONE
        return touches(space, colour, self.rewriter.ink, overprints=overprints, mode=self.state.mode)

    # -- text

    def _on_text_begin(self, step: Step) -> None:
        self.state.text_matrix = SAME
        self.out.append(step.raw)

    def _on_text_matrix(self, step: Step) -> None:
        if len(step.operands) == 6:
            self.state.text_matrix = _matrix(step)
        self.out.append(step.raw)

    def _on_text_move(self, step: Step) -> None:
        if len(step.operands) == 2:
            x, y = (number(value) for value in step.operands)
            self.state.text_matrix = times((1, 0, 0, 1, x, y), self.state.text_matrix)
        self.out.append(step.raw)

    def _on_text_mode(self, step: Step) -> None:
        if step.operands:
            self.state.text_mode = whole(step.operands[0])
        self.out.append(step.raw)

    def _on_font(self, step: Step) -> None:
        font = self.resource("/Font", step.operands[0]) if _named(step) and len(step.operands) == 2 else None
        if not isinstance(font, Dictionary):
            return
        self.state.font, self.state.font_size, self.state.font_shown = font, number(step.operands[1]), None
        if not is_name(get(font, "/Subtype"), "/Type3"):
            self._choose_font(font, identity(font))

    def _choose_font(self, font: Any, key: tuple[Any, ...]) -> None:
        self.rewriter.kept.append(font)
        self.out.append(self.put("/Font", font, key) + b" %.6g Tf\n" % self.state.font_size)

    def _on_text(self, step: Step) -> None:
        state = self.state
        mode = state.text_mode if 0 <= state.text_mode <= 7 else 0
        glyphs = state.font is not None and is_name(get(state.font, "/Subtype"), "/Type3")
        wants = (mode in (0, 2, 4, 6) or glyphs), mode in (1, 2, 5, 6) and not glyphs
        fill = wants[0] and self._touched(state.fill, state.overprints_fill)
        stroke = wants[1] and self._touched(state.stroke, state.overprints_stroke, thin=state.line_width)
        if self.rewriter.ink is None and any(wants) and self.shows:
            pdf_booking.text(self)
        if glyphs and self.shows:
            fill = self._glyphs(fill)
        if fill:
            self._show_pattern(False)
        if stroke:
            self._show_pattern(True)
        if (fill, stroke) == wants:
            self.out.append(step.raw)
        elif self._veils and mode < 3 and not (fill or stroke or glyphs):
            self.out += [self._blend("/Multiply"), b"1 g 1 G\n", step.raw, self._blend(state.blend)]
            self.show_first_colours()
        else:
            written = TEXT_MODES[fill, stroke] + (4 if mode >= 4 else 0)
            self.out.append(b"%d Tr\n" % written + step.raw + b"%d Tr\n" % mode)

    def _glyphs(self, fill: bool) -> bool:
        """Chooses glyphs that are drawn by content streams; whether any of them is painted."""
        state = self.state
        key = ("glyphs", identity(state.font), state.key())
        if state.font_shown != key:
            made, coloured = pdf_patterns.glyphs(self, state.font, key)
            state.font_shown = key
            if self.rewriter.ink is not None:
                self._choose_font(made, key)
            return fill or coloured
        return fill or bool(pdf_patterns.glyphs(self, state.font, key)[1])

    # -- shadings, images and forms

    def _on_shading(self, step: Step) -> None:
        told = self.resource("/Shading", step.operands[0]) if _named(step) else None
        if not isinstance(told, Dictionary | Stream) or not self.shows:
            return
        shading = Shading(told, self.rewriter.space(get(told, "/ColorSpace"), self.resources))
        ink = self.rewriter.ink
        if ink is None:
            pdf_booking.shading(self, shading)
            if self.state.overprints_fill and self.state.isolated:
                self.rewriter.record.tell("art.pdf.note-overprint-in-group")
        elif touches(shading.space, None, ink, overprints=self.state.overprints_fill, mode=0):
            self.out.append(pdf_patterns.painted_shading(self, shading, ink))

    def _on_inline(self, step: Step) -> None:
        if self.shows:
            self._image(inline_image(self.rewriter.document, step.operands[0]))

    def _on_do(self, step: Step) -> None:
        value = self.resource("/XObject", step.operands[0]) if _named(step) else None
        if not isinstance(value, Stream) or not self.shows or self.rewriter.page.hides(get(value, "/OC")):
            return
        if is_name(get(value, "/Subtype"), "/Image"):
            self._image(value)
        elif is_name(get(value, "/Subtype"), "/Form"):
            self._form(value)

    def _form(self, value: Any) -> None:
        group = get(value, "/Group")
        if self.rewriter.ink is None and get(group, "/K") is True:
            self.rewriter.record.tell("art.pdf.note-knockout")
        if self.rewriter.ink is not None:
            for stroke in (False, True):
                self._show_pattern(stroke)
        to_page = times(self.state.matrix, self.to_page)
        made = self.rewriter.form(value, self.resources, self.state, to_page, placed=self.placed)
        self.rewriter.check_work()
        if made is not None and self.rewriter.ink is not None:
            self.out.append(self.put("/XObject", made, identity(made)) + b" Do\n")

    def _image(self, value: Any) -> None:
        rewriter, state = self.rewriter, self.state
        matrix = times(state.matrix, self.to_page)
        try:
            image = image_of(value, rewriter.spaces, self.resources)
            if image.stencil:
                if self._touched(state.fill, state.overprints_fill):
                    self._show_pattern(False)
                    if rewriter.ink is not None:
                        made = rewriter.document.make_indirect(without_extras(rewriter.document, value))
                        rewriter.made.append(made)
                        self.out.append(self.put("/XObject", made) + b" Do\n")
                elif self._veils:
                    made = rewriter.document.make_indirect(without_extras(rewriter.document, value))
                    rewriter.made.append(made)
                    self.out.append(self._veiled(self.put("/XObject", made) + b" Do\n"))
            elif rewriter.ink is None:
                pdf_booking.image(self, image, matrix)
            elif touches(image.space or GREY, None, rewriter.ink, overprints=state.overprints_fill, mode=0):
                key = identity(value)
                if key not in rewriter.images:
                    rewriter.kept.append(value)
                    rewriter.images[key] = plate_image(rewriter.document, image, rewriter.ink)
                    rewriter.made.append(rewriter.images[key])
                self.out.append(self.put("/XObject", rewriter.images[key], ("image", key)) + b" Do\n")
            elif self._veils:
                white = rewriter.document.make_indirect(white_image(rewriter.document, image))
                self.out.append(self._veiled(self.put("/XObject", white) + b" Do\n"))
        except NotRead:
            if rewriter.ink is None:
                middle = moved(matrix, 0.5, 0.5)
                at = rewriter.page.place_mm(*middle) if self.placed and rewriter.page.holds(*middle) else None
                rewriter.record.tell("art.pdf.note-image-unread", at)


def _paint(fill: bool, stroke: bool, rule: bytes) -> bytes:
    """The operator that fills, strokes, does both or neither."""
    if fill:
        return (b"B" if stroke else b"f") + rule
    return b"S" if stroke else b"n"


def _matrix(step: Step) -> Matrix:
    return matrix_of(Array([number(value) for value in step.operands]))


def _named(step: Step) -> bool:
    return bool(step.operands) and isinstance(step.operands[0], str)


def _colour(operands: Sequence[Any], space: Space | None) -> tuple[float, ...]:
    """Components out of operands: as many as the space has, each within what the space allows."""
    if space is None:
        return ()
    values = [number(value) if not isinstance(value, str) else 0.0 for value in operands[: space.count]]
    values += [0.0] * (space.count - len(values))
    if space.family in (Family.LAB, Family.INDEXED):
        return tuple(values)
    return tuple(min(1.0, max(0.0, value)) for value in values)


def _blend(told: Any) -> str | None:
    value = get(told, "/BM")
    value = value[0] if isinstance(value, Array) and len(value) else value
    if not isinstance(value, Name):
        return None
    mode = name_key(value)
    return mode if mode.isascii() else "/Normal"
