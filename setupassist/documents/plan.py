"""The plan document: what stands where, why, and what it will take."""

from __future__ import annotations

from typing import Annotated, Any, Literal

from pydantic import Field

from setupassist.documents.base import Document, InkName, Text
from setupassist.documents.press import MOST_LAPS, MOST_STATIONS
from setupassist.documents.terms import Known, StrategyName

Pair = tuple[str, str]


class Reason(Document):
    """Why a thing stands where it stands."""

    rule: str
    text: Text
    source: Text


class Slot(Document):
    """One print of a screen or one action of a flash unit, at a station in a lap."""

    lap: Annotated[int, Field(ge=1, le=MOST_LAPS)]
    station: Annotated[int, Field(ge=1, le=MOST_STATIONS)]
    holds: Literal["screen", "flash"]
    ink: InkName | None = None
    strokes: Annotated[int, Field(ge=1, le=9)] | None = None
    mesh_per_inch: float | None = None
    mesh_per_cm: float | None = None
    seconds: float | None = None
    reasons: tuple[Reason, ...] = ()


class Wish(Document):
    """A counted wish: its value in this plan and its proven best at its turn."""

    name: str
    value: float
    bound: float
    proven: bool


class Limits(Document):
    """Every pair that held, given and derived; ``order`` is its own transitive closure.

    ``never_wet`` are pairs that need a flash between them in whichever order they stand.
    """

    order: tuple[Pair, ...] = ()
    flash_between: tuple[Pair, ...] = ()
    no_flash_between: tuple[Pair, ...] = ()
    alone_until_flash: tuple[str, ...] = ()
    no_flash_after: tuple[str, ...] = ()
    never_wet: tuple[Pair, ...] = ()


class GroupRest(Document):
    """What rests while another garment group of the order is on the press."""

    garment: str
    pieces: int | None = None
    rest: tuple[Text, ...] = ()


class Harm(Document):
    """Wet harm of ``inks[i]`` printed before ``inks[j]``, in cm²·ΔE, whole tenths."""

    model: str = "single-constant"
    inks: tuple[str, ...] = ()
    matrix: tuple[tuple[float, ...], ...] = ()


class Strokes(Document):
    """Strokes of one screen."""

    per_piece: int
    total: int


class DryerLoad(Document):
    """What the belt must do."""

    needed_m_per_min: float
    fastest_m_per_min: float | None = None
    pieces_per_hour: float | None = None
    dwell_seconds: float | None = None
    limits_pace: bool


class StationTime(Document):
    """How long a station is busy in a lap."""

    lap: int
    station: int
    seconds: float
    what: Text


class Estimate(Document):
    """Strokes, pace, time, ink and dryer; ``cycle_seconds`` is the mean of the laps' cycles."""

    strokes: dict[str, Strokes]
    cycle_seconds: float
    paced_by: Text
    extra_dwell_seconds: float
    hand_paced: bool
    pieces_per_hour: float
    dozens_per_hour: float
    run_minutes: float
    ink_grams: dict[str, float]
    dryer: DryerLoad | None = None
    press_pieces_per_hour: float | None = None
    likely_pieces_per_hour: float | None = None
    pieces_to_print: int | None = None
    setup_minutes: float | None = None
    station_times: tuple[StationTime, ...] = ()
    lap_cycles_seconds: tuple[float, ...] = ()


class ScreenSetting(Document):
    """One value on the sheet, how it is known, and its source."""

    name: Text
    value: float | int | Text
    unit: Text = ""
    known: Known = Known.TYPICAL
    source: Text = ""


class ScreenChoice(Document):
    """What the screen room and the crew need for one screen."""

    ink: str
    role: str
    mesh_per_cm: float | None = None
    mesh_per_inch: float | None = None
    thread_um: float | None = None
    opening_um: float | None = None
    open_area: float | None = None
    ink_volume_cm3_m2: float | None = None
    volume_known: Known = Known.ESTIMATED
    strokes: int = 1
    shaped_by: tuple[Reason, ...] = ()
    settings: tuple[ScreenSetting, ...] = ()
    nearest: Text | None = None
    squeegee_width_mm: float | None = None
    stroke_length_mm: float | None = None

    def setting(self, name: str) -> ScreenSetting | None:
        """The setting of that name, None where there is none."""
        return next((s for s in self.settings if s.name == name), None)


FOR_GROUP = " for "
"""Between a question's id and the name of the group of garments that it is asked of alone."""


class Question(Document):
    """A question that pixels cannot answer, with what the art says and a suggestion."""

    id: str
    text: Text
    says: Text = ""
    answers: tuple[str, ...] = ()
    suggested: str
    reason: Text
    source: Text
    answer: str | None = None
    row: str | None = None

    @property
    def given(self) -> str:
        """The answer in force: the person's, else the suggestion."""
        return self.suggested if self.answer is None else self.answer


class WayOut(Document):
    """A change that was tried against a clash."""

    text: Text
    change: dict[str, Any]
    works: bool
    wishes: tuple[Wish, ...] = ()


class Clash(Document):
    """A smaller set of limits that cannot all be kept."""

    limits: tuple[Text, ...]
    ways_out: tuple[WayOut, ...] = ()


class BrokenLimit(Document):
    """A limit that a hand-made arrangement breaks: its rule's id, what is wrong, and the (lap, station) places."""

    limit: str
    text: Text
    slots: tuple[tuple[int, int], ...] = ()


class Plan(Document):
    """What ``plan --json`` prints."""

    strategy: StrategyName
    feasible: bool
    assumed: tuple[str, ...] = ()
    slots: tuple[Slot, ...] = ()
    wishes: tuple[Wish, ...] = ()
    limits: Limits = Limits()
    groups: tuple[GroupRest, ...] = ()
    standard_order: tuple[str, ...] = ()
    harm: Harm = Harm()
    estimate: Estimate | None = None
    clash: Clash | None = None
    press: str = ""
    broken: tuple[Text, ...] = ()
    broken_limits: tuple[BrokenLimit, ...] = ()
    notes: tuple[Text, ...] = ()
    questions: tuple[Question, ...] = ()
    screens: tuple[ScreenChoice, ...] = ()
