"""Faults of documents come as one plain sentence each, with the nearest known name."""

from __future__ import annotations

from typing import Any

import pytest

from setupassist.documents.base import read_document
from setupassist.documents.job import Job
from setupassist.errors import MOST_FAULTS_TOLD, InputFault, InputFaults

PRESS = {"name": "bench", "stations": 10, "load": 1, "unload": 10, "heads": [2, 3, 4]}
JOB = {"format": "setupassist-job/1", "plates": [{"file": "a.png", "ink": "red"}], "press": PRESS}


def faults(change: dict[str, Any]) -> list[str]:
    with pytest.raises(InputFault) as caught:
        read_document(Job, {**JOB, **change}, "job.json")
    return caught.value.sentences()


@pytest.mark.parametrize(
    ("change", "said"),
    [
        ({"plattes": 1}, "unknown field 'plattes'; did you mean 'plates'?"),
        ({"press": {**PRESS, "head": 1}}, "unknown field 'press.head'; did you mean 'heads'?"),
        ({"garment": {"fiber": "cotton"}}, "unknown field 'garment.fiber'; did you mean 'fibre'?"),
        ({"overrides": {"red": {"stroke": 2}}}, "unknown field 'overrides.red.stroke'; did you mean 'strokes'?"),
        ({"pieces": "3"}, "'pieces' must be a whole number, not \"3\""),
        ({"pieces": True}, "'pieces' must be a whole number, not true"),
        ({"pieces": 2.5}, "'pieces' must be a whole number"),
        ({"pieces": -1}, "'pieces' must be at least 0, not -1"),
        ({"plates": 3}, "'plates' must be a list, not 3"),
        ({"plates": []}, "'plates' has too few entries; add one"),
        ({"plates": [3]}, "'plates[0]' must be a table of names and values, not 3"),
        ({"plates": [{"ink": "red"}]}, "'plates[0].file' is missing; add it"),
        ({"press": {**PRESS, "stations": 100_000}}, "'press.stations' must be at most 100, not 100000"),
        ({"press": {**PRESS, "heads": []}}, "'heads' is empty; a press needs at least one print head"),
        ({"press": {**PRESS, "heads": [2, 10]}}, "names station 10, which is not on the way"),
        ({"press": {**PRESS, "flash_slots": [1]}}, "names station 1, which is not on the way"),
        ({"press": {**PRESS, "out_of_service": [5]}}, "names station 5, which has no head"),
        ({"press": {**PRESS, "unload": 11}}, "'unload' is station 11, but the press has 10"),
        ({"strategy": "fast"}, "'strategy' must be one of 'leanest', 'cleanest' or 'quickest-changeover'"),
        ({"garment": {"colour": "reed"}}, "'reed' is no colour; write it as #rrggbb"),
        ({"plates": [{"file": "a.png", "ink": "Flash"}]}, "'flash' stands for a flash unit"),
        ({"plates": [{"file": "a.png", "ink": "a\nb"}]}, "holds a control character"),
        ({"order": [["red"]]}, "'order[0][1]' is missing; add it"),
        ({"on_press_now": {"three": "red"}}, "'on_press_now.three' must be a whole number"),
        ({"sizes": {"S": 3}, "pieces": 4}, "'sizes' add up to 3, but the order has 4 pieces"),
        ({"garment": {}, "garments": [{}]}, "'garment' and 'garments' are both given; keep one"),
        ({"arrangement": [{"lap": 1000000, "station": 2, "holds": "flash"}]}, "'arrangement[0].lap' must be at most 6"),
        ({"kept_plan": [{"lap": 1, "station": 2, "holds": "flash"}] * 201}, "'kept_plan' has more than 200 entries"),
        ({"sizes": {f"size {n}": 1 for n in range(61)}}, "'sizes' has more than 60 entries"),
        ({"on_press_now": {"03": "a"}}, "'on_press_now.03' must be a whole number"),
        ({"flash_pins": [3, 3]}, "'flash_pins' names a station twice"),
        ({"pieces": 100, "garment": {"pieces": 5}}, "'garments' add up to 5 pieces, but 'pieces' is 100"),
        ({"press": {**PRESS, "print_mm_per_second": 5e-324}}, "must be at least 1"),
        ({"source": {"dpi": 0.01}}, "'source.dpi' must be at least 10"),
        ({"format": "setupassist-job/2"}, "'format' must be one of 'setupassist-job/1'"),
    ],
)
def test_a_fault_is_one_plain_sentence(change: dict[str, Any], said: str) -> None:
    told = faults(change)
    assert len(told) == 1
    assert said in told[0]
    assert told[0].startswith("job.json: ")
    assert "\n" not in told[0]


def test_five_faults_at_most_are_told() -> None:
    told = faults({f"stranger{n}": n for n in range(9)})
    assert len(told) == MOST_FAULTS_TOLD
    assert told[-1].endswith("(and 4 more)")


def test_a_sound_document_is_frozen_and_keeps_its_values() -> None:
    job = read_document(Job, {**JOB, "on_press_now": {"3": "red"}, "sizes": {"S": 2, "M": 3}}, "job.json")
    assert job.on_press_now == {3: "red"}
    assert job.total_pieces == 5
    with pytest.raises(ValueError, match="frozen"):
        job.title = "other"


def test_an_answer_may_be_a_number() -> None:
    job = read_document(Job, {**JOB, "answers": {"halftone-ruling": 45, "spoilage": 0.03}}, "job.json")
    assert job.answers == {"halftone-ruling": "45", "spoilage": "0.03"}
    assert "'answers.base' must be text, not true" in faults({"answers": {"base": True}})[0]


def test_not_a_number_is_refused() -> None:
    with pytest.raises(InputFault, match="cannot hold"):
        read_document(Job, {**JOB, "spoilage": float("nan")}, "job.json")


def test_several_faults_are_one_error() -> None:
    with pytest.raises(InputFaults) as caught:
        read_document(Job, {"format": "setupassist-job/1"}, "job.json")
    assert {fault.what for fault in caught.value.faults} == {"'plates' is missing", "'press' is missing"}
