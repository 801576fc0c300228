"""``chillplan batch sow``, ``count`` and ``learn``: seed in the ground, what came up, and what that teaches."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from typing import TYPE_CHECKING, Annotated

import typer

from chillplan.cli import options as opt
from chillplan.cli.journal_options import JOURNAL, Entry, day_option
from chillplan.cli.place import PlaceOptions
from chillplan.errors import counted

if TYPE_CHECKING:
    from chillplan.cli.loading import Loaded
    from chillplan.journal.outcomes import Outcome
    from chillplan.journal.store import Journal
    from chillplan.seeds.learning import Learned, Lesson, RequirementGrid, Trial
    from chillplan.seeds.recipe import Species
    from chillplan.seeds.two_winters import TwoWinters

__all__ = ["count", "learn_", "sow"]


@dataclass(frozen=True)
class Ground:
    """What a grower says of seed that goes into the ground."""

    species: Annotated[str | None, typer.Option("--species", help="Sown without a batch: which species.")] = None
    seeds: Annotated[int | None, typer.Option("--seeds", help="Number sown; else all of the batch.")] = None
    site: Annotated[str, typer.Option("--site", help="Name of the site, or its TOML file.")] = ""
    depth: Annotated[float | None, typer.Option("--depth", help="Sowing depth, cm.")] = None
    viability: Annotated[float | None, typer.Option("--viability", help="Share alive, 0 to 1.")] = None
    expect_up: Annotated[
        str | None, typer.Option("--expect-up", help="From when seedlings are to be counted; `due` reminds you.")
    ] = None


@opt.grouped
def sow(
    *,
    batch: Annotated[str | None, typer.Argument(help="Batch it comes from.", metavar="[BATCH]")] = None,
    said: Ground,
    entry: Entry,
    species_file: opt.SpeciesFileOption = None,
) -> None:
    """Record a sowing outdoors, from a batch or straight from the packet.

    Examples: chillplan batch sow B12 --site hill.toml; chillplan batch sow --species pawpaw --seeds 60
    """
    from chillplan.cli.batch_words import named_batch
    from chillplan.cli.catalogue_files import catalogue_with
    from chillplan.errors import InputError
    from chillplan.journal.entries import add_sowing
    from chillplan.journal.find import find_batch
    from chillplan.journal.records import SowingEntry
    from chillplan.seeds.catalogue import find_species

    if (batch is None) == (said.species is None):
        raise InputError("say what was sown: a batch such as B12, or --species with --seeds")
    name = "" if said.species is None else find_species(catalogue_with(species_file), said.species).name
    with entry.opened(create=batch is None) as opened:
        source = None if batch is None else find_batch(opened, named_batch(opened, batch))
        number = said.seeds if said.seeds is not None else (source.seeds if source else None)
        if number is None:
            raise InputError("the number of seeds is not known: pass --seeds")
        sown = SowingEntry(
            entry.day or entry.now.date(),
            number,
            batch=source.number if source else None,
            species=name,
            site=_site_name(said.site),
            viability=said.viability,
            depth_cm=said.depth,
            expected_on=day_option("--expect-up", said.expect_up),
            note=entry.note,
        )
        made = add_sowing(opened, sown, entry.now)
    print(f"S{made} {source.species if source else name}: {counted(number, 'seed')} sown {sown.sown_on}")
    if sown.expected_on is None:
        print("Pass --expect-up DATE next time to be reminded to count.")


def _site_name(text: str) -> str:
    """The name in a site file, or the text itself."""
    from pathlib import Path

    from chillplan.site import read_site

    return read_site(Path(text)).name if text.lower().endswith(".toml") else text


@opt.grouped
def count(
    *,
    sowing: Annotated[str, typer.Argument(help="S3 or 3.")],
    emerged: Annotated[int, typer.Argument(help="Seedlings standing alive.")],
    entry: Entry,
) -> None:
    """Record how many seedlings of a sowing stand.

    Example: chillplan batch count S3 41
    """
    from chillplan.journal.entries import add_count
    from chillplan.journal.find import find_sowing

    with entry.opened() as opened:
        add_count(opened, sowing, emerged, entry.now, entry.day, entry.note)
        found = find_sowing(opened, sowing)
    print(f"{found.code} {found.species}: {emerged} of {found.seeds} up ({emerged / found.seeds:.0%})")


EARLY = 0.1  # of the seed expected by the day of the count; below, a count says little. Our choice. [-]
TOO_EARLY = ": too early to count, most is still to come; count again later"
ASSUMED = (
    "Priors: the published range; an error of the seed-zone estimate of 1.1 °C (standard deviation); seven in ten "
    "satisfied seeds standing at the count (common practice, no source). The spread between lots is assumed."
)


LEARNED_AT = opt.Only(but=("slope", "aspect", "cover", "depth", "terrain", "between_cells", "offline", "refresh"))


@opt.grouped
def learn_(
    *,
    place: Annotated[PlaceOptions, LEARNED_AT],
    species_file: opt.SpeciesFileOption = None,
    entry: Annotated[Entry, JOURNAL],
) -> None:
    """Compare the counts of a site with what was expected, and update what its species need.

    The record must cover the seasons of the sowings. `chillplan plan --journal FILE` then plans with what was learned.

    Example: chillplan batch learn --site hill.toml --weather record.csv
    """
    from chillplan.cli.catalogue_files import catalogue_with
    from chillplan.cli.loading import load
    from chillplan.errors import InputError, Problems
    from chillplan.journal.outcomes import outcomes_of

    if place.says_nothing:
        raise InputError("learning needs the site and its weather: pass --site and --weather")
    loaded = load(place, None, Problems())
    with entry.opened() as opened:
        outcomes = outcomes_of(opened, loaded.site.name)
        if not outcomes:
            raise InputError(
                f"the journal holds no counted sowing at '{loaded.site.name}': enter one with `chillplan batch count`"
            )
        _compare(opened, loaded, catalogue_with(species_file), outcomes, entry.now)


def _compare(
    journal: Journal, loaded: Loaded, catalogue: tuple[Species, ...], outcomes: list[Outcome], now: datetime
) -> None:
    from chillplan.journal.outcomes import record_learned
    from chillplan.seeds.learning import learn

    trials: dict[str, tuple[RequirementGrid, list[Trial]]] = {}
    used: dict[str, list[Outcome]] = {}
    published: dict[str, tuple[float, float]] = {}
    for outcome in outcomes:
        found = _trial(loaded, catalogue, outcome)
        if isinstance(found, str):
            print(f"{outcome.code} {outcome.species}: left out, {found}")
            continue
        days, grid, trial = found
        trials.setdefault(outcome.species, (grid, []))[1].append(trial)
        used.setdefault(outcome.species, []).append(outcome)
        published[outcome.species] = days
    if not trials:
        print("Nothing can be learned from these counts.")
        return
    learned = learn(trials)
    record_learned(journal, loaded.site.name, learned, published, used, now)
    _print(loaded, learned, published, used)


def _trial(
    loaded: Loaded, catalogue: tuple[Species, ...], outcome: Outcome
) -> tuple[tuple[float, float], RequirementGrid, Trial] | str:
    """What one sowing can teach, or why it cannot."""
    from chillplan.errors import ChillplanError
    from chillplan.seasons.cut import season_of, season_start
    from chillplan.seeds.catalogue import find_species
    from chillplan.seeds.learning import Trial, expected_shares, requirement_grid
    from chillplan.seeds.requirement import lot_span

    southern = loaded.site.southern
    try:
        species = find_species(catalogue, outcome.species)
        phases = species.recipe.phases
        if not phases or phases[-1].kind != "cold":
            return "its recipe does not end with a cold phase"
        if outcome.credit and outcome.kinds != tuple(phase.kind for phase in phases):
            return "its batch was not treated in the species' usual way"
        if species.hard_coat and not outcome.coat_done:
            return "its hard coat was not opened"
        begin = season_start(season_of(outcome.sown_on, southern), southern)
        start, seen = (outcome.sown_on - begin).days, (outcome.counted_on - begin).days
        if seen >= 365:
            return "it was counted after the end of its first season, which is not followed"
        winter = _winter(loaded, outcome.counted_on + timedelta(days=1))
    except ChillplanError as error:
        return str(error)
    grid = requirement_grid(*lot_span(phases[-1]))
    shares = expected_shares(
        winter, phases, species.germination, grid, start, seen, species.seedling_limit, outcome.credit
    )
    return grid.published, grid, Trial(outcome.alive, outcome.emerged, shares)


def _winter(loaded: Loaded, after: date) -> TwoWinters:
    """The season as it was up to a day; what follows is lent by one other season and not looked at."""
    from chillplan.errors import DataGapError
    from chillplan.seasons.forecast import only, season_so_far, spliced, without
    from chillplan.seasons.summary import ground_of
    from chillplan.seeds.two_winters import two_winters

    so_far = season_so_far(loaded.history.daily, loaded.site.southern, after)
    if so_far.last_day + timedelta(days=1) < after:
        raise DataGapError(f"the record knows the season up to {so_far.last_day} only, before the count")
    past = without(loaded.seasons, so_far.year)
    joined = only(spliced(past, so_far), 0)
    return two_winters(joined, ground_of(joined, loaded.site))


def _print(
    loaded: Loaded, learned: Learned, published: Mapping[str, tuple[float, float]], used: Mapping[str, list[Outcome]]
) -> None:
    for name, lesson in learned.lessons.items():
        print(name)
        for outcome, expected in zip(used[name], lesson.expected, strict=True):
            share = outcome.emerged / outcome.alive
            print(
                f"  {outcome.code} sown {outcome.sown_on}: {outcome.emerged} of {outcome.alive} up ({share:.0%}), "
                f"expected {expected:.0%}{TOO_EARLY if expected < EARLY else ''}"
            )
        low, high = published[name]
        book = f"{low:.0f} to {high:.0f} days by the species book"
        print(f"  cold needed: {book}, {lesson.low:.0f} to {lesson.high:.0f} learned here")
        print(f"  of the seed that had its cold about {lesson.kept:.0%} stood; 70% is usual")
        print(f"  {_told(lesson)}")
    print(f"{loaded.site.name}: {_site_words(learned.offset, learned.offset_deviation)}")
    print(ASSUMED)


def _site_words(offset: float, deviation: float) -> str:
    offset = round(offset, 1) + 0.0  # no minus before a zero
    if abs(offset) < deviation:
        said = f"the counts do not show whether the ground is warmer or colder than modelled ({offset:+.1f} °C"
    else:
        said = f"the ground is likely {'warmer' if offset > 0 else 'colder'} than modelled ({offset:+.1f} °C"
    return (
        f"{said}, standard deviation {deviation:.1f} °C); a thermometer record with `chillplan soilcheck` settles it."
    )


def _told(lesson: Lesson) -> str:
    gained = f"the counts took away {lesson.certainty_gained:.0%} of the doubt about the middle of the lot"
    if lesson.told_apart:
        return f"{gained}."
    return (
        f"{gained}, but cannot tell a different requirement from an error of the site: sow several species "
        "or winters, or seed chilled at a measured temperature."
    )
