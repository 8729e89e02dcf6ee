"""The best plan of a problem, proven, with the bound of every wish; or that there is none."""

from __future__ import annotations

import time
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor, wait
from dataclasses import dataclass
from enum import StrEnum
from typing import TYPE_CHECKING

from setupassist.documents.plan import Wish
from setupassist.errors import Cancelled
from setupassist.planner.faults import check_problem
from setupassist.planner.judge import broken_limits, wish_values
from setupassist.planner.line import Line, line_of
from setupassist.planner.problem import Problem, Standing
from setupassist.planner.rules import tell_all
from setupassist.planner.variables import Variables
from setupassist.planner.wishes import FIGURE, STRATEGIES, WISHES, held_at, kept, least, tie_break

if TYPE_CHECKING:
    from ortools.sat.python.cp_model import CpModel, CpSolver, CpSolverStatus, LinearExpr

MOST_SHARE_OF_TIME_A_WISH = 0.6
SECONDS_BETWEEN_LOOKS = 0.02

Stop = Callable[[], bool]


class Status(StrEnum):
    """How a search ended."""

    BEST = "best proven"
    FEASIBLE = "feasible"
    INFEASIBLE = "infeasible"
    UNKNOWN = "unknown"


@dataclass(frozen=True)
class Solution:
    """A plan and how well it is known.

    ``standings`` are sorted by lap and place on the way. ``wishes`` are in the plan's order whatever the strategy,
    empty where there is no plan; ``only_answer`` says that the tie-break was proven too, so that no other plan is as
    good. ``seconds`` is what the search took.
    """

    status: Status
    standings: tuple[Standing, ...] = ()
    wishes: tuple[Wish, ...] = ()
    only_answer: bool = False
    seconds: float = 0.0


def solve(
    problem: Problem, *, time_limit_seconds: float = 30, stop: Stop | None = None, line: Line | None = None
) -> Solution:
    """The best plan under the problem's strategy.

    Wishes are made small one after another, each held at its best (wet harm with slack) before the next; then as much
    of a kept plan is kept as they leave; last a tie-break (flashes soon, prints early, the standard order first) and,
    among plans equal even in that, the one whose prints, taken in standard order, stand earliest. One worker and a
    fixed seed: the same problem gives the same answer, and a proven one does not depend on the machine. Where the
    time is up the best plan so far comes with the bounds reached. ``line`` replaces the problem's own press, for tries.

    Raises InputFault or InputFaults for what cannot be asked, Cancelled when ``stop`` answers True. A
    KeyboardInterrupt ends the search at once.
    """
    check_problem(problem)
    return Search(problem, line or line_of(problem), time_limit_seconds, stop).run()


def find_any(problem: Problem, line: Line, *, seconds: float, stop: Stop | None = None) -> Status:
    """Whether any plan exists at all: feasible, infeasible, or unknown where the time is up."""
    return Search(problem, line, seconds, stop).look()


class Search:
    """One search: the model, the best plan so far, and the time that is left."""

    def __init__(self, problem: Problem, line: Line, seconds: float, stop: Stop | None) -> None:
        self.problem, self.line, self.stop = problem, line, stop
        self.started = time.monotonic()
        self.deadline = self.started + seconds
        self.best: tuple[Standing, ...] = ()
        self.values: dict[str, int] = {}
        self.known: dict[int, int] = {}

    def run(self) -> Solution:
        """The whole search."""
        _refuse_if(self.stop)
        v = self.variables = Variables(self.problem, self.line)
        tell_all(v)
        held: dict[str, int] = {}
        bounds: dict[str, int] = {}
        proven: dict[str, bool] = {}
        so_far = True
        for wish in STRATEGIES[self.problem.strategy]:
            floor = least(self.problem, wish, held if so_far else {})
            figure = FIGURE[wish](v)
            if self.best and self.values[wish] == floor:
                bounds[wish], done = floor, True
            else:
                outcome = self.make_small(figure, known=floor)
                if outcome.status in (Status.INFEASIBLE, Status.UNKNOWN) and not self.best:
                    return Solution(outcome.status, seconds=self.spent())
                bounds[wish], done = max(floor, outcome.bound), outcome.status is Status.BEST
            so_far = so_far and done
            proven[wish] = so_far
            held[wish] = self.values[wish]
            v.model.add(figure <= held_at(self.problem, wish, self.values[wish]))
        near = self.stay_near()
        only = so_far and near and self.break_ties()
        self.check()
        wishes = tuple(
            Wish(name=name, value=_told(name, self.values[name]), bound=_told(name, bounds[name]), proven=proven[name])
            for name in WISHES
        )
        return Solution(Status.BEST if so_far else Status.FEASIBLE, self.best, wishes, only, self.spent())

    def look(self) -> Status:
        """Whether there is any plan."""
        _refuse_if(self.stop)
        self.variables = Variables(self.problem, self.line)
        tell_all(self.variables)
        status = self._solve(None).status
        return Status.FEASIBLE if status is Status.BEST else status

    def make_small(self, figure: LinearExpr, *, known: int | None = None) -> Outcome:
        """Makes the figure small from the best plan so far, which is replaced by what is found."""
        self.variables.forget_task()
        self.variables.model.minimize(figure)
        return self._solve(known)

    def stay_near(self) -> bool:
        """Keeps as many standings of the kept plan as the wishes leave; whether more is proven not to be possible."""
        if not self.problem.kept:
            return True
        gone = -kept(self.variables)
        outcome = self.make_small(gone)
        self.variables.model.add(gone <= -len(set(self.problem.kept) & set(self.best)))
        return outcome.status is Status.BEST

    def break_ties(self) -> bool:
        """Settles on one of the equally good plans; whether it is proven to be the only one left.

        First the tie-break's figure is made small. Should another plan reach it too, the prints in standard order,
        then the flashes, are brought forward one by one, and the earlier of the two plans is taken.
        """
        v = self.variables
        figure = tie_break(v)
        outcome = self.make_small(figure)
        if outcome.status is not Status.BEST:
            return False
        v.model.add(figure == outcome.bound)
        first, places = self.best, self._places()
        same = [var for at in v.at.values() for var in at.values() if self.known[var.index]]
        acting = [var if self.known[var.index] else ~var for var in v.acts.values()]
        v.model.add_bool_or([*(~var for var in same), *(~literal for literal in acting)])
        v.forget_task()
        outcome = self._solve(None, hinted=False)
        if outcome.status is Status.INFEASIBLE:
            return True
        for part in [*(v.slot[one] for one in v.prints), *v.acts.values()]:
            if outcome.status is not Status.BEST:
                break
            outcome = self.make_small(part)
            v.model.add(part == outcome.bound)
        proven = outcome.status is Status.BEST
        if not proven or places < self._places():
            self.best, self.values = first, wish_values(self.problem, first)
        return proven

    def _places(self) -> list[int]:
        """The slot of every print in standard order, then whether each flash acts, of the plan last found."""
        v, known = self.variables, self.known
        prints = [next(k for k, var in v.at[one].items() if known[var.index]) for one in v.prints]
        return prints + [known[var.index] for var in v.acts.values()]

    def _solve(self, known: int | None, *, hinted: bool = True) -> Outcome:
        from ortools.sat.python import cp_model

        v, left = self.variables, self.deadline - time.monotonic()
        if left <= 0:
            return Outcome(Status.UNKNOWN, known or 0)
        if self.best and hinted:
            for var in v.known:
                if var.index in self.known:
                    v.model.add_hint(var, self.known[var.index])
        solver = cp_model.CpSolver()
        _set(solver, left if not self.best else left * MOST_SHARE_OF_TIME_A_WISH)
        status = _run(solver, v.model, self.stop)
        _refuse_if(self.stop)
        if status == cp_model.INFEASIBLE:
            return Outcome(Status.INFEASIBLE, 0)
        if status == cp_model.UNKNOWN:
            return Outcome(Status.UNKNOWN, known or 0)
        if status == cp_model.MODEL_INVALID:
            raise AssertionError(f"the planner's model is invalid: {v.model.validate()}")
        self.known = dict(enumerate(solver.response_proto.solution))
        self.best = v.standings(self.known)
        self.values = wish_values(self.problem, self.best)
        bound = round(solver.best_objective_bound) if v.model.has_objective() else 0
        return Outcome(Status.BEST if status == cp_model.OPTIMAL else Status.FEASIBLE, bound)

    def check(self) -> None:
        """Has the independent judge look at the plan; a fault here is a bug of ours."""
        if self.line == line_of(self.problem):
            broken = broken_limits(self.problem, self.best)
            if broken:
                raise AssertionError(f"the planner broke a limit: {broken[0].text}")

    def spent(self) -> float:
        """Seconds since the start."""
        return time.monotonic() - self.started


@dataclass(frozen=True)
class Outcome:
    """How one solve ended, and the proven lower bound of its figure."""

    status: Status
    bound: int


def _set(solver: CpSolver, seconds: float) -> None:
    solver.parameters.num_workers = 1
    solver.parameters.random_seed = 7
    solver.parameters.catch_sigint_signal = False
    solver.parameters.max_presolve_iterations = 1  # measured: the later rounds cost half the time and gain nothing
    solver.parameters.max_time_in_seconds = max(seconds, 0.01)


def _run(solver: CpSolver, model: CpModel, stop: Stop | None) -> CpSolverStatus:
    """Runs the solver beside this thread, which listens for ``stop`` and for an interrupt.

    A stop before the solver has begun is lost, so it is told again and again.
    """
    with ThreadPoolExecutor(1, thread_name_prefix="planner") as aside:
        running = aside.submit(solver.solve, model)
        try:
            while wait([running], SECONDS_BETWEEN_LOOKS).not_done:
                if stop is not None and stop():
                    solver.stop_search()
        finally:
            while not running.done():
                solver.stop_search()
                wait([running], SECONDS_BETWEEN_LOOKS)
    return running.result()


def _refuse_if(stop: Stop | None) -> None:
    if stop is not None and stop():
        raise Cancelled()


def _told(wish: str, value: int) -> float:
    return value / 10 if wish == "wet_harm" else value
