"""Species and their pages, seed to sow, verdicts at many places and warmings: lists for terminals and programs."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING, Any

from rich import box
from rich.markup import escape
from rich.table import Table

from chillplan import verdicts
from chillplan.report.reader import GRAMS_PER_OUNCE, Reader
from chillplan.report.tables_terminal import console, fitted
from chillplan.seeds.page import Section, needs_of
from chillplan.seeds.recipe import Recipe, Species
from chillplan.seeds.recipe_text import coat_text, phases_text

if TYPE_CHECKING:
    from chillplan.advice.result import Plan, SpeciesAdvice
    from chillplan.seeds.amounts import Amount, Lot

__all__ = [
    "LIST_HEADER",
    "amount_json",
    "list_rows",
    "page_json",
    "print_amounts",
    "print_list",
    "print_map_summary",
    "print_page",
    "print_sites",
    "print_warmings",
    "species_facts",
]

Json = dict[str, Any]

LIST_HEADER = (
    "name",
    "common_name",
    "needs",
    "uses",
    "requirement",
    "evidence",
    "origin",
    "verdict",
    "good_winters",
    "winters",
)


def list_rows(species: Sequence[Species], advices: Mapping[str, SpeciesAdvice]) -> list[Json]:
    """One row a species, keyed by `LIST_HEADER`; verdicts are None where no place was asked about."""
    rows = []
    for one in species:
        advice = advices.get(one.name)
        rows.append(
            {
                "name": one.name,
                "common_name": one.common_name,
                "needs": list(needs_of(one)),
                "uses": list(one.uses),
                "requirement": recipe_text(one.recipe),
                "evidence": one.evidence,
                "origin": one.origin,
                "verdict": advice.verdict if advice else None,
                "good_winters": advice.good if advice else None,
                "winters": advice.winters if advice else None,
            }
        )
    return rows


def recipe_text(recipe: Recipe) -> str:
    """A recipe as in the table: coat, then phases."""
    parts = [coat_text(recipe.coat) if recipe.coat else "", phases_text(recipe.phases) if recipe.phases else ""]
    return "; then ".join(part for part in parts if part) or "none"


def species_facts(species: Species) -> Json:
    """Everything the catalogue holds of a species."""
    germination = species.germination
    return {
        "name": species.name,
        "common_name": species.common_name,
        "other_names": list(species.other_names),
        "family": species.family,
        "dormancy": species.dormancy,
        "hard_coat": species.hard_coat,
        "recipes": [
            {"label": recipe.label, "coat": coat_text(recipe.coat), "phases": phases_text(recipe.phases)}
            for recipe in species.recipes
        ],
        "germination": {
            "base_temperature_c": germination.base_temperature,
            "base_range_c": list(germination.base_range),
            "thermal_time_c_days": list(germination.thermal_time),
            "indoors_c": list(germination.temperature) if germination.temperature else None,
            "assumed": germination.assumed,
        },
        "light": species.light,
        "storage": species.storage,
        "depth_cm": list(species.depth_cm),
        "seedling_limit_c": species.seedling_limit,
        "shoot_waits": species.shoot_waits,
        "needs": list(needs_of(species)),
        "uses": list(species.uses),
        "sow_season": species.sow_season,
        "seeds_per_gram": species.seeds_per_gram,
        "cautions": list(species.cautions),
        "note": species.note,
        "source": species.source,
        "source_url": species.source_url,
        "read": list(species.read),
        "evidence": species.evidence,
        "origin": species.origin,
    }


def page_json(species: Species, page: Sequence[Section]) -> Json:
    """A species with its page."""
    sections = [{"title": each.title, "numbered": each.numbered, "lines": list(each.lines)} for each in page]
    return {"schema": 1, "species": species_facts(species), "page": sections}


def amount_json(species: Species, lot: Lot, amount: Amount, per_cell: int | None) -> Json:
    """How much seed of one species."""
    return {
        "name": species.name,
        "common_name": species.common_name,
        "plants": amount.target,
        "chance": amount.chance,
        "chance_reached": round(amount.reached, 4),
        "best_chance": round(amount.best_chance, 4),
        "share_of_seeds_that_become_plants": round(amount.share, 4),
        "viability_now": round(lot.alive, 4),
        "pure_live_seed": round(lot.purity * lot.alive, 4),
        "seeds": amount.seeds,
        "grams": None if amount.grams is None else round(amount.grams, 3),
        "packets": amount.packets,
        "seeds_per_cell": per_cell,
        "seeds_per_gram": lot.seeds_per_gram,
    }


SHARE = (
    "Share: of the seeds sown, those that become plants: alive, up and not lost later. Cell: seeds to sow in each "
    "pot or cell so that nineteen in twenty hold a plant."
)


def print_list(rows: Sequence[Json], with_verdict: bool) -> None:
    """One line a species."""
    out = console()
    table = Table(box=box.SIMPLE_HEAD, pad_edge=False)
    for title in ("Species", "Needs", "Uses", "Figures", *(("Here",) if with_verdict else ())):
        table.add_column(title)
    for row in rows:
        cells = [
            escape(_both_names(row["common_name"], row["name"])),
            ", ".join(row["needs"]),
            escape(", ".join(row["uses"])),
            row["evidence"],
        ]
        if with_verdict:
            cells.append(f"{row['verdict']}, {row['good_winters']} of {row['winters']}")
        table.add_row(*cells)
    out.print(fitted(table, out.width))
    out.print(f"{len(rows)} species. One in full: chillplan species show NAME")


def _both_names(common: str, name: str) -> str:
    """``wild cherry (Prunus avium)``; the one name of a species without a common one."""
    return f"{common} ({name})" if common else name


def print_page(species: Species, page: Sequence[Section]) -> None:
    """A species as a page."""
    out = console()
    others = f"; also {', '.join(species.other_names)}" if species.other_names else ""
    named = f"[bold]{escape(species.common_name)}[/bold] ({escape(species.name)})"
    out.print((named if species.common_name else f"[bold]{escape(species.name)}[/bold]") + escape(others))
    family = ", ".join(part for part in (species.family, species.dormancy and f"dormancy {species.dormancy}") if part)
    if family:
        out.print(escape(family))
    for section in page:
        out.print(f"\n[bold]{escape(section.title)}[/bold]")
        grid = Table.grid(padding=(0, 1))
        grid.add_column(width=2, justify="right")
        grid.add_column(overflow="fold")
        for number, line in enumerate(section.lines, start=1):
            grid.add_row(f"{number}." if section.numbered else "-", escape(line))
        out.print(grid)


def print_amounts(rows: Sequence[Json], basis: str, notes: Sequence[str], ounces: bool = False) -> None:
    """Seeds, grams (or ounces) and packets, one line a species."""
    weight, scale = ("Ounces", GRAMS_PER_OUNCE) if ounces else ("Grams", 1.0)
    out = console()
    table = Table(box=box.SIMPLE_HEAD, pad_edge=False)
    for title in ("Species", "Plants", "Chance", "Share", "Seeds", weight, "Packets", "Cell"):
        table.add_column(title, justify="left" if title == "Species" else "right")
    for row in rows:
        table.add_row(
            escape(row["common_name"] or row["name"]),
            str(row["plants"]),
            f"{row['chance']:.0%}",
            f"{row['share_of_seeds_that_become_plants']:.0%}",
            "out of reach" if row["seeds"] is None else str(row["seeds"]),
            "-" if row["grams"] is None else f"{row['grams'] / scale:.3g}",
            "-" if row["packets"] is None else str(row["packets"]),
            "-" if row["seeds_per_cell"] is None else str(row["seeds_per_cell"]),
        )
    out.print(fitted(table, out.width))
    out.print(escape(basis))
    out.print(SHARE)
    for note in notes:
        out.print(escape(note))


def print_map_summary(rows: Sequence[Mapping[str, Any]]) -> None:
    """Print for each species, period and warming its verdicts, the commonest first.

    Parameters
    ----------
    rows : sequence of mapping
        ``species``, ``period``, ``warming``, ``places``, ``median_chance`` and ``verdicts``, places by verdict.
    """
    out = console()
    several = {name: len({row[name] for row in rows}) > 1 for name in ("period", "warming")}
    table = Table(box=box.SIMPLE_HEAD, pad_edge=False)
    table.add_column("Species", overflow="fold", min_width=18)
    table.add_column("Places", justify="right", no_wrap=True)
    table.add_column("Chance", justify="right", no_wrap=True)
    table.add_column("Verdicts", overflow="fold", min_width=36)
    for row in rows:
        words = [f"winters {row['period']}"] if several["period"] else []
        words += [f"{row['warming']:+g} °C"] if several["warming"] else []
        name = escape("\n".join([row["species"], ", ".join(words)] if words else [row["species"]]))
        ranked = sorted(row["verdicts"].items(), key=lambda pair: -pair[1])
        said = "\n".join(f"{verdict} {count / max(row['places'], 1):.0%}" for verdict, count in ranked)
        chance = "" if row["median_chance"] is None else f"{row['median_chance']:.0%}"
        table.add_row(name, str(row["places"]), chance, said or "no answer")
    out.print(fitted(table, out.width))
    out.print("Chance: of a good winter, median of the places; the error of the model is counted in.\n")


def print_sites(rows: Sequence[Mapping[str, Any]]) -> None:
    """Print the verdicts of many sites, one row a site and species.

    Parameters
    ----------
    rows : sequence of mapping
        ``site``, ``species``, ``verdict``, ``good_winters``, ``winters``, ``chance``, ``sow_from``, ``sow_to``,
        ``plant_out``.
    """
    out = console()
    table = Table(box=box.SIMPLE_HEAD, pad_edge=False)
    for name in ("Site and species", "Verdict"):
        table.add_column(name, overflow="fold")
    table.add_column("Good", no_wrap=True, justify="right")
    table.add_column("Chance", no_wrap=True, justify="right")
    table.add_column("When", overflow="fold")
    for row in rows:
        table.add_row(
            escape(f"{row['site']}\n{row['species']}"),
            row["verdict"],
            f"{row['good_winters']}/{row['winters']}",
            f"{row['chance']:.0%}",
            _dates_of(row),
        )
    out.print(fitted(table, out.width))


def _dates_of(row: Mapping[str, Any]) -> str:
    """``sow 2026-10-21 to 2027-01-04; or plant out 2027-04-30``, as far as the verdict names them."""
    sown = f"sow {row['sow_from']} to {row['sow_to']}" if row["sow_from"] else ""
    planted = f"plant out {row['plant_out']}" if row["plant_out"] else ""
    if row["verdict"] == verdicts.BEGUN:
        return ", ".join(part for part in (sown, planted) if part)
    if row["verdict"] == verdicts.EITHER:
        return "; or ".join(part for part in (sown, planted) if part)
    return sown or planted


def print_warmings(plans: Sequence[Plan], rows: Mapping[str, Sequence[str]], same: int, reader: Reader) -> None:
    """Print the species whose verdict changes, and how many keep theirs.

    Parameters
    ----------
    plans : sequence of Plan
        One for each warming.
    rows : mapping of str to sequence of str
        Verdict in words at each warming, by species.
    same : int
        Species whose verdict is the same in all.
    """
    out = console()
    if rows:
        table = Table(box=box.SIMPLE_HEAD, pad_edge=False)
        table.add_column("Species")
        for plan in plans:
            table.add_column(reader.units.difference(plan.warming))
        for name, verdicts in rows.items():
            table.add_row(escape(name), *map(escape, verdicts))
        out.print(fitted(table, out.width))
    kept = "1 species keeps its verdict" if same == 1 else f"{same} species keep their verdicts"
    out.print(f"{kept}. Degrees are added to every temperature of the record; dates move in all of them.")
