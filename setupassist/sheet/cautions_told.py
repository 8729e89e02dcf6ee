"""Cautions as the sheet tells them, at the step where they matter."""

from __future__ import annotations

from reportlab.platypus.flowables import CondPageBreak, Flowable

from setupassist.sheet.content import SheetContent
from setupassist.sheet.sources import Sources
from setupassist.sheet.tables import Command, ruled
from setupassist.sheet.type import HAIRLINE, OPEN_HEADING, SMALL, paragraph, plain, safe, strong
from setupassist.sheet.unit_words import UnitWords
from setupassist.trade.cautions import cautions

ROOM_FOR_A_START = 80.0


def cautions_table(
    content: SheetContent, words: UnitWords, steps: tuple[str, ...], sources: Sources, width: float
) -> list[Flowable]:
    """The job's cautions that belong to these steps, each with its source; nothing where there is none."""
    known = cautions()
    told = [known[name] for name in content.steps.cautions if name in known and known[name].step in steps]
    told.sort(key=lambda caution: steps.index(caution.step))
    if not told:
        return []
    rows: list[list[object]] = []
    lines: list[Command] = [
        ("LINEBELOW", (1, 0), (1, -1), 0.4, HAIRLINE),
        ("LINEBELOW", (0, -1), (0, -1), 0.4, HAIRLINE),
    ]
    before = ""
    for caution in told:
        step = words.say(f"step.{caution.step.value}")
        text = paragraph(safe(words(caution.text)) + sources.mark(caution.cited), SMALL)
        if step != before and rows:
            lines.append(("LINEBELOW", (0, len(rows) - 1), (0, len(rows) - 1), 0.4, HAIRLINE))
        rows.append([paragraph(strong(step if step != before else ""), SMALL), text])
        before = step
    return [
        CondPageBreak(ROOM_FOR_A_START),
        plain(words.say("crew.cautions"), OPEN_HEADING),
        ruled(rows, [0.085 * width, 0.915 * width], head_rows=0, pad=0.6, lined=False, more=lines),
    ]
