"""The station line: what every station holds, what is wet together, and cards that hold their words."""

import dataclasses

import pytest

from setupassist.documents.plan import Harm, Slot
from setupassist.sheet.station_line import StationRow, station_line
from setupassist.sheet.stations import Stands, off_the_way, station_rows, unused_stations
from setupassist.sheet.type import width_of
from setupassist.sheet.unit_words import Units, UnitWords
from setupassist.sheet.wet_groups import harm_word, wet_groups


def with_slots(content, *slots, **press):
    plan = content.plan.model_copy(update={"slots": tuple(slots)})
    return dataclasses.replace(content, plan=plan, press=content.press.model_copy(update=press))


def screen(lap, station, ink):
    return Slot(lap=lap, station=station, holds="screen", ink=ink)


def flash(lap, station):
    return Slot(lap=lap, station=station, holds="flash", seconds=4.0)


def stands(content):
    return [[(cell.station, cell.stands) for cell in row] for row in station_rows(content)]


def test_one_column_a_station_in_travel_order(ordinary):
    (row,) = stands(ordinary)
    assert row == [
        (1, Stands.LOAD), (2, Stands.SCREEN), (3, Stands.FLASH), (4, Stands.COOLING), (5, Stands.SCREEN),
        (6, Stands.SCREEN), (7, Stands.SCREEN), (8, Stands.OUT_OF_SERVICE), (9, Stands.SCREEN), (10, Stands.SCREEN),
        (11, Stands.SCREEN), (12, Stands.UNLOAD),
    ]  # fmt: skip


def test_travel_goes_round_past_the_last_number(ordinary):
    # load 5, unload 3 of 6 stations: 6, 1 and 2 are on the way, 4 is not
    content = with_slots(
        ordinary, screen(1, 2, "brick"), screen(1, 6, "straw"), stations=6, load=5, unload=3, heads=(6, 1, 2),
        out_of_service=(),
    )  # fmt: skip
    assert [station for station, _ in stands(content)[0]] == [5, 6, 1, 2, 3]
    assert [slot.ink for slot in content.in_print_order()] == ["straw", "brick"]
    assert unused_stations(content) == (4,)


def test_laps_say_what_rests_and_what_goes_on(ordinary):
    content = with_slots(
        ordinary,
        screen(1, 2, "white base"),
        flash(1, 3),
        screen(2, 2, "white base"),
        screen(2, 6, "straw"),
        flash(2, 9),
    )
    first, second = station_rows(content)
    assert [cell.words for cell in (first[0], first[-1], second[0], second[-1])] == [
        "load", "on to lap 2", "round again", "unload",
    ]  # fmt: skip
    by_station = [{cell.station: cell.stands for cell in row} for row in (first, second)]
    assert [rows[2] for rows in by_station] == [Stands.SCREEN, Stands.SCREEN]
    assert [rows[3] for rows in by_station] == [Stands.FLASH, Stands.FLASH_RESTS]
    assert [rows[6] for rows in by_station] == [Stands.SCREEN_RESTS, Stands.SCREEN]
    assert [rows[9] for rows in by_station] == [Stands.FLASH_RESTS, Stands.FLASH]


def test_cooling_is_only_what_stands_idle_right_after_a_flash(ordinary):
    content = with_slots(ordinary, flash(1, 3), screen(1, 6, "straw"), out_of_service=(), cooling_stations=2)
    row = dict(stands(content)[0])
    assert [row[station] for station in (2, 4, 5, 7)] == [Stands.EMPTY, Stands.COOLING, Stands.COOLING, Stands.EMPTY]


def test_idle_stations_say_why(ordinary):
    content = with_slots(ordinary, screen(1, 2, "straw"), heads=(2, 3, 4, 8))
    content = dataclasses.replace(content, job=content.job.model_copy(update={"keep_empty": (3,)}))
    row = dict(stands(content)[0])
    assert [row[station] for station in (3, 4, 5, 8)] == [
        Stands.KEPT_EMPTY, Stands.EMPTY, Stands.NO_HEAD, Stands.OUT_OF_SERVICE,
    ]  # fmt: skip


def test_a_card_says_what_is_wrong_with_its_place(ordinary):
    content = with_slots(ordinary, screen(1, 8, "straw"), screen(1, 8, "brick"), screen(1, 12, "fern"))
    cell = next(cell for cell in station_rows(content)[0] if cell.station == 8)
    assert cell.fault == "also here: brick; head out of service"
    assert [slot.ink for slot in off_the_way(content)] == ["fern"]


def test_wet_groups_end_at_every_flash_and_count_each_pair_once(ordinary):
    base, colours = wet_groups(ordinary)
    assert base.alone
    assert base.words("base") == "base, alone until gelled"
    assert [slot.ink for slot in colours.slots] == ["straw", "brick", "fern", "harbour blue", "soot", "top white"]
    # 41 straw into brick + 33 straw into fern + 44 fern into harbour blue; 108 brick into straw does not happen
    assert colours.harm == pytest.approx(118.0)
    assert colours.cause == ("fern", "harbour blue", 44.0)


def test_harm_follows_the_order_of_printing(ordinary):
    content = with_slots(ordinary, screen(1, 5, "brick"), screen(1, 6, "straw"))
    (group,) = wet_groups(content)
    assert group.words("colour") == "wet together: some harm (108), chiefly brick into straw (108)"


def test_groups_run_over_laps_and_second_screens_take_their_inks_harm(ordinary):
    content = with_slots(ordinary, flash(1, 3), screen(1, 5, "straw"), screen(2, 4, "brick"), screen(2, 6, "straw 2"))
    (group,) = wet_groups(content)
    assert [slot.lap for slot in group.slots] == [1, 2, 2]
    assert group.harm == pytest.approx(41.0 + 108.0)


def test_without_a_matrix_nothing_is_claimed(ordinary):
    plan = ordinary.plan.model_copy(update={"harm": Harm()})
    group = wet_groups(dataclasses.replace(ordinary, plan=plan))[1]
    assert group.harm is None
    assert group.words("colour") == "wet together"


def test_a_base_that_is_not_alone_is_not_called_alone(ordinary):
    content = with_slots(ordinary, screen(1, 2, "white base"), screen(1, 4, "straw"), flash(1, 6))
    (group,) = wet_groups(content)
    assert not group.alone
    assert group.words("base") == "wet together: no harm that shows"


@pytest.mark.parametrize(
    ("harm", "word"), [(0.0, "no harm that shows"), (12, "little harm"), (118, "some harm"), (900, "much harm")]
)
def test_harm_has_a_word(harm, word):
    assert harm_word(harm) == word


@pytest.mark.parametrize("width", [774.0, 724.0])
def test_words_stay_inside_their_cards(stress, ordinary, width):
    words = UnitWords(Units.INCH)
    rows = [row for content in (stress, ordinary) for row in station_line(content, words, width)]
    assert len(rows) == 5
    for row in rows:
        assert isinstance(row, StationRow)
        for top, foot in zip(row.tops, row.feet, strict=True):
            for line in (*top, *foot):
                assert width_of(line.text, line.font, line.size) <= row.column - 8
                assert line.size >= 7.5
            assert sum(line.leading for line in (*top, *foot)) + (22 if foot else 0) <= row.card_high


def test_a_long_press_goes_on_in_even_rows_with_its_brackets_open(stress):
    first, _, second, _ = station_line(stress, UnitWords(Units.INCH), 774.0)
    assert [cell.station for cell in first.cells] == list(range(1, 11))
    assert [cell.station for cell in second.cells] == list(range(11, 21))
    second_laps = [row for row in station_line(stress, UnitWords(Units.INCH), 774.0) if row.cells[0].lap == 2]
    assert second_laps[0].brackets[-1].open_right
    assert second_laps[1].brackets[0].open_left
    # one column of the group stands in the first row, seven in the second: the words stand where there is room
    assert second_laps[0].brackets[-1].text == "wet together, and on"
    assert second_laps[1].brackets[0].text.startswith("wet together: much harm (372), chiefly")


def test_harm_inside_a_blend_is_told_apart(ordinary):
    limits = ordinary.plan.limits.model_copy(update={"no_flash_between": (("brick", "straw"), ("fern", "soot"))})
    content = dataclasses.replace(ordinary, plan=ordinary.plan.model_copy(update={"limits": limits}))
    group = wet_groups(content)[1]
    assert group.blend == pytest.approx(41.0)
    assert group.words("colour").endswith("(44); 41 of it in a blend that is meant to mix wet")
