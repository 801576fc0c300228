"""Plans, winters and visits as tables for a terminal, and visits for a spreadsheet and a program."""

from __future__ import annotations

import math
from typing import Any

from rich import box
from rich.console import Console
from rich.markup import escape
from rich.table import Table

from chillplan.advice.calendar_dates import date_of
from chillplan.advice.outlook import percentiles_of
from chillplan.advice.result import Plan, SpeciesAdvice, Task
from chillplan.advice.visits import VisitPlan, uncovered_words
from chillplan.advice.wording import FOR_ALL
from chillplan.errors import counted
from chillplan.physics.sun_times import clock_words
from chillplan.report.contract import SCHEMA, site_json, task_json, visit_json, weather_json
from chillplan.report.reader import Reader
from chillplan.report.record import (
    TAKEN_MOIST,
    Source,
    guessed_water_line,
    left_out_lines,
    risk_words,
    trend_words,
    what_if,
)
from chillplan.report.rows import csv_text
from chillplan.report.tables_terminal import console, fitted
from chillplan.report.when_words import TWO_WAYS, advice_line, shown_verdict, way_words, when_words
from chillplan.seasons.cut import Seasons, season_label
from chillplan.seasons.summary import Winters
from chillplan.site import Site

__all__ = ["INVENTED", "print_plan", "print_visits", "print_winter", "visits_csv", "visits_json"]

BRIEF_FROSTS = (0.0, -2.0)  # what a plan shows; `winter` shows all [°C]
BRIEF_WARMING = 10.0  # [°C]
INVENTED = (
    "The weather is INVENTED (embedded demo): it shows what an answer looks like and says nothing about any place."
)
ASSUMED = (
    "{air}: air temperatures. Modelled: the seed zone. Assumed: how a day counts as chill (nothing at -2 °C, all from "
    "1 to 7 °C, nothing at 12 °C), the spread of a lot, thermal time where no figure is published."
)


def print_plan(plan: Plan, source: Source, reader: Reader, explain: bool = False) -> None:
    """Print a plan: the winters, the verdicts with one line each or with their reasons, the tasks in date order."""
    out = console()
    _heading(out, plan.site, source, plan.seasons, reader, plan.warming)
    _winter_lines(out, plan.winters, plan.seasons, plan.season, reader)
    _rests_on(out, plan, reader)
    out.print()
    out.print(fitted(_verdict_table(plan, reader), out.width))
    for advice in plan.species:
        if explain:
            _reason(out, advice, reader)
        else:
            out.print(
                f"[bold]{escape(_name(advice))}[/bold]: {escape(reader.words(advice_line(plan, advice, reader)))}."
            )
    if not explain:
        _cautions(out, plan, reader)
        out.print("Why, and what would change it: --explain.")
    for caution in FOR_ALL:
        if any(caution in advice.cautions for advice in plan.species):
            out.print(f"Caution for all: {escape(caution)}")
    out.print()
    if plan.tasks:
        out.print(fitted(_task_table(plan, reader), out.width))
        if any(way_words(plan, task) for task in plan.tasks):
            out.print(TWO_WAYS)
    else:
        out.print("No task is left in this season.")
    if plan.visits:
        days = ", ".join(reader.day(visit.date) for visit in plan.visits)
        out.print(f"Fewest visits to the hill: {days}. What is done on each: chillplan visits, or the report (--out).")
    for words in plan.uncovered:
        out.print(escape(reader.words(words)))
    out.print()
    out.print(escape(reader.words(ASSUMED.format(air=source.air.capitalize()))))


def _rests_on(out: Console, plan: Plan, reader: Reader) -> None:
    """How far the answer moves with what is not measured at the site, and what a thermometer there would settle."""
    said = () if plan.rests_on is None else plan.rests_on.sentences
    for words in (*said, plan.logger_words, plan.edge_words):
        if words:
            out.print(escape(reader.words(words)))


def print_winter(
    site: Site, source: Source, seasons: Seasons, winters: Winters, season: int, reader: Reader, warming: float = 0.0
) -> None:
    """Print chill, frost and soil warming of each winter."""
    out = console()
    _heading(out, site, source, seasons, reader, warming)
    _winter_lines(out, winters, seasons, season, reader, full=True)
    out.print()
    out.print(fitted(_winter_table(winters, seasons, reader), out.width))
    out.print(escape(reader.words(ASSUMED.format(air=source.air.capitalize()))))


def _heading(out: Console, site: Site, source: Source, seasons: Seasons, reader: Reader, warming: float) -> None:
    if source.invented:
        out.print(f"[bold]{INVENTED}[/bold]")
    units = reader.units
    north, east = ("S" if site.latitude < 0 else "N"), ("W" if site.longitude < 0 else "E")
    high = "height not stated" if site.elevation is None else units.height(site.elevation)
    out.print(
        f"[bold]{escape(site.name)}[/bold]: {abs(site.latitude):.3f} {north}, {abs(site.longitude):.3f} {east}, "
        f"{high}, {site.cover}, seed {units.depth(site.depth_cm, site.depth_cm)} deep"
    )
    away = "" if source.distance_km is None else f", {reader.distance(source.distance_km)} away"
    higher = ""
    if source.height_difference_m is not None:
        sign = "-" if source.height_difference_m < 0 else "+"
        higher = f", site {sign}{units.height(abs(source.height_difference_m))}"
    out.print(
        f"Weather: {escape(source.source)}, station {escape(source.station)}{away}{higher}; "
        f"{source.first} to {source.last}, {source.coverage:.1%} of days {source.air}, "
        f"{seasons.years.size} winters used"
    )
    if warming:
        out.print(f"[bold]{what_if(warming, reader)}[/bold]")
    for line in left_out_lines(seasons):
        out.print(f"  left out: {line}")
    moist = () if "precipitation" in seasons.daily else (TAKEN_MOIST,)
    guess = guessed_water_line(seasons)
    for note in (*source.notes, *moist, *((guess,) if guess else ())):
        out.print(f"  note: {escape(note)}")


def _winter_lines(
    out: Console, winters: Winters, seasons: Seasons, season: int, reader: Reader, full: bool = False
) -> None:
    units = reader.units
    table = Table(box=box.SIMPLE_HEAD, pad_edge=False)
    table.add_column("Winters")
    for heading in ("1 in 10 below", "median", "1 in 10 above"):
        table.add_column(heading, justify="right", no_wrap=True)
    for label, values in (
        (f"chill days ({units.temperature(0.0)} to {units.temperature(10.0)}, moist)", winters.chill_days),
        ("effective chill, days", winters.effective_chill),
        (f"days at or below {units.temperature(5.0)}", winters.cold_days),
    ):
        table.add_row(label, *(f"{value:.0f}" for value in percentiles_of(values)))
    south = seasons.southern
    frosts = [
        (f"{which} frost of {units.temperature(limit)}", table[limit], "no frost")
        for which, table in (("last spring", winters.last_spring_frost), ("first autumn", winters.first_autumn_frost))
        for limit in (table if full else BRIEF_FROSTS)
    ]
    warm = [
        (f"seed zone reaches {units.temperature(limit)}", days, "never below")
        for limit, days in winters.soil_warm.items()
        if full or limit == BRIEF_WARMING
    ]
    for label, values, none in (*frosts, *warm):
        table.add_row(label, *(_date_words(value, season, south, none, reader) for value in percentiles_of(values)))
    out.print(fitted(table, out.width))
    if full:
        for limit, days in winters.last_spring_frost.items():
            words = risk_words(days, season, south, reader)
            if words:
                out.print(f"Frost of {units.temperature(limit)}: {words} of winters.")
    out.print(f"{trend_words(winters)} --years takes a part of them.")


def _date_words(index: float, season: int, south: bool, none: str, reader: Reader) -> str:
    if math.isfinite(index):
        return reader.short(date_of(index, season, south))
    return "never reached" if index > 0 and none == "never below" else none


def _verdict_table(plan: Plan, reader: Reader) -> Table:
    table = Table(
        box=box.SIMPLE_HEAD, pad_edge=False, title=f"Season {season_label(plan.season)}", title_justify="left"
    )
    table.add_column("Species")
    table.add_column("Verdict")
    table.add_column("Good winters", justify="right")
    table.add_column("Up", justify="right", no_wrap=True)
    table.add_column("When")
    for advice in plan.species:
        table.add_row(
            escape(_name(advice)),
            shown_verdict(plan, advice)
            + (" (borderline)" if advice.borderline and not advice.killed else "")
            + (f", but it freezes in {advice.frozen}" if advice.frozen and not advice.killed else ""),
            f"{advice.good} of {advice.winters}",
            f"{advice.share_up[1]:.0%}",
            when_words(advice, reader),
        )
    return table


def _name(advice: SpeciesAdvice) -> str:
    species = advice.species
    return species.common_name or species.name


def _cautions(out: Console, plan: Plan, reader: Reader) -> None:
    """Each caution once, with the species that it holds for."""
    held: dict[str, list[str]] = {}
    for advice in plan.species:
        for caution in advice.cautions:
            if caution not in FOR_ALL:
                held.setdefault(caution, []).append(_name(advice))
    for caution, names in held.items():
        out.print(f"Caution, {escape(', '.join(names))}: {escape(reader.words(caution))}")


def _reason(out: Console, advice: SpeciesAdvice, reader: Reader) -> None:
    low, high = advice.interval
    out.print(
        f"[bold]{escape(_name(advice))}[/bold] ({escape(advice.species.name)}): "
        f"{escape(reader.words(advice.reason))} "
        f"The true share of good winters lies between {low:.0%} and {high:.0%} (95 % sure)."
    )
    if advice.thin:
        out.print("  Thin: fewer than 10 winters.")
    for note in (*advice.notes, *advice.changes):
        out.print(f"  {escape(reader.words(note))}")
    for caution in advice.cautions:
        if caution not in FOR_ALL:
            out.print(f"  Caution: {escape(reader.words(caution))}")


def _task_table(plan: Plan, reader: Reader) -> Table:
    table = Table(box=box.SIMPLE_HEAD, pad_edge=False, title="What to do", title_justify="left")
    table.add_column("When", min_width=15)
    for heading in ("Where", "Species", "What"):
        table.add_column(heading)
    names = {advice.species.name: _name(advice) for advice in plan.species}
    checks = 0
    for task in plan.tasks:
        if task.action.startswith("check"):
            checks += 1
            continue
        way = way_words(plan, task)
        table.add_row(
            reader.span(task.date_from, task.date_to),
            task.place,
            escape(names.get(task.species, task.species)) + (f" ({way})" if way else ""),
            escape(reader.words(task.action)),
        )
    if checks:
        table.add_row(
            "weekly",
            "refrigerator",
            "all in the cold",
            reader.words(f"{counted(checks, 'check')} for mould, drying and sprouts"),
        )
    return table


def _winter_table(winters: Winters, seasons: Seasons, reader: Reader) -> Table:
    table = Table(box=box.SIMPLE_HEAD, pad_edge=False)
    table.add_column("Winter", no_wrap=True)
    warm = f"soil {reader.units.temperature(10.0)}"
    for heading in ("chill days", "effective", "last frost", "first frost", warm, "mean air"):
        table.add_column(heading, justify="right")
    south = seasons.southern
    for index, year in enumerate(winters.years.tolist()):
        table.add_row(
            season_label(year),
            f"{winters.chill_days[index]:.0f}",
            f"{winters.effective_chill[index]:.0f}",
            _date_words(winters.last_spring_frost[0.0][index], year, south, "no frost", reader),
            _date_words(winters.first_autumn_frost[0.0][index], year, south, "no frost", reader),
            _date_words(winters.soil_warm[10.0][index], year, south, "never below", reader),
            reader.units.temperature(float(winters.mean_temperature[index]), 1),
        )
    return table


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
    trips = counted(count, "visit") if count else "No visit"
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


def _cells(task: Task) -> tuple[object, ...]:
    return task.species, task.action, task.minutes, task.date_from, task.date_to


def visits_csv(found: VisitPlan) -> str:
    """One row a task and visit; tasks without a visit come last with an empty date."""
    header = ["date", "daylight_from", "daylight_to", "species", "what", "minutes", "window_from", "window_to", "note"]
    rows: list[tuple[object, ...]] = [
        (visit.date, visit.daylight_from, visit.daylight_to, *_cells(task), "")
        for visit in found.visits
        for task in visit.tasks
    ]
    rows += [("", "", "", *_cells(one.task), one.reason) for one in found.uncovered]
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
