"""Pictures of every place of the window: both themes, both languages, ordinary and smallest size, both sample jobs.

    python tests/draw_window_pictures.py FOLDER      every picture, into FOLDER
    python tests/draw_window_pictures.py --readme    the few that the README shows, into tests/pictures

The window is drawn without a screen; each picture is what a person would see once everything is worked out.
"""

from __future__ import annotations

import os
import shutil
import sys
import tempfile
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parents[1]))
from tests.faulty_set.sets import all_at_once

os.environ.setdefault("QT_QPA_PLATFORM", "offscreen")
HERE = Path(__file__).parent
SAMPLES = HERE.parent / "sample_art"
SIZES = {"ordinary": (1440, 900), "smallest": (1100, 700)}
PATIENCE_SECONDS, QUIET_SECONDS, QUIET_TURNS = 60.0, 0.25, 30
README = {"window-art": "art", "window-stations": "stations", "window-run": "run"}


@dataclass(frozen=True)
class Shot:
    """What one picture shows."""

    job: str | None
    place: str
    language: str = "en"
    theme: str = "light"
    size: str = "ordinary"
    percent: int = 100
    change: str = ""

    @property
    def name(self) -> str:
        """Its file name without the ending."""
        parts = [self.job or "nothing-open", self.change or self.place, self.language, self.theme, self.size]
        return "-".join(parts if self.percent == 100 else [*parts, f"{self.percent}"])


def shots() -> Iterator[Shot]:
    """Every picture that is drawn."""
    places = ("art", "questions", "stations", "screens", "run", "shop")
    for job in (None, "lantern-walk", "night-heron"):
        shown = ("art",) if job is None else places if job == "lantern-walk" else places[:-1]
        for language in ("en", "es"):
            for theme in ("light", "dark"):
                for size in SIZES:
                    for place in shown:
                        yield Shot(job, place, language, theme, size)
        if job == "night-heron":
            for language in ("en", "es"):
                for place in places:
                    yield Shot(job, place, language, size="smallest", percent=140)
    for language in ("en", "es"):
        yield Shot("lantern-walk", "stations", language, change="clash")
        yield Shot("lantern-walk", "stations", language, change="by-hand")
        yield Shot("lantern-walk", "run", language, change="by-hand-run")
        yield Shot("lantern-walk", "art", language, change="words")
        yield Shot("faulty", "art", language, change="finding")
        yield Shot("faulty", "art", language, theme="dark", size="smallest", change="base")


@contextmanager
def own_home() -> Iterator[Path]:
    """A home folder and copies of the sample jobs that are gone afterwards."""
    with tempfile.TemporaryDirectory() as folder:
        os.environ["SETUPASSIST_HOME"] = folder
        for job in ("lantern-walk", "night-heron"):
            shutil.copytree(SAMPLES / job, Path(folder) / job)
        (Path(folder) / "faulty").mkdir()
        all_at_once().save(Path(folder) / "faulty")
        yield Path(folder)


def draw(wanted: list[tuple[Shot, Path]]) -> None:
    """Draws each shot to its file."""
    from PySide6.QtCore import QCoreApplication, QEvent
    from PySide6.QtWidgets import QApplication

    from setupassist.app import theme
    from setupassist.app.model import DeskModel
    from setupassist.app.window import Window
    from setupassist.documents.store import example_shop

    app = QApplication.instance() or QApplication([])
    theme.load_fonts()
    with own_home() as home:
        model = DeskModel(example_shop())
        model.preferences = model.preferences.model_copy(update={"started": True})
        window = Window(model)
        window.show()

        def rest() -> None:
            end, since, turns = time.monotonic() + PATIENCE_SECONDS, time.monotonic(), 0
            while time.monotonic() < end and (turns < QUIET_TURNS or time.monotonic() - since < QUIET_SECONDS):
                QCoreApplication.sendPostedEvents(None, QEvent.Type.DeferredDelete)  # of places made anew
                app.processEvents()
                time.sleep(0.005)
                turns += 1
                if model.runner.running or next(model.desk.wanted(), None) is not None:
                    since, turns = time.monotonic(), 0

        open_now: str | None = None
        for shot, file in wanted:
            model.prefer(language=shot.language, theme=shot.theme, text_percent=shot.percent)
            window.resize(*SIZES[shot.size])
            if shot.job != open_now or shot.change:
                if model.has_job:
                    model.close_job(keep_draft=False)
                if shot.job is not None:
                    model.open([home / shot.job])
                open_now = None if shot.change else shot.job
            window.go(shot.place)
            rest()
            grab = window.grab
            if shot.change:
                grab = change(window, shot, rest) or grab
                rest()
            grab().save(str(file))
        model.shut()
        window.deleteLater()


def change(window: object, shot: Shot, rest: Callable[[], None]) -> Callable[[], object] | None:
    """Brings about what a shot is of besides an ordinary day; what is to be grabbed where that is not the window."""
    from setupassist.app.places.art import ArtPlace
    from setupassist.app.window import Window
    from setupassist.desk import edits
    from setupassist.documents.plan import Slot
    from setupassist.words import say

    assert isinstance(window, Window)
    model = window.model
    if shot.change == "clash":
        heads = list(range(4, 12))
        model.edit(lambda: edits.with_fields(model.job, say("desk.edit.field"), keep_empty=heads))
    elif shot.change.startswith("by-hand"):
        line = [(2, "soot black"), (4, "white base"), (6, "brick red"), (8, "straw yellow"), (9, "harbour blue")]
        slots = [Slot(lap=1, station=at, holds="screen", ink=ink) for at, ink in line]
        slots.append(Slot(lap=1, station=5, holds="flash"))
        model.edit(lambda: edits.arrangement(model.job, slots, say("desk.edit.field")))
    elif shot.change in ("finding", "base"):
        place = window.place
        assert isinstance(place, ArtPlace)
        place.found.entered.emit(2)
        if shot.change == "base":
            place.base.open()
            place.base.make()
            rest()
        place.picture.toggle_loupe()
    elif shot.change == "words":
        window.explain("")
        rest()
        assert window.words_window is not None
        return window.words_window.grab
    return None


def make_small(file: Path) -> None:
    """Writes a picture anew in 128 colours."""
    from PIL import Image

    with Image.open(file) as picture:
        small = picture.convert("RGB").quantize(128, dither=Image.Dither.NONE)
    small.save(file, optimize=True)


def main(arguments: list[str]) -> None:
    """Draws what the command line asks for."""
    if arguments == ["--readme"]:
        wanted = [(Shot("lantern-walk", place), HERE / "pictures" / f"{name}.png") for name, place in README.items()]
    elif len(arguments) == 1:
        folder = Path(arguments[0])
        folder.mkdir(parents=True, exist_ok=True)
        wanted = [(shot, folder / f"{shot.name}.png") for shot in shots()]
    else:
        sys.exit(__doc__)
    draw(wanted)
    if arguments == ["--readme"]:
        for _, file in wanted:
            make_small(file)
    print("\n".join(str(file) for _, file in wanted))


if __name__ == "__main__":
    main(sys.argv[1:])
