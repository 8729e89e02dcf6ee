"""A folder for files that nobody asked for by name: pages of a PDF that were drawn, a base that is not written yet."""

from __future__ import annotations

import shutil
import tempfile
import time
from contextlib import suppress
from pathlib import Path

DAY_SECONDS = 86_400.0


def folder_aside(prefix: str) -> Path:
    """A new folder among the system's temporary files, its name beginning with ``prefix``.

    Those of the same prefix that nobody has touched for a day go: processes that made them were ended before they
    could tidy up. Raises OSError where there is no room.
    """
    folder = Path(tempfile.mkdtemp(prefix=prefix))
    for old in folder.parent.glob(f"{prefix}*"):
        with suppress(OSError):
            if time.time() - old.stat().st_mtime > DAY_SECONDS:
                shutil.rmtree(old, ignore_errors=True)
    return folder
