"""Reading within limits, saving without loss."""

from __future__ import annotations

import json
import os
from pathlib import Path

import pytest

from setupassist.documents import shop_book, store
from setupassist.documents.places import shop_book_path
from setupassist.documents.schemas import DOCUMENTS, json_schema
from setupassist.documents.store import inside, read_job, read_shop, write_atomically
from setupassist.errors import InputFault, MachineFault

BOOK = 'format = "setupassist-shop/1"\nname = "Corner shop"\n'


@pytest.fixture(autouse=True)
def _own_home(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("SETUPASSIST_HOME", str(tmp_path / "home"))


def test_a_save_replaces_whole_and_leaves_nothing_beside(tmp_path: Path) -> None:
    target = tmp_path / "a.json"
    target.write_bytes(b"old")
    target.chmod(0o640)
    write_atomically(target, b"new")
    assert target.read_bytes() == b"new"
    assert target.stat().st_mode & 0o777 == 0o640
    assert os.listdir(tmp_path) == ["a.json"]


def test_a_save_that_fails_keeps_the_old_copy(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    target = tmp_path / "a.json"
    target.write_bytes(b"old")

    def full(handle: int) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(store.os, "fsync", full)
    with pytest.raises(MachineFault, match="No space left"):
        write_atomically(target, b"new")
    assert target.read_bytes() == b"old"
    assert os.listdir(tmp_path) == ["a.json"]


def test_a_save_goes_through_a_link_and_spares_what_is_no_file(tmp_path: Path) -> None:
    (tmp_path / "real.pdf").write_bytes(b"old")
    (tmp_path / "link.pdf").symlink_to("real.pdf")
    write_atomically(tmp_path / "link.pdf", b"new")
    assert (tmp_path / "link.pdf").is_symlink()
    assert (tmp_path / "real.pdf").read_bytes() == b"new"
    os.mkfifo(tmp_path / "pipe")
    for name in ("pipe", "."):
        with pytest.raises(InputFault, match="a folder, a device or a pipe"):
            write_atomically(tmp_path / name, b"new")
    assert (tmp_path / "pipe").is_fifo()


def test_a_save_into_no_folder_is_said(tmp_path: Path) -> None:
    with pytest.raises(MachineFault, match="cannot be written"):
        write_atomically(tmp_path / "none" / "a.json", b"")


@pytest.mark.parametrize("name", ["../x.png", "/etc/passwd", "a/../../x", "", "a\0b"])
def test_a_path_may_not_leave_the_folder(tmp_path: Path, name: str) -> None:
    with pytest.raises(InputFault, match=r"leaves the job's folder|empty or holds"):
        inside(tmp_path, name, "job.json")


def test_a_link_may_not_lead_out_of_the_folder(tmp_path: Path) -> None:
    (tmp_path / "job").mkdir()
    (tmp_path / "job" / "link.png").symlink_to(tmp_path / "elsewhere.png")
    with pytest.raises(InputFault, match="leaves the job's folder"):
        inside(tmp_path / "job", "link.png", "job.json")
    assert inside(tmp_path / "job", "plates/a.png", "job.json") == (tmp_path / "job/plates/a.png").resolve()


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("{", "not valid JSON (line 1"),
        ('{"a": NaN}', "holds NaN"),
        ('{"a": 1, "a": 2}', "'a' is given twice"),
        ("[" * 100_000, "nested too deeply"),
        ("9" * 5000, "number too long"),
        ("[]", "must be a table"),
        ("{" + ", ".join(f'"a{n}": 1' for n in range(30_000)) + ', "a7": 2}', "'a7' is given twice"),
        ("{" + ", ".join(f'"a{n}": 1' for n in range(110_000)) + "}", "more than 100000 fields"),
        ('{"title": "\\ud800"}', "half of a character"),
        ('{"spoilage": 1e999}', "'spoilage' holds a value"),
    ],
)
def test_a_damaged_job_is_said(tmp_path: Path, text: str, said: str) -> None:
    path = tmp_path / "job.json"
    path.write_text(text)
    with pytest.raises(InputFault) as caught:
        read_job(path)
    assert said in str(caught.value)
    assert str(caught.value).startswith("job.json: ")


def test_other_files_are_no_jobs(tmp_path: Path) -> None:
    with pytest.raises(InputFault, match="no such file"):
        read_job(tmp_path / "none.json")
    with pytest.raises(InputFault, match="a folder, a device or a pipe"):
        read_job(tmp_path)
    (tmp_path / "b.json").write_bytes(b"\xff\xfe\x00")
    with pytest.raises(InputFault, match="UTF-8"):
        read_job(tmp_path / "b.json")


def test_a_book_is_brought_in_and_the_last_one_kept(tmp_path: Path) -> None:
    book = tmp_path / "book.toml"
    book.write_text(BOOK)
    assert shop_book.bring_in(book) == shop_book_path()
    assert store.current_shop().name == "Corner shop"
    book.write_text(BOOK.replace("Corner", "Bridge"))
    shop_book.bring_in(book)
    assert store.current_shop().name == "Bridge shop"
    assert read_shop(shop_book_path().with_name("shop.toml.last")).name == "Corner shop"


def test_a_faulty_book_is_not_brought_in(tmp_path: Path) -> None:
    book = tmp_path / "book.toml"
    book.write_text(BOOK + "nmae = 3\n")
    with pytest.raises(InputFault, match="did you mean 'name'"):
        shop_book.bring_in(book)
    assert not shop_book_path().exists()
    for text, said in (
        ("= 3", "not valid TOML"),
        ("a." * 400 + "b = 1", "nests its key"),
        ("name = 1979-05-27", "'name' holds"),
    ):
        book.write_text(text)
        with pytest.raises(InputFault, match=said):
            read_shop(book)
    book.write_bytes(b"\xef\xbb\xbf" + BOOK.encode())
    assert read_shop(book).name == "Corner shop"


def test_an_edit_with_a_fault_loses_nothing(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    book = tmp_path / "book.toml"
    book.write_text(BOOK)
    shop_book.bring_in(book)
    editor = tmp_path / "editor.sh"
    editor.write_text('#!/bin/sh\nprintf "nmae = 3\\n" >> "$1"\n')
    editor.chmod(0o755)
    monkeypatch.setenv("VISUAL", str(editor))
    with pytest.raises(InputFault, match="did you mean 'name'"):
        shop_book.edit()
    draft = shop_book_path().with_name("shop.draft.toml")
    assert "nmae = 3" in draft.read_text()
    assert store.current_shop().name == "Corner shop"
    editor.write_text('#!/bin/sh\nsed -i "/nmae/d; s/Corner/Harbour/" "$1"\n')
    shop_book.edit()
    assert store.current_shop().name == "Harbour shop"
    assert not draft.exists()


@pytest.mark.parametrize("name", sorted(DOCUMENTS))
def test_every_document_has_a_schema(name: str) -> None:
    schema = json_schema(name)
    assert json.loads(json.dumps(schema)) == schema
    assert schema["additionalProperties"] is False
    assert set(schema["required"]) <= set(schema["properties"])
