"""A press whose stations, load or unload change: what else of it has to follow, so that one edit is enough."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import Any

from setupassist.documents.press import MOST_STATIONS, Press
from setupassist.words import say

RING = ("stations", "load", "unload")
LISTS = ("heads", "flash_slots", "out_of_service")


def fitted(press: Press, changes: Mapping[str, Any]) -> tuple[dict[str, Any], str]:
    """The changes with what follows from them, and a sentence about what had to be left out ("" where nothing).

    Unload moves along where it was the last station. Lists of stations that are not changed themselves lose what is
    not on the way any more; where every station on the way had a head, new ones have one too. A head that is taken
    away is not out of service.
    """
    told = dict(changes)
    if "heads" in told and "out_of_service" not in told:
        told |= _only(press.out_of_service, set(_stations(told["heads"])), "out_of_service")
    if not any(name in told and _whole(told[name]) for name in RING):
        return told, ""
    stations = int(told.get("stations", press.stations))
    load = int(told.get("load", press.load))
    unload = int(told.get("unload", press.unload))
    if "stations" in told and "unload" not in told and (press.unload == press.stations or unload > stations):
        unload = told["unload"] = stations
    if "stations" in told and "load" not in told and load > stations:
        load = told["load"] = 1
    if not (2 <= stations <= MOST_STATIONS and 1 <= load <= stations and 1 <= unload <= stations):
        return told, ""
    way = way_of(stations, load, unload)
    dropped: set[int] = set()
    for name in LISTS:
        if name in told:
            continue
        own = getattr(press, name)
        kept = [station for station in own if station in way]
        if name == "heads" and set(own) == set(press.way):
            kept = list(way)
        if name == "out_of_service":
            kept = [station for station in kept if station in _stations(told.get("heads", press.heads))]
        if tuple(kept) != own:
            told[name] = kept
        if name != "heads" or set(own) != set(press.way):
            dropped |= {station for station in own if station not in way}
    if not dropped:
        return told, ""
    return told, say("place_shop.note.stations-left-out", stations=", ".join(map(str, sorted(dropped))))


def way_of(stations: int, load: int, unload: int) -> tuple[int, ...]:
    """Stations in travel order from the one after load to the one before unload."""
    way, at = [], load
    for _ in range(stations - 1):
        at = at % stations + 1
        if at == unload:
            break
        way.append(at)
    return tuple(way)


def toggled(press: Press, name: str, station: int) -> tuple[int, ...]:
    """The stations of ``heads``, ``flash_slots`` or ``out_of_service`` with one put in or taken out."""
    there = set(getattr(press, name)) ^ {station}
    return tuple(each for each in press.way if each in there)


def _only(own: Iterable[int], allowed: set[int], name: str) -> dict[str, Any]:
    kept = [station for station in own if station in allowed]
    return {name: kept} if kept != list(own) else {}


def _stations(value: Any) -> tuple[int, ...]:
    return tuple(value) if isinstance(value, tuple | list) else ()


def _whole(value: Any) -> bool:
    return isinstance(value, int) and not isinstance(value, bool)
