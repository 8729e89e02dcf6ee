"""The window's menus: what can be done, where and by which keys."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from functools import partial
from typing import TYPE_CHECKING

from PySide6.QtGui import QAction, QKeySequence
from PySide6.QtWidgets import QMenu

from setupassist.app import actions
from setupassist.app.actions import PARTING, Action
from setupassist.app.places import KEYS
from setupassist.desk import memory
from setupassist.words import languages, words_in

if TYPE_CHECKING:
    from setupassist.app.window import Window

Keys = QKeySequence.StandardKey
LEAST_PERCENT, MOST_PERCENT, STEP_PERCENT = 80, 200, 10


class Menus:
    """All entries of a window's menu bar; the window itself does what they say."""

    def __init__(self, window: Window) -> None:
        self.window = window
        self.entries: list[tuple[Action, QAction]] = []

    def refresh(self) -> None:
        """Brings what can be done, and what is checked, up to date."""
        actions.refresh(self.entries)

    def key_rows(self) -> list[tuple[str, str]]:
        """(shortcut, what it does) of every entry that has one."""
        return [
            (entry.shortcut().toString(QKeySequence.SequenceFormat.NativeText), self.window.model.say(action.key))
            for action, entry in self.entries
            if not entry.shortcut().isEmpty()
        ]

    def fill(self) -> None:
        """Makes all menus anew: the language, or which places are made, has changed."""
        window, model = self.window, self.window.model
        old = window.menuBar().findChildren(QMenu)
        self.window.menuBar().clear()
        for menu in old:
            menu.deleteLater()
        for _, entry in self.entries:
            entry.deleteLater()
        self.entries = []

        def job() -> bool:
            return model.has_job

        file: list[Action | None] = [
            Action("app.action.open", window.ask_files, Keys.Open),
            Action("app.action.open-folder", window.ask_folder, "Ctrl+Shift+O"),
            PARTING,
            Action("app.action.save", window.save, Keys.Save, job),
            Action("app.action.save-copy", window.save_copy, "Ctrl+Shift+S", job),
            Action("app.action.back-to-saved", model.back_to_saved, "", lambda: job() and model.desk.modified),
            PARTING,
            *self._everywhere(),
            PARTING,
            Action("app.action.close-job", window.close_job, Keys.Close, job),
            Action("app.action.quit", window.close, "Ctrl+Q"),
        ]
        edit: list[Action | None] = [
            Action("app.action.undo", window.undo, Keys.Undo, window.can_undo),
            Action("app.action.redo", window.redo, "Ctrl+Shift+Z", window.can_redo),
        ]
        go: list[Action | None] = [
            Action(f"app.place.{key}", partial(window.go_into, key), f"Ctrl+{at}") for at, key in enumerate(KEYS, 1)
        ]
        for entries in self._places_actions():
            edit += [PARTING, *entries]
        view: list[Action | None] = [
            *go,
            PARTING,
            Action("app.action.larger", partial(self._zoom, 1), Keys.ZoomIn),
            Action("app.action.smaller", partial(self._zoom, -1), Keys.ZoomOut),
            Action("app.action.usual-size", partial(model.prefer, text_percent=100), "Ctrl+0"),
            PARTING,
            *self._choices("theme", (None, "light", "dark"), "app.theme"),
            PARTING,
            *self._choices("units", (None, "inch", "metric"), "app.units"),
        ]
        told: list[Action | None] = [
            Action("app.action.explain", window.explain_focus, "F1"),
            Action("app.action.words", lambda: window.explain(""), "Shift+F1"),
            Action("app.action.keys", lambda: window.explain("", keys=True), "Ctrl+F1"),
            Action("app.action.cautions", lambda: window.explain("", cautions=True)),
        ]
        bar = self.window.menuBar()
        for key, entries in (("file", file), ("edit", edit), ("view", view), ("help", told)):
            menu = bar.addMenu(model.say(f"app.menu.{key}"))
            menu.setObjectName(f"menu-{key}")
            if key == "edit":
                menu.aboutToShow.connect(self._name_undo)
            self.entries += actions.fill(menu, entries, model.words, window)
            if key == "file":
                self._recents_menu(menu)
            if key == "view":
                self._language_menu(menu)

    def _places_actions(self) -> list[list[Action | None]]:
        """Entries of every place; one whose place is not open cannot be chosen."""
        told = []
        for key in (key for key in KEYS if key in self.window.places):
            place = self.window.places[key]
            entries: list[Action | None] = []
            for action in place.actions_of():
                if action is None:
                    entries.append(None)
                    continue
                if action.everywhere:
                    continue
                there = partial(self._there, key, action.enabled)
                entries.append(Action(action.key, action.run, action.shortcut, there, action.checked))
            if entries:
                told.append(entries)
        return told

    def _everywhere(self) -> list[Action]:
        """Entries of places that can be chosen wherever one is."""
        listed = [
            action for key in KEYS if key in self.window.places for action in self.window.places[key].actions_of()
        ]
        return [replace(a, run=partial(self._taken_in, a.run)) for a in listed if a is not None and a.everywhere]

    def _taken_in(self, run: Callable[[], object]) -> None:
        self.window.take_in()
        run()

    def _there(self, key: str, enabled: Callable[[], bool]) -> bool:
        return (
            self.window.key == key
            and (self.window.model.has_job or not self.window.places[key].needs_job)
            and enabled()
        )

    def _choices(self, field: str, values: tuple[str | None, ...], words: str) -> list[Action]:
        return [
            Action(
                f"{words}.{value or 'system'}",
                partial(self.window.model.prefer, **{field: value}),
                checked=partial(self._is, field, value),
            )
            for value in values
        ]

    def _is(self, field: str, value: str | None) -> bool:
        return bool(getattr(self.window.model.preferences, field) == value)

    def _recents_menu(self, menu: QMenu) -> None:
        recents = QMenu(self.window.model.say("app.action.recent"), menu)
        recents.setObjectName("menu-recent")
        menu.insertMenu(menu.actions()[2], recents)

        def fill() -> None:
            recents.clear()
            for path in memory.recents():
                entry = recents.addAction(f"{path.parent.name}/{path.name}")
                entry.triggered.connect(lambda _=False, path=path: self.window.open([path]))
            recents.addSeparator()
            recents.addAction(self.window.model.say("app.action.forget-recents")).triggered.connect(
                memory.forget_recents
            )

        recents.aboutToShow.connect(fill)

    def _language_menu(self, menu: QMenu) -> None:
        into = menu.addMenu(self.window.model.say("app.action.language"))
        into.setObjectName("menu-language")
        for language in languages():
            entry = into.addAction(words_in(language).say("app.language-name"))
            entry.setObjectName(f"language-{language}")
            entry.setCheckable(True)
            entry.setChecked(language == self.window.model.language)
            entry.triggered.connect(partial(self._speak, language))

    def _speak(self, language: str, _checked: bool = False) -> None:
        self.window.model.prefer(language=language)

    def _name_undo(self) -> None:
        """Undo and redo say what they would do."""
        stack = self.window.place.undo_stack
        for action, entry in self.entries:
            if action.key in ("app.action.undo", "app.action.redo"):
                name = stack.undoText() if action.key == "app.action.undo" else stack.redoText()
                told = self.window.model.say(action.key)
                entry.setText(f"{told}: {name}" if name else told)

    def _zoom(self, step: int) -> None:
        percent = self.window.model.preferences.text_percent + STEP_PERCENT * step
        percent = min(MOST_PERCENT, max(LEAST_PERCENT, percent))
        self.window.model.prefer(text_percent=percent)
