"""What Pillow's libtiff complains of while it decodes, caught instead of printed.

libtiff prints its errors on the process's standard error and, for fax data, carries on with wrong rows; Pillow tells
neither. Where libtiff's entry point can be reached, its complaints are counted for the thread that decodes; where it
cannot (a Pillow with libtiff built in), they are printed as before and only Pillow's own refusals count.

Source: libtiff's manual page TIFFError(3), published.
"""

from __future__ import annotations

import ctypes
import functools
import threading
from collections.abc import Iterator
from contextlib import contextmanager

from setupassist.art.files import Damaged
from setupassist.words import say

Handler = ctypes.CFUNCTYPE(None, ctypes.c_void_p, ctypes.c_void_p, ctypes.c_void_p)


class Complaints(threading.local):
    """How many complaints came up in this thread."""

    count = 0


@functools.cache
def _listener() -> tuple[Complaints, object]:
    """The counter that libtiff's errors go to, set up once; the callback is kept alive beside it."""
    from PIL import _imaging

    complaints = Complaints()

    def note(module: object, form: object, values: object) -> None:
        complaints.count += 1

    callback = Handler(note)
    try:
        library = ctypes.CDLL(_imaging.__file__)
        library.TIFFSetErrorHandler.argtypes = [Handler]
        library.TIFFSetErrorHandler.restype = ctypes.c_void_p
        library.TIFFSetErrorHandler(callback)
    except (OSError, AttributeError):
        return complaints, None
    return complaints, callback


@contextmanager
def heeding_libtiff() -> Iterator[None]:
    """Damaged where libtiff complained of what was decoded inside."""
    complaints, _ = _listener()
    before = complaints.count
    yield
    if complaints.count != before:
        raise Damaged(say("art.damage.senseless-data"))
