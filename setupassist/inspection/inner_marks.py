"""Marks that stand inside of the box of the art: in the free corner of an L, or within a frame.

Art may look like a mark there, so nearly everything must speak for it. What has the shape of a mark found outside of
the art's box must stand on clear paper in all plates. Without such a one it must also be in three plates or more, be
drawn with thin lines, be alike when mirrored, and face another of its kind across the middle of the plate or of all
ink, far apart and not in a row.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

import numpy as np
import numpy.typing as npt

from setupassist.inspection.bits import Mask
from setupassist.inspection.clumps import Boxes
from setupassist.inspection.planes import Box, PackedPlate
from setupassist.inspection.shapes import crop, fit, near_pixels, ways_of

LEAST_PLATES = 3
MOST_FILL = 0.55
FULL_SHARE = 0.9
MIRRORED = 0.98  # letters like B and e are nearly even
LEAST_APART, LEAST_FROM_KIN = 0.4, 0.2  # of the box of all ink


def is_thin(ink: npt.NDArray[np.unsignedinteger[Any]], full: int) -> bool:
    """Whether a shape, as ink by cell, is drawn with lines under two to three cells wide (0.7 to 1 mm)."""
    solid = ink >= FULL_SHARE * full
    thick = int((solid[1:, 1:] & solid[:-1, 1:] & solid[1:, :-1] & solid[:-1, :-1]).sum())
    return bool(ink.sum(dtype=np.int64) <= MOST_FILL * ink.size * full and thick <= 4 + 0.02 * np.count_nonzero(ink))


def _within(boxes: Boxes, top: int, bottom: int, left: int, right: int) -> set[Box]:
    """The boxes that reach into a box."""
    touch = (boxes[:, 1] > top) & (boxes[:, 0] < bottom) & (boxes[:, 3] > left) & (boxes[:, 2] < right)
    return {(y0, y1, x0, x1) for y0, y1, x0, x1 in boxes[touch].tolist()}


class InnerMarks:
    """Judges marks by their boxes (in cells) in the plates that hold them, by plate number."""

    def __init__(
        self,
        plates: Sequence[PackedPlate],
        found: Sequence[Boxes],
        small: Sequence[Boxes],
        lone: Sequence[Boxes],
        *,
        clear: float,
        slack: float,
    ) -> None:
        """``found`` are all islands of each plate, ``small`` those of the size of small type, ``lone`` the specks."""
        self.plates, self.small, self.lone = plates, small, lone
        self.clear, self.slack = round(clear), slack
        self.grid = plates[0].grid
        self.near = near_pixels(self.grid)
        some = np.concatenate(list(found))
        self.ink_box = some[:, 0].min(), some[:, 1].max(), some[:, 2].min(), some[:, 3].max()
        self._occupied: dict[int, npt.NDArray[np.bool_]] = {}

    def picture(self, boxes: Mapping[int, Box]) -> Mask:
        """The pixels of a mark in the first plate that holds it."""
        plate, box = next(iter(boxes.items()))
        return crop(self.plates[plate], box)

    def alike(self, boxes: Mapping[int, Box], sure: Mapping[int, Box]) -> bool:
        """Whether something has the shape of a sure mark, however it lies, and stands on clear paper."""
        one, two = self.picture(boxes), self.picture(sure)
        return any(self._fits(one, way) for way in ways_of(two)) and self.is_clear(boxes)

    def _fits(self, one: Mask, two: Mask) -> bool:
        return fit(one, two, self.near) is not None

    def _mirrors(self, one: Mask, two: Mask, axis: int) -> bool:
        """Whether one picture is closely the other's mirror image, rows (0) or columns (1) running backwards."""
        return fit(one, np.flip(two, axis), self.near, MIRRORED) is not None

    def is_clear(self, boxes: Mapping[int, Box]) -> bool:
        """Whether no plate has other ink about the place of a mark but labels, which differ from plate to plate."""
        tops, bottoms, lefts, rights = zip(*boxes.values(), strict=True)
        joined = min(tops), max(bottoms), min(lefts), max(rights)
        touched = False
        labels: list[tuple[int, set[Box]]] = []
        for number, plate in enumerate(self.plates):
            if number not in self._occupied:
                self._occupied[number] = plate.occupied()
            own = boxes.get(number)
            top, bottom, left, right = own or joined
            top, left = max(0, top - self.clear), max(0, left - self.clear)
            bottom, right = bottom + self.clear, right + self.clear
            part = self._occupied[number][top:bottom, left:right].copy()
            specks = _within(self.lone[number], top, bottom, left, right)
            type_here = _within(self.small[number], top, bottom, left, right) - specks - {own}
            for box in specks | ({own, *type_here} if own else set()):
                part[max(0, box[0] - top) : box[1] - top, max(0, box[2] - left) : box[3] - left] = False
            if part.any():
                return False
            touched = touched or bool(type_here)
            wide = top - self.clear, bottom + self.clear, left - self.clear, right + self.clear
            if own and (near := _within(self.small[number], *wide) - specks - {own}):
                labels.append((number, near))
        if not touched:
            return True
        if 2 * len(labels) < len(boxes):
            return False
        most = max(2, len(labels)) / 2
        return not any(self._plates_with(number, box, labels) > most for number, some in labels for box in some)

    def _plates_with(self, plate: int, box: Box, labels: Sequence[tuple[int, set[Box]]]) -> int:
        """In how many plates' labels what stands in a box of a plate stands too."""
        picture = crop(self.plates[plate], box)
        return sum(
            any(
                max(abs(a - b) for a, b in zip(box, other, strict=True)) <= 1
                and self._fits(picture, crop(self.plates[number], other))
                for other in some
            )
            for number, some in labels
        )

    def certain(self, marks: Sequence[Mapping[int, Box]], same: Sequence[Sequence[bool]], least: int) -> set[int]:
        """Which of some marks are marks wherever the art lies.

        ``same`` tells of each two whether they hold as much ink, ``least`` how many plates must hold a mark.
        """
        good = {i for i, boxes in enumerate(marks) if len(boxes) >= least and self._is_thin(boxes)}
        at = np.array([self._middle(boxes) for boxes in marks])
        facing = {i: self._facing(i, [j for j in range(len(marks)) if j == i or same[i][j]], marks, at) for i in good}
        good = {i for i in good if facing[i] & good and self.is_clear(marks[i]) and self._is_one_shape(marks[i])}
        while any(not facing[i] & good for i in good):
            good = {i for i in good if facing[i] & good}
        return good

    def _is_thin(self, boxes: Mapping[int, Box]) -> bool:
        """Whether every plate draws it with thin lines."""
        return all(
            is_thin(self.plates[plate].ink[top:bottom, left:right], self.grid.full)
            for plate, (top, bottom, left, right) in boxes.items()
        )

    def _is_one_shape(self, boxes: Mapping[int, Box]) -> bool:
        first = self.picture(boxes)
        return all(self._fits(first, crop(self.plates[plate], box)) for plate, box in boxes.items())

    def _facing(
        self, mark: int, kin: Sequence[int], marks: Sequence[Mapping[int, Box]], at: npt.NDArray[np.float64]
    ) -> set[int]:
        """The marks of its kind that a mark faces as registration marks do; ``kin`` holds the mark itself too."""
        top, bottom, left, right = self.ink_box
        extent = np.array([bottom - top, right - left])
        apart = np.abs(at[kin] - at[mark])
        if len(kin) < 2 or (len(kin) > 2 and bool((apart <= self.slack).all(0).any())):
            return set()  # alone, or in a row
        if np.sort(apart.max(1))[1] < LEAST_FROM_KIN * extent.max():
            return set()
        picture = self.picture(marks[mark])
        middles = np.array([[self.grid.rows, self.grid.columns], [0, 0]]) / (2 * self.grid.cell)
        middles[1] = (top + bottom) / 2, (left + right) / 2
        found: list[set[int]] = [set(), set()]
        for axis in (0, 1):
            for i, other in enumerate(kin):
                over = np.abs(at[mark, axis] + at[other, axis] - 2 * middles[:, axis]).min() <= self.slack
                if not over or apart[i, 1 - axis] > self.slack or apart[i, axis] < LEAST_APART * extent[axis]:
                    continue
                if self._mirrors(picture, self.picture(marks[other]), axis):
                    found[axis].add(other)
        if found[0] and found[1]:
            return found[0] | found[1]
        even = (found[0] or found[1]) and all(self._mirrors(picture, picture, axis) for axis in (0, 1))
        return found[0] | found[1] if even else set()

    @staticmethod
    def _middle(boxes: Mapping[int, Box]) -> tuple[float, float]:
        top, bottom, left, right = np.mean(list(boxes.values()), axis=0)
        return float(top + bottom) / 2, float(left + right) / 2
