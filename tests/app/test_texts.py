"""Every text of the window comes from a catalogue, and has the room it takes, in every language and size of text.

The window is read with words whose every letter is an x: what holds another letter was left in the code, save names
that are somebody's own (the jobs here bear names made of x) and what belongs to no language (keys, colour codes).
"""

from __future__ import annotations

import json
import re
import shutil
from collections.abc import Callable, Iterable, Iterator
from pathlib import Path
from typing import Any

import pytest
from PySide6.QtWidgets import QFileDialog, QMessageBox, QWidget
from pytestqt.qtbot import QtBot

from setupassist.app import dialogs
from setupassist.app.model import DeskModel
from setupassist.app.selection import Of, Selection
from setupassist.app.window import Window
from setupassist.desk import edits
from setupassist.documents.base import read_document
from setupassist.documents.plan import Slot
from setupassist.documents.shop import Shop
from setupassist.documents.store import example_shop
from setupassist.words import Said, Words, languages, say, words_in
from tests.app import seen
from tests.app.conftest import SAMPLES
from tests.app.seen import Seen

PLACES = ("art", "questions", "stations", "screens", "run", "shop")
OF_NO_LANGUAGE = (
    r"#[0-9a-fA-F]{6}\b",
    r"\b(?:Ctrl|Shift|Alt|Del|Backspace|Return|F\d+)\b",
    r"\bx+\.(?:json|png)\b",
    r"(?m)^\S+(?=   )",  # a key in the list of keys
    r"(?<!\w)[A-Z](?=  |, | …|$)",  # the letter that a broken limit is told by
)
HELD_IN_FIELDS = {"jersey", "front"}
"""What a job holds where nobody has said otherwise, in the fields where it is typed over."""
KEYS = re.compile(r"(?:(?:Ctrl|Shift|Alt)\+)*[A-Z0-9]\b")
LANGUAGES_OWN_NAMES = tuple(words_in(language).say("app.language-name") for language in languages())


def shop_of_xs() -> Shop:
    """The example shop with names made of x."""
    data = example_shop().model_dump(mode="json", by_alias=True)
    data["name"] = "xx"
    for kind in ("presses", "inks", "flash_units", "dryers"):
        for at, entry in enumerate(data[kind]):
            entry["name"] = f"x{at}"
    return read_document(Shop, data, "shop")


def figures_of_xs() -> dict[str, Any]:
    """A job of figures with names made of x: a base, colours, a key, a puff; one of them halftoned."""
    return {
        "format": "setupassist-job/1", "title": "xxx", "ink_system": "plastisol", "press": "x0",
        "garments": [
            {"name": "xx", "colour": "#1f2a44", "fibre": "cotton", "pieces": 80},
            {"name": "xxxx", "colour": "#ffffff", "fibre": "blend", "pieces": 20},
        ],
        "on_top": [["x4", "x2"]],
        "plates": {
            "art": {"source": "x", "width_mm": 320, "height_mm": 340, "art_box_mm": [10, 10, 300, 320]},
            "plates": [
                {"name": "x1", "role": "base", "lab": [95.6, 0, 0.9], "ink_area_cm2": 125, "finest_line_mm": 0.1},
                {"name": "x2", "role": "colour", "lab": [82, 5, 78], "ink_area_cm2": 70, "finest_gap_mm": 0.05},
                {"name": "x3", "role": "colour", "lab": [43, 62, 40], "ink_area_cm2": 55, "kind": "halftone",
                 "halftone": {"lines_per_inch": 55, "angle_deg": 22.5}},
                {"name": "x4", "role": "key", "lab": [10, 0, 0], "ink_area_cm2": 20},
                {"name": "x5", "role": "puff", "lab": [90, 0, 0], "ink_area_cm2": 12},
            ],
            "contacts": [
                {"plates": ["x1", "x2"], "overlap_cm2": 68}, {"plates": ["x1", "x3"], "overlap_cm2": 53},
                {"plates": ["x2", "x3"], "overlap_cm2": 1, "shared_edge_cm": 12},
                {"plates": ["x4", "x2"], "overlap_cm2": 5}, {"plates": ["x4", "x3"], "overlap_cm2": 4},
            ],
        },
    }  # fmt: skip


def plates_of_xs(folder: Path) -> Path:
    """A sample job with its plates, its names made of x; the folder too."""
    made = folder / "xxx"
    (made / "plates").mkdir(parents=True)
    data = json.loads((SAMPLES / "lantern-walk" / "job.json").read_text("utf-8"))
    data |= {"title": "xxx", "placement": "xx", "location": "xx", "press": "x0", "sizes": {"X": 200, "XX": 88}}
    for at, garment in enumerate(data["garments"], 1):
        garment["name"] = "x" * at
    for at, plate in enumerate(data["plates"], 1):
        file = f"plates/{'x' * at}.png"
        shutil.copy(SAMPLES / "lantern-walk" / plate["file"], made / file)
        plate |= {"file": file, "ink": f"x{at}"}
    (made / "job.json").write_text(json.dumps(data), "utf-8")
    return made


def letters_of_the_code(told: Iterable[Seen]) -> list[str]:
    """Texts that hold letters which came from no catalogue."""
    found = []
    for one in told:
        text = one.text
        if one.kind == "field" and text in HELD_IN_FIELDS:
            continue
        for own in LANGUAGES_OWN_NAMES:
            text = text.replace(own, "")
        for pattern in OF_NO_LANGUAGE:
            text = re.sub(pattern, "", text)
        text = KEYS.sub("", text) if KEYS.fullmatch(text.strip()) else text
        if any(letter.isalpha() and letter.lower() != "x" for letter in text):
            found.append(f"{one.where}: {one.text!r}")
    return sorted(set(found))


@pytest.fixture
def crossed_window(
    model: DeskModel, crossed: Words, monkeypatch: pytest.MonkeyPatch, qtbot: QtBot, tmp_path: Path
) -> Iterator[Window]:
    """The window in words of x, over a shop whose names are made of x."""
    monkeypatch.setattr("setupassist.app.model.words_in", lambda language: crossed)
    monkeypatch.chdir(tmp_path)
    shop = shop_of_xs()
    model.book.undo.clear()
    model.put_shop(shop)
    made = Window(model)
    made.resize(1440, 900)
    made.show()
    qtbot.waitExposed(made)
    yield made
    model.undo.clear()
    model.book.undo.clear()
    made.close()
    made.deleteLater()


def everything(window: Window) -> Iterator[Seen]:
    """All that can be read in the window as it stands, what it paints too."""
    yield from seen.texts(window)
    yield from seen.menu_texts(window)
    with seen.painted() as noted:
        window.grab()
    yield from noted.texts
    for action, entry in window.menus.entries:
        if action.shortcut:
            assert entry.text()


def selections(model: DeskModel) -> list[Selection]:
    """One of each kind that can be selected in the job."""
    made = model.results.made
    told = [Selection(), Selection(Of.INK, "x2"), Selection(Of.SCREEN, "x1"), Selection(Of.RUN)]
    told += [Selection(Of.STATION, station=at) for at in (1, 3, 5)]
    if made is not None:
        told += [Selection(Of.QUESTION, question.id) for question in made.steps.questions]
        told += [Selection(Of.FINDING, str(at)) for at in range(len(made.findings))]
    return told


def make_by_hand(model: DeskModel, inks: list[str]) -> None:
    """A line by hand that breaks limits, a pin and values by hand; ``inks`` are the key, the base and two colours."""
    line = [
        *(Slot(lap=1, station=at, holds="screen", ink=ink) for at, ink in zip((2, 4, 6, 8), inks, strict=True)),
        Slot(lap=1, station=5, holds="flash"),
    ]  # fmt: skip
    assert model.edit(lambda: edits.arrangement(model.job, line, say("desk.edit.field")))
    model.edit(lambda: edits.pin(model.job, inks[3], 8))
    model.edit(lambda: edits.override(model.job, inks[3], "strokes", 3))
    model.edit(lambda: edits.override(model.job, inks[3], "mesh_per_inch", 110.0))


def make_clash(model: DeskModel) -> None:
    """More screens than heads that may be used."""
    heads = model.press.heads if model.press is not None else ()
    assert model.edit(lambda: edits.with_fields(model.job, say("desk.edit.field"), keep_empty=list(heads[2:])))


@pytest.mark.parametrize("source", ["nothing", "figures", "plates", "by hand", "clash", "damaged"])
def test_every_text_comes_from_a_catalogue(
    crossed_window: Window, at_rest: Callable[[], None], tmp_path: Path, source: str
) -> None:
    window, model, told = crossed_window, crossed_window.model, []
    if source in ("plates", "damaged"):
        folder = plates_of_xs(tmp_path)
        if source == "damaged":
            file = folder / "plates" / "xxx.png"
            file.write_bytes(file.read_bytes()[:500])
        window.open([folder])
    elif source != "nothing":
        path = tmp_path / "xxx.json"
        path.write_text(json.dumps(figures_of_xs()), "utf-8")
        window.open([path])
    if source == "by hand":
        make_by_hand(model, ["x4", "x1", "x3", "x2"])
    if source == "clash":
        make_clash(model)
    at_rest()
    for place in PLACES:
        window.go(place)
        at_rest()
        told += everything(window)
        if source in ("figures", "plates") and window.reasons.isVisible():
            for selection in selections(model):
                model.select(selection)
                at_rest()
                told += seen.texts(window.reasons)
    assert len({one.text for one in told}) > 60
    found = letters_of_the_code(told)
    assert not found, "\n".join(found)


@pytest.mark.qt_log_ignore("does not support")
def test_the_window_of_words_and_the_bars_come_from_a_catalogue(
    crossed_window: Window, at_rest: Callable[[], None], tmp_path: Path
) -> None:
    window, told = crossed_window, []
    for options in ({"keys": True}, {"cautions": True}):
        window.explain("", **options)
        assert window.words_window is not None
        told += [Seen("title", window.words_window.windowTitle())]
        told += [Seen("words", w.text()) for w in (window.words_window.word, window.words_window.meaning)]
        told += [Seen("find", window.words_window.search.placeholderText())]
    path = tmp_path / "xxx.json"
    path.write_text(json.dumps(figures_of_xs()), "utf-8")
    began: list[str] = []
    window.model.runner.changed.connect(lambda: began.extend(r.what for r in window.model.runner.running.values()))
    window.open([path])
    window.strip._show_work()
    told += seen.texts(window.strip)
    at_rest()
    window.recovery.offer("2026-01-01T06:45")
    told += seen.texts(window.recovery)
    window.model.save()
    at_rest()
    assert began
    assert all(isinstance(what, Said) for what in began)
    told += [Seen("runs", window.model.words(what)) for what in began]
    found = letters_of_the_code(told)
    assert not found, "\n".join(found)


def test_dialogs_are_worded(crossed_window: Window, monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    told: list[Seen] = []

    def box(shown: QMessageBox) -> int:
        told.extend(Seen("box", text) for text in (shown.windowTitle(), shown.text(), shown.informativeText()))
        told.extend(Seen("box", button.text()) for button in shown.buttons())
        return 0

    def ask(*options: Any) -> tuple[str, str]:
        told.extend(Seen("files", text) for text in options if isinstance(text, str) and not Path(text).is_absolute())
        return "", ""

    monkeypatch.setattr(QMessageBox, "exec", box)
    monkeypatch.setattr(QFileDialog, "getOpenFileNames", ask)
    monkeypatch.setattr(QFileDialog, "getExistingDirectory", lambda *options: ask(*options)[0])
    window, model = crossed_window, crossed_window.model
    path = tmp_path / "xxx.json"
    path.write_text(json.dumps(figures_of_xs()), "utf-8")
    model.open([path])
    assert dialogs.ask_leaving(window, model) is dialogs.Leaving.STAY
    assert dialogs.ask_files(window, model) == []
    assert dialogs.ask_folder(window, model) is None
    endings = re.compile(r"\*\.\w+")
    assert len(told) > 6
    found = letters_of_the_code(Seen(one.where, endings.sub("", one.text)) for one in told)
    assert not found, "\n".join(found)


# ---------------------------------------------------------------- room


@pytest.mark.parametrize("source", ["figures", "by hand", "clash", "lantern-walk", "night-heron"])
def test_every_text_has_the_room_it_takes(
    window: Window, at_rest: Callable[[], None], write_job: Callable[..., Path], qtbot: QtBot, source: str
) -> None:
    model, small = window.model, source in ("figures", "by hand", "clash")
    window.open([write_job() if small else SAMPLES / source])
    if source == "by hand":
        make_by_hand(model, ["black key", "white base", "red", "yellow"])
    if source == "clash":
        make_clash(model)
    window.resize(1100, 700)
    faults: list[str] = []
    for language in languages():
        for percent in (100, 130) if source in ("by hand", "lantern-walk") else (130,):
            model.prefer(language=language, text_percent=percent)
            for place in PLACES:
                window.go(place)
                at_rest()
                qtbot.wait(60)
                with seen.painted() as noted:
                    window.grab()
                at = f"{place}, {language}, {percent} %"
                faults += [f"{at}: {fault}" for fault in [*seen.unfit(window), *noted.faults]]
            assert (window.width(), window.height()) == (1100, 700)
    assert not faults, "\n".join(sorted(set(faults)))


def test_a_text_without_room_is_found(window: Window, at_rest: Callable[[], None]) -> None:
    """The two searches above find what they are after."""
    label = window.header.summary
    label.setText("left in the code")
    assert "left in the code" in " ".join(letters_of_the_code(seen.texts(window)))
    label.setWordWrap(False)
    label.setFixedWidth(20)
    assert any("left in the code" in fault for fault in seen.unfit(window))
    stray = QWidget(window.header)
    stray.setObjectName("stray")
    stray.setGeometry(window.header.width() - 5, 0, 50, 10)
    stray.show()
    assert any("stray" in fault and "sticks out" in fault for fault in seen.unfit(window))
    at_rest()
