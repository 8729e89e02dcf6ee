"""Sources of what the sheet says, as small raised numbers and a list below: a footnote, never an icon."""

from __future__ import annotations

from collections.abc import Iterable

from reportlab.platypus.flowables import Flowable, KeepTogether, Spacer

from setupassist.sheet.type import NOTE, SMALLEST, lead, paragraph, safe
from setupassist.sheet.unit_words import UnitWords


class Sources:
    """Sources numbered in the order in which they are named, told once below."""

    def __init__(self, words: UnitWords) -> None:
        self.words = words
        self.listed: list[str] = []

    def mark(self, source: str) -> str:
        """Markup of the raised number of a source."""
        return self.marks([source])

    def marks(self, sources: Iterable[str]) -> str:
        """Markup of the raised numbers of several sources."""
        numbers = []
        for source in dict.fromkeys(sources):
            if not source:
                continue
            if source not in self.listed:
                self.listed.append(source)
            numbers.append(str(self.listed.index(source) + 1))
        return f'<super rise="2.2" size="{SMALLEST}">{", ".join(numbers)}</super>' if numbers else ""

    def told(self) -> list[Flowable]:
        """The list of sources."""
        if not self.listed:
            return []
        said = ";  ".join(f"{at}\u00a0{safe(self.words(source), 300)}" for at, source in enumerate(self.listed, 1))
        return [KeepTogether([Spacer(1, 6), paragraph(lead(self.words.say("crew.sources")) + said, NOTE)])]
