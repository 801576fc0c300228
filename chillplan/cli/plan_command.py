"""``chillplan plan``: the main job."""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING, Any

import typer

from chillplan.cli import crew_options as crews
from chillplan.cli import options as opt
from chillplan.cli.grouped import with_group
from chillplan.cli.place import NOWHERE, PlaceOptions, with_place
from chillplan.cli.plain_text import print_json

if TYPE_CHECKING:
    from chillplan.advice.result import Plan
    from chillplan.cli.loading import Loaded
    from chillplan.errors import Problems

__all__ = ["ASKED", "NOTHING", "WRITTEN", "Asked", "answer_plan", "planned", "register"]


@dataclass(frozen=True)
class Asked:
    """What the user asks of ``plan``, as text."""

    species: tuple[str, ...] = ()
    list_file: Path | None = None
    species_file: Path | None = None
    years: str | None = None
    season: str | None = None
    today: str | None = None
    accept: str = "0.8"
    plant_out: str | None = None
    warming: str = "0"
    units: str = "metric"
    format: str = "table"
    out: Path | None = None
    journal: Path | None = None
    dates: str | None = None
    paper: str = "a4"
    labels: str = "2x4"
    crew: crews.CrewText = field(default_factory=crews.CrewText)


NOTHING = Asked()
ASKED: dict[str, Any] = {
    "species": opt.SpeciesOption,
    "list_file": opt.ListOption,
    "species_file": opt.SpeciesFileOption,
    "years": opt.YearsOption,
    "season": opt.SeasonOption,
    "today": opt.TodayOption,
    "accept": opt.AcceptOption,
    "plant_out": opt.PlantOutOption,
    "warming": opt.WarmingOption,
    "units": opt.UnitsOption,
    "format": opt.FormatOption,
    "dates": opt.DatesOption,
}
"""Options of whatever plans."""
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
    place: PlaceOptions = NOWHERE,
    sites: opt.SitesOption = None,
    asked: Asked = NOTHING,
    crew: crews.CrewText = crews.ALONE,
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
    answer_plan(place, asked)


def answer_plan(place: PlaceOptions, asked: Asked) -> None:
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
    _print(made, loaded, asked)


def planned(place: PlaceOptions, asked: Asked, problems: Problems) -> tuple[Plan, Loaded]:
    """Check everything that was asked, and plan.

    Parameters
    ----------
    place : PlaceOptions
    asked : Asked
    problems : Problems
        Faults found before; they are raised together with those found here.
    """
    from chillplan.advice.plan import Request, make_plan
    from chillplan.cli import values
    from chillplan.cli.loading import DEMO_LIST, load
    from chillplan.cli.progress_line import ProgressLine
    from chillplan.cli.seed_list import chosen_species
    from chillplan.data_files import data_path

    years = values.year_range(problems, "--years", asked.years)
    accept = values.number(problems, "--accept", asked.accept, 0.5, 1.0)
    warming = values.number(problems, "--warming", asked.warming, -10.0, 10.0, "°C")
    season = values.whole_number(problems, "--season", asked.season, 1800, 2200)
    today = values.day(problems, "--today", asked.today) or date.today()
    plant_out = values.day(problems, "--plant-out", asked.plant_out)
    values.choice(problems, "--units", asked.units, ("metric", "us"))
    values.choice(problems, "--format", asked.format, ("table", "json", "csv"))
    if plant_out is not None and plant_out < today:
        problems.add(f"--plant-out {plant_out} is before today, {today}: give a date to come")
    _check_paper(asked, problems)
    default = data_path(DEMO_LIST) if place.says_nothing else None
    chosen = chosen_species(asked.species, asked.list_file, asked.species_file, problems, default)
    loaded = load(place, years, problems)
    request = Request(today, season, accept or 0.8, 0.5, plant_out, warming or 0.0)
    if asked.journal is None:
        with ProgressLine() as progress:
            return make_plan(loaded.seasons, loaded.site, chosen, request, progress), loaded
    from chillplan.cli.learned_plan import say_so, with_learned

    taught, used = with_learned(chosen, asked.journal, loaded.site.name)
    with ProgressLine() as progress:
        return say_so(make_plan(loaded.seasons, loaded.site, taught, request, progress), used), loaded


def _check_paper(asked: Asked, problems: Problems) -> None:
    """Faults of the options that shape what is written to a folder."""
    from chillplan.cli import values
    from chillplan.errors import InputError

    if asked.dates is not None:
        values.choice(problems, "--dates", asked.dates, ("iso", "dmy", "mdy"))
    if asked.out is None and (asked.paper, asked.labels) == (Asked.paper, Asked.labels):
        return
    from chillplan.report.label_sheet import sheet_for

    try:
        sheet_for(asked.paper, asked.labels)
    except InputError as error:
        problems.extend(error)


def _write(made: Plan, loaded: Loaded, asked: Asked, out: Path) -> None:
    from chillplan.cli.loading import tell
    from chillplan.report.folder import write_report
    from chillplan.report.label_signs import missing_signs
    from chillplan.report.labels import labels_of
    from chillplan.report.provenance import source_of
    from chillplan.report.reader import reader_for

    reader = reader_for(asked.units, asked.dates)
    missing = missing_signs(labels_of(made, reader))
    for path in write_report(made, source_of(loaded.history, loaded.site), out, reader, asked.paper, asked.labels):
        tell(f"written: {path}")
    if missing:
        tell(
            f"labels.pdf: its font has no {' '.join(missing)}: a sign is printed as its name in brackets, a letter "
            "as ?; write them in by hand"
        )


def _print(made: Plan, loaded: Loaded, asked: Asked) -> None:
    from chillplan.report.provenance import source_of

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

        print_plan(made, source, reader_for(asked.units, asked.dates))
