"""Tables for a terminal of 80 columns."""

from __future__ import annotations

import math
from datetime import date

from rich import box
from rich.console import Console
from rich.markup import escape
from rich.table import Table

from chillplan.advice.calendar_dates import date_of
from chillplan.advice.outlook import percentiles_of
from chillplan.advice.result import Plan, SpeciesAdvice
from chillplan.report.contract import season_label
from chillplan.report.frost_risk import risk_words
from chillplan.report.provenance import Source
from chillplan.report.trend_words import trend_words
from chillplan.report.units import Units
from chillplan.seasons.cut import Seasons
from chillplan.seasons.summary import Winters
from chillplan.site import Site

__all__ = ["print_plan", "print_winter"]

WIDTH = 80
BRIEF_FROSTS = (0.0, -2.0)  # what a plan shows; `winter` shows all [°C]
BRIEF_WARMING = 10.0  # [°C]
INVENTED = (
    "The weather is INVENTED (embedded demo): it shows what an answer looks like and says nothing about any place."
)
ASSUMED = (
    "Observed: air temperatures. Modelled: the seed zone. Assumed: how a day counts as chill (0 at -2, 1 from 1 to 7, "
    "0 at 12 °C), the spread of a lot, thermal time where no figure is published."
)


def console() -> Console:
    """Standard output, 80 columns where it is not a wider terminal."""
    probe = Console()
    return probe if probe.is_terminal and probe.width >= WIDTH else Console(width=WIDTH)


def print_plan(plan: Plan, source: Source, units: Units) -> None:
    """Print a plan: the winters, the verdicts with their reasons, the tasks in date order."""
    out = console()
    _heading(out, plan.site, source, plan.seasons, units)
    _winter_lines(out, plan.winters, plan.seasons, plan.season, units)
    out.print()
    out.print(_verdict_table(plan))
    for advice in plan.species:
        _reason(out, advice)
    out.print()
    if plan.tasks:
        out.print(_task_table(plan))
    else:
        out.print("No task is left in this season.")
    out.print()
    out.print(escape(ASSUMED))


def print_winter(site: Site, source: Source, seasons: Seasons, winters: Winters, season: int, units: Units) -> None:
    """Print chill, frost and soil warming of each winter."""
    out = console()
    _heading(out, site, source, seasons, units)
    _winter_lines(out, winters, seasons, season, units, full=True)
    out.print()
    out.print(_winter_table(winters, seasons, units))
    out.print(escape(ASSUMED))


def _heading(out: Console, site: Site, source: Source, seasons: Seasons, units: Units) -> None:
    if source.invented:
        out.print(f"[bold]{INVENTED}[/bold]")
    north, east = ("S" if site.latitude < 0 else "N"), ("W" if site.longitude < 0 else "E")
    out.print(
        f"[bold]{escape(site.name)}[/bold]: {abs(site.latitude):.3f} {north}, {abs(site.longitude):.3f} {east}, "
        f"{units.height(site.elevation)}, {site.cover}, seed {units.depth(site.depth_cm, site.depth_cm)} deep"
    )
    away = "" if source.distance_km is None else f", {source.distance_km:.0f} km away"
    higher = "" if source.height_difference_m is None else f", site {source.height_difference_m:+.0f} m"
    out.print(
        f"Weather: {escape(source.source)}, station {escape(source.station)}{away}{higher}; "
        f"{source.first} to {source.last}, {source.coverage:.1%} of days observed, "
        f"{seasons.years.size} winters used"
    )
    for year, why in seasons.left_out.items():
        out.print(f"  left out: {season_label(year)}, {why}")
    for note in source.notes:
        out.print(f"  note: {escape(note)}")


def _winter_lines(
    out: Console, winters: Winters, seasons: Seasons, season: int, units: Units, full: bool = False
) -> None:
    table = Table(box=box.SIMPLE_HEAD, pad_edge=False)
    table.add_column("Winters")
    for heading in ("1 in 10 below", "middle", "1 in 10 above"):
        table.add_column(heading, justify="right")
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
        table.add_row(label, *(_date_words(value, season, south, none) for value in percentiles_of(values)))
    out.print(table)
    if full:
        for limit, days in winters.last_spring_frost.items():
            words = risk_words(days, season, south)
            if words:
                out.print(f"Frost of {units.temperature(limit)}: {words} of winters.")
    out.print(trend_words(winters))


def _date_words(index: float, season: int, south: bool, none: str) -> str:
    if math.isfinite(index):
        return _short(date_of(index, season, south))
    return "never reached" if index > 0 and none == "never below" else none


def _short(day: date) -> str:
    return f"{day.day} {day.strftime('%b')}"


def _dated(day: date) -> str:
    return f"{day.day} {day.strftime('%b %Y')}"


def _verdict_table(plan: Plan) -> Table:
    table = Table(
        box=box.SIMPLE_HEAD, pad_edge=False, title=f"Season {season_label(plan.season)}", title_justify="left"
    )
    table.add_column("Species", ratio=3)
    table.add_column("Verdict", ratio=3)
    table.add_column("Good winters", justify="right")
    table.add_column("Up", justify="right")
    table.add_column("When", ratio=3)
    for advice in plan.species:
        table.add_row(
            escape(_name(advice)),
            advice.verdict.replace("-", " ") + (" (borderline)" if advice.borderline else ""),
            f"{advice.good} of {advice.winters}",
            f"{advice.share_up[1]:.0%}",
            _when(advice),
        )
    return table


def _name(advice: SpeciesAdvice) -> str:
    species = advice.species
    return species.common_name or species.name


def _when(advice: SpeciesAdvice) -> str:
    if advice.top_up is not None:
        lift, out = advice.top_up.lift, advice.top_up.plant_out
        return f"sow {_dated(advice.top_up.sow)}, lift {_short(lift)}, out {_dated(out)}"
    parts = []
    if advice.outdoors is not None and advice.verdict != "chill-in-fridge":
        first, last = advice.outdoors.sow_from, advice.outdoors.sow_to
        parts.append(f"sow {_dated(last)}" if first == last else f"sow {_short(first)} to {_dated(last)}")
    if advice.fridge is not None and advice.verdict in {"chill-in-fridge", "either"}:
        begin = advice.fridge.into_cold or advice.fridge.prepare
        parts.append(f"cold from {_short(begin)}, out {_dated(advice.fridge.plant_out)}")
    return "; or ".join(parts) or "–"


def _reason(out: Console, advice: SpeciesAdvice) -> None:
    low, high = advice.interval
    out.print(
        f"[bold]{escape(_name(advice))}[/bold] ({escape(advice.species.name)}): {escape(advice.reason)} "
        f"True share of good winters {low:.0%} to {high:.0%} (95 %)."
    )
    if advice.thin:
        out.print("  Thin: fewer than 10 winters.")
    for note in (*advice.notes, *advice.changes):
        out.print(f"  {escape(note)}")
    for caution in advice.species.cautions:
        out.print(f"  Caution: {escape(caution)}")


def _task_table(plan: Plan) -> Table:
    table = Table(box=box.SIMPLE_HEAD, pad_edge=False, title="What to do", title_justify="left")
    table.add_column("When", min_width=13)
    table.add_column("Where")
    table.add_column("Species", ratio=2)
    table.add_column("What", ratio=4)
    names = {advice.species.name: _name(advice) for advice in plan.species}
    checks = 0
    for task in plan.tasks:
        if task.action.startswith("check"):
            checks += 1
            continue
        when = (
            _dated(task.date_from)
            if task.date_from == task.date_to
            else (f"{_short(task.date_from)} to {_dated(task.date_to)}")
        )
        table.add_row(when, task.place, escape(names.get(task.species, task.species)), escape(task.action))
    if checks:
        table.add_row("weekly", "refrigerator", "all in the cold", f"{checks} checks for mould, drying and sprouts")
    return table


def _winter_table(winters: Winters, seasons: Seasons, units: Units) -> Table:
    table = Table(box=box.SIMPLE_HEAD, pad_edge=False)
    table.add_column("Winter")
    for heading in ("chill days", "effective", "last frost", "first frost", "soil 10 °C", "mean air"):
        table.add_column(heading, justify="right")
    south = seasons.southern
    for index, year in enumerate(winters.years.tolist()):
        table.add_row(
            season_label(year),
            f"{winters.chill_days[index]:.0f}",
            f"{winters.effective_chill[index]:.0f}",
            _date_words(winters.last_spring_frost[0.0][index], year, south, "no frost"),
            _date_words(winters.first_autumn_frost[0.0][index], year, south, "no frost"),
            _date_words(winters.soil_warm[10.0][index], year, south, "never below"),
            units.temperature(float(winters.mean_temperature[index]), 1),
        )
    return table
