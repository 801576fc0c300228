"""The season: how long it is, where it begins, and where the days of each one lie on a time axis."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

import numpy as np
from numpy.typing import NDArray

from chillplan.errors import DataGapError

__all__ = [
    "DAYS",
    "FEWEST",
    "MISSING_ALLOWED",
    "SPIN_UP",
    "SeasonRows",
    "day_index",
    "season_of",
    "season_rows",
    "season_start",
    "whole_rows",
]

DAYS = 365  # days of a season; the last day of a leap season falls away
SPIN_UP = 120  # days before the season that let soil and snow forget their starting values
START_MONTH = {False: 8, True: 2}  # first month of a season, by "southern"
MISSING_ALLOWED = 0.05
FEWEST = 3


@dataclass(frozen=True)
class SeasonRows:
    """Days of the seasons of one hemisphere.

    Attributes
    ----------
    years : numpy.ndarray of int, shape (season,)
    southern : bool
    row : numpy.ndarray of int32, shape (season, spin-up day + day)
        Position on the time axis, -1 where the day is not on it.
    day_of_year : numpy.ndarray of int32, shape (season, spin-up day + day)
        1 on 1 January. [day]
    """

    years: NDArray[np.int_]
    southern: bool
    row: NDArray[np.int32]
    day_of_year: NDArray[np.int32]

    @property
    def following(self) -> NDArray[np.int64]:
        """Index of the season that follows each, -1 where it is not among them; shape (season,)."""
        where = {int(year): index for index, year in enumerate(self.years)}
        return np.array([where.get(int(year) + 1, -1) for year in self.years], dtype=np.int64)

    def only(self, keep: NDArray[np.bool_]) -> SeasonRows:
        """Some of the seasons."""
        return SeasonRows(self.years[keep], self.southern, self.row[keep], self.day_of_year[keep])


def season_start(year: int, southern: bool) -> date:
    """First day of a season: 1 August north of the equator, 1 February south of it."""
    return date(year, START_MONTH[southern], 1)


def season_of(day: date, southern: bool) -> int:
    """Season in which a day falls."""
    return day.year if day >= season_start(day.year, southern) else day.year - 1


def day_index(day: date, southern: bool) -> int:
    """Days since the start of the season in which a day falls."""
    return (day - season_start(season_of(day, southern), southern)).days


def season_rows(days: NDArray[np.int64], southern: bool, years: tuple[int, int] | None = None) -> SeasonRows:
    """Find the days of each season of which a time axis holds any.

    Parameters
    ----------
    days : numpy.ndarray of int, shape (time,)
        Proleptic Gregorian ordinals of the dates, in any order, none twice. [day]
    southern : bool
        Whether the places lie south of the equator.
    years : tuple of int, optional
        First and last season to use.
    """
    first, last = int(days.min()), int(days.max())
    wanted = range(season_of(date.fromordinal(first), southern), season_of(date.fromordinal(last), southern) + 1)
    if years is not None:
        wanted = range(max(wanted.start, years[0]), min(wanted.stop, years[1] + 1))
    position = np.full(last - first + 1, -1, dtype=np.int32)
    position[days - first] = np.arange(days.size, dtype=np.int32)
    starts = np.array([season_start(year, southern).toordinal() - SPIN_UP for year in wanted], dtype=np.int64)
    ordinals = starts[:, None] + np.arange(SPIN_UP + DAYS)
    inside = (ordinals >= first) & (ordinals <= last)
    row = np.where(inside, position[np.clip(ordinals - first, 0, position.size - 1)], -1).astype(np.int32)
    day_of_year = [date.fromordinal(day).timetuple().tm_yday for day in ordinals.ravel().tolist()]
    return SeasonRows(
        np.array(wanted, dtype=int), southern, row, np.array(day_of_year, dtype=np.int32).reshape(row.shape)
    )


def whole_rows(days: NDArray[np.int64], southern: bool, years: tuple[int, int] | None = None) -> SeasonRows:
    """The seasons of which the time axis holds enough days; parameters as of `season_rows`.

    Raises
    ------
    DataGapError
        If there are fewer than 3.
    """
    rows = season_rows(days, southern, years)
    kept = rows.only((rows.row[:, SPIN_UP:] < 0).sum(axis=1) <= MISSING_ALLOWED * DAYS)
    count = kept.years.size
    if count < FEWEST:
        asked = f" among {years[0]} to {years[1]}" if years else ""
        first, last = date.fromordinal(int(days.min())), date.fromordinal(int(days.max()))
        raise DataGapError(
            f"{count} whole winter{'' if count == 1 else 's'}{asked} on a time axis from {first} to {last}, at least "
            f"{FEWEST} are needed: give a longer record"
        )
    return kept
