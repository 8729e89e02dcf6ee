"""What a window keeps for itself: drafts of unsaved jobs, recently opened files, and its own preferences."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import Field

from setupassist.documents.base import Document
from setupassist.documents.job import Job


class Draft(Document):
    """An unsaved state of a job, kept so that a crash loses nothing; ``file`` is where the job is to be saved.

    ``opened`` is the job as that file held it when it was opened, None where there was no file.
    """

    format: Literal["setupassist-draft/1"] = "setupassist-draft/1"
    file: str
    folder: str
    job: Job
    opened: Job | None = None
    kept_at: str = ""
    process: int | None = None


class Recents(Document):
    """Files and folders that were opened, the latest first."""

    format: Literal["setupassist-recents/1"] = "setupassist-recents/1"
    paths: tuple[str, ...] = ()


class Preferences(Document):
    """How a person likes the window; None follows the system."""

    format: Literal["setupassist-preferences/1"] = "setupassist-preferences/1"
    language: str | None = None
    theme: Literal["light", "dark"] | None = None
    text_percent: Annotated[int, Field(ge=80, le=200)] = 100
    units: Literal["inch", "metric"] | None = None
    press: str | None = None
    started: bool = False
    place: str = "art"
    layout: Annotated[dict[str, str], Field(max_length=40)] = {}
    window: str = ""
