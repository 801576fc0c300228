"""``chillplan visits``: the fewest trips to the hill."""

from __future__ import annotations

from datetime import date, timedelta
from typing import TYPE_CHECKING, Annotated

import typer

from chillplan.cli import options as opt

if TYPE_CHECKING:
    from chillplan.advice.visits import Crew
    from chillplan.errors import Problems

__all__ = ["register"]

LONGEST_SPAN = 3660  # days of one --away; a longer one is a slip of the pen

PeopleOption = Annotated[str, typer.Option("--people", help="How many people work.")]
HoursOption = Annotated[str, typer.Option("--hours", help="Longest work of one person in a day, hours.")]
TravelOption = Annotated[str, typer.Option("--travel", help="Way to the hill and back, hours, within daylight.")]
WeekdaysOption = Annotated[
    str | None, typer.Option("--weekdays", help="Days of the week that work, for example sat,sun; else all.")
]
AwayOption = Annotated[
    list[str] | None,
    typer.Option("--away", help="Date or dates that do not work: YYYY-MM-DD or FIRST..LAST; may be repeated."),
]
SnowLimitOption = Annotated[str, typer.Option("--snow-limit", help="Snow deeper than this closes the way, mm.")]
SnowShareOption = Annotated[
    str, typer.Option("--snow-share", help="A date closed by snow in more than this share of winters is not planned.")
]


def register(app: typer.Typer) -> None:
    """Add the command."""
    app.command("visits")(visits)


def visits(
    site: opt.SiteOption = None,
    latitude: opt.LatitudeOption = None,
    longitude: opt.LongitudeOption = None,
    elevation: opt.ElevationOption = None,
    slope: opt.SlopeOption = None,
    aspect: opt.AspectOption = None,
    cover: opt.CoverOption = None,
    depth: opt.DepthOption = None,
    weather: opt.WeatherOption = None,
    station: opt.StationOption = None,
    weather_units: opt.WeatherUnitOption = None,
    offline: opt.OfflineOption = False,
    refresh: opt.RefreshOption = False,
    species: opt.SpeciesOption = None,
    list_file: opt.ListOption = None,
    species_file: opt.SpeciesFileOption = None,
    years: opt.YearsOption = None,
    season: opt.SeasonOption = None,
    today: opt.TodayOption = None,
    accept: opt.AcceptOption = "0.8",
    plant_out: opt.PlantOutOption = None,
    warming: opt.WarmingOption = "0",
    people: PeopleOption = "1",
    hours: HoursOption = "8",
    travel: TravelOption = "2",
    weekdays: WeekdaysOption = None,
    away: AwayOption = None,
    snow_limit: SnowLimitOption = "200",
    snow_share: SnowShareOption = "0.5",
    units: opt.UnitsOption = "metric",
    output: opt.FormatOption = "table",
    dates: opt.DatesOption = None,
) -> None:
    """Find the fewest visits that do every outdoor task in its window, within daylight.

    Daylight runs from civil dawn to civil dusk in the site's own clock. Of all smallest sets of dates the one with
    the lowest frost risk is taken. A task that no visit can cover is named with what would free it.

    Example: chillplan visits --weekdays sat,sun --travel 3 --people 2
    """
    from chillplan.cli.loading import PlaceOptions, tell
    from chillplan.cli.plan_command import Asked, planned
    from chillplan.errors import Problems

    problems = Problems()
    crew = _crew(problems, people, hours, travel, weekdays, away, snow_limit, snow_share)
    place = PlaceOptions(
        site, latitude, longitude, elevation, slope, aspect, cover, depth, weather or (), station, weather_units,
        offline, refresh,
    )  # fmt: skip
    asked = Asked(
        tuple(species or ()), list_file, species_file, years, season, today, accept, plant_out, warming, units, output,
        dates=dates,
    )  # fmt: skip
    made, loaded = planned(place, asked, problems)
    assert crew is not None
    from chillplan.advice.visits import plan_visits
    from chillplan.report.provenance import source_of
    from chillplan.report.reader import reader_for
    from chillplan.report.tables_visits import print_visits, visits_csv, visits_json

    found = plan_visits(made, crew)
    source = source_of(loaded.history, loaded.site)
    if not found.proven:
        tell("the solver ran out of time: fewer visits may be possible than are shown")
    if output == "json":
        import json

        print(json.dumps(visits_json(made, found, source), ensure_ascii=False, indent=1))
    elif output == "csv":
        print(visits_csv(found), end="")
    else:
        print_visits(made, found, source, reader_for(units, dates))


def _crew(
    problems: Problems,
    people: str,
    hours: str,
    travel: str,
    weekdays: str | None,
    away: list[str] | None,
    snow_limit: str,
    snow_share: str,
) -> Crew | None:
    from chillplan.advice.visits import Crew
    from chillplan.cli import values

    count = values.whole_number(problems, "--people", people, 1, 1000)
    work = values.number(problems, "--hours", hours, 0.25, 24.0, "hours")
    way = values.number(problems, "--travel", travel, 0.0, 24.0, "hours")
    deep = values.number(problems, "--snow-limit", snow_limit, 0.0, 20000.0, "mm")
    share = values.number(problems, "--snow-share", snow_share, 0.0, 1.0)
    days = _weekdays(problems, weekdays)
    closed = frozenset(day for text in away or () for day in _away(problems, text))
    if count is None or work is None or way is None or deep is None or share is None or not days:
        return None
    return Crew(count, work, way, days, closed, deep, share)


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
