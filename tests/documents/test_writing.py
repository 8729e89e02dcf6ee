"""What is written reads back equal, only what is set is written, and the last good copy survives."""

from __future__ import annotations

import json
import os
import tomllib
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from setupassist.documents.base import read_document
from setupassist.documents.job import Job
from setupassist.documents.shop import Ink, Shop
from setupassist.documents.store import (
    example_shop,
    job_bytes,
    parse_shop,
    read_job,
    read_shop,
    shop_bytes,
    write_job,
    write_shop,
)
from setupassist.errors import InputFault

SAMPLES = sorted((Path(__file__).parents[2] / "sample_art").glob("*/job.json"))
PRESS = {"name": "bench", "stations": 10, "load": 1, "unload": 10, "heads": [2, 3, 4], "dwell_seconds": {"from": 2}}
JOB = {"format": "setupassist-job/1", "plates": [{"file": "a.png", "ink": "red"}], "press": "Long bench"}

inks = st.sampled_from(["red", "Rojo cálido", 'a "quoted" ink', "blå/grønn"])
stations = st.lists(st.integers(1, 12), unique=True, max_size=4)
pairs = st.lists(st.lists(inks, min_size=2, max_size=2), max_size=3)
seconds = st.floats(0.5, 120) | st.integers(1, 120)
figures = st.fixed_dictionaries(
    {"plates": st.just([{"name": "red", "ink_area_cm2": 1.5}]),
     "chokes": st.just([{"base": "red", "median_mm": None, "p5_mm": 0.25}])},
)  # fmt: skip
jobs = st.fixed_dictionaries(
    {"format": st.just("setupassist-job/1"),
     "plates": st.just("plates") | st.just([{"file": "a.png", "role": None, "prints": 2}]) | figures,
     "press": st.just("Long bench") | st.just(PRESS)},
    optional={
        "title": st.text(max_size=20), "pieces": st.none() | st.integers(0, 9999), "order": pairs, "on_top": pairs,
        "inks": st.dictionaries(inks, st.just({"role": "high-density", "colour": "#fff"}), max_size=2),
        "garment": st.just({"polyester_share": 0.5}) | st.just({"grams_per_m2": 180, "fibre": "blend"}),
        "answers": st.dictionaries(st.sampled_from(["base", "halftone-ruling"]), st.just("yes") | seconds),
        "pins": st.dictionaries(inks, st.integers(1, 12), max_size=2), "keep_empty": stations,
        "on_press_now": st.dictionaries(st.integers(1, 12).map(str), st.text(max_size=9), max_size=3),
        "flash_seconds": st.dictionaries(st.integers(1, 12).map(str), seconds, max_size=2),
        "strategy": st.sampled_from(["leanest", "cleanest", "quickest-changeover"]),
        "arrangement": st.none() | st.just([{"lap": 1, "station": 2, "holds": "screen", "ink": "red"}]),
        "overrides": st.dictionaries(inks, st.just({"squeegee_shore": "65/90/65", "mesh_per_inch": 156.5}), max_size=1),
        "sheet": st.just({"units": "metric"}), "spoilage": st.floats(0, 1), "crew_seconds": st.floats(0, 3600),
    },
)  # fmt: skip


@settings(max_examples=150, deadline=None)
@given(jobs)
def test_a_job_written_reads_back_equal(told: dict[str, Any]) -> None:
    job = read_document(Job, told, "job.json")
    written = job_bytes(job)
    again = read_document(Job, json.loads(written), "job.json")
    assert again == job
    assert job_bytes(again) == written


@pytest.mark.parametrize("path", SAMPLES, ids=lambda path: path.parent.name)
def test_a_sample_job_is_written_as_it_stands(path: Path, tmp_path: Path) -> None:
    write_job(tmp_path / "job.json", read_job(path))
    written = (tmp_path / "job.json").read_text("utf-8")
    assert read_job(tmp_path / "job.json") == read_job(path)
    assert json.loads(written) == json.loads(path.read_text("utf-8"))
    assert sorted(written) == sorted(path.read_text("utf-8"))  # the same characters; the fields in the model's order
    fields = list(json.loads(written))
    assert fields == [name for name in Job.model_fields if name in fields]


def test_only_what_is_set_is_written() -> None:
    job = read_document(Job, JOB, "job.json").model_copy(update={"pieces": None, "title": "Täg", "tests": 0})
    assert json.loads(job_bytes(job)) == {**JOB, "title": "Täg", "tests": 0}
    assert "Täg".encode() in job_bytes(job)


def test_the_last_good_copy_is_kept_beside(tmp_path: Path) -> None:
    path = tmp_path / "job.json"
    job = read_document(Job, JOB, "job.json")
    write_job(path, job)
    assert os.listdir(tmp_path) == ["job.json"]
    write_job(path, job)  # nothing new: nothing is kept twice
    assert os.listdir(tmp_path) == ["job.json"]
    write_job(path, job.model_copy(update={"title": "two"}))
    write_job(path, job.model_copy(update={"title": "three"}))
    assert read_job(path).title == "three"
    assert read_job(tmp_path / "job.json.last").title == "two"
    assert sorted(os.listdir(tmp_path)) == ["job.json", "job.json.last"]


@pytest.mark.parametrize("before", [b"{}", b"\x89PNG\r\n", b""])
def test_what_is_no_job_is_never_written_over(tmp_path: Path, before: bytes) -> None:
    path = tmp_path / "job.json"
    path.write_bytes(before)
    with pytest.raises(InputFault, match="is no job that can be read; choose another name"):
        write_job(path, read_document(Job, JOB, "job.json"))
    assert path.read_bytes() == before
    assert os.listdir(tmp_path) == ["job.json"]


def test_the_example_shop_written_reads_back_equal(tmp_path: Path) -> None:
    shop = example_shop()
    assert parse_shop(shop_bytes(shop).decode(), "shop.toml") == shop
    assert "heads = [2, 3, 4, 5, 6, 7, 8, 9, 10, 11]\n" in shop_bytes(shop).decode()
    write_shop(tmp_path / "shop.toml", shop)
    write_shop(tmp_path / "shop.toml", shop.model_copy(update={"name": "Other"}))
    assert read_shop(tmp_path / "shop.toml").name == "Other"
    assert read_shop(tmp_path / "shop.toml.last") == shop
    (tmp_path / "shop.toml").write_text("name = ")
    with pytest.raises(InputFault, match="is no shop book that can be read"):
        write_shop(tmp_path / "shop.toml", shop)


texts = st.text(st.characters(exclude_categories=["Cs"]), max_size=30)


@settings(max_examples=100, deadline=None)
@given(
    st.lists(st.tuples(st.text(st.sampled_from("abc '\"#[]=\\é"), min_size=1, max_size=9), texts), max_size=3),
    st.floats(0.01, 1),
)
def test_odd_names_and_texts_survive_in_a_shop_book(told: list[tuple[str, str]], contrast: float) -> None:
    inks = {name.strip(): text for name, text in told if name.strip()}
    shop = Shop(
        format="setupassist-shop/1",
        name="[\n    1,\n]".replace("\n", " "),
        inks=tuple(
            Ink(name=name, contrast_ratio=contrast, colour=None, sources={"name": text}) for name, text in inks.items()
        ),
    )
    written = shop_bytes(shop).decode()
    assert parse_shop(written, "shop.toml") == shop
    assert all("colour" not in ink for ink in tomllib.loads(written).get("inks", []))
