"""Reads the CSV file of a temperature logger, whatever its layout: finds the columns, the unit and the date order.

What was decided is returned in words, so that a wrong guess is seen.
"""

from __future__ import annotations

import csv
import io
import re
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path
from statistics import median

from chillplan.errors import InputError, quoted
from chillplan.journal.logger_columns import Columns, DateOrder, find_columns, moment_of, number_of
from chillplan.journal.records import TEMPERATURES, Reading

__all__ = ["UNITS", "LoggerRecord", "celsius_of", "parse_logger", "read_logger"]

UNITS = ("C", "F", "K")
LIKELY_FAHRENHEIT = 28.0
"""A median above this, in a place for chilling seed and without a unit, is taken for Fahrenheit. Our assumption. [°]"""

_UNIT_WORDS = (
    ("F", re.compile(r"°\s*f\b|º\s*f\b|\bdeg\.?\s*f\b|fahrenheit|[(\[_ ]f[)\]]?\s*$", re.IGNORECASE)),
    ("C", re.compile(r"°\s*c\b|º\s*c\b|\bdeg\.?\s*c\b|celsius|℃|[(\[_ ]c[)\]]?\s*$", re.IGNORECASE)),
    ("K", re.compile(r"kelvin|[(\[_ ]k[)\]]?\s*$", re.IGNORECASE)),
)


@dataclass(frozen=True)
class LoggerRecord:
    """What a logger's file says."""

    readings: tuple[Reading, ...]  # in °C, in order of time
    skipped: int  # rows with a time but no temperature
    notes: tuple[str, ...]  # what was decided, one sentence each


def read_logger(
    path: Path, unit: str | None = None, column: str | None = None, date_order: DateOrder | None = None
) -> LoggerRecord:
    """Read a logger's CSV file from disk; see `parse_logger`.

    Raises
    ------
    InputError
        If the file cannot be read or understood.
    """
    try:
        content = path.read_bytes()
    except OSError as error:
        raise InputError(f"logger file {quoted(path)} cannot be read: {error.strerror}; check the path") from error
    return parse_logger(_decoded(content), path.name, unit, column, date_order)


def parse_logger(
    text: str,
    name: str = "logger file",
    unit: str | None = None,
    column: str | None = None,
    date_order: DateOrder | None = None,
) -> LoggerRecord:
    """Understand the text of a logger's CSV file.

    Parameters
    ----------
    text : str
        Any separator (comma, semicolon, tab, bar), decimal point or comma, lines before the header, one column for
        date and time or two, any usual way to write them.
    name : str
        For messages.
    unit : {'C', 'F', 'K'} or None
        None takes it from the header or, failing that, from the size of the values.
    column : str or None
        Header of the temperature column, or its number from 1; None finds it.
    date_order : {'day first', 'month first', 'year first'} or None
        None decides by the dates themselves.

    Raises
    ------
    InputError
        If no times or temperatures are found, two columns or two date orders are equally likely, or values are
        impossible.
    """
    if unit is not None and unit not in UNITS:
        raise InputError(f"unit {quoted(unit)} is not known: use C, F or K")
    rows, separator = _rows(text, name)
    columns = find_columns(rows, name, column, date_order, decimal_comma_likely=separator != ",")
    found: list[tuple[datetime, float]] = []
    skipped = 0
    for row in rows:
        moment = moment_of(row, columns)
        if moment is None:
            continue
        value = number_of(row[columns.temperature]) if columns.temperature < len(row) else None
        if value is None:
            skipped += 1
        else:
            found.append((moment, value))
    if not found:
        raise InputError(f"{quoted(name)} holds no temperatures: check that it is the logger's export")
    return _finished(found, skipped, columns, unit, name)


def _finished(
    found: list[tuple[datetime, float]], skipped: int, columns: Columns, unit: str | None, name: str
) -> LoggerRecord:
    told = unit or _unit_of_header(columns.header)
    decided = told or ("F" if median(value for _, value in found) > LIKELY_FAHRENHEIT else "C")
    notes = [f"temperature from {quoted(columns.header or f'column {columns.temperature + 1}')}"]
    if told is None:
        notes.append(f"no unit in the header: taken for °{decided} by the size of the values")
    elif decided != "C":
        notes.append(f"converted from {'kelvin' if decided == 'K' else '°F'}")
    notes += columns.notes
    readings = tuple(sorted((Reading(at, celsius_of(value, decided)) for at, value in found), key=lambda one: one.at))
    low, high = TEMPERATURES
    outside = [reading for reading in readings if not low <= reading.temperature <= high]
    if outside:
        raise InputError(
            f"{quoted(name)} holds {outside[0].temperature:.1f} °C at {outside[0].at:%Y-%m-%d %H:%M} and "
            f"{len(outside) - 1} more outside {low:g} to {high:g} °C: check the unit and the column"
        )
    return LoggerRecord(readings, skipped, tuple(notes))


def celsius_of(value: float, unit: str) -> float:
    """A temperature in °C; `unit` is C, F or K."""
    if unit == "F":
        return round((value - 32.0) / 1.8, 3)
    return round(value - 273.15, 3) if unit == "K" else value


def _unit_of_header(header: str) -> str | None:
    return next((unit for unit, words in _UNIT_WORDS if words.search(header)), None)


def _decoded(content: bytes) -> str:
    if content.startswith((b"\xff\xfe", b"\xfe\xff")):
        return content.decode("utf-16", errors="replace")
    try:
        return content.decode("utf-8-sig")
    except UnicodeDecodeError:
        return content.decode("cp1252", errors="replace")


def _rows(text: str, name: str) -> tuple[list[list[str]], str]:
    """The cells by the separator that gives the most rows of the commonest width above one."""
    best: tuple[int, list[list[str]], str] = (0, [], ",")
    for separator in (",", ";", "\t", "|"):
        try:
            rows = [[cell.strip() for cell in row] for row in csv.reader(io.StringIO(text), delimiter=separator)]
        except csv.Error:
            continue
        widths = [len(row) for row in rows if len(row) > 1]
        regular = max((widths.count(width) * min(width, 3) for width in set(widths)), default=0)
        if regular > best[0]:
            best = (regular, rows, separator)
    if not best[0]:
        raise InputError(f"{quoted(name)} is not a table: give a CSV file with a time and a temperature in each row")
    return best[1], best[2]
