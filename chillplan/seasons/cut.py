"""Cuts a daily history into seasons: arrays with the day first and the season second."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date, timedelta

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from chillplan.errors import DataGapError
from chillplan.physics.climate import filled_precipitation

__all__ = [
    "DAYS",
    "MIDWINTER",
    "SPIN_UP",
    "UNKNOWN_WATER_ALLOWED",
    "Seasons",
    "cut_seasons",
    "daily_means",
    "day_index",
    "season_of",
    "season_start",
]

FloatArray = NDArray[np.floating]

DAYS = 365  # days of a season; the last day of a leap season falls away
SPIN_UP = 120  # days before the season that let soil and snow forget their starting values
MIDWINTER = 153  # day index of 1 January (4 July in the south): what sprouts before has sprouted in autumn
START_MONTH = {False: 8, True: 2}  # first month of a season, by "southern"
MISSING_ALLOWED = 0.05
UNKNOWN_WATER_ALLOWED = 0.5  # share of days without precipitation up to which they are guessed
FEWEST = 3
SMOOTH = 15  # days over which the means that fill gaps are smoothed
VARIABLES = ("tmin", "tmax", "precipitation", "snow_depth")


@dataclass(frozen=True)
class Seasons:
    """Usable seasons of a history.

    Attributes
    ----------
    years : numpy.ndarray of int, shape (season,)
        The year in which each season's winter begins (in the south the year it falls in).
    southern : bool
    daily : mapping of str to numpy.ndarray, shape (spin-up day + day, season)
        ``tmin``, ``tmax`` [°C] without gaps; ``precipitation``, ``snow_depth`` [mm] where the record has them.
    observed : numpy.ndarray of bool, shape (day, season)
        Both temperatures were observed or interpolated over a short gap.
    day_of_year : numpy.ndarray, shape (spin-up day + day, season)
        1 on 1 January. [day]
    left_out : mapping of int to str
        Seasons that cannot be used, and why.
    guessed_water : mapping of int to int
        Days by season whose precipitation is missing and guessed, where there are any. [day]
    """

    years: NDArray[np.int_]
    southern: bool
    daily: Mapping[str, FloatArray]
    observed: NDArray[np.bool_]
    day_of_year: NDArray[np.int_]
    left_out: Mapping[int, str]
    guessed_water: Mapping[int, int] = field(default_factory=dict)

    @property
    def following(self) -> NDArray[np.int_]:
        """Index of the season that follows each season, -1 where it is not usable; shape (season,)."""
        where = {int(year): index for index, year in enumerate(self.years)}
        return np.array([where.get(int(year) + 1, -1) for year in self.years])


def season_start(year: int, southern: bool) -> date:
    """First day of a season: 1 August north of the equator, 1 February south of it."""
    return date(year, START_MONTH[southern], 1)


def season_of(day: date, southern: bool) -> int:
    """Season in which a day falls."""
    return day.year if day >= season_start(day.year, southern) else day.year - 1


def day_index(day: date, southern: bool) -> int:
    """Days since the start of the season in which a day falls."""
    return (day - season_start(season_of(day, southern), southern)).days


def cut_seasons(daily: pd.DataFrame, southern: bool, years: tuple[int, int] | None = None) -> Seasons:
    """Cut a daily table into seasons.

    A season with more than 5 % missing days is left out and named. The few missing days of the others, and those of
    the spin-up, take the mean of that day over all seasons, so that the soil model can run through them. Missing
    precipitation is guessed from the daily range, scaled to the record; a season where it is missing on more than half
    of the days is left out, and a record where it is missing on more than half counts as having none.

    Parameters
    ----------
    daily : pandas.DataFrame
        Index of consecutive dates; columns ``tmin``, ``tmax``, optionally ``precipitation`` and ``snow_depth``.
    southern : bool
        Whether the site lies south of the equator.
    years : tuple of int, optional
        First and last season to use.

    Returns
    -------
    Seasons

    Raises
    ------
    DataGapError
        If fewer than 3 seasons can be used.
    """
    first, last = daily.index[0].date(), daily.index[-1].date()
    wanted = range(season_of(first, southern), season_of(last, southern) + 1)
    if years is not None:
        wanted = range(max(wanted.start, years[0]), min(wanted.stop, years[1] + 1))
    daily, unknown = _with_water(daily)
    blocks = {year: _block(daily, year, southern) for year in wanted}
    left_out: dict[int, str] = {}
    guessed: dict[int, int] = {}
    for year, block in blocks.items():
        inside = block[SPIN_UP:]
        missing = int((inside["tmin"].isna() | inside["tmax"].isna()).sum())
        if missing > MISSING_ALLOWED * DAYS:
            left_out[year] = f"{missing} of {DAYS} days missing"
            continue
        without = int(unknown.reindex(inside.index, fill_value=False).sum())
        if without > UNKNOWN_WATER_ALLOWED * DAYS:
            left_out[year] = f"precipitation missing on {without} of {DAYS} days, so snow cannot be told"
        elif without:
            guessed[year] = without
    usable = [year for year in wanted if year not in left_out]
    if len(usable) < FEWEST:
        raise DataGapError(_too_few(usable, left_out, first, last, years))
    return _stack({year: blocks[year] for year in usable}, southern, left_out, guessed)


def _with_water(daily: pd.DataFrame) -> tuple[pd.DataFrame, pd.Series]:
    """The record with its missing precipitation guessed, and the days of known temperature on which it was."""
    if "precipitation" not in daily:
        return daily, pd.Series(False, index=daily.index)
    known = daily["tmin"].notna() & daily["tmax"].notna()
    unknown = known & daily["precipitation"].isna()
    if unknown.sum() > UNKNOWN_WATER_ALLOWED * known.sum():
        return daily.drop(columns="precipitation"), pd.Series(False, index=daily.index)
    if not daily["precipitation"].isna().any():
        return daily, unknown
    low, high, water = (daily[name].to_numpy(dtype=float) for name in ("tmin", "tmax", "precipitation"))
    return daily.assign(precipitation=filled_precipitation(low, high, water)), unknown


def _block(daily: pd.DataFrame, year: int, southern: bool) -> pd.DataFrame:
    start = season_start(year, southern) - timedelta(days=SPIN_UP)
    dates = pd.date_range(start, periods=SPIN_UP + DAYS, freq="D")
    columns = [name for name in VARIABLES if name in daily.columns]
    return daily[columns].reindex(dates)


def _stack(
    blocks: dict[int, pd.DataFrame], southern: bool, left_out: dict[int, str], guessed: dict[int, int]
) -> Seasons:
    years = np.array(list(blocks), dtype=int)
    tables = list(blocks.values())
    arrays: dict[str, FloatArray] = {}
    for name in VARIABLES:
        if all(name in table for table in tables):
            stacked = np.stack([table[name].to_numpy(dtype=float) for table in tables], axis=1)
            if name in {"tmin", "tmax"}:
                # Gaps take the mean of their day, so that the soil model can run through them.
                arrays[name] = np.where(np.isnan(stacked), daily_means(stacked)[:, None], stacked)
            elif name == "precipitation":
                # All days of the record are known or guessed by now: only days beyond its ends are left, as on a map.
                arrays[name] = np.nan_to_num(stacked)
            elif not np.isnan(stacked).all():
                arrays[name] = stacked
    both = np.stack([(table["tmin"].notna() & table["tmax"].notna()).to_numpy() for table in tables], axis=1)
    day_of_year = np.stack([pd.DatetimeIndex(table.index).day_of_year.to_numpy() for table in tables], axis=1)
    return Seasons(
        years=years,
        southern=southern,
        daily=arrays,
        observed=both[SPIN_UP:],
        day_of_year=day_of_year,
        left_out=left_out,
        guessed_water=guessed,
    )


def daily_means(values: FloatArray) -> FloatArray:
    """Mean of each day over all seasons, smoothed over 15 days: what a missing day takes.

    Parameters
    ----------
    values : numpy.ndarray, shape (day, season, ...)
        NaN is left out.

    Returns
    -------
    numpy.ndarray, shape (day, ...)
        NaN where no season has any of the 15 days.
    """
    total, count = _sums([values[:, season] for season in range(values.shape[1])])
    with np.errstate(invalid="ignore"):
        mean = total / count
        edge = np.full((SMOOTH // 2, *mean.shape[1:]), np.nan)
        padded = np.concatenate([edge, mean, edge])
        total, count = _sums([padded[shift : shift + len(mean)] for shift in range(SMOOTH)])
        return np.asarray(total / count)


def _sums(parts: list[FloatArray]) -> tuple[FloatArray, FloatArray]:
    """Sum and number of the values there are, one part after the other."""
    total, count = np.zeros(parts[0].shape), np.zeros(parts[0].shape)
    for part in parts:
        there = ~np.isnan(part)
        total += np.where(there, part, 0.0)
        count += there
    return total, count


def _too_few(
    usable: list[int], left_out: dict[int, str], first: date, last: date, years: tuple[int, int] | None
) -> str:
    named = "; ".join(f"{year}/{(year + 1) % 100:02d}: {reason}" for year, reason in list(left_out.items())[:5])
    asked = f" among {years[0]} to {years[1]}" if years else ""
    return (
        f"{len(usable)} usable winters{asked} in a record from {first} to {last}, at least {FEWEST} are needed"
        f"{f' (left out: {named})' if named else ''}: give a longer record"
    )
