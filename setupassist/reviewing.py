"""The review of an arrangement made by hand: what it breaks, how far its wishes are from best, what would mend it."""

from __future__ import annotations

from collections.abc import Callable

from setupassist.documents.review import Mending, Review, ReviewedWish
from setupassist.errors import InputFault
from setupassist.pipeline import Planned, hand_made, problem_of, standings_by_hand
from setupassist.words import say
from setupassist.work import Work


def review(work: Work, planned: Planned, *, stop: Callable[[], bool] | None = None) -> Review:
    """The review of the job's own arrangement; ``planned`` is the planner's plan of the same job.

    Where the planner found no plan, best is what the arrangement counts. Raises InputFault for a job without an
    arrangement, and as ``hand_made`` does; Cancelled when ``stop`` answers True.
    """
    from setupassist.planner.mend import mends

    if work.job.arrangement is None:
        raise InputFault(work.where, say("pipeline.review.nothing-by-hand"), say("pipeline.review.arrange"))
    plan = hand_made(work, planned).plan
    found = mends(problem_of(work, planned.steps), standings_by_hand(work, planned.steps, planned.plates), stop=stop)
    return Review(
        broken=plan.broken_limits,
        wishes=tuple(ReviewedWish(name=wish.name, value=wish.value, best=wish.bound) for wish in plan.wishes),
        mend=tuple(
            Mending(
                text=each.text,
                arrangement=tuple(s.slot for s in sorted(each.standings, key=lambda s: (s.lap, s.station))),
            )
            for each in found
        ),
    )
