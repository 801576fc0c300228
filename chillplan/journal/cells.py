"""Cells of a CSV file: text that a spreadsheet cannot take for a formula, and back without loss."""

from __future__ import annotations

__all__ = ["Value", "cell_of", "value_of"]

Value = str | int | float | None

_DANGEROUS = ("=", "+", "-", "@", "\t", "\r", "\n", "'")
"""First letters that make a spreadsheet calculate, and the quote that marks a neutralised cell."""


def cell_of(value: Value) -> str:
    """A value as the text of a CSV cell.

    Text that begins like a formula gets a single quote in front, which spreadsheets show as plain text; so does
    text that begins with a single quote, so that reading back is exact. Numbers are written in full precision.
    Null is an empty cell.
    """
    if value is None:
        return ""
    if isinstance(value, str):
        risky = value.startswith(_DANGEROUS) or value.lstrip().startswith(_DANGEROUS)
        return f"'{value}" if risky else value
    return repr(value)


def value_of(cell: str, kind: str, nullable: bool) -> Value:
    """The value of a CSV cell.

    Parameters
    ----------
    cell : str
    kind : {'INTEGER', 'REAL', 'TEXT'}
        Type of the column.
    nullable : bool
        Whether an empty cell means null.

    Raises
    ------
    ValueError
        If a number is expected and the cell holds none.
    """
    if not cell and nullable:
        return None
    if kind == "INTEGER":
        return int(cell)
    if kind == "REAL":
        return float(cell)
    return cell[1:] if cell.startswith("'") else cell
