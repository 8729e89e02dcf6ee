"""The screen room's pages: screens to pull by mesh, stencils, image place on the frame, every plate, and labels."""

from __future__ import annotations

from reportlab.platypus import Paragraph, Table
from reportlab.platypus.flowables import Flowable

from setupassist.appearance.thumbnails import one_plate_picture
from setupassist.documents.terms import Known, Severity
from setupassist.sheet.content import SheetContent, SheetScreen, role_said
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
from setupassist.sheet.unit_words import UnitWords
from setupassist.words import say

PLATE_WIDE, PLATE_HIGH = 64.0, 60.0

MOST_FINDINGS = 60
_COLUMNS = ("station", "", "ink", "stencil", "tension", "frame", "shaped")


def screen_room(content: SheetContent, words: UnitWords, width: float) -> list[Flowable]:
    """What the screen room pulls, coats, exposes and labels."""
    sources = Sources(words)
    place = (
        beside(lambda wide: _image_place(content, words, wide), lambda wide: _findings(content, words, wide), width)
        if content.findings
        else _image_place(content, words, (width - 24) / 2)
    )
    return [
        plain(words.say("screen-room.title"), HEADING),
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
    rows: list[list[object]] = [list(heads(*(words.say(f"screen-room.{name}") if name else "" for name in _COLUMNS)))]
    more: list[Command] = []
    for mesh, thread in sorted(by_mesh):
        screens = by_mesh[mesh, thread]
        more += [("SPAN", (0, len(rows)), (-1, len(rows))), ("TOPPADDING", (0, len(rows)), (-1, len(rows)), 4)]
        rows.append([_mesh_line(screens[0], words, thread, len(screens)), "", "", "", "", "", ""])
        before = ""
        for screen in screens:
            why = _why(screen, words, sources)
            told = safe(words.say("screen-room.as-above")) if why == before and why != "–" else why
            rows.append(_screen_row(content, screen, words, told))
            before = why
    shares = (0.06, 0.035, 0.235, 0.105, 0.075, 0.11, 0.38)
    return ruled(rows, [share * width for share in shares], pad=1.6, more=more)


def _why(screen: SheetScreen, words: UnitWords, sources: Sources) -> str:
    """Markup of what shaped a choice, its sources as numbers."""
    if screen.choice is None:
        return "–"
    nearest = screen.choice.nearest
    why = [f"{strong(words.say('screen-room.nearest'))} {safe(words(nearest), 400)}"] if nearest else []
    why += [sentence(words(reason.text)) + sources.mark(reason.source) for reason in screen.choice.shaped_by]
    return " ".join(why) or "–"


def _mesh_line(screen: SheetScreen, words: UnitWords, thread_um: float, count: int) -> Paragraph:
    if screen.mesh_per_cm is None and screen.mesh_per_inch is None:
        none = words.say("screen-room.none-fits", screens=words.counted("screens", count))
        return paragraph(safe(none), MESH)
    thread = words.say("screen-room.thread", thread=thread_um) if thread_um else ""
    screens = words.counted("screens", count)
    mesh = words.mesh(screen.mesh_per_cm, screen.mesh_per_inch)
    return paragraph(f'{safe(mesh)}<font name="{REGULAR}" size="9">{safe(thread)}:   {safe(screens)}</font>', MESH)


def _screen_row(content: SheetContent, screen: SheetScreen, words: UnitWords, why: str) -> list[object]:
    frame = screen.setting("frame")
    frame_said = words.size(*content.press.frame_mm) if frame is None else words.setting(frame.value, frame.unit)
    return [
        plain(str(screen.station), SMALL),
        Swatch(screen.colour),
        paragraph(f"{strong(words(screen.name))}  {safe(words(role_said(screen.role)))}", SMALL),
        _setting(screen, words, "stencil over mesh", "stencil"),
        _setting(screen, words, "tension"),
        paragraph(safe(frame_said) + (known_mark(words.known(frame.known)) if frame is not None else ""), SMALL),
        paragraph(why, SMALL),
    ]


def _setting(screen: SheetScreen, words: UnitWords, *names: str) -> Paragraph:
    setting = screen.setting(*names)
    if setting is None:
        return plain(words.say("settings.by-the-shop"), SMALL)
    return paragraph(safe(words.setting(setting.value, setting.unit)) + known_mark(words.known(setting.known)), SMALL)


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
    told = {"art": words.size(*art), "frame": words.size(*frame)}
    told |= {"sides": words.length(sides), "ends": words.length(ends)}
    said = words.say("screen-room.centred", **told)
    if min(sides, ends) < margin:
        said = words.say("screen-room.too-near", margin=words.length(margin), **told)
    mark = known_mark(words.known(Known.COMPUTED))
    text = [plain(words.say("screen-room.image-place"), HEADING), paragraph(safe(said) + mark, BODY)]
    picture = FramePlace(frame, (min(art[0], frame[0]), min(art[1], frame[1])), 78)
    table = Table(
        [[text, picture]],
        colWidths=[width - picture.wide - 20, picture.wide + 20],
        hAlign="LEFT",
        style=[*BARE, ("ALIGN", (1, 0), (1, 0), "RIGHT")],
    )
    table.spaceBefore = 8
    return [table]


def _findings(content: SheetContent, words: UnitWords, width: float) -> list[Flowable]:
    if not content.findings:
        return []
    weight = {Severity.STOP: 0, Severity.WARN: 1, Severity.NOTE: 2}
    rows: list[list[object]] = [list(heads("", words.say("screen-room.plates"), words.say("screen-room.shown")))]
    worst_first = sorted(content.findings, key=lambda f: weight[f.severity])
    for finding in worst_first[:MOST_FINDINGS]:
        severity = words(say(f"terms.severity.{finding.severity.value}"))
        word = safe(severity) if finding.severity is Severity.NOTE else strong(severity)
        rows.append(
            [paragraph(word, SMALL), plain(", ".join(finding.plates), SMALL), plain(words(finding.told), SMALL)]
        )
    if len(worst_first) > MOST_FINDINGS:
        rows.append(["", "", plain(words.say("list-end", count=len(worst_first) - MOST_FINDINGS), SMALL)])
    return [plain(words.say("screen-room.findings"), HEADING), ruled(rows, [40, 0.26 * width, 0.74 * width - 40])]


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
        plain(words.say("screen-room.labels"), HEADING),
        boxed(rows, [wide] * a_row),
    ]


def _label(content: SheetContent, screen: SheetScreen, words: UnitWords, wide: float) -> Table:
    mesh = words.mesh(screen.mesh_per_cm, screen.mesh_per_inch)
    station = words.say("screen-room.label-station", station=screen.station)
    laps = words.say("screen-room.label-laps", laps=", ".join(str(s.lap) for s in screen.slots))
    title = content.job.title
    location = words(content.location)
    if location.lower() not in title.lower():
        title += f", {location}"
    text = [
        paragraph(strong(station) + (safe(laps) if len(screen.slots) > 1 else ""), SMALL),
        paragraph(strong(words(screen.name)), BODY),
        plain(mesh, SMALL),
        plain(title, NOTE, 90),
        plain(f"{content.press.name}, {content.date}", NOTE, 110),
    ]
    thumb = content.pictures.plates.get(screen.ink)
    if thumb is not None:
        plate: Flowable = Picture(one_plate_picture(thumb), PLATE_WIDE, PLATE_HIGH)
    elif screen.need is not None and screen.need.plate is None:
        plate = plain(words.say("screen-room.made-plate"), NOTE)
    else:
        plate = plain(words.say("screen-room.no-picture"), NOTE)
    return Table([[plate, text]], colWidths=[PLATE_WIDE + 7, wide - PLATE_WIDE - 21], style=BARE)
