"""Findings walked by mouse and keyboard: list, marks on the art, and the place in hand are one."""

from __future__ import annotations

import itertools
from collections.abc import Callable
from pathlib import Path

import pytest
from PySide6.QtCore import QPointF, Qt
from PySide6.QtGui import QColor, QImage
from PySide6.QtWidgets import QApplication
from pytestqt.qtbot import QtBot

from setupassist import pipeline
from setupassist.app.art_marks import Mark
from setupassist.app.art_view import ArtView
from setupassist.app.places.art import ArtPlace
from setupassist.app.selection import Of, Selection
from setupassist.app.window import Window
from setupassist.documents.measure import Finding
from setupassist.documents.terms import Severity
from tests.app.test_place_art import label_of, only, place_of, plates_in

AtRest = Callable[[], None]

FINDINGS = (
    Finding(code="base-peeks-out", severity=Severity.STOP, plates=("white base",), text="base peeks out",
            remedy="draw it in", places_mm=((5, 6), (20, 18))),
    Finding(code="line-too-fine", severity=Severity.WARN, plates=("teal",), text="thin line", places_mm=((15, 12),)),
    Finding(code="specks", severity=Severity.NOTE, plates=("red",), text="specks"),
)  # fmt: skip


@pytest.fixture
def walked(window: Window, at_rest: AtRest, tmp_path: Path, monkeypatch) -> ArtPlace:
    """A small set of 300 x 300 pixels at 300 dpi, 25.4 mm a side, with three findings."""
    measure = pipeline.measure_job

    def with_findings(*args, **kwargs):
        told = measure(*args, **kwargs)
        return pipeline.Measured(only(told.measure, FINDINGS), told.plates)

    monkeypatch.setattr(pipeline, "measure_job", with_findings)
    plates_in(tmp_path / "set")
    window.model.prefer(units="metric")
    window.open([tmp_path / "set"])
    at_rest()
    return place_of(window)


def click_row(place: ArtPlace, row: int, qtbot: QtBot) -> None:
    rect = place.findings.visualRect(place.findings.grid.index(row, 2))
    place.side.ensureWidgetVisible(place.findings)
    qtbot.mouseClick(place.findings.viewport(), Qt.MouseButton.LeftButton, pos=rect.center())


def middle_of(view: ArtView) -> tuple[float, float]:
    """The place of the plates in the middle of the view, in mm of the small set."""
    share = view.share_at(QPointF(view.width() / 2, view.height() / 2))
    return share.x() * 25.4, share.y() * 25.4


def test_the_verdict_stands_first_and_every_finding_tells_what_to_do(walked: ArtPlace) -> None:
    assert walked.found.verdict.text() == "Would stop the press: 1 finding."
    texts = [row.cells[2].text for row in walked.findings.grid.rows]
    assert texts[0] == "base peeks out; draw it in"
    assert walked.found.verdict.mapTo(walked, walked.found.verdict.pos()).y() < walked.plates.y() + walked.side.y()


def test_a_click_goes_to_the_place_and_the_next_click_to_the_next_place(walked: ArtPlace, qtbot: QtBot) -> None:
    walked.view.resize(400, 400)
    walked.view.zoom_by(4)
    click_row(walked, 0, qtbot)
    assert walked.model.selection == Selection(Of.FINDING, "0")
    assert middle_of(walked.view) == pytest.approx((5, 6), abs=1.0)
    assert walked.found.where.text() == "Place 1 of 2: 5.0 mm from the left, 6.0 mm from the top."
    click_row(walked, 0, qtbot)
    assert (walked.view.chosen, walked.view.chosen_place) == (1, 1)
    assert middle_of(walked.view) == pytest.approx((20, 18), abs=1.0)
    assert walked.found.where.text().startswith("Place 2 of 2")
    click_row(walked, 0, qtbot)
    assert walked.view.chosen_place == 0
    click_row(walked, 1, qtbot)
    assert walked.found.where.text() == "15.0 mm from the left, 12.0 mm from the top."
    assert not walked.found.next_place.isVisible()


def test_the_keyboard_walks_findings_and_places(walked: ArtPlace, qtbot: QtBot) -> None:
    qtbot.keyClick(walked.view, Qt.Key.Key_N)
    assert walked.found.number == 1
    walked.findings.setFocus()
    for key, shift, expected in (
        (Qt.Key.Key_Return, False, (1, 1)), (Qt.Key.Key_M, False, (1, 0)),
        (Qt.Key.Key_N, False, (2, 0)), (Qt.Key.Key_N, False, (3, 0)), (Qt.Key.Key_N, False, (1, 0)),
        (Qt.Key.Key_N, True, (3, 0)), (Qt.Key.Key_Up, False, (2, 0)), (Qt.Key.Key_Return, False, (2, 0)),
    ):  # fmt: skip
        modifier = Qt.KeyboardModifier.ShiftModifier if shift else Qt.KeyboardModifier.NoModifier
        qtbot.keyClick(walked.findings, key, modifier)
        assert (walked.found.number, walked.found.place) == expected
        assert walked.model.selection == Selection(Of.FINDING, str(expected[0] - 1))
    walked.found.next_place.click()
    assert walked.found.number == 2
    qtbot.keyClick(walked.findings, Qt.Key.Key_N)
    assert walked.found.where.text() == "It has no single place on the art."


def test_a_click_on_a_mark_chooses_that_place_of_its_finding(walked: ArtPlace, qtbot: QtBot) -> None:
    laid = next(one for one in walked.view.laid() if (one.mark.number, one.mark.place) == (1, 1))
    assert laid.label is not None
    qtbot.mouseClick(walked.view, Qt.MouseButton.LeftButton, pos=laid.label.center().toPoint())
    assert (walked.found.number, walked.found.place) == (1, 1)
    assert walked.findings.key == "0"
    assert walked.view.marks[0].told == "base peeks out; draw it in"


def test_places_that_lie_close_have_labels_apart(walked: ArtPlace) -> None:
    view = walked.view
    view.show_marks([Mark(number, 0.5, 0.5, place=place) for number in (1, 2, 3) for place in (0, 1)], 0)
    boxes = [one.label for one in view.laid() if one.label is not None]
    assert len(boxes) == 6
    assert not any(one.intersects(two) for one, two in itertools.combinations(boxes, 2))


def test_marks_tell_their_weight_by_shape_in_black_and_white(walked: ArtPlace) -> None:
    view, pictures = walked.view, []
    image = QImage(200, 200, QImage.Format.Format_RGB888)
    image.fill(QColor("#777777"))
    view.show_image(image)
    for severity in Severity:
        view.show_marks([Mark(1, 0.5, 0.5, severity)], 0)
        QApplication.processEvents()
        box = label_of(view, 1).adjusted(-4, -4, 4, 4).toRect()
        pictures.append(view.grab(box).toImage().convertToFormat(QImage.Format.Format_Mono))
    assert all(one != two for one, two in itertools.combinations(pictures, 2))


def test_a_finding_is_seen_on_its_own_plate_and_leads_to_a_base(walked: ArtPlace, qtbot: QtBot, at_rest) -> None:
    walked.picture.show_together(False)
    at_rest()
    click_row(walked, 1, qtbot)
    at_rest()
    assert walked.picture.plate == "teal"
    assert walked.plates.key == "teal"
    assert not walked.found.make_base.isVisible()
    click_row(walked, 0, qtbot)
    at_rest()
    assert walked.picture.plate == "white base"
    assert walked.picture.caption.text().startswith("white base, plate 1 of 3")
    qtbot.mouseClick(walked.found.make_base, Qt.MouseButton.LeftButton)
    assert walked.base.isVisible()


@pytest.mark.qt_log_ignore("does not support")
def test_trade_words_can_be_asked_for_where_the_focus_is(walked: ArtPlace, window: Window, qtbot: QtBot) -> None:
    walked.base.open()
    for widget, word in ((walked.picture.take_loupe, "loupe"), (walked.base.choke, "choke")):
        widget.setFocus()
        window.explain_focus()
        assert window.words_window is not None
        assert window.words_window.word.text() == word
