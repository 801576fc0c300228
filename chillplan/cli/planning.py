"""What is asked of ``plan``, who can work when, and the plan made of it."""

from __future__ import annotations

import re
from dataclasses import dataclass, field, replace
from datetime import date, timedelta
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from chillplan.cli import options as opt
from chillplan.cli.options import with_group
from chillplan.cli.place import PlaceOptions

if TYPE_CHECKING:
    from chillplan.advice.result import Plan
    from chillplan.advice.visits import Crew
    from chillplan.cli.loading import Loaded
    from chillplan.errors import Problems

__all__ = ["ALONE", "ASKED", "NOTHING", "Asked", "CrewText", "crew_of", "planned", "with_crew"]

LONGEST_SPAN = 3660  # days of one --away; a longer one is a slip of the pen

PeopleOption = Annotated[str, typer.Option("--people", metavar="NUMBER", help="How many people work on a visit.")]
HoursOption = Annotated[
    str, typer.Option("--hours", metavar="HOURS", help="Longest work of one person in a day, hours.")
]
TravelOption = Annotated[
    str, typer.Option("--travel", metavar="HOURS", help="Way to the hill and back, hours, within daylight.")
]
WeekdaysOption = Annotated[
    str | None,
    typer.Option(
        "--weekdays",
        metavar="DAYS",
        help="Days of the week that work, for example sat,sun or 1st and 3rd weekend; else all.",
    ),
]
AwayOption = Annotated[
    list[str] | None,
    typer.Option(
        "--away", metavar="DATES", help="Date or dates that do not work: YYYY-MM-DD or FIRST..LAST; may be repeated."
    ),
]
SnowLimitOption = Annotated[
    str, typer.Option("--snow-limit", metavar="MM", help="Snow deeper than this closes the way, mm.")
]
SnowShareOption = Annotated[
    str,
    typer.Option(
        "--snow-share", metavar="SHARE", help="A date closed by snow in more than this share of winters is not planned."
    ),
]


@dataclass(frozen=True)
class CrewText:
    """The options as text."""

    people: str = "1"
    hours: str = "8"
    travel: str = "2"
    weekdays: str | None = None
    away: tuple[str, ...] = ()
    snow_limit: str = "200"
    snow_share: str = "0.5"


OPTIONS = {
    "people": PeopleOption,
    "hours": HoursOption,
    "travel": TravelOption,
    "weekdays": WeekdaysOption,
    "away": AwayOption,
    "snow_limit": SnowLimitOption,
    "snow_share": SnowShareOption,
}

ALONE = CrewText()

with_crew = with_group("crew", CrewText, OPTIONS)
"""Give a command the options of a crew where it takes a parameter ``crew``."""


def crew_of(problems: Problems, text: CrewText) -> Crew | None:
    """The crew that was asked for, or None with every fault noted."""
    from chillplan.advice.visits import Crew
    from chillplan.cli import values

    count = values.whole_number(problems, "--people", text.people, 1, 1000)
    work = values.number(problems, "--hours", text.hours, 0.25, 24.0, "hours")
    way = values.number(problems, "--travel", text.travel, 0.0, 24.0, "hours")
    deep = values.number(problems, "--snow-limit", text.snow_limit, 0.0, 20000.0, "mm")
    share = values.number(problems, "--snow-share", text.snow_share, 0.0, 1.0)
    weeks, names = _weeks(text.weekdays)
    days = _weekdays(problems, names)
    closed = frozenset(day for span in text.away for day in _away(problems, span))
    if count is None or work is None or way is None or deep is None or share is None or not days:
        return None
    return Crew(count, work, way, days, closed, deep, share, weeks)


def _weeks(text: str | None) -> tuple[tuple[int, ...], str | None]:
    """``1st and 3rd weekend`` as the weeks of the month that work, and the days by name."""
    if text is None:
        return (), None
    weeks = tuple(sorted({int(number) for number in re.findall(r"\b([1-5])(?:st|nd|rd|th)\b", text)}))
    names = re.sub(r"\b[1-5](?:st|nd|rd|th)\b|\band\b", " ", text)
    names = re.sub(r"(?i)\bweekends?\b", "sat,sun", names)
    return weeks, names.strip(" ,")


def _weekdays(problems: Problems, text: str | None) -> tuple[int, ...]:
    from chillplan.advice.visits import WEEKDAYS
    from chillplan.errors import quoted

    if text is None:
        return tuple(range(7))
    short = [name[:3].lower() for name in WEEKDAYS]
    found = []
    for word in text.replace(";", ",").split(","):
        clean = word.strip().lower()
        if clean[:3] in short and (clean == clean[:3] or WEEKDAYS[short.index(clean[:3])].lower() == clean):
            found.append(short.index(clean[:3]))
        else:
            problems.add(f"--weekdays {quoted(word.strip())} is not a day of the week: write for example sat,sun")
    return tuple(sorted(set(found)))


def _away(problems: Problems, text: str) -> list[date]:
    from chillplan.cli import values
    from chillplan.errors import quoted

    first, dots, last = text.partition("..")
    begin = values.day(problems, "--away", first)
    end = values.day(problems, "--away", last) if dots else begin
    if begin is None or end is None:
        return []
    if not 0 <= (end - begin).days <= LONGEST_SPAN:
        problems.add(f"--away {quoted(text)} does not run from an earlier to a later date: write FIRST..LAST")
        return []
    return [begin + timedelta(days=number) for number in range((end - begin).days + 1)]


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
    crew: CrewText = field(default_factory=CrewText)


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
    problems : Problems
        Faults found before; they are raised together with those found here.
    """
    from chillplan.advice.plan import Request
    from chillplan.advice.seed_lots import SUNDAY, plan_for_lots
    from chillplan.cli import values
    from chillplan.cli.catalogue_files import chosen_seed
    from chillplan.cli.learned_plan import say_so, with_learned
    from chillplan.cli.loading import DEMO_LIST, load
    from chillplan.cli.place import with_time_zone
    from chillplan.cli.streams import ProgressLine
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
