"""The window: it puts head, places, reasons and strip together, and holds the menus."""

from __future__ import annotations

from pathlib import Path
from typing import cast

import shiboken6
from PySide6.QtCore import QByteArray, QEvent, Qt
from PySide6.QtGui import (
    QCloseEvent,
    QDragEnterEvent,
    QDropEvent,
    QGuiApplication,
    QResizeEvent,
)
from PySide6.QtWidgets import (
    QApplication,
    QHBoxLayout,
    QLineEdit,
    QMainWindow,
    QSplitter,
    QStackedWidget,
    QVBoxLayout,
    QWidget,
)

from setupassist.app import dialogs, theme
from setupassist.app.dialogs import Leaving
from setupassist.app.field_undo import FieldUndo
from setupassist.app.header import Header
from setupassist.app.labels import rule
from setupassist.app.making import Making
from setupassist.app.menus import Menus
from setupassist.app.model import DeskModel, absolute
from setupassist.app.place import Place
from setupassist.app.place_list import PlaceList
from setupassist.app.places import APART, KEYS, place_type
from setupassist.app.reasons_panel import ReasonsPanel
from setupassist.app.recovery_bar import RecoveryBar
from setupassist.app.strip import Strip
from setupassist.app.theme import Look
from setupassist.app.welcome import Welcome
from setupassist.app.words_window import WordsWindow
from setupassist.desk import memory
from setupassist.desk.saving import save_job
from setupassist.errors import SetupAssistError

LEAST = (1000, 640)
SIDE_BY_SIDE = 1240
"""Below this width the reasons fold under the place."""


class Window(QMainWindow):
    """The main window. It computes nothing: places show the desk, the model edits it.

    ``by_and_by`` makes a place only when it is gone to, or once the window has been seen: it stands much sooner.
    """

    def __init__(self, model: DeskModel, *, by_and_by: bool = False) -> None:
        super().__init__()
        self.model = model
        self.setMinimumSize(*LEAST)
        self.setAcceptDrops(True)
        self.look = self._look()
        self._dressed: Look | None = None
        self.words_window: WordsWindow | None = None
        self.menus = Menus(self)
        self._field_undo = FieldUndo(cast(QApplication, QApplication.instance()), self)
        self._build(by_and_by=by_and_by)
        self._come_back()
        model.preferences_changed.connect(self._rebuild)
        for signal in (model.opened, model.job_changed, model.saved_changed, model.selected):
            signal.connect(self._refresh)
        model.stage_changed.connect(self._refresh)
        model.opened.connect(self._opened)
        model.recovered.connect(self._recovered)
        model.undo.indexChanged.connect(self._refresh)
        model.book.undo.indexChanged.connect(self._refresh)
        model.shop_changed.connect(self._refresh)
        model.book.kept_changed.connect(self._refresh)
        QGuiApplication.styleHints().colorSchemeChanged.connect(self._scheme)
        self._to_open: list[Path] = []
        if by_and_by:
            Making(self, self._make_next, model.runner)

    # ------------------------------------------------------------ putting it together

    def _look(self) -> Look:
        return Look(theme.current(self.model.preferences.theme), self.model.preferences.text_percent)

    def _build(self, *, by_and_by: bool = False) -> None:
        model, look = self.model, self.look
        app = QApplication.instance()
        if look != self._dressed:
            theme.apply(cast(QApplication, app), look)
            self._dressed = look
        self.header = Header(model, look)
        self.list = PlaceList(look)
        self.stack = QStackedWidget()
        self.places: dict[str, Place] = {}
        for key in KEYS:
            self.list.add(key, model.say(f"app.place.{key}"), apart=key in APART)
            if not by_and_by:
                self._made(key)
        self.welcome = Welcome(model, look, self.ask_folder, self.ask_files)
        self.stack.addWidget(self.welcome)
        self.reasons = ReasonsPanel(model, look)
        self.reasons.asked.connect(self.explain)
        self.splitter = QSplitter()
        self.splitter.setObjectName("place-and-reasons")
        self.splitter.setHandleWidth(1)
        self.splitter.setChildrenCollapsible(False)
        self.splitter.addWidget(self.stack)
        self.splitter.addWidget(self.reasons)
        self.strip = Strip(model, look)
        self.recovery = RecoveryBar(model, look)
        middle = QWidget()
        row = QHBoxLayout(middle)
        row.setContentsMargins(0, 0, 0, 0)
        row.setSpacing(0)
        row.addWidget(self.list)
        row.addWidget(self.splitter, 1)
        whole = QWidget()
        column = QVBoxLayout(whole)
        column.setContentsMargins(0, 0, 0, 0)
        column.setSpacing(0)
        for widget in (self.header, rule(), self.recovery, middle, self.strip):
            column.addWidget(widget, 1 if widget is middle else 0)
        self.setCentralWidget(whole)
        self.list.group.idClicked.connect(lambda at: self.go(KEYS[at]))
        self.menus.fill()
        first = model.preferences.place if model.preferences.place in KEYS else KEYS[0]
        if by_and_by:
            self.list.buttons[first].setChecked(True)
            self.stack.setCurrentWidget(self.welcome)
            self.reasons.hide()
        else:
            self.go(first)
        self._fold()
        self._refresh()

    def _rebuild(self) -> None:
        """Language, theme or text size changed: the open place is made anew at once, the others by and by."""
        at, held = self.key, self._held()
        self.take_in()
        old = self.centralWidget()
        self.look = self._look()
        if self.words_window is not None:
            self.words_window.close()
            self.words_window.deleteLater()
            self.words_window = None
        self.model.name_edits()
        self._build(by_and_by=True)
        if old is not None:
            old.deleteLater()
        self.go(at)
        self._hold(held)
        Making(self, self._make_next, self.model.runner)

    def _held(self) -> tuple[type[QWidget], int] | None:
        """What has the focus in the open place: its type, and its number among those there."""
        focus, place = QApplication.focusWidget(), self.places.get(self.key)
        if focus is None or place is None or not place.isAncestorOf(focus):
            return None
        return type(focus), place.findChildren(type(focus)).index(focus)

    def _hold(self, held: tuple[type[QWidget], int] | None) -> None:
        """Gives the focus to the same thing of the place made anew."""
        if held is None:
            return
        alike = self.place.findChildren(held[0])
        if held[1] < len(alike) and alike[held[1]].isVisible():
            alike[held[1]].setFocus()
        elif self.stack.currentWidget() is self.place:
            self.place.take_focus()

    def take_in(self) -> None:
        """Takes in what is being typed, as if the field had been left: before it is saved, printed or put away."""
        focus = QApplication.focusWidget()
        if focus is None or not self.isAncestorOf(focus):
            return
        cursor = focus.cursorPosition() if isinstance(focus, QLineEdit) else None
        focus.clearFocus()
        if shiboken6.isValid(focus) and focus.isVisible():
            focus.setFocus()
            if cursor is not None and isinstance(focus, QLineEdit):
                focus.setCursorPosition(cursor)

    def _scheme(self) -> None:
        if self.model.preferences.theme is None:
            self._rebuild()

    def _made(self, key: str) -> Place:
        """A place, made now where it was not yet."""
        place = self.places.get(key)
        if place is None:
            place = self.places[key] = place_type(key)(self.model, self.look)
            self.stack.addWidget(place)
        return place

    def _make_next(self) -> bool:
        """Makes one place, the open one first; False where all are made."""
        if self.key not in self.places:
            self.go_into(self.key)
            return True
        if self._to_open:
            paths, self._to_open = self._to_open, []
            self.open(paths)
            return True
        for key in KEYS:
            if key not in self.places:
                self._made(key)
                if len(self.places) == len(KEYS):
                    self.menus.fill()
                    self._refresh()
                return True
        return False

    # ------------------------------------------------------------ places

    @property
    def key(self) -> str:
        """Key of the place that is open."""
        return next((key for key, button in self.list.buttons.items() if button.isChecked()), "art")

    @property
    def place(self) -> Place:
        """The place that is open."""
        return self._made(self.key)

    def go(self, key: str) -> None:
        """Opens a place; the welcome stands in for one that needs a job while there is none."""
        self.list.buttons[key].setChecked(True)
        place = self._made(key)
        shown: QWidget = place if self.model.has_job or not place.needs_job else self.welcome
        self.stack.setCurrentWidget(shown)
        self.reasons.setVisible(self.model.has_job and place.needs_job and place.has_reasons)
        self.model.want_sheet(key == "run" and self.model.has_job)
        self._refresh()

    def _recovered(self, at: str) -> None:
        self.recovery.offer(at)

    def go_into(self, key: str) -> None:
        """Opens a place and puts the focus in it, for hands that stay on the keys."""
        self.go(key)
        shown = self.stack.currentWidget()
        focus = QApplication.focusWidget()
        if shown is self.places[key] and (focus is None or not shown.isAncestorOf(focus)):
            self.places[key].take_focus()

    def _opened(self) -> None:
        self.recovery.hide()
        self.go_into(self.key)

    def resizeEvent(self, event: QResizeEvent) -> None:
        super().resizeEvent(event)
        self._fold()

    def _fold(self) -> None:
        wide = self.width() >= self.look.px(SIDE_BY_SIDE)
        wanted = Qt.Orientation.Horizontal if wide else Qt.Orientation.Vertical
        if self.splitter.orientation() != wanted or not self.splitter.property("folded-once"):
            self.splitter.setProperty("folded-once", True)
            self.splitter.setOrientation(wanted)
            whole = self.splitter.width() if wide else self.splitter.height()
            aside = self.look.px(300 if wide else 150)
            self.splitter.setSizes([max(1, whole - aside), aside])
            self.splitter.setStretchFactor(0, 1)
            self.splitter.setStretchFactor(1, 0)

    def _refresh(self, *_: object) -> None:
        for key, place in self.places.items():
            there = self.model.has_job or not place.needs_job
            self.list.buttons[key].tell(place.status() if there else "")
        self.menus.refresh()
        title = self.model.say("app.title")
        if self.model.has_job:
            title = f"{self.model.job.title}[*] – {title}"
        self.setWindowTitle(title)
        self.setWindowModified(self.model.desk.modified)

    # ------------------------------------------------------------ undo

    def undo(self) -> None:
        self.place.undo_stack.undo()

    def redo(self) -> None:
        self.place.undo_stack.redo()

    def can_undo(self) -> bool:
        return self.key in self.places and self.place.undo_stack.canUndo()

    def can_redo(self) -> bool:
        return self.key in self.places and self.place.undo_stack.canRedo()

    # ------------------------------------------------------------ opening and leaving

    def open_once_seen(self, paths: list[Path]) -> None:
        """Opens what was named at the start: as soon as the window stands, before all its places do."""
        self._to_open = paths
        if paths:
            self.stack.setCurrentIndex(self.stack.addWidget(QWidget()))

    def open(self, paths: list[Path]) -> None:
        """Opens what was named or dropped, once the job in hand may go."""
        if paths and self._may_leave():
            self.model.open(paths)

    def ask_files(self) -> None:
        self.open(dialogs.ask_files(self, self.model))

    def ask_folder(self) -> None:
        folder = dialogs.ask_folder(self, self.model)
        self.open([folder] if folder is not None else [])

    def save(self) -> None:
        """Saves the job, with what is being typed."""
        self.take_in()
        self.model.save()

    def save_copy(self) -> None:
        """Saves the job under another name beside its plates; anywhere where their folder is gone."""
        self.take_in()
        opened = self.model.desk.opened
        if opened is not None:
            kind = f"{self.model.say('app.files.job')} (*.json)"
            target = dialogs.ask_target(self, self.model.say("app.action.save-copy"), opened.file, kind)
            if target is not None and target.parent != opened.folder and opened.folder.is_dir():
                self.strip.tell(self.model.say("app.save-beside-plates"))
            elif target is not None:
                self.model.save(target)

    def close_job(self) -> None:
        """Takes the job off the desk, once it may go."""
        if self._may_leave():
            self.model.close_job(keep_draft=False)

    def _may_leave(self) -> bool:
        """Whether the job in hand may go: saved, given up, or with nothing in it that is not on disk."""
        self.take_in()
        model = self.model
        if not model.has_job or not model.desk.modified or not (model.undo.count() or model.brought_back):
            return True
        wish = dialogs.ask_leaving(self, model)
        if wish is Leaving.SAVE:
            return self._save_now()
        if wish is Leaving.GIVE_UP:
            model.close_job(keep_draft=False)
        return wish is not Leaving.STAY

    def _save_now(self) -> bool:
        """Saves before the job leaves; False, and told, where it could not be."""
        opened = self.model.desk.opened
        assert opened is not None
        try:
            save_job(opened, opened.file)
        except SetupAssistError as fault:
            self.model.tell(fault)
            return False
        self.model.close_job(keep_draft=False)
        return True

    def dragEnterEvent(self, event: QDragEnterEvent) -> None:
        if event.mimeData().hasUrls():
            event.acceptProposedAction()

    def dropEvent(self, event: QDropEvent) -> None:
        paths = absolute([url.toLocalFile() for url in event.mimeData().urls() if url.isLocalFile()])
        if paths:
            event.acceptProposedAction()
            self.open(paths)

    def closeEvent(self, event: QCloseEvent) -> None:
        if not self._may_leave():
            event.ignore()
            return
        geometry = bytes(self.saveGeometry().toBase64().data()).decode("ascii")
        kept = self.model.preferences.model_copy(update={"window": geometry, "place": self.key})
        memory.prefer(kept)
        self.model.shut()
        if self.words_window is not None:
            self.words_window.close()
        event.accept()

    def _come_back(self) -> None:
        kept = self.model.preferences.window
        if not kept or not self.restoreGeometry(QByteArray.fromBase64(kept.encode("ascii"))):
            self.resize(1440, 900)

    # ------------------------------------------------------------ words

    def explain(self, entry: str, *, keys: bool = False, cautions: bool = False) -> None:
        """Opens the window of words at an entry, at the list of keys or at the cautions."""
        if self.words_window is None:
            self.words_window = WordsWindow(self)
        self.words_window.show_entry(entry, keys=keys, cautions=cautions)

    def explain_focus(self) -> None:
        """The first trade word of what has the focus, or of the selection's title."""
        from setupassist.trade.glossary import words_found

        focus = QApplication.focusWidget()
        texts = []
        if focus is not None:
            texts += [str(focus.property("glossary") or ""), focus.accessibleName(), focus.accessibleDescription()]
        texts.append(self.model.say(f"app.place.{self.key}"))
        for text in texts:
            found = words_found(text, self.model.language)
            if found:
                self.explain(found[0][2])
                return
        self.explain("")

    def changeEvent(self, event: QEvent) -> None:
        super().changeEvent(event)
        if event.type() is QEvent.Type.ActivationChange and self.isActiveWindow():
            self.menus.refresh()
