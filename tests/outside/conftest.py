"""General-purpose reference programs that the outside checks lean on."""

from __future__ import annotations

import os
import shutil
from collections.abc import Callable

import pytest


@pytest.fixture(scope="session")
def reference_program() -> Callable[[str, str], str]:
    """Path of a program from a named Debian package: missing is a failure in CI, and a skip that says so elsewhere."""

    def find(program: str, package: str) -> str:
        path = shutil.which(program)
        if path is None:
            told = f"'{program}' is not installed (Debian package {package})"
            if os.environ.get("CI"):
                pytest.fail(told)
            pytest.skip(told)
        return path

    return find
