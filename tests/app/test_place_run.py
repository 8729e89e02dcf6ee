"""The place of the run and its sheet: figures, the preview, its language and paper, PDF and print."""

from __future__ import annotations

import itertools
import threading
import time
from collections.abc import Callable
from pathlib import Path

import numpy as np
import numpy.typing as npt
import pypdfium2
import pytest
from PySide6.QtCore import Qt, QTimer
from PySide6.QtGui import QAction, QImage, QPageLayout, QPageSize
from PySide6.QtPrintSupport import QPrinter
from PySide6.QtWidgets import QApplication, QLineEdit, QWidget
from pytestqt.modeltest import ModelTester
from pytestqt.qtbot import QtBot

from setupassist.app import dialogs, pdf_pages, printing
from setupassist.app.pdf_pages import PDFIUM
from setupassist.app.places.run import RunPlace
from setupassist.app.sheet_out import SheetOut, file_name
from setupassist.app.window import Window
from setupassist.desk import edits
from setupassist.desk.tasks import Lane, Stage
from setupassist.documents.store import read_job
from setupassist.errors import Cancelled

Wait = Callable[[], None]
Key = Qt.Key
PATIENCE = 30_000


@pytest.fixture
def place(opened: Window, qtbot: QtBot, at_rest: Wait) -> RunPlace:
    """The place, open, its first page drawn."""
    opened.go("run")
    found = opened.places["run"]
    assert isinstance(found, RunPlace)
    drawn(found, qtbot)
    at_rest()
    return found


def drawn(place: RunPlace, qtbot: QtBot) -> None:
    qtbot.waitUntil(
        lambda: place.model.desk.fresh(Stage.SHEET) and place.pages.current(place.pages.page), timeout=PATIENCE
    )


def text_of(pdf: bytes | None, page: int = 0) -> str:
    assert pdf is not None
    with PDFIUM, pypdfium2.PdfDocument(pdf) as document:
        return str(document[page].get_textpage().get_text_range())


def ink_share(image: QImage) -> float:
    """Share of pixels that are not white, of a coarse copy."""
    small = image.scaled(120, 90)
    dark = sum(small.pixelColor(x, y).lightness() < 250 for x in range(120) for y in range(90))
    return dark / (120 * 90)


# ------------------------------------------------------------------ the run


def test_the_figures_stand_large_with_what_goes_with_them(place: RunPlace) -> None:
    made = place.model.results.made
    assert made is not None
    estimate = made.plan.estimate
    assert estimate is not None
    told = {shown.what.text(): (shown.number.text(), shown.beside.text()) for shown in place.figures}
    assert told["screens"] == ("4", "1 flash unit")
    assert told["strokes a piece"] == ("5", "540 in all")
    assert [shown.number.text() for shown in place.figures][2] == f"{estimate.pieces_per_hour:.0f}"
    assert place.status() == "about 360 pieces an hour"


def test_tests_are_typed_by_keyboard_and_taken_back(place: RunPlace, qtbot: QtBot, at_rest: Wait) -> None:
    before = place.model.job
    place.counts.setFocus()
    while place.counts.key != "tests":
        qtbot.keyClick(place.counts, Key.Key_Down)
    qtbot.keyClick(place.counts, Key.Key_Right)
    qtbot.keyClick(place.counts, Key.Key_Return)
    field = next(w for w in place.counts.viewport().findChildren(QLineEdit) if w.isVisible())
    field.setText("20")
    qtbot.keyClick(field, Key.Key_Return)
    qtbot.waitUntil(lambda: place.model.job.tests == 20)
    drawn(place, qtbot)
    rows = {row.key: row.cells[1] for row in place.counts.grid.rows}
    assert (rows["tests"].text, rows["tests"].mark) == ("20", "by hand")
    assert rows["total"].text == "122"
    assert "20 test pieces" in text_of(place.model.results.sheet)
    assert place.model.undo.undoText() == "change the test prints"
    qtbot.keyClick(place.counts, Key.Key_Backspace)
    assert place.model.job == before
    at_rest()


def test_a_line_by_hand_tells_what_it_breaks_and_its_sheet_too(place: RunPlace, qtbot: QtBot, at_rest: Wait) -> None:
    made = place.model.results.made
    assert made is not None
    at = {"yellow": 4, "white base": 5}
    slots = [slot.model_copy(update={"station": at.get(slot.ink or "", slot.station)}) for slot in made.plan.slots]
    place.model.edit(edits.arrangement(place.model.job, slots, edits.say("desk.edit.field")))
    drawn(place, qtbot)
    broken = place.model.results.made.plan.broken_limits
    assert broken
    told = [place._told.itemAt(i).widget() for i in range(place._told.count())]
    texts = [widget.text() for widget in told if widget is not None]
    assert texts[0].startswith("Breaks ")
    assert set(texts[1 : 1 + len(broken)]) == {str(limit.text) for limit in broken}
    assert "breaks" in place.status()
    assert "arranged by hand, breaks" in " ".join(text_of(place.model.results.sheet).split())
    at_rest()


def test_no_plan_no_sheet_and_why(place: RunPlace, opened: Window, at_rest: Wait) -> None:
    place.model.edit(edits.pin(place.model.job, "red", 5))
    place.model.edit(edits.keep_empty(place.model.job, 5, True))
    at_rest()
    assert place.pages.isHidden()
    assert place.state.text().startswith("There is no plan, so there is no sheet.\nno plan exists; these limits clash")
    assert place.again.isHidden()
    assert place.status() == "no plan"
    for name in ("print", "save-pdf"):
        assert not place.buttons[name].isEnabled()
        assert not opened.findChild(QAction, f"place_run.action.{name}").isEnabled()
    place.model.undo.undo()
    at_rest()
    assert place.pages.isVisible()


# ------------------------------------------------------------------ the preview


def test_pages_are_drawn_in_the_background_at_the_size_they_are_seen(place: RunPlace) -> None:
    pages = place.pages
    with PDFIUM, pypdfium2.PdfDocument(place.model.results.sheet) as document:
        assert len(pages.sizes) == len(document)
    shown = pages.drawn[0]
    room = pages.viewport().width() - 2 * place.look.px(14)
    assert abs(shown.image.width() - room * pages.devicePixelRatioF()) <= 2
    assert 0.02 < ink_share(shown.image) < 0.6
    assert place.at.text() == f"page 1 of {len(pages.sizes)}"


def test_a_page_shows_the_pdfs_own_pixels(place: RunPlace) -> None:
    sheet = place.model.results.sheet
    assert sheet is not None
    ours = pdf_pages.page_image(sheet, 1, 333).image
    with PDFIUM, pypdfium2.PdfDocument(sheet) as document:
        scale = 333 / document[1].get_width()
        theirs = document[1].render(scale=scale).to_pil().convert("RGB")
    assert (ours.width(), ours.height()) == theirs.size
    for x in range(0, 333, 7):
        for y in range(0, theirs.height, 7):
            assert ours.pixelColor(x, y).getRgb()[:3] == theirs.getpixel((x, y))


def test_keys_turn_pages_and_zoom(place: RunPlace, qtbot: QtBot, at_rest: Wait) -> None:
    pages = place.pages
    pages.setFocus()
    qtbot.keyClick(pages, Key.Key_PageDown)
    assert pages.page == 1
    drawn(place, qtbot)
    qtbot.keyClick(pages, Key.Key_PageUp)
    assert pages.page == 0
    qtbot.keyClick(pages, Key.Key_End)
    assert pages.page == len(pages.sizes) - 1
    assert place.at.text().startswith(f"page {len(pages.sizes)} of")
    fitted = pages.scale
    qtbot.keyClick(pages, Key.Key_Plus)
    assert pages.scale == pytest.approx(1.25 * fitted)
    assert pages.page == len(pages.sizes) - 1
    drawn(place, qtbot)
    qtbot.keyClick(pages, Key.Key_Minus)
    assert pages.scale == pytest.approx(fitted)
    qtbot.mouseClick(place.buttons["nearer"], Qt.MouseButton.LeftButton)
    qtbot.mouseClick(place.buttons["fit"], Qt.MouseButton.LeftButton)
    assert pages.zoom is None
    qtbot.keyClick(pages, Key.Key_Home)
    assert pages.verticalScrollBar().value() == 0
    at_rest()


def test_a_page_whose_drawing_was_stopped_is_drawn_when_it_is_zoomed(
    place: RunPlace, qtbot: QtBot, at_rest: Wait
) -> None:
    pages = place.pages
    pages.drawn.clear()
    pages.take(pages._serial, 0, None, Cancelled())
    at_rest()
    assert not pages.current(0)
    pages.zoom_by(1.25)
    drawn(place, qtbot)
    at_rest()


def test_a_sheet_that_is_set_anew_says_so_until_it_is_there(place: RunPlace, qtbot: QtBot, at_rest: Wait) -> None:
    before = place.pages.drawn[0].image
    place.model.edit(edits.title(place.model.job, "Another title"))
    place.refresh()
    assert place.state.text() == "The sheet is being set anew; this is the last one."
    assert place.state.isVisible()
    assert not place.pages.current(0)
    drawn(place, qtbot)
    assert place.state.isHidden()
    assert place.pages.drawn[0].image != before
    assert "Another title" in text_of(place.pages.pdf)
    at_rest()


def test_the_sheets_language_paper_and_units_are_chosen_apart_from_the_windows(
    place: RunPlace, qtbot: QtBot, at_rest: Wait
) -> None:
    assert [place.choices[name].currentText() for name in place.choices] == [
        "English (as the window)", "Letter (as the shop book)", "inches (as the shop book)",
    ]  # fmt: skip
    wide = place.pages.sizes[0][0]
    for name, downs in (("language", 2), ("paper", 1), ("units", 2)):
        box = place.choices[name]
        box.setFocus()
        for _ in range(downs):
            qtbot.keyClick(box, Key.Key_Down)
    sheet = place.model.job.sheet
    assert (sheet.language, sheet.paper, sheet.units) == ("es", "a4", "metric")
    drawn(place, qtbot)
    assert place.model.language == "en"
    text = text_of(place.model.results.sheet)
    assert "pantallas" in text
    assert (round(wide), round(place.pages.sizes[0][0])) == (792, 842)
    place.model.edit(edits.sheet(place.model.job, language=None))
    drawn(place, qtbot)
    assert place.choices["language"].currentIndex() == 0
    assert "pantallas" not in text_of(place.model.results.sheet)
    at_rest()


def test_a_stopped_sheet_can_be_set_again(place: RunPlace, qtbot: QtBot, at_rest: Wait) -> None:
    desk = place.model.desk
    place.model.want_sheet(False)
    place.model.edit(edits.title(place.model.job, "Stopped"))
    at_rest()
    desk.sheet_wish = None
    place.model._wanting_sheet.add("place")
    desk.sheet_wish = place.model._sheet_wish()
    task = next(desk.wanted())
    desk.fail(task, Cancelled())
    place.model.pump()
    place.refresh()
    assert place.again.isVisible()
    qtbot.mouseClick(place.again, Qt.MouseButton.LeftButton)
    drawn(place, qtbot)
    assert place.again.isHidden()
    at_rest()


def test_the_sheet_is_set_only_while_somebody_looks(opened: Window, at_rest: Wait) -> None:
    assert opened.model.results.sheet is None
    opened.go("run")
    at_rest()
    assert opened.model.results.sheet is not None
    opened.go("screens")
    opened.model.edit(edits.title(opened.model.job, "Other"))
    at_rest()
    assert not opened.model.desk.fresh(Stage.SHEET)


# ------------------------------------------------------------------ PDF and print


def answer(monkeypatch: pytest.MonkeyPatch, target: Path | None) -> list[Path]:
    """Answers the question for a file; the names that were suggested."""
    suggested: list[Path] = []

    def ask(parent: QWidget, title: str, path: Path, kind: str) -> Path | None:
        suggested.append(path)
        return target

    monkeypatch.setattr(dialogs, "ask_target", ask)
    return suggested


def test_a_pdf_is_saved_from_another_place_by_its_key(
    opened: Window, monkeypatch: pytest.MonkeyPatch, tmp_path: Path, qtbot: QtBot, at_rest: Wait
) -> None:
    opened.go("stations")
    suggested = answer(monkeypatch, tmp_path / "out.pdf")
    said: list[str] = []
    opened.model.told.connect(said.append)
    opened.activateWindow()
    qtbot.keyClick(opened, Key.Key_E, Qt.KeyboardModifier.ControlModifier)
    qtbot.waitUntil(lambda: SheetOut.of(opened.model).last is not None, timeout=PATIENCE)
    assert suggested == [tmp_path / "Test tee.pdf"]
    assert "white base" in text_of((tmp_path / "out.pdf").read_bytes())
    assert said[-1] == f"The sheet is saved as {tmp_path / 'out.pdf'}."
    assert not opened.model._wanting_sheet
    shown: list[Path] = []
    monkeypatch.setattr(dialogs, "show_folder", shown.append)
    opened.findChild(QAction, "place_run.action.show-folder").trigger()
    assert shown == [tmp_path]
    at_rest()


def test_saving_needs_no_ending_and_replaces_nothing_unasked(
    opened: Window, monkeypatch: pytest.MonkeyPatch, tmp_path: Path, qtbot: QtBot, at_rest: Wait
) -> None:
    out, job = SheetOut.of(opened.model), opened.model.desk.opened
    assert job is not None
    before = read_job(job.file)
    answer(monkeypatch, tmp_path / "job.json")
    out.save()
    qtbot.waitUntil(lambda: out.last == tmp_path / "job.json.pdf", timeout=PATIENCE)
    assert read_job(job.file) == before
    said: list[str] = []
    opened.model.told.connect(said.append)
    out.save()
    assert "is there already" in said[-1]
    answer(monkeypatch, None)
    out.save()
    assert not opened.model._wanting_sheet
    at_rest()


def test_a_disk_that_refuses_is_told(
    opened: Window, monkeypatch: pytest.MonkeyPatch, tmp_path: Path, qtbot: QtBot, at_rest: Wait
) -> None:
    said: list[str] = []
    opened.model.told.connect(said.append)
    answer(monkeypatch, tmp_path / "no such folder" / "out.pdf")
    SheetOut.of(opened.model).save()
    qtbot.waitUntil(lambda: bool(said), timeout=PATIENCE)
    assert "no such folder" in said[-1]
    assert SheetOut.of(opened.model).last is None
    at_rest()


def test_without_a_plan_nothing_goes_out_and_it_is_told(opened: Window, at_rest: Wait) -> None:
    opened.model.edit(edits.pin(opened.model.job, "red", 5))
    opened.model.edit(edits.keep_empty(opened.model.job, 5, True))
    at_rest()
    said: list[str] = []
    opened.model.told.connect(said.append)
    SheetOut.of(opened.model).save()
    SheetOut.of(opened.model).print_sheet()
    assert len(said) == 2
    assert all("these limits clash" in sentence for sentence in said)


def pdf_printer(target: Path, *, paper: QPageSize.PageSizeId = QPageSize.PageSizeId.Letter) -> QPrinter:
    """A printer that prints into a file."""
    printer = QPrinter(QPrinter.PrinterMode.HighResolution)
    printer.setOutputFormat(QPrinter.OutputFormat.PdfFormat)
    printer.setOutputFileName(str(target))
    printer.setPageSize(QPageSize(paper))
    printer.setPageOrientation(QPageLayout.Orientation.Landscape)
    printer.setFullPage(True)
    return printer


def coarse(page: npt.NDArray[np.uint8]) -> npt.NDArray[np.float64]:
    """Means of 12 × 12 pixels, so that lines of another sharpness compare."""
    grey = page.mean(axis=2)
    rows, columns = (length - length % 12 for length in grey.shape)
    return np.asarray(grey[:rows, :columns].reshape(rows // 12, 12, columns // 12, 12).mean(axis=(1, 3)))


def test_printing_goes_by_its_key_and_does_not_hold_the_window(
    opened: Window, monkeypatch: pytest.MonkeyPatch, tmp_path: Path, qtbot: QtBot, at_rest: Wait
) -> None:
    target = tmp_path / "printed.pdf"
    threads: list[str] = []
    real = printing.print_pages

    def watched(*args: object, **kwargs: object) -> int:
        threads.append(threading.current_thread().name)
        return real(*args, **kwargs)  # type: ignore[arg-type]

    monkeypatch.setattr(dialogs, "ask_printer", lambda *_: pdf_printer(target))
    monkeypatch.setattr(printing, "print_pages", watched)
    said: list[str] = []
    opened.model.told.connect(said.append)
    opened.activateWindow()
    qtbot.keyClick(opened, Key.Key_P, Qt.KeyboardModifier.ControlModifier)
    qtbot.waitUntil(lambda: bool(said), timeout=PATIENCE)
    sheet = opened.model.results.sheet
    with PDFIUM, pypdfium2.PdfDocument(sheet) as before, pypdfium2.PdfDocument(target) as after:
        assert len(after) == len(before)
        for at in range(len(before)):
            assert after[at].get_size() == pytest.approx(before[at].get_size(), abs=2)
            old, new = (coarse(document[at].render(scale=2).to_numpy()) for document in (before, after))
            assert np.abs(old - new).mean() < 2, f"page {at} differs"
            assert np.ptp(old) > 100
    assert said == [f"{len(pdf_pages.page_sizes(sheet))} pages have gone to the printer."]
    assert len(threads) == 1
    assert threads != ["MainThread"]
    at_rest()


def test_printing_can_be_stopped_and_prints_only_what_is_asked_for(place: RunPlace, tmp_path: Path) -> None:
    sheet = place.model.results.sheet
    assert sheet is not None
    asked = iter([False, False, True])
    with pytest.raises(Cancelled):
        printing.print_pages(sheet, pdf_printer(tmp_path / "a.pdf"), progress=lambda _: None, stop=lambda: next(asked))
    shares: list[float] = []
    printer = pdf_printer(tmp_path / "b.pdf", paper=QPageSize.PageSizeId.A4)
    printer.setFromTo(2, 3)
    assert printing.print_pages(sheet, printer, progress=shares.append, stop=lambda: False) == 2
    assert shares == sorted(shares)
    assert shares[-1] == 1.0
    with PDFIUM, pypdfium2.PdfDocument(tmp_path / "b.pdf") as document:
        assert len(document) == 2
        assert document[0].get_size() == pytest.approx((842, 595), abs=2)


def pixels(image: QImage) -> npt.NDArray[np.uint8]:
    """(rows, columns, 3) of a picture."""
    plain = image.convertToFormat(QImage.Format.Format_RGB888)
    rows = np.frombuffer(plain.constBits(), np.uint8).reshape(plain.height(), plain.bytesPerLine())
    return rows[:, : 3 * plain.width()].reshape(plain.height(), plain.width(), 3).copy()


def test_bands_of_a_page_make_up_the_page(place: RunPlace) -> None:
    sheet = place.model.results.sheet
    assert sheet is not None
    whole = pixels(pdf_pages.page_image(sheet, 0, 1100).image)  # 11 inches at 100 dpi
    seen = 0
    for top, rows, band in pdf_pages.page_bands(sheet, 0, dpi=100, rows=97, overlap=5):
        assert rows == whole.shape[0] == 850
        assert top == max(0, seen - 5)
        part = pixels(band).astype(int)
        assert np.abs(part - whole[top : top + part.shape[0]]).max() <= 2
        seen = top + part.shape[0]
    assert seen == 850


def test_a_dialog_thought_better_of_prints_nothing(
    opened: Window, monkeypatch: pytest.MonkeyPatch, qtbot: QtBot, at_rest: Wait
) -> None:
    asked: list[int] = []
    monkeypatch.setattr(dialogs, "ask_printer", lambda *_: asked.append(1))
    SheetOut.of(opened.model).print_sheet()
    qtbot.waitUntil(lambda: bool(asked), timeout=PATIENCE)
    assert opened.model.runner.free(Lane.PRINT)
    assert not opened.model._wanting_sheet
    at_rest()


def test_the_print_dialog_begins_landscape_on_the_shops_paper(opened: Window, monkeypatch: pytest.MonkeyPatch) -> None:
    from PySide6.QtPrintSupport import QPrintDialog

    def accept(dialog: QPrintDialog) -> int:
        return QPrintDialog.DialogCode.Accepted

    monkeypatch.setattr(QPrintDialog, "exec", accept)
    printer = dialogs.ask_printer(opened, opened.model, "a4", "Test tee")
    assert printer is not None
    assert printer.pageLayout().orientation() is QPageLayout.Orientation.Landscape
    assert printer.pageLayout().pageSize().id() is QPageSize.PageSizeId.A4
    assert printer.docName() == "Test tee"


def test_a_language_change_while_printing_loses_nothing(
    opened: Window, monkeypatch: pytest.MonkeyPatch, tmp_path: Path, qtbot: QtBot, at_rest: Wait
) -> None:
    opened.go("run")
    monkeypatch.setattr(dialogs, "ask_printer", lambda *_: pdf_printer(tmp_path / "p.pdf"))
    said: list[str] = []
    opened.model.told.connect(said.append)
    SheetOut.of(opened.model).print_sheet()
    opened.model.prefer(language="es")
    qtbot.waitUntil(lambda: any("gone to the printer" in s for s in said), timeout=PATIENCE)
    assert (tmp_path / "p.pdf").stat().st_size > 10_000
    at_rest()


@pytest.mark.parametrize(
    ("title", "name"),
    [
        ("Lantern walk, Merrowby Harbour", "Lantern walk Merrowby Harbour.pdf"),
        ("../../etc/passwd", "etc passwd.pdf"),
        ("???", "setup sheet.pdf"),
        ("a" * 300, "a" * 80 + ".pdf"),
        ("Ñandú nº 7", "Ñandú nº 7.pdf"),
    ],
)
def test_a_title_becomes_a_file_name(opened: Window, title: str, name: str) -> None:
    assert file_name(title, opened.model) == name


# ------------------------------------------------------------------ manners


def test_the_tables_are_sound_models(place: RunPlace, qtmodeltester: ModelTester) -> None:
    for grid in (place.counts, place.facts):
        assert grid.grid.rowCount() > 0
        qtmodeltester.check(grid.grid)


def test_the_window_is_not_held_while_pages_are_drawn(place: RunPlace, qtbot: QtBot, at_rest: Wait) -> None:
    """The longest gap between ticks of a timer while all pages are drawn large; generous, for a loaded machine."""
    ticks: list[float] = []
    timer = QTimer(place)
    timer.setInterval(5)
    timer.timeout.connect(lambda: ticks.append(time.perf_counter()))
    timer.start()
    for _ in range(4):
        place.pages.zoom_by(1.25)
        for page in range(len(place.pages.sizes)):
            place.pages.go_to(page)
            drawn(place, qtbot)
    timer.stop()
    timer.deleteLater()
    gap = max(b - a for a, b in itertools.pairwise(ticks))
    print(f"longest gap while drawing pages: {1000 * gap:.0f} ms")
    assert gap < 0.5
    at_rest()


def test_everything_is_reached_by_tab(place: RunPlace, qtbot: QtBot) -> None:
    place.counts.setFocus()
    reached = set()
    for _ in range(20):
        focus = QApplication.focusWidget()
        assert focus is not None
        assert focus.accessibleName(), focus
        reached.add(focus.objectName())
        qtbot.keyClick(focus, Key.Key_Tab)
    assert {
        "grid-counts", "grid-facts", "sheet-print", "sheet-save-pdf", "sheet-farther", "sheet-nearer", "sheet-fit",
        "sheet-language", "sheet-paper", "sheet-units", "sheet-pages",
    } <= reached  # fmt: skip
