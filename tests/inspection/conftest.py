"""Plates drawn on purpose: the truth that the inspection must bring back."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from types import SimpleNamespace

import numpy as np
import numpy.typing as npt
import pytest

from setupassist.art.plates import Plate, PlateSet

Levels = npt.NDArray[np.uint8]


def plate_set(arrays: Sequence[Levels], *, dpi: float | None = 600, names: Sequence[str] | None = None) -> PlateSet:
    """A set of plates held in memory; a plate is two-level where it holds 0 and 255 only."""
    names = names or [f"ink {number}" for number in range(len(arrays))]
    plates = tuple(
        Plate(name, f"{name}.png", *array.shape, dpi, bool(np.isin(array, (0, 255)).all()))
        for name, array in zip(names, arrays, strict=True)
    )

    def read(rows: int):
        for top in range(0, len(arrays[0]), rows):
            yield tuple(array[top : top + rows] for array in arrays)

    return PlateSet("drawn", plates, read)


def _spot(shape: str, u: npt.NDArray[np.float64], v: npt.NDArray[np.float64]) -> npt.NDArray[np.float64]:
    if shape == "round":
        return np.cos(2 * np.pi * u) + np.cos(2 * np.pi * v)
    if shape == "ellipse":
        return np.cos(2 * np.pi * u) + 0.6 * np.cos(2 * np.pi * v)
    if shape == "square":
        return -np.maximum(np.abs((u + 0.5) % 1 - 0.5), np.abs((v + 0.5) % 1 - 0.5))
    return np.cos(2 * np.pi * u)


def screened(rows, columns, *, dpi=600.0, lpi=45.0, angle=22.5, shape="round", tone=0.5, phase=(0.13, 0.37)) -> Levels:
    """A two-level halftone; ``angle`` counter-clockwise as seen, ``tone`` a number or a map of ink fractions.

    Square dots above half tone are square holes.
    """
    if shape == "square" and np.ndim(tone) == 0 and tone > 0.5:
        return 255 - screened(rows, columns, dpi=dpi, lpi=lpi, angle=angle, shape=shape, tone=1 - tone, phase=phase)
    y, x = np.mgrid[0:rows, 0:columns].astype(np.float64)
    turn, frequency = np.deg2rad(angle), lpi / dpi
    u = (x * np.cos(turn) - y * np.sin(turn)) * frequency + phase[0]
    v = (x * np.sin(turn) + y * np.cos(turn)) * frequency + phase[1]
    some = np.random.default_rng(1).random((2, 100_000))
    heights = np.sort(_spot(shape, *some))
    threshold = np.interp(1 - np.asarray(tone), np.linspace(0, 1, len(heights)), heights)
    return np.where(_spot(shape, u, v) > threshold, 255, 0).astype(np.uint8)


def dispersed(rows, columns, *, dot=1, tone=0.4, seed=5) -> Levels:
    """Stochastic dots of ``dot`` pixels at random places."""
    small = np.random.default_rng(seed).random((-(-rows // dot), -(-columns // dot))) < tone
    return (np.kron(small, np.ones((dot, dot), bool))[:rows, :columns] * np.uint8(255)).astype(np.uint8)


def lettering(rows, columns, *, height=40, lead=1.3, seed=2) -> Levels:
    """Lines of random letters, ``height`` pixels of type size, two-level."""
    from PIL import Image, ImageDraw, ImageFont

    image = Image.new("L", (columns, rows), 0)
    pen, font = ImageDraw.Draw(image), ImageFont.load_default(height)
    rng, letters = np.random.default_rng(seed), np.array(list("abcdefghijklmnoprstuvw  "))
    for top in range(0, rows, int(height * lead)):
        pen.text((0, top), "".join(rng.choice(letters, columns // height * 4)), font=font, fill=255)
    return np.where(np.asarray(image) > 127, 255, 0).astype(np.uint8)


def disc(rows, columns, x, y, radius, *, soft=False) -> Levels:
    """A disc; ``soft`` draws its edge with greys (a pixel covered in part is grey)."""
    v, u = np.mgrid[0:rows, 0:columns]
    depth = radius - np.hypot(u - x, v - y)
    if soft:
        return np.clip((depth + 0.5) * 255, 0, 255).round().astype(np.uint8)
    return np.where(depth > 0, 255, 0).astype(np.uint8)


def target(across: int) -> Levels:
    """A registration mark: a ring with a cross."""
    half = across // 2
    y, x = np.mgrid[-half : half + 1, -half : half + 1]
    ring = np.abs(np.hypot(x, y) - 0.7 * half) < 3
    return np.where(ring | (np.abs(x) < 3) | (np.abs(y) < 3), 255, 0).astype(np.uint8)


def packed(arrays: Sequence[Levels], *, dpi: float = 600):
    """The same set as packed plates."""
    from setupassist.inspection.grid import grid_for
    from setupassist.inspection.planes import Planes
    from setupassist.inspection.reading import read_planes

    grid = grid_for(*arrays[0].shape, dpi, plates=len(arrays))
    return read_planes(plate_set(arrays, dpi=dpi), grid, Planes(grid, len(arrays)))


MARK_SHAPES = ("cross", "target", "ring", "corner", "wedge", "dot")
FINE = 4


def mark(shape: str, mm: float, *, dpi: float = 600, dx: float = 0.0, dy: float = 0.0, line: float = 0.25) -> Levels:
    """A mark ``mm`` across, moved right and down by quarters of a pixel: drawn four times finer, then reduced."""
    size, pen = round(mm * dpi / 25.4 * FINE), line * dpi / 25.4 * FINE / 2
    y, x = np.mgrid[0:size, 0:size] - (size - 1) / 2
    from_middle = np.hypot(x, y)
    cross, half = (np.abs(x) < pen) | (np.abs(y) < pen), size / 2
    drawn = {
        "cross": cross,
        "target": cross | (np.abs(from_middle - 0.7 * half) < pen),
        "ring": np.abs(from_middle - 0.9 * half) < pen,
        "corner": (x + half < 2 * pen) | (y + half < 2 * pen),
        "wedge": x >= y,
        "dot": from_middle < 0.95 * half,
    }[shape]
    right, down = round(dx * FINE), round(dy * FINE)
    assert max(right, down) < FINE, "whole pixels are the caller's"
    fine = np.zeros((-(-(size + FINE) // FINE) * FINE,) * 2, np.float32)
    fine[down : down + size, right : right + size] = drawn
    cells = fine.reshape(len(fine) // FINE, FINE, -1, FINE).mean((1, 3))
    return (cells * 255).round().astype(np.uint8)


def put_mark(plate: Levels, shape: str, mm: float, x: float, y: float, *, dpi: float = 600, line: float = 0.25) -> None:
    """Draws a mark round a place in pixels, to a quarter of one."""
    left, top = (round((at - mm * dpi / 50.8) * FINE) / FINE for at in (x, y))
    picture = mark(shape, mm, dpi=dpi, dx=left % 1, dy=top % 1, line=line)
    here = plate[int(top) : int(top) + len(picture), int(left) : int(left) + len(picture)]
    np.maximum(here, picture[: here.shape[0], : here.shape[1]], out=here)


@pytest.fixture(scope="session")
def draw():
    """The drawing functions by name: ``draw.screened(…)``."""

    functions = (plate_set, screened, dispersed, lettering, disc, target, packed, mark, put_mark)
    return SimpleNamespace(**{function.__name__: function for function in functions}, mark_shapes=MARK_SHAPES)


@pytest.fixture(scope="session")
def on_paper() -> Callable[..., Levels]:
    """Pictures laid on paper: ``on_paper(rows, columns, (top, left, picture), …)``."""

    def lay(rows: int, columns: int, *parts: tuple[int, int, Levels]) -> Levels:
        out = np.zeros((rows, columns), np.uint8)
        for top, left, picture in parts:
            here = out[top : top + picture.shape[0], left : left + picture.shape[1]]
            np.maximum(here, picture[: here.shape[0], : here.shape[1]], out=here)
        return out

    return lay
