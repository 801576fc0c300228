"""``chillplan species``: the species book."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any, Literal

import typer

from chillplan.cli import options as opt
from chillplan.cli.place import PlaceOptions
from chillplan.cli.planning import Asked, checked
from chillplan.cli.streams import print_json

if TYPE_CHECKING:
    from chillplan.advice.result import SpeciesAdvice
    from chillplan.cli.loading import Loaded
    from chillplan.errors import Problems
    from chillplan.seeds.page import Section
    from chillplan.seeds.recipe import Species

__all__ = ["advices_at", "register"]

NeedOption = Annotated[
    list[str] | None,
    typer.Option("--need", help="nothing, coat, cold, warm, double, light, shoot, sprouts cold or moist; repeatable."),
]
UseOption = Annotated[
    list[str] | None,
    typer.Option("--use", help="For example edible, medicinal, pollinator, hedge, timber; repeatable."),
]
VerdictOption = Annotated[
    list[str] | None, typer.Option("--verdict", help="Only species with this verdict at the site; repeatable.")
]


def register(app: typer.Typer) -> None:
    """Add the commands."""
    species = typer.Typer(no_args_is_help=True, rich_markup_mode=None)
    species.command("list", short_help="List species, by need, use or verdict at your site.")(list_)
    species.command("show", short_help="A species as a page.")(show)
    species.command("check", short_help="Hold your own table to the rules of ours.")(check)
    app.add_typer(
        species,
        name="species",
        short_help="The species book: list, show, check your own table.",
        help="The species book: list it, read a page of it, check your own table.",
    )


@opt.grouped
def list_(
    *,
    need: NeedOption = None,
    use: UseOption = None,
    verdict: VerdictOption = None,
    species_file: opt.SpeciesFileOption = None,
    place: PlaceOptions,
    asked: Annotated[Asked, opt.Only("years", "today", "accept", "format")],
) -> None:
    """List species, all or those with a need, a use or a verdict at your site.

    Example: chillplan species list --need double --use medicinal
    """
    from chillplan.cli import values
    from chillplan.cli.catalogue_files import catalogue_with
    from chillplan.errors import InputError, Problems
    from chillplan.report.tables_lists import LIST_HEADER, list_rows

    problems = Problems()
    values.choice(problems, "--format", asked.format, ("table", "json", "csv"))
    catalogue: tuple[Species, ...] = ()
    try:
        catalogue = catalogue_with(species_file)
    except InputError as error:
        problems.extend(error)
    chosen = _filtered(catalogue, need or (), use or (), verdict or (), problems)
    here = bool(verdict) or not place.says_nothing
    found: dict[str, SpeciesAdvice] = {}
    if here:
        found, _ = advices_at(place, chosen, asked, problems)
        chosen = tuple(each for each in chosen if not verdict or found[each.name].verdict in verdict)
    problems.raise_if_any()
    _print_list(list_rows(chosen, found), LIST_HEADER, here, asked.format)


@opt.grouped
def show(
    *,
    name: Annotated[str, typer.Argument(help="Scientific or common name.")],
    species_file: opt.SpeciesFileOption = None,
    place: PlaceOptions,
    asked: Annotated[Asked, opt.Only("years", "today", "accept", "units")],
    output: opt.PageFormatOption = "table",
) -> None:
    """Show a species as a page: what its seed waits for, steps, what can go wrong, hazards, sources.

    With a site and weather it also says what the winters there decide.

    Example: chillplan species show "white oak"
    """
    from chillplan.advice.wording import FOR_ALL, cautions_for
    from chillplan.cli import values
    from chillplan.cli.catalogue_files import catalogue_with
    from chillplan.errors import Problems
    from chillplan.seeds.catalogue import find_species
    from chillplan.seeds.page import page_of

    problems = Problems()
    values.choice(problems, "--format", output, ("table", "json"))
    values.choice(problems, "--units", asked.units, ("metric", "us"))
    species = find_species(catalogue_with(species_file), name)
    cautions = [caution for recipe in species.recipes for caution in cautions_for(species, recipe)]
    page = page_of(species, tuple(dict.fromkeys(sorted(cautions, key=FOR_ALL.__contains__))))
    if not place.says_nothing:
        found, loaded = advices_at(place, [species], asked, problems, changes="all")
        page = (_here(found[species.name], loaded), *page)
    problems.raise_if_any()
    if asked.units == "us":
        page = tuple(_in_us_units(section) for section in page)
    if output == "json":
        from chillplan.report.tables_lists import page_json

        print_json(page_json(species, page))
    else:
        from chillplan.report.tables_lists import print_page

        print_page(species, page)


def check(
    file: Annotated[Path, typer.Argument(help="Your species table (CSV).", metavar="FILE")],
    output: opt.PageFormatOption = "table",
) -> None:
    """Check your own species table with the rules of ours; every fault is said at once, with its row.

    Example: chillplan species check mine.csv
    """
    from chillplan.cli import values
    from chillplan.cli.catalogue_files import built_in_catalogue, catalogue_with, read_rows, unknown_columns
    from chillplan.errors import Problems

    problems = Problems()
    values.choice(problems, "--format", output, ("table", "json"))
    problems.raise_if_any()
    merged = catalogue_with(file)
    ours = {each.name.casefold() for each in built_in_catalogue()}
    rows = read_rows(file)
    theirs = {" ".join(row["name"].casefold().split()) for row in rows}
    mine = [each for each in merged if each.name.casefold() in theirs]
    over = [each.name for each in mine if each.name.casefold() in ours]
    notes = [*_remarks(mine, unknown_columns(rows)), *_shared_names(mine, merged)]
    if output == "json":
        answer = {"schema": 1, "file": str(file), "species": len(mine), "over_ours": over, "remarks": notes}
        print_json(answer)
        return
    print(f"{file}: {len(mine)} species, no fault; {len(mine) - len(over)} new, {len(over)} over ours.")
    for note in notes:
        print(f"  {note}")


def advices_at(
    place: PlaceOptions,
    species: Sequence[Species],
    asked: Asked,
    problems: Problems,
    changes: Literal["all", "none"] = "none",
) -> tuple[dict[str, SpeciesAdvice], Loaded]:
    """What the winters of a place decide for some species, by scientific name; on demand with what would change it.

    Raises
    ------
    InputError, DataGapError
        With the problems found before as well.
    """
    from datetime import date

    from chillplan.advice.plan import Request, make_plan
    from chillplan.cli.loading import load, tell_if_invented
    from chillplan.cli.streams import ProgressLine

    said = checked(asked, problems)
    loaded = load(place, said.years, problems)
    tell_if_invented(loaded)
    with ProgressLine() as progress:
        request = Request(said.today or date.today(), accept=said.accept, changes=changes)
        plan = make_plan(loaded.seasons, loaded.site, species, request, progress)
    return {advice.species.name: advice for advice in plan.species}, loaded


def _filtered(
    catalogue: Sequence[Species],
    needs: Sequence[str],
    uses: Sequence[str],
    verdicts: Sequence[str],
    problems: Problems,
) -> tuple[Species, ...]:
    from chillplan.errors import quoted
    from chillplan.seeds.page import NEEDS, needs_of
    from chillplan.verdicts import VERDICTS

    known_uses = sorted({use for species in catalogue for use in species.uses})
    for option, given, known in (
        ("--need", needs, list(NEEDS)),
        ("--use", uses, known_uses),
        ("--verdict", verdicts, VERDICTS),
    ):
        for word in given:
            if catalogue and word not in known:
                problems.add(f"{option} {quoted(word)} is not known: use {', '.join(known)}")
    return tuple(
        species for species in catalogue if set(needs) <= set(needs_of(species)) and set(uses) <= set(species.uses)
    )


def _here(advice: SpeciesAdvice, loaded: Loaded) -> Section:
    from chillplan.seeds.page import Section

    lines = [f"{advice.verdict}. {advice.reason}", *advice.notes, *advice.changes]
    return Section(f"At {loaded.site.name}", tuple(lines))


def _in_us_units(section: Section) -> Section:
    """A section with our quantities in US units; sources and notes speak as they do."""
    from dataclasses import replace

    from chillplan.report.reader import in_us_units

    if section.title == "Sources":
        return section
    return replace(section, lines=tuple(in_us_units(line) for line in section.lines))


def _remarks(species: Sequence[Species], unused: Sequence[str]) -> list[str]:
    """What is no fault but worth knowing."""
    notes = [f"column '{name}' is not used" for name in unused]
    for each in species:
        if any(phase.spread_assumed for recipe in each.recipes for phase in recipe.phases):
            notes.append(f"{each.name}: one length only, six tenths of it is assumed for the quickest seed")
        if each.germination.assumed:
            notes.append(f"{each.name}: base temperature and thermal time of germination are assumed")
        if each.source == f"your table {each.origin}":  # what stands for a source where none is given
            notes.append(f"{each.name}: no source is named")
        if each.hard_coat and not each.recipe.opens_coat:
            notes.append(f"{each.name}: hard coat, but no step of the usual recipe opens it")
    return notes


def _shared_names(species: Sequence[Species], merged: Sequence[Species]) -> list[str]:
    """Names of the user's species that another species of the book answers to as well."""
    notes = []
    for each in species:
        own = {name.casefold(): name for name in each.names()}
        for other in merged:
            shared = own.keys() & {name.casefold() for name in other.names()} if other.name != each.name else ()
            notes += [
                f"{each.name}: '{own[name]}' is also a name of {other.name}; to change that row, name it so"
                for name in sorted(shared)
            ]
    return notes


def _print_list(rows: list[dict[str, Any]], header: Sequence[str], with_verdict: bool, output: str) -> None:
    if output == "json":
        print_json({"schema": 1, "species": rows})
    elif output == "csv":
        from chillplan.report.rows import csv_text

        flat = [["; ".join(row[name]) if isinstance(row[name], list) else row[name] for name in header] for row in rows]
        print(csv_text(header, flat), end="")
    else:
        from chillplan.report.tables_lists import print_list

        print_list(rows, with_verdict)
