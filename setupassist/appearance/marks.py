"""Where the labels of numbered marks go on a picture of the art, as a proof carries them.

A label is joined to its place by a short line. Labels never lie on one another, nor, where that can be helped, on a
place that another one points to.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

Point = tuple[float, float]
Places = npt.NDArray[np.float64]

REACH = 1.3
"""How far a label reaches from its middle with all that is drawn around it, in halves of its size."""

_TURNS = 12
_FARTHER = (1.0, 1.6, 2.3, 3.2)
_GAP = 0.15


@dataclass(frozen=True)
class Wanted:
    """A place that wants a label: whose number it bears, and where on the picture it is."""

    number: int
    at: Point


def labelled(
    places: Sequence[Wanted], *, chosen: int = 0, each: int = 3, most: int = 40, chosen_most: int = 12
) -> list[int]:
    """Indices of the places that get a label, the most important first.

    The chosen finding's come first, then one of each finding by number, then a second one, up to ``each``; at most
    ``most`` in all. The others are shown as bare places.
    """
    seen: dict[int, int] = {}
    ranked = []
    for index, place in enumerate(places):
        turn = seen.get(place.number, 0)
        seen[place.number] = turn + 1
        first = place.number == chosen
        if turn < (chosen_most if first else each):
            ranked.append((not first, turn, place.number, index))
    return [index for *_, index in sorted(ranked)][:most]


def labels_apart(
    places: Sequence[Point],
    *,
    half: float,
    reach: float,
    within: tuple[float, float, float, float],
    others: Sequence[Point] = (),
) -> list[Point | None]:
    """The middle of each place's label, in the order given; None where no room is left for one.

    ``half`` is half a label's size, ``reach`` how far a label likes to stand from its place, ``within`` (x, y, width,
    height) what may be drawn on; ``others`` are places without a label that are not to be covered either. A label
    leans away from the middle of the picture where it can, and never lies on another label.
    """
    if not places:
        return []
    left, top, width, height = within
    room = half * REACH
    low, high = np.array([left + room, top + room]), np.array([left + width - room, top + height - room])
    anchors = np.array([*places, *others], dtype=float)
    taken = np.empty((0, 2))
    found: list[Point | None] = []
    for place in places:
        tried = _around(place, (left + width / 2, top + height / 2), reach)
        inside = ((tried >= low) & (tried <= high)).all(axis=1)
        free = inside & _clear(tried, taken, room * (2 + _GAP))
        uncovered = free & _clear(tried, anchors, room + half * _GAP)
        fits = np.flatnonzero(uncovered) if uncovered.any() else np.flatnonzero(free)
        if not fits.size:
            found.append(None)
            continue
        x, y = tried[fits[0]]
        taken = np.vstack([taken, (x, y)])
        found.append((float(x), float(y)))
    return found


def _around(place: Point, middle: Point, reach: float) -> Places:
    """Where a label may stand, the best first: outward and near, then turned to either side, then farther away."""
    away = math.atan2(place[1] - middle[1], place[0] - middle[0])
    if math.hypot(place[0] - middle[0], place[1] - middle[1]) < reach / 4:
        away = -math.pi / 4
    turns = [0.0]
    for step in range(1, _TURNS // 2 + 1):
        turns += [step, -step] if step < _TURNS // 2 else [step]
    angles = away + np.array(turns) * (2 * math.pi / _TURNS)
    around: Places = np.stack([np.cos(angles), np.sin(angles)], axis=1)
    tried: Places = np.array(place) + np.concatenate([around * reach * far for far in _FARTHER])
    return tried


def _clear(tried: Places, points: Places, apart: float) -> npt.NDArray[np.bool_]:
    """Which of the tried middles lie so far from every point, along x or along y."""
    if not len(points):
        return np.ones(len(tried), dtype=bool)
    gaps = np.abs(tried[:, None, :] - points[None, :, :]).max(axis=2)
    clear: npt.NDArray[np.bool_] = (gaps >= apart).all(axis=1)
    return clear
