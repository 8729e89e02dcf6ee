"""The places of the window, one module each, in the order of work."""

from __future__ import annotations

from setupassist.app.place import Place
from setupassist.app.places.art import ArtPlace
from setupassist.app.places.questions import QuestionsPlace
from setupassist.app.places.run import RunPlace
from setupassist.app.places.screens import ScreensPlace
from setupassist.app.places.shop import ShopPlace
from setupassist.app.places.stations import StationsPlace

PLACES: tuple[type[Place], ...] = (ArtPlace, QuestionsPlace, StationsPlace, ScreensPlace, RunPlace, ShopPlace)
