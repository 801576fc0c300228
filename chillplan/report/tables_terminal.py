"""What every printed table shares: the terminal's width, and columns that never part a word that could stay whole."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from rich.cells import cell_len
from rich.console import Console
from rich.table import Column, Table
from rich.text import Text

__all__ = ["NARROWEST", "WIDEST", "WIDTH", "console", "fitted"]

WIDTH = 80  # columns where the output is no terminal
NARROWEST = 60  # columns below which tables are not squeezed further
WIDEST = 120  # columns above which a line of prose is hard to follow
NAME = 24  # a column that is never wider holds names, not sentences
FRAME, BETWEEN = 2, 3  # columns taken by the edges of a table and by what lies between two of its columns


def console() -> Console:
    """Standard output: as wide as the terminal within limits, 80 columns where there is none; words stay as written."""
    probe = Console()
    width = min(max(probe.width, NARROWEST), WIDEST) if probe.is_terminal else WIDTH
    return Console(width=width, highlight=False, emoji=False)


def fitted(table: Table, width: int) -> Table:
    """A table whose columns are set to a width: each holds its longest word as long as there is room.

    Parameters
    ----------
    table : rich.table.Table
        Of the plain kind used here, without a box around it.
    width : int
        Of the terminal. [column]

    Returns
    -------
    rich.table.Table
        The same table.
    """
    least, widest = zip(*(_limits(column) for column in table.columns), strict=True)
    room = width - FRAME - BETWEEN * (len(table.columns) - 1)
    for column, wide in zip(table.columns, _shared(least, widest, room), strict=True):
        column.width = wide
        column.overflow = "fold"
    return table


def _limits(column: Column) -> tuple[int, int]:
    """Least and greatest width: numbers, which stand to the right, stay whole, and so does every word."""
    head, cells = _plain(column.header), [_plain(cell) for cell in column.cells]
    widest = max(_widths(line for cell in (head, *cells) for line in cell.splitlines()))
    whole = [head, *cells] if column.no_wrap else cells if column.justify == "right" else []
    words = [word for cell in (head, *cells) for word in cell.split()]
    return min(max(column.min_width or 1, *_widths([*words, *whole])), widest), widest


def _shared(least: Sequence[int], widest: Sequence[int], room: int) -> list[int]:
    """Widths between the least and the widest that fill a room, the most crowded column served first.

    A column of names crowds twice as fast as one of sentences: a name is better kept on one line.
    """
    widths = list(least)
    while sum(widths) > room and max(widths) > 1:
        widths[widths.index(max(widths))] -= 1
    while sum(widths) < room:
        crowded = [
            most / wide * (2.0 if most <= NAME else 1.0) if wide < most else 0.0
            for wide, most in zip(widths, widest, strict=True)
        ]
        if not any(crowded):
            break
        widths[crowded.index(max(crowded))] += 1
    return widths


def _plain(cell: object) -> str:
    return cell.plain if isinstance(cell, Text) else Text.from_markup(str(cell), emoji=False).plain


def _widths(pieces: Iterable[str]) -> list[int]:
    return [1, *(cell_len(piece) for piece in pieces)]
