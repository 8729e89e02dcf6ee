"""Faults of every test here are said by id."""

from __future__ import annotations

import pytest


@pytest.fixture(autouse=True)
def _by_id(faults_by_id: None) -> None:
    pass
