"""The line as it is shown: what stands where, what is pinned, broken, missing, and that a drop is told at once."""

from __future__ import annotations

from collections.abc import Callable
from itertools import pairwise
from pathlib import Path

import pytest

from setupassist.desk import edits, line, moves, stations_told, strategies
from setupassist.desk.desk import Desk
from setupassist.desk.garment_stages import drawn, stages_of
from setupassist.desk.line import Line, line_of
from setupassist.desk.moves import Held
from setupassist.desk.opening import open_paths
from setupassist.documents.plan import Slot
from setupassist.documents.store import example_shop
from setupassist.documents.terms import StrategyName
from setupassist.sheet.stations import Stands
from setupassist.words import Words, words_in
from tests.conftest import press
from tests.desk.conftest import SAMPLES, work_off

BROKEN = [(2, "black key"), (4, "white base"), (5, "yellow")]


def opened(path: Path) -> Desk:
    desk = Desk(example_shop())
    desk.open(open_paths([path], shop=desk.shop))
    work_off(desk)
    return desk


def told(desk: Desk) -> Line:
    found = line_of(desk)
    assert found is not None
    return found


def by_hand(desk: Desk, things: list[tuple[int, str | None]], lap: int = 1) -> None:
    slots = [Slot(lap=lap, station=at, holds="screen" if ink else "flash", ink=ink) for at, ink in things]
    desk.put(edits.arrangement(desk.job, slots, edits.say("desk.edit.field")).job)


def test_nothing_is_shown_before_there_is_a_plan(desk: Desk) -> None:
    assert line_of(desk) is None
    assert stations_told.head_of(desk) == "The line is being planned."
    assert stations_told.status_of(desk) == "not planned yet"


def test_the_planners_line(desk: Desk) -> None:
    work_off(desk)
    shown = told(desk)
    assert shown.stations == tuple(range(1, 11))
    assert [(card.station, card.screen) for card in shown.cards] == [
        (2, "white base"), (3, None), (5, "yellow"), (6, "red"), (7, "black key"),
    ]  # fmt: skip
    assert [(spot.station, spot.stands) for spot in shown.spots] == [
        (1, Stands.LOAD), (4, Stands.COOLING), (8, Stands.EMPTY), (9, Stands.EMPTY), (10, Stands.UNLOAD),
    ]  # fmt: skip
    assert [[mark.text for mark in row] for row in shown.brackets] == [
        ["base, alone until gelled", "wet together: no harm that shows"]
    ]
    assert not shown.hand_made
    assert shown.fresh
    assert stations_told.head_of(desk) == "The leanest line: nothing better within these limits"


def test_pins_and_overruled_values_are_marked(desk: Desk) -> None:
    desk.put(edits.pin(desk.job, "red", 8).job)
    desk.put(edits.pin_flash(desk.job, 3, True).job)
    desk.put(edits.override(desk.job, "red", "mesh_per_inch", 110.0).job)
    desk.put(edits.flash_seconds(desk.job, 3, 6.0).job)
    work_off(desk)
    cards = {card.screen: card for card in told(desk).cards}
    assert cards["red"].pinned
    assert cards["red"].mesh_by_hand
    assert cards[None].pinned
    assert cards[None].seconds_by_hand
    assert not cards["yellow"].pinned


def test_a_line_by_hand_is_told_at_once_and_stays_as_it_was_told(desk: Desk) -> None:
    work_off(desk)
    by_hand(desk, BROKEN)
    at_once = told(desk)
    assert at_once.hand_made
    assert len(at_once.limits) >= 3
    assert [limit.letter for limit in at_once.limits[:3]] == ["A", "B", "C"]
    work_off(desk)
    after = told(desk)
    assert after == at_once
    marked = {letter for card in after.cards for letter in card.letters}
    assert marked == {limit.letter for limit in after.limits if limit.places}
    assert stations_told.head_of(desk) == f"Arranged by hand, breaks {len(after.limits)} limits"
    assert stations_told.status_of(desk) == f"arranged by hand, breaks {len(after.limits)} limits"


def test_what_a_line_by_hand_lacks_and_what_stands_off_the_way_lies_beside_it(desk: Desk) -> None:
    work_off(desk)
    by_hand(desk, [(2, "white base"), (3, None), (12, "yellow")])
    shown = told(desk)
    assert [card.screen for card in shown.missing] == ["red", "black key"]
    assert [(card.station, card.screen) for card in shown.aside] == [(12, "yellow")]
    assert [(card.station, card.screen) for card in shown.cards] == [(2, "white base"), (3, None)]


def test_two_things_on_one_station_stand_one_after_the_other(desk: Desk) -> None:
    work_off(desk)
    by_hand(desk, [(2, "white base"), (3, None), (5, "yellow"), (5, "red"), (7, "black key")])
    assert [(c.screen, c.at) for c in told(desk).cards_at((1, 5))] == [("yellow", 0), ("red", 1)]


def test_two_laps_have_two_rows_and_say_what_rests(write_job: Callable[..., Path]) -> None:
    narrow = press() | {"stations": 7, "unload": 7, "heads": [2, 3, 4, 5, 6], "flash_slots": [3], "flash_units": 1}
    notes = {"white base": {"prints": 2}}
    desk = opened(write_job(press=narrow | {"max_laps": 2, "cooling_stations": 0}, inks=notes))
    shown = told(desk)
    assert shown.laps == 2
    assert {card.key for card in shown.cards if card.screen == "white base"} == {"white base/1", "white base/2"}
    rests = [spot for spot in shown.spots if spot.stands is Stands.SCREEN_RESTS]
    assert rests
    assert all(spot.screen is not None for spot in rests)


def test_while_it_is_planned_anew_the_old_line_stays_and_says_so(desk: Desk) -> None:
    work_off(desk)
    desk.put(edits.keep_empty(desk.job, 9, True).job)
    shown = told(desk)
    assert not shown.fresh
    assert stations_told.more_of(desk) == "planning anew"
    assert stations_told.status_of(desk) == "planning"
    assert next(spot for spot in shown.spots if spot.station == 9).stands is Stands.KEPT_EMPTY
    work_off(desk)
    assert stations_told.more_of(desk) == ""


def test_trouble_is_told_in_its_own_sentences(desk: Desk) -> None:
    work_off(desk)
    desk.put(edits.with_fields(desk.job, edits.say("desk.edit.field"), pins={"mauve": 3}).job)
    work_off(desk)
    assert stations_told.status_of(desk) == "cannot be planned"
    assert "mauve" in stations_told.more_of(desk)


def test_a_line_by_hand_is_told_against_the_planners(desk: Desk) -> None:
    work_off(desk)
    by_hand(desk, [(2, "white base"), (3, None), (5, "yellow"), (6, "red"), (7, "black key")])
    work_off(desk)
    assert stations_told.more_of(desk) == "as good as the planner's line in every wish"
    by_hand(desk, [(2, "white base"), (3, None), (5, "yellow"), (6, "red"), (8, None), (9, "black key")])
    work_off(desk)
    assert stations_told.more_of(desk).startswith("against the planner's line: 1 more flash unit, ")


def test_what_stands_now_counts_and_is_told(desk: Desk) -> None:
    work_off(desk)
    shown = line.shown(desk)
    assert shown is not None
    assert stations_told.now_of(desk) == "Nothing is told, so every screen counts as a move."
    desk.put(edits.standing_now(desk.job, shown.plan.slots).job)
    work_off(desk)
    assert stations_told.now_of(desk).startswith("white base at 2, flash at 3, yellow at 5")
    row = next(row for row in strategies.comparison(desk).rows if row.name is StrategyName.LEANEST)
    columns = strategies.comparison(desk).columns
    assert row.figures[columns.index("moves")].text == "0"


# ------------------------------------------------------------ the strategies side by side


def test_strategies_that_give_the_same_line_say_so(desk: Desk) -> None:
    work_off(desk)
    rows = strategies.comparison(desk).rows
    assert [row.name for row in rows] == list(StrategyName)
    assert [row.same_as for row in rows] == [None, StrategyName.LEANEST, StrategyName.LEANEST]
    assert [row.chosen for row in rows] == [True, False, False]
    assert not any(figure.best for row in rows for figure in row.figures)


def test_the_best_of_each_column_is_marked_and_the_line_by_hand_is_among_them(desk: Desk) -> None:
    work_off(desk)
    by_hand(desk, [(2, "white base"), (3, None), (5, "red"), (6, "yellow"), (7, "black key")])
    work_off(desk)
    found = strategies.comparison(desk)
    assert [row.name for row in found.rows] == [None, *StrategyName]
    assert [row.chosen for row in found.rows] == [True, False, False, False]
    at = found.columns.index("departures")
    assert [row.figures[at].text for row in found.rows] == ["1", "0", "0", "0"]
    assert [row.figures[at].best for row in found.rows] == [False, True, True, True]


def test_a_strategy_without_a_line_says_why_instead_of_figures(desk: Desk) -> None:
    desk.put(edits.with_fields(desk.job, edits.say("desk.edit.field"), keep_empty=[2, 3, 4, 5, 6, 7, 8]).job)
    assert {row.state for row in strategies.comparison(desk).rows} == {strategies.State.PLANNING}
    work_off(desk)
    rows = strategies.comparison(desk).rows
    assert {row.state for row in rows} == {strategies.State.CLASH}
    assert not any(row.figures for row in rows)


# ------------------------------------------------------------ the garment after each print


def test_the_garment_is_drawn_after_every_print() -> None:
    desk = opened(SAMPLES / "lantern-walk")
    shown = told(desk)
    stages = stages_of(desk, shown)
    assert stages is not None
    assert [one.screen for one in stages.prints] == [card.screen for card in shown.cards if card.screen is not None]
    pictures = drawn(stages, longest_px=120)
    assert len(pictures) == len(stages.prints)
    assert {picture.shape for picture in pictures} == {pictures[0].shape}
    assert max(pictures[0].shape) <= 120
    changed = [int((a != b).any(axis=2).sum()) for a, b in pairwise(pictures)]
    assert all(changed), "each screen shows"
    again = stages_of(desk, shown)
    assert again == stages


def test_figures_have_nothing_to_draw(desk: Desk) -> None:
    work_off(desk)
    assert stages_of(desk, told(desk)) is None


# ------------------------------------------------------------ words


@pytest.mark.parametrize("case", ["planner", "by hand", "pinned", "clash"])
def test_every_text_comes_from_the_catalogue(
    write_job: Callable[..., Path], crossed: Words, left: Callable[..., str], case: str
) -> None:
    own = ("white base", "yellow", "red", "black key")
    fields = {"pinned": {"pins": {"red": 8}, "keep_empty": [9]}, "clash": {"keep_empty": [2, 3, 4, 5, 6, 7, 8]}}
    desk = opened(write_job(**fields.get(case, {})))
    if case == "by hand":
        by_hand(desk, BROKEN)
        work_off(desk)
    texts = [stations_told.status_of(desk), stations_told.head_of(desk), stations_told.more_of(desk)]
    texts.append(stations_told.now_of(desk))
    found, problem = line_of(desk), line.problem_of(desk)
    if found is not None and problem is not None:
        texts += [spot.words for spot in found.spots] + [limit.text for limit in found.limits]
        texts += [mark.text for row in found.brackets for mark in row]
        shown = line.shown(desk)
        assert shown is not None
        costs = moves.Costs(problem, line.standings_of(shown.plan), Held("yellow", 5)).row(1)
        order = tuple(next(iter(costs.values())).wishes)
        texts += [moves.cost_in_short(cost, order) for cost in costs.values()]
        texts += [said for cost in costs.values() for said in moves.changes_told(cost.wishes, order)]
    texts += [figure.text for row in strategies.comparison(desk).rows for figure in row.figures]
    for text in texts:
        assert not left(crossed(text), own), text
        assert words_in("es")(text) or not text
