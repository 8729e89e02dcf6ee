"""What an arrangement breaks and what each wish counts in it, in plain Python.

It shares nothing with the model that the solver is given: it walks the prints and flash actions in the order in
which a garment meets them. A planned arrangement is judged with it, and so is one made by hand, however odd.
"""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from itertools import combinations, pairwise

from setupassist.documents.press import Cooling
from setupassist.planner.problem import Problem, Standing
from setupassist.words import say

LapStation = tuple[int, int]
NAMED = ("screen", "ink", "first", "later", "other", "thing", "things", "pin")


@dataclass(frozen=True)
class Broken:
    """A limit that an arrangement breaks: its rule's id, a plain sentence, and the (lap, station) places.

    ``names`` are the inks, screens and pins that it is about, without where they stand.
    """

    rule: str
    text: str
    slots: tuple[LapStation, ...] = ()
    names: tuple[str, ...] = ()


def broken_limits(problem: Problem, standings: Iterable[Standing]) -> list[Broken]:
    """Every limit that the arrangement breaks, in one fixed order; empty where it is a plan.

    Limits about an ink hold for all its prints, whichever screen makes them. Where a screen is missing, the limits
    between it and others are not told besides.
    """
    walk = Walk(problem, standings)
    return [
        *_places(walk), *_screens(walk), *_flash_units(walk), *_pins(walk), *_order(walk), *_flashes_between(walk),
        *_stays_wet(walk), *_alone(walk), *_no_flash_after(walk), *_useless(walk), *_cooling(walk),
    ]  # fmt: skip


def wish_values(problem: Problem, standings: Iterable[Standing]) -> dict[str, int]:
    """The six wishes as counted in the arrangement; ``wet_harm`` in whole tenths of cm²·ΔE.

    laps: the highest in which a screen prints. flash_units: stations where one stands. wet_harm: each pair of inks
    once where some print of one comes before some print of the other and no flash acts between. departures: pairs
    of inks whose first prints stand the other way round than in the standard order, those of ``limits.order``
    (taken transitively) left out. missing_cooling: flash actions with fewer than ``cooling_stations`` idle slots
    before the next screen of the same lap. moves: (station, thing) that come or go against what stands there now.
    """
    walk = Walk(problem, standings)
    return {
        "laps": max((s.lap for s in walk.standings if s.ink is not None), default=0),
        "flash_units": len({s.station for s in walk.standings if s.ink is None}),
        "wet_harm": sum(harm for _, _, harm in _wet_pairs(walk)),
        "departures": len(_departed_pairs(walk)),
        "missing_cooling": len(_uncooled(walk)),
        "moves": _moves(walk),
    }


def wet_pairs(problem: Problem, standings: Iterable[Standing]) -> list[tuple[str, str, int]]:
    """(first ink, ink over it while wet, harm in tenths) of every pair that costs harm in the arrangement."""
    return _wet_pairs(Walk(problem, standings))


def departed_pairs(problem: Problem, standings: Iterable[Standing]) -> list[tuple[str, str]]:
    """(ink that the standard order puts first, ink that stands before it) of every departure."""
    return _departed_pairs(Walk(problem, standings))


def idle_after(problem: Problem, standings: Iterable[Standing], flash: Standing) -> tuple[int, Standing | None]:
    """Idle slots after a flash action before the next screen of its lap, and that screen (None where none follows)."""
    walk = Walk(problem, standings)
    return _idle(walk, walk.standings.index(flash))


class Walk:
    """The arrangement as a garment meets it.

    ``standings`` are sorted by lap and place on the way (stations off the way last); ``at[ink]`` are the places of
    an ink's prints in that row; ``flashes_before[k]`` counts the flash actions before the k-th.
    """

    def __init__(self, problem: Problem, standings: Iterable[Standing]) -> None:
        self.problem = problem
        way = problem.press.way
        self.place = {station: i for i, station in enumerate(way)}
        off = len(way)
        self.standings = sorted(
            set(standings), key=lambda s: (s.lap, self.place.get(s.station, off + s.station), s.ink or "")
        )
        self.inks = [None if s.ink is None else problem.ink_of_screen.get(s.ink, s.ink) for s in self.standings]
        self.at: dict[str, list[int]] = defaultdict(list)
        self.flashes_before: list[int] = []
        acted = 0
        for k, ink in enumerate(self.inks):
            self.flashes_before.append(acted)
            if ink is None:
                acted += 1
            else:
                self.at[ink].append(k)
        self.acted = acted
        self.several_laps = any(s.lap > 1 for s in self.standings)

    def flash_between(self, k: int, m: int) -> bool:
        """Whether a flash acts strictly between the k-th and the m-th standing (k < m)."""
        return self.flashes_before[m] - self.flashes_before[k] > (self.inks[k] is None)

    def wet(self, one: str, two: str) -> bool:
        """Whether some print of ``one`` comes before some print of ``two`` with no flash between."""
        return any(k < m and not self.flash_between(k, m) for k in self.at[one] for m in self.at[two])

    def slots(self, *places: int) -> tuple[LapStation, ...]:
        """(lap, station) of the given standings."""
        return tuple((self.standings[k].lap, self.standings[k].station) for k in places)

    def where(self, k: int) -> str:
        """``station 5``, or ``lap 2, station 5`` where the arrangement takes several laps."""
        standing = self.standings[k]
        if self.several_laps:
            return say("planner.place.lap-and-station", lap=standing.lap, station=standing.station)
        return say("planner.place.station", station=standing.station)


def _wet_pairs(walk: Walk) -> list[tuple[str, str, int]]:
    harmed = zip(walk.problem.inks, walk.problem.harm, strict=True)
    return [
        (one, two, harm)
        for one, row in harmed
        for two, harm in zip(walk.problem.inks, row, strict=True)
        if one != two and harm and walk.wet(one, two)
    ]


def _departed_pairs(walk: Walk) -> list[tuple[str, str]]:
    held = _closed(walk.problem.limits.order)
    return [
        (a, b)
        for a, b in combinations(walk.problem.standard_order, 2)
        if walk.at[a] and walk.at[b] and walk.at[b][0] < walk.at[a][0] and (a, b) not in held and (b, a) not in held
    ]


def _broken(rule: str, key: str, slots: tuple[LapStation, ...] = (), **values: object) -> Broken:
    named = tuple(str(values[name]) for name in NAMED if name in values)
    return Broken(rule, say(f"planner.broken.{key}", **values), slots, named)


def _places(walk: Walk) -> list[Broken]:
    problem, press = walk.problem, walk.problem.press
    found = []
    things: dict[int, set[str | None]] = defaultdict(set)
    for standing in walk.standings:
        things[standing.station].add(standing.ink)
    for station, here in sorted(things.items()):
        slots = tuple((s.lap, s.station) for s in walk.standings if s.station == station)
        screens = sorted(name for name in here if name is not None)
        names = sorted(say("planner.flash-unit") if name is None else name for name in here)
        if len(names) > 1:
            found.append(
                _broken("one-thing-a-station", "one-thing-a-station", slots, station=station, things=_all(names))
            )
        if station not in walk.place:
            text = say("planner.off-the-way", station=station, load=press.load, unload=press.unload)
            found.append(Broken("on-the-way", text, slots, tuple(map(str, names))))
            continue
        if screens and station not in press.heads:
            found.append(_broken("head-in-service", "no-head", slots, screen=screens[0], station=station))
        elif screens and station in press.out_of_service:
            found.append(_broken("head-in-service", "out-of-service", slots, screen=screens[0], station=station))
        if None in here and station not in press.flash_slots:
            found.append(_broken("flash-slot", "no-flash-slot", slots, station=station))
        if station in problem.keep_empty:
            found.append(_broken("kept-empty", "kept-empty", slots, thing=names[0], station=station))
    return found


def _screens(walk: Walk) -> list[Broken]:
    problem, found = walk.problem, []
    known = problem.ink_of_screen
    stations: dict[str, set[int]] = defaultdict(set)
    prints: Counter[str] = Counter()
    for standing in walk.standings:
        if standing.ink is not None:
            stations[standing.ink].add(standing.station)
            prints[standing.ink] += 1
    for screen, where in sorted(stations.items()):
        slots = tuple((s.lap, s.station) for s in walk.standings if s.ink == screen)
        if screen not in known:
            found.append(_broken("every-screen-prints", "stranger", slots, screen=screen))
        elif len(where) > 1:
            told = _all([str(station) for station in sorted(where)])
            found.append(_broken("one-station-a-screen", "several-stations", slots, screen=screen, stations=told))
    for ink in problem.inks:
        times = problem.times_printed(ink)
        made, second = prints[ink], prints[f"{ink} 2"] if times == 2 else 0
        slots = walk.slots(*walk.at[ink])
        if made + second != times:
            told = "prints" if made + second else "never-prints"
            values = {"printed": _times(made + second)} if made + second else {}
            found.append(_broken("every-screen-prints", told, slots, ink=ink, asked=_times(times), **values))
        elif second and (made != 1 or walk.standings[walk.at[ink][0]].ink != ink):
            found.append(_broken("every-screen-prints", "second-before-first", slots, ink=ink, second=f"{ink} 2"))
        elif times == 2 and not walk.flash_between(*walk.at[ink]):
            found.append(_broken("printed-flashed-printed", "no-flash-between-prints", slots, ink=ink))
    laps = problem.press.max_laps
    over = [k for k, s in enumerate(walk.standings) if s.lap > laps or s.lap < 1]
    if over:
        most = max(s.lap for s in walk.standings)
        found.append(_broken("most-laps", "most-laps", walk.slots(*over), laps=most, most=laps))
    return found


def _flash_units(walk: Walk) -> list[Broken]:
    standing = sorted({s.station for s in walk.standings if s.ink is None})
    most = walk.problem.press.flash_units
    if len(standing) <= most:
        return []
    slots = tuple((s.lap, s.station) for s in walk.standings if s.ink is None)
    return [_broken("flash-units", "flash-units", slots, count=len(standing), most=most)]


def _pins(walk: Walk) -> list[Broken]:
    found = []
    for screen, pin in sorted(walk.problem.pins.items()):
        where = sorted({s.station for s in walk.standings if s.ink == screen})
        if where == [pin]:
            continue
        slots = tuple((s.lap, s.station) for s in walk.standings if s.ink == screen)
        if where:
            found.append(_broken("pinned", "pinned-elsewhere", slots, screen=screen, station=where[0], pin=pin))
        else:
            found.append(_broken("pinned", "pinned-missing", slots, screen=screen, pin=pin))
    acting = {s.station for s in walk.standings if s.ink is None}
    found.extend(
        _broken("flash-pinned", "flash-pinned", pin=station)
        for station in sorted(set(walk.problem.flash_pins) - acting)
    )
    return found


def _order(walk: Walk) -> list[Broken]:
    return [
        _pair(walk, "order", walk.at[a][-1], walk.at[b][0], turned=True)
        for a, b in walk.problem.limits.order
        if walk.at[a] and walk.at[b] and walk.at[b][0] < walk.at[a][-1]
    ]


def _pair(walk: Walk, rule: str, first: int, later: int, *, turned: bool = False) -> Broken:
    """A limit between two prints, the one that is or goes first named first; ``turned`` where they stand so."""
    return _broken(
        rule,
        rule,
        walk.slots(later, first) if turned else walk.slots(first, later),
        first=walk.inks[first],
        first_place=walk.where(first),
        later=walk.inks[later],
        later_place=walk.where(later),
    )


def _flashes_between(walk: Walk) -> list[Broken]:
    found = []
    for a, b in walk.problem.limits.flash_between:
        if not walk.at[a] or not walk.at[b]:
            continue
        last, first = walk.at[a][-1], walk.at[b][0]
        if last > first or not walk.flash_between(last, first):
            found.append(_pair(walk, "flash-between", last, first))
    for a, b in walk.problem.limits.never_wet:
        for k, m in _neighbours(walk, a, b):
            if not walk.flash_between(k, m):
                found.append(_pair(walk, "never-wet", k, m))
    return found


def _stays_wet(walk: Walk) -> list[Broken]:
    return [
        _pair(walk, "stays-wet", k, m)
        for a, b in walk.problem.limits.no_flash_between
        for k, m in _neighbours(walk, a, b)
        if walk.flash_between(k, m)
    ]


def _alone(walk: Walk) -> list[Broken]:
    found = []
    for a in walk.problem.limits.alone_until_flash:
        for k in walk.at[a]:
            for m in range(k + 1, len(walk.inks)):
                if walk.inks[m] is None:
                    break
                if walk.inks[m] != a:
                    found.append(
                        _broken("alone-until-flash", "alone-until-flash", walk.slots(k, m), other=walk.inks[m],
                                other_place=walk.where(m), ink=a, place=walk.where(k))
                    )  # fmt: skip
    return found


def _no_flash_after(walk: Walk) -> list[Broken]:
    found = []
    for a in walk.problem.limits.no_flash_after:
        later = [m for m, ink in enumerate(walk.inks) if ink is None and walk.at[a] and m > walk.at[a][0]]
        if later:
            first = walk.at[a][0]
            found.append(
                _broken("no-flash-after", "no-flash-after", walk.slots(first, *later),
                        flash_place=walk.where(later[0]), ink=a, place=walk.where(first))
            )  # fmt: skip
    return found


def _useless(walk: Walk) -> list[Broken]:
    found, wet = [], False
    last = max((k for k, ink in enumerate(walk.inks) if ink is not None), default=-1)
    for k, ink in enumerate(walk.inks):
        if ink is not None:
            wet = True
            continue
        if walk.standings[k].station not in walk.problem.flash_pins and (not wet or k > last):
            why = "nothing-after-it" if k > last else "nothing-wet-under-it"
            found.append(_broken("flash-gels-something", why, walk.slots(k), place=walk.where(k)))
        wet = False
    most = max((s.lap for s in walk.standings if s.ink is not None), default=0)
    found.extend(
        _broken("flash-gels-something", "flash-without-prints", walk.slots(k), place=walk.where(k))
        for k, s in enumerate(walk.standings)
        if s.ink is None and s.lap > most and s.station in walk.problem.flash_pins
    )
    return found


def _cooling(walk: Walk) -> list[Broken]:
    press = walk.problem.press
    if press.cooling is not Cooling.REQUIRED:
        return []
    return [
        _broken("cooling", "too-little-cooling" if idle else "no-cooling", walk.slots(k, m), count=idle,
                flash_place=walk.where(k), ink=walk.inks[m], place=walk.where(m), asked=press.cooling_stations)
        for k, m, idle in _uncooled(walk)
    ]  # fmt: skip


def _uncooled(walk: Walk) -> list[tuple[int, int, int]]:
    """(flash action, next print of its lap, idle slots between) of every action that lacks cooling."""
    found = []
    for k, standing in enumerate(walk.standings):
        if standing.ink is None and standing.station in walk.place:
            idle, later = _idle(walk, k)
            if later is not None and idle < walk.problem.press.cooling_stations:
                found.append((k, walk.standings.index(later), idle))
    return found


def _idle(walk: Walk, k: int) -> tuple[int, Standing | None]:
    """Idle slots between the k-th standing and the next screen of its lap, and that screen."""
    flash = walk.standings[k]
    for flashes, later in enumerate(walk.standings[k + 1 :]):
        if later.lap != flash.lap or later.station not in walk.place:
            break
        if later.ink is not None:
            return max(walk.place[later.station] - walk.place[flash.station] - 1 - flashes, 0), later
    return 0, None


def _moves(walk: Walk) -> int:
    now = set(walk.problem.on_press_now.items())
    planned = {(s.station, s.ink or "flash") for s in walk.standings}
    return len(now ^ planned)


def _neighbours(walk: Walk, a: str, b: str) -> list[tuple[int, int]]:
    """Neighbouring prints of the two inks that are of different inks, first print first."""
    row = sorted(walk.at[a] + walk.at[b])
    return [(k, m) for k, m in pairwise(row) if walk.inks[k] != walk.inks[m]]


def _closed(pairs: Sequence[tuple[str, str]]) -> set[tuple[str, str]]:
    closed = set(pairs)
    for middle in {a for a, _ in pairs}:
        into = [a for a, b in closed if b == middle]
        out = [b for a, b in closed if a == middle]
        closed |= {(a, b) for a in into for b in out}
    return closed


def _times(count: int) -> str:
    word = {1: "once", 2: "twice"}.get(count, "often")
    return say(f"planner.times.{word}", times=count)


def _all(names: Sequence[str]) -> str:
    """``a and b and c``."""
    first, *rest = names
    return say("planner.and", first=first, last=_all(rest)) if rest else first
