"""Room for flashes on a press, and which inks stay wet where there is too little."""

from __future__ import annotations

from itertools import combinations, pairwise

from hypothesis import given
from hypothesis import strategies as st

from setupassist.documents.base import read_document
from setupassist.documents.press import Press
from setupassist.steps.room import fits, most_flashes, wet_runs


def press(slots: list[int], units: int, *, stations: int = 10, laps: int = 1, out: list[int] | None = None) -> Press:
    heads = list(range(2, stations))
    data = {
        "name": "p", "stations": stations, "load": 1, "unload": stations, "heads": heads, "flash_slots": slots,
        "flash_units": units, "max_laps": laps, "out_of_service": out or [],
    }  # fmt: skip
    return read_document(Press, data, "press")


def test_a_flash_after_each_of_three_screens() -> None:
    # eight stations on the way: screen, flash, screen, flash, screen takes five
    assert most_flashes(press([3, 5, 7], 3), 3) == 2
    assert most_flashes(press([3, 5, 7], 1), 3) == 1
    assert most_flashes(press([3, 5, 7], 0), 3) == 0
    assert most_flashes(press([], 3), 3) == 0


def test_screens_take_the_room_first() -> None:
    # eight screens fill the eight stations
    assert most_flashes(press([3, 5, 7], 3), 8) == 0
    assert most_flashes(press([3, 5, 7], 3), 7) == 1
    assert most_flashes(press([3, 5, 7], 3, out=[2, 4]), 7) == 0
    assert most_flashes(press([3, 5, 7], 3), 9) == 0


def test_a_slot_before_the_first_screen_is_no_use() -> None:
    assert most_flashes(press([2], 1), 3) == 0
    assert most_flashes(press([3], 1), 3, keep_empty=frozenset({3})) == 0


def test_room_for_flashes_is_that_of_one_lap() -> None:
    assert most_flashes(press([5], 1, laps=3), 4) == 1


def cooled(stations: int, cooling: int, word: str) -> Press:
    slots = list(range(2, stations))
    made = press(slots, len(slots), stations=stations)
    return read_document(
        Press, made.model_dump(by_alias=True) | {"cooling_stations": cooling, "cooling": word}, "press"
    )


@given(st.integers(3, 11), st.integers(1, 4), st.integers(0, 2))
def test_a_flash_and_its_cooling_take_their_stations(stations: int, screens: int, cooling: int) -> None:
    # every station takes either: each flash costs itself and its idle stations
    free = stations - 2 - screens
    expected = min(screens - 1, free // (1 + cooling)) if free >= 0 else 0
    assert most_flashes(cooled(stations, cooling, "preferred"), screens) == expected


def test_a_required_cooling_station_is_counted_for_a_base_printed_twice() -> None:
    # base 2, flash 3, idle 4, base 5, flash 6, idle 7, red 8
    assert fits(cooled(9, 1, "required"), 3, first_flashes=2)
    assert not fits(cooled(8, 1, "required"), 3, first_flashes=2)
    assert fits(cooled(8, 1, "preferred"), 3, first_flashes=2)


def test_a_base_printed_twice_fits_or_not_station_by_station() -> None:
    # stations 2 to 9: base 2, flash 3, base 4, flash 5, then four more
    assert fits(press([3, 5], 2), 6, first_flashes=2)
    assert not fits(press([3, 5], 2), 7, first_flashes=2)
    assert not fits(press([3, 6], 2), 6, first_flashes=2)  # station 5 stays empty or the flash comes late
    assert not fits(press([3, 5], 1), 6, first_flashes=2)
    assert not fits(press([3, 5], 2), 6, first_flashes=2, keep_empty=frozenset({9}))
    assert fits(press([3], 1, laps=2), 6, first_flashes=2)


def test_the_least_overlap_stays_wet() -> None:
    overlaps = {frozenset("ab"): 9.0, frozenset("bc"): 1.0, frozenset("cd"): 5.0}

    def overlap(one: str, two: str) -> float:
        return overlaps.get(frozenset((one, two)), 0.0)

    assert wet_runs("abcd", 0, overlap) == (("a", "b", "c", "d"),)
    assert wet_runs("abcd", 1, overlap) == (("a",), ("b", "c", "d"))
    assert wet_runs("abcd", 2, overlap) == (("a",), ("b", "c"), ("d",))
    assert wet_runs("abcd", 9, overlap) == (("a",), ("b",), ("c",), ("d",))
    assert wet_runs("", 2, overlap) == ()


@given(st.integers(1, 6), st.integers(0, 5), st.lists(st.integers(0, 9), min_size=15, max_size=15))
def test_no_other_cut_leaves_less_wet(count: int, flashes: int, areas: list[int]) -> None:
    names = "abcdef"[:count]
    pairs = {frozenset(pair): areas[i] for i, pair in enumerate(combinations(names, 2))}

    def wet(runs: tuple[tuple[str, ...], ...]) -> float:
        return sum(pairs[frozenset(pair)] for run in runs for pair in combinations(run, 2))

    found = wet_runs(names, flashes, lambda one, two: pairs[frozenset((one, two))])
    assert "".join("".join(run) for run in found) == names
    assert len(found) <= flashes + 1
    for cuts in range(min(flashes, count - 1) + 1):
        for places in combinations(range(1, count), cuts):
            edges = (0, *places, count)
            other = tuple(tuple(names[a:b]) for a, b in pairwise(edges))
            assert wet(found) <= wet(other)
