"""What a person does to the line: things carried from station to station, what that would cost, and the edits.

Nothing is refused here: a line that breaks limits is kept, and the judge tells what it breaks.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from functools import partial

from setupassist.desk import edits
from setupassist.desk.edits import WHERE, Edit
from setupassist.documents.changes import changed
from setupassist.documents.job import Job
from setupassist.documents.plan import Slot, WayOut
from setupassist.documents.press import Press
from setupassist.planner.problem import Problem, Standing
from setupassist.planner.trial import Standings, Trial, judged, moved, slid, trial
from setupassist.planner.wish_words import wish_change_words
from setupassist.words import Said, say

TENTHS = 10


@dataclass(frozen=True)
class Held:
    """What is in hand: a screen, or with ``screen`` None a flash unit.

    It stands at ``station`` in ``lap``; with station 0 it comes from beside the line.
    """

    screen: str | None
    station: int = 0
    lap: int = 1


def carried(
    problem: Problem, standings: Iterable[Standing], held: Held, *, station: int, lap: int, slide: bool = False
) -> Standings:
    """The standings with what is in hand let go at a station in a lap.

    An idle place takes it; what stands there already changes places with it, or with ``slide`` goes one place on, and
    so does what is in its way. What comes from beside the line, or from a station that no garment passes, always lets
    the others slide.
    """
    kept = tuple(standings)
    mine = [s for s in kept if s.station == held.station and s.ink == held.screen]
    if held.station not in problem.press.way:
        return _put_on(problem, tuple(s for s in kept if s not in mine), held.screen, station, lap)
    stay = tuple(s for s in kept if s.station == held.station and s not in mine)
    rest = tuple(s for s in kept if s not in stay)
    if slide:
        rest = slid(rest, held.station, station, slide_way(problem, rest, {held.station, station}))
    else:
        rest = moved(rest, held.station, station)
    before, after = Standing(held.lap, station, held.screen), Standing(lap, station, held.screen)
    if lap != held.lap and after not in rest:
        rest = tuple(after if s == before else s for s in rest)
    if any(s in stay for s in rest):  # what would change places with it stands there already: it stays where it is
        new = tuple(replace(s, station=station, lap=lap if s.lap == held.lap else s.lap) for s in mine)
        return tuple(dict.fromkeys((*(s for s in kept if s not in mine), *new)))
    return (*rest, *stay)


def slide_way(problem: Problem, standings: Iterable[Standing], besides: Iterable[int]) -> tuple[int, ...]:
    """Stations that things slide along, in travel order: heads in service that may be used and hold no flash unit.

    Those ``besides`` are among them whatever they hold.
    """
    press, kept = problem.press, set(besides)
    flashes = {s.station for s in standings if s.ink is None}
    usable = set(press.heads) - set(press.out_of_service) - set(problem.keep_empty) - flashes
    return tuple(s for s in press.way if s in usable or s in kept)


def _put_on(problem: Problem, standings: Standings, screen: str | None, station: int, lap: int) -> Standings:
    new = Standing(lap, station, screen)
    here = [s for s in standings if s.station == station]
    if new in here:
        return standings
    way = slide_way(problem, standings, {station})
    taken = {s.station for s in standings}
    at = way.index(station) if station in way else len(way)
    room = next((s for s in (*way[at:], *reversed(way[:at])) if s not in taken), None)
    if room is None or all(s.ink == screen for s in here):
        return (*standings, new)
    return slid((*standings, replace(new, station=room)), room, station, way)


class Costs:
    """What letting go of the thing in hand would cost at every station, worked out for a whole lap at a time."""

    def __init__(self, problem: Problem, standings: Iterable[Standing], held: Held) -> None:
        self.problem, self.held = problem, held
        self.now = judged(problem, standings)
        self._rows: dict[tuple[int, bool], dict[int, Trial]] = {}

    def row(self, lap: int, *, slide: bool = False) -> Mapping[int, Trial]:
        """The trial of every station that garments pass, letting go in that lap."""
        key = lap, slide
        if key not in self._rows:
            put = partial(carried, self.problem, self.now.standings, self.held, lap=lap, slide=slide)
            way = self.problem.press.way
            self._rows[key] = {station: trial(self.problem, self.now, put(station=station)) for station in way}
        return self._rows[key]

    def after(self, place: tuple[int, int], *, slide: bool = False) -> Standings:
        """What would stand where, the thing let go at (lap, station)."""
        lap, station = place
        return carried(self.problem, self.now.standings, self.held, station=station, lap=lap, slide=slide)


def cost_in_short(found: Trial, order: Iterable[str]) -> Said:
    """The cost as it stands at a station: limits broken, else the first wish that changes, in the strategy's order."""
    if found.broken:
        return say("place_stations.cost.breaks", count=len(found.broken))
    if found.mended:
        return say("place_stations.cost.mends", count=len(found.mended))
    name = next((name for name in order if found.wishes[name]), None)
    if name is None:
        return say("place_stations.cost.none")
    change = found.wishes[name]
    count = max(1, round(abs(change) / TENTHS)) if name == "wet_harm" else abs(change)
    return say(f"place_stations.cost.{'more' if change > 0 else 'fewer'}.{name}", count=count)


def changes_told(wishes: Mapping[str, int], order: Iterable[str]) -> tuple[Said, ...]:
    """By how much each wish changes, those that do, in the strategy's order."""
    told = (wish_change_words(name, wishes[name]) for name in order)
    return tuple(said for said in told if said is not None)


# ------------------------------------------------------------ edits


def let_go(
    job: Job,
    problem: Problem,
    standings: Iterable[Standing],
    held: Held,
    *,
    station: int,
    lap: int,
    slide: bool = False,
) -> Edit:
    """The thing in hand let go, as ``carried`` tells: a line arranged by hand."""
    after = carried(problem, standings, held, station=station, lap=lap, slide=slide)
    verb = "move" if held.station else "put"
    if held.screen is None:
        return _by_hand(job, after, say(f"desk.edit.{verb}-flash", station=station))
    return _by_hand(job, after, say(f"desk.edit.{verb}-screen", screen=held.screen, station=station))


def flash_acts(job: Job, problem: Problem, standings: Iterable[Standing], station: int, lap: int) -> Edit:
    """A flash put at a station in a lap; what stands there slides along, a unit that rests there acts."""
    return let_go(job, problem, standings, Held(None), station=station, lap=lap)


def flash_rests(job: Job, standings: Iterable[Standing], station: int, lap: int | None = None) -> Edit:
    """The flash at a station taken away: in one lap, or with its unit in all of them."""
    left = [s for s in standings if s.ink is not None or s.station != station or (lap is not None and s.lap != lap)]
    return _by_hand(job, left, say("desk.edit.remove-flash", station=station))


def taken_off(job: Job, standings: Iterable[Standing], screen: str) -> Edit:
    """The line without a screen."""
    return _by_hand(job, [s for s in standings if s.ink != screen], say("desk.edit.take-off", screen=screen))


def planners_line(job: Job) -> Edit:
    """The planner's line in place of the one arranged by hand."""
    return edits.arrangement(job, None, say("desk.edit.planners-line"))


def pinned_here(job: Job, screen: str | None, station: int) -> Edit:
    """A screen, or with None a flash unit, pinned where it stands; the planner places the rest anew."""
    pinned = edits.pin_flash(job, station, True) if screen is None else edits.pin(job, screen, station)
    return replace(pinned, job=edits.arrangement(pinned.job, None, pinned.name).job)


def way_out_taken(job: Job, press: Press, way: WayOut) -> Edit:
    """A way out of a clash put into the job."""
    return Edit(say("desk.edit.way-out", way=way.text), changed(job, press, way.change, where=WHERE))


def slots_of(standings: Iterable[Standing]) -> tuple[Slot, ...]:
    """Standings as the job's document has them."""
    return tuple(standing.slot for standing in standings)


def _by_hand(job: Job, standings: Iterable[Standing], name: Said) -> Edit:
    return edits.arrangement(job, slots_of(standings), name)
