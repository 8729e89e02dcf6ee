"""Wishes as people read them: their names, their values, and by how much two arrangements differ."""

from __future__ import annotations

from setupassist.words import Said, say

TENTHS = 10


def wish_words(name: str) -> Said:
    """The name of a wish: ``flash units``; KeyError for what is no wish."""
    return say(f"planner.wish.{name}")


def wish_value_words(name: str, value: float) -> Said:
    """A value as a plan tells it (wet harm in cm²·ΔE, the rest counts): ``2 flash units``."""
    if name == "wet_harm":
        return say("planner.wish-value.wet_harm", area=f"{value:.0f}" if value >= TENTHS else f"{value:.1f}")
    return say(f"planner.wish-value.{name}", count=round(value))


def wish_change_words(name: str, change: int) -> Said | None:
    """A difference as the judge counts it (wet harm in tenths): ``1 more lap``, ``2 moves fewer``; None for none.

    Wet harm is rounded to whole cm²·ΔE and is never told as 0 where there is a difference.
    """
    if not change:
        return None
    key = f"planner.wish-{'more' if change > 0 else 'fewer'}.{name}"
    if name == "wet_harm":
        return say(key, area=max(1, round(abs(change) / TENTHS)))
    return say(key, count=abs(change))
