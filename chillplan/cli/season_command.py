"""``chillplan season``: this winter so far, and what to do about each sowing."""

from __future__ import annotations

import sys
from dataclasses import dataclass, replace
from datetime import date, timedelta
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from chillplan.cli import options as opt
from chillplan.cli.catalogue_files import Wanted
from chillplan.cli.journal_options import JournalOption
from chillplan.cli.place import PlaceOptions
from chillplan.cli.planning import Asked, checked
from chillplan.cli.streams import print_json

if TYPE_CHECKING:
    from chillplan.advice.season_advice import SowingOutlook
    from chillplan.advice.season_ensemble import SeasonEnsemble
    from chillplan.cli.loading import Loaded
    from chillplan.errors import Problems
    from chillplan.lot import Lot
    from chillplan.report.reader import Reader
    from chillplan.seeds.recipe import Recipe, Species

__all__ = ["register"]

BEFORE = timedelta(days=365)
SEASONS_BEFORE = 2
"""Seed sown in so many seasons before this one is followed too: in this one it is in its third spring. [season]"""
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
        typer.Option("--sown", help="When the seed was sown, in this season or the two before; else 1 November/May."),
    ] = None,
    journal: JournalOption = None,
) -> None:
    """Tell how this winter is doing: when each outdoor sowing completes its chill, how likely, and what to do by when.

    The record must hold this winter's days as well as past winters. Sowings come from --species or --list, else from
    the journal, each by the state of its lot as the site's lots file has it; where no sowing is recorded, or with
    --sown alone, the lots of that file are followed. With no site and no weather the embedded demo answers, on
    1 February 2026; its weather is invented.

    Example: chillplan season --site hill.toml --weather record.csv --species "smooth blackhaw" --sown 2026-10-20
    """
    from chillplan.advice.season_advice import sowing_outlook
    from chillplan.advice.season_ensemble import ensemble_of
    from chillplan.cli import values
    from chillplan.cli.home import lots_at_home, place_at_home, reading_at_home
    from chillplan.cli.loading import load
    from chillplan.errors import Problems
    from chillplan.report.reader import reader_for
    from chillplan.seasons.cut import season_start
    from chillplan.seasons.forecast import season_so_far

    place = place_at_home(place)
    units, dates = reading_at_home(place, asked.units, asked.dates, context)
    problems = Problems()
    said = checked(replace(asked, units=units, dates=dates), problems)
    now = said.today or (date(2026, 2, 1) if place.says_nothing else date.today())
    sown_on = values.day(problems, "--sown", sown)
    loaded = load(place, said.years, problems)
    so_far = season_so_far(loaded.history.daily, loaded.site.southern, now)
    sowings = _sowings(asked, lots_at_home(place), sown_on, journal, loaded, so_far.year, problems)
    _tell_if_stale(so_far.last_day, now)
    begin = season_start(so_far.year, loaded.site.southern)
    before = max((-((one.sown - begin) // BEFORE) for one in sowings), default=0)
    ensemble = ensemble_of(loaded.seasons, so_far, loaded.site, today=now, before=max(before, 0))
    found = [sowing_outlook(ensemble, one.species, one.recipe, one.sown, one.label, said.accept) for one in sowings]
    _answer(loaded, ensemble, found, asked.format, reader_for(units, dates))


def _tell_if_stale(last_day: date, today: date) -> None:
    from chillplan.cli.loading import tell

    behind = (today - last_day).days - 1
    if behind > STALE:
        tell(f"the record ends {last_day}, {behind} days ago: the days since are lent by past winters; renew it")


def _sowings(
    wanted: Wanted,
    kept: Path | None,
    sown_on: date | None,
    journal: Path | None,
    loaded: Loaded,
    year: int,
    problems: Problems,
) -> list[Sown]:
    """The sowings to follow: by option, or those of the journal as the lots they were of, or the demo's.

    Parameters
    ----------
    kept : pathlib.Path or None
        The lots file of the site.
    """
    from chillplan.advice.seed_lots import seed_of
    from chillplan.cli.catalogue_files import chosen_seed
    from chillplan.cli.loading import DEMO_LIST, tell
    from chillplan.data_files import data_path
    from chillplan.lot import COLD_STORE
    from chillplan.seasons.cut import season_start

    begin = season_start(year, loaded.site.southern)
    day = sown_on or date(begin.year, begin.month + 3, 1)
    if not begin - SEASONS_BEFORE * BEFORE <= day < begin + BEFORE:
        problems.add(
            f"--sown {day} is outside this season, which began on {begin}, and the two before: give a date within them"
        )
    own = not (wanted.species or wanted.list_file is not None or loaded.demo)
    if own and kept is None:
        problems.raise_if_any()
        return _from_journal(journal, wanted.species_file, begin, loaded.site.name, ())
    chosen, lots = chosen_seed(wanted, problems, data_path(DEMO_LIST) if loaded.demo else kept)
    problems.raise_if_any()
    if own and sown_on is None:
        found = _from_journal(journal, wanted.species_file, begin, loaded.site.name, lots)
        if found:
            return found
        tell(f"the journal holds no sowing: the lots of {kept} are followed as if sown on {day}")
    return [_sown(one, lot, day) for one, lot in seed_of(chosen, lots) if not own or lot.way != COLD_STORE]


def _sown(species: Species, lot: Lot, day: date, code: str = "", learned: bool = False) -> Sown:
    """A sowing of a lot, called by what is known of it."""
    called = "; ".join((f"{code} {species.name}".strip(), *lot.said))
    return Sown(species, species.recipe, day, f"{called}, as learned here" if learned else called)


def _from_journal(
    journal: Path | None, species_file: Path | None, begin: date, site: str, lots: tuple[Lot, ...]
) -> list[Sown]:
    """Sowings of unchilled seed since two seasons ago that are not up yet, with what was learned there.

    Seed of a lot that is known is followed by the recipe of its state, less the cold that it had.
    """
    from chillplan.advice.seed_lots import seed_of
    from chillplan.cli.catalogue_files import catalogue_with
    from chillplan.cli.journal_options import journal_path, read_only
    from chillplan.cli.kept_plan import with_learned
    from chillplan.errors import InputError
    from chillplan.journal.find import list_sowings
    from chillplan.lot import Lot
    from chillplan.seeds.catalogue import find_species

    if lots and not journal_path(journal).exists():
        return []
    with read_only(journal) as opened:
        everything = [one for one in list_sowings(opened) if one.batch is None]
    sowings = [one for one in everything if one.sown_on >= begin - (SEASONS_BEFORE * BEFORE) * (not one.emerged)]
    if not sowings and not lots:
        raise InputError(
            f"the journal holds no sowing of unchilled seed since {begin - SEASONS_BEFORE * BEFORE}: name species with "
            "--species and --sown, or record it with `chillplan batch sow`"
        )
    catalogue = catalogue_with(species_file)
    known = {one.species: find_species(catalogue, one.species) for one in sowings}
    taught, used = with_learned(tuple(known.values()), journal_path(journal), site)
    species_of = dict(zip(known, taught, strict=True))
    found = []
    for one in sowings:
        species = species_of[one.species]
        own = [lot for lot in lots if lot.species == species.name]
        same = [lot for lot in own if lot.lot == one.lot] if len(own) > 1 else own
        lot = same[0] if len(same) == 1 else Lot(species.name)
        planned = next(each for each, held in seed_of((species,), own or (lot,)) if held is lot) if same else species
        found.append(_sown(planned, lot, one.sown_on, one.code, species.name in used))
    return found


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
