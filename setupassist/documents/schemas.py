"""JSON Schema (draft 2020-12) of every document."""

from __future__ import annotations

from typing import Any, Literal

from setupassist.documents.base import Document
from setupassist.documents.job import Job
from setupassist.documents.measure import Measure
from setupassist.documents.plan import Plan
from setupassist.documents.shop import Shop
from setupassist.errors import InputFault, did_you_mean
from setupassist.words import say

DOCUMENTS: dict[str, type[Document]] = {"job": Job, "shop": Shop, "measure": Measure, "plan": Plan}
DIALECT = "https://json-schema.org/draft/2020-12/schema"


def json_schema(name: str) -> dict[str, Any]:
    """The JSON Schema of the document called ``name``; InputFault where there is none of that name.

    What is read may leave out what has a default; what is printed holds every field.
    """
    if name not in DOCUMENTS:
        raise InputFault("schema", say("documents.schema.none", name=name), did_you_mean(name, DOCUMENTS))
    mode: Literal["validation", "serialization"] = "serialization" if name == "plan" else "validation"
    schema = DOCUMENTS[name].model_json_schema(by_alias=True, mode=mode)
    return {"$schema": DIALECT, **schema}
