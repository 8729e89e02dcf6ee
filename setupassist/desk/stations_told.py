"""What is said of the line as a whole: how things stand with it, how it compares, what stands on the press now."""

from __future__ import annotations

from setupassist.desk.desk import Desk
from setupassist.desk.line import Shown, shown
from setupassist.desk.moves import TENTHS, changes_told
from setupassist.desk.tasks import Stage
from setupassist.documents.plan import Plan
from setupassist.planner.wishes import STRATEGIES
from setupassist.words import Said, joined, say


def troubles(desk: Desk) -> tuple[str, ...]:
    """Why the job as it is now cannot be planned, a sentence each; () where it can."""
    for stage, part in ((Stage.PLATES, ""), (Stage.MEASURED, ""), (Stage.PLANS, desk.job.strategy), (Stage.MADE, "")):
        if told := desk.trouble(stage, part):
            return told
    return ()


def status_of(desk: Desk) -> Said:
    """The line in a few words."""
    if troubles(desk):
        return say("place_stations.status.trouble")
    results, job = desk.results, desk.job
    made = results.made or results.plans.get(job.strategy)
    if job.arrangement is not None and made is not None:
        broken = len(made.plan.broken) if desk.fresh(Stage.MADE) else 0
        return (
            say("place_stations.status.by-hand-breaks", count=broken)
            if broken
            else say("place_stations.status.by-hand")
        )
    if not desk.fresh(Stage.PLANS, job.strategy):
        return say("place_stations.status.planning" if made is not None else "place_stations.status.none")
    plan = results.plans[job.strategy].plan
    if not plan.feasible:
        return say("place_stations.status.clash", count=_clashing(plan))
    key = "best" if _proven(plan) else "not-proven"
    return say(f"place_stations.status.{key}", strategy=say(f"terms.strategy.{job.strategy.value}"))


def head_of(desk: Desk) -> Said:
    """The line in a sentence."""
    told = shown(desk)
    if troubles(desk):
        return say("place_stations.head.trouble")
    if told is None:
        return say("place_stations.head.waiting")
    if told.hand_made:
        count = len(told.plan.broken)
        return say("place_stations.head.by-hand-breaks", count=count) if count else say("place_stations.head.by-hand")
    if not told.plan.feasible:
        return say("place_stations.head.clash")
    key = "best" if _proven(told.plan) else "not-proven"
    return say(f"place_stations.head.{key}", line=say(f"place_stations.head.line.{told.plan.strategy.value}"))


def more_of(desk: Desk) -> str:
    """What else is to be said of it: why it cannot be planned, that it is being planned, how it compares."""
    if sentences := troubles(desk):
        return joined(sentences, "\n")
    told = shown(desk)
    if told is None:
        return ""
    if not desk.fresh(Stage.PLANS, desk.job.strategy):
        return say("place_stations.head.planning")
    return _against(desk, told) if told.hand_made and told.fresh else ""


def now_of(desk: Desk) -> Said:
    """What the job says of the press as it stands."""
    now = desk.job.on_press_now
    if not now:
        return say("place_stations.now.nothing")
    things = joined(
        say(
            "place_stations.now.thing",
            screen=say("place_stations.line.flash") if thing == "flash" else thing,
            station=at,
        )
        for at, thing in sorted(now.items())
    )
    return say("place_stations.now.told", things=things)


def _against(desk: Desk, told: Shown) -> Said | str:
    """The line by hand against the planner's, wish by wish."""
    planned = desk.results.plans.get(desk.job.strategy)
    if planned is None or not planned.plan.feasible:
        return ""
    best = _counted(planned.plan)
    mine = _counted(told.plan)
    changes = {name: mine.get(name, value) - value for name, value in best.items()}
    said = changes_told(changes, [name for name in STRATEGIES[desk.job.strategy] if name in changes])
    return say("place_stations.head.against", changes=joined(said)) if said else say("place_stations.head.as-good")


def _counted(plan: Plan) -> dict[str, int]:
    """The wishes as the judge counts them: wet harm in tenths."""
    return {wish.name: round(wish.value * (TENTHS if wish.name == "wet_harm" else 1)) for wish in plan.wishes}


def _proven(plan: Plan) -> bool:
    return all(wish.proven for wish in plan.wishes)


def _clashing(plan: Plan) -> int:
    return len(plan.clash.limits) if plan.clash is not None else 0
