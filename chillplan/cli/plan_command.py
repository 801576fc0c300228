"""``chillplan plan``: the main job."""

from __future__ import annotations

import os
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from chillplan.cli import crew_options as crews
from chillplan.cli import options as opt
from chillplan.cli.grouped import with_group
from chillplan.cli.place import NOWHERE, PlaceOptions, with_place
from chillplan.cli.plain_text import print_json
from chillplan.cli.planning import ASKED, NOTHING, Asked, planned
from chillplan.cli.warmings import answer_warmings, several

if TYPE_CHECKING:
    from chillplan.advice.result import Plan
    from chillplan.cli.loading import Loaded

__all__ = ["WRITTEN", "answer_plan", "register"]


WRITTEN: dict[str, Any] = {
    "out": opt.OutOption,
    "paper": opt.PaperOption,
    "labels": opt.LabelsOption,
}
"""Options of what is written to a folder."""


def register(app: typer.Typer) -> None:
    """Add the command."""
    app.command("plan", short_help="Decide for every species how its seed is chilled, and when.")(plan)


@with_place
@with_group("asked", Asked, {**ASKED, **WRITTEN, "journal": opt.LearnedOption})
@crews.with_crew
def plan(
    context: typer.Context,
    place: PlaceOptions = NOWHERE,
    sites: opt.SitesOption = None,
    asked: Asked = NOTHING,
    crew: crews.CrewText = crews.ALONE,
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
    crew = crews.crew_of(problems, asked.crew)
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
    from chillplan.errors import InputError

    if place.says_nothing:
        raise InputError("the demo's plan is not kept: name your place with --latitude, --longitude and --weather")
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
