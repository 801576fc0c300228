"""``chillplan season``: this winter so far, and what to do about each sowing."""

from __future__ import annotations

import sys
from dataclasses import dataclass
from datetime import date, timedelta
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from chillplan.cli import options as opt
from chillplan.cli.catalogue_files import Wanted
from chillplan.cli.journal_options import JournalOption
from chillplan.cli.place import PlaceOptions
from chillplan.cli.planning import Asked
from chillplan.cli.streams import print_json

if TYPE_CHECKING:
    from chillplan.advice.season_advice import SowingOutlook
    from chillplan.advice.season_ensemble import SeasonEnsemble
    from chillplan.cli.loading import Loaded
    from chillplan.errors import Problems
    from chillplan.report.reader import Reader
    from chillplan.seeds.recipe import Recipe, Species

__all__ = ["register"]

BEFORE = timedelta(days=365)
"""Seed sown in the season before this one is followed too."""
STALE = 3
"""Days by which a record may lag behind before it is said. Our choice. [day]"""


@dataclass(frozen=True)
class Sown:
    """A sowing that is asked about."""

    species: Species
    recipe: Recipe
    sown: date
    label: str


def register(app: typer.Typer) -> None:
    """Add the command."""
    app.command("season", short_help="This winter so far, and what to do about each sowing.")(season)


ASKED = opt.Only("species", "list_file", "species_file", "years", "today", "accept", "units", "format", "dates")


@opt.grouped
def season(
    *,
    context: typer.Context,
    place: PlaceOptions,
    asked: Annotated[Asked, ASKED],
    sown: Annotated[
        str | None,
        typer.Option("--sown", help="When the species were sown, in this season or the last; else 1 November/May."),
    ] = None,
    journal: JournalOption = None,
) -> None:
    """Tell how this winter is doing: when each outdoor sowing completes its chill, how likely, and what to do by when.

    The record must hold this winter's days as well as past winters. Sowings come from --species or, without it, from
    the journal. With no site and no weather the embedded demo answers, on 1 February 2026; its weather is invented.

    Example: chillplan season --site hill.toml --weather record.csv --species "smooth blackhaw" --sown 2026-10-20
    """
    from chillplan.advice.season_advice import sowing_outlook
    from chillplan.advice.season_ensemble import ensemble_of
    from chillplan.cli import values
    from chillplan.cli.home import place_at_home, reading_at_home
    from chillplan.cli.loading import load
    from chillplan.errors import Problems
    from chillplan.report.reader import reader_for
    from chillplan.seasons.cut import season_start
    from chillplan.seasons.forecast import season_so_far

    place = place_at_home(place)
    units, dates = reading_at_home(place, asked.units, asked.dates, context)
    problems = Problems()
    usual = date(2026, 2, 1) if place.says_nothing else date.today()
    now = values.day(problems, "--today", asked.today) or usual
    window = values.year_range(problems, "--years", asked.years)
    wanted = values.number(problems, "--accept", asked.accept, 0.5, 1.0) or 0.8
    sown_on = values.day(problems, "--sown", sown)
    values.choice(problems, "--units", units, ("metric", "us"))
    values.choice(problems, "--format", asked.format, ("table", "json", "csv"))
    if dates is not None:
        values.choice(problems, "--dates", dates, ("iso", "dmy", "mdy"))
    loaded = load(place, window, problems)
    so_far = season_so_far(loaded.history.daily, loaded.site.southern, now)
    sowings = _sowings(asked, sown_on, journal, loaded, so_far.year, problems)
    _tell_if_stale(so_far.last_day, now)
    before = any(one.sown < season_start(so_far.year, loaded.site.southern) for one in sowings)
    ensemble = ensemble_of(loaded.seasons, so_far, loaded.site, today=now, before=before)
    found = [sowing_outlook(ensemble, one.species, one.recipe, one.sown, one.label, wanted) for one in sowings]
    _answer(loaded, ensemble, found, asked.format, reader_for(units, dates))


def _tell_if_stale(last_day: date, today: date) -> None:
    from chillplan.cli.loading import tell

    behind = (today - last_day).days - 1
    if behind > STALE:
        tell(f"the record ends {last_day}, {behind} days ago: the days since are lent by past winters; renew it")


def _sowings(
    wanted: Wanted, sown_on: date | None, journal: Path | None, loaded: Loaded, year: int, problems: Problems
) -> list[Sown]:
    """The sowings to follow: by option, or this season's of the journal, or those of the demo."""
    from chillplan.advice.held import seed_of
    from chillplan.cli.catalogue_files import chosen_seed
    from chillplan.cli.loading import DEMO_LIST
    from chillplan.data_files import data_path
    from chillplan.seasons.cut import season_start

    begin = season_start(year, loaded.site.southern)
    if not wanted.species and wanted.list_file is None and not loaded.demo:
        problems.raise_if_any()
        return _from_journal(journal, wanted.species_file, begin, loaded.site.name)
    default = data_path(DEMO_LIST) if loaded.demo else None
    chosen, lots = chosen_seed(wanted, problems, default)
    day = sown_on or date(begin.year, begin.month + 3, 1)
    if not begin - BEFORE <= day < begin + timedelta(days=365):
        problems.add(
            f"--sown {day} is outside this season, which began on {begin}, and the one before: give a date within them"
        )
    problems.raise_if_any()
    return [Sown(one, one.recipe, day, "; ".join((one.name, *lot.said))) for one, lot in seed_of(chosen, lots)]


def _from_journal(journal: Path | None, species_file: Path | None, begin: date, site: str) -> list[Sown]:
    """Sowings of unchilled seed in this season and the one before that are not up yet, with what was learned there."""
    from chillplan.cli.catalogue_files import catalogue_with
    from chillplan.cli.journal_options import journal_path, read_only
    from chillplan.cli.learned_plan import with_learned
    from chillplan.cli.loading import tell
    from chillplan.errors import InputError
    from chillplan.journal.find import list_sowings
    from chillplan.seeds.catalogue import find_species

    with read_only(journal) as opened:
        everything = [one for one in list_sowings(opened) if one.batch is None]
    sowings = [one for one in everything if one.sown_on >= begin - (timedelta(0) if one.emerged else BEFORE)]
    for one in everything:
        if begin - 2 * BEFORE <= one.sown_on < begin - BEFORE and not one.emerged:
            tell(f"{one.code} {one.species} was sown {one.sown_on}, two seasons ago: it is not followed any more")
    if not sowings:
        raise InputError(
            f"the journal holds no sowing of unchilled seed since {begin - BEFORE}: name species with --species and "
            "--sown, or record it with `chillplan batch sow`"
        )
    catalogue = catalogue_with(species_file)
    known = [find_species(catalogue, one.species) for one in sowings]
    taught, used = with_learned(known, journal_path(journal), site)
    return [
        Sown(species, species.recipe, one.sown_on, _label(one.code, species.name, species.name in used))
        for one, species in zip(sowings, taught, strict=True)
    ]


def _label(code: str, species: str, learned: bool) -> str:
    return f"{code} {species}, as learned here" if learned else f"{code} {species}"


def _answer(loaded: Loaded, ensemble: SeasonEnsemble, found: list[SowingOutlook], output: str, reader: Reader) -> None:
    from chillplan.cli import season_show
    from chillplan.cli.loading import tell_if_invented
    from chillplan.report.record import source_of

    source = source_of(loaded.history, loaded.site)
    if output == "json":
        print_json(season_show.season_json(loaded, source, ensemble, found))
    elif output == "csv":
        tell_if_invented(loaded)
        sys.stdout.write(season_show.season_csv(found))
    else:
        season_show.print_season(loaded, source, ensemble, found, reader)
