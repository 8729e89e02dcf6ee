"""What can go wrong, as one tree.

SetupAssistError
├── InputFault       what was handed in is wrong, and the person can mend it     exit 2
│   └── InputFaults  several of them, told together (five at most)               exit 2
├── NoPlan           well-formed, but no plan exists under the limits            exit 3
├── MachineFault     the machine failed: disk, memory, permission                exit 2
└── Cancelled        the person stopped it                                       exit 130

Anything else that escapes is a bug of ours (exit 70), and only that shows a traceback.

``str(error)`` is English on one line; ``sentences()`` are what a face words in its own language.
"""

from __future__ import annotations

import difflib
import errno
import re
import string
from collections.abc import Iterable
from functools import cache

from setupassist.resource_files import read_toml
from setupassist.words import ENGLISH, Joined, Said, joined, say, words_in

MOST_FAULTS_TOLD = 5
MOST_TOLD = 300
SHORTER_VALUES = (MOST_TOLD, 120, 60, 30)
CHARACTERS_A_PART = 10


class SetupAssistError(Exception):
    """Base of every error that is told in plain words."""

    exit_code = 2

    def sentences(self) -> list[str]:
        """One plain sentence a fault, said by id where it was."""
        return [tidy(self.args[0]) if self.args and isinstance(self.args[0], Said) else str(self)]


class InputFault(SetupAssistError):
    """Something handed in is wrong: where it is, what is wrong, what to do about it.

    Each is a text said by id, or somebody's own (a file, a field).
    """

    def __init__(self, where: str, what: str, remedy: str = "") -> None:
        self.where, self.what, self.remedy = where, what, remedy
        lead = f"{where}: {what}" if where else what
        super().__init__(one_line(f"{lead}; {remedy}" if remedy else lead))

    @property
    def sentence(self) -> str:
        """The whole fault for a face to word; where it runs too long, the values in it are cut, not the sentence."""
        said = ""
        for most in SHORTER_VALUES:
            where, what, remedy = (tidy(text, most) for text in (self.where, self.what, self.remedy))
            if where and remedy:
                said = say("errors.fault.where-what-remedy", where=where, what=what, remedy=remedy)
            elif where:
                said = say("errors.fault.where-what", where=where, what=what)
            else:
                said = say("errors.fault.what-remedy", what=what, remedy=remedy) if remedy else what
            if len(said) <= MOST_TOLD:
                break
        return said

    def sentences(self) -> list[str]:
        """The one sentence."""
        return [self.sentence]


class InputFaults(InputFault):
    """Several faults of one input, raised once."""

    def __init__(self, faults: Iterable[InputFault]) -> None:
        self.faults = list(faults)
        first = self.faults[0]
        super().__init__(first.where, first.what, first.remedy)

    def sentences(self) -> list[str]:
        """At most five faults, then how many more there are."""
        told = [fault.sentence for fault in self.faults[:MOST_FAULTS_TOLD]]
        left = len(self.faults) - len(told)
        if left > 0:
            told[-1] = say("errors.fault.and-more", fault=told[-1], count=left)
        return told


class NoPlan(SetupAssistError):
    """The job is well-formed, but no plan exists under its limits."""

    exit_code = 3


class MachineFault(SetupAssistError):
    """The machine could not do it: disk full, no permission, out of memory."""


class Cancelled(SetupAssistError):
    """The person stopped the work; nothing was left half written."""

    exit_code = 130

    def __init__(self) -> None:
        super().__init__(say("errors.stopped.nothing-written"))


def tidy(text: str, most: int = MOST_TOLD) -> str:
    """Text fit for a sentence, its id kept: what in it comes from outside is on one line of ``most`` characters."""
    if isinstance(text, Joined):
        parts = [tidy(part, most) for part in text.values["parts"]]
        shown = max(2, most // CHARACTERS_A_PART)
        return joined(parts if len(parts) <= shown else [*parts[:shown], "…"], text.values["between"])
    if isinstance(text, Said):
        told = {name: tidy(value, most) if isinstance(value, str) else value for name, value in text.values.items()}
        return say(text.key, **told)
    return one_line(text, most)


def one_line(text: str, most: int = MOST_TOLD) -> str:
    """Somebody's own text on one line without control characters, cut at ``most`` characters.

    Of what was said by id it makes plain English; ``tidy`` keeps the id.
    """
    clean = " ".join("".join(c if c.isprintable() else " " for c in text).split())
    return clean if len(clean) <= most else clean[: most - 1] + "…"


def nearest(name: str, known: Iterable[str]) -> str | None:
    """The known name closest to a mistyped one, or None where none is near."""
    found = difflib.get_close_matches(name, list(known), n=1, cutoff=0.6)
    return found[0] if found else None


def did_you_mean(name: str, known: Iterable[str]) -> Said:
    """``did you mean …`` with the nearest known name, else the first few names that are known."""
    names = sorted(known)
    near = nearest(name, names)
    if near:
        return say("errors.near.did-you-mean", near=near)
    if not names:
        return say("errors.near.none-known")
    return say("errors.near.known", names=joined(names[:8] + ["…"] * (len(names) > 8)))


def system_reason(error: OSError) -> str:
    """What the system says went wrong, by id for the errors that people meet."""
    key = f"errors.system.{errno.errorcode.get(error.errno or 0, '')}"
    return say(key) if words_in(ENGLISH).knows(key) else str(error.strerror or error)


def recognised(text: str, table: str) -> str:
    """A library's English sentence, by the id in ``table`` (``room.topic``) whose English is that very sentence.

    Its ``{fields}`` stand for any text. What no id of the table says stays as it is.
    """
    for key, shape in _shapes(table):
        found = shape.fullmatch(text)
        if found:
            return say(key, **found.groupdict())
    return text


@cache
def _shapes(table: str) -> list[tuple[str, re.Pattern[str]]]:
    room, _, topic = table.partition(".")
    entries: dict[str, str] = read_toml(f"words/{ENGLISH}/{room}.toml")[topic]
    shapes = []
    for key, template in entries.items():
        parts = list(string.Formatter().parse(template))
        shape = "".join(re.escape(text) + (f"(?P<{field}>.*?)" if field else "") for text, field, _, _ in parts)
        shapes.append((f"{table}.{key}", re.compile(shape, re.DOTALL)))
    return sorted(shapes, key=lambda entry: entry[1].groups)
