"""Ink names and job numbers that stand in the margin where the marks stand, anywhere along the sheet's side.

From a mark (and a little nearer to the art) outwards there is nothing but marks and small type in every plate, type
stands there in several plates, and no two plates have the same there: a caption of the picture would lie on its base.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence

import numpy as np
import numpy.typing as npt

from setupassist.inspection.bits import count, pack
from setupassist.inspection.clumps import Boxes, as_box
from setupassist.inspection.planes import Box, PackedPlate
from setupassist.inspection.shapes import crop

PADS_MM = (12.0, 2.0)  # how far type may stand from a mark towards the art
MOST_WORDS = 60
SAME_SHARE = 0.8  # of the lesser ink: more than that lies on the other, and both are one picture


class LabelBand:
    """``rest`` are the islands of each plate but specks, ``height`` is the most that small type is high, in cells."""

    def __init__(self, plates: Sequence[PackedPlate], rest: Sequence[Boxes], height: float) -> None:
        self.plates, self.rest, self.height = plates, rest, height
        self.pads = [pad * plates[0].grid.cells_per_mm for pad in PADS_MM]

    def labels_beside(self, mark: Box, marks: Sequence[Iterable[Box]]) -> list[set[Box]]:
        """For each plate the type on a mark's side of the sheet; ``marks`` are the boxes of all marks in each plate."""
        none: list[set[Box]] = [set() for _ in self.plates]
        for pad in self.pads:
            for start, end in ((0, 1), (2, 3)):
                for low, high in ((mark[start] - pad, np.inf), (-np.inf, mark[end] + pad)):
                    words = [
                        self._words(boxes, set(own), start, low, high)
                        for boxes, own in zip(self.rest, marks, strict=True)
                    ]
                    if any(found is None for found in words):
                        continue
                    known = [found or set() for found in words]
                    if sum(bool(found) for found in known) >= 2 and not self._one_picture(known):
                        return known
        return none

    def _words(self, boxes: Boxes, marks: set[Box], start: int, low: float, high: float) -> set[Box] | None:
        """Small type in a band; None where anything else lies there."""
        level: npt.NDArray[np.int64] = boxes[(boxes[:, start] < high) & (boxes[:, start + 1] > low)]
        found = {as_box(row) for row in level} - marks
        small = all(
            min(box[1] - box[0], box[3] - box[2]) <= self.height and low <= box[start] and box[start + 1] <= high
            for box in found
        )
        return found if small and len(found) <= MOST_WORDS else None

    def _one_picture(self, words: Sequence[set[Box]]) -> bool:
        """Whether two plates hold the same there."""
        joined = {plate: _joined(boxes) for plate, boxes in enumerate(words) if boxes}
        for one, box in joined.items():
            for two, other in joined.items():
                top, bottom = max(box[0], other[0]), min(box[1], other[1])
                left, right = max(box[2], other[2]), min(box[3], other[3])
                if one < two and top < bottom and left < right:
                    a, b = (self._bits(plate, (top, bottom, left, right)) for plate in (one, two))
                    if count(a & b) > SAME_SHARE * max(1, min(count(a), count(b))):
                        return True
        return False

    def _bits(self, plate: int, box: Box) -> npt.NDArray[np.uint64]:
        return pack(crop(self.plates[plate], box))


def _joined(boxes: set[Box]) -> Box:
    tops, bottoms, lefts, rights = zip(*boxes, strict=True)
    return min(tops), max(bottoms), min(lefts), max(rights)
