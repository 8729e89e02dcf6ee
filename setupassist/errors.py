"""What can go wrong, as one tree.

SetupAssistError
├── InputFault       what was handed in is wrong, and the person can mend it     exit 2
│   └── InputFaults  several of them, told together (five at most)               exit 2
├── NoPlan           well-formed, but no plan exists under the limits            exit 3
├── MachineFault     the machine failed: disk, memory, permission                exit 2
└── Cancelled        the person stopped it                                       exit 130

Anything else that escapes is a bug of ours (exit 70), and only that shows a traceback.
"""

from __future__ import annotations

import difflib
from collections.abc import Iterable

MOST_FAULTS_TOLD = 5


class SetupAssistError(Exception):
    """Base of every error that is told in plain words."""

    exit_code = 2

    def sentences(self) -> list[str]:
        """One plain sentence a fault."""
        return [str(self)]


class InputFault(SetupAssistError):
    """Something handed in is wrong: where it is, what is wrong, what to do about it."""

    def __init__(self, where: str, what: str, remedy: str = "") -> None:
        self.where, self.what, self.remedy = where, what, remedy
        lead = f"{where}: {what}" if where else what
        super().__init__(one_line(f"{lead}; {remedy}" if remedy else lead))


class InputFaults(InputFault):
    """Several faults of one input, raised once."""

    def __init__(self, faults: Iterable[InputFault]) -> None:
        self.faults = list(faults)
        first = self.faults[0]
        super().__init__(first.where, first.what, first.remedy)

    def sentences(self) -> list[str]:
        """At most five faults, then how many more there are."""
        told = [str(fault) for fault in self.faults[:MOST_FAULTS_TOLD]]
        left = len(self.faults) - len(told)
        if left > 0:
            told[-1] += f" (and {left} more)"
        return told


class NoPlan(SetupAssistError):
    """The job is well-formed, but no plan exists under its limits."""

    exit_code = 3


class MachineFault(SetupAssistError):
    """The machine could not do it: disk full, no permission, out of memory."""


class Cancelled(SetupAssistError):
    """The person stopped the work; nothing was left half written."""

    exit_code = 130

    def __init__(self, message: str = "stopped; nothing was written") -> None:
        super().__init__(message)


def one_line(text: str, most: int = 300) -> str:
    """Text on one line without control characters, cut at ``most`` characters."""
    clean = " ".join("".join(c if c.isprintable() else " " for c in text).split())
    return clean if len(clean) <= most else clean[: most - 1] + "…"


def nearest(name: str, known: Iterable[str]) -> str | None:
    """The known name closest to a mistyped one, or None where none is near."""
    found = difflib.get_close_matches(name, list(known), n=1, cutoff=0.6)
    return found[0] if found else None


def did_you_mean(name: str, known: Iterable[str]) -> str:
    """``did you mean …`` with the nearest known name, else the first few names that are known."""
    names = sorted(known)
    near = nearest(name, names)
    if near:
        return f"did you mean '{near}'?"
    listed = ", ".join(names[:8]) + (", …" if len(names) > 8 else "")
    return f"known: {listed}" if names else "none is known"
