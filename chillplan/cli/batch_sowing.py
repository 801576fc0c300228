"""``chillplan batch sow`` and ``count``: seed in the ground and what came up."""

from __future__ import annotations

from typing import Annotated

import typer

from chillplan.cli.journal_options import DateOption, JournalOption, NoteOption, clock, day_option, past_day, writable
from chillplan.cli.options import SpeciesFileOption, TodayOption

__all__ = ["count", "sow"]


def sow(
    batch: Annotated[str | None, typer.Argument(help="Batch it comes from.", metavar="[BATCH]")] = None,
    species: Annotated[str | None, typer.Option("--species", help="Sown without a batch: which species.")] = None,
    seeds: Annotated[int | None, typer.Option("--seeds", help="Number sown; else all of the batch.")] = None,
    site: Annotated[str, typer.Option("--site", help="Name of the site, or its TOML file.")] = "",
    depth: Annotated[float | None, typer.Option("--depth", help="Sowing depth, cm.")] = None,
    viability: Annotated[float | None, typer.Option("--viability", help="Share alive, 0 to 1.")] = None,
    expect_up: Annotated[
        str | None, typer.Option("--expect-up", help="From when seedlings are to be counted; `due` reminds you.")
    ] = None,
    note: NoteOption = "",
    date: DateOption = None,
    species_file: SpeciesFileOption = None,
    journal: JournalOption = None,
    today: TodayOption = None,
) -> None:
    """Record a sowing outdoors, from a batch or straight from the packet.

    Examples: chillplan batch sow B12 --site hill.toml; chillplan batch sow --species pawpaw --seeds 60
    """
    from chillplan.cli.batch_names import named_batch
    from chillplan.cli.catalogue_files import catalogue_with
    from chillplan.errors import InputError
    from chillplan.journal.entries import add_sowing
    from chillplan.journal.find import find_batch
    from chillplan.journal.records import SowingEntry
    from chillplan.seeds.catalogue import find_species

    now = clock(today)
    if (batch is None) == (species is None):
        raise InputError("say what was sown: a batch such as B12, or --species with --seeds")
    name = "" if species is None else find_species(catalogue_with(species_file), species).name
    with writable(journal, now.date(), create=batch is None) as opened:
        source = None if batch is None else find_batch(opened, named_batch(opened, batch))
        number = seeds if seeds is not None else (source.seeds if source else None)
        if number is None:
            raise InputError("the number of seeds is not known: pass --seeds")
        entry = SowingEntry(
            past_day("--date", date, now) or now.date(),
            number,
            batch=source.number if source else None,
            species=name,
            site=_site_name(site),
            viability=viability,
            depth_cm=depth,
            expected_on=day_option("--expect-up", expect_up),
            note=note,
        )
        made = add_sowing(opened, entry, now)
    print(f"S{made} {source.species if source else name}: {number} seeds sown {entry.sown_on}")
    if entry.expected_on is None:
        print("Pass --expect-up DATE next time to be reminded to count.")


def _site_name(text: str) -> str:
    """The name in a site file, or the text itself."""
    from pathlib import Path

    from chillplan.site import read_site

    return read_site(Path(text)).name if text.lower().endswith(".toml") else text


def count(
    sowing: Annotated[str, typer.Argument(help="S3 or 3.")],
    emerged: Annotated[int, typer.Argument(help="Seedlings standing alive.")],
    note: NoteOption = "",
    date: DateOption = None,
    journal: JournalOption = None,
    today: TodayOption = None,
) -> None:
    """Record how many seedlings of a sowing stand.

    Example: chillplan batch count S3 41
    """
    from chillplan.journal.entries import add_count
    from chillplan.journal.find import find_sowing

    now = clock(today)
    with writable(journal, now.date()) as opened:
        add_count(opened, sowing, emerged, now, past_day("--date", date, now), note)
        found = find_sowing(opened, sowing)
    print(f"{found.code} {found.species}: {emerged} of {found.seeds} up ({emerged / found.seeds:.0%})")
