"""Keeps the shop book on disk: every state at once, never an older over a newer one, and nothing of others lost."""

from __future__ import annotations

import threading
from dataclasses import dataclass
from pathlib import Path

from setupassist.documents.shop import Shop
from setupassist.documents.store import read_shop, shop_bytes, write_atomically, write_shop
from setupassist.errors import InputFault, MachineFault, system_reason
from setupassist.words import say

MOST_BESIDE = 1000


@dataclass(frozen=True)
class Kept:
    """A book that was written; ``beside`` is where the one that lay there and was not ours has gone."""

    shop: Shop
    beside: Path | None = None


class BookKeeper:
    """Writes one book from any thread. ``shop`` is the book as it was read, so that what lies there is known.

    What lies there and was neither read nor written here as it stands (comments by hand, another window, a damaged
    file) is first kept beside, as ``shop.toml.kept``; the book before the last is ``shop.toml.last``.
    """

    def __init__(self, path: Path, shop: Shop) -> None:
        self.path = path
        self._known = shop_bytes(shop)
        self._lock = threading.Lock()
        self._latest = 0

    def keep(self, shop: Shop, number: int) -> Kept | None:
        """Writes the book; None where one with a higher number was written meanwhile.

        Raises InputFault or MachineFault where the disk refuses; then nothing has changed there.
        """
        with self._lock:
            if number < self._latest:
                return None
            self._make_folder()
            data = shop_bytes(shop)
            beside = self._set_aside(data)
            if self.path.is_file() and not _sound(self.path):
                write_atomically(self.path, data)
            else:
                write_shop(self.path, shop)
            self._latest, self._known = number, data
            return Kept(shop, beside)

    def _set_aside(self, data: bytes) -> Path | None:
        if not self.path.is_file():
            return None
        try:
            there = self.path.read_bytes()
        except OSError as error:
            told = say("documents.file.unwritable", file=self.path.name, reason=system_reason(error))
            raise MachineFault(told) from None
        if there in (self._known, data):
            return None
        beside = self._free_name(there)
        write_atomically(beside, there)
        return beside

    def _free_name(self, there: bytes) -> Path:
        """A name beside that is not taken, or that holds these very bytes already."""
        for number in range(1, MOST_BESIDE):
            path = self.path.with_name(f"{self.path.name}.kept" + (f"-{number}" if number > 1 else ""))
            if not path.exists() or (path.is_file() and path.read_bytes() == there):
                return path
        raise InputFault(self.path.name, say("documents.file.other-name"))

    def _make_folder(self) -> None:
        try:
            self.path.parent.mkdir(parents=True, exist_ok=True)
        except OSError as error:
            told = {"folder": str(self.path.parent), "reason": system_reason(error)}
            raise MachineFault(say("documents.editor.no-folder", **told)) from None


def _sound(path: Path) -> bool:
    try:
        read_shop(path)
    except InputFault:
        return False
    return True
