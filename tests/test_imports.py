"""The core needs no Qt, and the command starts without what it does not use."""

from __future__ import annotations

import subprocess
import sys

WALK = """
import importlib, pkgutil, sys

class NoQt:
    def find_spec(self, name, path=None, target=None):
        if name.split(".")[0] in {"PySide6", "shiboken6", "PyQt6", "PyQt5"}:
            raise ImportError("Qt is not installed here")
        return None

sys.meta_path.insert(0, NoQt())
import setupassist
names = [m.name for m in pkgutil.walk_packages(setupassist.__path__, "setupassist.")]
names = [n for n in names if n != "setupassist.__main__" and not n.startswith("setupassist.app")]
for name in names:
    importlib.import_module(name)
assert not any(n.split(".")[0] == "PySide6" for n in sys.modules)
print(len(names))
"""

HELP = """
import sys
from setupassist.cli import main
main(["--help"])
heavy = {"numpy", "pydantic", "PIL", "scipy", "skimage", "ortools", "reportlab", "tifffile", "PySide6"}
assert not heavy & set(sys.modules), heavy & set(sys.modules)
"""


def run(code: str) -> str:
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stderr
    return done.stdout


def test_every_room_imports_with_qt_blocked() -> None:
    assert int(run(WALK)) > 40


def test_help_imports_nothing_heavy() -> None:
    assert "verbs" in run(HELP)
