"""Why every screen and flash stands where it stands: reasons that hold for the plan at hand, with their figures."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import replace
from itertools import pairwise

from setupassist.documents.plan import Pair, Reason
from setupassist.documents.press import Cooling
from setupassist.documents.terms import UNDER_ROLES
from setupassist.planner.judge import Walk, broken_limits, idle_after, wish_values
from setupassist.planner.problem import Problem, Standing
from setupassist.planner.rules import RULE, THIS_JOB
from setupassist.planner.wish_words import wish_change_words
from setupassist.planner.wishes import STRATEGIES
from setupassist.words import joined, say

MOST_NAMED = 6
TIE_BREAK = "sources.tie-break"


def reasons(problem: Problem, standings: Iterable[Standing]) -> dict[Standing, tuple[Reason, ...]]:
    """For each standing its reasons, the strongest first: pins, layers, flashes, then what the other way would cost.

    Every figure is worked out on this arrangement: an overlap from the art, a cost by swapping two screens or by
    leaving a flash out and judging again. Any arrangement may be asked about, also one made by hand.
    """
    plan = tuple(standings)
    walk = Walk(problem, plan)
    told: dict[Standing, tuple[Reason, ...]] = {}
    for k, standing in enumerate(walk.standings):
        found = _flash(walk, k) if standing.ink is None else _screen(walk, k)
        told[standing] = tuple(found)
    return told


def _screen(walk: Walk, k: int) -> list[Reason]:
    problem, standing, ink = walk.problem, walk.standings[k], walk.inks[k]
    assert standing.ink is not None
    assert ink is not None
    found = []
    if problem.pins.get(standing.ink) == standing.station:
        found.append(_reason("pinned", "pinned", station=standing.station))
    if ink not in problem.inks:
        return found
    found += _again(walk, k, ink)
    found += _layers(walk, ink)
    found += _heat(walk, k, ink)
    found += _the_other_way(walk, k, ink)
    if problem.on_press_now.get(standing.station) == standing.ink:
        found.append(_reason("moves", "stands-here-now"))
    if not found and standing in problem.kept:
        found.append(_reason("kept", "kept", THIS_JOB))
    if not found:
        found.append(_reason("earliest", "earliest", TIE_BREAK))
    return found


def _again(walk: Walk, k: int, ink: str) -> list[Reason]:
    prints = walk.at[ink]
    if walk.problem.times_printed(ink) != 2 or len(prints) != 2:
        return []
    first, second = prints
    flashes = [m for m in range(first + 1, second) if walk.inks[m] is None]
    if not flashes:
        return []
    same = walk.standings[first].ink == walk.standings[second].ink
    by = "same-screen" if same else "second-screen"
    nth, other = ("first", second) if k == first else ("second", first)
    return [
        _reason("printed-flashed-printed", f"{nth}-print-{by}",
                flash=_where(walk, flashes[0]), other=_where(walk, other))
    ]  # fmt: skip


def _layers(walk: Walk, ink: str) -> list[Reason]:
    problem, found = walk.problem, []
    present = {name for name in problem.inks if walk.at[name]}
    held = [p for p in problem.limits.order if ink in p and present.issuperset(p) and _in_order(walk, p)]
    asked = [p for p in held if p in problem.given.order or p in problem.given.flash_between]
    layered = [p for p in held if p not in asked and (_overlap(problem, p) or not problem.overlaps_cm2)]
    for pairs, given in ((layered, False), (asked, True)):
        over = [b for a, b in pairs if a == ink]
        under = [a for a, b in pairs if b == ink]
        if over and given:
            found.append(_reason("order", "before-asked-for", THIS_JOB, inks=_names(over)))
        elif over and problem.roles.get(ink) in UNDER_ROLES:
            told = "base-first" if _is_first(walk, ink) else "base-lies-under"
            found.append(_reason("base-before-its-colours", told, overlaps=_overlaps(problem, ink, over)))
        elif over:
            found.append(_reason("order", "before-what-lies-over", inks=_names(over)))
        if under and given:
            found.append(_reason("order", "after-asked-for", THIS_JOB, inks=_names(under)))
        elif under:
            found.append(_reason("order", "after-what-it-lies-on", overlaps=_overlaps(problem, ink, under)))
    return found


def _heat(walk: Walk, k: int, ink: str) -> list[Reason]:
    limits, found = walk.problem.limits, []
    later = [m for m in range(k + 1, len(walk.inks)) if walk.inks[m] is None]
    if ink in limits.alone_until_flash and later and walk.inks[k + 1] in (None, ink):
        found.append(_reason("alone-until-flash", "alone-until-flash", flash=_where(walk, later[0])))
    wet = [b if a == ink else a for a, b in limits.no_flash_between if ink in (a, b)]
    wet = [name for name in wet if walk.at[name] and not _flash_parts(walk, ink, name)]
    if wet:
        found.append(_reason("stays-wet", "stays-wet", inks=_names(wet)))
    if ink in limits.no_flash_after and not later:
        found.append(_reason("no-flash-after", "no-flash-after"))
    return found


def _the_other_way(walk: Walk, k: int, ink: str) -> list[Reason]:
    """What swapping it with its neighbour in print order would break or cost; one neighbour is told, the one before."""
    if k != walk.at[ink][0] or walk.standings[k].ink in walk.problem.pins:
        return []
    prints = [m for m, name in enumerate(walk.inks) if name is not None]
    place = prints.index(k)
    for m, word in ((prints[place - 1] if place else None, "after"), (_next(prints, place), "before")):
        other = None if m is None else walk.inks[m]
        if m is None or other is None or other == ink or other not in walk.problem.inks:
            continue
        if len(walk.at[ink]) > 1 or len(walk.at[other]) > 1 or _ordered(walk.problem, ink, other):
            continue
        return [r for r in [_swapped(walk, k, m, f"{word}-other-way-round", other)] if r is not None]
    return []


def _swapped(walk: Walk, k: int, m: int, told: str, other: str) -> Reason | None:
    """The first thing that gets worse, in the strategy's order, when the k-th and the m-th change places."""
    problem, plan = walk.problem, walk.standings
    one, two = plan[k], plan[m]
    changed = [s for s in plan if s not in (one, two)] + [replace(one, ink=two.ink), replace(two, ink=one.ink)]
    known = {(b.rule, b.text) for b in broken_limits(problem, plan)}
    broken = [b for b in broken_limits(problem, changed) if (b.rule, b.text) not in known]
    if broken:
        return _reason(broken[0].rule, told, other=other, what=broken[0].text)
    now, then = wish_values(problem, plan), wish_values(problem, changed)
    for wish in STRATEGIES[problem.strategy]:
        if then[wish] > now[wish]:
            return _reason(wish, told, other=other, what=wish_change_words(wish, then[wish] - now[wish]))
        if then[wish] < now[wish] and wish != "wet_harm":
            return None
    return None


def _flash(walk: Walk, k: int) -> list[Reason]:
    problem, standing = walk.problem, walk.standings[k]
    found = []
    if standing.station in problem.flash_pins:
        found.append(_reason("flash-pinned", "flash-pinned", station=standing.station))
    found += _gels(walk, k)
    found += _without(walk, k, bool(found))
    found += _cools(walk, k)
    if problem.on_press_now.get(standing.station) == "flash":
        found.append(_reason("moves", "unit-stands-here-now"))
    return found


def _gels(walk: Walk, k: int) -> list[Reason]:
    """What it gels for what, of the pairs that need a flash between them; it may share that with other flashes."""
    problem, limits, found = walk.problem, walk.problem.limits, []
    fresh = _fresh(walk, k)
    waiting: dict[str, list[str]] = {}
    asked: dict[str, list[str]] = {}
    for a, b in limits.flash_between:
        if a in fresh and walk.at[b] and walk.at[a][-1] < k < walk.at[b][0]:
            into = asked if (a, b) in problem.given.flash_between else waiting
            into.setdefault(a, []).append(b)
    for a, later in waiting.items():
        rule = "flash-before-its-colours" if problem.roles.get(a) in UNDER_ROLES else "flash-between"
        found.append(_reason(rule, "gels-before", ink=a, inks=_names(_in_print_order(walk, later))))
    for a, later in asked.items():
        names = _names(_in_print_order(walk, later))
        found.append(_reason("flash-between", "gels-before-asked-for", THIS_JOB, ink=a, inks=names))
    for ink in fresh:
        prints = walk.at[ink]
        if problem.times_printed(ink) == 2 and len(prints) == 2 and prints[0] < k < prints[1]:
            found.append(_reason("printed-flashed-printed", "gels-before-again", ink=ink))
    for a, b in limits.never_wet:
        for first, second in ((a, b), (b, a)):
            if first in fresh and any(m > k for m in walk.at[second]):
                found.append(_reason("never-wet", "keeps-off", later=second, first=first))
    return found


def _without(walk: Walk, k: int, needed: bool) -> list[Reason]:
    """What leaving this flash out would break, where nothing told so yet, or cost in wet harm."""
    problem, plan = walk.problem, walk.standings
    left = [s for s in plan if s != plan[k]]
    harm, without = (wish_values(problem, p)["wet_harm"] for p in (plan, left))
    found = []
    if not needed:
        known = {(b.rule, b.text) for b in broken_limits(problem, plan)}
        broken = [b for b in broken_limits(problem, left) if (b.rule, b.text) not in known]
        if broken:
            found.append(_reason(broken[0].rule, "without-it", what=broken[0].text))
    if without > harm:
        found.append(_reason("wet_harm", "without-it", what=wish_change_words("wet_harm", without - harm)))
    if not needed and not found:
        gelled = sorted(_fresh(walk, k))
        found.append(_reason("flash-gels-something", "gels" if gelled else "nothing-wet", inks=_names(gelled)))
    return found


def _cools(walk: Walk, k: int) -> list[Reason]:
    press = walk.problem.press
    flash = walk.standings[k]
    if not press.cooling_stations or flash.station not in walk.place:
        return []
    idle, later = idle_after(walk.problem, walk.standings, flash)
    if later is None:
        return []
    rule = "cooling" if press.cooling is Cooling.REQUIRED else "missing_cooling"
    lacking = "too-few-idle-after" if idle else "no-idle-after"
    told = "idle-after" if idle >= press.cooling_stations else lacking
    return [_reason(rule, told, count=idle, ink=later.ink, wished=press.cooling_stations)]


def _fresh(walk: Walk, k: int) -> dict[str, None]:
    """Inks printed since the flash before, in print order."""
    start = max((m + 1 for m in range(k) if walk.inks[m] is None), default=0)
    return dict.fromkeys(ink for ink in walk.inks[start:k] if ink is not None)


def _in_order(walk: Walk, pair: Pair) -> bool:
    return walk.at[pair[0]][-1] < walk.at[pair[1]][0]


def _ordered(problem: Problem, one: str, two: str) -> bool:
    held = {*problem.limits.order, *problem.limits.flash_between}
    return (one, two) in held or (two, one) in held


def _flash_parts(walk: Walk, one: str, two: str) -> bool:
    row = sorted(walk.at[one] + walk.at[two])
    return any(walk.flash_between(k, m) for k, m in pairwise(row) if walk.inks[k] != walk.inks[m])


def _is_first(walk: Walk, ink: str) -> bool:
    return next(name for name in walk.inks if name is not None) == ink


def _in_print_order(walk: Walk, names: Sequence[str]) -> list[str]:
    return sorted(names, key=lambda name: walk.at[name][0])


def _overlap(problem: Problem, pair: Pair) -> float:
    return problem.overlaps_cm2.get(frozenset(pair), 0.0)


def _overlaps(problem: Problem, ink: str, others: Sequence[str]) -> str:
    """``yellow 68 cm², red 53 cm²``, largest overlap first."""
    sized = sorted(((_overlap(problem, (ink, other)), other) for other in others), key=lambda e: (-e[0], e[1]))
    return _names([say("planner.names.overlap", name=o, area=_cm2(cm2)) if cm2 else o for cm2, o in sized])


def _cm2(area: float) -> str:
    """Whole from 10 cm² up, one decimal below, and never 0 of what is there."""
    if round(area, 1) >= 10:
        return f"{area:.0f}"
    return f"{max(area, 0.1):.1f}".removesuffix(".0")


def _names(names: Sequence[str]) -> str:
    more = len(names) - MOST_NAMED
    if more < 2:
        return joined(names)
    return say("planner.names.more", names=joined(names[:MOST_NAMED]), more=more)


def _next(prints: Sequence[int], place: int) -> int | None:
    return prints[place + 1] if place + 1 < len(prints) else None


def _where(walk: Walk, k: int) -> str:
    """``5``, or ``5 in lap 2`` where the arrangement takes several laps."""
    standing = walk.standings[k]
    if walk.several_laps:
        return say("planner.place.station-in-lap", station=standing.station, lap=standing.lap)
    return str(standing.station)


def _reason(rule: str, told: str, source: str | None = None, **values: object) -> Reason:
    """A reason by the id of its sentence; its source is the rule's own where none is given."""
    if source is None:
        known = {"base-before-its-colours": "order", "flash-before-its-colours": "flash-between"}.get(rule, rule)
        source = RULE[known].source_id
    return Reason(rule=rule, text=say(f"planner.reason.{told}", **values), source=say(source))
