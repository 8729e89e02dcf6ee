"""Registration marks and the labels beside them, found without being told their shape.

Islands of a mark's size that come back at one place in most inked plates with the same ink (a choked base under small
shapes has less), at least two of a kind on opposite sides of the box of all other ink, clear of it, and thin where they
are large. Small type next to a mark goes with it. To miss a mark is better than to lose art: a row of letters under the
picture is no mark, and what lies inside of the art's box is never one.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field

import numpy as np
import numpy.typing as npt

from setupassist.inspection.bits import closed, pack, unpack
from setupassist.inspection.grid import Grid
from setupassist.inspection.maps import islands_of
from setupassist.inspection.record import Box, Record
from setupassist.resource_files import read_toml

JOIN_MM = 1.0
LABEL_NEAR_MM = 4.0
LABEL_LEAST_MM = 0.5
MOST_INK_SHARE = 0.1
SAME_INK = 1.08  # the same mark in two plates, ink against ink
LIKE_INK = 1.3  # two marks of a kind in one plate
CLEAR_MM = 2.0
LARGE_MM, MOST_FILL = 8.0, 0.55  # larger marks than this are drawn with lines
MOST_ISLANDS = 20_000


@dataclass
class Cluster:
    """Islands at one place, by plate number."""

    at: tuple[float, float]
    boxes: dict[int, Box] = field(default_factory=dict)
    ink: float = 0.0


def limit(name: str) -> float:
    """A limit of the inspection from the shipped data."""
    return float(read_toml("trade/inspection.toml")[name]["value"])


def islands(occupied: npt.NDArray[np.bool_], grid: Grid) -> list[Box]:
    """Boxes of the islands of ink, parts up to a millimetre apart taken together; empty above 20,000 of them."""
    rows, columns = np.flatnonzero(occupied.any(1)), np.flatnonzero(occupied.any(0))
    if not len(rows):
        return []
    top, left = int(rows[0]), int(columns[0])
    part = occupied[top : int(rows[-1]) + 1, left : int(columns[-1]) + 1]
    join = max(2, round(JOIN_MM * grid.cells_per_mm) + 1)
    padded = np.pad(part, join)
    mass = unpack(closed(pack(padded), join), padded.shape[1])[join:-join, join:-join]
    places = islands_of(mass)
    if len(places) > MOST_ISLANDS:
        return []
    return [(down.start + top, down.stop + top, right.start + left, right.stop + left) for down, right in places]


def find_marks(records: Sequence[Record]) -> list[list[Box]]:
    """For each plate the boxes (in cells) of its marks and their labels; empty lists where the set shows none."""
    grid = records[0].grid
    found = [islands(record.occupied(), grid) for record in records]
    inked = sum(bool(boxes) for boxes in found)
    none: list[list[Box]] = [[] for _ in records]
    if inked < 2:
        return none
    least, most = limit("mark_least_mm") * grid.cells_per_mm, limit("mark_most_mm") * grid.cells_per_mm
    need = max(2.0, limit("mark_share") * inked)
    clusters = _clusters(found, least - 1, most + 1, grid)
    marks = [alike for cluster in clusters if (alike := _alike(cluster, records)).ink > 0 and len(alike.boxes) >= need]
    while marks:
        taken = _taken(marks, found, grid)
        rest = np.array([box for i, boxes in enumerate(found) for box in boxes if box not in taken[i]])
        if not len(rest):
            return none
        art = int(rest[:, 0].min()), int(rest[:, 1].max()), int(rest[:, 2].min()), int(rest[:, 3].max())
        good = _of_a_kind(marks, art, CLEAR_MM * grid.cells_per_mm)
        if len(good) == len(marks):
            break
        marks = good
    if not marks:
        return none
    taken = _taken(marks, found, grid)
    held = sum(_ink(records[i], box) for i, boxes in enumerate(taken) for box in boxes)
    if held > MOST_INK_SHARE * sum(int(record.ink.sum(dtype=np.int64)) for record in records):
        return none
    return [sorted(boxes) for boxes in taken]


def _clusters(found: Sequence[list[Box]], least: float, most: float, grid: Grid) -> list[Cluster]:
    slack = limit("mark_slack_mm") * grid.cells_per_mm
    clusters: list[Cluster] = []
    for plate, boxes in enumerate(found):
        for box in boxes:
            height, width = box[1] - box[0], box[3] - box[2]
            if not (min(height, width) >= least and max(height, width) <= most):
                continue
            at = ((box[0] + box[1]) / 2, (box[2] + box[3]) / 2)
            near = [
                c for c in clusters if plate not in c.boxes and max(abs(c.at[0] - at[0]), abs(c.at[1] - at[1])) < slack
            ]
            if near:
                near[0].boxes[plate] = box
            else:
                clusters.append(Cluster(at, {plate: box}))
    return clusters


def _taken(marks: Sequence[Cluster], found: Sequence[list[Box]], grid: Grid) -> list[set[Box]]:
    """The boxes of marks in each plate, with small type that stands next to them, word by word."""
    near, height = LABEL_NEAR_MM * grid.cells_per_mm, limit("label_most_height_mm") * grid.cells_per_mm
    taken: list[set[Box]] = [set() for _ in found]
    for cluster in marks:
        for plate, box in cluster.boxes.items():
            taken[plate].add(box)
    for boxes, mine in zip(found, taken, strict=True):
        small = [
            box
            for box in boxes
            if box not in mine
            and min(box[1] - box[0], box[3] - box[2]) <= height
            and max(box[1] - box[0], box[3] - box[2]) <= 10 * height
        ]
        grew = bool(mine)
        while grew:
            next_to = [box for box in small if box not in mine and any(_apart(box, other) <= near for other in mine)]
            mine.update(next_to)
            grew = bool(next_to)
    return taken


def _apart(one: Box, two: Box) -> int:
    down = max(one[0] - two[1], two[0] - one[1], 0)
    across = max(one[2] - two[3], two[2] - one[3], 0)
    return max(down, across)


def _alike(cluster: Cluster, records: Sequence[Record]) -> Cluster:
    """The islands of a cluster that hold the same ink in their plates, and are lines where they are large."""
    ink = {plate: _ink(records[plate], box) for plate, box in cluster.boxes.items()}
    middle = float(np.median(list(ink.values())))
    grid = records[0].grid
    large = LARGE_MM * grid.cells_per_mm
    kept = {}
    for plate, (top, bottom, left, right) in cluster.boxes.items():
        filled = ink[plate] > MOST_FILL * (bottom - top) * (right - left) * grid.full
        if (
            middle <= SAME_INK * ink[plate]
            and ink[plate] <= SAME_INK * middle
            and not (filled and max(bottom - top, right - left) > large)
        ):
            kept[plate] = cluster.boxes[plate]
    return Cluster(cluster.at, kept, middle)


def _of_a_kind(marks: Sequence[Cluster], art: Box, clear: float) -> list[Cluster]:
    """Marks clear of the art's box with another of their kind on the opposite side of it."""
    top, bottom, left, right = art
    sides = []
    for mark in marks:
        y0, y1 = min(box[0] for box in mark.boxes.values()), max(box[1] for box in mark.boxes.values())
        x0, x1 = min(box[2] for box in mark.boxes.values()), max(box[3] for box in mark.boxes.values())
        sides.append((y1 + clear <= top, y0 - clear >= bottom, x1 + clear <= left, x0 - clear >= right))
    good = []
    for mark, own in zip(marks, sides, strict=True):
        kin = [s for other, s in zip(marks, sides, strict=True) if 1 / LIKE_INK <= other.ink / mark.ink <= LIKE_INK]
        above, below, before, behind = (any(side) for side in zip(*kin, strict=True))
        if any(own) and ((above and below) or (before and behind)):
            good.append(mark)
    return good


def _ink(record: Record, box: Box) -> int:
    return int(record.ink[box[0] : box[1], box[2] : box[3]].sum(dtype=np.int64))
