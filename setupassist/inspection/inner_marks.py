"""Marks that stand inside of the box of the art: in the free corner of an L, or within a frame.

Art may look like a mark there, so nearly everything must speak for it. What has the shape of a mark found outside of
the art's box must stand on clear paper in all plates. Without such a one it must also be in three plates or more, be
drawn with thin lines, be alike when mirrored, and face another of its kind across the middle of the plate or of all
ink, far apart and not in a row.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from itertools import product
from typing import TYPE_CHECKING

import numpy as np
import numpy.typing as npt

from setupassist.inspection.clumps import Box, Boxes

if TYPE_CHECKING:
    from setupassist.inspection.marks import Inked

Shape = npt.NDArray[np.float64]
"""Ink of a mark by cell."""

LEAST_PLATES = 3
MOST_FILL = 0.55
FULL_SHARE = 0.9
ALIKE = 0.85
LEAST_APART, LEAST_FROM_KIN = 0.4, 0.2  # of the box of all ink
FLIPS = ((False, True), (True, False))


def is_thin(part: Shape, full: int) -> bool:
    """Whether a shape is drawn with lines under two to three cells wide (0.7 to 1 mm)."""
    solid = part >= FULL_SHARE * full
    thick = int((solid[1:, 1:] & solid[:-1, 1:] & solid[1:, :-1] & solid[:-1, :-1]).sum())
    return bool(part.sum() <= MOST_FILL * part.size * full and thick <= 4 + 0.02 * np.count_nonzero(part))


def likeness(one: Shape, two: Shape) -> float:
    """How far two shapes agree, 0..1: the cosine of their ink, smoothed over 3 x 3 cells, where they fit best."""
    high, wide = (max(sizes) + 6 for sizes in zip(one.shape, two.shape, strict=True))
    best, fixed = 0.0, _smoothed(one, high, wide, (3, 3))
    for down, across in product(range(-2, 3), repeat=2):
        other = _smoothed(two, high, wide, (3 + down, 3 + across))
        best = max(best, float((fixed * other).sum() / np.sqrt((fixed**2).sum() * (other**2).sum())))
    return best


def _smoothed(part: Shape, high: int, wide: int, at: tuple[int, int]) -> Shape:
    out = np.zeros((high + 2, wide + 2))
    out[at[0] : at[0] + part.shape[0], at[1] : at[1] + part.shape[1]] = part
    down = out[:-2] + out[1:-1] + out[2:]
    return np.asarray(down[:, :-2] + down[:, 1:-1] + down[:, 2:])


class InnerMarks:
    """Judges marks by their boxes (in cells) in the plates that hold them, by plate number."""

    def __init__(
        self,
        plates: Sequence[Inked],
        found: Sequence[Boxes],
        small: Sequence[Boxes],
        lone: Sequence[set[Box]],
        *,
        clear: float,
        slack: float,
    ) -> None:
        """``found`` are all islands of each plate, ``small`` those of the size of small type, ``lone`` the specks."""
        self.plates, self.small, self.lone = plates, small, lone
        self.clear, self.slack = round(clear), slack
        self.grid = plates[0].grid
        some = np.concatenate(list(found))
        self.ink_box = some[:, 0].min(), some[:, 1].max(), some[:, 2].min(), some[:, 3].max()
        self._occupied: dict[int, npt.NDArray[np.bool_]] = {}

    def shape(self, plate: int, box: Box) -> Shape:
        """The ink of a box by cell."""
        part: Shape = self.plates[plate].ink[box[0] : box[1], box[2] : box[3]].astype(np.float64)
        return part

    def alike(self, boxes: Mapping[int, Box], sure: Mapping[int, Box]) -> bool:
        """Whether something has the shape of a sure mark, straight or mirrored, and stands on clear paper."""
        one, two = (self.shape(*next(iter(each.items()))) for each in (boxes, sure))
        ways = (two, two[::-1], two[:, ::-1], two[::-1, ::-1])
        return any(likeness(one, way) >= ALIKE for way in ways) and self.is_clear(boxes)

    def is_clear(self, boxes: Mapping[int, Box]) -> bool:
        """Whether no plate has other ink about the place of a mark but labels, which differ from plate to plate."""
        tops, bottoms, lefts, rights = zip(*boxes.values(), strict=True)
        top, left = max(0, min(tops) - self.clear), max(0, min(lefts) - self.clear)
        bottom, right = max(bottoms) + self.clear, max(rights) + self.clear
        labels: list[Boxes] = []
        for number, plate in enumerate(self.plates):
            if number not in self._occupied:
                self._occupied[number] = plate.occupied()
            part = self._occupied[number][top:bottom, left:right].copy()
            own = boxes.get(number)
            small = self.small[number]
            here = small[(small[:, 1] > top) & (small[:, 0] < bottom) & (small[:, 3] > left) & (small[:, 2] < right)]
            known = {*map(tuple, here.tolist())}
            type_here = known - self.lone[number] - {own}
            for box in known & self.lone[number] | ({own, *type_here} if own else set()):
                part[max(0, box[0] - top) : box[1] - top, max(0, box[2] - left) : box[3] - left] = False
            if part.any():
                return False
            if type_here:
                labels.append(np.array(sorted(type_here)))
        if any((np.abs(one[:, None] - two).max(2) <= 1).any() for i, one in enumerate(labels) for two in labels[:i]):
            return False
        return not labels or 2 * len(labels) >= len(boxes)

    def certain(self, marks: Sequence[Mapping[int, Box]], same: Callable[[int, int], bool]) -> set[int]:
        """Which of some marks are marks wherever the art lies; ``same`` tells of two whether they hold as much ink."""
        good = {i for i, boxes in enumerate(marks) if len(boxes) >= LEAST_PLATES and self._is_drawn(boxes)}
        at = np.array([self._middle(boxes) for boxes in marks])
        facing = {i: self._facing(i, [j for j in range(len(marks)) if j == i or same(i, j)], marks, at) for i in good}
        good = {i for i in good if facing[i] & good and self.is_clear(marks[i])}
        while any(not facing[i] & good for i in good):
            good = {i for i in good if facing[i] & good}
        return good

    def _is_drawn(self, boxes: Mapping[int, Box]) -> bool:
        """Whether every plate draws the same thing with thin lines."""
        shapes = [self.shape(plate, box) for plate, box in boxes.items()]
        full = self.grid.full
        return all(is_thin(one, full) for one in shapes) and all(likeness(shapes[0], s) >= ALIKE for s in shapes[1:])

    def _facing(
        self, mark: int, kin: Sequence[int], marks: Sequence[Mapping[int, Box]], at: npt.NDArray[np.float64]
    ) -> set[int]:
        """The marks of its kind that a mark faces as registration marks do; ``kin`` holds the mark itself too."""
        top, bottom, left, right = self.ink_box
        extent = np.array([bottom - top, right - left])
        apart = np.abs(at[kin] - at[mark])
        if len(kin) > 2 and bool((apart <= self.slack).all(0).any()):
            return set()  # a row
        if np.sort(apart.max(1))[1:2].sum() < LEAST_FROM_KIN * extent.max():
            return set()
        shape = self.shape(*next(iter(marks[mark].items())))
        middles = np.array([[self.grid.rows, self.grid.columns], [0, 0]]) / (2 * self.grid.cell)
        middles[1] = (top + bottom) / 2, (left + right) / 2
        found: list[set[int]] = []
        for axis, (down, across) in enumerate(((True, False), (False, True))):
            facing = set()
            for i, other in enumerate(kin):
                over = np.abs(at[mark, axis] + at[other, axis] - 2 * middles[:, axis]).min() <= self.slack
                if not over or apart[i, 1 - axis] > self.slack or apart[i, axis] < LEAST_APART * extent[axis]:
                    continue
                picture = self.shape(*next(iter(marks[other].items())))
                if likeness(shape, picture[:: -1 if down else 1, :: -1 if across else 1]) >= ALIKE:
                    facing.add(other)
            found.append(facing)
        even = all(likeness(shape, shape[:: -1 if d else 1, :: -1 if a else 1]) >= ALIKE for d, a in FLIPS)
        return found[0] | found[1] if even or (found[0] and found[1]) else set()

    @staticmethod
    def _middle(boxes: Mapping[int, Box]) -> tuple[float, float]:
        top, bottom, left, right = np.mean(list(boxes.values()), axis=0)
        return float(top + bottom) / 2, float(left + right) / 2
