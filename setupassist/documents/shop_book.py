"""The user's own shop book: brought in from a file, or edited in the user's editor."""

from __future__ import annotations

import contextlib
import os
import shlex
import shutil
import subprocess
from pathlib import Path

from setupassist.documents.places import shop_book_path
from setupassist.documents.store import EXAMPLE_SHOP, read_shop, write_atomically
from setupassist.errors import MachineFault
from setupassist.resource_files import read_bytes

EDITORS = ("VISUAL", "EDITOR")


def bring_in(path: Path) -> Path:
    """Checks a book and makes it the user's own; the last one is kept beside it as ``shop.toml.last``."""
    read_shop(path)
    return _keep(path.read_bytes())


def edit() -> Path:
    """Opens the user's book (at first a copy of the example) in their editor and keeps it if it is sound.

    A book with a fault stays beside the good one as ``shop.draft.toml``, so that nothing typed is lost.
    """
    own = shop_book_path()
    draft = own.with_name("shop.draft.toml")
    _make_folder(own)
    if not draft.exists():
        write_atomically(draft, own.read_bytes() if own.exists() else read_bytes(EXAMPLE_SHOP))
    command = next((os.environ[name] for name in EDITORS if os.environ.get(name)), None) or _usual_editor()
    try:
        done = subprocess.run([*shlex.split(command), str(draft)], check=False)
    except (OSError, ValueError) as error:
        raise MachineFault(f"the editor '{command}' did not start ({error}); set EDITOR to one that does") from None
    if done.returncode:
        raise MachineFault(f"the editor '{command}' ended with {done.returncode}; your draft is kept in {draft}")
    read_shop(draft)
    kept = _keep(draft.read_bytes())
    draft.unlink()
    return kept


def _usual_editor() -> str:
    for name in ("sensible-editor", "nano", "vi", "notepad"):
        if shutil.which(name):
            return name
    raise MachineFault("no editor was found; set EDITOR, or change the file by hand and use 'shop import FILE'")


def _make_folder(own: Path) -> None:
    try:
        own.parent.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        raise MachineFault(f"{own.parent}: cannot be made ({error.strerror}); check the permission") from None


def _keep(data: bytes) -> Path:
    own = shop_book_path()
    _make_folder(own)
    with contextlib.suppress(FileNotFoundError):
        write_atomically(own.with_name("shop.toml.last"), own.read_bytes())
    write_atomically(own, data)
    return own
