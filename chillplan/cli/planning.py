"""What is asked of ``plan``, and the plan made of it."""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING, Any

from chillplan.cli import crew_options as crews
from chillplan.cli import options as opt
from chillplan.cli.place import PlaceOptions

if TYPE_CHECKING:
    from chillplan.advice.result import Plan
    from chillplan.cli.loading import Loaded
    from chillplan.errors import Problems

__all__ = ["ASKED", "NOTHING", "Asked", "planned"]


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
    looking_day: int | None = None
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


def planned(place: PlaceOptions, asked: Asked, problems: Problems) -> tuple[Plan, Loaded]:
    """Check everything that was asked, and plan.

    Parameters
    ----------
    place : PlaceOptions
    asked : Asked
    problems : Problems
        Faults found before; they are raised together with those found here.
    """
    from chillplan.advice.plan import Request
    from chillplan.advice.seed_lots import SUNDAY, plan_for_lots
    from chillplan.cli import values
    from chillplan.cli.learned_plan import say_so, with_learned
    from chillplan.cli.loading import DEMO_LIST, load
    from chillplan.cli.progress_line import ProgressLine
    from chillplan.cli.seed_list import chosen_seed
    from chillplan.cli.time_zone import with_time_zone
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
    chosen, lots = chosen_seed(asked.species, asked.list_file, asked.species_file, problems, default, today)
    loaded = load(place, years, problems)
    if not loaded.demo:
        loaded = replace(loaded, site=with_time_zone(loaded.site))
    request = Request(today, season, accept or 0.8, 0.5, plant_out, warming or 0.0)
    used: dict[str, Any] = {}
    if asked.journal is not None:
        chosen, used = with_learned(chosen, asked.journal, loaded.site.name)
    looking_day = SUNDAY if asked.looking_day is None else asked.looking_day
    with ProgressLine() as progress:
        made = plan_for_lots(loaded.seasons, loaded.site, (chosen, lots), request, looking_day, progress)
    return say_so(made, used), loaded


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
