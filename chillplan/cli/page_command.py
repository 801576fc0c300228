"""``chillplan page``: the page in the hand, as a file or shown on the local network."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from chillplan.cli import crew_options as crews
from chillplan.cli.grouped import with_group
from chillplan.cli.journal_options import JournalOption
from chillplan.cli.place import NOWHERE, PlaceOptions, with_place
from chillplan.cli.planning import ASKED, NOTHING, Asked, planned

if TYPE_CHECKING:
    from chillplan.advice.result import Plan

__all__ = ["register"]

PAGE_FILE = Path("chillplan-page.html")


def register(app: typer.Typer) -> None:
    """Add the command."""
    app.command("page", short_help="Write the page to work on, for a phone without a signal.")(page)


@with_place
@with_group("asked", Asked, {name: option for name, option in ASKED.items() if name != "format"})
@crews.with_crew
def page(
    context: typer.Context,
    place: PlaceOptions = NOWHERE,
    asked: Asked = NOTHING,
    crew: crews.CrewText = crews.ALONE,
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
    who = crews.crew_of(problems, asked.crew)
    made, loaded = planned(place, asked, problems)
    made = with_visits(made, who or Crew())
    source, reader = source_of(loaded.history, loaded.site), reader_for(asked.units, asked.dates)
    looking = {} if asked.looking_day is None else {"looking_day": asked.looking_day}
    held = _held(journal, made, asked.species_file)
    facts = page_facts(made, source, reader, held, who, filed=asked.list_file is not None, **looking)
    if serve:
        from chillplan.web.serve import serve_page

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
    from chillplan.web.held import held_by

    path = journal_path(journal)
    if not path.exists():
        tell(f"no journal at {path}: the page begins with an empty box")
        return None
    with writable(path, made.today) as opened:
        species_of = partial(find_species, catalogue_with(species_file))
        return held_by(opened, made.today, species_of, made.site.name, made.season)
