"""Whether a press holds a set of screens and the flashes that their limits want, before the planner is asked.

In one lap the count is station by station. It leaves pins and what must stay wet to the planner, and more laps are
counted by stations and units alone, so the planner may still find less room. It finds more only where inks that a
flash must part in either order fit better in another than the standard one.
"""

from __future__ import annotations

from collections.abc import Sequence

from setupassist.documents.plan import Limits, Pair
from setupassist.documents.press import Press
from setupassist.steps.needs import ScreenNeed
from setupassist.steps.room import one_lap_holds


def press_holds(
    press: Press,
    screens: Sequence[ScreenNeed],
    limits: Limits,
    *,
    standard: Sequence[str],
    keep_empty: frozenset[int] = frozenset(),
) -> bool:
    """Whether the screens fit with the flashes that the limits want between them."""
    times = {screen.ink: screen.prints for screen in screens}
    earliest, latest, flashes = _levels(times, limits, standard)
    if any(first > last for first, last in zip(earliest, latest, strict=True)):
        return False  # a flash is wanted after an ink that takes none
    windows = [
        (sum(level < k for level in latest), sum(level < k for level in earliest)) for k in range(1, flashes + 1)
    ]
    if one_lap_holds(press, sum(times.values()), windows, keep_empty=keep_empty):
        return True
    if press.max_laps == 1:
        return False
    free = set(press.way) - keep_empty
    heads = free & (set(press.heads) - set(press.out_of_service))
    things = len(heads | (free & set(press.flash_slots)))
    units = 1 if flashes else 0
    enough = len(times) <= len(heads) and len(times) + units <= things
    return enough and flashes <= press.flash_units * press.max_laps


def _levels(times: dict[str, int], limits: Limits, standard: Sequence[str]) -> tuple[list[int], list[int], int]:
    """For each print the fewest flashes before it, and the most that may be, and how many flashes there are."""
    gelled = {(a, b) for a, b in limits.flash_between} | _in_turn(limits, standard)
    order = [(a, b) for a, b in (*limits.order, *gelled) if a in times and b in times]
    nodes = [(ink, nth) for ink in standard if ink in times for nth in range(1, times[ink] + 1)]
    edges = [((ink, 1), (ink, 2), 1) for ink, count in times.items() if count > 1]
    edges += [((a, times[a]), (b, 1), 1 if (a, b) in gelled else 0) for a, b in order]
    before = dict.fromkeys(nodes, 0)
    after = dict.fromkeys(nodes, 0)
    for _ in nodes:  # the longest chains, as no chain has more links than there are prints
        changed = False
        for one, two, flash in edges:
            if before[two] < before[one] + flash:
                before[two], changed = before[one] + flash, True
            if after[one] < after[two] + flash:
                after[one], changed = after[two] + flash, True
        if not changed:
            break
    flashes = max((before[node] + after[node] for node in nodes), default=0)
    last = set(limits.no_flash_after)
    earliest = [flashes if ink in last else before[ink, nth] for ink, nth in nodes]
    return earliest, [flashes - after[node] for node in nodes], flashes


def _in_turn(limits: Limits, standard: Sequence[str]) -> set[Pair]:
    """Pairs that some flash parts whichever comes first, in the standard order unless the limits turn them."""
    alone = [ink for ink in standard if ink in limits.alone_until_flash]
    pairs = [(a, b) for i, a in enumerate(alone) for b in alone[i + 1 :]] + list(limits.never_wet)
    turned = set(limits.order)
    return {(b, a) if (b, a) in turned else (a, b) for a, b in pairs}
