"""Starts the window: looks that Qt can run here, dresses the application, opens what was named."""

from __future__ import annotations

import ctypes
import os
import sys
from pathlib import Path

from setupassist.errors import MachineFault, SetupAssistError
from setupassist.words import say

LIBRARIES = {
    "libEGL.so.1": "libegl1",
    "libGL.so.1": "libgl1",
    "libxkbcommon.so.0": "libxkbcommon0",
    "libfontconfig.so.1": "libfontconfig1",
    "libdbus-1.so.3": "libdbus-1-3",
}
X11_LIBRARIES = {"libxkbcommon-x11.so.0": "libxkbcommon-x11-0", "libxcb-cursor.so.0": "libxcb-cursor0"}


def missing_packages() -> list[str]:
    """Debian packages that Qt's window needs and this machine lacks; [] elsewhere than on Linux."""
    if not sys.platform.startswith("linux"):
        return []
    wanted = dict(LIBRARIES)
    if _platform() == "xcb":
        wanted |= X11_LIBRARIES
    return sorted({package for library, package in wanted.items() if not _loads(library)})


def _platform() -> str:
    named = os.environ.get("QT_QPA_PLATFORM", "").partition(":")[0]
    if named:
        return named
    return "wayland" if os.environ.get("WAYLAND_DISPLAY") and not os.environ.get("DISPLAY") else "xcb"


def _loads(library: str) -> bool:
    try:
        ctypes.CDLL(library)
    except OSError:
        return False
    return True


def refuse_where_no_window_can_be() -> None:
    """MachineFault, with the packages to install or what else is missing, before Qt would abort the process."""
    missing = missing_packages()
    if missing:
        raise MachineFault(say("app.start.no-libraries", packages=" ".join(missing)))
    on_linux = sys.platform.startswith("linux")
    if on_linux and _platform() == "xcb" and not os.environ.get("DISPLAY"):
        raise MachineFault(say("app.start.no-display"))


def run(path: Path | None, *, shop: Path | None = None) -> int:
    """Opens the window, with a job where one is named, and stays until it is closed; the exit code."""
    refuse_where_no_window_can_be()
    import shiboken6
    from PySide6.QtWidgets import QApplication

    from setupassist.app import theme
    from setupassist.app.model import DeskModel
    from setupassist.app.window import Window
    from setupassist.documents.store import current_shop, example_shop

    app = QApplication.instance() or QApplication(sys.argv[:1])
    assert isinstance(app, QApplication)
    app.setApplicationName("setupassist")
    app.setApplicationDisplayName("Setup Assist")
    app.setDesktopFileName("setupassist")
    app.setWindowIcon(theme.icon())
    theme.load_fonts()
    fault: SetupAssistError | None = None
    try:
        book = current_shop(shop)
    except SetupAssistError as error:
        if shop is not None:
            raise
        fault, book = error, example_shop()
    model = DeskModel(book, shop_file=shop.absolute() if shop is not None else None)
    model.book.damaged = fault is not None
    window = Window(model)
    window.show()
    if fault is not None:
        model.tell(fault)
    if path is not None:
        window.open([path])
    code = app.exec()
    shiboken6.delete(window)  # before the model that it listens to
    return code
