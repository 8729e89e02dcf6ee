"""What is seen of the shop book and of the first start: every text from a catalogue, with room, reached and named."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest
from pytestqt.qtbot import QtBot

import setupassist
from setupassist.app.model import DeskModel
from setupassist.app.places.shop import ShopPlace
from setupassist.app.window import Window
from setupassist.desk import decision_rows
from setupassist.desk.decision_rows import State
from setupassist.desk.interview import Step
from setupassist.desk.shop_entries import POLICY_GROUPS, Section
from setupassist.documents.shop import Shop
from setupassist.words import Words, ids, languages
from tests.app import seen
from tests.app.seen import Seen
from tests.app.test_texts import letters_of_the_code, shop_of_xs


def shop_for_reading() -> Shop:
    """Names and sources of x, all fields given, a row off and a row of the shop's own."""
    shop = shop_of_xs()
    rows = {row.id: row for row in decision_rows.rows(shop)}
    shop = decision_rows.switch(shop, rows["fibre-unknown"], State.OFF).shop
    shop = decision_rows.switch(shop, rows["ink-system-unknown"], State.OWN).shop
    own = next(row for row in decision_rows.rows(shop) if row.id == "ink-system-unknown")
    return decision_rows.write(shop, own, {"reason": "xx xx", "source": "xxx"}).shop


def settle(window: Window, qtbot: QtBot) -> None:
    """Waits until nothing moves any more: layouts of wrapped text take some rounds."""
    before = None
    for _ in range(50):
        now = [(id(widget), widget.geometry().getRect()) for widget in seen.shown(window)]
        if now == before:
            return
        before = now
        qtbot.wait(30)
    raise AssertionError("the window never comes to rest")


def walk(window: Window, qtbot: QtBot) -> Iterator[str]:
    """Goes through every kind, every group of policies and some rows of the decisions."""
    window.go("shop")
    place = window.places["shop"]
    assert isinstance(place, ShopPlace)
    for section in Section:
        place.show_section(section)
        many = {Section.POLICIES: len(POLICY_GROUPS), Section.DECISIONS: 12}.get(section, 1)
        for at in range(many):
            place.choose(at)
            settle(window, qtbot)
            yield f"{section} {at}"
    rows = decision_rows.rows(window.model.desk.shop)
    for row_id in ("fibre-unknown", "ink-system-unknown", "off-contact"):
        place.choose(next(at for at, row in enumerate(rows) if row.id == row_id))
        settle(window, qtbot)
        yield f"row {row_id}"


def interview_walk(window: Window, qtbot: QtBot) -> Iterator[str]:
    """The offer, then every step."""
    first = window.welcome.first
    qtbot.waitUntil(first.isVisible)
    yield "offer"
    first._begin()
    for step in Step:
        assert first.pages.now.step is step
        settle(window, qtbot)
        yield step
        if step is not Step.INK:
            first.pages.go(1)


@pytest.fixture
def crossed_window(
    model: DeskModel, crossed: Words, monkeypatch: pytest.MonkeyPatch, qtbot: QtBot, tmp_path: Path
) -> Iterator[Window]:
    """The window in words of x."""
    monkeypatch.setattr("setupassist.app.model.words_in", lambda language: crossed)
    monkeypatch.setattr("setupassist.desk.decision_rows.reasons", lambda language: _Crossed())
    model.put_shop(shop_for_reading())
    made = Window(model)
    made.show()
    qtbot.waitExposed(made)
    yield made
    made.close()
    made.deleteLater()


class _Crossed(dict[str, str]):
    """Templates of x for every id."""

    def __contains__(self, key: object) -> bool:
        return True

    def get(self, key: str, default: object = None) -> str:  # type: ignore[override]
        return "xxx {xx}"


def everything(window: Window) -> Iterator[Seen]:
    yield from seen.texts(window)
    with seen.painted() as noted:
        window.grab()
    yield from noted.texts


@pytest.mark.parametrize("going", [walk, interview_walk])
def test_every_text_comes_from_a_catalogue(
    crossed_window: Window, qtbot: QtBot, going: Callable[..., Iterator[str]]
) -> None:
    told: list[Seen] = []
    for _ in going(crossed_window, qtbot):
        told += everything(crossed_window)
    place = crossed_window.places["shop"]
    assert isinstance(place, ShopPlace)
    if going is walk:
        place.show_section(Section.PRESSES)
        form = place.stack.currentWidget()
        form._typed("stations", "1000", False)  # type: ignore[union-attr]
        form._typed("heads", "x", False)  # type: ignore[union-attr]
        told += everything(crossed_window)
        told += [Seen("undo", crossed_window.model.words(f)) for f in form._faults.values()]  # type: ignore[union-attr]
    assert len({one.text for one in told}) > 60
    found = letters_of_the_code(told)
    assert not found, "\n".join(found)


@pytest.mark.parametrize(
    ("language", "percent"), [(language, 100 if language == "en" else 150) for language in languages()]
)
@pytest.mark.parametrize("going", [walk, interview_walk])
def test_every_text_has_the_room_it_takes(
    window: Window, qtbot: QtBot, at_rest: Callable[[], None], *, language: str, percent: int, going
) -> None:
    window.model.put_shop(shop_for_reading())
    window.model.prefer(language=language, text_percent=percent)
    window.resize(1100, 700)
    faults = []
    for where in going(window, qtbot):
        with seen.painted() as noted:
            window.grab()
        faults += [f"{where}: {fault}" for fault in [*seen.unfit(window), *noted.faults]]
    assert (window.width(), window.height()) == (1100, 700)
    at_rest()
    assert not faults, "\n".join(sorted(set(faults)))


def in_a_group(widget, reached) -> bool:
    group = widget.group() if hasattr(widget, "group") else None
    return group is not None and any(other in reached for other in group.buttons())


@pytest.mark.parametrize("going", [walk, interview_walk])
def test_tab_reaches_everything_and_all_can_be_read_out(window: Window, qtbot: QtBot, going) -> None:
    window.activateWindow()
    faults = []
    for where in going(window, qtbot):
        reached = seen.by_tab(window)
        wanted = seen.to_be_reached(window)
        missed = [widget for widget in wanted if widget not in reached and not in_a_group(widget, reached)]
        faults += [f"{where}: Tab does not reach {seen.named(widget)}" for widget in missed]
        nameless = [widget for widget in {*wanted, *reached} if not seen.read_out(widget).strip()]
        faults += [f"{where}: {seen.named(widget)} has no name" for widget in nameless]
    assert not faults, "\n".join(sorted(set(faults)))


def test_no_entry_of_the_catalogues_lies_unsaid() -> None:
    """Every id of the place and of the interview stands in the code, whole or as its beginning."""
    code = Path(setupassist.__file__).parent
    text = "".join(file.read_text("utf-8") for room in ("app", "desk") for file in (code / room).rglob("*.py"))
    said = set(re.findall(r"[\"']((?:place_shop|interview)\.[a-z0-9_.-]+)[\"']", text))
    begun = set(re.findall(r"[\"']((?:place_shop|interview)\.[a-z0-9_.-]*)\{", text))
    ends = set(re.findall(r"[\"']([a-z0-9-]+)[\"']", text))
    for key in (key for key in ids("en") if key.startswith(("place_shop.", "interview."))):
        lead = next((start for start in sorted(begun, key=len, reverse=True) if key.startswith(start)), None)
        rest = key.removeprefix(lead or key)
        told = key in said or (lead is not None and any(rest in (end, f"{end}-more") for end in ends | set(_ENUMS)))
        assert told, f"{key} lies unsaid"
    for key in said:
        assert key in ids("en"), f"{key} is said and not there"


_ENUMS = [*Section, *State, *Step, *POLICY_GROUPS, "mesh-inch", "mesh-metric", "inch", "metric"]
