"""The season: where its days lie on a time axis, and a daily history cut into arrays, day first and season second."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from chillplan.errors import DataGapError, counted
from chillplan.physics.climate import filled_precipitation

__all__ = [
    "DAYS",
    "FEWEST",
    "MIDWINTER",
    "MISSING_ALLOWED",
    "SPIN_UP",
    "UNKNOWN_WATER_ALLOWED",
    "SeasonRows",
    "Seasons",
    "cut_seasons",
    "daily_means",
    "day_index",
    "season_label",
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
        return _following(self.years)

    def only(self, keep: NDArray[np.bool_]) -> SeasonRows:
        """Some of the seasons."""
        return SeasonRows(self.years[keep], self.southern, self.row[keep], self.day_of_year[keep])


def season_label(year: int) -> str:
    """``2026/27``."""
    return f"{year}/{(year + 1) % 100:02d}"


def _following(years: NDArray[np.int_]) -> NDArray[np.int64]:
    where = {int(year): index for index, year in enumerate(years)}
    return np.array([where.get(int(year) + 1, -1) for year in years], dtype=np.int64)


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
            f"{counted(count, 'whole winter')}{asked} on a time axis from {first} to {last}, at least "
            f"{FEWEST} are needed: give a longer record"
        )
    return kept


FloatArray = NDArray[np.floating]

MIDWINTER = 153  # day index of 1 January (4 July in the south): what sprouts before has sprouted in autumn
UNKNOWN_WATER_ALLOWED = 0.5  # share of days without precipitation up to which they are guessed
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
    day_of_year: NDArray[np.integer]
    left_out: Mapping[int, str]
    guessed_water: Mapping[int, int] = field(default_factory=dict)

    @property
    def following(self) -> NDArray[np.int_]:
        """Index of the season that follows each season, -1 where it is not usable; shape (season,)."""
        return _following(self.years)


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
    ordinals = np.array([day.toordinal() for day in daily.index], dtype=np.int64)
    rows = season_rows(ordinals, southern, years)
    values, unknown = _with_water({name: daily[name].to_numpy(dtype=float) for name in VARIABLES if name in daily})
    missing = np.isnan(_laid(values["tmin"], rows)) | np.isnan(_laid(values["tmax"], rows))
    gaps = missing[SPIN_UP:].sum(axis=0)
    dry = (_laid(unknown.astype(float), rows)[SPIN_UP:] == 1.0).sum(axis=0)
    left_out: dict[int, str] = {}
    for year, gap, without in zip(rows.years.tolist(), gaps.tolist(), dry.tolist(), strict=True):
        if gap > MISSING_ALLOWED * DAYS:
            left_out[year] = f"{gap} of {DAYS} days missing"
        elif without > UNKNOWN_WATER_ALLOWED * DAYS:
            left_out[year] = f"precipitation missing on {without} of {DAYS} days, so snow cannot be told"
    usable = np.array([year not in left_out for year in rows.years.tolist()], dtype=bool)
    if usable.sum() < FEWEST:
        first, last = daily.index[0].date(), daily.index[-1].date()
        raise DataGapError(_too_few(int(usable.sum()), left_out, first, last, years))
    kept = rows.only(usable)
    return Seasons(
        years=kept.years,
        southern=southern,
        daily={name: laid for name, array in values.items() if (laid := _filled(name, _laid(array, kept))) is not None},
        observed=~missing[SPIN_UP:, usable],
        day_of_year=np.ascontiguousarray(kept.day_of_year.T),
        left_out=left_out,
        guessed_water={
            year: count for year, count in zip(kept.years.tolist(), dry[usable].tolist(), strict=True) if count
        },
    )


def _laid(values: FloatArray, rows: SeasonRows) -> FloatArray:
    """A series of the record, a column a season; NaN beyond its ends. Shape (spin-up day + day, season)."""
    return np.ascontiguousarray(np.where(rows.row >= 0, values[rows.row], np.nan).T)


def _filled(name: str, laid: FloatArray) -> FloatArray | None:
    """Gaps of temperature take the mean of their day, so that the soil model can run through them."""
    if name in {"tmin", "tmax"}:
        return np.where(np.isnan(laid), daily_means(laid)[:, None], laid)
    if name == "precipitation":
        # All days of the record are known or guessed by now: only days beyond its ends are left, as on a map.
        return np.nan_to_num(laid)
    return None if np.isnan(laid).all() else laid


def _with_water(values: dict[str, FloatArray]) -> tuple[dict[str, FloatArray], NDArray[np.bool_]]:
    """The record with its missing precipitation guessed, and the days of known temperature on which it was."""
    low, high = values["tmin"], values["tmax"]
    none = np.zeros(low.size, dtype=bool)
    if "precipitation" not in values:
        return values, none
    water = values["precipitation"]
    known = ~(np.isnan(low) | np.isnan(high))
    unknown = known & np.isnan(water)
    if unknown.sum() > UNKNOWN_WATER_ALLOWED * known.sum():
        return {name: array for name, array in values.items() if name != "precipitation"}, none
    return {**values, "precipitation": filled_precipitation(low, high, water)}, unknown


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


def _too_few(usable: int, left_out: dict[int, str], first: date, last: date, years: tuple[int, int] | None) -> str:
    named = "; ".join(f"{season_label(year)}: {reason}" for year, reason in list(left_out.items())[:5])
    asked = f" among {years[0]} to {years[1]}" if years else ""
    return (
        f"{counted(usable, 'usable winter')}{asked} in a record from {first} to {last}, at least {FEWEST} are needed"
        f"{f' (left out: {named})' if named else ''}: give a longer record"
    )
