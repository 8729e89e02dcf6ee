"""Whether the press has room for a flash after every colour, and which inks stay wet together where it has not."""

from __future__ import annotations

from collections.abc import Callable, Sequence

from setupassist.documents.press import Press

Screen = str


def most_flashes(press: Press, screens: int, *, keep_empty: frozenset[int] = frozenset()) -> int:
    """The most gaps between ``screens`` screens in a row that can hold a flash on this press; 0 where they do not fit.

    One lap is counted station by station. More laps are counted by heads and units alone, so the planner may still
    find less room there.
    """
    way = [station for station in press.way if station not in keep_empty]
    heads = set(press.heads) - set(press.out_of_service)
    slots = set(press.flash_slots)
    if screens <= 0:
        return 0
    most = _one_lap(way, heads, slots, screens, press.flash_units)
    if press.max_laps > 1:
        for units in range(min(press.flash_units, len(slots & set(way))) + 1):
            free = len({s for s in way if s in heads or s in slots})
            if screens <= len(heads & set(way)) and screens + units <= free:
                most = max(most, min(screens - 1, units * press.max_laps))
    return most


def fits(press: Press, screens: int, *, first_flashes: int, keep_empty: frozenset[int] = frozenset()) -> bool:
    """Whether ``screens`` screens fit with a flash after each of the first ``first_flashes`` of them.

    One lap is walked station by station, each thing taking the first place that it can. More laps are counted by
    heads and units alone, so the planner may still find less room there.
    """
    way = [station for station in press.way if station not in keep_empty]
    heads = set(press.heads) - set(press.out_of_service)
    if press.max_laps > 1:
        return screens <= len(heads & set(way)) and first_flashes <= press.flash_units * press.max_laps
    wanted = [kind for place in range(screens) for kind in ("screen", "flash")[: 2 if place < first_flashes else 1]]
    for station in way:
        if wanted and station in (heads if wanted[0] == "screen" else press.flash_slots):
            wanted.pop(0)
    return not wanted and first_flashes <= press.flash_units


def _one_lap(way: Sequence[int], heads: set[int], slots: set[int], screens: int, units: int) -> int:
    # state: (screens placed, units used, a flash stands since the last screen) -> gaps flashed
    best: dict[tuple[int, int, bool], int] = {(0, 0, False): 0}
    for station in way:
        step = dict(best)
        for (placed, used, lit), flashed in best.items():
            options: list[tuple[tuple[int, int, bool], int]] = []
            if station in heads and placed < screens:
                options.append(((placed + 1, used, False), flashed + (1 if lit else 0)))
            if station in slots and used < units and placed and not lit:
                options.append(((placed, used + 1, True), flashed))
            for state, value in options:
                step[state] = max(step.get(state, -1), value)
        best = step
    return max((value for (placed, _, _), value in best.items() if placed == screens), default=0)


def wet_runs(
    order: Sequence[Screen], flashes: int, overlap_cm2: Callable[[Screen, Screen], float]
) -> tuple[tuple[Screen, ...], ...]:
    """The order cut into ``flashes`` + 1 runs at most so that the least overlap in cm² stays wet within a run."""
    count = len(order)
    if not count:
        return ()
    runs = min(flashes + 1, count)
    wet = [[0.0] * (count + 1) for _ in range(count + 1)]
    for start in range(count):
        for end in range(start + 1, count + 1):
            last = order[end - 1]
            wet[start][end] = wet[start][end - 1] + sum(overlap_cm2(order[i], last) for i in range(start, end - 1))
    # least[k][end] = (least wet overlap of the first `end` inks in k runs, where the last run starts)
    least: list[list[tuple[float, int]]] = [[(float("inf"), 0)] * (count + 1) for _ in range(runs + 1)]
    least[0][0] = (0.0, 0)
    for k in range(1, runs + 1):
        for end in range(k, count + 1):
            least[k][end] = min((least[k - 1][start][0] + wet[start][end], start) for start in range(k - 1, end))
    cut: list[tuple[Screen, ...]] = []
    end = count
    for k in range(runs, 0, -1):
        start = least[k][end][1]
        cut.append(tuple(order[start:end]))
        end = start
    return tuple(reversed(cut))
