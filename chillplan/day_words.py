"""Reads a day as a grower writes it: ``yesterday``, ``2026-10-28``, ``10/28``, ``28 Oct``."""

from __future__ import annotations

import re
from datetime import date, timedelta

from chillplan.errors import InputError, quoted

__all__ = ["MONTHS", "read_day"]

MONTHS = ("jan", "feb", "mar", "apr", "may", "jun", "jul", "aug", "sep", "oct", "nov", "dec")
DAYS_AGO = {"today": 0, "yesterday": 1, "the day before yesterday": 2}
_FIGURES = re.compile(r"(\d{1,2})[/.](\d{1,2})(?:[/.](\d{4}|\d{2}))?\.?")
_DAY_FIRST = re.compile(r"(\d{1,2})\.?\s+([a-z]{3})[a-z]*\.?,?(?:\s+(\d{4}))?")
_MONTH_FIRST = re.compile(r"([a-z]{3})[a-z]*\.?\s+(\d{1,2}),?(?:\s+(\d{4}))?")


def read_day(text: str, today: date, order: str = "") -> date:
    """A day in words or figures.

    Parameters
    ----------
    text : str
        ISO date, ``today``, ``yesterday``, ``3 days ago``, ``28 Oct``, ``Oct 28, 2026``, ``10/28`` or ``28.10.``;
        without a year it is the last such day that is not to come.
    today : datetime.date
    order : str
        ``mdy`` or ``dmy``: what figures such as ``10/11`` mean; with neither they must tell by themselves.

    Raises
    ------
    InputError
        If it is no date, or could be two.
    """
    plain = " ".join(text.lower().split())
    ago = re.fullmatch(r"(\d{1,3}) days? ago", plain)
    if plain in DAYS_AGO or ago:
        return today - timedelta(days=int(ago[1]) if ago else DAYS_AGO[plain])
    try:
        if re.fullmatch(r"\d{4}-\d{1,2}-\d{1,2}", plain):
            return date(*map(int, plain.split("-")))
        found = _month_and_day(plain, order)
        if found is not None:
            return _dated(*found, today)
    except ValueError:
        pass
    raise InputError(f"{quoted(text)} is not a date: write YYYY-MM-DD, for example 2027-05-10")


def _month_and_day(plain: str, order: str) -> tuple[int, int, str | None] | None:
    """Month, day and year as they stand in the text."""
    if named := _DAY_FIRST.fullmatch(plain):
        return MONTHS.index(named[2]) + 1, int(named[1]), named[3]
    if named := _MONTH_FIRST.fullmatch(plain):
        return MONTHS.index(named[1]) + 1, int(named[2]), named[3]
    figures = _FIGURES.fullmatch(plain)
    if figures is None:
        return None
    first, second = int(figures[1]), int(figures[2])
    if order not in {"mdy", "dmy"}:
        if first <= 12 and second <= 12 and first != second:
            raise InputError(
                f"{quoted(plain)} could be two days: write YYYY-MM-DD, or say your order with --dates mdy or dmy"
            )
        order = "dmy" if first > 12 else "mdy"
    return (first, second, figures[3]) if order == "mdy" else (second, first, figures[3])


def _dated(month: int, day: int, year: str | None, today: date) -> date:
    if year is not None:
        return date(int(year) + (2000 if len(year) == 2 else 0), month, day)
    this = date(today.year, month, day)
    return this if this <= today else date(today.year - 1, month, day)
