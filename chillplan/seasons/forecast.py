"""This season so far, continued by every past season: an ensemble of how the winter may end.

Each past season lends its days after today to the days of this season already known. Soil and snow run through from
the known days into the lent ones, so that what this winter has stored is carried on.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import date, timedelta

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from chillplan.errors import DataGapError
from chillplan.seasons.cut import DAYS, SPIN_UP, VARIABLES, Seasons, season_of, season_start

__all__ = ["SeasonSoFar", "only", "season_so_far", "spliced", "without"]

FloatArray = NDArray[np.floating]

MISSING_ALLOWED = 0.1
"""Share of this season's known days that may be missing. Our choice. [-]"""


@dataclass(frozen=True)
class SeasonSoFar:
    """The known days of the present season.

    Attributes
    ----------
    year : int
        Year in which its winter begins.
    southern : bool
    daily : mapping of str to numpy.ndarray, shape (spin-up day + known day,)
        As in `Seasons`; NaN where missing.
    known : int
        Days of the season that are known; the first unknown day has this index. [day]
    missing : int
        Of the known days. [day]
    """

    year: int
    southern: bool
    daily: dict[str, FloatArray]
    known: int
    missing: int

    @property
    def last_day(self) -> date:
        """The last day known."""
        return season_start(self.year, self.southern) + timedelta(days=self.known - 1)


def season_so_far(daily: pd.DataFrame, southern: bool, today: date) -> SeasonSoFar:
    """Take the present season out of a record.

    Parameters
    ----------
    daily : pandas.DataFrame
        Index of consecutive dates; columns as in a history. Days from `today` on are not looked at.
    southern : bool
    today : datetime.date

    Raises
    ------
    DataGapError
        If no day of the season is in the record, or more than a tenth of the days up to the last one is missing.
    """
    year = season_of(today, southern)
    start = season_start(year, southern)
    days = pd.date_range(start - timedelta(days=SPIN_UP), today - timedelta(days=1), freq="D")
    columns = [name for name in VARIABLES if name in daily.columns]
    block = daily[columns].reindex(days)
    both = (block["tmin"].notna() & block["tmax"].notna()).to_numpy()
    inside = both[SPIN_UP:]
    if not inside.size:
        raise DataGapError(
            f"this season begins today, {today}: no day of it is known yet; ask again when some have passed"
        )
    if not inside.any():
        last = f"{daily.index[-1].date()}" if len(daily) else "nowhere"
        raise DataGapError(
            f"the record ends {last}, before this season's first day {start} or without a temperature in it: "
            f"give this winter's temperatures up to {today} with --weather"
        )
    known = int(np.flatnonzero(inside)[-1]) + 1
    missing = int((~inside[:known]).sum())
    if missing > MISSING_ALLOWED * known:
        raise DataGapError(
            f"{missing} of the {known} days from {start} to {start + timedelta(days=known - 1)} are missing: "
            "give a more complete record of this winter"
        )
    arrays = {name: block[name].to_numpy(dtype=float)[: SPIN_UP + known] for name in columns}
    return SeasonSoFar(year, southern, arrays, known, missing)


def without(seasons: Seasons, year: int) -> Seasons:
    """The seasons but one.

    Raises
    ------
    DataGapError
        If nothing is left.
    """
    keep = seasons.years != year
    if not keep.any():
        raise DataGapError("there is no past winter in the record: give a longer one")
    if keep.all():
        return seasons
    return _kept(seasons, keep)


def only(seasons: Seasons, index: int) -> Seasons:
    """One of the seasons, by its position."""
    return _kept(seasons, np.arange(seasons.years.size) == index)


def _kept(seasons: Seasons, keep: NDArray[np.bool_]) -> Seasons:
    return replace(
        seasons,
        years=seasons.years[keep],
        daily={name: values[:, keep] for name, values in seasons.daily.items()},
        observed=seasons.observed[:, keep],
        day_of_year=seasons.day_of_year[:, keep],
    )


def spliced(past: Seasons, so_far: SeasonSoFar) -> Seasons:
    """Continue the season so far by the remainder of every past season.

    Parameters
    ----------
    past : Seasons
        Without the present season.
    so_far : SeasonSoFar
        A day missing in it takes the mean of that day over the past seasons.

    Returns
    -------
    Seasons
        One column for each past season, under its year. A variable is kept where both have it.
    """
    known = SPIN_UP + so_far.known
    daily: dict[str, FloatArray] = {}
    for name, values in past.daily.items():
        if name not in so_far.daily or (name not in {"tmin", "tmax"} and np.isnan(so_far.daily[name]).all()):
            continue
        seen = so_far.daily[name]
        if name in {"tmin", "tmax"}:
            seen = np.where(np.isnan(seen), values[:known].mean(axis=1), seen)
        daily[name] = np.concatenate([np.repeat(seen[:, None], values.shape[1], axis=1), values[known:]])
    observed = np.concatenate(
        [np.ones((min(so_far.known, DAYS), past.years.size), bool), past.observed[so_far.known :]]
    )
    head = np.repeat(past.day_of_year[:known, :1], past.years.size, axis=1)
    day_of_year = np.concatenate([head, past.day_of_year[known:]])
    return replace(past, daily=daily, observed=observed, day_of_year=day_of_year)
