"""Which of two ways a task belongs to, where a species can go either way."""

from __future__ import annotations

from chillplan.advice.result import Plan, Task

__all__ = ["TWO_WAYS", "way_words"]

TWO_WAYS = "Where a species has two ways, outdoors and fridge, do one of them, or give each a part of the seed."
WAYS = {"outdoors", "fridge"}


def way_words(plan: Plan, task: Task) -> str:
    """``outdoors`` or ``fridge`` for a species that has tasks of both; empty where there is one way.

    Parameters
    ----------
    plan : Plan
    task : Task
    """
    way = task.key.partition("/")[0]
    ways = {other.key.partition("/")[0] for other in plan.tasks if other.species == task.species}
    return way if way in WAYS and ways >= WAYS else ""
