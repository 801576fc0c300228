"""Which of two ways a task belongs to, where a species can go either way."""

from __future__ import annotations

from chillplan.advice.result import Plan, Task

__all__ = ["TWO_WAYS", "way_words"]

TWO_WAYS = "Where a species has two ways, outdoors and fridge, do one of them, or give each a part of the seed."
WAYS = {"outdoors": "outdoors", "fridge": "fridge"}  # by the way in a task's key


def way_words(plan: Plan, task: Task) -> str:
    """``outdoors`` or ``fridge`` for a species that has tasks of both; empty where there is one way.

    Parameters
    ----------
    plan : Plan
    task : Task
    """
    way = task.key.partition("/")[0]
    ways = {other.key.partition("/")[0] for other in plan.tasks if other.species == task.species}
    return WAYS.get(way, "") if set(WAYS) <= ways else ""
