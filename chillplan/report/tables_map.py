"""Tables of many places for a terminal: how many have which verdict, and each site's own."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from rich import box
from rich.markup import escape
from rich.table import Table

from chillplan import verdicts
from chillplan.report.tables_terminal import console, fitted

__all__ = ["print_map_summary", "print_sites"]


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
    out.print("Chance: of a good winter, at the middle one of the places; the error of the model is counted in.\n")


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
