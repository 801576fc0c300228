"""Days of a season as half months and dates, on either side of the equator."""

from __future__ import annotations

from collections.abc import Callable
from datetime import date, timedelta

import numpy as np
from numpy.typing import NDArray

from chillplan.seasons.cut import season_start

__all__ = ["half_month_of", "half_month_words", "long_date", "month_words"]

FloatArray = NDArray[np.floating]

YEAR = 2025  # a season without a 29 February on either side of the equator
MIDDLE = 16  # the second half of a month begins on this day
MONTHS = (
    "January", "February", "March", "April", "May", "June", "July", "August", "September", "October", "November",
    "December",
)  # fmt: skip
LONGEST = 800  # days; the window of two winters ends before


def _begins(south: bool) -> NDArray[np.int_]:
    """Day index on which each half month of a season begins, the season's first day among them."""
    start = season_start(YEAR, south)
    return np.array([n for n in range(LONGEST) if (start + timedelta(days=n)).day in {1, MIDDLE}])


def half_month_of(days: FloatArray, southern: NDArray[np.bool_]) -> FloatArray:
    """Number of the half month of a season in which days lie.

    Parameters
    ----------
    days : numpy.ndarray, shape (..., place)
        Days of the season; NaN and infinite where there is none. [day]
    southern : numpy.ndarray of bool, shape (place,)

    Returns
    -------
    numpy.ndarray, shape (..., place)
        NaN where there is no day.
    """
    there = np.isfinite(days)
    whole = np.where(there, days, 0.0)
    north, south = (np.searchsorted(_begins(side), whole, side="right") - 1.0 for side in (False, True))
    return np.where(there, np.where(southern, south, north), np.nan)


def half_month_words(number: int, southern: NDArray[np.bool_]) -> str:
    """``1 to 15 October``, for the sides of the equator that occur."""

    def words(south: bool) -> str:
        begins = _begins(south)
        first, last = (season_start(YEAR, south) + timedelta(days=int(begins[at])) for at in (number, number + 1))
        return f"{first.day} to {(last - timedelta(days=1)).day} {MONTHS[first.month - 1]}"

    return _on_sides(words, southern)


def month_words(number: int, southern: NDArray[np.bool_]) -> str:
    """``October``, the month whose first half has a number, for the sides of the equator that occur."""

    def words(south: bool) -> str:
        return MONTHS[(season_start(YEAR, south) + timedelta(days=int(_begins(south)[number]))).month - 1]

    return _on_sides(words, southern)


def _on_sides(words: Callable[[bool], str], southern: NDArray[np.bool_]) -> str:
    said = [words(side) for side in (False, True) if (southern == side).any()]
    return said[0] if len(said) == 1 else f"{said[0]}, south of the equator {said[1]}"


def long_date(day: int, south: bool) -> str:
    """``14 October``."""
    found: date = season_start(YEAR, south) + timedelta(days=day)
    return f"{found.day} {MONTHS[found.month - 1]}"
