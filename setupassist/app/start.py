"""Starts the window: looks that Qt can run here, dresses the application, opens what was named."""

from __future__ import annotations

import ctypes
import os
import signal
import socket
import sys
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING, Any

from setupassist.errors import MachineFault, SetupAssistError
from setupassist.words import say

if TYPE_CHECKING:
    from PySide6.QtCore import QCoreApplication

SIGNALLED = 128
LIBRARIES = {
    "libEGL.so.1": "libegl1",
    "libGL.so.1": "libgl1",
    "libxkbcommon.so.0": "libxkbcommon0",
    "libfontconfig.so.1": "libfontconfig1",
    "libdbus-1.so.3": "libdbus-1-3",
    "libglib-2.0.so.0": "libglib2.0-0",
}
X11_LIBRARIES = {
    "libxkbcommon-x11.so.0": "libxkbcommon-x11-0",
    "libxcb-cursor.so.0": "libxcb-cursor0",
    "libxcb-icccm.so.4": "libxcb-icccm4",
    "libxcb-keysyms.so.1": "libxcb-keysyms1",
    "libxcb-shape.so.0": "libxcb-shape0",
}


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


def run(paths: Sequence[Path], *, shop: Path | None = None) -> int:
    """Opens the window, with a job or plates where some are named, and stays until it is closed; the exit code.

    A signal to end keeps the draft and ends as if the window were closed, with 128 and the signal's number.
    Raises MachineFault where no window can be, InputFault where ``shop`` is no sound shop book.
    """
    refuse_where_no_window_can_be()
    try:
        import shiboken6

        _spare_searching_sources()
        from PySide6.QtWidgets import QApplication
    except ImportError as error:
        raise MachineFault(say("app.start.no-qt", why=str(error))) from None

    from setupassist.app import theme
    from setupassist.app.model import DeskModel
    from setupassist.app.window import Window
    from setupassist.documents.store import current_shop, example_shop

    fault: SetupAssistError | None = None
    try:
        book = current_shop(shop)
    except SetupAssistError as error:
        if shop is not None:
            raise
        fault, book = error, example_shop()
    app = QApplication.instance() or QApplication(sys.argv[:1])
    assert isinstance(app, QApplication)
    app.setApplicationName("setupassist")
    app.setApplicationDisplayName("Setup Assist")
    app.setDesktopFileName("setupassist")
    app.setWindowIcon(theme.icon())
    theme.load_fonts()
    model = DeskModel(book, shop_file=shop.absolute() if shop is not None else None)
    model.book.damaged = fault is not None
    window = Window(model, by_and_by=True)
    window.show()
    if fault is not None:
        model.tell(fault)
    if paths:
        window.open_once_seen([path.absolute() for path in paths])
    with ended_by_signals(app, model.shut):
        code = app.exec()
    shiboken6.delete(window)  # before the model that it listens to
    return code


def _spare_searching_sources() -> None:
    """Lets imports be as quick as without Qt.

    Qt's binding reads the source of every module that is imported after it, to learn whether it wants Qt's names
    spelled another way. None here does, and reading all of SciPy takes long.
    """
    feature: Any = sys.modules.get("shibokensupport.feature")
    if hasattr(feature, "_mod_uses_pyside"):
        feature._mod_uses_pyside = lambda module: False


@contextmanager
def ended_by_signals(app: QCoreApplication, shut: Callable[[], object]) -> Iterator[None]:
    """While it holds, SIGTERM and SIGINT shut the program down in good order: what is not saved stays as a draft."""
    from PySide6.QtCore import QSocketNotifier

    ours, pythons = socket.socketpair()
    pythons.setblocking(False)
    notifier = QSocketNotifier(ours.fileno(), QSocketNotifier.Type.Read, app)

    def came() -> None:
        number = int.from_bytes(ours.recv(1))
        shut()
        app.exit(SIGNALLED + number)

    notifier.activated.connect(came)
    kept = {each: signal.signal(each, lambda *_: None) for each in (signal.SIGTERM, signal.SIGINT)}
    before = signal.set_wakeup_fd(pythons.fileno(), warn_on_full_buffer=False)
    try:
        yield
    finally:
        signal.set_wakeup_fd(before)
        for each, handler in kept.items():
            signal.signal(each, handler)
        notifier.setEnabled(False)
        ours.close()
        pythons.close()
