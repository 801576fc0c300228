"""What to do when: the year's picture, the visits, the tasks."""

from __future__ import annotations

from chillplan.advice.result import Plan, Task, Visit
from chillplan.physics.sun_times import clock_words
from chillplan.report.markup import bullets, figure, name_of, table, text
from chillplan.report.pictures_timeline import KINDS, steps_shown, timeline_picture
from chillplan.report.reader import Reader
from chillplan.report.two_ways import TWO_WAYS, way_words

__all__ = ["work_section"]

MARKS = {
    "sow": '<i class="sowbar"></i>',
    "cold phase": '<i class="coldbar"></i>',
    "warm phase": '<i class="warmbar"></i>',
    "coat": '<i class="mark">○</i>',
    "lift": '<i class="mark">■</i>',
    "plant out": '<i class="mark">▲</i>',
}
"""What stands for each kind of step in the key to the year's picture."""


def work_section(plan: Plan, reader: Reader) -> str:
    """The section."""
    names = {advice.species.name: advice.species.common_name or advice.species.name for advice in plan.species}
    parts = ['<section id="work" aria-labelledby="work-title"><h2 id="work-title">What to do when</h2>']
    if not plan.tasks:
        parts.append("<p>No task is left in this season. Plan the next one with another season.</p>")
    parts.append(figure(timeline_picture(plan, reader), _key(plan)))
    if plan.visits:
        parts.append(_visits(plan.visits, names, plan.site.time_zone, reader))
    if plan.uncovered:
        left = bullets(reader.words(words) for words in plan.uncovered)
        parts.append(f'<div class="cautions" role="note"><h4>Outdoor work that no visit covers</h4>{left}</div>')
    if plan.tasks:
        parts.append(_tasks(plan, names, reader))
    return "".join(parts) + "</section>"


def _key(plan: Plan) -> str:
    """Key to the kinds of steps that the picture shows."""
    shown = {step.kind for advice in plan.species for step in steps_shown(advice)}
    kinds = "".join(f"<li>{mark}{text(KINDS[kind].words)}</li>" for kind, mark in MARKS.items() if kind in shown)
    return f'<ul class="key" aria-label="Key to the picture">{kinds}</ul>' if kinds else ""


def _visits(visits: tuple[Visit, ...], names: dict[str, str], time_zone: str | None, reader: Reader) -> str:
    rows = [
        (
            f'{visit.date:%a} <span class="number">{text(reader.day(visit.date))}</span>',
            f'<span class="number">{text(visit.daylight_from)} to {text(visit.daylight_to)}</span>',
            "<br>".join(
                f"{name_of(names.get(task.species, task.species))}: {text(reader.words(task.action))}"
                for task in visit.tasks
            ),
            f'<span class="number">{sum(task.minutes for task in visit.tasks)} min</span>',
        )
        for visit in visits
    ]
    caption = (
        "The fewest trips to the hill that do every outdoor task within its dates and within daylight (civil dawn to "
        f"civil dusk, {clock_words(time_zone)}); among these, the dates of lowest frost risk. Species that can go "
        "either way are counted once, with the way whose work on the hill is done sooner. Working minutes are assumed."
    )
    shown = table(caption, ("Visit", "Light", "To do", "Work"), rows, classes="cards", ready=True)
    return f"<h3>Visits to the hill</h3>{shown}"


def _tasks(plan: Plan, names: dict[str, str], reader: Reader) -> str:
    """Every task but the checks, which are told once a species."""
    rows = [_task(plan, task, names, reader) for task in plan.tasks if not task.action.startswith("check")]
    ways = f" {TWO_WAYS}" if any(way_words(plan, task) for task in plan.tasks) else ""
    checks = [task for task in plan.tasks if task.action.startswith("check")]
    shown = table(
        f"In the order of the dates; where a task has two dates, any day from the first to the last will do.{ways}",
        ("When", "Where", "Species", "What"),
        rows,
        classes="cards",
        ready=True,
    )
    weekly = ""
    if checks:
        first, last = min(task.date_from for task in checks), max(task.date_to for task in checks)
        weekly = (
            f"<p>Between {text(reader.day(first))} and {text(reader.day(last))} look into every bag once a week, later "
            f"every 2 to 3 days: mould, drying, sprouts. The {len(checks)} dates are in the calendar and on the "
            "labels.</p>"
        )
    return f"<h3>Tasks</h3>{weekly}{shown}"


def _task(plan: Plan, task: Task, names: dict[str, str], reader: Reader) -> tuple[str, ...]:
    way = way_words(plan, task)
    return (
        text(reader.span(task.date_from, task.date_to)),
        text(task.place),
        name_of(names.get(task.species, task.species)) + (f" ({way})" if way else ""),
        text(reader.words(task.action)),
    )
