"""Species lists, pages and seed counts for a terminal of 80 columns."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from rich import box
from rich.markup import escape
from rich.table import Table

from chillplan.report.tables_terminal import console, fitted
from chillplan.report.us_words import GRAMS_PER_OUNCE
from chillplan.seeds.page import Section
from chillplan.seeds.recipe import Species

__all__ = ["print_amounts", "print_list", "print_page"]

Json = dict[str, Any]

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
            f"{escape(row['common_name'])} ({escape(row['name'])})",
            ", ".join(row["needs"]),
            escape(", ".join(row["uses"])),
            row["evidence"],
        ]
        if with_verdict:
            cells.append(f"{row['verdict']}, {row['good_winters']} of {row['winters']}")
        table.add_row(*cells)
    out.print(fitted(table, out.width))
    out.print(f"{len(rows)} species. One in full: chillplan species show NAME")


def print_page(species: Species, page: Sequence[Section]) -> None:
    """A species as a page."""
    out = console()
    others = f"; also {', '.join(species.other_names)}" if species.other_names else ""
    out.print(f"[bold]{escape(species.common_name)}[/bold] ({escape(species.name)}){escape(others)}")
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
            escape(row["common_name"]),
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
