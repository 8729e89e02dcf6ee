"""Boxes of clumps are those of connected regions, once small gaps are closed."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy import ndimage

from setupassist.inspection import clumps
from setupassist.inspection.clumps import boxes_of


def by_labels(cells, join):
    """The same by closing with a square and labelling the regions."""
    padded = np.pad(cells, 2 * join)
    closed = ndimage.binary_closing(padded, np.ones((join, join)))
    labels, _ = ndimage.label(closed, np.ones((3, 3)))
    return sorted(
        (down.start - 2 * join, down.stop - 2 * join, right.start - 2 * join, right.stop - 2 * join)
        for down, right in ndimage.find_objects(labels)
    )


def boxes(cells, join):
    return sorted(tuple(box) for box in boxes_of(cells, join).tolist())


@settings(max_examples=80, deadline=None)
@given(
    seed=st.integers(0, 2**32 - 1),
    shape=st.tuples(st.integers(1, 90), st.integers(1, 150)),
    share=st.sampled_from([0.002, 0.02, 0.1, 0.3, 0.6]),
    join=st.integers(2, 5),
)
def test_boxes_are_those_of_labelled_regions(seed, shape, share, join):
    cells = np.random.default_rng(seed).random(shape) < share
    assert boxes(cells, join) == by_labels(cells, join)


def spiral(size):
    """One long line that winds inwards, two cells of paper between its turns."""
    cells = np.zeros((size, size), np.bool_)
    top, left, bottom, right = 0, 0, size - 1, size - 1
    while bottom - top > 6:
        cells[top, left : right + 1] = cells[top : bottom + 1, right] = True
        cells[bottom, left + 3 : right + 1] = cells[top + 3 : bottom + 1, left + 3] = True
        top, left, bottom, right = top + 3, left + 3, bottom - 3, right - 3
    return cells


def test_a_spiral_is_one_clump():
    cells = spiral(120)
    assert len(by_labels(cells, 2)) == 1
    assert boxes(cells, 2) == [(0, 120, 0, 120)]


def test_combs_that_mesh_are_two_clumps():
    cells = np.zeros((40, 60), np.bool_)
    cells[0], cells[39] = True, True
    cells[:30, ::8], cells[10:, 4::8] = True, True
    assert boxes(cells, 2) == [(0, 30, 0, 60), (10, 40, 0, 60)]


@pytest.mark.parametrize(("gap", "one"), [(1, True), (2, True), (3, False)])
def test_gaps_that_the_square_does_not_fit_into_are_closed(gap, one):
    cells = np.zeros((20, 40), np.bool_)
    cells[5:10, 5:10] = cells[5:10, 10 + gap : 20] = True
    assert boxes(cells, 3) == ([(5, 10, 5, 20)] if one else [(5, 10, 5, 10), (5, 10, 10 + gap, 20)])


def test_nothing_and_too_much_give_no_boxes(monkeypatch):
    assert boxes(np.zeros((30, 30), np.bool_), 2) == []
    monkeypatch.setattr(clumps, "MOST_RUNS", 5)
    cells = np.zeros((30, 30), np.bool_)
    cells[::6, 3] = True
    assert len(boxes(cells, 2)) == 5
    cells[::6, 20] = True
    assert boxes(cells, 2) == []
