"""``chillplan winter``: is the local winter enough?"""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from typing import Annotated

import typer

from chillplan.cli.options import Only, grouped, option
from chillplan.cli.place import PlaceOptions
from chillplan.cli.planning import Asked, checked
from chillplan.cli.streams import print_json

__all__ = ["register"]


def register(app: typer.Typer) -> None:
    """Add the command."""
    app.command("winter", short_help="How much chill the winters give, when frost ends, soil warms.")(winter)


@grouped
def winter(
    *,
    context: typer.Context,
    place: PlaceOptions,
    asked: Annotated[Asked, Only("years", "season", "today", "warming", "units", "format")],
    frost: Annotated[
        list[str] | None,
        option("--frost", "DEGREES", "A frost to date besides 0, -2 and -4 °C, for example -6; may be repeated."),
    ] = None,
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
    units, dates = reading_at_home(place, asked.units, None, context)
    problems = Problems()
    said = checked(replace(asked, units=units), problems)
    frosts = [values.number(problems, "--frost", text, -40.0, 5.0, "°C") for text in frost or ()]
    loaded = load(place, said.years, problems)
    ground = ground_of(loaded.seasons, loaded.site, said.warming)
    numbers = winters_of(loaded.seasons, ground, said.warming, [limit for limit in frosts if limit is not None])
    source = source_of(loaded.history, loaded.site)
    shown = said.season
    if shown is None:
        shown = default_season(said.today or date.today(), loaded.site.southern)
    if asked.format == "json":
        from chillplan.report.contract import winter_answer

        answer = winter_answer(loaded.site, source, loaded.seasons, numbers, shown, said.warming)
        print_json(answer)
    elif asked.format == "csv":
        from chillplan.cli.loading import tell_if_invented
        from chillplan.report.rows import winter_csv

        tell_if_invented(loaded)
        print(winter_csv(numbers, loaded.seasons), end="")
    else:
        from chillplan.report.reader import reader_for
        from chillplan.report.tables import print_winter

        print_winter(loaded.site, source, loaded.seasons, numbers, shown, reader_for(units, dates), said.warming)
