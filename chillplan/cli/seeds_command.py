"""``chillplan seeds``: how much seed to order and sow."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Annotated, Any

import typer

from chillplan.cli import options as opt
from chillplan.cli.catalogue_files import Wanted
from chillplan.cli.place import PlaceOptions
from chillplan.cli.planning import Asked, checked
from chillplan.cli.streams import print_json

if TYPE_CHECKING:
    from collections.abc import Sequence

    from chillplan.errors import Problems
    from chillplan.seeds.recipe import Species

__all__ = ["register"]

BARELY_ALIVE = 0.01
"""A lot or a share below this is taken for nothing. [-]"""

CELL_CHANCE = 0.95
"""Chance of at least one plant in a cell that the number of seeds for a cell gives. [-]"""


@dataclass(frozen=True)
class SeedText:
    """What the user knows of seed and target, as text."""

    plants: Annotated[opt.Text, typer.Option("--plants", help="Plants wanted of each species.")] = None
    area: Annotated[opt.Text, typer.Option("--area", help="Bed in square metres, with --density, not --plants.")] = None
    density: Annotated[opt.Text, typer.Option("--density", help="Plants wanted on a square metre.")] = None
    chance: Annotated[str, typer.Option("--chance", help="Chance of reaching the target, 0.5 to 0.99.")] = "0.9"
    losses: Annotated[str, typer.Option("--losses", help="Share of seedlings lost later, 0 to 0.95.")] = "0.2"
    purity: Annotated[str, typer.Option("--purity", help="Share of the weight that is this seed, 0 to 1.")] = "1"
    viability: Annotated[str, typer.Option("--viability", help="Share of seeds alive when tested, 0 to 1.")] = "0.8"
    age: Annotated[str, typer.Option("--age", help="Years since the test or since collecting.")] = "0"
    seeds_per_gram: Annotated[
        opt.Text, typer.Option("--seeds-per-gram", help="Counted in your lot; else the table's.")
    ] = None
    packet_grams: Annotated[opt.Text, typer.Option("--packet-grams", help="What a packet holds, in grams.")] = None
    packet_seeds: Annotated[opt.Text, typer.Option("--packet-seeds", help="What a packet holds, in seeds.")] = None
    share_up: Annotated[
        opt.Text,
        typer.Option("--share-up", help="Share of living seed that comes up, 0 to 1; else the plan's, by winter."),
    ] = None


@dataclass(frozen=True)
class SeedFigures:
    """What the user knows of seed and target, checked."""

    plants: int
    chance: float
    losses: float
    purity: float
    viability: float
    age: float
    seeds_per_gram: float | None
    packet_grams: float | None
    packet_seeds: int | None
    share_up: float | None


def register(app: typer.Typer) -> None:
    """Add the command."""
    app.command("seeds", short_help="How much seed to order and sow for a number of plants.")(seeds)


@opt.grouped
def seeds(
    *,
    wanted: Wanted,
    said: SeedText,
    place: PlaceOptions,
    asked: Annotated[Asked, opt.Only("years", "today", "accept", "units", "format")],
) -> None:
    """Say how much seed to order and sow for a number of plants, with a stated chance of reaching it.

    The share that comes up is taken from the plan for the site, winter by winter; with no site and no weather from the
    embedded demo, whose weather is invented.

    Example: chillplan seeds --species chokecherry --plants 50 --viability 0.8 --share-up 0.6
    """
    from chillplan.cli.catalogue_files import chosen_species
    from chillplan.cli.species_commands import advices_at
    from chillplan.errors import Problems

    problems = Problems()
    checked(asked, problems)
    if not wanted.species and wanted.list_file is None:
        problems.add("no species was given: pass --species NAME or --list FILE")
    figures = _figures(problems, said)
    chosen = chosen_species(wanted, problems)
    if figures.share_up is not None:
        problems.raise_if_any()
        shares: dict[str, Sequence[float]] = {each.name: (figures.share_up,) for each in chosen}
        basis = f"Share of living seed that comes up: {figures.share_up:.0%}, as given."
    else:
        found, loaded = advices_at(place, chosen, asked, problems)
        shares = {name: advice.by_winter for name, advice in found.items()}
        basis = f"Share that comes up: by winter at {loaded.site.name}, by the way the plan advises (modelled)."
    _print(chosen, shares, figures, basis, asked.format if asked.format != "table" else asked.units)


def _figures(problems: Problems, said: SeedText) -> SeedFigures:
    from chillplan.cli import values

    def number(name: str, low: float, high: float, unit: str = "") -> float | None:
        return values.number(problems, f"--{name.replace('_', '-')}", getattr(said, name), low, high, unit)

    return SeedFigures(
        plants=_target(problems, said),
        chance=number("chance", 0.5, 0.99) or 0.9,
        losses=number("losses", 0.0, 0.95) or 0.0,
        purity=number("purity", 0.01, 1.0) or 1.0,
        viability=number("viability", 0.01, 1.0) or 1.0,
        age=number("age", 0.0, 200.0, "years") or 0.0,
        seeds_per_gram=number("seeds_per_gram", 0.001, 2e6),
        packet_grams=number("packet_grams", 1e-6, 1e6, "g"),
        packet_seeds=values.whole_number(problems, "--packet-seeds", said.packet_seeds, 1, 100_000_000),
        share_up=number("share_up", 0.0, 1.0),
    )


def _target(problems: Problems, said: SeedText) -> int:
    """Plants wanted, from the number itself or from a bed."""
    import math

    from chillplan.cli import values

    if said.plants is not None:
        return values.whole_number(problems, "--plants", said.plants, 1, 10_000_000) or 1
    if said.area is None or said.density is None:
        problems.add("no target was given: pass --plants NUMBER, or --area and --density")
        return 1
    metres = values.number(problems, "--area", said.area, 0.01, 1e7, "m2") or 1.0
    dense = values.number(problems, "--density", said.density, 0.001, 1e5, "plants on a square metre") or 1.0
    return max(1, min(math.ceil(metres * dense - 1e-9), 10_000_000))


def _print(
    species: Sequence[Species], shares: dict[str, Sequence[float]], figures: SeedFigures, basis: str, output: str
) -> None:
    """Print the rows; `output` is json, csv, or the units of a table."""
    rows: list[dict[str, Any]] = []
    notes: list[str] = []
    for one in species:
        row, said = _row(one, shares[one.name], figures)
        rows.append(row)
        notes += [note for note in said if note not in notes]
    if output == "json":
        print_json({"schema": 1, "basis": basis, "notes": notes, "seeds": rows})
    elif output == "csv":
        from chillplan.report.rows import csv_text

        print(csv_text(list(rows[0]), [list(row.values()) for row in rows]), end="")
    else:
        from chillplan.report.tables_lists import print_amounts

        print_amounts(rows, basis, notes, ounces=output == "us")


def _row(species: Species, shares: Sequence[float], figures: SeedFigures) -> tuple[dict[str, Any], list[str]]:
    from chillplan.report.tables_lists import amount_json
    from chillplan.seeds.amounts import Lot, amount_for, seeds_per_cell

    per_gram = species.seeds_per_gram if figures.seeds_per_gram is None else figures.seeds_per_gram
    lot = Lot(figures.purity, figures.viability, per_gram, figures.age, species.storage)
    ceiling = species.ceiling_share
    capped = ceiling is not None and max(shares, default=0.0) > ceiling
    if ceiling is not None:
        shares = [min(share, ceiling) for share in shares]
    amount = amount_for(
        figures.plants,
        lot,
        shares,
        figures.losses,
        figures.chance,
        figures.packet_grams,
        figures.packet_seeds,
    )
    notes = [
        f"Assumed unless you say otherwise: {figures.viability:.0%} alive, {figures.purity:.0%} pure, "
        f"{figures.losses:.0%} of what is up lost later."
    ]
    if capped:
        notes.append(f"{species.common_name}: never more than {ceiling:.0%} came up ({species.ceiling_source}).")
    if figures.age > 0:
        notes.append("Viability after storage falls along a normal curve whose spread is assumed: test the seed again.")
    if per_gram is None:
        notes.append(f"{species.common_name}: seeds per gram are not known; count a weighed sample for grams.")
    elif figures.seeds_per_gram is None and (amount.grams is not None):
        notes.append("Seeds per gram are the table's, mostly from memory: count a weighed sample of your lot.")
    if lot.alive < BARELY_ALIVE:
        notes.append(f"{species.common_name}: hardly a seed of this lot is alive by now; order fresh seed.")
    elif amount.seeds is None:
        notes.append(
            f"{species.common_name}: no amount of seed gives a chance of {figures.chance:.0%}; something comes up in "
            f"only {amount.best_chance:.0%} of the winters."
        )
    cell = seeds_per_cell(amount.share, CELL_CHANCE) if amount.share >= BARELY_ALIVE else None
    return amount_json(species, lot, amount, cell), notes
