"""The review document: what ``review --json`` prints of an arrangement made by hand."""

from __future__ import annotations

from setupassist.documents.base import Document, Text
from setupassist.documents.plan import BrokenLimit, Slot


class ReviewedWish(Document):
    """One wish: what the arrangement counts of it, and the best that the planner knows."""

    name: str
    value: float
    best: float


class Mending(Document):
    """Steps that mend the arrangement, in words, and the arrangement after them, as a job holds it."""

    text: Text
    arrangement: tuple[Slot, ...]


class Review(Document):
    """Limits broken, wishes against the best, and the smallest moves that mend what is broken."""

    broken: tuple[BrokenLimit, ...] = ()
    wishes: tuple[ReviewedWish, ...] = ()
    mend: tuple[Mending, ...] = ()
