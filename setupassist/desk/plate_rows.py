"""The plates of a job as a table: what each shows, what is said of its ink, and what of that may be overruled."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from setupassist.desk import edits
from setupassist.desk.desk import Desk
from setupassist.desk.edits import Edit
from setupassist.desk.grid import Cell, Choice, Entry, Row
from setupassist.desk.inks_told import By, InkTold, inks_told
from setupassist.desk.naming import name_ink
from setupassist.desk.tasks import Stage
from setupassist.documents.job import Job
from setupassist.documents.measure import Halftone, Measure, PlateMeasure
from setupassist.documents.terms import InkSystem, Role
from setupassist.errors import InputFault, did_you_mean, one_line
from setupassist.quantities import per_cm
from setupassist.sheet.unit_words import UnitWords, number
from setupassist.words import say

COLUMNS = ("ink", "role", "area", "kind", "system", "colour", "prints", "ruling", "coverage", "line")
DETAILS = ("what", "value", "source")
OTHER_COLOUR = "other colour"
"""Value of the choice that lets the person pick any colour."""

ROLE, SYSTEM, COLOUR, PRINTS, NAME = "role", "ink_system", "colour", "prints", "name"
WAITING = "…"


def plate_rows(desk: Desk, words: UnitWords) -> tuple[Row, ...]:
    """A row a plate in the order of the set, its cells as in ``COLUMNS``; the key is the ink's name."""
    return tuple(_Teller(desk, ink, words).row() for ink in inks_told(desk))


def detail_rows(desk: Desk, name: str, words: UnitWords) -> tuple[Row, ...]:
    """All that is known of one plate, a row each as in ``DETAILS``; () where there is no such plate."""
    ink = next((ink for ink in inks_told(desk) if ink.name == name), None)
    return () if ink is None else _Teller(desk, ink, words).details()


def edit_of(
    job: Job, entry: Entry, text: str, place: int | None, *, words: UnitWords, others: tuple[str, ...] = ()
) -> Edit:
    """The edit that enters ``text`` over a value of an ink; "" goes back to what holds without the person.

    ``place`` is the plate's in the job's list, ``others`` are the set's other inks. Raises InputFault for what is no
    such value.
    """
    plain = " ".join(text.split())
    if entry.field == NAME:
        return name_ink(job, _stand_in(job, entry.owner), entry.owner, plain, others=others)
    value: str | int | None = None
    if plain and entry.field == COLOUR:
        value = _colour(plain)
    elif plain and entry.field == PRINTS:
        value = int(_picked(plain, {"1": words(_times(1)), "2": words(_times(2))}))
    elif plain:
        kinds: Sequence[Role | InkSystem] = list(Role) if entry.field == ROLE else list(InkSystem)
        room = "role" if entry.field == ROLE else "ink_system"
        value = _picked(plain, {kind.value: words(say(f"terms.{room}.{kind.value}")) for kind in kinds})
    return edits.note_ink(job, entry.owner, place, **{entry.field: value})


def taken_back(job: Job, entry: Entry, place: int | None) -> Edit:
    """The edit that takes back what the person said of an ink."""
    if entry.field == NAME:
        return name_ink(job, _stand_in(job, entry.owner), entry.owner, "")
    return edits.note_ink(job, entry.owner, place, **{entry.field: None})


def _stand_in(job: Job, ink: str) -> str:
    """What a nameless ink is called where the person does not name it."""
    return next((stand_in for stand_in, name in job.source.names.items() if name == ink), ink)


def _picked(text: str, choices: dict[str, str]) -> str:
    """The id that is meant: the id itself, or the words that a person reads."""
    wanted = text.casefold()
    for value, shown in choices.items():
        if wanted in (value.casefold(), shown.casefold()):
            return value
    raise InputFault(
        "", say("place_art.fault.no-choice", given=one_line(text, 40)), did_you_mean(text, choices.values())
    )


def _colour(text: str) -> str:
    from setupassist.colour import parse_colour, to_hex

    try:
        return to_hex(parse_colour(text))
    except ValueError as error:
        raise InputFault("", error.args[0]) from None


def _times(prints: int) -> str:
    return say(f"place_art.prints.{('none', 'once', 'twice')[prints]}")


class _Teller:
    """The cells of one plate."""

    def __init__(self, desk: Desk, ink: InkTold, words: UnitWords) -> None:
        self.desk, self.ink, self.words = desk, ink, words
        measured = desk.results.measured if desk.fresh(Stage.MEASURED) else None
        plates = {plate.name: plate for plate in measured.measure.plates} if measured is not None else {}
        self.measure: PlateMeasure | None = plates.get(ink.name)
        opened = desk.results.plates
        files = () if opened is None or isinstance(opened, Measure) else opened.plates
        self.nameless = any(plate.name == ink.name and plate.stand_in for plate in files)
        self.read = measured is not None and any(p.ink_area_cm2 for p in measured.measure.plates)

    def row(self) -> Row:
        ink, words = self.ink, self.words
        cells = (
            self._name(),
            self._role(),
            self._measured(self._area()),
            self._measured(self._kind()),
            self._system(),
            self._ink_colour(),
            self._prints(),
            self._measured(self._ruling(short=True)),
            self._measured(self._coverage()),
            self._measured(self._line(words)),
        )
        return Row(ink.name, cells)

    def _name(self) -> Cell:
        """The ink's name, which the person may enter where the file tells none."""
        ink, entry, mark, told = self.ink, None, "", self._named()
        if self.nameless:
            given = ink.name in self.desk.job.source.names.values()
            entry = Entry(ink.name, NAME, ink.name, given, ())
            mark = self.words(say("place_art.by-hand" if given else "place_art.no-name"))
            told = self.words(say("place_art.ink-and-mark", ink=told, mark=mark))
        return Cell(ink.name, mark=mark, colour=ink.colour or "", strong=True, told=told, entry=entry)

    def _named(self) -> str:
        colour = self.ink.colour or self.words(say("place_art.colour-not-told"))
        return self.words(say("place_art.ink-and-colour", ink=self.ink.name, colour=colour))

    # ------------------------------------------------------------ what the person may overrule

    def _cell(self, text: str, field: str, by: By, choices: list[Choice], now: str = "") -> Cell:
        by_hand = by is By.HAND
        entry = Entry(self.ink.name, field, now or text, by_hand, tuple(choices))
        mark = self.words(say("place_art.by-hand")) if by_hand else ""
        return Cell(text, mark=mark, strong=by_hand, entry=entry)

    def _role(self) -> Cell:
        words, ink = self.words, self.ink
        usual = words(say(f"terms.role.{ink.usual_role.value}"))
        as_usual = "role" if ink.usual_role_by is By.NAME else "role-taken"
        choices = [Choice(words(say(f"place_art.choice.{as_usual}", role=usual)), "")]
        choices += [Choice(words(say(f"terms.role.{role.value}")), role.value) for role in Role]
        return self._cell(words(say(f"terms.role.{ink.role.value}")), ROLE, ink.role_by, choices)

    def _system(self) -> Cell:
        words, ink = self.words, self.ink
        usual = words(say("place_art.not-told"))
        if ink.usual_system is not None:
            usual = words(say(f"terms.ink_system.{ink.usual_system.value}"))
        choices = [Choice(words(say("place_art.choice.system", system=usual)), "")]
        choices += [Choice(words(say(f"terms.ink_system.{kind.value}")), kind.value) for kind in InkSystem]
        text = words(say("place_art.not-told"))
        if ink.system is not None:
            text = words(say(f"terms.ink_system.{ink.system.value}"))
        return self._cell(text, SYSTEM, ink.system_by, choices)

    def _ink_colour(self) -> Cell:
        words, ink = self.words, self.ink
        usual = ink.usual_colour or words(say("place_art.not-told"))
        choices = [Choice(words(say("place_art.choice.colour", colour=usual)), "")]
        choices.append(Choice(words(say("place_art.choice.other-colour")), OTHER_COLOUR))
        choices += [
            Choice(f"{shelf.name}  {shelf.colour}", shelf.colour) for shelf in self.desk.shop.inks if shelf.colour
        ]
        text = ink.colour or words(say("place_art.not-told"))
        return self._cell(text, COLOUR, ink.colour_by, choices, now=ink.colour or "#")

    def _prints(self) -> Cell:
        words, ink = self.words, self.ink
        if ink.prints is None:
            return self._cell(WAITING, PRINTS, ink.prints_by, self._times_to_choose(), now=" ")
        return self._cell(words(_times(ink.prints)), PRINTS, ink.prints_by, self._times_to_choose())

    def _times_to_choose(self) -> list[Choice]:
        words = self.words
        as_answered = Choice(words(say("place_art.choice.prints")), "")
        return [as_answered, *(Choice(words(_times(times)), str(times)) for times in (1, 2))]

    # ------------------------------------------------------------ what the plate shows

    def _measured(self, text: str | None) -> Cell:
        if self.measure is None:
            return Cell(WAITING, told=self.words(say("place_art.measuring")))
        return Cell(text if text is not None and self.read else self.words(say("place_art.not-measured")))

    def _area(self) -> str | None:
        return None if self.measure is None else f"{self.measure.ink_area_cm2:.1f}"

    def _kind(self) -> str | None:
        return None if self.measure is None else self.words(say(f"terms.kind.{self.measure.kind.value}"))

    def _coverage(self) -> str | None:
        share = None if self.measure is None else self.measure.coverage
        return None if share is None else f"{100 * share:.0f} %"

    def _ruling(self, *, short: bool = False) -> str | None:
        if self.measure is None:
            return None
        halftone = self.measure.halftone
        return "–" if halftone is None else ruling_told(halftone, self.words, short=short)

    def _line(self, words: UnitWords) -> str | None:
        line = None if self.measure is None else self.measure.finest_line_mm
        return None if line is None else fine_length(line, words)

    # ------------------------------------------------------------ all of it

    def details(self) -> tuple[Row, ...]:
        ink, measure = self.ink, self.measure
        rows = [
            self._detail("role", self._role(), ink.role_by),
            self._detail("system", self._system(), ink.system_by),
            self._detail("colour", self._ink_colour(), ink.colour_by),
            self._detail("prints", self._prints(), ink.prints_by),
        ]
        file = self._file()
        if file is not None:
            rows.append(self._detail("file", Cell(file)))
        if measure is None or not self.read:
            return tuple(rows)
        rows.append(self._detail("kind", self._measured(self._kind())))
        if measure.halftone is not None:
            rows.append(self._detail("ruling", self._measured(self._ruling())))
        key, coverage = "area-of-box" if measure.coverage is not None else "area-alone", self._coverage() or ""
        rows.append(
            self._detail("area", Cell(self.words(say(f"place_art.{key}", area=self._area(), coverage=coverage))))
        )
        if measure.ink_box_mm is not None:
            rows.append(self._detail("box", Cell(self.words.size(*measure.ink_box_mm[2:]))))
        for what, length in (("line", measure.finest_line_mm), ("gap", measure.finest_gap_mm)):
            told = None if length is None else fine_length(length, self.words)
            rows.append(self._detail(what, self._measured(told)))
        if measure.specks is not None:
            rows.append(self._detail("specks", Cell(str(measure.specks))))
        rows += self._meetings()
        return tuple(rows)

    def _detail(self, what: str, cell: Cell, by: By | None = None) -> Row:
        source = "" if by is None or by is By.NOBODY else self.words(say(f"place_art.source.{by.value}"))
        name = Cell(self.words(say(f"place_art.detail.{what}")))
        return Row(what, (name, replace(cell, mark=""), Cell(source, strong=by is By.HAND)))

    def _file(self) -> str | None:
        plates = self.desk.results.plates
        if plates is None or isinstance(plates, Measure):
            return None
        plate = next(plate for plate in plates.plates if plate.name == self.ink.name)
        size = say("place_art.file", file=plate.file, columns=plate.columns, rows=plate.rows)
        return self.words(size)

    def _meetings(self) -> list[Row]:
        measured = self.desk.results.measured
        contacts = measured.measure.contacts if measured is not None else ()
        rows = []
        for contact in sorted(contacts, key=lambda c: -c.overlap_cm2):
            if self.ink.name in contact.plates:
                other = next(name for name in contact.plates if name != self.ink.name)
                edge = round(contact.shared_edge_cm)
                key = (
                    "overlap-and-edge" if contact.overlap_cm2 and edge else "overlap" if contact.overlap_cm2 else "edge"
                )
                text = say(f"place_art.meets.{key}", area=contact.overlap_cm2, edge=edge)
                what = Cell(self.words(say("place_art.detail.meets", ink=other)))
                rows.append(Row(f"meets {other}", (what, Cell(self.words(text)), Cell())))
        return rows


def fine_length(mm: float, words: UnitWords) -> str:
    """A length of fine detail: to a hundredth of a mm, or a thousandth of an inch."""
    return words.fine(mm)


def ruling_told(halftone: Halftone, words: UnitWords, *, short: bool = False) -> str:
    """Ruling in the person's unit, and the angle."""
    metric = words.metric
    lines = per_cm(halftone.lines_per_inch) if metric else halftone.lines_per_inch
    key = f"place_art.ruling.{'short-' if short else ''}{'per-cm' if metric else 'per-inch'}"
    return words(say(key, lines=number(round(lines, 1)), angle=number(halftone.angle_deg)))
