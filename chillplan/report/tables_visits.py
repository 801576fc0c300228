"""Visits for a terminal, a spreadsheet and a program."""

from __future__ import annotations

from typing import Any

from rich import box
from rich.markup import escape
from rich.table import Table

from chillplan.advice.result import Plan
from chillplan.advice.visits import VisitPlan, uncovered_words
from chillplan.physics.sun_times import clock_words
from chillplan.report.contract import SCHEMA, season_label, site_json, task_json, visit_json, weather_json
from chillplan.report.provenance import Source, what_if
from chillplan.report.reader import Reader
from chillplan.report.rows import csv_text
from chillplan.report.tables import INVENTED
from chillplan.report.tables_terminal import console, fitted

__all__ = ["print_visits", "visits_csv", "visits_json"]


NOTES = (
    "Light: civil dawn to civil dusk ({clock}). Frost: share of winters with -2 °C or colder at seedling "
    "height that night. A species that can go either way is counted once, with the way whose work on the hill is done "
    "sooner. Working minutes are assumed."
)


def print_visits(plan: Plan, found: VisitPlan, source: Source, reader: Reader) -> None:
    """Print the visits, then what they leave undone."""
    out = console()
    if source.invented:
        out.print(f"[bold]{INVENTED}[/bold]")
    if plan.warming:
        out.print(f"[bold]{what_if(plan.warming, reader)}[/bold]")
    count = len(found.visits)
    trips = f"{count} visit{'' if count == 1 else 's'}" if count else "No visit"
    out.print(f"[bold]{escape(plan.site.name)}[/bold], season {season_label(plan.season)}: {trips}")
    if found.visits:
        out.print(fitted(_table(plan, found, reader), out.width))
    for one in found.uncovered:
        out.print(escape(reader.words(uncovered_words(one, plan))))
    if not found.visits and not found.uncovered:
        out.print("There is no outdoor task left in this season.")
    if found.visits:
        out.print(reader.words(NOTES.format(clock=clock_words(plan.site.time_zone))))


def _table(plan: Plan, found: VisitPlan, reader: Reader) -> Table:
    names = {advice.species.name: advice.species.common_name or advice.species.name for advice in plan.species}
    table = Table(box=box.SIMPLE_HEAD, pad_edge=False)
    table.add_column("Visit", no_wrap=True)
    table.add_column("Light", no_wrap=True)
    table.add_column("Work", justify="right", no_wrap=True)
    table.add_column("Frost", justify="right", no_wrap=True)
    table.add_column("To do", ratio=1)
    for visit in found.visits:
        jobs = "\n".join(
            f"{escape(names.get(task.species, task.species))}: {escape(reader.words(task.action.split(';')[0]))}"
            for task in visit.tasks
        )
        table.add_row(
            f"{visit.date:%a} {reader.day(visit.date)}",
            f"{visit.daylight_from}–{visit.daylight_to}",
            f"{sum(task.minutes for task in visit.tasks)} min",
            f"{found.frost_risk.get(visit.date, 0.0):.0%}",
            jobs,
        )
    return table


def visits_csv(found: VisitPlan) -> str:
    """One row a task and visit; tasks without a visit come last with an empty date."""
    header = ("date", "daylight_from", "daylight_to", "species", "what", "minutes", "window_from", "window_to", "note")
    rows: list[tuple[object, ...]] = [
        (
            visit.date,
            visit.daylight_from,
            visit.daylight_to,
            task.species,
            task.action,
            task.minutes,
            task.date_from,
            task.date_to,
            "",
        )
        for visit in found.visits
        for task in visit.tasks
    ]
    rows += [
        (
            "",
            "",
            "",
            one.task.species,
            one.task.action,
            one.task.minutes,
            one.task.date_from,
            one.task.date_to,
            one.reason,
        )
        for one in found.uncovered
    ]
    return csv_text(header, rows)


def visits_json(plan: Plan, found: VisitPlan, source: Source) -> dict[str, Any]:
    """The answer of ``visits``: visits as in a plan, and the tasks that none covers."""
    return {
        "schema": SCHEMA,
        "site": site_json(plan.site),
        "weather": weather_json(source, plan.seasons),
        "season": plan.season,
        "today": plan.today.isoformat(),
        "visits": [
            {**visit_json(visit), "frost_risk": round(found.frost_risk.get(visit.date, 0.0), 4)}
            for visit in found.visits
        ],
        "uncovered": [
            {"task": task_json(one.task), "reason": one.reason, "what_would_free_it": list(one.frees)}
            for one in found.uncovered
        ],
        "proven": found.proven,
    }
