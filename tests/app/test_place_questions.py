"""The place of questions by keyboard and by mouse: the order, the answers, and a page that does not jump."""

from __future__ import annotations

import shutil
from collections.abc import Callable
from pathlib import Path

import pytest
from PySide6.QtCore import QPoint, Qt
from PySide6.QtWidgets import QApplication, QRadioButton, QWidget
from pytestqt.qtbot import QtBot

from setupassist.app import dialogs
from setupassist.app.entry import ColourLine, Line
from setupassist.app.places.questions import QuestionsPlace
from setupassist.app.question_row import QuestionRow
from setupassist.app.selection import Of, Selection
from setupassist.app.window import Window
from setupassist.desk import edits
from setupassist.documents.terms import Fibre, InkSystem
from tests.app.conftest import SAMPLES

AtRest = Callable[[], None]
Key = Qt.Key


def place_of(window: Window) -> QuestionsPlace:
    place = window.places["questions"]
    assert isinstance(place, QuestionsPlace)
    return place


@pytest.fixture
def place(opened: Window, at_rest: AtRest) -> QuestionsPlace:
    """The small job of figures at the questions, the focus on the first."""
    opened.activateWindow()
    opened.go("questions")
    at_rest()
    made = place_of(opened)
    made.to_questions()
    QApplication.processEvents()
    return made


def focus() -> QWidget:
    widget = QApplication.focusWidget()
    assert widget is not None
    return widget


def row_at_focus(place: QuestionsPlace) -> QuestionRow:
    return next(row for row in place.rows.values() if row.has_focus())


def walk_to(place: QuestionsPlace, qid: str, qtbot: QtBot) -> QuestionRow:
    """Down the page by keyboard until the focus is on a question."""
    place.rows[next(iter(place.rows))].focus()
    for _ in range(len(place.rows)):
        if row_at_focus(place).one.question.id == qid:
            return place.rows[qid]
        qtbot.keyClick(focus(), Key.Key_Down)
    raise AssertionError(f"{qid} was not reached")


def chosen(row: QuestionRow) -> str:
    return row.one.question.answers[[button.isChecked() for button in row.choices].index(True)]


def test_every_question_of_the_plan_is_asked_with_its_suggestion_reason_and_source(place: QuestionsPlace) -> None:
    made = place.model.results.made
    assert made is not None
    assert list(place.rows) == [question.id for question in made.steps.questions]
    row = place.rows["flash-after-base"]
    assert row.text.text() == "Flash after the base, or after the white that is its own base?"
    assert [button.text() for button in row.choices] == ["1   yes  (suggested)", "2   no"]
    assert row.reason.text().startswith("ink on a gelled base stays clean")
    assert "Impressions" in row.source.text()
    assert chosen(row) == "yes"
    assert not row.mark.isVisible()
    assert place.status() == "all answered, as suggested"


def test_number_keys_answer_backspace_goes_back_and_the_panel_follows(
    place: QuestionsPlace, qtbot: QtBot, at_rest: AtRest
) -> None:
    row = walk_to(place, "flash-after-base", qtbot)
    assert place.model.selection == Selection(Of.QUESTION, "flash-after-base")
    qtbot.keyClick(focus(), Key.Key_2)
    assert place.model.job.answers == {"flash-after-base": "no"}
    at_rest()
    assert row is place.rows["flash-after-base"]
    assert row.has_focus()
    assert chosen(row) == "no"
    assert row.mark.isVisible()
    assert row.mark.text() == "answered by hand"
    assert row.suggested.text() == "suggested: yes"
    others = len(place.rows) - 1
    assert place.status() == f"all answered, 1 by you, {others} as suggested"
    qtbot.keyClick(focus(), Key.Key_Backspace)
    assert place.model.job.answers == {}
    at_rest()
    assert chosen(row) == "yes"
    assert not row.mark.isVisible()
    assert not row.take.isVisible()
    place.model.undo.undo()
    assert place.model.job.answers == {"flash-after-base": "no"}
    at_rest()


def test_answering_the_suggestion_itself_is_an_answer_and_return_only_moves_on(
    place: QuestionsPlace, qtbot: QtBot, at_rest: AtRest
) -> None:
    first = row_at_focus(place).one.question.id
    qtbot.keyClick(focus(), Key.Key_Return)
    assert place.model.job.answers == {}
    assert row_at_focus(place).one.question.id == list(place.rows)[1]
    qtbot.keyClick(focus(), Key.Key_Up)
    assert row_at_focus(place).one.question.id == first
    qtbot.keyClick(focus(), Key.Key_1)
    assert place.model.job.answers == {first: place.rows[first].one.question.answers[0]}
    at_rest()


def test_the_whole_list_is_walked_and_answered_by_keyboard_alone(
    place: QuestionsPlace, qtbot: QtBot, at_rest: AtRest
) -> None:
    seen = []
    for _ in range(40):
        row = row_at_focus(place)
        seen.append(row.one.question.id)
        if row.choices:
            qtbot.keyClick(focus(), Key.Key_1)
        else:
            qtbot.keyClicks(focus(), {"spoilage": "0.03"}.get(row.one.question.id, "9"))
        qtbot.keyClick(focus(), Key.Key_Return)
        at_rest()
        if row_at_focus(place).one.question.id == seen[-1]:
            break
    assert list(place.rows) == [qid for qid in place.rows if qid in seen]
    assert {place.rows[qid].one.answer is not None for qid in place.rows} == {True}
    assert place.status() == "all answered by you"
    assert place.model.job.answers["spoilage"] == "0.03"


def test_a_number_is_typed_refused_and_taken_back(place: QuestionsPlace, qtbot: QtBot, at_rest: AtRest) -> None:
    said: list[object] = []
    place.model.told.connect(said.append)
    row = walk_to(place, "tests", qtbot)
    line = row.field
    assert isinstance(line, Line)
    assert line.placeholderText() == "6, suggested"
    qtbot.keyClicks(line, "some")
    qtbot.keyClick(line, Key.Key_Return)
    assert place.model.job.answers == {}
    assert len(said) == 1
    row.focus()
    line.selectAll()
    qtbot.keyClicks(line, "12")
    qtbot.keyClick(line, Key.Key_Escape)
    assert line.text() == ""
    qtbot.keyClicks(line, "12")
    qtbot.keyClick(line, Key.Key_Down)
    assert place.model.job.answers == {"tests": "12"}
    at_rest()
    assert line.text() == "12"
    assert row.suggested.text() == "suggested: 6"
    row.focus()
    line.selectAll()
    qtbot.keyClick(line, Key.Key_Backspace)
    qtbot.keyClick(line, Key.Key_Return)
    assert place.model.job.answers == {}
    at_rest()


def test_answers_are_clicked_and_the_suggestion_is_taken_by_its_button(
    place: QuestionsPlace, qtbot: QtBot, at_rest: AtRest
) -> None:
    row = place.rows["base"]
    button = row.choices[0]
    place.area.ensureWidgetVisible(button)
    qtbot.mouseClick(button, Qt.MouseButton.LeftButton, pos=QPoint(8, button.height() // 2))
    assert place.model.job.answers == {"base": "none"}
    at_rest()
    qtbot.mouseClick(row.take, Qt.MouseButton.LeftButton)
    assert place.model.job.answers == {}
    at_rest()


def test_a_question_that_disappears_leaves_the_focus_to_the_next(
    place: QuestionsPlace, qtbot: QtBot, at_rest: AtRest
) -> None:
    walk_to(place, "base-hits", qtbot)
    before = list(place.rows)
    place.model.edit(lambda: edits.answer(place.model.job, "base", "none"))
    at_rest()
    assert "base-hits" not in place.rows
    then = before[before.index("base-hits") + 1 :]
    assert row_at_focus(place).one.question.id == next(qid for qid in then if qid in place.rows)
    place.model.undo.undo()
    at_rest()
    assert list(place.rows) == before


def test_the_page_does_not_jump_when_questions_come_and_go_above(
    window: Window, qtbot: QtBot, at_rest: AtRest, tmp_path: Path
) -> None:
    shutil.copytree(SAMPLES / "lantern-walk", tmp_path / "walk")
    window.resize(1100, 700)
    window.go("questions")
    window.open([tmp_path / "walk"])
    at_rest()
    place = place_of(window)
    row = walk_to(place, "crew-seconds", qtbot)
    bar = place.area.verticalScrollBar()
    assert bar.value() > 0
    before, names = row.mapTo(place.area, QPoint()).y(), list(place.rows)
    place.model.edit(lambda: edits.answer(place.model.job, "base", "under-all"))
    at_rest()
    assert list(place.rows) != names
    assert row.has_focus()
    assert row.mapTo(place.area, QPoint()).y() == pytest.approx(before, abs=2)


def test_where_planning_fails_the_last_questions_stay_and_it_is_said(place: QuestionsPlace, at_rest: AtRest) -> None:
    before = list(place.rows)
    place.model.edit(lambda: edits.pin(place.model.job, "mauve", 3))
    at_rest()
    assert list(place.rows) == before
    assert place.trouble.isVisible()
    assert "mauve" in place.trouble.text()
    place.model.undo.undo()
    at_rest()
    assert not place.trouble.isVisible()


def test_a_clash_has_its_questions_and_their_reasons(place: QuestionsPlace, opened: Window, at_rest: AtRest) -> None:
    place.model.edit(
        lambda: edits.with_fields(place.model.job, edits.say("desk.edit.field"), keep_empty=[3, 4, 5, 6, 7])
    )
    at_rest()
    assert place.rows
    place.to_questions()
    shown, _ = opened.reasons._shown
    assert shown.title == row_at_focus(place).one.question.text


def test_a_colour_nobody_tells_is_asked_and_picked(
    window: Window, at_rest: AtRest, write_job: Callable[..., Path], qtbot: QtBot, monkeypatch: pytest.MonkeyPatch
) -> None:
    from tests.conftest import figures

    told = figures()
    del told["plates"][2]["lab"]
    told["plates"][2]["name"] = "brumosa"
    told["contacts"] = []
    window.go("questions")
    window.open([write_job(plates=told)])
    at_rest()
    place = place_of(window)
    row = place.rows["colour-of brumosa"]
    assert isinstance(row.field, ColourLine)
    assert row.field.swatch.colour == "#808080"
    monkeypatch.setattr(dialogs, "ask_colour", lambda parent, title, now: "#a0b0c0")
    place.area.ensureWidgetVisible(row.field.choose)
    qtbot.mouseClick(row.field.choose, Qt.MouseButton.LeftButton)
    assert window.model.job.answers == {"colour-of brumosa": "#a0b0c0"}
    at_rest()
    assert row.field.swatch.colour == "#a0b0c0"
    assert row.field.line.text() == "#a0b0c0"


# ---------------------------------------------------------------- the order


@pytest.fixture
def walk(window: Window, at_rest: AtRest, tmp_path: Path) -> QuestionsPlace:
    """Lantern walk at the questions."""
    shutil.copytree(SAMPLES / "lantern-walk", tmp_path / "walk")
    window.go("questions")
    window.open([tmp_path / "walk"])
    at_rest()
    return place_of(window)


def type_over(line: Line, text: str, qtbot: QtBot) -> None:
    line.setFocus(Qt.FocusReason.TabFocusReason)
    line.selectAll()
    if text:
        qtbot.keyClicks(line, text)
    else:
        qtbot.keyClick(line, Key.Key_Delete)
    qtbot.keyClick(line, Key.Key_Return)


def test_the_order_is_shown_as_the_job_tells_it(walk: QuestionsPlace) -> None:
    form = walk.order
    assert form.press.currentText() == "Long bench"
    assert form.ink_system.currentText() == "plastisol"
    assert form.pieces_sum.isVisible()
    assert not form.pieces.isVisible()
    assert (form.pieces_sum.text(), form.sizes.text()) == (
        "288, the sum of the garment groups",
        "S 36, M 84, L 96, XL 54, XXL 18",
    )
    assert (form.location.text(), form.placement.text()) == ("front", "75 mm below the collar")
    assert [fields.name.text() for fields in form.garments] == ["charcoal tee", "white tee"]
    dark = form.garments[0]
    assert (dark.colour.line.text(), dark.colour.swatch.colour) == ("#26282d", "#26282d")
    assert dark.pieces.text() == "216"
    assert not dark.named["polyester_share"].isVisible()
    assert not dark.named["bleed_test"].isVisible()
    assert dark.colour.line.accessibleName() == "colour of charcoal tee"


def test_the_order_is_told_by_keyboard(walk: QuestionsPlace, qtbot: QtBot, at_rest: AtRest) -> None:
    form, model = walk.order, walk.model
    dark = form.garments[0]
    type_over(dark.name, "slate tee", qtbot)
    type_over(dark.colour.line, "#30343a", qtbot)
    type_over(dark.fabric, "fleece", qtbot)
    type_over(dark.grams_per_m2, "280", qtbot)
    type_over(form.location, "back", qtbot)
    type_over(form.placement, "", qtbot)
    type_over(form.sizes, "", qtbot)
    type_over(dark.pieces, "200", qtbot)
    job = model.job
    assert (job.groups[0].name, job.groups[0].colour, job.groups[0].fabric) == ("slate tee", "#30343a", "fleece")
    assert (job.groups[0].grams_per_m2, job.location, job.placement) == (280, "back", "")
    assert (job.sizes, job.total_pieces) == ({}, 272)
    dark.fibre.setFocus()
    qtbot.keyClicks(dark.fibre, "p")
    assert model.job.groups[0].fibre is Fibre.POLYESTER
    at_rest()
    assert dark.named["bleed_test"].isVisible()
    dark.fibre.setFocus()
    qtbot.wait(QApplication.keyboardInputInterval() + 50)
    qtbot.keyClicks(dark.fibre, "b")
    at_rest()
    assert dark.named["polyester_share"].isVisible()
    assert dark.polyester_share.placeholderText() == "50, suggested"
    type_over(dark.polyester_share, "35", qtbot)
    assert model.job.groups[0].polyester_share == 0.35
    form.ink_system.setFocus()
    qtbot.keyClicks(form.ink_system, "w")
    assert model.job.ink_system is InkSystem.WATER_BASED
    at_rest()
    while model.undo.canUndo():
        model.undo.undo()
    at_rest()
    assert dark.name.text() == "charcoal tee"
    assert form.sizes.text() == "S 36, M 84, L 96, XL 54, XXL 18"


def test_what_does_not_add_up_is_told_and_the_field_goes_back(walk: QuestionsPlace, qtbot: QtBot) -> None:
    said: list[object] = []
    walk.model.told.connect(said.append)
    before = walk.model.job
    for line, text in ((walk.order.garments[0].pieces, "9"), (walk.order.garments[0].pieces, "some")):
        held = line.text()
        type_over(line, text, qtbot)
        assert line.text() == held
    assert walk.model.job == before
    assert len(said) == 2


def test_sizes_that_cannot_be_read_stay_to_be_mended(
    walk: QuestionsPlace, window: Window, qtbot: QtBot, at_rest: AtRest, write_job: Callable[..., Path]
) -> None:
    form, before = walk.order, walk.model.job
    held = form.sizes.text()
    assert not form.sizes_fault.isVisible()
    for text, told in (("S 36, L abc", "'L abc' is no size with its pieces"), ("S 3", "add up to 3, but")):
        type_over(form.sizes, text, qtbot)
        form.location.setFocus()
        walk.refresh()
        assert form.sizes.text() == text
        assert form.sizes_fault.isVisible()
        assert told in form.sizes_fault.text()
        assert form.sizes.accessibleDescription() == form.sizes_fault.text()
    assert walk.model.job == before
    form.sizes.setFocus()
    qtbot.keyClick(form.sizes, Key.Key_Escape)
    assert (form.sizes.text(), form.sizes_fault.isVisible()) == (held, False)
    type_over(form.sizes, "tall", qtbot)
    type_over(form.sizes, "S 100, L 188", qtbot)
    at_rest()
    assert walk.model.job.sizes == {"S": 100, "L": 188}
    assert not form.sizes_fault.isVisible()
    walk.model.undo.undo()
    at_rest()
    type_over(form.sizes, "tall", qtbot)
    window.open([write_job()])
    at_rest()
    assert (form.sizes.text(), form.sizes_fault.isVisible()) == ("", False)


def test_a_garment_group_is_added_named_and_removed(walk: QuestionsPlace, qtbot: QtBot, at_rest: AtRest) -> None:
    form, model = walk.order, walk.model
    qtbot.mouseClick(form.add, Qt.MouseButton.LeftButton)
    assert len(form.garments) == 3
    assert focus() is form.garments[2].name
    qtbot.keyClicks(focus(), "rust tee")
    qtbot.keyClick(focus(), Key.Key_Return)
    assert [group.name for group in model.job.groups] == ["charcoal tee", "white tee", "rust tee"]
    at_rest()
    qtbot.mouseClick(form.garments[2].remove, Qt.MouseButton.LeftButton)
    at_rest()
    qtbot.mouseClick(form.garments[1].remove, Qt.MouseButton.LeftButton)
    at_rest()
    assert [fields.name.text() for fields in form.garments] == ["charcoal tee"]
    assert not form.garments[0].remove.isVisible()
    assert (model.job.total_pieces, model.job.sizes) == (216, {})
    assert form.pieces.isVisible()
    assert not form.pieces_sum.isVisible()


def test_another_press_is_chosen_from_the_shop_book(walk: QuestionsPlace, qtbot: QtBot, at_rest: AtRest) -> None:
    names = [press.name for press in walk.model.desk.shop.presses]
    assert [walk.order.press.itemData(at) for at in range(walk.order.press.count())] == names
    walk.order.press.setFocus()
    other = next(name for name in names if name != "Long bench")
    qtbot.keyClicks(walk.order.press, other[0])
    assert walk.model.job.press == other
    at_rest()


def test_a_new_job_shows_what_is_suggested_and_typing_is_not_overrun(
    window: Window, qtbot: QtBot, at_rest: AtRest, tmp_path: Path
) -> None:
    shutil.copytree(SAMPLES / "lantern-walk" / "plates", tmp_path / "plates")
    window.go("questions")
    window.open([tmp_path / "plates"])
    at_rest()
    place = place_of(window)
    fields = place.order.garments[0]
    assert fields.colour.line.placeholderText() == "#ffffff, suggested"
    assert fields.fibre.currentText() == "cotton, suggested"
    assert place.order.ink_system.currentText() == "plastisol, suggested"
    assert place.order.pieces.placeholderText() == "144, suggested"
    fields.colour.line.setFocus()
    qtbot.keyClicks(fields.colour.line, "#26")
    place.model.edit(lambda: edits.answer(place.model.job, "tests", "7"))
    at_rest()
    assert fields.colour.line.text() == "#26"
    qtbot.keyClicks(fields.colour.line, "282d")
    qtbot.keyClick(fields.colour.line, Key.Key_Return)
    assert place.model.job.groups[0].colour == "#26282d"
    at_rest()
    assert "garment-colour" not in place.rows
    assert "flash-after-base" in place.rows


def test_everything_is_reached_with_tab(walk: QuestionsPlace, qtbot: QtBot) -> None:
    walk.order.press.setFocus(Qt.FocusReason.TabFocusReason)
    reached = []
    for _ in range(120):
        reached.append(focus())
        qtbot.keyClick(focus(), Key.Key_Tab)
        if not walk.isAncestorOf(focus()):
            break
    wanted = [walk.order.sizes, walk.order.garments[1].colour.line, walk.order.add]
    assert all(widget in reached for widget in wanted)
    rows = [row for widget in reached for row in walk.rows.values() if row.isAncestorOf(widget)]
    assert list(dict.fromkeys(rows)) == list(walk.rows.values())
    assert all(isinstance(w, QRadioButton) for w in reached if any(w in row.choices for row in walk.rows.values()))


def test_the_place_speaks_spanish(walk: QuestionsPlace, window: Window, at_rest: AtRest) -> None:
    window.model.prefer(language="es")
    window.go("questions")
    at_rest()
    place = place_of(window)
    assert place.status() == "todo respondido, como se sugiere"
    row = place.rows["base"]
    assert row.choices[1].text() == "2   como viene separada  (sugerido)"
    assert row.source.text() == "práctica común"
