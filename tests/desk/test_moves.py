"""What is carried over the line: nothing is lost, it lands where it is let go, and the judge's costs are told."""

from __future__ import annotations

from collections import Counter
from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from setupassist.desk import edits, moves
from setupassist.desk.desk import Desk
from setupassist.desk.line import line_of, problem_of, shown, standings_of
from setupassist.desk.moves import Costs, Held, carried
from setupassist.documents.plan import Limits, Slot
from setupassist.documents.press import Press
from setupassist.planner.problem import Problem, Standing
from setupassist.planner.trial import moved, slid, trial
from setupassist.planner.wishes import WISHES
from tests.desk.conftest import work_off

INKS = ("straw", "brick", "slate", "plum")
PRESS = Press(
    name="small", stations=10, load=1, unload=10, heads=(2, 3, 4, 5, 7, 8, 9), flash_slots=(3, 6, 8), flash_units=2,
    max_laps=2, out_of_service=(5,), cooling_stations=1,
)  # fmt: skip
PROBLEM = Problem(
    press=PRESS,
    inks=INKS,
    limits=Limits(order=(("straw", "brick"),), flash_between=(("straw", "slate"),)),
    harm=tuple(tuple(0 if i == j else 10 * (i + 1) for j in range(4)) for i in range(4)),
    standard_order=INKS,
    keep_empty=(7,),
)
WAY = PRESS.way
QUICK = settings(deadline=None, derandomize=True)

laps = st.integers(1, 2)
stations = st.sampled_from(WAY)
things = st.sampled_from([*INKS, None])
rows = st.lists(st.builds(Standing, laps, stations, things), unique=True, min_size=1, max_size=9).map(tuple)


def counted(row: tuple[Standing, ...]) -> Counter[str | None]:
    return Counter(s.ink for s in row)


@QUICK
@given(rows, st.data(), stations, laps, st.booleans())
def test_what_is_carried_lands_there_and_nothing_is_lost(row, data, station, lap, slide) -> None:
    one = data.draw(st.sampled_from(row))
    held = Held(one.ink, one.station, one.lap)
    after = carried(PROBLEM, row, held, station=station, lap=lap, slide=slide)
    here = [s for s in after if s.station == station and s.ink == one.ink]
    assert here
    assert lap in {s.lap for s in here}
    if any(s.lap == lap and s.ink == one.ink and s != one for s in row):
        return  # it prints in that lap already: two of its prints may have become one
    assert counted(after) == counted(row)


@QUICK
@given(rows, stations, st.booleans())
def test_what_stands_alone_is_carried_as_the_planner_would_move_it(row, station, slide) -> None:
    one = row[0]
    if {s.ink for s in row if s.station == one.station} != {one.ink}:
        return
    held = Held(one.ink, one.station, one.lap)
    after = carried(PROBLEM, row, held, station=station, lap=one.lap, slide=slide)
    if slide:
        way = moves.slide_way(PROBLEM, row, {one.station, station})
        assert set(after) == set(slid(row, one.station, station, way))
    else:
        assert set(after) == set(moved(row, one.station, station))


@QUICK
@given(rows, things, stations, laps)
def test_what_comes_from_beside_the_line_is_put_where_it_is_let_go(row, thing, station, lap) -> None:
    after = carried(PROBLEM, row, Held(thing), station=station, lap=lap)
    new = Standing(lap, station, thing)
    assert new in after
    assert counted(after) - counted(row) in (Counter([thing]), Counter())
    assert len(after) - len(row) in (0, 1)
    if new in row:
        assert set(after) == set(row)


def test_two_things_on_one_station_are_taken_apart() -> None:
    row = (Standing(1, 4, "straw"), Standing(1, 4, "brick"), Standing(1, 8, "slate"))
    assert set(carried(PROBLEM, row, Held("brick", 4), station=9, lap=1)) == {
        Standing(1, 4, "straw"), Standing(1, 9, "brick"), Standing(1, 8, "slate"),
    }  # fmt: skip
    assert set(carried(PROBLEM, row, Held("brick", 4), station=8, lap=1)) == {
        Standing(1, 4, "straw"), Standing(1, 8, "brick"), Standing(1, 4, "slate"),
    }  # fmt: skip


def test_a_flash_unit_from_beside_makes_room_to_the_nearest_idle_station() -> None:
    """5 is out of service, 6 has no head, 7 is kept empty: from 4 things slide to 8."""
    row = (Standing(1, 2, "straw"), Standing(1, 3, "brick"), Standing(1, 4, "slate"))
    after = carried(PROBLEM, row, Held(None), station=3, lap=1)
    assert set(after) == {Standing(1, 2, "straw"), Standing(1, 3), Standing(1, 4, "brick"), Standing(1, 8, "slate")}


def test_a_print_goes_into_another_lap_at_its_station() -> None:
    row = (Standing(1, 2, "straw"), Standing(1, 4, "slate"))
    after = carried(PROBLEM, row, Held("slate", 4, 1), station=4, lap=2)
    assert set(after) == {Standing(1, 2, "straw"), Standing(2, 4, "slate")}


def test_what_stands_off_the_way_comes_back_without_taking_anything_there() -> None:
    row = (Standing(1, 2, "straw"), Standing(1, 12, "plum"))
    after = carried(PROBLEM, row, Held("plum", 12), station=2, lap=1)
    assert set(after) == {Standing(1, 2, "plum"), Standing(1, 3, "straw")}


@QUICK
@given(rows, st.data(), laps, st.booleans())
def test_costs_are_the_judges(row, data, lap, slide) -> None:
    one = data.draw(st.sampled_from(row))
    costs = Costs(PROBLEM, row, Held(one.ink, one.station, one.lap))
    told = costs.row(lap, slide=slide)
    assert set(told) == set(WAY)
    station = data.draw(st.sampled_from(WAY))
    assert told[station] == trial(PROBLEM, row, costs.after((lap, station), slide=slide))


def test_a_cost_in_short_tells_limits_before_wishes_and_the_strategys_first_wish() -> None:
    """Straw before brick is a limit; on idle station 9 straw would print after it."""
    row = (Standing(1, 2, "straw"), Standing(1, 3), Standing(1, 4, "brick"), Standing(1, 8, "slate"))
    costs = Costs(PROBLEM, row, Held("straw", 2)).row(1)
    assert moves.cost_in_short(costs[9], WISHES) == "breaks 3"
    assert moves.cost_in_short(costs[2], WISHES) == "no cost"
    back = Costs(PROBLEM, moved(row, 2, 9), Held("straw", 9)).row(1)
    assert moves.cost_in_short(back[2], WISHES) == "mends 3"
    found = trial(PROBLEM, row, (*row, Standing(1, 9, "plum")))
    assert moves.changes_told(found.wishes, WISHES)[0] == "5 cm²·ΔE more wet harm"
    plain = replace(found, broken=(), mended=())
    assert moves.cost_in_short(plain, WISHES) == "+5 harm"
    assert moves.cost_in_short(plain, ("moves", "wet_harm")) == "+1 move"


def base(desk: Desk) -> tuple[Problem, tuple[Standing, ...]]:
    problem, told = problem_of(desk), shown(desk)
    assert problem is not None
    assert told is not None
    return problem, standings_of(told.plan)


def test_edits_arrange_by_hand_and_go_back(desk: Desk) -> None:
    work_off(desk)
    problem, row = base(desk)
    edit = moves.let_go(desk.job, problem, row, Held("red", 6), station=9, lap=1)
    assert edit.name == "move red to 9"
    assert Slot(lap=1, station=9, holds="screen", ink="red") in (edit.job.arrangement or ())
    flashed = moves.flash_acts(desk.job, problem, row, 8, 1)
    assert flashed.name == "put a flash at 8"
    assert Slot(lap=1, station=8, holds="flash") in (flashed.job.arrangement or ())
    rests = moves.flash_rests(desk.job, row, 3)
    assert all(slot.holds == "screen" for slot in rests.job.arrangement or ())
    assert moves.planners_line(edit.job).job == desk.job


def test_a_pin_hands_the_rest_of_a_line_by_hand_to_the_planner(desk: Desk) -> None:
    work_off(desk)
    problem, row = base(desk)
    desk.put(moves.let_go(desk.job, problem, row, Held("red", 6), station=8, lap=1).job)
    work_off(desk)
    desk.put(moves.pinned_here(desk.job, "red", 8).job)
    work_off(desk)
    line = line_of(desk)
    assert line is not None
    assert not line.hand_made
    red, key = line.card_of("red"), line.card_of("black key")
    assert red is not None
    assert red.pinned
    assert red.station == 8
    assert key is not None
    assert not line.limits


@pytest.mark.parametrize("lap", [1, None])
def test_a_flash_rests_in_one_lap_or_in_all(desk: Desk, lap: int | None) -> None:
    row = (Standing(1, 2, "white base"), Standing(1, 3), Standing(2, 2, "white base"), Standing(2, 3))
    left = moves.flash_rests(desk.job, row, 3, lap).job.arrangement or ()
    assert [(s.lap, s.holds) for s in left if s.holds == "flash"] == ([(2, "flash")] if lap else [])


def test_a_way_out_is_an_edit_of_the_job_and_makes_a_line(desk: Desk) -> None:
    fields = {"keep_empty": [6, 7, 8, 9]}
    desk.put(edits.with_fields(desk.job, edits.say("desk.edit.field"), **fields).job)
    work_off(desk)
    told, press = shown(desk), desk.press
    assert told is not None
    assert press is not None
    assert told.plan.clash is not None
    assert line_of(desk) is None
    way = next(way for way in told.plan.clash.ways_out if way.works)
    edit = moves.way_out_taken(desk.job, press, way)
    assert edit.name == way.text
    desk.put(edit.job)
    work_off(desk)
    assert line_of(desk) is not None
