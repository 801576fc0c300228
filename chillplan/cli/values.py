"""Turns the text of options into values, collecting every fault."""

from __future__ import annotations

import math
import re
from datetime import date

from chillplan.day_words import read_day
from chillplan.errors import InputError, Problems, quoted

__all__ = ["choice", "day", "number", "whole_number", "year_range"]


def number(problems: Problems, option: str, text: str | None, low: float, high: float, unit: str = "") -> float | None:
    """A number within bounds, or None with the fault noted."""
    if text is None:
        return None
    try:
        value = float(text)
    except ValueError:
        problems.add(
            f"{option} {quoted(text)} is not a number: write it with a decimal point, for example {option} 4.5"
        )
        return None
    if not math.isfinite(value) or not low <= value <= high:
        share = high <= 1.0 < value <= 100.0 and low <= value / 100.0 <= high
        mend = f"write {value:g} % as {value / 100.0:g}" if share else "check the value"
        bounds = f"{_plain(low)} to {_plain(high)}{f' {unit}' if unit else ''}"
        problems.add(f"{option} {quoted(text)} is outside {bounds}: {mend}")
        return None
    return value


def _plain(bound: float) -> str:
    """A bound as a grower writes it, without powers of ten."""
    return f"{bound:.6f}".rstrip("0").rstrip(".")


def whole_number(problems: Problems, option: str, text: str | None, low: int, high: int) -> int | None:
    """A whole number within bounds, or None with the fault noted."""
    if text is None:
        return None
    if not re.fullmatch(r"[+-]?\d{1,9}", text.strip()) or not low <= int(text) <= high:
        problems.add(f"{option} {quoted(text)} is not a whole number from {low} to {high}: check the value")
        return None
    return int(text)


def day(problems: Problems, option: str, text: str | None, today: date | None = None, order: str = "") -> date | None:
    """A calendar date, or None with the fault noted; with the day it is asked on, ``yesterday`` and ``10/28`` too."""
    if text is None:
        return None
    try:
        return date.fromisoformat(text.strip()) if today is None else read_day(text, today, order)
    except InputError as error:
        problems.add(f"{option} {error.problems[0]}")
    except ValueError:
        problems.add(f"{option} {quoted(text)} is not a date: write YYYY-MM-DD, for example 2027-05-10")
    return None


def year_range(problems: Problems, option: str, text: str | None) -> tuple[int, int] | None:
    """First and last year, or None with the fault noted."""
    if text is None:
        return None
    found = re.fullmatch(r"\s*(\d{4})\s*[-–]\s*(\d{4})\s*", text)
    if not found or int(found[1]) > int(found[2]):
        problems.add(f"{option} {quoted(text)} is not FIRST-LAST: write for example {option} 1991-2020")
        return None
    return int(found[1]), int(found[2])


def choice(problems: Problems, option: str, text: str, known: tuple[str, ...]) -> str:
    """One of a few words; the first where the fault is noted."""
    if text not in known:
        problems.add(f"{option} {quoted(text)} is not known: use {', '.join(known[:-1])} or {known[-1]}")
        return known[0]
    return text
