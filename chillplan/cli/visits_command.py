"""``chillplan visits``: the fewest trips to the hill."""

from __future__ import annotations

import typer

from chillplan.cli import crew_options as crews
from chillplan.cli import options as opt
from chillplan.cli.place import NOWHERE, PlaceOptions, with_place
from chillplan.cli.plain_text import print_json

__all__ = ["register"]


def register(app: typer.Typer) -> None:
    """Add the command."""
    app.command("visits")(visits)


@with_place
def visits(
    place: PlaceOptions = NOWHERE,
    species: opt.SpeciesOption = None,
    list_file: opt.ListOption = None,
    species_file: opt.SpeciesFileOption = None,
    years: opt.YearsOption = None,
    season: opt.SeasonOption = None,
    today: opt.TodayOption = None,
    accept: opt.AcceptOption = "0.8",
    plant_out: opt.PlantOutOption = None,
    warming: opt.WarmingOption = "0",
    people: crews.PeopleOption = "1",
    hours: crews.HoursOption = "8",
    travel: crews.TravelOption = "2",
    weekdays: crews.WeekdaysOption = None,
    away: crews.AwayOption = None,
    snow_limit: crews.SnowLimitOption = "200",
    snow_share: crews.SnowShareOption = "0.5",
    units: opt.UnitsOption = "metric",
    output: opt.FormatOption = "table",
    dates: opt.DatesOption = None,
) -> None:
    """Find the fewest visits that do every outdoor task in its window, within daylight.

    Daylight runs from civil dawn to civil dusk in the site's own clock. Of all smallest sets of dates the one with
    the lowest frost risk is taken. A task that no visit can cover is named with what would free it.

    Example: chillplan visits --weekdays sat,sun --travel 3 --people 2
    """
    from chillplan.cli.loading import tell, tell_if_invented
    from chillplan.cli.plan_command import Asked, planned
    from chillplan.errors import Problems

    problems = Problems()
    text = crews.CrewText(people, hours, travel, weekdays, tuple(away or ()), snow_limit, snow_share)
    crew = crews.crew_of(problems, text)
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
        print_json(visits_json(made, found, source))
    elif output == "csv":
        tell_if_invented(loaded)
        print(visits_csv(found), end="")
    else:
        print_visits(made, found, source, reader_for(units, dates))
