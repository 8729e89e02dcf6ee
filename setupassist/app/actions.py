"""What a person can do, as data: a key for its words, a shortcut, what it does and when it can be done."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass, field

from PySide6.QtGui import QAction, QKeySequence
from PySide6.QtWidgets import QMenu, QWidget

from setupassist.words import Words


def _always() -> bool:
    return True


@dataclass(frozen=True)
class Action:
    """One entry of a menu. ``key`` is an id of the catalogue; ``checked`` tells its state where it has one.

    ``everywhere`` lets an entry of a place be chosen while another place is open; it stands in the file's menu then.
    """

    key: str
    run: Callable[[], object] = field(repr=False)
    shortcut: str | QKeySequence.StandardKey = ""
    enabled: Callable[[], bool] = field(default=_always, repr=False)
    checked: Callable[[], bool] | None = field(default=None, repr=False)
    everywhere: bool = False


PARTING = None
"""Stands between groups of entries in a menu."""


def fill(menu: QMenu, actions: Iterable[Action | None], words: Words, owner: QWidget) -> list[tuple[Action, QAction]]:
    """Puts the entries in a menu; their QActions belong to ``owner``, whose shortcuts they are."""
    made = []
    for action in actions:
        if action is None:
            menu.addSeparator()
            continue
        entry = QAction(words.say(action.key), owner)
        entry.setObjectName(action.key)
        if action.shortcut:
            entry.setShortcut(QKeySequence(action.shortcut))
        entry.setCheckable(action.checked is not None)
        entry.triggered.connect(lambda _checked=False, run=action.run: run())
        menu.addAction(entry)
        made.append((action, entry))
    refresh(made)
    return made


def refresh(made: Iterable[tuple[Action, QAction]]) -> None:
    """Brings what can be done, and what is checked, up to date."""
    for action, entry in made:
        entry.setEnabled(action.enabled())
        if action.checked is not None:
            entry.setChecked(action.checked())
