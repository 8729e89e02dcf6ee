"""How far each plate lies off register, told by its marks.

A mark is laid on the same mark of another plate: first by the sums of its rows and of its columns, then pixel by pixel
uphill to where most ink lies on ink, edges softened over three pixels; a parabola through the neighbours gives the
fraction. What does not cover the other's ink there, a tenth of a millimetre allowed, has another shape and tells
nothing.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from itertools import combinations

import numpy as np
import numpy.typing as npt

from setupassist.documents.measure import Finding
from setupassist.documents.terms import Severity
from setupassist.inspection.bits import WORD, Mask, unpack
from setupassist.inspection.clumps import Box
from setupassist.inspection.grid import Grid
from setupassist.inspection.marks import Marks, limit
from setupassist.inspection.planes import PackedPlate
from setupassist.words import Said, say

Move = tuple[float, float]
"""To the right and down, in pixels."""

NEAR_MM = 0.1
COVERED = 0.9
MOST_CLIMB = 9
LEAST_SPREAD_PIXELS = 1.5  # two marks drawn in whole pixels differ by up to one without being apart
SHOWN_MM = 0.005


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


def crop(plate: PackedPlate, box: Box) -> Mask:
    """The pixels of a box of cells."""
    top, bottom, left, right = (side * plate.grid.cell for side in box)
    first, last = left // WORD, -(-right // WORD)
    part = unpack(plate.bits[top:bottom, first:last], (last - first) * WORD)
    return part[:, left - first * WORD : right - first * WORD]


def near_pixels(grid: Grid) -> int:
    """How far in pixels ink of one shape may lie from that of another that is called the same."""
    return max(1, round(NEAR_MM * grid.pixels_per_mm))


def fit(fixed: Mask, other: Mask, near: int) -> Move | None:
    """What ``other`` must be moved by to fall on ``fixed``, counted from upper left corner on upper left corner.

    None where it is another shape: a tenth of either's ink has none of the other's within ``near`` pixels.
    """
    if not fixed.any() or not other.any():
        return None
    down, right = (_shift(fixed.sum(axis), other.sum(axis)) for axis in (1, 0))
    rim = MOST_CLIMB + near + 3
    top, left = rim + max(0, -down), rim + max(0, -right)
    high = rim + max(top + fixed.shape[0], top + down + other.shape[0])
    wide = rim + max(left + fixed.shape[1], left + right + other.shape[1])
    frame, second = np.zeros((2, high, wide), np.uint8)
    frame[top : top + fixed.shape[0], left : left + fixed.shape[1]] = fixed
    second[top + down : top + down + other.shape[0], left + right : left + right + other.shape[1]] = other
    soft, inked = _summed(frame, 1).ravel(), np.flatnonzero(second)
    scores: dict[tuple[int, int], int] = {}

    def score(dx: int, dy: int) -> int:
        if (dx, dy) not in scores:
            scores[dx, dy] = int(soft[inked + (dy * wide + dx)].sum(dtype=np.int64))
        return scores[dx, dy]

    dx, dy = _uphill(score)
    move = dy * wide + dx
    theirs = np.flatnonzero(frame)
    if (
        _summed(frame, near).ravel()[inked + move].astype(np.bool_).mean() < COVERED
        or _summed(second, near).ravel()[theirs - move].astype(np.bool_).mean() < COVERED
    ):
        return None
    return right + dx + _peak(score, dx, dy, 1, 0), down + dy + _peak(score, dx, dy, 0, 1)


def _shift(fixed: npt.NDArray[np.int64], other: npt.NDArray[np.int64]) -> int:
    """Where a row of sums fits best on another."""
    match = np.correlate(fixed.astype(np.float64), other.astype(np.float64), "full")
    return int(np.argmax(match)) - len(other) + 1


def _summed(frame: npt.NDArray[np.uint8], reach: int) -> npt.NDArray[np.uint8]:
    """Set pixels in the square of ``reach`` pixels round each, 255 at most; the frame's rim stays 0."""
    out = frame.copy()
    for axis in (0, 1):
        line = np.moveaxis(out, axis, 0).astype(np.uint16)
        total = np.zeros_like(line)
        for step in range(-reach, reach + 1):
            total[reach : len(line) - reach] += line[reach + step : len(line) - reach + step]
        out = np.moveaxis(np.minimum(total, 255).astype(np.uint8), 0, axis)
    return np.ascontiguousarray(out)


def _uphill(score: Callable[[int, int], int]) -> tuple[int, int]:
    """The place near 0, 0 from which no neighbour scores more."""
    dx = dy = 0
    while max(abs(dx), abs(dy)) < MOST_CLIMB:
        around = [(dx, dy), (dx - 1, dy), (dx + 1, dy), (dx, dy - 1), (dx, dy + 1)]
        best = max(around, key=lambda at: score(*at))
        if best == (dx, dy):
            break
        dx, dy = best
    return dx, dy


def _peak(score: Callable[[int, int], int], dx: int, dy: int, right: int, down: int) -> float:
    """How far beyond a whole pixel the top lies along one axis."""
    low, top, high = (score(dx + k * right, dy + k * down) for k in (-1, 0, 1))
    bend = low - 2 * top + high
    return (low - high) / (2 * bend) if bend else 0.0


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
            text = say("inspection.finding.off-register", plate=name, reference=reference, apart=apart)
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
            text = say("inspection.finding.marks-spread", plate=name, reference=reference, spread=spread)
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
    across = say(f"inspection.move.{'right' if dx > 0 else 'left'}", mm=abs(dx))
    down = say(f"inspection.move.{'down' if dy > 0 else 'up'}", mm=abs(dy))
    if abs(dx) < SHOWN_MM or abs(dy) < SHOWN_MM:
        return say("inspection.remedy.off-register-one-way", move=down if abs(dx) < SHOWN_MM else across)
    return say("inspection.remedy.off-register", across=across, down=down)
