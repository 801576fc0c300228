"""How wide tables are: as the terminal within limits, numbers and words whole, room given where it is lacked."""

from __future__ import annotations

from typing import Any

import pytest
from rich.console import Console
from rich.table import Table

from chillplan.report import tables_terminal
from chillplan.report.tables_terminal import console, fitted


@pytest.mark.parametrize(
    ("terminal", "wide", "width"),
    [(True, 100, 100), (True, 40, 60), (True, 61, 61), (True, 119, 119), (True, 300, 120), (False, 200, 80)],
)
def test_output_is_as_wide_as_the_terminal_within_limits(
    monkeypatch: pytest.MonkeyPatch, terminal: bool, wide: int, width: int
) -> None:
    """On a wide screen lines do not run too long to follow, in a file they are 80 wide."""

    def made(**more: Any) -> Console:
        return Console(**more) if more else Console(force_terminal=terminal, width=wide)

    monkeypatch.setattr(tables_terminal, "Console", made)
    assert console().width == width


def test_words_stay_as_they_were_written(capsys: pytest.CaptureFixture[str]) -> None:
    console().print("seed :seedling: 12 http://x [bold]b[/bold]")
    assert capsys.readouterr().out == "seed :seedling: 12 http://x b\n"


def table_of(*columns: tuple[str, list[str], dict[str, Any]]) -> Table:
    table = Table(box=None)
    for head, _, more in columns:
        table.add_column(head, **more)
    for row in zip(*(cells for _, cells, _ in columns), strict=True):
        table.add_row(*row)
    return table


RIGHT: dict[str, Any] = {"justify": "right"}
LONG = "one two three four five six seven eight nine ten eleven twelve"


def widths(width: int, *columns: tuple[str, list[str], dict[str, Any]]) -> list[int]:
    found = fitted(table_of(*columns), width)
    assert all(column.overflow == "fold" for column in found.columns)
    return [int(column.width or 0) for column in found.columns]


def test_a_table_that_fits_is_no_wider_than_its_words() -> None:
    """The widest cell or heading of a column decides; a cell of several lines by its widest line."""
    assert widths(80, ("Species", ["a", "wild cherry"], {}), ("Days", ["5", "10"], RIGHT)) == [
        11,
        4,
    ]
    assert widths(80, ("A", ["ab\nabcd\nabc"], {}), ("B", ["[bold]x[/bold]"], {})) == [4, 1]
    assert widths(80, ("A", [""], {})) == [1]


def test_a_table_that_does_not_fit_fills_the_terminal_and_keeps_numbers_whole() -> None:
    """Two columns are parted by three and edged by two: 30 wide leaves 25 for both."""
    assert widths(30, ("What", [LONG], {}), ("Days", ["12 of 34"], RIGHT)) == [17, 8]
    assert widths(30, ("What", [LONG], {}), ("Good winters", ["5"], RIGHT)) == [18, 7], "a heading may be parted"
    assert widths(30, ("What", [LONG], {}), ("When", ["5 Oct 2026"], {"no_wrap": True})) == [15, 10]
    assert widths(30, ("What", [LONG], {}), ("Latin", ["Campanula x"], {"min_width": 12})) == [14, 11], (
        "no wider than its text"
    )
    assert widths(24, ("What", [LONG], {}), ("Latin", ["Campanula x"], {"min_width": 11})) == [8, 11]


def test_room_goes_to_the_column_that_is_most_crowded_and_twice_as_fast_to_names() -> None:
    """A name of up to 24 letters is kept on one line before a sentence gets more room."""
    assert widths(50, ("Name", ["blue flag iris"], {}), ("What", [LONG], {})) == [14, 31]
    assert widths(45, ("One", [LONG], {}), ("Other", [LONG], {})) == [20, 20]
    short, long = (widths(45, ("Name", [name], {}), ("What", [LONG], {})) for name in (LONG[:24], LONG[:25]))
    assert short[0] > long[0] and sum(short) == sum(long) == 40


def test_where_nothing_fits_the_widest_column_gives_way_and_none_vanishes() -> None:
    assert widths(20, ("A", ["x" * 30], {}), ("B", ["y" * 10], {})) == [7, 8]
    assert widths(6, ("A", ["x" * 30], {}), ("B", ["y" * 10], {})) == [1, 1]
