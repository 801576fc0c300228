"""Dates and times as loggers write them, read without guessing more than the text allows."""

from __future__ import annotations

import re
from datetime import date, datetime, time
from functools import lru_cache

__all__ = ["DateOrder", "read_day", "read_time", "split_moment"]

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
