"""What every printed document is made of: one PDF whose heads say how many pages it has."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from io import BytesIO

from reportlab.platypus import BaseDocTemplate, Frame, PageTemplate
from reportlab.platypus.flowables import Flowable

from setupassist.sheet import type as face
from setupassist.sheet.type import clean
from setupassist.sheet.unit_words import UnitWords

Size = tuple[float, float]
Bound = tuple[bytes, int]
"""A PDF and its pages."""


def size_of(paper: str, papers: dict[str, Size]) -> Size:
    """Width and height of a paper in points; ValueError for another than a4 or letter."""
    if paper not in papers:
        raise ValueError(f"paper is a4 or letter, not '{paper}'")
    return papers[paper]


def with_page_numbers(bind: Callable[[int], Bound]) -> bytes:
    """The PDF that ``bind`` makes when it is told how many pages there are: it is bound twice."""
    _, pages = bind(0)
    return bind(pages)[0]


def bound(
    templates: Sequence[PageTemplate], story: list[Flowable], *, size: Size, title: str, subject: str, version: str,
    words: UnitWords, language: str,
) -> Bound:  # fmt: skip
    """The story set on the templates' pages; equal input gives equal bytes."""
    target = BytesIO()
    document = BaseDocTemplate(
        target, pagesize=size, invariant=1, pageCompression=1, initialFontName=face.REGULAR,
        title=clean(title, 200), author="", subject=subject,
        creator=words.say("foot.made-by", version=version), lang=language,
    )  # fmt: skip
    document.addPageTemplates(list(templates))
    document.build(story)
    return target.getvalue(), document.page


def plain_frame(name: str, x: float, y: float, width: float, height: float) -> Frame:
    """A frame without padding."""
    return Frame(x, y, width, height, leftPadding=0, rightPadding=0, topPadding=0, bottomPadding=0, id=name)
