"""Every edit of a job: a name that undo can show, and the job as it is afterwards.

An edit is worked out whole before it is kept, so that whatever can fail fails here: each function raises InputFault,
and then nothing has changed.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Any

from setupassist.documents.base import read_document
from setupassist.documents.changes import changed
from setupassist.documents.job import OF_STATIONS, Job
from setupassist.documents.plan import Slot
from setupassist.documents.press import Press
from setupassist.words import Said, say

WHERE = "job"


@dataclass(frozen=True)
class Edit:
    """A job after an edit. Edits in a row with the same ``merges`` are undone as one."""

    name: Said
    job: Job
    merges: str = ""


def with_fields(job: Job, name: Said, *, merges: str = "", **fields: Any) -> Edit:
    """The job with whole fields in place of its own; None takes a field back to its default."""
    told = job.model_dump(mode="json", by_alias=True, exclude_unset=True)
    for field, value in fields.items():
        if value is None:
            told.pop(field, None)
        else:
            told[field] = value
    return Edit(name, read_document(Job, told, WHERE), merges)


def _field(job: Job, field: str) -> Any:
    return job.model_dump(mode="json", by_alias=True, include={field})[field]


def _entry(job: Job, field: str, key: str, value: Any) -> dict[str, Any] | None:
    """The table ``field`` with ``key`` set, or taken out where the value is None; None where nothing is left."""
    table = dict(_field(job, field))
    if value is None:
        table.pop(key, None)
    else:
        table[key] = value
    return table or None


def title(job: Job, text: str) -> Edit:
    """The job's title."""
    return with_fields(job, say("desk.edit.title"), title=text)


def answer(job: Job, question: str, value: str | None) -> Edit:
    """An answer to a question; None goes back to what is suggested."""
    from setupassist.steps.questions import name_of

    shown = name_of(question)
    name = say("desk.edit.answer", question=shown) if value is not None else say("desk.edit.suggested")
    return with_fields(job, name, answers=_entry(job, "answers", question, value))


def note_ink(job: Job, ink: str, place: int | None = None, **fields: Any) -> Edit:
    """What the person says of an ink (role, colour, ink_system, prints); None takes it back.

    ``place`` is the plate's place in the set: a listed plate that names no ink is the one in that place.
    """
    name = say("desk.edit.ink", ink=ink)
    plates = _field(job, "plates")
    if isinstance(plates, list):
        for at, plate in enumerate(plates):
            if plate.get("ink") == ink or (plate.get("ink") is None and at == place):
                told = {**plate, **fields}
                plates[at] = {key: value for key, value in told.items() if value is not None}
                return with_fields(job, name, plates=plates)
    note = {**_field(job, "inks").get(ink, {}), **fields}
    note = {key: value for key, value in note.items() if value is not None}
    return with_fields(job, name, inks=_entry(job, "inks", ink, note or None))


def source(job: Job, **fields: Any) -> Edit:
    """How the plates are read: dpi where their files tell none, page, light_is_ink; None takes it back."""
    told = {
        name: value for name, value in {**_field(job, "source"), **fields}.items() if value not in (None, False, {})
    }
    key = next((field for field in ("dpi", "page") if field in fields), "light-is-ink")
    name = say("place_art_check.edit.page" if key == "page" else f"place_art.edit.{key}")
    return with_fields(job, name, source=told or None)


def garment(job: Job, at: int, **fields: Any) -> Edit:
    """What the person says of the garment group in place ``at``; None takes it back to its default."""
    groups = [group.model_dump(mode="json", exclude_unset=True) for group in job.groups]
    told = {**groups[at], **fields}
    groups[at] = {key: value for key, value in told.items() if value is not None}
    return _with_groups(job, say("desk.edit.garment"), groups)


def add_garment(job: Job, name: str) -> Edit:
    """One more garment group, like the last one."""
    groups = [group.model_dump(mode="json", exclude_unset=True) for group in job.groups]
    groups[0].setdefault("name", job.groups[0].name)
    groups.append({**groups[-1], "name": name} | ({"pieces": 0} if "pieces" in groups[-1] else {}))
    return _with_groups(job, say("desk.edit.add-garment"), groups)


def remove_garment(job: Job, at: int) -> Edit:
    """The order without one garment group, and without sizes that counted its pieces too; its last group stays."""
    groups = [group.model_dump(mode="json", exclude_unset=True) for group in job.groups]
    if len(groups) > 1:
        del groups[at]
    return _with_groups(job, say("desk.edit.remove-garment"), groups, sizes_give_way=True)


def _with_groups(job: Job, name: Said, groups: list[dict[str, Any]], *, sizes_give_way: bool = False) -> Edit:
    counts = [group.get("pieces") for group in groups]
    fields: dict[str, Any] = {"garment": None, "garments": groups}
    if all(count is not None for count in counts):
        total = sum(count for count in counts if count is not None)
        if job.pieces is not None:
            fields["pieces"] = total
        if sizes_give_way and sum(job.sizes.values()) != total:
            fields["sizes"] = None
    return with_fields(job, name, **fields)


def pieces(job: Job, count: int | None, sizes: Mapping[str, int] | None = None) -> Edit:
    """Pieces of the order, with sizes that add up to them where the person tells sizes."""
    groups = [group.model_dump(mode="json", exclude_unset=True) for group in job.groups]
    fields: dict[str, Any] = {"pieces": count, "sizes": dict(sizes) if sizes else None}
    if len(groups) == 1 and groups[0].pop("pieces", None) is not None:
        fields |= {"garment": groups[0], "garments": None}
    return with_fields(job, say("desk.edit.pieces"), **fields)


def pin(job: Job, screen: str, station: int | None) -> Edit:
    """A screen pinned to a station; None lets it go."""
    name = say("desk.edit.pin", screen=screen, station=station) if station else say("desk.edit.unpin", screen=screen)
    return with_fields(job, name, pins=_entry(job, "pins", screen, station))


def pin_flash(job: Job, station: int, pinned: bool) -> Edit:
    """A flash unit pinned to a station, or let go."""
    name = say("desk.edit.pin-flash", station=station) if pinned else say("desk.edit.unpin-flash", station=station)
    return with_fields(job, name, flash_pins=_stations(job.flash_pins, station, pinned))


def keep_empty(job: Job, station: int, empty: bool) -> Edit:
    """A station kept empty, or free again."""
    name = say("desk.edit.keep-empty", station=station) if empty else say("desk.edit.free", station=station)
    return with_fields(job, name, keep_empty=_stations(job.keep_empty, station, empty))


def _stations(stations: Iterable[int], station: int, there: bool) -> list[int] | None:
    others = [s for s in stations if s != station]
    return sorted([*others, station] if there else others) or None


def out_of_service(job: Job, press: Press, station: int, out: bool) -> Edit:
    """A head of this job's press taken out of service, or put back; the press is written out in the job."""
    name = say("desk.edit.out", station=station) if out else say("desk.edit.in-service", station=station)
    stations = _stations(press.out_of_service, station, out) or []
    return Edit(name, changed(job, press, {"out_of_service": stations}, where=WHERE))


def on_press(job: Job, name: str | Press) -> Edit:
    """The job on another press. What names stations of the old one (pins, a hand-made line) is let go."""
    told = name if isinstance(name, str) else name.model_dump(mode="json", by_alias=True)
    shown = name if isinstance(name, str) else name.name
    fields: dict[str, Any] = {"press": told} | dict.fromkeys(OF_STATIONS)
    return with_fields(job, say("desk.edit.press", press=shown), **fields)


def strategy(job: Job, name: str) -> Edit:
    """The strategy of the plan; a hand-made line gives way to it."""
    shown = say(f"terms.strategy.{name}")
    return with_fields(job, say("desk.edit.strategy", strategy=shown), strategy=name, arrangement=None)


def arrangement(job: Job, slots: Iterable[Slot] | None, name: Said) -> Edit:
    """A hand-made line of slots; None goes back to the planner's."""
    told = None
    if slots is not None:
        fields = {"lap", "station", "holds", "ink"}
        told = [slot.model_dump(mode="json", include=fields, exclude_none=True) for slot in slots]
    return with_fields(job, name, arrangement=told)


def standing_now(job: Job, slots: Iterable[Slot] | None) -> Edit:
    """What stands on the press now: the slots of a plan, or nothing."""
    told = {str(slot.station): slot.ink or "flash" for slot in slots or ()}
    return with_fields(job, say("desk.edit.standing-now"), on_press_now=told or None)


def override(job: Job, screen: str, field: str, value: float | str | None) -> Edit:
    """A value of a screen overruled; None goes back to the computed one."""
    return overrule(job, screen, **{field: value})


def overrule(job: Job, screen: str, **fields: float | str | None) -> Edit:
    """Values of a screen overruled together; None goes back to the computed one.

    A second screen (``NAME 2``) that was overruled with its ink keeps what it had from there.
    """
    overruled = _field(job, "overrides")
    before = overruled.get(screen) or overruled.get(screen.removesuffix(" 2"), {})
    table = {name: v for name, v in {**before, **fields}.items() if v is not None}
    key = "desk.edit.override" if any(value is not None for value in fields.values()) else "desk.edit.computed"
    merges = f"override {screen} {' '.join(fields)}"
    return with_fields(
        job, say(key, screen=screen), merges=merges, overrides=_entry(job, "overrides", screen, table or None)
    )


def computed(job: Job, screen: str) -> Edit:
    """Every value of a screen back to the computed one."""
    return with_fields(job, say("desk.edit.computed", screen=screen), overrides=_entry(job, "overrides", screen, None))


def flash_seconds(job: Job, station: int, seconds: float | None) -> Edit:
    """Seconds of the flash at a station; None goes back to the shop's."""
    key = "desk.edit.flash-seconds" if seconds is not None else "desk.edit.flash-computed"
    return with_fields(
        job,
        say(key, station=station),
        merges=f"flash {station}",
        flash_seconds=_entry(job, "flash_seconds", str(station), seconds),
    )


def run_field(job: Job, field: str, value: float | None) -> Edit:
    """Tests, spoilage (0..1), spares or crew_seconds of this job; None goes back to what holds without the job."""
    name = say(f"desk.edit.{field.replace('_', '-')}")
    return with_fields(job, name, merges=field, **{field: value})


def sheet(job: Job, **fields: Any) -> Edit:
    """How the sheet is printed: language, paper, units; None leaves it to the shop book."""
    told = {name: value for name, value in {**_field(job, "sheet"), **fields}.items() if value is not None}
    return with_fields(job, say("desk.edit.sheet"), sheet=told or None)
