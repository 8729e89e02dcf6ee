"""The strategies side by side: what each line takes, which is best at what, and which of them are the same line."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

from setupassist.desk.desk import Desk
from setupassist.desk.line import standings_of
from setupassist.desk.tasks import Stage
from setupassist.documents.plan import Plan
from setupassist.documents.terms import StrategyName
from setupassist.planner.problem import Standing
from setupassist.sheet.unit_words import thousands
from setupassist.sheet.wet_groups import harm_word
from setupassist.words import say


class State(StrEnum):
    """How things stand with a strategy's plan."""

    PLANNED = "planned"
    PLANNING = "planning"
    CLASH = "clash"
    TROUBLE = "trouble"


COLUMNS = ("laps", "flash_units", "wet_harm", "departures", "missing_cooling", "moves", "pace", "setup")
"""What is compared; the number of laps only where some line takes more than one."""

_MOST_IS_BEST = frozenset({"pace"})
_UNSEEN = 0.5


@dataclass(frozen=True)
class Figure:
    """A figure as it is shown, and whether none in its column is better while some are worse."""

    text: str
    best: bool = False


@dataclass(frozen=True)
class Compared:
    """One line: of a strategy, or with ``name`` None the one arranged by hand.

    ``figures`` are in the order of the columns; () where there is no plan. ``same_as`` is an earlier strategy that
    gives the very same line. ``bounds_met`` says that nothing better exists within the limits.
    """

    name: StrategyName | None
    state: State
    chosen: bool
    figures: tuple[Figure, ...] = ()
    same_as: StrategyName | None = None
    bounds_met: bool = False


@dataclass(frozen=True)
class Comparison:
    """The columns that are told and the lines compared, the one by hand first."""

    columns: tuple[str, ...]
    rows: tuple[Compared, ...]


def comparison(desk: Desk) -> Comparison:
    """All strategies of the job on the desk, and its line by hand where it has one."""
    job, results = desk.job, desk.results
    plans: dict[StrategyName | None, Plan] = {
        name: planned.plan for name, planned in results.plans.items() if planned.plan.feasible
    }
    by_hand = job.arrangement is not None
    if by_hand and results.made is not None and desk.fresh(Stage.MADE):
        plans[None] = results.made.plan
    values = {name: _values(plan) for name, plan in plans.items()}
    columns = tuple(c for c in COLUMNS if c != "laps" or any(v.get("laps", 1) > 1 for v in values.values()))
    best = {column: _best([v[column] for v in values.values() if column in v], column) for column in columns}
    rows: list[Compared] = []
    seen: dict[frozenset[Standing], StrategyName] = {}
    for name in (*((None,) if by_hand else ()), *StrategyName):
        plan, state = plans.get(name), _state(desk, name)
        if plan is None or state in (State.CLASH, State.TROUBLE):
            rows.append(Compared(name, state, _chosen(desk, name)))
            continue
        figures = tuple(
            Figure(_told(column, plan, values[name]), column in values[name] and values[name][column] == best[column])
            for column in columns
        )
        same = seen.setdefault(frozenset(standings_of(plan)), name) if name is not None else None
        met = all(wish.proven for wish in plan.wishes)
        rows.append(Compared(name, state, _chosen(desk, name), figures, same if same is not name else None, met))
    return Comparison(columns, tuple(rows))


def _chosen(desk: Desk, name: StrategyName | None) -> bool:
    return name is None if desk.job.arrangement is not None else name is desk.job.strategy


def _state(desk: Desk, name: StrategyName | None) -> State:
    stage, part = (Stage.MADE, "") if name is None else (Stage.PLANS, name)
    if desk.trouble(stage, part):
        return State.TROUBLE
    if not desk.fresh(stage, part):
        return State.PLANNING
    planned = desk.results.made if name is None else desk.results.plans.get(name)
    return State.PLANNED if planned is not None and planned.plan.feasible else State.CLASH


def _values(plan: Plan) -> dict[str, float]:
    """What is compared, as shown: figures that read the same are the same."""
    values = {wish.name: float(round(wish.value)) for wish in plan.wishes}
    estimate = plan.estimate
    if estimate is not None:
        values["pace"] = float(round(estimate.pieces_per_hour))
        if estimate.setup_minutes is not None:
            values["setup"] = float(round(estimate.setup_minutes))
    return values


def _best(values: list[float], column: str) -> float | None:
    if len(set(values)) < 2:
        return None
    return max(values) if column in _MOST_IS_BEST else min(values)


def _told(column: str, plan: Plan, values: dict[str, float]) -> str:
    if column not in values:
        return say("place_stations.figure.unknown")
    if column == "wet_harm":
        harm = next(wish.value for wish in plan.wishes if wish.name == column)
        if harm < _UNSEEN:
            return harm_word(harm)
        return say("place_stations.figure.harm", figure=thousands(harm), harm=harm_word(harm))
    if column == "pace" and plan.estimate is not None and plan.estimate.likely_pieces_per_hour is not None:
        likely = thousands(plan.estimate.likely_pieces_per_hour)
        return say("place_stations.figure.pace", machine=thousands(values[column]), likely=likely)
    return thousands(values[column])
