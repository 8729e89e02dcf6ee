"""Odd plates of a set: negatives, the same image twice, and plates that lie mirrored or turned."""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from itertools import combinations
from typing import Any

import numpy as np
import numpy.typing as npt

from setupassist.documents.measure import Finding
from setupassist.documents.terms import Severity
from setupassist.inspection.bits import Mask, count
from setupassist.inspection.grid import TILE_CELLS
from setupassist.inspection.marks import TURNS, Marks, limit, middle_of, turned_place
from setupassist.inspection.planes import Box, PackedPlate
from setupassist.inspection.register import Offset
from setupassist.inspection.shapes import crop, fit, near_pixels
from setupassist.words import say

RIM_INKED = 0.6
LEAST_PAPER, LEAST_INK = 0.002, 0.5
SAME_INK = 0.02
FOG, MOST_FOG, LEAST_FOG, FOGGED = 0.01, 0.2, 0.005, 0.9
LEAST_MARKS = 2


def looks_reversed(names: Sequence[str], plates: Sequence[PackedPlate]) -> list[Finding]:
    """Plates whose ink runs all round the rim and has paper holes in it: negatives of the set.

    A plate by itself may be art that bleeds off all sides: that is a warning.
    """
    found = []
    for name, plate in zip(names, plates, strict=True):
        grid = plate.grid
        rows, columns = grid.rows // grid.cell, grid.columns // grid.cell
        rim = max(1, round(limit("rim_mm") * grid.cells_per_mm))
        if min(rows, columns) < 4 * rim:
            continue
        cells = plate.ink[:rows, :columns]
        sides = (cells[:rim], cells[-rim:], cells[:, :rim], cells[:, -rim:])
        share = sum(float(side.sum(dtype=np.int64)) for side in sides) / (sum(side.size for side in sides) * grid.full)
        if share <= RIM_INKED:
            continue
        whole = float(cells.sum(dtype=np.int64)) / (cells.size * grid.full)
        if LEAST_INK < whole < 1 - LEAST_PAPER:
            found.append(
                Finding(
                    code="looks-reversed",
                    severity=Severity.STOP if len(plates) > 1 else Severity.WARN,
                    plates=(name,),
                    measured=share,
                    limit=RIM_INKED,
                    text=say("inspection.finding.looks-reversed", plate=name),
                    remedy=say("inspection.remedy.looks-reversed"),
                )
            )
    return found


def paper_not_clear(names: Sequence[str], plates: Sequence[PackedPlate]) -> list[Finding]:
    """Plates with light ink nearly everywhere and along the rim: fog of a scan, paper that was not made white."""
    found = []
    for name, plate in zip(names, plates, strict=True):
        grid = plate.grid
        rows, columns = grid.rows // grid.cell, grid.columns // grid.cell
        if plate.tone is None or not rows or not columns:
            continue
        fractions = plate.fractions()[:rows, :columns]
        rim = np.concatenate([fractions[0], fractions[-1], fractions[:, 0], fractions[:, -1]])
        fog = float(np.median(rim))
        if FOG <= fog <= MOST_FOG and float((fractions >= LEAST_FOG).mean()) > FOGGED:
            found.append(
                Finding(
                    code="paper-not-clear",
                    severity=Severity.WARN,
                    plates=(name,),
                    measured=fog,
                    limit=FOG,
                    text=say("inspection.finding.paper-not-clear", plate=name, fog=fog),
                    remedy=say("inspection.remedy.paper-not-clear"),
                )
            )
    return found


def same_plate_twice(names: Sequence[str], plates: Sequence[PackedPlate], under: Collection[int] = ()) -> list[Finding]:
    """Pairs of plates that hold the same image, a small retouch allowed; to be asked once the marks are erased.

    A base or blocker, numbered in ``under``, may hold the image of the one ink that it carries.
    Ink is compared by tiles, then bit by bit; greys by cell as well, so that two tints of a shape are two images.
    """
    found = []
    tiles = [_by_tile(plate) for plate in plates]
    totals = [float(sums.sum()) for sums in tiles]
    for i, j in combinations(range(len(plates)), 2):
        most = SAME_INK * max(totals[i], totals[j])
        if (i in under) != (j in under):
            continue
        if min(totals[i], totals[j]) <= 0 or np.abs(tiles[i] - tiles[j]).sum() > most:
            continue
        one, two = plates[i], plates[j]
        greys = one.tone is not None or two.tone is not None
        if (greys and _cells_apart(one, two) > most) or count(one.bits ^ two.bits) > most:
            continue
        found.append(
            Finding(
                code="same-plate-twice",
                severity=Severity.WARN,
                plates=(names[i], names[j]),
                text=say("inspection.finding.same-plate-twice", one=names[i], two=names[j]),
                remedy=say("inspection.remedy.same-plate-twice"),
            )
        )
    return found


def _by_tile(plate: PackedPlate) -> npt.NDArray[np.float64]:
    """Ink of each tile in pixels."""
    cells: npt.NDArray[Any] = plate.ink if plate.tone is None else plate.tone
    down = np.add.reduce(cells.reshape(-1, TILE_CELLS, cells.shape[1]), axis=1, dtype=np.uint32)
    sums: npt.NDArray[np.float64] = down.reshape(len(down), -1, TILE_CELLS).sum(2, dtype=np.float64)
    return sums if plate.tone is None else sums / 255


def _cells_apart(one: PackedPlate, two: PackedPlate) -> float:
    """By how many pixels of ink two plates differ, cell by cell."""
    total = 0.0
    for first in range(0, len(one.ink), 512):
        rows = slice(first, first + 512)
        total += float(np.abs(one.fractions(rows) - two.fractions(rows)).sum(dtype=np.float64))
    return total * one.grid.full


def looks_turned(
    names: Sequence[str], plates: Sequence[PackedPlate], marks: Marks, told: Sequence[Offset | None]
) -> list[Finding]:
    """Plates whose marks fit those of the other plates only when the plate is mirrored or turned by 180 degrees.

    Marks whose layout and shapes are symmetric cannot tell, and two plates cannot tell which of them is right.
    ``told`` are the offsets, by which most plates are known to lie straight. To be asked before the marks are erased.
    """
    own = [{number: mark.boxes[plate] for number, mark in enumerate(marks.marks) if plate in mark.boxes}
           for plate in range(len(plates))]  # fmt: skip
    if not marks.turned and all(
        len(mine) == (0 if offset is None else len(offset.marks)) for mine, offset in zip(own, told, strict=True)
    ):
        return []
    usual = _Usual(plates, marks)
    found = []
    for plate, name in enumerate(names):
        ways = usual.ways_of(plate, own[plate])
        if not ways:
            continue
        grid = plates[plate].grid
        boxes = {*own[plate].values(), *(box for way in marks.turned.get(plate, {}).values() for box in way.values())}
        said = [say(f"inspection.way.{how}") for how in ways]
        way = said[0] if len(said) == 1 else say("inspection.way.either", one=said[0], two=said[1])
        found.append(
            Finding(
                code="looks-turned",
                severity=Severity.NOTE,
                plates=(name,),
                text=say("inspection.finding.looks-turned", plate=name, way=way),
                remedy=say("inspection.remedy.looks-turned"),
                places_mm=tuple(
                    (x / grid.cells_per_mm, y / grid.cells_per_mm) for y, x in (middle_of(box) for box in sorted(boxes))
                ),
            )
        )
    return found


class _Usual:
    """How each mark looks in most of the plates that hold it."""

    def __init__(self, plates: Sequence[PackedPlate], marks: Marks) -> None:
        self.plates, self.marks = plates, marks
        self.grid = plates[0].grid
        self.near = near_pixels(self.grid)
        self.slack = limit("mark_slack_mm") * self.grid.cells_per_mm
        self.looks: list[Mask | None] = []
        self.odd: set[tuple[int, int]] = set()
        """Marks, by plate and number, that look otherwise than in most plates."""
        for number, mark in enumerate(marks.marks):
            kinds: list[tuple[Mask, list[int]]] = []
            for plate, box in mark.boxes.items():
                picture = crop(plates[plate], box)
                for look, alike in kinds:
                    if fit(look, picture, self.near) is not None:
                        alike.append(plate)
                        break
                else:
                    kinds.append((picture, [plate]))
            look, alike = max(kinds, key=lambda kind: len(kind[1]))
            known = 2 * len(alike) > len(mark.boxes)
            self.looks.append(look if known else None)
            self.odd |= {(plate, number) for plate in mark.boxes if known and plate not in alike}

    def ways_of(self, plate: int, own: Mapping[int, Box]) -> list[str]:
        """How a plate lies if it does not lie straight: each way of ``TURNS`` that explains all its marks."""
        turned = self.marks.turned.get(plate, {})
        if not turned and not any((plate, number) in self.odd for number in own):
            return []
        ways = []
        for how in TURNS:
            boxes = {*own.values(), *turned.get(how, {}).values()}
            known = len(boxes) >= LEAST_MARKS and (not turned or how in turned)
            if known and all(self._explains(plate, box, how) for box in boxes):
                ways.append(how)
        return ways

    def _explains(self, plate: int, box: Box, how: str) -> bool:
        """Whether a mark of a plate that lies so is the usual mark of the place where it would lie then."""
        y, x = turned_place(middle_of(box), how, self.grid)
        down, across = TURNS[how]
        picture = crop(self.plates[plate], box)[:: -1 if down else 1, :: -1 if across else 1]
        return any(
            look is not None
            and max(abs(mark.at[0] - y), abs(mark.at[1] - x)) < self.slack
            and fit(look, picture, self.near) is not None
            for look, mark in zip(self.looks, self.marks.marks, strict=True)
        )
