"""Tables of many places for a terminal: how many have which verdict, and each site's own."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from rich import box
from rich.markup import escape
from rich.table import Table

from chillplan.report.tables_terminal import console, fitted

__all__ = ["print_map_summary", "print_sites"]


def print_map_summary(rows: Sequence[Mapping[str, Any]]) -> None:
    """Print for each species, period and warming its verdicts, the commonest first.

    Parameters
    ----------
    rows : sequence of mapping
        ``species``, ``period``, ``warming``, ``places`` and ``verdicts``, places by verdict.
    """
    out = console()
    several = {name: len({row[name] for row in rows}) > 1 for name in ("period", "warming")}
    table = Table(box=box.SIMPLE_HEAD, pad_edge=False)
    table.add_column("Species", overflow="fold", min_width=18)
    if several["period"]:
        table.add_column("Winters", no_wrap=True)
    if several["warming"]:
        table.add_column("Warmer", no_wrap=True, justify="right")
    table.add_column("Places", justify="right", no_wrap=True)
    table.add_column("Verdicts", overflow="fold")
    for row in rows:
        cells = [escape(row["species"])]
        if several["period"]:
            cells.append(escape(row["period"]))
        if several["warming"]:
            cells.append(f"{row['warming']:+g} °C")
        ranked = sorted(row["verdicts"].items(), key=lambda pair: -pair[1])
        said = ", ".join(f"{verdict} {count / max(row['places'], 1):.0%}" for verdict, count in ranked)
        table.add_row(*cells, str(row["places"]), said or "no answer")
    out.print(fitted(table, out.width))


def print_sites(rows: Sequence[Mapping[str, Any]]) -> None:
    """Print the verdicts of many sites, one row a site and species.

    Parameters
    ----------
    rows : sequence of mapping
        ``site``, ``species``, ``verdict``, ``good_winters``, ``winters``, ``sow_from``, ``sow_to``, ``plant_out``.
    """
    out = console()
    table = Table(box=box.SIMPLE_HEAD, pad_edge=False)
    for name in ("Site", "Species", "Verdict"):
        table.add_column(name, overflow="fold")
    table.add_column("Good", no_wrap=True)
    table.add_column("Sow outdoors, or plant out", overflow="fold")
    for row in rows:
        sown = f"{row['sow_from']} to {row['sow_to']}" if row["sow_from"] else ""
        planted = f"out {row['plant_out']}" if row["plant_out"] else ""
        table.add_row(
            escape(str(row["site"])),
            escape(row["species"]),
            row["verdict"],
            f"{row['good_winters']}/{row['winters']}",
            sown or planted,
        )
    out.print(fitted(table, out.width))
