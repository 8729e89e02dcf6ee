"""A job with a change applied, as a way out of a clash tells it: fields of the job, or of its press."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from setupassist.documents.base import read_document
from setupassist.documents.job import Job
from setupassist.documents.press import Press


def whole_fields(job: Job, change: Mapping[str, Any]) -> dict[str, Any]:
    """The change with whole fields, so that each may simply take the place of the job's own.

    ``answers`` and ``inks`` may be given in part: what the job says besides is put in. Prints that the job's list of
    plates tells are changed there, since the list wins.
    """
    told = job.model_dump(mode="json", by_alias=True, exclude_unset=True)
    whole = dict(change)
    if "answers" in whole:
        whole["answers"] = {**told.get("answers", {}), **whole["answers"]}
    if "inks" in whole:
        notes = dict(whole.pop("inks"))
        plates = told["plates"] if isinstance(told["plates"], list) else []
        for plate in plates:
            if plate.get("ink") in notes and plate.get("prints") is not None:
                plate.update(notes.pop(plate["ink"]))
                whole["plates"] = plates
        if notes:
            own = told.get("inks", {})
            whole["inks"] = {**own, **{name: {**own.get(name, {}), **note} for name, note in notes.items()}}
    return whole


def changed(job: Job, press: Press, change: Mapping[str, Any], *, where: str) -> Job:
    """The job with whole fields of ``change`` in place of its own; fields of the press go into ``press``, written out.

    Raises InputFault where the change makes no job; ``where`` names the job's file.
    """
    of_job = {name: value for name, value in change.items() if name in Job.model_fields}
    of_press = {name: value for name, value in change.items() if name not in Job.model_fields}
    told = job.model_dump(mode="json", by_alias=True, exclude_unset=True)
    if of_press:
        told["press"] = press.model_dump(mode="json", by_alias=True) | of_press
    return read_document(Job, told | of_job, where)
