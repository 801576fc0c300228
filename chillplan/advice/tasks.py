"""What to do and when, in the order of the dates."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable
from dataclasses import replace
from datetime import date, timedelta

from chillplan.advice.result import SpeciesAdvice, Step, Task

__all__ = ["in_order", "label_of", "tasks_of"]

# Working minutes by kind of step; assumptions, meant to be changed by the user's own experience.
MINUTES = {"coat": 30, "sow": 30, "lift": 20, "cold phase": 20, "warm phase": 20, "plant out": 45, "check": 10}
PLACES = {
    "coat": "shed",
    "sow": "hill",
    "lift": "hill",
    "cold phase": "refrigerator",
    "warm phase": "shed",
    "plant out": "hill",
}
ORDER = ("pick", "store", *MINUTES)  # of steps on one day
WAIT_DAYS = 7  # treated seed waits so long for a day that suits, in the cold; common practice, no source
LOOK_FOR = "look for mould and drying; plant at once what has sprouted"


def label_of(advice: SpeciesAdvice, step: Step) -> str:
    """Text for the bag or the bed: name and date started; the date is left open where there is a choice of dates."""
    open_date = step.kind == "sow" and step.date_from != step.date_to
    started = "sown on ________" if open_date else f"started {step.date_from}"
    return f"{advice.species.name} ({advice.species.common_name}); {started}"


def tasks_of(advices: Iterable[SpeciesAdvice], today: date) -> tuple[Task, ...]:
    """All tasks that are not yet past; what could have begun before today begins today.

    Returns
    -------
    tuple of Task
        By first date, then species, in the order of the work.
    """
    found: list[Task] = []
    for advice in advices:
        found += _tasks_of(advice)
    return in_order(found, today)


def in_order(tasks: Iterable[Task], today: date) -> tuple[Task, ...]:
    """Tasks that are not past, by first date, then species, in the order of the work; none begins before today."""
    kept = [replace(task, date_from=max(task.date_from, today)) for task in tasks if task.date_to >= today]
    return tuple(sorted(kept, key=lambda task: (task.date_from, task.species, _turn(task), task.action)))


def _turn(task: Task) -> tuple[str, int]:
    """Way, picking first, and place among the kinds of its steps: the coat is treated before the seed goes on."""
    way, kind, _ = task.key.split("/")
    return "" if way == "seed" else way, ORDER.index(kind)


def _tasks_of(advice: SpeciesAdvice) -> list[Task]:
    name = advice.species.name
    tasks: list[Task] = []
    if "outdoors" in advice.ways and advice.outdoors:
        tasks += _numbered("outdoors", [(step.kind, _task(advice, step)) for step in advice.outdoors.steps])
    if "fridge" in advice.ways and advice.fridge:
        tasks += _numbered("fridge", [(step.kind, _task(advice, step)) for step in advice.fridge.steps])
        cold = advice.fridge.into_cold or advice.fridge.plant_out
        tasks += _checks("fridge", name, advice.fridge.checks, _late_from(advice), cold)
    if "top-up" in advice.ways and advice.top_up:
        tasks += _numbered("top-up", [(step.kind, _task(advice, step)) for step in advice.top_up.steps])
        tasks += _checks("top-up", name, advice.top_up.checks, advice.top_up.lift)
    return tasks


def _checks(way: str, name: str, days: Iterable[date], late: date | None, cold: date = date.min) -> list[Task]:
    """Weekly looks, on the warm shelf until the first cold."""
    checks = [
        Task(
            day,
            day + timedelta(days=2),
            name,
            f"check: {LOOK_FOR}{_often(day, late)}",
            PLACES["cold phase" if day >= cold else "warm phase"],
            10,
        )
        for day in days
    ]
    return _numbered(way, [("check", check) for check in checks])


def _numbered(way: str, tasks: list[tuple[str, Task]]) -> list[Task]:
    """Tasks with their keys: way, kind, and number among those of the kind."""
    seen: Counter[str] = Counter()
    found = []
    for kind, task in tasks:
        seen[kind] += 1
        found.append(replace(task, key=f"{way}/{kind}/{seen[kind]}"))
    return found


def _task(advice: SpeciesAdvice, step: Step) -> Task:
    begin = step.kind in {"warm phase", "cold phase"}
    last = step.date_from if begin else step.date_to
    if step.kind == "plant out":
        last += timedelta(days=WAIT_DAYS)
    return Task(
        date_from=step.date_from,
        date_to=last,
        species=advice.species.name,
        action=step.text,
        place=PLACES[step.kind],
        minutes=MINUTES[step.kind],
        label=label_of(advice, step) if step.kind in {"warm phase", "cold phase", "sow"} else "",
    )


def _late_from(advice: SpeciesAdvice) -> date | None:
    """From two thirds of the time on sprouts come quickly."""
    if not advice.fridge or not advice.fridge.checks:
        return None
    begin, end = advice.fridge.prepare, advice.fridge.plant_out
    return begin + (end - begin) * 2 / 3


def _often(day: date, late: date | None) -> str:
    return " (from now on every 2 to 3 days)" if late and day >= late else ""
