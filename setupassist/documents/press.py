"""The press as the planner sees it: stations in travel order, heads, flash slots, laps and times."""

from __future__ import annotations

from enum import StrEnum
from typing import Annotated

from pydantic import Field, model_validator

from setupassist.documents.base import Document, Name
from setupassist.words import say

MOST_STATIONS = 100
MOST_LAPS = 6

Seconds = Annotated[float, Field(ge=0, le=3600)]
Speed = Annotated[float, Field(ge=1, le=10_000)]
Millimetres = Annotated[float, Field(ge=1, le=5_000)]
Stations = Annotated[tuple[int, ...], Field(max_length=MOST_STATIONS)]


class Cooling(StrEnum):
    """Whether an idle station after a flash is wished for or demanded."""

    PREFERRED = "preferred"
    REQUIRED = "required"


class DwellRange(Document):
    """Extra dwell that the press can add to its own cycle, in seconds."""

    from_: Annotated[float, Field(alias="from", ge=0, le=60)] = 1
    to: Annotated[float, Field(ge=0, le=120)] = 10
    step: Annotated[float, Field(ge=0.01, le=60)] = 1

    @model_validator(mode="after")
    def _ordered(self) -> DwellRange:
        if self.to < self.from_:
            raise ValueError(say("documents.press.dwell-range"))
        return self


class Press(Document):
    """One carousel: stations 1..``stations`` in travel order; garments come on at ``load`` and off at ``unload``."""

    name: Name
    stations: Annotated[int, Field(ge=2, le=MOST_STATIONS)]
    load: Annotated[int, Field(ge=1)]
    unload: Annotated[int, Field(ge=1)]
    heads: Stations
    frame_mm: tuple[Millimetres, Millimetres] = (584.0, 787.0)
    out_of_service: Stations = ()
    flash_slots: Stations = ()
    flash_units: Annotated[int, Field(ge=0, le=MOST_STATIONS)] = 0
    max_laps: Annotated[int, Field(ge=1, le=MOST_LAPS)] = 1
    cooling_stations: Annotated[int, Field(ge=0, le=MOST_STATIONS)] = 0
    cooling: Cooling = Cooling.PREFERRED
    max_print_mm: tuple[Millimetres, Millimetres] = (400.0, 450.0)
    index_seconds: Seconds = 2.0
    print_mm_per_second: Speed = 500.0
    flood_mm_per_second: Speed = 700.0
    lift_seconds: Seconds = 0.6
    dwell_seconds: DwellRange = DwellRange()
    crew_seconds: Seconds = 6.0
    sources: dict[str, str] = {}

    @model_validator(mode="after")
    def _stands_together(self) -> Press:
        for field in ("load", "unload"):
            station = getattr(self, field)
            if station > self.stations:
                told = say("documents.press.beyond-stations", field=field, station=station, stations=self.stations)
                raise ValueError(told)
        way = set(self.way)
        if not self.heads:
            raise ValueError(say("documents.press.no-heads"))
        for field in ("heads", "flash_slots", "out_of_service"):
            stations = getattr(self, field)
            if len(set(stations)) != len(stations):
                raise ValueError(say("documents.press.station-twice", field=field))
            strangers = sorted(set(stations) - way)
            if strangers:
                ends = {"load": self.load, "unload": self.unload}
                raise ValueError(say("documents.press.off-the-way", field=field, station=strangers[0], **ends))
        headless = sorted(set(self.out_of_service) - set(self.heads))
        if headless:
            raise ValueError(say("documents.press.no-head", station=headless[0]))
        return self

    @property
    def way(self) -> tuple[int, ...]:
        """Stations in travel order from the one after load to the one before unload."""
        stations, at = [], self.load
        for _ in range(self.stations - 1):
            at = at % self.stations + 1
            if at == self.unload:
                break
            stations.append(at)
        return tuple(stations)
