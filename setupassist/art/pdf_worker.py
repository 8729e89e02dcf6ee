"""The process of its own that reads a PDF: ``python -m setupassist.art.pdf_worker FOLDER``.

It sets its own limits of memory and time, reads ``request.json`` in the folder and answers by files there:
``answer.json``, and for every plate drawn a file of records. It ends when whoever started it is gone.
"""

from __future__ import annotations

import errno
import json
import os
import shutil
import sys
import threading
from pathlib import Path
from typing import Any

MOST_MEMORY = 3 << 30
LOOK_SECONDS, DRAW_SECONDS = 120, 900
MOST_FILE_BYTES = 2 << 30
SPOOL = "setupassist-pdf-"
"""How the names of folders begin in which plates are spooled."""
NO_ROOM = (errno.ENOSPC, errno.EFBIG, getattr(errno, "EDQUOT", errno.ENOSPC))
NO_ROOM_STATUS = 4
"""What the process ends with where it cannot even answer for want of room."""
DRAWN_AT_ONCE = 4_000_000
"""Pixels of all plates of a page that is drawn while it is looked at."""


def limit(seconds: int) -> None:
    """Limits of memory, time and file size, where the system knows such limits."""
    try:
        import resource
    except ImportError:
        return
    for kind, wanted in (
        (resource.RLIMIT_AS, MOST_MEMORY),
        (resource.RLIMIT_CPU, seconds),
        (resource.RLIMIT_FSIZE, MOST_FILE_BYTES),
        (resource.RLIMIT_CORE, 0),
    ):
        _, hard = resource.getrlimit(kind)
        resource.setrlimit(kind, (wanted if hard == resource.RLIM_INFINITY else min(wanted, hard), hard))


def end_with_parent(folder: Path) -> None:
    """Ends this process, and clears the spool away, when the pipe from whoever started it closes."""

    def wait() -> None:
        while os.read(0, 1):
            pass
        if folder.parent.name.startswith(SPOOL):
            shutil.rmtree(folder.parent, ignore_errors=True)
        os._exit(3)

    threading.Thread(target=wait, daemon=True).start()


def main(folder: Path) -> None:
    """Does what the request asks."""
    request = json.loads((folder / "request.json").read_text("utf-8"))
    limit(LOOK_SECONDS if request["task"] == "look" else DRAW_SECONDS)
    from setupassist.art.pdf_objects import Refused

    try:
        answer = _answer(request, folder)
    except Refused as error:
        answer = {"fault": error.key, "values": error.values}
    except MemoryError:
        answer = {"fault": "art.pdf.too-heavy", "values": {}}
    except RecursionError:
        answer = {"fault": "art.damage.damaged", "values": {}}
    except OSError as error:
        if error.errno not in NO_ROOM:
            raise
        answer = {"no room": error.errno}
    except _about_the_file():
        answer = {"fault": "art.damage.damaged", "values": {}}
    part = folder / "answer.part"
    try:
        part.write_text(json.dumps(answer), "utf-8")
    except OSError as error:  # on a full disk not even that can be written
        if error.errno not in NO_ROOM:
            raise
        os._exit(NO_ROOM_STATUS)
    part.replace(folder / "answer.json")


def _answer(request: dict[str, Any], folder: Path) -> dict[str, Any]:
    from setupassist.art.pdf_reading import Reading

    reading = Reading(Path(request["path"]), request["page"], request["dpi"])
    if request["task"] == "look":
        found = reading.look()
        inks = [ink["name"] for ink in found["inks"]]
        if found["columns"] * found["rows"] * len(inks) > DRAWN_AT_ONCE:
            return {**found, "drawn": False}
        reading.draw(list(enumerate(inks)), folder, finer=found["finer"])
        return {**found, "drawn": True}
    reading.draw(request["inks"], folder, finer=request["finer"])
    return {}


def _about_the_file() -> tuple[type[Exception], ...]:
    """What libraries, and taking a file at its word, raise over files that contradict themselves."""
    import pikepdf
    import pypdfium2

    from setupassist.art.pdf_functions import NoFunction
    from setupassist.art.pdf_images import NotRead

    own = NotRead, NoFunction
    libraries = pikepdf.PdfError, pypdfium2.PdfiumError, RuntimeError
    return (*own, *libraries, ValueError, TypeError, LookupError, AttributeError, ArithmeticError)


if __name__ == "__main__":
    end_with_parent(Path(sys.argv[1]))
    main(Path(sys.argv[1]))
    os._exit(0)  # there is nothing to tidy up, and native libraries take their time over it
