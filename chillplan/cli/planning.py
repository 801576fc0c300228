"""What is asked of ``plan``, who can work when, and the plan made of it."""

from __future__ import annotations

import re
from dataclasses import dataclass, field, replace
from datetime import date, timedelta
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

from chillplan.cli import options as opt
from chillplan.cli.catalogue_files import Wanted, chosen_seed
from chillplan.cli.options import Only
from chillplan.cli.place import PlaceOptions

if TYPE_CHECKING:
    from chillplan.advice.result import Plan
    from chillplan.advice.visits import Crew
    from chillplan.cli.loading import Loaded
    from chillplan.errors import Problems

__all__ = ["NOT_WRITTEN", "Asked", "CrewText", "checked", "crew_of", "planned"]

LONGEST_SPAN = 3660  # days of one --away; a longer one is a slip of the pen


@dataclass(frozen=True)
class CrewText:
    """Who can work when, as text."""

    people: Annotated[str, opt.option("--people", "NUMBER", "How many people work on a visit.")] = "1"
    hours: Annotated[str, opt.option("--hours", "HOURS", "Longest work of one person in a day, hours.")] = "8"
    travel: Annotated[str, opt.option("--travel", "HOURS", "Way to the hill and back, hours, within daylight.")] = "2"
    weekdays: Annotated[
        str | None,
        opt.option(
            "--weekdays", "DAYS", "Days of the week that work, for example sat,sun or 1st and 3rd weekend; else all."
        ),
    ] = None
    away: Annotated[
        tuple[str, ...],
        opt.option("--away", "DATES", "Date or dates that do not work: YYYY-MM-DD or FIRST..LAST; may be repeated."),
    ] = ()
    snow_limit: Annotated[str, opt.option("--snow-limit", "MM", "Snow deeper than this closes the way, mm.")] = "200"
    snow_share: Annotated[
        str,
        opt.option("--snow-share", "SHARE", "A date closed by snow in more than this share of winters is not planned."),
    ] = "0.5"


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
class Asked(Wanted):
    """What the user asks of ``plan``, as text."""

    years: opt.YearsOption = None
    season: opt.SeasonOption = None
    today: opt.TodayOption = None
    accept: opt.AcceptOption = "0.8"
    plant_out: opt.PlantOutOption = None
    warming: opt.WarmingOption = "0"
    units: opt.UnitsOption = "metric"
    format: opt.FormatOption = "table"
    dates: opt.DatesOption = None
    out: Annotated[
        Path | None, opt.option("--out", "FOLDER", "Folder to write the report, calendar, labels and tasks to.")
    ] = None
    paper: Annotated[str, opt.option("--paper", "SIZE", "Paper of the labels: a4 or letter.")] = "a4"
    labels: Annotated[str, opt.option("--labels", "GRID", "Labels on a sheet, columns x rows.")] = "2x4"
    journal: Annotated[
        Path | None,
        opt.option(
            "--journal",
            "FILE",
            "Journal whose lessons at this site take the place of published requirements and narrow the chances.",
        ),
    ] = None
    looking_day: int | None = None
    crew: CrewText = field(default_factory=CrewText)


NOT_WRITTEN = Only(but=("out", "paper", "labels", "journal"))
"""What a command takes that writes no folder of a plan."""


@dataclass(frozen=True)
class Checked:
    """What was asked, as values."""

    years: tuple[int, int] | None
    season: int | None
    today: date | None
    accept: float
    warming: float
    plant_out: date | None


def checked(asked: Asked, problems: Problems) -> Checked:
    """The values of what was asked, every fault noted."""
    from chillplan.cli import values

    values.choice(problems, "--units", asked.units, ("metric", "us"))
    values.choice(problems, "--format", asked.format, ("table", "json", "csv"))
    if asked.dates is not None:
        values.choice(problems, "--dates", asked.dates, ("iso", "dmy", "mdy"))
    return Checked(
        years=values.year_range(problems, "--years", asked.years),
        season=values.whole_number(problems, "--season", asked.season, 1800, 2200),
        today=values.day(problems, "--today", asked.today),
        accept=values.number(problems, "--accept", asked.accept, 0.5, 1.0) or 0.8,
        warming=values.number(problems, "--warming", asked.warming, -10.0, 10.0, "°C") or 0.0,
        plant_out=values.day(problems, "--plant-out", asked.plant_out),
    )


def planned(place: PlaceOptions, asked: Asked, problems: Problems) -> tuple[Plan, Loaded]:
    """Check everything that was asked, and plan.

    Parameters
    ----------
    problems : Problems
        Faults found before; they are raised together with those found here.
    """
    from chillplan.advice.plan import Request
    from chillplan.advice.seed_lots import SUNDAY, plan_for_lots
    from chillplan.cli.kept_plan import say_so, with_learned
    from chillplan.cli.loading import DEMO_LIST, load
    from chillplan.cli.place import with_time_zone
    from chillplan.cli.streams import ProgressLine
    from chillplan.data_files import data_path

    said = checked(asked, problems)
    today = said.today or date.today()
    if said.plant_out is not None and said.plant_out < today:
        problems.add(f"--plant-out {said.plant_out} is before today, {today}: give a date to come")
    _check_paper(asked, problems)
    default = data_path(DEMO_LIST) if place.says_nothing else None
    chosen, lots = chosen_seed(asked, problems, default, today)
    loaded = load(place, said.years, problems)
    if not loaded.demo:
        loaded = replace(loaded, site=with_time_zone(loaded.site))
    request = Request(today, said.season, said.accept, 0.5, said.plant_out, said.warming)
    used: dict[str, Any] = {}
    if asked.journal is not None:
        chosen, used = with_learned(chosen, asked.journal, loaded.site.name)
    looking_day = SUNDAY if asked.looking_day is None else asked.looking_day
    with ProgressLine() as progress:
        made = plan_for_lots(loaded.seasons, loaded.site, (chosen, lots), request, looking_day, progress)
    return say_so(made, used), loaded


def _check_paper(asked: Asked, problems: Problems) -> None:
    """Faults of the options that shape what is written to a folder."""
    from chillplan.errors import InputError

    if asked.out is None and (asked.paper, asked.labels) == (Asked.paper, Asked.labels):
        return
    from chillplan.report.label_sheet import sheet_for

    try:
        sheet_for(asked.paper, asked.labels)
    except InputError as error:
        problems.extend(error)
