"""Finds which columns of a logger's table hold time and temperature, and reads dates as loggers write them."""

from __future__ import annotations

import re
from dataclasses import dataclass
from datetime import date, datetime, time
from functools import lru_cache
from itertools import pairwise

from chillplan.errors import InputError, quoted

__all__ = ["Columns", "DateOrder", "find_columns", "moment_of", "number_of", "read_day", "read_time", "split_moment"]

DateOrder = str
"""``day first``, ``month first`` or ``year first``."""

_MONTHS = {
    name: number
    for number, names in enumerate(
        (
            "jan january janv janvier januar ene enero gen gennaio",
            "feb february févr fevr février februar febrero febbraio",
            "mar march mars mär märz maerz marzo",
            "apr april avr avril abr abril aprile",
            "may mai mayo mag maggio",
            "jun june juin juni junio giu giugno",
            "jul july juil juillet juli julio lug luglio",
            "aug august août aout ago agosto",
            "sep sept september septembre septiembre set settembre",
            "oct october octobre okt oktober octubre ott ottobre",
            "nov november novembre noviembre",
            "dec december déc décembre dez dezember dic diciembre dicembre",
        ),
        start=1,
    )
    for name in names.split()
}

_YEAR_FIRST = re.compile(r"(\d{4})[-/.](\d{1,2})[-/.](\d{1,2})")
_COMPACT = re.compile(r"(\d{4})(\d{2})(\d{2})")
_YEAR_LAST = re.compile(r"(\d{1,2})[-/. ](\d{1,2})[-/. ](\d{4}|\d{2})")
_DAY_NAMED = re.compile(r"(\d{1,2})[-/. ]+([^\W\d_]+)\.?[-/., ]+(\d{4}|\d{2})")
_NAMED_DAY = re.compile(r"([^\W\d_]+)\.?[-/. ]+(\d{1,2}),?[-/. ]+(\d{4}|\d{2})")
_CLOCK = (
    r"(\d{1,2})[:.h](\d{2})(?:[:.](\d{2})(?:[.,]\d+)?)?\s*(am|pm|a\.m\.|p\.m\.)?"
    r"\s*(?:z|utc|gmt)?\s*(?:[+-]\d{2}:?\d{2})?"
)
_TIME = re.compile(_CLOCK, re.IGNORECASE)
_MOMENT = re.compile(rf"(.*?\S)(?:T|[ ,]+)({_CLOCK})", re.IGNORECASE)
_WEEKDAY = re.compile(r"^(?:mon|tue|wed|thu|fri|sat|sun)[a-z]*[,. ]+", re.IGNORECASE)


@lru_cache(maxsize=4096)
def read_day(text: str, order: DateOrder) -> date | None:
    """A calendar day, or None where the text is none in this order.

    Parameters
    ----------
    text : str
    order : str
        How a day written in three short numbers is meant: ``day first``, ``month first``, or, with a year of two
        digits, ``year first``.
    """
    found = _day_numbers(_WEEKDAY.sub("", text.strip()), order)
    if found is None:
        return None
    year, month, day = found
    try:
        return date(year + 2000 if year < 70 else year + 1900 if year < 100 else year, month, day)
    except ValueError:
        return None


def _day_numbers(text: str, order: DateOrder) -> tuple[int, int, int] | None:
    if match := _YEAR_FIRST.fullmatch(text) or _COMPACT.fullmatch(text):
        return int(match[1]), int(match[2]), int(match[3])
    if match := _YEAR_LAST.fullmatch(text):
        first, second = int(match[1]), int(match[2])
        if order == "year first":
            return (first, second, int(match[3])) if len(match[3]) == 2 else None
        return (int(match[3]), second, first) if order == "day first" else (int(match[3]), first, second)
    if (match := _DAY_NAMED.fullmatch(text)) and match[2].lower() in _MONTHS:
        return int(match[3]), _MONTHS[match[2].lower()], int(match[1])
    if (match := _NAMED_DAY.fullmatch(text)) and match[1].lower() in _MONTHS:
        return int(match[3]), _MONTHS[match[1].lower()], int(match[2])
    return None


def read_time(text: str) -> time | None:
    """A time of day, or None; a zone at the end is dropped, the clock of the logger is kept."""
    match = _TIME.fullmatch(text.strip())
    if not match:
        return None
    hour, minute, second = int(match[1]), int(match[2]), int(match[3] or 0)
    half = (match[4] or "").lower().replace(".", "")
    if half:
        if not 1 <= hour <= 12:
            return None
        hour = hour % 12 + (12 if half == "pm" else 0)
    try:
        return time(hour, minute, second)
    except ValueError:
        return None


def split_moment(text: str, order: DateOrder) -> datetime | None:
    """A day with its time, or a day alone (taken at noon), or None."""
    text = text.strip()
    if match := _MOMENT.fullmatch(text):
        day, clock = read_day(match[1], order), read_time(match[2])
        if day is not None and clock is not None:
            return datetime.combine(day, clock)
    alone = read_day(text, order)
    return None if alone is None else datetime.combine(alone, time(12))


LOOKED_AT = 400
"""Rows on which the columns are decided."""
ORDERS = ("day first", "month first", "year first")
ENOUGH = 0.6
"""Share of the rows of a table that must read as a time or a number for a column to be one."""

_TEMPERATURE = re.compile(r"temp|°\s*[cf]|º\s*[cf]|℃|celsius|fahrenheit|wärme|température", re.IGNORECASE)
_NOT_TEMPERATURE = re.compile(
    r"humid|\brh\b|%|dew|taupunkt|rosée|rocío|volt|batter|lux|light|press|co2|high alarm|low alarm|limit|set ?point",
    re.IGNORECASE,
)
_NUMBER = re.compile(r"[-+−]?\d+(?:[.,]\d+)?(?:[eE][-+]?\d+)?")
_UNIT_BEHIND = re.compile(r"\s*(?:°|º|deg\.?)?\s*[CFK]$|\s*℃$", re.IGNORECASE)


@dataclass(frozen=True)
class Columns:
    """Where things stand in the table."""

    moment: int  # column of date and time, or of the date
    clock: int | None  # column of the time where it stands apart
    temperature: int
    header: str  # header of the temperature column; empty where there is none
    order: DateOrder  # how dates are meant
    notes: tuple[str, ...]


def number_of(cell: str) -> float | None:
    """A number with decimal point or comma, with or without its unit behind it; None where it is none."""
    text = _UNIT_BEHIND.sub("", cell.strip())
    return float(text.replace(",", ".").replace("−", "-")) if _NUMBER.fullmatch(text) else None


def moment_of(row: list[str], columns: Columns) -> datetime | None:
    """The time of a row; a date without a time stands for noon."""
    if columns.moment >= len(row):
        return None
    if columns.clock is None:
        return split_moment(row[columns.moment], columns.order)
    day = read_day(row[columns.moment], columns.order)
    if day is None or columns.clock >= len(row):
        return None
    return datetime.combine(day, read_time(row[columns.clock]) or time(12))


def find_columns(
    rows: list[list[str]], name: str, column: str | None, date_order: DateOrder | None, decimal_comma_likely: bool
) -> Columns:
    """Decide on the columns.

    Parameters
    ----------
    rows : list of list of str
        All rows, lines before the header included.
    name : str
        For messages.
    column : str or None
        What the user says about the temperature column.
    date_order : str or None
        What the user says about the dates.
    decimal_comma_likely : bool
        True where cells are not separated by commas: such files come from places that write the day first.

    Raises
    ------
    InputError
        If something is missing or stays ambiguous.
    """
    moment = _moment_column(rows)
    if moment is None:
        raise InputError(f"{quoted(name)} holds no column of dates: check that it is the logger's export")
    data = [row for row in rows if moment < len(row) and _any_day(row[moment]) is not None]
    clock = _clock_column(data, moment)
    header = _header(rows, data[0])
    _refuse_split_numbers(data, header, name)
    temperature = _temperature_column(data, header, {moment, clock}, name, column)
    order, notes = _order([row[moment] for row in data], date_order, decimal_comma_likely, name)
    title = header[temperature] if temperature < len(header) else ""
    return Columns(moment, clock, temperature, title, order, notes)


def _any_day(cell: str) -> datetime | None:
    return next((moment for order in ORDERS if (moment := split_moment(cell, order)) is not None), None)


def _moment_column(rows: list[list[str]]) -> int | None:
    sample = rows[:LOOKED_AT]
    width = max(map(len, sample))
    hits = [sum(_any_day(row[index]) is not None for row in sample if index < len(row)) for index in range(width)]
    best = max(range(width), key=lambda index: hits[index])
    return best if hits[best] else None


def _clock_column(data: list[list[str]], moment: int) -> int | None:
    """The column of times, where the dates stand alone."""
    sample = data[:LOOKED_AT]
    if any(
        read_day(row[moment], "day first") is None and read_day(row[moment], "month first") is None for row in sample
    ):
        return None
    for index in range(max(map(len, sample))):
        hits = sum(":" in row[index] and read_time(row[index]) is not None for row in sample if index < len(row))
        if index != moment and hits >= ENOUGH * len(sample):
            return index
    return None


def _header(rows: list[list[str]], first: list[str]) -> list[str]:
    """The last row before the data that is about as wide as they are and holds words."""
    before = rows[: rows.index(first)]
    for row in reversed(before):
        if len(row) >= len(first) - 1 and sum(any(letter.isalpha() for letter in cell) for cell in row) >= 2:
            return row
    return []


def _refuse_split_numbers(data: list[list[str]], header: list[str], name: str) -> None:
    """Refuse rows that are filled beyond their header: a decimal comma has cut the number in two."""
    sample = data[:LOOKED_AT]
    beyond = sum(any(row[len(header) :]) for row in sample)
    if header and beyond >= ENOUGH * len(sample):
        raise InputError(
            f"{quoted(name)} has rows of {len(sample[0])} cells under a header of {len(header)}: if its numbers have "
            "decimal commas, save it with semicolons between the cells"
        )


def _temperature_column(
    data: list[list[str]], header: list[str], taken: set[int | None], name: str, column: str | None
) -> int:
    if column is not None:
        return _named_column(header, column, max(map(len, data)), name)
    sample = data[:LOOKED_AT]
    numeric = []
    for index in range(max(map(len, sample))):
        cells = [row[index] for row in sample if index < len(row) and row[index]]
        numbers = [value for cell in cells if (value := number_of(cell)) is not None]
        if index not in taken and cells and len(numbers) >= ENOUGH * len(cells) and not _counts_rows(numbers):
            numeric.append(index)
    titles = {index: header[index] if index < len(header) else "" for index in numeric}
    by_name = [
        index for index in numeric if _TEMPERATURE.search(titles[index]) and not _NOT_TEMPERATURE.search(titles[index])
    ]
    candidates = by_name or [index for index in numeric if not _NOT_TEMPERATURE.search(titles[index])]
    if len(candidates) == 1:
        return candidates[0]
    if not candidates:
        raise InputError(f"{quoted(name)} holds no column of temperatures: name it with --column")
    shown = ", ".join(titles[index] or f"number {index + 1}" for index in candidates)
    raise InputError(
        f"{quoted(name)} holds several columns that may be the temperature ({shown}): name one with --column"
    )


def _counts_rows(numbers: list[float]) -> bool:
    """Whether a column only numbers the rows."""
    return len(numbers) > 2 and all(later - earlier == 1 for earlier, later in pairwise(numbers))


def _named_column(header: list[str], column: str, width: int, name: str) -> int:
    wanted = column.strip().lower()
    matches = [index for index, title in enumerate(header) if title.strip().lower() == wanted]
    if matches:
        return matches[0]
    if wanted.isdigit() and 1 <= int(wanted) <= width:
        return int(wanted) - 1
    raise InputError(
        f"column {quoted(column)} is not in {quoted(name)}: use one of {', '.join(header) or f'1 to {width}'}"
    )


def _order(
    cells: list[str], date_order: DateOrder | None, decimal_comma_likely: bool, name: str
) -> tuple[DateOrder, tuple[str, ...]]:
    """How dates are meant: as told, the only possible way, in order of time, or usual where the file comes from."""
    if date_order is not None:
        if date_order not in ORDERS:
            raise InputError(f"date order {quoted(date_order)} is not known: use one of {', '.join(ORDERS)}")
        return date_order, ()
    read = {order: [split_moment(cell, order) for cell in cells] for order in ORDERS}
    if read["day first"] == read["month first"] == read["year first"]:
        return "day first", ()
    whole = [order for order in ORDERS if all(moment is not None for moment in read[order])]
    if len(whole) == 1:
        return whole[0], (f"dates read {whole[0]}",)
    rising = [order for order in whole if _steady([moment for moment in read[order] if moment is not None])]
    if len(rising) == 1:
        return rising[0], (f"dates read {rising[0]}, which puts the rows in order of time",)
    if decimal_comma_likely or any("." in cell.split(" ")[0] for cell in cells):
        return "day first", ("dates could be read both ways: taken day first, as usual with this separator",)
    raise InputError(
        f"dates such as {quoted(cells[0])} in {quoted(name)} can be read both ways: "
        "pass --date-order 'day first', 'month first' or 'year first'"
    )


def _steady(moments: list[datetime]) -> bool:
    """Whether times only rise or only fall, without a jump of more than 20 days."""
    gaps = [(later - earlier).total_seconds() / 86400.0 for earlier, later in pairwise(moments)]
    return all(0 <= gap < 20 for gap in gaps) or all(-20 < gap <= 0 for gap in gaps)
