"""``chillplan plan`` and ``demo``: the main job, and what a warmer climate would change."""

from __future__ import annotations

import os
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from chillplan.cli import options as opt
from chillplan.cli.place import PlaceOptions
from chillplan.cli.planning import Asked, CrewText, crew_of, planned
from chillplan.cli.streams import print_json

if TYPE_CHECKING:
    from chillplan.advice.result import Plan
    from chillplan.cli.loading import Loaded

__all__ = ["register"]


def register(app: typer.Typer) -> None:
    """Add the commands."""
    app.command("plan", short_help="Decide for every species how its seed is chilled, and when.")(plan)
    app.command("demo", short_help="Plan a dozen species on an invented hillside.")(demo)


@opt.grouped
def plan(
    *,
    context: typer.Context,
    place: PlaceOptions,
    sites: Annotated[
        Path | None,
        opt.option("--sites", "FILE", "Table of sites (CSV: name, latitude, longitude, …, weather): one table out."),
    ] = None,
    asked: Asked,
    crew: CrewText,
    explain: Annotated[
        bool, typer.Option("--explain", help="Why, species by species, and what would change it.")
    ] = False,
    keep: Annotated[
        bool,
        typer.Option("--keep", help="Make this the plan that `due` goes by; writes site.toml where there is none."),
    ] = False,
) -> None:
    """Decide for every species where its seed is chilled, and when to do what.

    With no site and no weather the embedded demo is planned; its weather is invented.

    Example: chillplan plan --weather record.csv --latitude 42.4 --longitude -76.2 --species "wild bergamot"
    """
    asked = replace(asked, crew=crew)
    if sites is not None:
        from chillplan.cli.sites_table import answer_sites

        answer_sites(sites, place, asked)
        return
    from chillplan.cli.home import at_home

    place, asked = at_home(place, asked, context)
    if several(asked.warming):
        answer_warmings(place, asked, keep)
        return
    answer_plan(place, asked, keep, explain)


def answer_plan(place: PlaceOptions, asked: Asked, keep: bool = False, explain: bool = False) -> None:
    """Check everything that was asked, plan, write the folder that was asked for, and print."""
    from chillplan.advice.visits import with_visits
    from chillplan.errors import Problems

    problems = Problems()
    if keep and place.says_nothing:
        problems.add("the demo's plan is not kept: name your place with --latitude, --longitude and --weather")
    crew = crew_of(problems, asked.crew)
    made, loaded = planned(place, asked, problems)
    assert crew is not None
    made = with_visits(made, crew)
    if asked.out is not None:
        _write(made, loaded, asked, asked.out)
    _print(made, loaded, asked, explain)
    if keep:
        _keep(made, place, asked)


def _keep(made: Plan, place: PlaceOptions, asked: Asked) -> None:
    """Make a plan the current one, and write down where and what for."""
    from datetime import datetime, time

    from chillplan.cli.home import write_home
    from chillplan.cli.kept_plan import keep
    from chillplan.cli.loading import tell

    now = datetime.now() if asked.today is None else datetime.combine(made.today, time(12))
    for path in write_home(made.site, place, asked, made.lots):
        tell(f"written: {path}")
    named = asked.journal or (Path(os.environ["CHILLPLAN_JOURNAL"]) if os.environ.get("CHILLPLAN_JOURNAL") else None)
    tell(f"kept: {keep(made, named, now)} tasks; `chillplan due` lists them, `chillplan done` ticks them off")


def _write(made: Plan, loaded: Loaded, asked: Asked, out: Path) -> None:
    from chillplan.cli.loading import tell
    from chillplan.report.labels import labels_of, missing_signs
    from chillplan.report.reader import reader_for
    from chillplan.report.record import source_of
    from chillplan.web.folder import write_report

    reader = reader_for(asked.units, asked.dates)
    missing = missing_signs(labels_of(made, reader))
    for path in write_report(made, source_of(loaded.history, loaded.site), out, reader, asked.paper, asked.labels):
        tell(f"written: {path}")
    if missing:
        tell(
            f"labels.pdf: its font has no {' '.join(missing)}: a sign is printed as its name in brackets, a letter "
            "as ?; write them in by hand"
        )


def _print(made: Plan, loaded: Loaded, asked: Asked, explain: bool) -> None:
    from chillplan.report.record import source_of

    source = source_of(loaded.history, loaded.site)
    if asked.format == "json":
        from chillplan.report.contract import plan_json

        print_json(plan_json(made, source))
    elif asked.format == "csv":
        from chillplan.cli.loading import tell_if_invented
        from chillplan.report.rows import plan_csv

        tell_if_invented(loaded)
        print(plan_csv(made), end="")
    else:
        from chillplan.report.reader import reader_for
        from chillplan.report.tables import print_plan

        print_plan(made, source, reader_for(asked.units, asked.dates), explain)


MOST = 6  # warmings asked for at once


def several(warming: str) -> bool:
    """Whether more than one warming is asked for."""
    return "," in warming


def answer_warmings(place: PlaceOptions, asked: Asked, keep: bool) -> None:
    """Plan for each warming and show the species whose verdict is not the same in all.

    Raises
    ------
    InputError
        If a plan is to be kept or written too, or too many are asked for.
    """
    from chillplan.cli.loading import tell_if_invented
    from chillplan.cli.planning import planned
    from chillplan.errors import Problems

    problems = Problems()
    degrees = [part.strip() for part in asked.warming.split(",")]
    if keep or asked.out is not None:
        problems.add(f"--warming {asked.warming} compares plans, which are neither kept nor written: give one warming")
    if len(degrees) > MOST:
        problems.add(f"--warming names {len(degrees)} warmings, at most {MOST} are compared: leave some out")
    plans: list[Plan] = []
    for degree in degrees:
        made, loaded = planned(place, replace(asked, warming=degree), problems)
        plans.append(made)
    rows = changed(plans)
    if asked.format == "json":
        print_json({"schema": 1, "warming": [plan.warming for plan in plans], "unchanged": _same(plans, rows),
                    "changes": [{"name": name, "verdicts": verdicts} for name, verdicts in rows.items()]})  # fmt: skip
        return
    if asked.format == "csv":
        from chillplan.report.rows import csv_text

        header = ("species", *(f"warming_{plan.warming:g}" for plan in plans))
        print(csv_text(header, [(name, *verdicts) for name, verdicts in rows.items()]), end="")
        return
    from chillplan.report.reader import reader_for
    from chillplan.report.tables_lists import print_warmings

    tell_if_invented(loaded)
    print_warmings(plans, rows, _same(plans, rows), reader_for(asked.units, asked.dates))


def changed(plans: list[Plan]) -> dict[str, list[str]]:
    """Verdicts in words, by the names of the species whose verdict is not the same in every plan."""
    from chillplan.report.when_words import shown_verdict

    found = {}
    for advices in zip(*(plan.species for plan in plans), strict=True):
        said = [shown_verdict(plan, advice) for plan, advice in zip(plans, advices, strict=True)]
        if len(set(said)) > 1:
            found[advices[0].species.common_name or advices[0].species.name] = said
    return found


def _same(plans: list[Plan], rows: dict[str, list[str]]) -> int:
    return len(plans[0].species) - len(rows)


@opt.grouped
def demo(*, asked: Annotated[Asked, opt.Only("today", "units", "format", "dates", "out", "paper", "labels")]) -> None:
    """Plan a dozen species on an invented hillside with 40 invented winters.

    Nothing about it is real; it shows what an answer looks like.
    """
    answer_plan(PlaceOptions(), asked)
