"""Packed planes against plain maps of pixels."""

from __future__ import annotations

import numpy as np
import pytest
from scipy import ndimage

from setupassist.inspection import bits
from setupassist.inspection.grid import cell_counts, expanded, grid_for, tone_sums


@pytest.fixture
def picture():
    return np.random.default_rng(4).random((96, 256)) < 0.3


def test_packing_comes_back(picture):
    assert np.array_equal(bits.unpack(bits.pack(picture[:, :201]), 201), picture[:, :201])
    assert bits.count(bits.pack(picture)) == picture.sum()


@pytest.mark.parametrize(("dx", "dy"), [(0, 0), (1, 0), (-1, 2), (64, -3), (70, 5), (-130, 0), (300, 1), (3, 99)])
def test_moving(picture, dx, dy):
    padded = np.pad(picture, 400)
    expected = np.roll(padded, (dy, dx), (0, 1))[400:-400, 400:-400]
    assert np.array_equal(bits.unpack(bits.moved(bits.pack(picture), dx, dy), 256), expected)


@pytest.mark.parametrize("across", [5, 11, 21])
def test_growing_reaches_as_far_along_rows_as_along_columns(across):
    dot = np.zeros((64, 128), bool)
    dot[32, 64] = True
    grown = bits.unpack(bits.grown(bits.pack(dot), across), 128)
    rows, columns = np.flatnonzero(grown.any(1)), np.flatnonzero(grown.any(0))
    half = across // 2
    assert (rows[0], rows[-1], columns[0], columns[-1]) == (32 - half, 32 + half, 64 - half, 64 + half)
    assert grown.sum() == pytest.approx(np.pi * (across / 2) ** 2, rel=0.12)


@pytest.mark.parametrize("place", [(0, 0), (0, 127), (63, 0), (63, 127), (63, 70), (30, 127)])
def test_growing_at_the_rim_loses_nothing_inside(place):
    dot = np.zeros((64, 128), bool)
    dot[place] = True
    y, x = np.mgrid[0:64, 0:128] - np.array(place)[:, None, None]
    square = (np.abs(y) <= 3) & (np.abs(x) <= 3)
    assert np.array_equal(bits.unpack(bits.round_about(bits.pack(dot), 3), 128), square)
    grown = bits.unpack(bits.grown(bits.pack(dot), 11), 128)
    assert np.array_equal(grown[np.hypot(y, x) <= 4.5], np.ones((np.hypot(y, x) <= 4.5).sum(), bool))
    assert not grown[np.hypot(y, x) > 6].any()


@pytest.mark.parametrize("across", [2, 3, 6])
def test_closing_at_the_rim(picture, across):
    whole = np.pad(picture, across)
    closed = bits.unpack(bits.closed(bits.pack(whole), across), whole.shape[1])[across:-across, across:-across]
    here = bits.unpack(bits.closed(bits.pack(picture), across), picture.shape[1])
    assert np.array_equal(here | closed, here)
    assert np.array_equal(here & picture, picture)
    assert np.array_equal(here[across:-across, across:-across], closed[across:-across, across:-across])


@pytest.mark.parametrize("across", [2, 3, 6])
def test_opening_and_closing_by_a_square(picture, across):
    square, inside = np.ones((across, across)), np.pad(picture, ((20, 20), (64, 64)))
    for own, other in ((bits.opened, ndimage.binary_opening), (bits.closed, ndimage.binary_closing)):
        assert np.array_equal(bits.unpack(own(bits.pack(inside), across), inside.shape[1]), other(inside, square))


@pytest.mark.parametrize("cell", [1, 2, 4, 8, 16, 32])
def test_counting_by_cell(picture, cell):
    expected = picture.reshape(96 // cell, cell, 256 // cell, cell).sum((1, 3))
    assert np.array_equal(cell_counts(bits.pack(picture), cell), expected)
    odd = expected % 2 == 1
    assert np.array_equal(cell_counts(expanded(odd, cell), cell), odd * cell * cell)


@pytest.mark.parametrize("cell", [1, 4, 16])
def test_summing_levels_by_cell(cell):
    levels = np.random.default_rng(5).integers(0, 256, (37, 83)).astype(np.uint8)
    padded = np.pad(levels, ((0, -37 % cell), (0, -83 % cell))).astype(int)
    rows, columns = (size // cell for size in padded.shape)
    assert np.array_equal(tone_sums(levels, cell), padded.reshape(rows, cell, columns, cell).sum((1, 3)))


@pytest.mark.parametrize("angle", range(0, 90, 6))
def test_straight_edges_have_their_length(angle):
    """A long strip at any angle: its two long edges inside the middle rows."""
    y, x = np.mgrid[0:256, 0:320].astype(float)
    turn = np.deg2rad(angle)
    across = (x - 160) * np.sin(turn) + (y - 128) * np.cos(turn)
    along = (x - 160) * np.cos(turn) - (y - 128) * np.sin(turn)
    strip = (np.abs(across) < 30.2) & (np.abs(along) < 90.3)
    plane = bits.pack(strip)[None]
    length = bits.edge_lengths(plane, plane, 8)[0]
    assert length == pytest.approx(2 * (2 * 30.2 + 2 * 90.3), rel=0.025)


def test_cells_stay_near_a_third_of_a_millimetre_and_few():
    assert [grid_for(4000, 4000, dpi).cell for dpi in (75, 150, 300, 600)] == [2, 2, 4, 8]
    assert [grid_for(900, 900, dpi).cell for dpi in (75, 150, 300, 600, 1200)] == [1, 2, 4, 8, 16]
    assert grid_for(12_000, 9_600, 600, plates=12).cell == 8
    assert grid_for(12_000, 9_600, 600, plates=64).cell == 16
    large = grid_for(60_000, 40_000, 600)
    assert -(-large.rows // large.cell) * -(-large.columns // large.cell) <= 4_000_000
