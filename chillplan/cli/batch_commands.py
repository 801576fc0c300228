"""``chillplan batch``: the journal of batches, sowings and what came of them."""

from __future__ import annotations

from dataclasses import dataclass, replace
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from chillplan.cli import batch_show, batch_sowing
from chillplan.cli.batch_words import Measured, entered_readings, looks_of, named_batch, on_every_day, place_of
from chillplan.cli.journal_options import (
    JOURNAL,
    UNNOTED,
    Entry,
    JournalOption,
    day_option,
    past_day,
    read_only,
)
from chillplan.cli.options import PlantOutOption, SpeciesFileOption, grouped

if TYPE_CHECKING:
    from datetime import date

    from chillplan.journal.records import BatchStart
    from chillplan.seeds.recipe import Recipe, Species
from chillplan.errors import counted

__all__ = ["register"]

FrostFreeOption = Annotated[
    str | None, typer.Option("--frost-free", help="Day after which killing frost is unlikely, YYYY-MM-DD.")
]
SHORT = {
    "start": "Seed goes into treatment by its recipe.",
    "check": "Record a look, and hear what to do about it.",
    "reading": "Record a temperature, or a logger's file.",
    "next": "Move a batch on to its next phase.",
    "close": "Close a batch; it is no longer due.",
    "list": "List batches and sowings, or show one in full.",
    "due": "What needs doing today and this week.",
    "history": "The last entries, those taken back too.",
    "undo": "Take back the last entry.",
    "sow": "Record a sowing outdoors.",
    "count": "Record how many seedlings of a sowing stand.",
    "learn": "Learn from the counts of a site.",
    "export": "Write the whole journal as JSON or CSV.",
    "import": "Take what was entered on the page, or an export.",
}
"""What the list of commands says of each."""
BatchArgument = Annotated[
    str, typer.Argument(help="B12, 12, the batch's label, or a name that fits one batch.", metavar="BATCH")
]


def register(app: typer.Typer) -> None:
    """Add the commands."""
    batch = typer.Typer(no_args_is_help=True, rich_markup_mode=None)
    for name, command in (
        ("start", start),
        ("check", check),
        ("reading", reading),
        ("next", next_),
        ("close", close),
        ("list", batch_show.list_),
        ("due", batch_show.due),
        ("history", batch_show.history),
        ("undo", undo),
        ("sow", batch_sowing.sow),
        ("count", batch_sowing.count),
        ("learn", batch_sowing.learn_),
        ("export", export),
        ("import", import_),
    ):
        # A reading below zero looks like an option; it must reach the argument.
        settings = {"ignore_unknown_options": True} if name == "reading" else {}
        batch.command(name, context_settings=settings, short_help=SHORT[name])(command)
    app.add_typer(
        batch,
        name="batch",
        short_help="The journal of what is in the cold.",
        help="The journal: batches under treatment, checks, readings, sowings, counts.",
    )
    app.command("due", short_help="What needs doing today and this week.")(batch_show.due)


@dataclass(frozen=True)
class Beginning:
    """What a grower says of a batch that begins."""

    label: Annotated[str, typer.Option("--label", help="Your own name for the batch.")] = ""
    place: Annotated[str, typer.Option("--place", help="Where it lies; readings belong to the place.")] = "fridge"
    set_temperature: Annotated[
        float | None, typer.Option("--set", help="What the place is set to, °C; else as it was last, or 4.")
    ] = None
    seeds: Annotated[int | None, typer.Option("--seeds", help="Number of seeds.")] = None
    source: Annotated[str, typer.Option("--source", help="Where the seed came from.")] = ""
    year: Annotated[int | None, typer.Option("--year", help="Year of harvest.")] = None
    way: Annotated[str | None, typer.Option("--way", help="Which way of the species, by its label.")] = None
    no_coat: Annotated[bool, typer.Option("--no-coat", help="The coat treatment was not given.")] = False
    every: Annotated[int, typer.Option("--every", help="Days between looks.")] = 7
    frost_free: FrostFreeOption = None
    plant_out: PlantOutOption = None


@grouped
def start(
    *,
    species: Annotated[str, typer.Argument(help="Scientific or common name.")],
    said: Beginning,
    entry: Entry,
    species_file: SpeciesFileOption = None,
) -> None:
    """Begin a batch: seed goes into moist cold or warmth by the species' recipe.

    Example: chillplan batch start pawpaw --seeds 200 --place "cool box" --plant-out 2027-05-10
    """
    from chillplan.advice.care import start_notes
    from chillplan.advice.wording import FOR_ALL, cautions_for
    from chillplan.cli.catalogue_files import catalogue_with
    from chillplan.journal.entries import start_batch
    from chillplan.journal.find import setting_of
    from chillplan.seeds.catalogue import find_species

    now = entry.now
    begun = entry.day or now.date()
    known = find_species(catalogue_with(species_file), species)
    recipe = _way(known.recipes, known.name, said.way)
    batch = _as_said(said, known, recipe, begun, entry.note)
    batch.problems(now.date()).raise_if_any()
    with entry.opened(create=True) as opened:
        held = said.set_temperature if said.set_temperature is not None else setting_of(opened, said.place)
        if held is not None:
            batch = replace(batch, set_temperature=held)
        number = start_batch(opened, batch, now)
        print(f"B{number} {known.name} begun {begun} in {said.place} at {batch.set_temperature:g} °C")
        batch_show.print_steps(opened, number)
    if known.hard_coat and said.no_coat:
        print("Its coat keeps water out: without scarifying or hot water most of it stays dormant.")
    for note in start_notes(recipe, batch.set_temperature, begun, batch.plant_out, known.germination.base_temperature):
        print(note)
    for caution in cautions_for(known, recipe):
        if caution not in FOR_ALL:
            print(f"Caution: {caution}")


def _as_said(said: Beginning, species: Species, recipe: Recipe, begun: date, note: str) -> BatchStart:
    """The batch as the journal takes it."""
    from chillplan.journal.records import BatchStart, treatments_of

    return BatchStart(
        species.name,
        begun,
        treatments_of(recipe, begun, not said.no_coat),
        source=said.source,
        year=said.year,
        label=said.label,
        place=said.place,
        seeds=said.seeds,
        plant_out=day_option("--plant-out", said.plant_out),
        frost_free=day_option("--frost-free", said.frost_free),
        check_every=said.every,
        note=note,
    )


def _way(recipes: tuple[Recipe, ...], species: str, label: str | None) -> Recipe:
    from chillplan.errors import InputError, quoted

    if label is None:
        return recipes[0]
    found = [recipe for recipe in recipes if recipe.label == label]
    if not found:
        known = ", ".join(quoted(recipe.label) for recipe in recipes)
        raise InputError(f"way {quoted(label)} is not known for {species}: use one of {known}")
    return found[0]


@grouped
def check(
    *,
    words: Annotated[
        list[str], typer.Argument(help="Batches, then fine, dry, mould or sprouted 7.", metavar="BATCH FINDING")
    ],
    stage: Annotated[str, typer.Option("--stage", help="Sprouts: root tip, root or shoot.")] = "",
    frost_free: FrostFreeOption = None,
    entry: Entry,
) -> None:
    """Record a look at one batch or all of them, and say what to do about what was found.

    Examples: chillplan batch check B12 sprouted 7; chillplan batch check all fine except plum mould, B4 dry
    """
    from chillplan.journal.entries import add_checks

    safe = day_option("--frost-free", frost_free)
    with entry.opened() as opened:
        looks = looks_of(opened, words, stage)
        for found in add_checks(opened, looks, entry.now, entry.note, entry.day, safe):
            batch_show.print_after_check(opened, found, entry.now.date())


@grouped
def reading(
    *,
    subject: Annotated[str, typer.Argument(help="A batch, or the place it lies in.", metavar="BATCH|PLACE")],
    temperature: Annotated[float | None, typer.Argument(help="What the thermometer shows.")] = None,
    said: Measured,
    entry: Annotated[Entry, JOURNAL],
) -> None:
    """Record what a thermometer or a logger measured beside the seed, and what warm or frozen days cost.

    Examples: chillplan batch reading B12 4.5; chillplan batch reading "cool box" --logger february.csv
    """
    from chillplan.journal.entries import add_readings

    now = entry.now
    entered = entered_readings(temperature, said, now)
    if said.first is not None:
        until = past_day("--to", said.last, now) or now.date()
        entered = on_every_day(entered, past_day("--from", said.first, now) or until, until, now)
    with entry.opened() as opened:
        place = place_of(opened, subject)
        added = add_readings(opened, place, entered.readings, now)
        print(f"{place}: {counted(added.new, 'reading')} recorded, {added.known} there already")
        if temperature is not None and said.unit is None:
            batch_show.print_if_far(opened, place, temperature)
        for note in entered.notes:
            print(f"  {note}")
        batch_show.print_place(opened, place, now.date())


@grouped
def next_(
    *,
    batch: BatchArgument,
    place: Annotated[str | None, typer.Option("--place", help="Where it lies from now on; else where it lay.")] = None,
    set_temperature: Annotated[float | None, typer.Option("--set", help="What that place is set to, °C.")] = None,
    entry: Annotated[Entry, UNNOTED],
) -> None:
    """Move a batch on to its next phase: from warm to cold, or from cold to warm.

    Example: chillplan batch next B12 --place fridge --set 4
    """
    from chillplan.journal.entries import next_phase

    with entry.opened() as opened:
        batch = named_batch(opened, batch)
        short = batch_show.short_words(opened, batch, entry.now.date())
        begun = next_phase(opened, batch, entry.now, entry.day, place, set_temperature)
        print(f"{batch}: {begun} has begun" if begun else f"{batch}: the last phase is over; sow it, or close it")
        if short:
            print(f"  {short}")
        if begun:
            batch_show.print_if_unsuited(opened, batch, entry.now.date())


@grouped
def close(
    *,
    batch: BatchArgument,
    outcome: Annotated[str, typer.Argument(help="In your words: planted out, lost to mould, given away …")],
    entry: Annotated[Entry, UNNOTED],
) -> None:
    """Close a batch; it is no longer due.

    Example: chillplan batch close B12 "planted out"
    """
    from chillplan.journal.entries import close_batch

    with entry.opened() as opened:
        number = close_batch(opened, named_batch(opened, batch), outcome, entry.now, entry.day)
    print(f"B{number} closed: {outcome}")


@grouped
def undo(*, entry: Annotated[Entry, JOURNAL]) -> None:
    """Take back the last entry; the history keeps both.

    Example: chillplan batch undo
    """
    from chillplan.journal.store import undo_last

    with entry.opened() as opened:
        print(f"taken back: {undo_last(opened, entry.now)}")


def export(
    output: Annotated[str, typer.Option("--format", help="json or csv.")] = "json",
    out: Annotated[Path | None, typer.Option("--out", help="File (json) or new folder (csv).")] = None,
    journal: JournalOption = None,
) -> None:
    """Write the whole journal, history included, as JSON or as a folder of CSV files.

    Examples: chillplan batch export --out journal.json; chillplan batch export --format csv --out journal-2027
    """
    from chillplan.errors import InputError, quoted
    from chillplan.journal.exchange import export_csv, export_json

    if output not in {"json", "csv"}:
        raise InputError(f"--format {quoted(output)} is not known: use json or csv")
    if output == "csv" and out is None:
        raise InputError("CSV needs a folder: pass --out with the name of a new folder")
    with read_only(journal) as opened:
        if output == "csv" and out is not None:
            for path in export_csv(opened, out):
                print(path)
            return
        text = export_json(opened)
    if out is None:
        print(text)
        return
    try:
        with out.open("x", encoding="utf-8") as file:
            file.write(text)
    except FileExistsError as error:
        raise InputError(f"{quoted(out)} is there already: give a new file name") from error
    except OSError as error:
        raise InputError(f"{quoted(out)} cannot be written: {error.strerror}; pass another --out") from error
    print(out)


@grouped
def import_(
    *,
    source: Annotated[Path, typer.Argument(help="A file of the page, or an export: a JSON file or a folder of CSV.")],
    species_file: SpeciesFileOption = None,
    entry: Annotated[Entry, JOURNAL],
) -> None:
    """Take what was entered on the page, each entry once; or make a new journal from an export.

    Entries that do not fit what the journal says are named and stay in the file. An export goes into a new journal
    only.

    Examples: chillplan batch import chillplan-2026-hill.json; chillplan batch import journal.json --journal restored.db
    """
    from chillplan.cli.journal_options import journal_path
    from chillplan.cli.lots_back import bring_file_back
    from chillplan.journal.exchange import import_journal
    from chillplan.web.page_file import read_page_file

    page = read_page_file(source)
    if page is not None:
        bring_file_back(page, species_file, entry.journal, entry.now)
        return
    path = journal_path(entry.journal)
    taken = import_journal(path, source, entry.now.date())
    told = ", ".join(f"{count} {table}" for table, count in taken.items() if count and table != "counters")
    print(f"{path}: {told or 'nothing to take over'}")
