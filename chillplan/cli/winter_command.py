"""``chillplan winter``: is the local winter enough?"""

from __future__ import annotations

from datetime import date

import typer

from chillplan.cli import options as opt
from chillplan.cli.place import NOWHERE, PlaceOptions, with_place
from chillplan.cli.streams import print_json

__all__ = ["register"]


def register(app: typer.Typer) -> None:
    """Add the command."""
    app.command("winter", short_help="How much chill the winters give, when frost ends, soil warms.")(winter)


@with_place
def winter(
    context: typer.Context,
    place: PlaceOptions = NOWHERE,
    years: opt.YearsOption = None,
    season: opt.SeasonOption = None,
    today: opt.TodayOption = None,
    warming: opt.WarmingOption = "0",
    frost: opt.FrostOption = None,
    units: opt.UnitsOption = "metric",
    output: opt.FormatOption = "table",
) -> None:
    """Tell how much chill the winters of a place give, when frost ends and when the soil warms.

    With no site and no weather the embedded demo answers; its weather is invented.

    Example: chillplan winter --weather record.csv --latitude 42.4 --longitude -76.2 --years 1991-2020
    """
    from chillplan.advice.plan import default_season
    from chillplan.cli import values
    from chillplan.cli.home import place_at_home, reading_at_home
    from chillplan.cli.loading import load
    from chillplan.errors import Problems
    from chillplan.report.record import source_of
    from chillplan.seasons.summary import ground_of, winters_of

    place = place_at_home(place)
    units, dates = reading_at_home(place, units, None, context)
    problems = Problems()
    window = values.year_range(problems, "--years", years)
    warmer = values.number(problems, "--warming", warming, -10.0, 10.0, "°C") or 0.0
    asked_season = values.whole_number(problems, "--season", season, 1800, 2200)
    frosts = [values.number(problems, "--frost", text, -40.0, 5.0, "°C") for text in frost or ()]
    now = values.day(problems, "--today", today) or date.today()
    values.choice(problems, "--units", units, ("metric", "us"))
    values.choice(problems, "--format", output, ("table", "json", "csv"))
    loaded = load(place, window, problems)
    numbers = winters_of(
        loaded.seasons,
        ground_of(loaded.seasons, loaded.site, warmer),
        warmer,
        [limit for limit in frosts if limit is not None],
    )
    source = source_of(loaded.history, loaded.site)
    shown = default_season(now, loaded.site.southern) if asked_season is None else asked_season
    if output == "json":
        from chillplan.report.contract import winter_answer

        answer = winter_answer(loaded.site, source, loaded.seasons, numbers, shown, warmer)
        print_json(answer)
    elif output == "csv":
        from chillplan.cli.loading import tell_if_invented
        from chillplan.report.rows import winter_csv

        tell_if_invented(loaded)
        print(winter_csv(numbers, loaded.seasons), end="")
    else:
        from chillplan.report.reader import reader_for
        from chillplan.report.tables import print_winter

        print_winter(loaded.site, source, loaded.seasons, numbers, shown, reader_for(units, dates), warmer)
