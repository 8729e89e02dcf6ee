"""An ink without a name in its file is named in the table of plates."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest
from PySide6.QtCore import Qt
from PySide6.QtWidgets import QLineEdit
from pytestqt.qtbot import QtBot

from setupassist.app.places.art import ArtPlace
from setupassist.app.window import Window
from tests.desk.test_naming import write_job

pytestmark = pytest.mark.window


def test_a_name_is_typed_refused_and_undone(
    window: Window, at_rest: Callable[[], None], qtbot: QtBot, tmp_path: Path
) -> None:
    window.open([write_job(tmp_path)])
    at_rest()
    place = window.places["art"]
    assert isinstance(place, ArtPlace)
    said: list[object] = []
    place.model.told.connect(said.append)

    def typed(ink: str, text: str) -> None:
        row = next(at for at, row in enumerate(place.plates.grid.rows) if row.key == ink)
        index = place.plates.model().index(row, 0)
        place.plates.setCurrentIndex(index)
        place.plates.edit(index)
        box = place.plates.findChild(QLineEdit)
        assert box is not None
        box.selectAll()
        qtbot.keyClicks(box, text)
        qtbot.keyClick(box, Qt.Key.Key_Return)
        at_rest()

    def inks() -> list[str]:
        return [row.key for row in place.plates.grid.rows]

    assert inks()[4:] == ["ink 5", "ink 6"]
    typed("ink 5", "gold")
    assert inks()[4:] == ["gold", "ink 6"]
    typed("ink 6", "Gold")
    assert inks()[4:] == ["gold", "ink 6"]
    assert any("two plates are called 'Gold'" in str(sentence) for sentence in said)
    place.model.undo.undo()
    at_rest()
    assert inks()[4:] == ["ink 5", "ink 6"]
