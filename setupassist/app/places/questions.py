"""The place of questions."""

from __future__ import annotations

from setupassist.app.place import Place


class QuestionsPlace(Place):
    """Not built yet."""

    key = "questions"
