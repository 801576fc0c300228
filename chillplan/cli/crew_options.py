"""Who can work when, as options of the commands that plan visits."""

from __future__ import annotations

import re
from dataclasses import dataclass
from datetime import date, timedelta
from typing import TYPE_CHECKING, Annotated

import typer

from chillplan.cli.grouped import with_group

if TYPE_CHECKING:
    from chillplan.advice.visits import Crew
    from chillplan.errors import Problems

__all__ = ["ALONE", "CrewText", "crew_of", "with_crew"]

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
