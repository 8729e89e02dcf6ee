"""Registration marks and the labels beside them, found without being told their shape.

Islands of a mark's size that come back at one place in most inked plates, outside of the box of all other ink, and
small in area. Small type next to a mark goes with it. What lies inside of the art's box is never called a mark.
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
LIKE_INK = 1.6  # marks of a set hold alike amounts of ink; a choked base under a small shape does too, so few plates
FEW_PLATES = 3  # ... are asked for more: the mark in each, and two marks at least
MOST_ISLANDS = 20_000


@dataclass
class Cluster:
    """Islands at one place, by plate number."""

    at: tuple[float, float]
    boxes: dict[int, Box] = field(default_factory=dict)


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
    need = inked if inked <= FEW_PLATES else max(2.0, limit("mark_share") * inked)
    marks = [cluster for cluster in _clusters(found, least - 1, most + 1, grid) if len(cluster.boxes) >= need]
    while marks:
        taken = _taken(marks, found, grid)
        rest = np.array([box for i, boxes in enumerate(found) for box in boxes if box not in taken[i]])
        if not len(rest):
            return none
        top, left = int(rest[:, 0].min()), int(rest[:, 2].min())
        bottom, right = int(rest[:, 1].max()), int(rest[:, 3].max())
        outside = [c for c in marks if not (top <= c.at[0] <= bottom and left <= c.at[1] <= right)]
        if len(outside) == len(marks):
            break
        marks = outside
    if not marks or (inked <= FEW_PLATES and not _sure(marks, records)):
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


def _sure(marks: Sequence[Cluster], records: Sequence[Record]) -> bool:
    """Whether few plates' marks are marks beyond doubt: two places at least, with alike ink in every plate."""
    alike = 0
    for cluster in marks:
        held = [_ink(records[plate], box) for plate, box in cluster.boxes.items()]
        alike += max(held) <= LIKE_INK * max(1, min(held))
    return alike >= 2


def _ink(record: Record, box: Box) -> int:
    return int(record.ink[box[0] : box[1], box[2] : box[3]].sum(dtype=np.int64))
