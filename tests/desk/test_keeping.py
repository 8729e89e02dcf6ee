"""The shop book on disk: nothing of others is lost, nothing older overwrites what is newer."""

from __future__ import annotations

import random
import threading
from pathlib import Path

import pytest

from setupassist.desk.keeping import BookKeeper
from setupassist.documents import store
from setupassist.documents.shop import Shop
from setupassist.documents.store import example_shop, read_shop, shop_bytes, write_shop
from setupassist.errors import MachineFault, SetupAssistError

SHOP = example_shop()


def called(name: str) -> Shop:
    return SHOP.model_copy(update={"name": name})


def test_a_new_book_is_written_and_the_one_before_is_kept(tmp_path: Path) -> None:
    path = tmp_path / "deep" / "shop.toml"
    keeper = BookKeeper(path, SHOP)
    kept = keeper.keep(called("one"), 1)
    assert kept is not None
    assert (kept.shop.name, kept.beside) == ("one", None)
    keeper.keep(called("two"), 2)
    assert read_shop(path).name == "two"
    assert read_shop(path.with_name("shop.toml.last")).name == "one"
    assert sorted(each.name for each in path.parent.iterdir()) == ["shop.toml", "shop.toml.last"]


def test_an_older_state_never_overwrites_a_newer_one(tmp_path: Path) -> None:
    path = tmp_path / "shop.toml"
    keeper = BookKeeper(path, SHOP)
    order = list(range(1, 25))
    random.Random(1).shuffle(order)
    threads = [threading.Thread(target=keeper.keep, args=(called(f"number {n}"), n)) for n in order]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert read_shop(path).name == "number 24"
    assert keeper.keep(called("late"), 3) is None
    assert read_shop(path).name == "number 24"


def test_comments_written_by_hand_are_kept_beside_once(tmp_path: Path) -> None:
    path = tmp_path / "shop.toml"
    by_hand = b"# my notes\n" + shop_bytes(SHOP)
    path.write_bytes(by_hand)
    keeper = BookKeeper(path, read_shop(path))
    first, second = keeper.keep(called("one"), 1), keeper.keep(called("two"), 2)
    assert first is not None
    assert second is not None
    assert first.beside == path.with_name("shop.toml.kept")
    assert second.beside is None
    assert path.with_name("shop.toml.kept").read_bytes() == by_hand


def test_a_book_of_our_own_hand_is_not_kept_beside(tmp_path: Path) -> None:
    path = tmp_path / "shop.toml"
    write_shop(path, SHOP)
    kept = BookKeeper(path, read_shop(path)).keep(called("one"), 1)
    assert kept is not None
    assert kept.beside is None


def test_what_another_window_wrote_meanwhile_is_kept_beside(tmp_path: Path) -> None:
    path = tmp_path / "shop.toml"
    one, two = BookKeeper(path, SHOP), BookKeeper(path, SHOP)
    one.keep(called("one"), 1)
    kept = two.keep(called("two"), 1)
    assert kept is not None
    assert kept.beside is not None
    assert read_shop(kept.beside).name == "one"
    again = one.keep(called("three"), 2)
    assert again is not None
    assert again.beside == path.with_name("shop.toml.kept-2")
    assert read_shop(again.beside).name == "two"
    assert read_shop(path).name == "three"


def test_a_damaged_book_is_kept_beside(tmp_path: Path) -> None:
    path = tmp_path / "shop.toml"
    path.write_bytes(b"\x00\xff no book")
    kept = BookKeeper(path, SHOP).keep(called("one"), 1)
    assert kept is not None
    assert kept.beside is not None
    assert kept.beside.read_bytes() == b"\x00\xff no book"
    assert read_shop(path).name == "one"


def test_a_disk_that_refuses_leaves_the_last_good_book(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    path = tmp_path / "shop.toml"
    keeper = BookKeeper(path, SHOP)
    keeper.keep(called("one"), 1)

    def full(handle: int) -> None:
        raise OSError(28, "No space left on device")

    with monkeypatch.context() as patched:
        patched.setattr(store.os, "fsync", full)
        with pytest.raises(MachineFault, match="cannot be written"):
            keeper.keep(called("two"), 2)
    assert read_shop(path).name == "one"
    assert not [each for each in tmp_path.iterdir() if each.name.endswith(".new")]
    keeper.keep(called("two"), 3)
    assert read_shop(path).name == "two"


def test_a_place_that_is_no_folder_is_told(tmp_path: Path) -> None:
    (tmp_path / "file").write_text("x")
    with pytest.raises(SetupAssistError, match="cannot be made"):
        BookKeeper(tmp_path / "file" / "shop.toml", SHOP).keep(called("one"), 1)
