"""``chillplan visits`` and ``page``: the fewest trips to the hill, and the page to work on there."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from chillplan.cli.journal_options import JournalOption
from chillplan.cli.options import Only, grouped
from chillplan.cli.place import PlaceOptions
from chillplan.cli.planning import NOT_WRITTEN, Asked, CrewText, crew_of, planned
from chillplan.cli.streams import print_json

if TYPE_CHECKING:
    from chillplan.advice.result import Plan

__all__ = ["register"]


def register(app: typer.Typer) -> None:
    """Add the commands."""
    app.command("page", short_help="Write the page to work on, for a phone without a signal.")(page)
    app.command("visits", short_help="The fewest trips that do every outdoor task in its dates.")(visits)


@grouped
def visits(
    *, context: typer.Context, place: PlaceOptions, asked: Annotated[Asked, NOT_WRITTEN], crew: CrewText
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
    workers = crew_of(problems, asked.crew)
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


PAGE_FILE = Path("chillplan-page.html")


@grouped
def page(
    *,
    context: typer.Context,
    place: PlaceOptions,
    asked: Annotated[Asked, Only(but=("format", "out", "paper", "labels", "journal"))],
    crew: CrewText,
    out: Annotated[Path, typer.Option("--out", help="File to write.")] = PAGE_FILE,
    journal: JournalOption = None,
    serve: Annotated[
        bool, typer.Option("--serve", help="Show it to a phone on the local network, while this runs.")
    ] = False,
    port: Annotated[int, typer.Option("--port", help="Where it is shown; with --serve.")] = 8455,
) -> None:
    """Write one page on which to work: what is due today, your seed, the box, the beds, and the way back.

    It fetches nothing and starts from the journal; what is entered on it comes back with `chillplan batch import`.

    Examples: chillplan page --out hill.html; chillplan page --serve
    """
    from chillplan.advice.visits import Crew, with_visits
    from chillplan.cli.home import at_home
    from chillplan.cli.loading import tell
    from chillplan.errors import Problems
    from chillplan.report.reader import reader_for
    from chillplan.report.record import source_of
    from chillplan.web.facts import page_facts
    from chillplan.web.folder import write_whole
    from chillplan.web.page import page_html

    place, asked = at_home(place, replace(asked, crew=crew), context)
    problems = Problems()
    who = crew_of(problems, asked.crew)
    made, loaded = planned(place, asked, problems)
    made = with_visits(made, who or Crew())
    source, reader = source_of(loaded.history, loaded.site), reader_for(asked.units, asked.dates)
    looking = {} if asked.looking_day is None else {"looking_day": asked.looking_day}
    held = _held(journal, made, asked.species_file)
    facts = page_facts(made, source, reader, held, who, filed=asked.list_file is not None, **looking)
    if serve:
        from chillplan.web.page import serve_page

        serve_page(page_html(made, source, reader, facts, served=True), made.site.name, port, tell)
        return
    write_whole(out, page_html(made, source, reader, facts).encode())
    tell(f"written: {out}")


def _held(journal: Path | None, made: Plan, species_file: Path | None) -> dict[str, Any] | None:
    """What the journal holds, where there is one."""
    from functools import partial

    from chillplan.cli.catalogue_files import catalogue_with
    from chillplan.cli.journal_options import journal_path, writable
    from chillplan.cli.loading import tell
    from chillplan.seeds.catalogue import find_species
    from chillplan.web.facts import held_by

    path = journal_path(journal)
    if not path.exists():
        tell(f"no journal at {path}: the page begins with an empty box")
        return None
    with writable(path, made.today) as opened:
        species_of = partial(find_species, catalogue_with(species_file))
        return held_by(opened, made.today, species_of, made.site.name, made.season)
