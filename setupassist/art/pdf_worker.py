"""The process of its own that reads a PDF: ``python -m setupassist.art.pdf_worker FOLDER``.

It sets its own limits of memory and time, reads ``request.json`` in the folder and answers by files there:
``answer.json``, and for every plate drawn a file of records. It ends when whoever started it is gone.
"""

from __future__ import annotations

import json
import os
import struct
import sys
import threading
import zlib
from pathlib import Path
from typing import Any

RECORD = struct.Struct(">II")
"""Rows and bytes of a record, which is a piece of a plate's rows packed by Deflate; 0, 0 ends the plate."""
PIECE_BYTES = 256 * 1024
MOST_MEMORY = 3 << 30
LOOK_SECONDS, DRAW_SECONDS = 120, 900
MOST_FILE_BYTES = 2 << 30
CHECK_DPI = 144.0


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


def end_with_parent() -> None:
    """Ends this process when the pipe from whoever started it closes."""

    def wait() -> None:
        sys.stdin.buffer.read()
        os._exit(3)

    threading.Thread(target=wait, daemon=True).start()


def piece_rows(columns: int) -> int:
    """Rows of one record."""
    return max(1, PIECE_BYTES // max(1, columns))


def main(folder: Path) -> None:
    """Does what the request asks."""
    request = json.loads((folder / "request.json").read_text("utf-8"))
    limit(LOOK_SECONDS if request["task"] == "look" else DRAW_SECONDS)
    from setupassist.art.pdf_objects import Refused

    try:
        answer = look(request) if request["task"] == "look" else draw(request, folder)
    except Refused as error:
        answer = {"fault": error.key, "values": error.values}
    except MemoryError:
        answer = {"fault": "art.pdf.too-heavy", "values": {}}
    except RecursionError:
        answer = {"fault": "art.damage.damaged", "values": {}}
    except Exception as error:
        if not _is_about_the_file(error):
            raise
        answer = {"fault": "art.damage.damaged", "values": {}}
    part = folder / "answer.part"
    part.write_text(json.dumps(answer), "utf-8")
    part.replace(folder / "answer.json")


def _is_about_the_file(error: Exception) -> bool:
    """Whether a complaint comes from a library that reads what the file says, or from taking it at its word."""
    if os.environ.get("SETUPASSIST_PDF_STRICT"):
        return False
    return not isinstance(error, OSError | ImportError)


def look(request: dict[str, Any]) -> dict[str, Any]:
    """What a page paints with: inks, size, notes."""
    from setupassist.art.pdf_colour import Spaces
    from setupassist.art.pdf_content import Contents
    from setupassist.art.pdf_inks import Record, colours
    from setupassist.art.pdf_page import Page
    from setupassist.art.pdf_raster import times_finer
    from setupassist.art.pdf_rewrite import Rewriter

    dpi = request["dpi"]
    page = Page(Path(request["path"]), request["page"])
    columns, rows = page.pixels(dpi)
    spaces, contents, record = Spaces(), Contents(), Record()
    Rewriter(page, None, record, spaces, contents).whole_page()
    inks = record.ordered()
    unseen = [ink for ink in inks if not record.inks[ink] and not _shows(page, ink, spaces, contents, record)]
    inks = [ink for ink in inks if ink not in unseen]
    if not inks:
        return {"fault": "art.pdf.no-ink", "values": {}}
    seen = colours(page.document, spaces, inks)
    return {
        "of": page.of,
        "columns": columns,
        "rows": rows,
        "finer": times_finer(record, dpi),
        "inks": [{"name": ink, "colour": seen.get(ink)} for ink in inks],
        "unseen": unseen,
        "annotated": page.annotated,
        "told": record.told,
        "fonts": list(record.fonts),
        "merged": spaces.merged,
    }


def _shows(page: Any, ink: str, spaces: Any, contents: Any, record: Any) -> bool:
    """Whether anything of an ink shows on the page, drawn coarsely."""
    from setupassist.art.pdf_raster import bands, plate_document

    dpi = min(CHECK_DPI, 4000 / max(page.inches()))
    columns, rows = page.pixels(dpi)
    made = plate_document(page, ink, dpi, spaces=spaces, contents=contents, record=record)
    return any(band.any() for band in bands(made, columns, rows, dpi))


def draw(request: dict[str, Any], folder: Path) -> dict[str, Any]:
    """Plates drawn into files of records, one after another."""
    from setupassist.art.pdf_colour import Spaces
    from setupassist.art.pdf_content import Contents
    from setupassist.art.pdf_inks import Record
    from setupassist.art.pdf_page import Page
    from setupassist.art.pdf_raster import bands, plate_document
    from setupassist.art.pdf_rewrite import Rewriter

    dpi, finer = request["dpi"], request["finer"]
    page = Page(Path(request["path"]), request["page"])
    columns, rows = page.pixels(dpi)
    spaces, contents, record = Spaces(), Contents(), Record()
    Rewriter(page, None, record, spaces, contents).whole_page()  # names of inks come out as they did before
    for index, ink in request["inks"]:
        made = plate_document(page, ink, dpi, spaces=spaces, contents=contents, record=record)
        with (folder / f"plate-{index}").open("wb") as file:
            records = Records(file, columns)
            for band in bands(made, columns, rows, dpi, finer=finer):
                records.add(band)
            records.end()
    return {"done": [index for index, _ in request["inks"]]}


class Records:
    """Writes rows of a plate as records of equal height."""

    def __init__(self, file: Any, row_bytes: int) -> None:
        self._file, self._each = file, piece_rows(row_bytes)
        self._held: list[Any] = []
        self._count = 0

    def add(self, rows: Any) -> None:
        """Takes rows (rows, bytes) and writes what makes whole records."""
        import numpy as np

        self._held.append(rows)
        self._count += rows.shape[0]
        if self._count < self._each:
            return
        every = np.concatenate(self._held) if len(self._held) > 1 else self._held[0]
        full = self._count // self._each * self._each
        for top in range(0, full, self._each):
            self._write(every[top : top + self._each])
        self._held, self._count = [every[full:].copy()], self._count - full
        self._file.flush()

    def end(self) -> None:
        """Writes the rows that are left, and the end."""
        for rows in self._held:
            if rows.shape[0]:
                self._write(rows)
        self._file.write(RECORD.pack(0, 0))

    def _write(self, rows: Any) -> None:
        data = zlib.compress(rows.tobytes(), 1)
        self._file.write(RECORD.pack(rows.shape[0], len(data)) + data)


if __name__ == "__main__":
    end_with_parent()
    main(Path(sys.argv[1]))
