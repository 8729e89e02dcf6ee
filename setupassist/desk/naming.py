"""An ink that its file leaves nameless gets a name, and all that the job says of it follows."""

from __future__ import annotations

from typing import Any

from setupassist.desk.edits import Edit, with_fields
from setupassist.desk.sound_plates import COLOUR_OF
from setupassist.documents.job import Job
from setupassist.errors import InputFault
from setupassist.words import say

SECOND = " 2"
"""What the name of an ink's second screen ends with."""
TABLES = ("inks", "pins", "overrides")
PAIRS = ("on_top", "order", "flash_between", "no_flash_between")
LINES = ("arrangement", "kept_plan")


def name_ink(job: Job, stand_in: str, now: str, text: str, *, others: tuple[str, ...] = ()) -> Edit:
    """The edit that names the ink called ``now``; an empty text goes back to what stands in for its name.

    ``others`` are the names of the set's other inks. Raises InputFault where one of them is called so.
    """
    name = " ".join(text.split()) or stand_in
    if name.casefold() in (other.casefold() for other in others):
        raise InputFault("", say("art.plate.alike", name=name), say("art.plate.own-names"))
    said = job.model_dump(mode="json", by_alias=True)
    names = {key: value for key, value in said["source"]["names"].items() if key != stand_in}
    if name != stand_in:
        names[stand_in] = name
    source = {key: value for key, value in {**said["source"], "names": names}.items() if value not in (None, False, {})}
    fields: dict[str, Any] = {"source": source or None}
    follow = {now: name, f"{now}{SECOND}": f"{name}{SECOND}"}
    for field in TABLES:
        fields[field] = {follow.get(key, key): value for key, value in said[field].items()}
    for field in PAIRS:
        fields[field] = [[follow.get(ink, ink) for ink in pair] for pair in said[field]]
    for field in LINES:
        fields[field] = said[field] and [{**slot, "ink": follow.get(slot["ink"], slot["ink"])} for slot in said[field]]
    question = f"{COLOUR_OF}{now}"
    fields["answers"] = {
        f"{COLOUR_OF}{name}" if key == question else key: value for key, value in said["answers"].items()
    }
    if isinstance(said["plates"], list):
        fields["plates"] = [
            {key: value for key, value in {**plate, "ink": follow.get(plate["ink"], plate["ink"])}.items() if value}
            for plate in said["plates"]
        ]
    changed: dict[str, Any] = {field: value or None for field, value in fields.items() if value != said[field]}
    return with_fields(job, say("desk.edit.name-ink", ink=now), **changed)
