"""The screen room's pages: screens to pull by mesh, stencils, image place on the frame, every plate, and labels."""

from __future__ import annotations

from reportlab.platypus import Paragraph, Table
from reportlab.platypus.flowables import Flowable

from setupassist.appearance.thumbnails import one_plate_picture
from setupassist.documents.terms import Known, Severity
from setupassist.sheet.content import SheetContent, SheetScreen
from setupassist.sheet.sources import Sources
from setupassist.sheet.tables import BARE, Command, Drawn, Picture, Swatch, beside, boxed, heads, ruled
from setupassist.sheet.type import (
    BODY,
    HAIRLINE,
    HEADING,
    INK,
    MESH,
    NOTE,
    REGULAR,
    SMALL,
    known_mark,
    paragraph,
    plain,
    safe,
    sentence,
    strong,
)
from setupassist.sheet.unit_words import UnitWords, counted

PLATE_WIDE, PLATE_HIGH = 64.0, 60.0

MOST_FINDINGS = 60


def screen_room(content: SheetContent, words: UnitWords, width: float) -> list[Flowable]:
    """What the screen room pulls, coats, exposes and labels."""
    sources = Sources()
    place = (
        beside(lambda wide: _image_place(content, words, wide), lambda wide: _findings(content, wide), width)
        if content.findings
        else _image_place(content, words, (width - 24) / 2)
    )
    return [
        plain("Screens to pull and coat", HEADING),
        _to_pull(content, words, sources, width),
        *sources.told(),
        *place,
        *_labels(content, words, width),
    ]


def _to_pull(content: SheetContent, words: UnitWords, sources: Sources, width: float) -> Table:
    """One band a mesh, one row a screen below it; what no stock fits comes first."""
    by_mesh: dict[tuple[float, float], list[SheetScreen]] = {}
    for screen in content.screens():
        thread = screen.choice.thread_um if screen.choice is not None and screen.choice.thread_um else 0.0
        by_mesh.setdefault((screen.mesh_per_cm or 0.0, thread), []).append(screen)
    rows: list[list[object]] = [
        list(heads("station", "", "ink", "stencil over mesh", "tension", "frame", "what shaped the choice"))
    ]
    more: list[Command] = []
    for mesh, thread in sorted(by_mesh):
        screens = by_mesh[mesh, thread]
        more += [("SPAN", (0, len(rows)), (-1, len(rows))), ("TOPPADDING", (0, len(rows)), (-1, len(rows)), 4)]
        rows.append([_mesh_line(screens[0], words, thread, len(screens)), "", "", "", "", "", ""])
        before = ""
        for screen in screens:
            why = _why(screen, sources)
            rows.append(_screen_row(content, screen, words, "as above" if why == before and why != "–" else why))
            before = why
    shares = (0.06, 0.035, 0.235, 0.105, 0.075, 0.11, 0.38)
    return ruled(rows, [share * width for share in shares], pad=1.6, more=more)


def _why(screen: SheetScreen, sources: Sources) -> str:
    """Markup of what shaped a choice, its sources as numbers."""
    if screen.choice is None:
        return "–"
    why = [f"{strong('Nearest:')} {safe(screen.choice.nearest, 400)}"] if screen.choice.nearest else []
    why += [sentence(reason.text) + sources.mark(reason.source) for reason in screen.choice.shaped_by]
    return " ".join(why) or "–"


def _mesh_line(screen: SheetScreen, words: UnitWords, thread_um: float, count: int) -> Paragraph:
    if screen.mesh_per_cm is None and screen.mesh_per_inch is None:
        return paragraph(f"No screen in stock fits: {safe(counted(count, 'screen'))}", MESH)
    thread = f", thread {thread_um:.0f} µm" if thread_um else ""
    mesh = words.mesh(screen.mesh_per_cm, screen.mesh_per_inch)
    return paragraph(
        f'{safe(mesh)}<font name="{REGULAR}" size="9">{safe(thread)}:   {counted(count, "screen")}</font>', MESH
    )


def _screen_row(content: SheetContent, screen: SheetScreen, words: UnitWords, why: str) -> list[object]:
    frame = screen.setting("frame")
    frame_said = words.size(*content.press.frame_mm) if frame is None else words.setting(frame.value, frame.unit)
    return [
        plain(str(screen.station), SMALL),
        Swatch(screen.colour),
        paragraph(f"{strong(screen.name)}  {safe(screen.role)}", SMALL),
        _setting(screen, words, "stencil over mesh", "stencil"),
        _setting(screen, words, "tension"),
        paragraph(safe(frame_said) + (known_mark(frame.known) if frame is not None else ""), SMALL),
        paragraph(why, SMALL),
    ]


def _setting(screen: SheetScreen, words: UnitWords, *names: str) -> Paragraph:
    setting = screen.setting(*names)
    if setting is None:
        return plain("by the shop", SMALL)
    return paragraph(safe(words.setting(setting.value, setting.unit)) + known_mark(setting.known), SMALL)


class FramePlace(Drawn):
    """A frame with the art box centred on it, to scale."""

    def __init__(self, frame_mm: tuple[float, float], art_mm: tuple[float, float], high: float) -> None:
        scale = high / frame_mm[1]
        super().__init__(frame_mm[0] * scale, high)
        self.art = art_mm[0] * scale, art_mm[1] * scale

    def draw(self) -> None:
        """Draw at the origin."""
        canvas = self.canv
        canvas.setStrokeColor(INK)
        canvas.setLineWidth(1.2)
        canvas.rect(0, 0, self.wide, self.high)
        wide, high = self.art
        canvas.setLineWidth(0.6)
        canvas.rect((self.wide - wide) / 2, (self.high - high) / 2, wide, high)
        canvas.setStrokeColor(HAIRLINE)
        canvas.setDash(2, 2)
        canvas.line(self.wide / 2, 0, self.wide / 2, self.high)
        canvas.line(0, self.high / 2, self.wide, self.high / 2)
        canvas.setDash()


def _image_place(content: SheetContent, words: UnitWords, width: float) -> list[Flowable]:
    box = content.steps.art_box_mm
    if box is None:
        return []
    frame = content.press.frame_mm
    art = box[2], box[3]
    sides, ends = (frame[0] - art[0]) / 2, (frame[1] - art[1]) / 2
    margin = content.shop.policies.frame_margin_mm
    said = (
        f"The art is {words.size(*art)}, centred on a frame of {words.size(*frame)}: {words.length(sides)} from the "
        f"frame's outer edge at each side and {words.length(ends)} at each end. All films of the job stand at the same "
        "place by their registration marks."
    )
    if min(sides, ends) < margin:
        said += f" That is less than the {words.length(margin)} which the shop keeps free."
    text = [plain("Image place on the frame", HEADING), paragraph(safe(said) + known_mark(Known.COMPUTED), BODY)]
    picture = FramePlace(frame, (min(art[0], frame[0]), min(art[1], frame[1])), 78)
    table = Table(
        [[text, picture]],
        colWidths=[width - picture.wide - 20, picture.wide + 20],
        hAlign="LEFT",
        style=[*BARE, ("ALIGN", (1, 0), (1, 0), "RIGHT")],
    )
    table.spaceBefore = 8
    return [table]


def _findings(content: SheetContent, width: float) -> list[Flowable]:
    if not content.findings:
        return []
    weight = {Severity.STOP: 0, Severity.WARN: 1, Severity.NOTE: 2}
    rows: list[list[object]] = [list(heads("", "plates", "what the plates show"))]
    worst_first = sorted(content.findings, key=lambda f: weight[f.severity])
    for finding in worst_first[:MOST_FINDINGS]:
        word = strong(finding.severity.value) if finding.severity is not Severity.NOTE else safe(finding.severity.value)
        rows.append([paragraph(word, SMALL), plain(", ".join(finding.plates), SMALL), plain(finding.text, SMALL)])
    if len(worst_first) > MOST_FINDINGS:
        rows.append(["", "", plain(f"and {len(worst_first) - MOST_FINDINGS} more", SMALL)])
    return [plain("Before film is made", HEADING), ruled(rows, [40, 0.26 * width, 0.74 * width - 40])]


def _labels(content: SheetContent, words: UnitWords, width: float) -> list[Flowable]:
    """A label for each screen to cut out and stick on the frame, with its plate, black on white."""
    count = len(content.screens())
    if not count:
        return []
    a_row = 3 if count in (3, 5, 6, 9) else 4
    wide = width / a_row
    cells = [_label(content, screen, words, wide) for screen in content.screens()]
    rows: list[list[object]] = [list(cells[at : at + a_row]) for at in range(0, len(cells), a_row)]
    rows[-1] += [""] * (a_row - len(rows[-1]))
    return [
        plain("Plates as film shows them, and labels to cut out for the frames", HEADING),
        boxed(rows, [wide] * a_row),
    ]


def _label(content: SheetContent, screen: SheetScreen, words: UnitWords, wide: float) -> Table:
    mesh = words.mesh(screen.mesh_per_cm, screen.mesh_per_inch)
    laps = f", laps {', '.join(str(s.lap) for s in screen.slots)}" if len(screen.slots) > 1 else ""
    title = content.job.title
    if content.job.location.lower() not in title.lower():
        title += f", {content.job.location}"
    text = [
        paragraph(f"{strong(f'station {screen.station}')}{safe(laps)}", SMALL),
        paragraph(strong(screen.name), BODY),
        plain(mesh, SMALL),
        plain(title, NOTE, 90),
        plain(f"{content.press.name}, {content.date}", NOTE, 110),
    ]
    thumb = content.pictures.plates.get(screen.ink)
    if thumb is not None:
        plate: Flowable = Picture(one_plate_picture(thumb), PLATE_WIDE, PLATE_HIGH)
    elif screen.need is not None and screen.need.plate is None:
        plate = plain("no plate of its own: made from the inks it carries, drawn in by the choke", NOTE)
    else:
        plate = plain("no picture of this plate", NOTE)
    return Table([[plate, text]], colWidths=[PLATE_WIDE + 7, wide - PLATE_WIDE - 21], style=BARE)
