"""Packed planes: 64 pixels a word, so that a whole neighbourhood is answered by a few shifts of whole words.

A plane is a uint64 array (rows, words); pixel x of a row is bit ``x % 64`` of word ``x // 64`` (leftmost pixel in the
lowest bit). What leaves a plane on one side is lost, what enters on the other is paper (0). A stack of tiles
(n, rows, words) is moved as one long row of bits, which is quick: what leaves a tile enters its neighbours, so tiles
need rims, rows above and below and a word on each side, as wide as all moves together. Growing by a segment takes
log2(length) moves; an octagon is four segments.
"""

from __future__ import annotations

import sys

import numpy as np
import numpy.typing as npt

Plane = npt.NDArray[np.uint64]
Mask = npt.NDArray[np.bool_]

WORD = 64
if sys.byteorder != "little":  # pragma: no cover - bytes of a word stand in pixel order only there
    raise ImportError("packed planes need a little-endian machine")


def pack(mask: npt.NDArray[np.bool_] | npt.NDArray[np.uint8], words: int | None = None) -> Plane:
    """Packed plane (rows, words) of a map (rows, columns); every value but 0 is a set pixel."""
    rows, columns = mask.shape
    words = -(-columns // WORD) if words is None else words
    out = np.zeros((rows, words * 8), np.uint8)
    out[:, : -(-columns // 8)] = np.packbits(mask, axis=1, bitorder="little")
    return out.view(np.uint64)


def unpack(plane: Plane, columns: int) -> Mask:
    """Map (rows, columns) of a packed plane (rows, words)."""
    raw = np.ascontiguousarray(plane).view(np.uint8)
    return np.unpackbits(raw, axis=1, count=columns, bitorder="little").view(np.bool_)


def count(plane: Plane) -> int:
    """Number of set pixels."""
    return int(np.bitwise_count(plane).sum(dtype=np.int64))


def moved(plane: Plane, dx: int, dy: int) -> Plane:
    """The plane moved right by ``dx`` and down by ``dy`` pixels (either may be negative)."""
    if plane.ndim == 3:
        return _slid(plane, dx, dy)
    out = np.zeros_like(plane)
    rows, words = plane.shape[-2:]
    if abs(dy) >= rows:
        return out
    source = plane[..., max(0, -dy) : rows - max(0, dy), :]
    target = out[..., max(0, dy) : rows - max(0, -dy), :]
    lead, shift = divmod(dx, WORD)
    first, last = max(0, lead), min(words, words + lead)
    if first < last:
        part = source[..., first - lead : last - lead]
        if shift:
            np.left_shift(part, np.uint64(shift), out=target[..., first:last])
        else:
            target[..., first:last] = part
    first, last = max(0, lead + 1), min(words, words + lead + 1)
    if shift and first < last:
        target[..., first:last] |= source[..., first - lead - 1 : last - lead - 1] >> np.uint64(WORD - shift)
    return out


def _slid(stack: Plane, dx: int, dy: int) -> Plane:
    """A contiguous stack of tiles moved as one row of bits."""
    bits = np.ascontiguousarray(stack).ravel()
    lead, shift = divmod(dy * stack.shape[-1] * WORD + dx, WORD)
    out = np.empty_like(bits)
    first, last = max(0, lead), max(0, len(bits) - max(0, -lead))
    out[:first] = 0
    out[last:] = 0
    if first < last:
        source, target = bits[first - lead : last - lead], out[first:last]
        if shift:
            np.left_shift(source, np.uint64(shift), out=target)
            target[1:] |= source[:-1] >> np.uint64(WORD - shift)
            if lead < 0:
                target[0] |= bits[-lead - 1] >> np.uint64(WORD - shift)
        else:
            target[:] = source
    return out.reshape(stack.shape)


def _along(plane: Plane, dx: int, dy: int, steps: int, *, grow: bool) -> Plane:
    done = 0
    while done < steps:
        step = min(done + 1, steps - done)
        other = moved(plane, dx * step, dy * step)
        plane = np.bitwise_or(plane, other, out=other) if grow else np.bitwise_and(plane, other, out=other)
        done += step
    return plane


def _with_room(plane: Plane, reach: int) -> Plane:
    """A plane with room for what is moved off its lower and right sides before it is moved back; stacks have rims."""
    if plane.ndim != 2 or not reach:
        return plane
    return np.pad(plane, ((0, reach), (0, -(-reach // WORD))))


def _octagon(across: int) -> tuple[int, int]:
    """Straight and diagonal steps of the octagon ``across`` pixels wide that is nearest to a disc."""
    diagonal = round(0.293 * (across - 1))
    straight = across - 1 - 2 * diagonal
    return (2, diagonal - 1) if diagonal and not straight else (straight, diagonal)


def grown(plane: Plane, across: int) -> Plane:
    """Dilation by a centred octagon ``across`` pixels wide (an odd number), the nearest to a disc."""
    straight, diagonal = _octagon(across)
    out = _with_room(plane, across // 2)
    out = _along(_along(out, 1, 0, straight, grow=True), 0, 1, straight, grow=True)
    out = _along(_along(out, 1, 1, diagonal, grow=True), -1, 1, diagonal, grow=True)
    out = moved(out, -(straight // 2), -(straight // 2 + diagonal))
    return out[..., : plane.shape[-2], : plane.shape[-1]]


def worn(plane: Plane, across: int) -> Plane:
    """Erosion by the same octagon; paper lies outside of the plane."""
    straight, diagonal = _octagon(across)
    plane = _along(_along(plane, -1, 0, straight, grow=False), 0, -1, straight, grow=False)
    plane = _along(_along(plane, -1, -1, diagonal, grow=False), 1, -1, diagonal, grow=False)
    return moved(plane, straight // 2, straight // 2 + diagonal)


def _square(plane: Plane, across: int, *, grow: bool) -> Plane:
    sign = 1 if grow else -1
    return _along(_along(plane, sign, 0, across - 1, grow=grow), 0, sign, across - 1, grow=grow)


def opened(plane: Plane, across: int) -> Plane:
    """What a square of ``across`` pixels fits into."""
    return _square(_square(plane, across, grow=False), across, grow=True)


def closed(plane: Plane, across: int) -> Plane:
    """The plane with all paper filled into which a square of ``across`` pixels does not fit."""
    room = _with_room(plane, across - 1)
    out = _square(_square(room, across, grow=True), across, grow=False)
    return out[..., : plane.shape[-2], : plane.shape[-1]]


def round_about(plane: Plane, reach: int) -> Plane:
    """Dilation by a centred square of 2 ``reach`` + 1 pixels."""
    out = moved(_square(_with_room(plane, reach), 2 * reach + 1, grow=True), -reach, -reach)
    return out[..., : plane.shape[-2], : plane.shape[-1]]


# Length of an edge by Crofton's formula: each direction is weighted by the share of all directions next to it.
_CROFTON_STEPS = ((1, 0), (0, 1), (1, 1), (-1, 1), (2, 1), (-2, 1), (1, 2), (-1, 2))


def _crofton_weights() -> list[float]:
    """Weight of each direction: (angular gap around it / 2 pi) x the spacing of its lines, both ways along a line."""
    angles = np.array([np.arctan2(dy, dx) % np.pi for dx, dy in _CROFTON_STEPS])
    order = np.argsort(angles)
    sorted_angles = angles[order]
    gaps = np.diff(np.concatenate([sorted_angles, sorted_angles[:1] + np.pi]))
    share = np.empty(len(angles))
    share[order] = (gaps + np.roll(gaps, 1)) / 2
    spacing = np.array([1 / np.hypot(dx, dy) for dx, dy in _CROFTON_STEPS])
    return [float(w) for w in share * spacing / 2]


_WEIGHTS = _crofton_weights()


def edge_lengths(plane: Plane, where: Plane, rim: int) -> npt.NDArray[np.float64]:
    """Length in pixels of the edges of each tile of a stack (n, rows, words), at set pixels that ``where`` holds.

    Only the inside of a tile counts, ``rim`` rows and one word off each side. Within 2 % for straight edges of any
    direction and for circles.
    """
    total = np.zeros(len(plane))
    inside = (slice(None), slice(rim, plane.shape[1] - rim), slice(1, -1))
    held = where[inside]
    for (dx, dy), weight in zip(_CROFTON_STEPS, _WEIGHTS, strict=True):
        for sign in (1, -1):
            change = plane[inside] & ~moved(plane, sign * dx, sign * dy)[inside] & held
            total += weight * np.bitwise_count(change).sum((1, 2), dtype=np.int64)
    return total


def edge_cells(plane: Plane, where: Plane, rim: int, cell: int) -> npt.NDArray[np.float64]:
    """The same length by cell: (n, rows of cells, cells across) of the inside of each tile."""
    inside = (slice(None), slice(rim, plane.shape[1] - rim), slice(1, -1))
    held = where[inside]
    tiles, rows, words = held.shape
    total = np.zeros((tiles, rows // cell, words * WORD // cell))
    for (dx, dy), weight in zip(_CROFTON_STEPS, _WEIGHTS, strict=True):
        for sign in (1, -1):
            change = plane[inside] & ~moved(plane, sign * dx, sign * dy)[inside] & held
            counts = unpack(change.reshape(-1, words), words * WORD).reshape(tiles, rows // cell, cell, -1, cell)
            total += weight * counts.sum((2, 4), dtype=np.int64)
    return total
