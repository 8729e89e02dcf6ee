"""The way of the garments round the press."""

from __future__ import annotations

import pytest

from setupassist.documents.press import Press


@pytest.mark.parametrize(
    ("load", "unload", "way"),
    [
        (1, 6, (2, 3, 4, 5)),
        (1, 1, (2, 3, 4, 5, 6)),
        (4, 3, (5, 6, 1, 2)),
        (4, 4, (5, 6, 1, 2, 3)),
        (2, 5, (3, 4)),
    ],
)
def test_way_runs_from_after_load_to_before_unload(load: int, unload: int, way: tuple[int, ...]) -> None:
    press = Press(name="six", stations=6, load=load, unload=unload, heads=way[:1])
    assert press.way == way
