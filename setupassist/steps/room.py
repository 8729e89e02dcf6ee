"""Whether the press has room for a flash after every colour, and which inks stay wet together where it has not."""

from __future__ import annotations

from collections.abc import Callable, Sequence

from setupassist.documents.press import Cooling, Press

Screen = str


def most_flashes(press: Press, screens: int, *, keep_empty: frozenset[int] = frozenset()) -> int:
    """The most gaps between ``screens`` screens in a row that can hold a flash and the cooling it asks for, in one lap.

    Counted station by station; 0 where the screens do not fit in one lap.
    """
    heads = set(press.heads) - set(press.out_of_service) - keep_empty
    slots = set(press.flash_slots) - keep_empty
    if screens <= 0:
        return 0
    return _one_lap(press, heads, slots, screens)


def fits(press: Press, screens: int, *, first_flashes: int, keep_empty: frozenset[int] = frozenset()) -> bool:
    """Whether ``screens`` screens fit with a flash after each of the first ``first_flashes`` of them.

    One lap is walked station by station. More laps are counted by heads and units alone, so the planner may still
    find less room there.
    """
    if press.max_laps > 1:
        heads = set(press.heads) - set(press.out_of_service) - keep_empty
        return screens <= len(heads) and first_flashes <= press.flash_units * press.max_laps
    windows = [(k, k) for k in range(1, first_flashes + 1)]
    return one_lap_holds(press, screens, windows, keep_empty=keep_empty)


def one_lap_holds(
    press: Press, prints: int, windows: Sequence[tuple[int, int]], *, keep_empty: frozenset[int] = frozenset()
) -> bool:
    """Whether one lap holds ``prints`` prints and a flash for each of ``windows``, one after the other.

    Flash k acts when at least ``windows[k][0]`` and at most ``windows[k][1]`` prints are down. Where the press requires
    cooling, the screen after a flash waits for it.
    """
    if len(windows) > press.flash_units:
        return False
    heads = set(press.heads) - set(press.out_of_service) - keep_empty
    slots = set(press.flash_slots) - keep_empty
    cooling = press.cooling_stations if press.cooling is Cooling.REQUIRED else 0
    states = {(0, 0, cooling)}  # prints down, flashes acted, idle stations since the last flash
    for station in press.way:
        step = set()
        for down, acted, idle in states:
            step.add((down, acted, min(idle + 1, cooling)))
            if station in heads and down < prints and idle >= cooling:
                step.add((down + 1, acted, cooling))
            if station in slots and acted < len(windows) and windows[acted][0] <= down <= windows[acted][1]:
                step.add((down, acted + 1, 0))
        states = step
    return any((down, acted) == (prints, len(windows)) for down, acted, _ in states)


def _one_lap(press: Press, heads: set[int], slots: set[int], screens: int) -> int:
    units, cooling = press.flash_units, press.cooling_stations
    # state: (screens placed, units used, idle stations since a flash that no screen follows yet, -1 without one)
    best: dict[tuple[int, int, int], int] = {(0, 0, -1): 0}  # -> gaps flashed
    for station in press.way:
        step: dict[tuple[int, int, int], int] = {}
        for (placed, used, idle), flashed in best.items():
            waited = idle if idle < 0 else min(idle + 1, cooling)
            options = [((placed, used, waited), flashed)]
            if station in heads and placed < screens and (idle < 0 or idle >= cooling):
                options.append(((placed + 1, used, -1), flashed + (1 if idle >= 0 else 0)))
            if station in slots and used < units and placed and idle < 0:
                options.append(((placed, used + 1, 0), flashed))
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
