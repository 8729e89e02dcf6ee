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
from setupassist.errors import MachineFault, system_reason
from setupassist.resource_files import read_bytes
from setupassist.words import say

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
        reason = system_reason(error) if isinstance(error, OSError) else str(error)
        raise MachineFault(say("documents.editor.not-started", command=command, reason=reason)) from None
    if done.returncode:
        ended = {"command": command, "code": done.returncode, "draft": str(draft)}
        raise MachineFault(say("documents.editor.failed", **ended))
    read_shop(draft)
    kept = _keep(draft.read_bytes())
    draft.unlink()
    return kept


def _usual_editor() -> str:
    for name in ("sensible-editor", "nano", "vi", "notepad"):
        if shutil.which(name):
            return name
    raise MachineFault(say("documents.editor.none"))


def _make_folder(own: Path) -> None:
    try:
        own.parent.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        told = {"folder": str(own.parent), "reason": system_reason(error)}
        raise MachineFault(say("documents.editor.no-folder", **told)) from None


def _keep(data: bytes) -> Path:
    own = shop_book_path()
    _make_folder(own)
    with contextlib.suppress(FileNotFoundError):
        write_atomically(own.with_name("shop.toml.last"), own.read_bytes())
    write_atomically(own, data)
    return own
