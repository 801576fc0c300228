"""Verdicts at several warmings as a table for a terminal."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from rich import box
from rich.markup import escape
from rich.table import Table

from chillplan.advice.result import Plan
from chillplan.report.reader import Reader
from chillplan.report.tables_terminal import console, fitted

__all__ = ["print_warmings"]


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
    reader : Reader
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
