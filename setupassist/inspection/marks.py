"""Registration marks and the labels beside them, found without being told their shape or place.

Islands of a mark's size that come back at one place in most inked plates with the same ink (a choked base under small
shapes has less). Outside of the box of all other ink they are marks where two of a kind stand on opposite sides of it,
clear of it, and where large ones are drawn with lines. Inside of that box more is asked (``inner_marks``). Small type
next to a mark goes with it. To miss a mark is better than to lose art: a row of letters under the picture is no mark.

A plate that lies mirrored or turned by 180 degrees carries its marks elsewhere: they are known by lying where the
others' would lie then, and are no art either.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property
from itertools import product

import numpy as np
import numpy.typing as npt

from setupassist.inspection.bits import Mask
from setupassist.inspection.clumps import Boxes, as_box, boxes_of
from setupassist.inspection.grid import Grid
from setupassist.inspection.inner_marks import LEAST_PLATES, InnerMarks
from setupassist.inspection.label_band import LabelBand
from setupassist.inspection.planes import Box, PackedPlate
from setupassist.inspection.shapes import crop, fit, near_pixels, ways_of
from setupassist.resource_files import read_toml

JOIN_MM = 1.0
LABEL_NEAR_MM = 4.0
MOST_INK_SHARE, MOST_CERTAIN_SHARE = 0.1, 0.5  # of all ink; more than a tenth only where nothing speaks against it
SAME_INK = 1.08  # the same mark in two plates, ink against ink
LIKE_INK = 1.3  # two marks of a kind in one plate
CLEAR_MM = 2.0
LARGE_MM, MOST_FILL = 8.0, 0.55  # larger marks than this are drawn with lines
SPECK_MM = 0.3
HALF = 0.5  # lines fill their cells to less, by their width and by how they lie in them
MOST_ISLANDS = 20_000
MOST_SIZED = 3_000  # islands of a mark's size in one plate; more are lettering or noise
MOST_WORDS = 40
MOST_MERGED = 24  # marks that are sought where their labels touch them
MOST_CANDIDATES = 200  # more that recur are lettering; marks stand at the rim of all ink

TURNS = {"left-right": (False, True), "top-bottom": (True, False), "turned": (True, True)}
"""How a plate may lie: whether its rows and its columns run backwards."""


@dataclass(frozen=True)
class Mark:
    """One mark of a set: its box in each plate that holds it, by plate number.

    ``ink`` is the (lower) median of its ink in pixels, ``stroke`` about the width of its lines in pixels.
    """

    boxes: dict[int, Box]
    ink: float
    stroke: float

    @property
    def at(self) -> tuple[float, float]:
        """Its middle, row and column in cells, over all plates."""
        top, bottom, left, right = np.mean(list(self.boxes.values()), axis=0)
        return float(top + bottom) / 2, float(left + right) / 2

    @property
    def sides(self) -> tuple[int, int]:
        """Its least height and width in cells in any plate; type that touches it makes it larger."""
        boxes = self.boxes.values()
        return min(bottom - top for top, bottom, _, _ in boxes), min(right - left for _, _, left, right in boxes)

    def joined(self) -> Box:
        """The box round its boxes in all plates."""
        tops, bottoms, lefts, rights = zip(*self.boxes.values(), strict=True)
        return min(tops), max(bottoms), min(lefts), max(rights)

    def is_as_large(self, other: Mark) -> bool:
        """Whether another mark is as high and wide to a cell or two, or lies on its side so."""
        mine, sides = (mark.sides for mark in (self, other))
        return any(max(abs(a - b) for a, b in zip(mine, way, strict=True)) <= 2 for way in (sides, sides[::-1]))

    def like(self, ink: float, most: float = SAME_INK) -> bool:
        """Whether other ink is as much, up to a factor; a line may come out a pixel wider in one plate."""
        most *= 1 + 1 / max(1.0, self.stroke)
        return ink > 0 and self.ink <= most * ink and ink <= most * self.ink


class Marks(list[list[Box]]):
    """For each plate of a set the boxes (in cells) of its marks and their labels.

    ``marks`` follows each mark through the plates. ``turned`` tells of plates whose marks lie where those of the set
    would if the plate were mirrored or turned: the plate's number, how (``TURNS``), and its box for each mark by the
    mark's number.
    """

    def __init__(
        self,
        boxes: Iterable[list[Box]],
        marks: Sequence[Mark] = (),
        turned: Mapping[int, Mapping[str, Mapping[int, Box]]] | None = None,
    ) -> None:
        super().__init__(boxes)
        self.marks = tuple(marks)
        self.turned = dict(turned or {})


def limit(name: str) -> float:
    """A limit of the inspection from the shipped data."""
    return float(read_toml("trade/inspection.toml")[name]["value"])


def islands(plate: PackedPlate) -> Boxes:
    """Boxes (n, 4) of the islands of ink, parts up to a millimetre apart taken together; none above 20,000 of them."""
    found = boxes_of(plate.occupied(), max(2, round(JOIN_MM * plate.grid.cells_per_mm)))
    return found if len(found) <= MOST_ISLANDS else found[:0]


def find_marks(plates: Sequence[PackedPlate], found: Sequence[Boxes] | None = None) -> Marks:
    """The marks of a set and their labels; nothing where the set shows none.

    ``found`` are the ``islands`` of each plate, where they are known already.
    """
    found = [islands(plate) for plate in plates] if found is None else found
    inked = sum(len(boxes) > 0 for boxes in found)
    if inked < 2:
        return Marks([] for _ in plates)
    return _Search(plates, found).marks(max(2.0, limit("mark_share") * inked))


def turned_place(at: tuple[float, float], how: str, grid: Grid) -> tuple[float, float]:
    """Where a place (row, column in cells) of a plate comes to lie when the plate is mirrored or turned."""
    down, across = TURNS[how]
    return grid.rows / grid.cell - at[0] if down else at[0], grid.columns / grid.cell - at[1] if across else at[1]


def middle_of(box: Box) -> tuple[float, float]:
    """Row and column of the middle of a box."""
    return (box[0] + box[1]) / 2, (box[2] + box[3]) / 2


def _ink(plate: PackedPlate, box: Box) -> int:
    return int(plate.ink[box[0] : box[1], box[2] : box[3]].sum(dtype=np.int64))


def _keys(boxes: Boxes) -> npt.NDArray[np.int64]:
    """One number for each box."""
    keys: npt.NDArray[np.int64] = boxes @ np.array([1, 2**15, 2**30, 2**45])
    return keys


class _Search:
    """The islands of a set, and which of them are marks."""

    def __init__(self, plates: Sequence[PackedPlate], found: Sequence[Boxes]) -> None:
        self.plates, self.found, self.grid = plates, found, plates[0].grid
        self.near_pixels = near_pixels(self.grid)
        per_mm = self.grid.cells_per_mm
        self.slack, self.clear, self.near = limit("mark_slack_mm") * per_mm, CLEAR_MM * per_mm, LABEL_NEAR_MM * per_mm
        least, most = limit("mark_least_mm") * per_mm - 1, limit("mark_most_mm") * per_mm + 1
        self.height = height = limit("label_most_height_mm") * per_mm
        self.sized: list[list[Box]] = []
        self.small: list[Boxes] = []
        self.lone: list[Boxes] = []
        self.rest: list[Boxes] = []
        self.merged: dict[tuple[int, Box], Box] = {}
        """The whole island of a mark that its label touches, by plate and box."""
        self._kinds: dict[tuple[int, int], bool] = {}
        self._labels: dict[tuple[int, Box], set[Box]] = {}
        self._endless: list[set[Box]] = [set() for _ in plates]
        """Islands of small type that belong to more of it than a label has."""
        for plate, boxes in zip(plates, found, strict=True):
            sides = np.stack([boxes[:, 1] - boxes[:, 0], boxes[:, 3] - boxes[:, 2]])
            short, long = sides.min(0), sides.max(0)
            sized = boxes[(short >= least) & (long <= most)]
            self.sized.append([as_box(box) for box in sized] if len(sized) <= MOST_SIZED else [])
            self.small.append(boxes[(short <= height) & (long <= 10 * height)])
            lone = self._is_speck(plate, boxes, long)
            self.lone.append(boxes[lone])
            self.rest.append(boxes[~lone])

    def _is_speck(self, plate: PackedPlate, boxes: Boxes, long: npt.NDArray[np.int64]) -> Mask:
        """Which islands are specks, of which the box of the art knows nothing."""
        most = int(SPECK_MM * self.grid.cells_per_mm + 2)
        found: Mask = long <= most
        some = boxes[found]
        ink = np.zeros(len(some), np.int64)
        for down, right in product(range(most), repeat=2):
            row, column = some[:, 0] + down, some[:, 2] + right
            inside = (row < some[:, 1]) & (column < some[:, 3])
            ink[inside] += plate.ink[row[inside], column[inside]]
        found[found] = ink <= (SPECK_MM * self.grid.pixels_per_mm) ** 2
        return found

    def marks(self, need: float) -> Marks:
        """The marks that so many plates hold at least, their labels, and what lies turned."""
        none = Marks([] for _ in self.plates)
        marks = [mark for boxes in self._clusters(need) if (mark := self._alike(boxes)) and len(mark.boxes) >= need]
        if not marks:
            return none
        marks = self._outermost(marks)
        if len(marks) <= MOST_MERGED:
            marks = [self._with_merged(mark) for mark in marks]
        outside: list[Mark] = []
        certain: set[int] | None = None
        while marks:
            art = self._art(marks)
            if art is None:
                return none
            outside = self._of_a_kind(marks, art)
            if len(outside) == len(marks):
                break
            if certain is None:
                certain = self._certain(marks, LEAST_PLATES)
            good = [
                mark
                for mark in marks
                if mark in outside
                or id(mark) in certain
                or any(sure.like(mark.ink) and self.inner.alike(mark.boxes, sure.boxes) for sure in outside)
            ]
            if len(good) == len(marks):
                break
            marks = good
        if not marks:
            return none
        taken, turned = self._with_turned(self._taken(marks, [mark in outside for mark in marks]), marks)
        every = sum(int(plate.ink.sum(dtype=np.int64)) for plate in self.plates)
        held = sum(_ink(self.plates[i], box) for i, boxes in enumerate(taken) for box in boxes)
        if held > MOST_INK_SHARE * every and (
            held > MOST_CERTAIN_SHARE * every or len(self._certain(marks, 2)) < len(marks)
        ):
            return none
        return Marks((sorted(boxes) for boxes in taken), marks, turned)

    @cached_property
    def band(self) -> LabelBand:
        """The judge of labels further along the sheet's side."""
        return LabelBand(self.plates, self.rest, self.height)

    @cached_property
    def inner(self) -> InnerMarks:
        """The judge of marks inside of the art's box."""
        return InnerMarks(self.plates, self.found, self.small, self.lone, clear=self.clear, slack=self.slack)

    def _certain(self, marks: Sequence[Mark], least: int) -> set[int]:
        """The ids of those that would be marks wherever the art lies, held by so many plates at least."""
        alike = [[one.like(two.ink) and one.is_as_large(two) for two in marks] for one in marks]
        return {id(marks[i]) for i in self.inner.certain([mark.boxes for mark in marks], alike, least)}

    def _outermost(self, marks: list[Mark]) -> list[Mark]:
        """Not more marks than can be judged, those at the rim of all marks first."""
        if len(marks) <= MOST_CANDIDATES:
            return marks
        boxes = np.array([mark.joined() for mark in marks])
        rim = np.array([boxes[:, 0].min(), boxes[:, 1].max(), boxes[:, 2].min(), boxes[:, 3].max()])
        order = np.argsort(np.abs(boxes - rim).min(1), kind="stable")
        return [marks[i] for i in np.sort(order[:MOST_CANDIDATES])]

    def _clusters(self, need: float) -> list[dict[int, Box]]:
        """Islands at one place, by plate number."""
        clusters: list[dict[int, Box]] = []
        middles: list[tuple[float, float]] = []
        bins: dict[tuple[int, int], list[int]] = defaultdict(list)
        for plate, boxes in enumerate(self.sized):
            for box in boxes:
                y, x = middle_of(box)
                row, column = int(y // self.slack), int(x // self.slack)
                near = [
                    (apart, number)
                    for down, across in product((-1, 0, 1), repeat=2)
                    for number in bins.get((row + down, column + across), ())
                    if plate not in clusters[number]
                    and (apart := max(abs(middles[number][0] - y), abs(middles[number][1] - x))) < self.slack
                ]
                if near:
                    clusters[min(near)[1]][plate] = box
                elif len(self.plates) - plate >= need:
                    bins[row, column].append(len(clusters))
                    clusters.append({plate: box})
                    middles.append((y, x))
        return [boxes for boxes in clusters if len(boxes) >= need]

    def _alike(self, boxes: dict[int, Box]) -> Mark | None:
        """The islands of a cluster that hold the same ink in their plates, and are lines where they are large."""
        large = LARGE_MM * self.grid.cells_per_mm
        inks: dict[int, int] = {}
        strokes = []
        for plate, (top, bottom, left, right) in boxes.items():
            part = self.plates[plate].ink[top:bottom, left:right]
            inks[plate] = int(part.sum(dtype=np.int64))
            filled = inks[plate] / max(1, int(np.count_nonzero(part)) * self.grid.full)
            strokes.append(self.grid.cell * (filled / (1 - min(filled, 0.95)) if filled > HALF else filled))
        mark = Mark(boxes, float(sorted(inks.values())[(len(inks) - 1) // 2]), min(strokes))
        kept = {}
        for plate, box in boxes.items():
            top, bottom, left, right = box
            solid = inks[plate] > MOST_FILL * (bottom - top) * (right - left) * self.grid.full
            if mark.like(inks[plate]) and not (solid and max(bottom - top, right - left) > large):
                kept[plate] = box
        return Mark(kept, mark.ink, mark.stroke) if kept else None

    def _with_merged(self, mark: Mark) -> Mark:
        """The mark with the plates in which its label touches it: there it is the corner of a longer island."""
        boxes = dict(mark.boxes)
        usual = min(boxes, key=lambda plate: (boxes[plate][1] - boxes[plate][0]) * (boxes[plate][3] - boxes[plate][2]))
        look = crop(self.plates[usual], boxes[usual])
        top, bottom, left, right = boxes[usual]
        high, wide = bottom - top, right - left
        y, x = mark.at
        for plate in range(len(self.plates)):
            near = self.found[plate]
            sides = np.stack([near[:, 1] - near[:, 0] - high, near[:, 3] - near[:, 2] - wide])
            longer = (sides.min(0) >= -1) & (sides.max(0) > 2) & (sides.max(0) <= 10 * self.height)
            here = (near[:, 0] <= y) & (near[:, 1] >= y) & (near[:, 2] <= x) & (near[:, 3] >= x)
            for row in near[longer & here & (sides.min(0) <= self.height)]:
                island = as_box(row)
                for first, second in product((island[0], island[1] - high), (island[2], island[3] - wide)):
                    box = first, first + high, second, second + wide
                    apart = max(abs(a - b) for a, b in zip(middle_of(box), mark.at, strict=True))
                    if apart < self.slack and fit(look, crop(self.plates[plate], box), self.near_pixels) is not None:
                        boxes[plate] = box
                        self.merged[plate, box] = island
        return Mark(boxes, mark.ink, mark.stroke)

    def _art(self, marks: Sequence[Mark]) -> Box | None:
        """The box of all ink but the marks, their labels, what lies turned, and specks."""
        taken, _ = self._with_turned(self._taken(marks, [True] * len(marks)), marks)
        sides = []
        for boxes, mine in zip(self.rest, taken, strict=True):
            rest = boxes[~np.isin(_keys(boxes), _keys(np.array(sorted(mine), np.int64).reshape(-1, 4)))]
            if len(rest):
                sides.append((rest[:, 0].min(), rest[:, 1].max(), rest[:, 2].min(), rest[:, 3].max()))
        if not sides:
            return None
        tops, bottoms, lefts, rights = zip(*sides, strict=True)
        return int(min(tops)), int(max(bottoms)), int(min(lefts)), int(max(rights))

    def _of_a_kind(self, marks: Sequence[Mark], art: Box) -> list[Mark]:
        """Marks clear of the art's box with another of their kind on the opposite side of it."""
        top, bottom, left, right = art
        sides = []
        for mark in marks:
            y0, y1, x0, x1 = mark.joined()
            sides.append(
                (
                    y1 + self.clear <= top,
                    y0 - self.clear >= bottom,
                    x1 + self.clear <= left,
                    x0 - self.clear >= right,
                )
            )
        return [
            mark
            for mark, own in zip(marks, sides, strict=True)
            if any(own) and (self._faced(mark, marks, sides, (0, 1)) or self._faced(mark, marks, sides, (2, 3)))
        ]

    def _faced(
        self, mark: Mark, marks: Sequence[Mark], sides: Sequence[Sequence[bool]], opposite: tuple[int, int]
    ) -> bool:
        """Whether marks of its kind, itself among them, stand on two opposite sides."""
        return all(
            any(own[side] and self._is_of_a_kind(mark, other) for other, own in zip(marks, sides, strict=True))
            for side in opposite
        )

    def _is_of_a_kind(self, one: Mark, two: Mark) -> bool:
        """Whether two marks have the same shape, however it lies."""
        if one is two:
            return True
        pair = min(id(one), id(two)), max(id(one), id(two))
        if pair not in self._kinds:
            self._kinds[pair] = (
                one.like(two.ink, LIKE_INK)
                and one.is_as_large(two)
                and any(
                    fit(self._picture(one), way, self.near_pixels) is not None for way in ways_of(self._picture(two))
                )
            )
        return self._kinds[pair]

    def _picture(self, mark: Mark) -> Mask:
        plate, box = next(iter(mark.boxes.items()))
        return crop(self.plates[plate], box)

    def _taken(self, marks: Sequence[Mark], outside: Sequence[bool]) -> list[set[Box]]:
        """The boxes of marks in each plate, with small type that stands next to them, word by word.

        Type next to a mark inside of the art's box is its label where most plates have some there.
        """
        taken: list[set[Box]] = [set() for _ in self.plates]
        every = [{mark.boxes[plate] for mark in marks if plate in mark.boxes} for plate in range(len(self.plates))]
        for mark, out in zip(marks, outside, strict=True):
            if out:
                for plate, words in enumerate(self.band.labels_beside(mark.joined(), every)):
                    taken[plate] |= words
            labels = {plate: self._labels_of(plate, box) for plate, box in mark.boxes.items()}
            told = out or 2 * sum(bool(boxes) for boxes in labels.values()) >= len(labels)
            for plate, box in mark.boxes.items():
                taken[plate] |= {box, self.merged.get((plate, box), box)}
                if told:
                    taken[plate] |= labels[plate]
        return taken

    def _labels_of(self, plate: int, box: Box) -> set[Box]:
        """Small type next to a mark, and next to that, word by word; none where it runs on and on."""
        if (plate, box) not in self._labels:
            found, fresh = {box}, {box}
            while fresh and len(found) <= MOST_WORDS and not fresh & self._endless[plate]:
                fresh = set().union(*(self._small_near(plate, one) for one in fresh)) - found
                found |= fresh
            if fresh:
                self._endless[plate] |= found - {box}
            self._labels[plate, box] = set() if fresh else found - {box}
        return self._labels[plate, box]

    def _small_near(self, plate: int, box: Box) -> set[Box]:
        """Islands of the size of small type next to a box."""
        some = self.small[plate]
        down = np.maximum(some[:, 0] - box[1], box[0] - some[:, 1])
        across = np.maximum(some[:, 2] - box[3], box[2] - some[:, 3])
        return {as_box(row) for row in some[np.maximum(down, across) <= self.near]}

    def _with_turned(
        self, taken: list[set[Box]], marks: Sequence[Mark]
    ) -> tuple[list[set[Box]], dict[int, dict[str, dict[int, Box]]]]:
        """What is taken, and with it the marks of plates that lie turned and their labels."""
        turned = self._turned(marks)
        for plate, ways in turned.items():
            for box in {box for way in ways.values() for box in way.values()}:
                taken[plate] |= {box} | self._labels_of(plate, box)
        return taken, turned

    def _turned(self, marks: Sequence[Mark]) -> dict[int, dict[str, dict[int, Box]]]:
        """Plates that hold marks where they would lie in a mirrored or turned plate, more of them than straight."""
        turned = {}
        for plate, boxes in enumerate(self.sized):
            straight = sum(plate in mark.boxes for mark in marks)
            if straight == len(marks) or not boxes:
                continue
            ways = {how: self._lying(plate, how, marks) for how in TURNS}
            most = max(len(way) for way in ways.values())
            if most > straight and most >= max(2.0, limit("mark_share") * len(marks)):
                turned[plate] = {how: way for how, way in ways.items() if len(way) == most}
        return turned

    def _lying(self, plate: int, how: str, marks: Sequence[Mark]) -> dict[int, Box]:
        """The box for each mark, by its number, of a plate that lies so."""
        boxes = self.sized[plate]
        middles = np.array([middle_of(box) for box in boxes])
        found = {}
        for number, mark in enumerate(marks):
            apart = np.abs(middles - turned_place(mark.at, how, self.grid)).max(1)
            at = int(np.argmin(apart))
            if apart[at] < self.slack and mark.like(_ink(self.plates[plate], boxes[at])):
                found[number] = boxes[at]
        return found
