"""The art on its garment: cloth, order and colours of the layers, and what a group does not get."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
from PIL import Image

from setupassist.desk import edits, order
from setupassist.desk.desk import Desk
from setupassist.desk.garment_art import drawn_as_film, drawn_on_garment, garment_art
from setupassist.desk.opening import open_paths
from setupassist.desk.tasks import Stage
from setupassist.documents.store import example_shop
from tests.desk.conftest import work_off

BASE, TEAL, CLOTH = (244, 244, 242), (21, 128, 138), (31, 42, 68)


@pytest.fixture
def small(tmp_path: Path) -> Desk:
    """A base with a teal block on half of it, opened as a folder, nothing worked out yet."""
    folder = tmp_path / "set"
    folder.mkdir()
    for name, columns in (("white base", slice(50, 250)), ("teal", slice(150, 250))):
        ink = np.full((300, 300), 255, np.uint8)
        ink[50:250, columns] = 0
        Image.fromarray(ink).save(folder / f"{name}.png", dpi=(200, 200))
    desk = Desk(example_shop())
    desk.open(open_paths([folder], shop=desk.shop, press="Long bench"))
    job = edits.note_ink(desk.job, "white base", colour="#f4f4f2").job
    job = edits.note_ink(job, "teal", colour="#15808a").job
    desk.put(order.garment_edit(job, 0, "colour", "#1f2a44").job)
    return desk


def until_pictures(desk: Desk) -> None:
    for _ in range(2):
        task = next(desk.wanted())
        desk.take(task, task.run(lambda share: None, lambda: False))
    assert desk.fresh(Stage.PICTURES)


def drawn(desk: Desk, group: int = 0) -> np.ndarray:
    art = garment_art(desk, group)
    assert art is not None
    return drawn_on_garment(art, desk.results.pictures)


def test_pictures_are_laid_by_role_before_anything_is_measured(small: Desk) -> None:
    assert garment_art(small) is None
    until_pictures(small)
    art = garment_art(small)
    assert art is not None
    assert not art.planned
    assert [layer.ink for layer in art.layers] == ["white base", "teal"]
    picture = drawn(small)
    assert tuple(picture[10, 10]) == CLOTH
    assert tuple(picture[100, 100]) == BASE
    assert tuple(picture[100, 200]) == TEAL
    assert drawn_on_garment(art, small.results.pictures, every=3).shape == (100, 100, 3)


def test_a_group_that_needs_no_base_gets_none(small: Desk) -> None:
    job = small.job
    job = edits.with_fields(job, edits.say("desk.edit.field"), garment=None, garments=[
        {"name": "navy tee", "colour": "#1f2a44", "fibre": "cotton"},
        {"name": "white tee", "colour": "#ffffff", "fibre": "cotton"},
    ]).job  # fmt: skip
    small.put(job)
    work_off(small)
    dark, light = garment_art(small, 0), garment_art(small, 1)
    assert dark is not None
    assert light is not None
    assert dark.planned
    assert [layer.ink for layer in dark.layers] == ["white base", "teal"]
    assert [layer.ink for layer in light.layers] == ["teal"]
    assert tuple(drawn(small, 1)[100, 100]) == (255, 255, 255)


def test_a_made_base_takes_the_union_of_what_it_carries(small: Desk) -> None:
    small.put(edits.answer(small.job, "base", "under-all").job)
    work_off(small)
    art = garment_art(small)
    assert art is not None
    assert [(layer.ink, layer.plates) for layer in art.layers] == [("made white base", ("teal",)), ("teal", ("teal",))]
    assert tuple(drawn(small)[100, 100]) == CLOTH


def test_a_film_is_black_where_ink_is(small: Desk) -> None:
    until_pictures(small)
    film = drawn_as_film(small.results.pictures["teal"])
    assert tuple(film[100, 200]) == (0, 0, 0)
    assert tuple(film[100, 100]) == (255, 255, 255)
