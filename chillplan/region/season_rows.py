"""Where the days of each season lie on a time axis."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta

import numpy as np
from numpy.typing import NDArray

from chillplan.errors import DataGapError
from chillplan.seasons.cut import DAYS, FEWEST, MISSING_ALLOWED, SPIN_UP, season_of, season_start

__all__ = ["SeasonRows", "season_rows"]


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


def season_rows(days: NDArray[np.int64], southern: bool, years: tuple[int, int] | None = None) -> SeasonRows:
    """Find the days of each season on a time axis.

    Parameters
    ----------
    days : numpy.ndarray of int, shape (time,)
        Proleptic Gregorian ordinals of the dates, in any order, none twice. [day]
    southern : bool
        Whether the places lie south of the equator.
    years : tuple of int, optional
        First and last season to use.

    Raises
    ------
    DataGapError
        If the axis holds fewer than 3 seasons.
    """
    first, last = date.fromordinal(int(days.min())), date.fromordinal(int(days.max()))
    wanted = range(season_of(first, southern), season_of(last, southern) + 1)
    if years is not None:
        wanted = range(max(wanted.start, years[0]), min(wanted.stop, years[1] + 1))
    position = np.full(int(days.max()) - int(days.min()) + 1, -1, dtype=np.int32)
    position[days - days.min()] = np.arange(days.size, dtype=np.int32)
    kept, rows, calendar = [], [], []
    for year in wanted:
        start = season_start(year, southern).toordinal() - SPIN_UP
        offset = np.arange(start, start + SPIN_UP + DAYS) - int(days.min())
        inside = (offset >= 0) & (offset < position.size)
        row = np.where(inside, position[np.clip(offset, 0, position.size - 1)], -1)
        if (row[SPIN_UP:] < 0).sum() > MISSING_ALLOWED * DAYS:
            continue
        begin = date.fromordinal(start)
        dates = [begin + timedelta(days=offset) for offset in range(SPIN_UP + DAYS)]
        kept.append(year)
        rows.append(row)
        calendar.append([day.timetuple().tm_yday for day in dates])
    if len(kept) < FEWEST:
        said = "whole winter" if len(kept) == 1 else "whole winters"
        asked = f" among {years[0]} to {years[1]}" if years else ""
        raise DataGapError(
            f"{len(kept)} {said}{asked} on a time axis from {first} to {last}, at least {FEWEST} are needed: "
            "give a longer record"
        )
    return SeasonRows(np.array(kept), southern, np.array(rows, dtype=np.int32), np.array(calendar, dtype=np.int32))
