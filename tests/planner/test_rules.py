"""Each limit where it binds, with the arithmetic, and beside it an arrangement that breaks it."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from itertools import pairwise

import pytest

from setupassist.documents.terms import StrategyName
from setupassist.planner.judge import broken_limits, wish_values
from setupassist.planner.problem import Problem, Standing
from setupassist.planner.rules import RULES
from setupassist.planner.solve import Solution, Status, solve
from setupassist.planner.wishes import WISHES

Job = Callable[..., Problem]
Drawn = Callable[..., list[Standing]]


def line(standings: Sequence[Standing]) -> str:
    """``2 straw, 3 ~`` of a one-lap arrangement."""
    return ", ".join(f"{s.station} {s.ink or '~'}" for s in standings)


def best(problem: Problem) -> Solution:
    solution = solve(problem)
    assert solution.status is Status.BEST
    assert solution.only_answer
    assert broken_limits(problem, solution.standings) == []
    return solution


def broken(problem: Problem, standings: list[Standing]) -> list[str]:
    return [found.rule for found in broken_limits(problem, standings)]


def test_without_limits_screens_stand_early_in_standard_order(job: Job) -> None:
    assert line(best(job(standard="slate straw brick")).standings) == "2 slate, 3 straw, 4 brick"


def test_one_thing_a_station(job: Job, drawn: Drawn) -> None:
    """Three screens want three of the stations 2, 3 and 4; with only two heads there is no room for the third."""
    assert best(job(stations=5)).standings[-1].station == 4
    assert solve(job(stations=5, heads=(2, 3))).status is Status.INFEASIBLE
    assert broken(job(), drawn("2 straw, 3 brick, 3 slate")) == ["one-thing-a-station"]


def test_one_thing_a_station_over_all_laps(job: Job, drawn: Drawn) -> None:
    """A second lap gives no more room: three screens still want three heads."""
    problem = job(stations=5, heads=(2, 3), laps=2)
    assert solve(problem).status is Status.INFEASIBLE
    assert "one-thing-a-station" in broken(problem, drawn("2 straw, 3 brick", "3 slate"))


def test_a_flash_unit_takes_the_station_of_a_screen(job: Job, drawn: Drawn) -> None:
    """Stations 2..5 are four: three screens and the flash at 3 just fit; on 2..4 they do not."""
    limits = {"order": (("straw", "brick"),), "flash_between": (("straw", "brick"),)}
    fits = job(stations=6, flash_slots=(3,), units=1, limits=limits)
    assert line(best(fits).standings) == "2 straw, 3 ~, 4 brick, 5 slate"
    assert solve(job(stations=5, flash_slots=(3,), units=1, limits=limits)).status is Status.INFEASIBLE
    assert broken(fits, drawn("2 straw, 3 ~, 3 slate, 4 brick")) == ["one-thing-a-station"]


def test_a_screen_has_one_station(job: Job, drawn: Drawn) -> None:
    problem = job("straw", prints={"straw": 2}, laps=2, flash_slots=(3,), units=1)
    assert broken(problem, drawn("2 straw, 3 ~", "4 straw")) == ["one-station-a-screen"]
    assert broken(problem, drawn("2 straw, 3 ~", "2 straw")) == []


def test_every_screen_prints(job: Job, drawn: Drawn) -> None:
    assert broken(job(), drawn("2 straw, 3 brick")) == ["every-screen-prints"]
    assert broken(job(laps=2), drawn("2 straw, 3 brick, 4 slate", "2 straw")) == ["every-screen-prints"]
    assert broken(job(), drawn("2 straw, 3 brick, 4 slate, 5 plum")) == ["every-screen-prints"]


def test_head_in_service(job: Job, drawn: Drawn) -> None:
    """Head 2 is out of service and 3 has none: the first screen stands at 4."""
    problem = job(heads=(2, 4, 5, 6), out_of_service=(2,))
    assert line(best(problem).standings) == "4 straw, 5 brick, 6 slate"
    assert broken(problem, drawn("2 straw, 4 brick, 5 slate")) == ["head-in-service"]
    assert broken(problem, drawn("3 straw, 4 brick, 5 slate")) == ["head-in-service"]


def test_only_stations_on_the_way(job: Job, drawn: Drawn) -> None:
    assert broken(job(), drawn("1 straw, 4 brick, 5 slate")) == ["on-the-way"]


def test_kept_empty(job: Job, drawn: Drawn) -> None:
    problem = job(keep_empty=(3,))
    assert line(best(problem).standings) == "2 straw, 4 brick, 5 slate"
    assert broken(problem, drawn("2 straw, 3 brick, 5 slate")) == ["kept-empty"]


def test_a_flash_may_stand_at_a_head_out_of_service_but_not_at_a_station_kept_empty(job: Job) -> None:
    limits = {"order": (("straw", "brick"),), "flash_between": (("straw", "brick"),)}
    given = {"flash_slots": (3,), "units": 1, "limits": limits}
    assert "3 ~" in line(best(job(out_of_service=(3,), **given)).standings)
    assert solve(job(keep_empty=(3,), **given)).status is Status.INFEASIBLE


def test_flash_slot_and_flash_units(job: Job, drawn: Drawn) -> None:
    """Two films to gel in one lap take two units, at 3 and 5; with one unit there is no plan."""
    chain = (("straw", "brick"), ("brick", "slate"))
    limits = {"order": (*chain, ("straw", "slate")), "flash_between": chain}
    given = {"flash_slots": (3, 5), "limits": limits}
    problem = job(units=2, **given)
    assert line(best(problem).standings) == "2 straw, 3 ~, 4 brick, 5 ~, 6 slate"
    assert solve(job(units=1, **given)).status is Status.INFEASIBLE
    assert broken(job(units=1, **given), drawn("2 straw, 3 ~, 4 brick, 5 ~, 6 slate")) == ["flash-units"]
    assert broken(problem, drawn("2 straw, 4 ~, 5 brick, 6 ~, 7 slate")) == ["flash-slot", "flash-slot"]


def test_most_laps(job: Job, drawn: Drawn) -> None:
    """One unit at 3 gels both films in two laps: straw in lap 1 before it; brick in lap 1 behind it; slate in lap 2."""
    chain = (("straw", "brick"), ("brick", "slate"))
    limits = {"order": (*chain, ("straw", "slate")), "flash_between": chain}
    problem = job(flash_slots=(3,), units=1, laps=2, limits=limits)
    solution = best(problem)
    assert wish_values(problem, solution.standings)["laps"] == 2
    one_lap = job(flash_slots=(3,), units=1, laps=1, limits=limits)
    assert broken(one_lap, list(solution.standings)) == ["most-laps"]


def test_order(job: Job, drawn: Drawn) -> None:
    """The standard order has straw first; the limit turns it round, and that pair is no departure."""
    problem = job(limits={"order": (("slate", "straw"),)}, standard="straw brick slate")
    solution = best(problem)
    # slate straw brick: only (brick, slate) stands the other way round; brick slate straw: only (straw, brick)
    assert wish_values(problem, solution.standings)["departures"] == 1
    assert broken(problem, drawn("2 straw, 3 brick, 4 slate")) == ["order"]


def test_flash_between(job: Job, drawn: Drawn) -> None:
    limits = {"order": (("straw", "slate"),), "flash_between": (("straw", "slate"),)}
    problem = job(flash_slots=(4, 6), units=2, limits=limits)
    assert line(best(problem).standings) == "2 straw, 3 brick, 4 ~, 5 slate"
    assert broken(problem, drawn("2 straw, 4 brick, 5 slate")) == ["flash-between"]
    # the same things the other way round break the order as well
    assert broken(problem, drawn("2 slate, 4 ~, 5 straw, 6 brick")) == ["order", "flash-between"]


def test_never_wet_in_whichever_order(job: Job, drawn: Drawn) -> None:
    problem = job(flash_slots=(3, 5), units=1, limits={"never_wet": (("slate", "straw"),)})
    assert line(best(problem).standings) == "2 straw, 3 ~, 4 brick, 5 slate"
    assert broken(problem, drawn("2 slate, 3 ~, 4 straw, 5 brick")) == []
    assert broken(problem, drawn("2 brick, 3 ~, 4 slate, 5 straw")) == ["never-wet"]


def test_stays_wet(job: Job, drawn: Drawn) -> None:
    """A flash between straw and brick is asked for; slate may not be parted from brick, so it stands behind it too."""
    limits = {
        "order": (("straw", "brick"),),
        "flash_between": (("straw", "brick"),),
        "no_flash_between": (("slate", "brick"),),
    }
    problem = job(flash_slots=(3,), units=1, standard="slate straw brick", limits=limits)
    # slate first in the standard order would cost nothing, but then the flash parts it from brick
    assert line(best(problem).standings) == "2 straw, 3 ~, 4 slate, 5 brick"
    assert broken(problem, drawn("2 slate, 4 straw, 3 ~, 5 brick")) == ["flash-between", "stays-wet"]
    apart = job(flash_slots=(4,), units=1, limits=limits)
    assert broken(apart, drawn("2 slate, 3 straw, 4 ~, 5 brick")) == ["stays-wet"]


def test_stays_wet_looks_at_neighbouring_prints_of_the_pair_alone(job: Job, drawn: Drawn) -> None:
    """Straw prints twice with a flash between; brick beside its second print is no neighbour of the first."""
    problem = job(
        "straw brick",
        prints={"straw": 2},
        flash_slots=(3,),
        units=1,
        limits={"no_flash_between": (("straw", "brick"),)},
    )
    assert broken(problem, drawn("2 straw, 3 ~, 4 straw 2, 5 brick")) == []
    assert broken(problem, drawn("2 brick, 3 ~, 4 straw, 5 straw 2"))[0] == "printed-flashed-printed"
    parted = job(
        "straw brick", prints={"straw": 2}, flash_slots=(3, 5), units=2,
        limits={"no_flash_between": (("straw", "brick"),)},
    )  # fmt: skip
    assert broken(parted, drawn("2 straw, 3 ~, 4 straw 2, 5 ~, 6 brick")) == ["stays-wet"]


def test_alone_until_flash(job: Job, drawn: Drawn) -> None:
    """The flash asked for stands at 4; brick, free to print before it, must wait: 3 stays idle."""
    limits = {
        "order": (("straw", "slate"),),
        "flash_between": (("straw", "slate"),),
        "alone_until_flash": ("straw",),
    }
    problem = job(flash_slots=(4,), units=1, standard="straw brick slate", limits=limits)
    solution = best(problem)
    assert broken(problem, drawn("2 straw, 3 brick, 4 ~, 5 slate")) == ["alone-until-flash"]
    assert [s.ink for s in solution.standings].index(None) == 1
    # brick before straw is allowed, but it is one departure
    assert broken(problem, drawn("2 brick, 3 straw, 4 ~, 5 slate")) == []


def test_alone_with_no_flash_to_come_prints_last(job: Job, drawn: Drawn) -> None:
    problem = job(limits={"alone_until_flash": ("straw",)})
    assert line(best(problem).standings) == "2 brick, 3 slate, 4 straw"
    assert broken(problem, drawn("2 brick, 3 straw, 4 slate")) == ["alone-until-flash"]


def test_no_flash_after(job: Job, drawn: Drawn) -> None:
    """Straw, first in the standard order, rises under heat: it moves behind the flash that brick and slate need."""
    limits = {"order": (("brick", "slate"),), "flash_between": (("brick", "slate"),), "no_flash_after": ("straw",)}
    problem = job(flash_slots=(3, 4), units=1, limits=limits)
    assert line(best(problem).standings) == "2 brick, 3 ~, 4 straw, 5 slate"
    assert broken(problem, drawn("2 straw, 3 brick, 4 ~, 5 slate")) == ["no-flash-after"]


def test_flash_gels_something(job: Job, drawn: Drawn) -> None:
    """A unit stands at 3 now; keeping it there would save a move, but it has nothing to gel: it goes."""
    problem = job(
        flash_slots=(2, 3),
        units=1,
        on_press_now={3: "flash"},
        limits={"no_flash_between": (("straw", "brick"), ("straw", "slate"), ("brick", "slate"))},
        strategy=StrategyName.QUICKEST_CHANGEOVER,
    )
    assert "~" not in line(best(problem).standings)
    assert broken(problem, drawn("3 ~, 4 straw, 5 brick, 6 slate")) == ["flash-gels-something"]
    after = job(flash_slots=(7,), units=1, stations=9)
    assert broken(after, drawn("2 straw, 3 brick, 4 slate, 7 ~")) == ["flash-gels-something"]
    twice = job(flash_slots=(3, 4), units=2)
    assert broken(twice, drawn("2 straw, 3 ~, 4 ~, 5 brick, 6 slate")) == ["flash-gels-something"]


def test_a_pinned_flash_may_act_on_nothing_but_once(job: Job) -> None:
    problem = job(flash_slots=(7,), units=1, stations=9, flash_pins=(7,), laps=2)
    solution = best(problem)
    assert line(solution.standings) == "2 straw, 3 brick, 4 slate, 7 ~"


def test_cooling_required(job: Job, drawn: Drawn) -> None:
    """One idle station asked for after the flash at 3: brick stands at 5, not 4."""
    limits = {"order": (("straw", "brick"), ("straw", "slate")), "flash_between": (("straw", "brick"),)}
    given = {"flash_slots": (3,), "units": 1, "cooling": 1, "limits": limits, "stations": 7}
    problem = job(required=True, **given)
    assert line(best(problem).standings) == "2 straw, 3 ~, 5 brick, 6 slate"
    assert broken(problem, drawn("2 straw, 3 ~, 4 brick, 6 slate")) == ["cooling"]
    tight = {**given, "stations": 6}
    assert solve(job(required=True, **tight)).status is Status.INFEASIBLE
    preferred = best(job(**tight))
    assert wish_values(job(**tight), preferred.standings)["missing_cooling"] == 1


def test_pinned_screen_and_flash(job: Job, drawn: Drawn) -> None:
    problem = job(pins={"slate": 2}, flash_slots=(3, 5), units=1, flash_pins=(5,))
    solution = best(problem)
    assert Standing(1, 2, "slate") in solution.standings
    assert Standing(1, 5) in solution.standings
    assert broken(problem, drawn("3 slate, 4 straw, 5 ~, 6 brick")) == ["pinned"]
    assert broken(problem, drawn("2 slate, 3 straw, 4 brick")) == ["flash-pinned"]


@pytest.mark.parametrize("laps", [1, 2])
def test_printed_twice_takes_two_screens_where_heads_are_plenty(job: Job, laps: int) -> None:
    """One lap is fewer than two: straw, flash, straw 2, flash, then the colours."""
    colours = (("straw", "brick"), ("straw", "slate"))
    limits = {"order": colours, "flash_between": colours, "alone_until_flash": ("straw",)}
    problem = job(prints={"straw": 2}, stations=9, flash_slots=(3, 5), units=2, laps=laps, limits=limits)
    assert line(best(problem).standings) == "2 straw, 3 ~, 4 straw 2, 5 ~, 6 brick, 7 slate"


def test_printed_twice_takes_a_second_lap_where_heads_are_few(job: Job, drawn: Drawn) -> None:
    """Stations 2..5 hold one flash and three screens: straw prints in both laps, the colours in the second."""
    colours = (("straw", "brick"), ("straw", "slate"))
    limits = {"order": colours, "flash_between": colours, "alone_until_flash": ("straw",)}
    few = {"prints": {"straw": 2}, "stations": 6, "flash_slots": (3,), "units": 1, "cooling": 1, "limits": limits}
    problem = job(laps=2, **few)
    solution = best(problem)
    assert list(solution.standings) == drawn("2 straw, 3 ~", "2 straw, 3 ~, 4 brick, 5 slate")
    # in lap 1 nothing prints after the flash; in lap 2 brick follows at once
    assert wish_values(problem, solution.standings)["missing_cooling"] == 1
    assert solve(job(laps=1, **few)).status is Status.INFEASIBLE
    # without the flash in lap 1 straw goes on wet straw
    assert broken(problem, drawn("2 straw", "2 straw, 3 ~, 4 brick, 5 slate")) == ["printed-flashed-printed"]


def test_a_pin_of_the_second_screen_asks_for_two_screens(job: Job) -> None:
    problem = job("straw brick", prints={"straw": 2}, laps=2, flash_slots=(3,), units=1, pins={"straw 2": 6})
    assert Standing(1, 6, "straw 2") in best(problem).standings


def test_registry_holds_every_rule_and_wish_once_and_judge_uses_its_ids(job: Job, drawn: Drawn) -> None:
    ids = [rule.id for rule in RULES]
    assert len(set(ids)) == len(ids)
    assert {rule.id for rule in RULES if rule.weight == "wish"} == set(WISHES)
    assert all(rule.sentence and rule.remedy and rule.source for rule in RULES)
    assert all(rule.tell is None or (rule.tell.__doc__ or "").count("Source:") == 1 for rule in RULES)
    odd = job(flash_slots=(3,), units=0, laps=1, keep_empty=(2,), pins={"straw": 6}, cooling=2, required=True)
    found = broken(odd, drawn("2 straw, 3 ~, 4 brick, 5 ~, 9 plum", "2 straw, 3 ~"))
    assert len(set(found)) >= 6
    assert set(found) <= set(ids)


def test_judge_tells_rules_in_one_fixed_order(job: Job, drawn: Drawn) -> None:
    problem = job(keep_empty=(2,), limits={"order": (("straw", "brick"),)})
    standings = drawn("2 brick, 3 straw, 4 slate")
    told = broken_limits(problem, standings)
    assert told == broken_limits(problem, list(reversed(standings)))
    assert all(a != b for a, b in pairwise(told))


def texts(problem: Problem, standings: list[Standing]) -> list[str]:
    return [found.text for found in broken_limits(problem, standings)]


def test_a_pinned_screen_that_is_missing_is_told_so(job: Job, drawn: Drawn) -> None:
    found = texts(job("straw brick", pins={"straw": 4}), drawn("2 brick"))
    assert found == [
        "straw prints never a piece instead of once",
        "straw does not stand on the press; it is pinned at 4",
    ]


def test_a_pinned_flash_in_a_lap_without_prints_is_told_so(job: Job, drawn: Drawn) -> None:
    problem = job("straw", laps=2, flash_slots=(3,), units=1, flash_pins=(3,))
    assert texts(problem, drawn("2 straw, 3 ~", "3 ~")) == ["the flash (lap 2, station 3) acts in a lap without prints"]


def test_cooling_that_is_too_little_counts_the_idle_stations(job: Job, drawn: Drawn) -> None:
    problem = job("straw brick", flash_slots=(3,), units=1, cooling=3, required=True)
    end = "between the flash (station 3) and brick (station {}); the press asks for 3"
    assert texts(problem, drawn("2 straw, 3 ~, 4 brick")) == [f"no idle station {end.format(4)}"]
    assert texts(problem, drawn("2 straw, 3 ~, 5 brick")) == [f"1 idle station {end.format(5)}"]
    assert texts(problem, drawn("2 straw, 3 ~, 6 brick")) == [f"2 idle stations {end.format(6)}"]
