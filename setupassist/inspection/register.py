"""How far each plate lies off register, told by its marks.

A mark is laid on the same mark of another plate by its shape (``shapes``); one of another shape tells nothing.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from itertools import combinations

import numpy as np

from setupassist.documents.measure import Finding
from setupassist.documents.terms import Severity
from setupassist.inspection.bits import Mask
from setupassist.inspection.grid import Grid
from setupassist.inspection.marks import Marks, limit
from setupassist.inspection.planes import PackedPlate
from setupassist.inspection.shapes import Move, crop, fit, near_pixels
from setupassist.words import Said, say

LEAST_SPREAD_PIXELS = 1.5  # two marks drawn in whole pixels differ by up to one without being apart
SHOWN_MM = 0.005
LENGTH = "inspection.length.mm"


@dataclass(frozen=True)
class Offset:
    """What a plate must be moved by, in pixels, to fall on the plate numbered ``reference``.

    ``spread`` is the greatest difference between the moves of two of its marks; ``marks`` are the numbers of those that
    told the move, ``places`` their middles (x, y) in pixels.
    """

    dx: float
    dy: float
    spread: float
    marks: tuple[int, ...]
    places: tuple[Move, ...]
    reference: int


def offsets(plates: Sequence[PackedPlate], marks: Marks) -> list[Offset | None]:
    """What each plate must be moved by to fall on the reference plate, the first whose marks fit another plate's.

    None for a plate without marks, or with none that has the shape of another plate's at its place. A plate that
    shares no mark with the reference is laid on another that does. To be asked before the marks are erased.
    """
    crops: dict[tuple[int, int], Mask] = {}

    def pixels(mark: int, plate: int) -> Mask:
        if (mark, plate) not in crops:
            crops[mark, plate] = crop(plates[plate], marks.marks[mark].boxes[plate])
        return crops[mark, plate]

    def moves(plate: int, onto: int) -> dict[int, Move]:
        """The moves of a plate's marks onto the same marks of another plate."""
        found = {}
        for number, mark in enumerate(marks.marks):
            if plate in mark.boxes and onto in mark.boxes:
                move = fit(pixels(number, onto), pixels(number, plate), near)
                if move is not None:
                    (top, _, left, _), (own_top, _, own_left, _) = mark.boxes[onto], mark.boxes[plate]
                    found[number] = move[0] + (left - own_left) * cell, move[1] + (top - own_top) * cell
        return found

    cell, near = plates[0].grid.cell, near_pixels(plates[0].grid)
    holders = [i for i in range(len(plates)) if any(i in mark.boxes for mark in marks.marks)]
    for reference in holders:
        told: list[Offset | None] = [None] * len(plates)
        told[reference] = _offset(
            {i: (0.0, 0.0) for i, m in enumerate(marks.marks) if reference in m.boxes}, marks, reference, None, cell
        )
        left, onto = [plate for plate in holders if plate != reference], [reference]
        while left and onto:
            sure = onto.pop(0)
            for plate in list(left):
                found = moves(plate, sure)
                if found:
                    told[plate] = _offset(found, marks, plate, told[sure], cell)
                    left.remove(plate)
                    onto.append(plate)
        if len(left) < len(holders) - 1:
            return told
    return [None] * len(plates)


def _offset(moves: Mapping[int, Move], marks: Marks, plate: int, beyond: Offset | None, cell: int) -> Offset:
    """The middle of the moves of a plate's marks, on top of what the plate is moved by that it was laid on."""
    dx, dy = np.median(list(moves.values()), axis=0).tolist()
    boxes = [marks.marks[number].boxes[plate] for number in moves]
    places = tuple(((left + right) / 2 * cell, (top + bottom) / 2 * cell) for top, bottom, left, right in boxes)
    spread = max((float(np.hypot(a[0] - b[0], a[1] - b[1])) for a, b in combinations(moves.values(), 2)), default=0.0)
    if beyond is None:
        return Offset(dx, dy, spread, tuple(moves), places, plate)
    return Offset(dx + beyond.dx, dy + beyond.dy, spread, tuple(moves), places, beyond.reference)


def off_register(names: Sequence[str], grid: Grid, told: Sequence[Offset | None]) -> list[Finding]:
    """Plates that lie off the reference plate, and those whose marks do not lie apart as the reference's do."""
    found = []
    for name, offset in zip(names, told, strict=True):
        if offset is None:
            continue
        per_mm = grid.pixels_per_mm
        dx, dy, spread = offset.dx / per_mm, offset.dy / per_mm, offset.spread / per_mm
        places = tuple((x / per_mm, y / per_mm) for x, y in offset.places)
        reference = names[offset.reference]
        apart, most = float(np.hypot(dx, dy)), limit("register_most_mm")
        if apart > most:
            text = say("inspection.finding.off-register", plate=name, reference=reference, apart=_length(apart))
            found.append(
                Finding(
                    code="off-register",
                    severity=Severity.STOP,
                    plates=(name,),
                    text=text,
                    remedy=_move_it(dx, dy),
                    measured=apart,
                    limit=most,
                    places_mm=places,
                )
            )
        most = limit("marks_spread_most_mm")
        if spread > most and offset.spread > LEAST_SPREAD_PIXELS:
            text = say("inspection.finding.marks-spread", plate=name, reference=reference, spread=_length(spread))
            found.append(
                Finding(
                    code="marks-spread",
                    severity=Severity.WARN,
                    plates=(name,),
                    text=text,
                    remedy=say("inspection.remedy.marks-spread"),
                    measured=spread,
                    limit=most,
                    places_mm=places,
                )
            )
    return found


def _move_it(dx: float, dy: float) -> Said:
    """What to do about a plate that must be moved so far, in mm, to the right and down."""
    across = say(f"inspection.move.{'right' if dx > 0 else 'left'}", far=_length(abs(dx)))
    down = say(f"inspection.move.{'down' if dy > 0 else 'up'}", far=_length(abs(dy)))
    if abs(dx) < SHOWN_MM or abs(dy) < SHOWN_MM:
        return say("inspection.remedy.off-register-one-way", move=down if abs(dx) < SHOWN_MM else across)
    return say("inspection.remedy.off-register", across=across, down=down)


def _length(mm: float) -> Said:
    """A length that a face may say in the shop's unit."""
    return say(LENGTH, mm=mm)
