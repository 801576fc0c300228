"""``chillplan visits``: the fewest trips to the hill."""

from __future__ import annotations

from dataclasses import replace

import typer

from chillplan.cli import crew_options as crews
from chillplan.cli.grouped import with_group
from chillplan.cli.place import NOWHERE, PlaceOptions, with_place
from chillplan.cli.plain_text import print_json
from chillplan.cli.planning import ASKED, NOTHING, Asked, planned

__all__ = ["register"]


def register(app: typer.Typer) -> None:
    """Add the command."""
    app.command("visits", short_help="The fewest trips that do every outdoor task in its dates.")(visits)


@with_place
@with_group("asked", Asked, ASKED)
@crews.with_crew
def visits(
    context: typer.Context, place: PlaceOptions = NOWHERE, asked: Asked = NOTHING, crew: crews.CrewText = crews.ALONE
) -> None:
    """Find the fewest visits that do every outdoor task in its window, within daylight.

    Daylight runs from civil dawn to civil dusk in the site's own clock. Of all smallest sets of dates the one with
    the lowest frost risk is taken. A task that no visit can cover is named with what would free it.

    Example: chillplan visits --weekdays sat,sun --travel 3 --people 2
    """
    from chillplan.cli.home import at_home
    from chillplan.cli.loading import tell, tell_if_invented
    from chillplan.errors import Problems

    problems = Problems()
    place, asked = at_home(place, replace(asked, crew=crew), context)
    workers = crews.crew_of(problems, asked.crew)
    made, loaded = planned(place, asked, problems)
    assert workers is not None
    from chillplan.advice.visits import plan_visits
    from chillplan.report.reader import reader_for
    from chillplan.report.record import source_of
    from chillplan.report.tables import print_visits, visits_csv, visits_json

    found = plan_visits(made, workers)
    source = source_of(loaded.history, loaded.site)
    if not found.proven:
        tell("the solver ran out of time: fewer visits may be possible than are shown")
    if asked.format == "json":
        print_json(visits_json(made, found, source))
    elif asked.format == "csv":
        tell_if_invented(loaded)
        print(visits_csv(found), end="")
    else:
        print_visits(made, found, source, reader_for(asked.units, asked.dates))
