"""Quality checks on values that repeat: months copied from other months, tmin copied from tmax (Durre et al. 2010)."""

from __future__ import annotations

import numpy as np
import pandas as pd
from numpy.typing import NDArray

__all__ = ["equal_days", "repeated_months"]

EQUAL_DAYS = 10
_FEWEST_VALUES = 20  # of a month, so that chance does not make two months equal
_FEWEST_DIFFERENT = 4  # a month of a few values only is no copy


def repeated_months(values: NDArray[np.floating], dates: pd.DatetimeIndex) -> NDArray[np.bool_]:
    """Months that equal another month of the record value by value; which is the copy cannot be told.

    Parameters
    ----------
    values : numpy.ndarray, shape (day,)
        NaN must stand on the same days of the month in both. [°C]
    dates : pandas.DatetimeIndex, length day

    Returns
    -------
    numpy.ndarray of bool, shape (day,)
        Copied whole years are found month by month.
    """
    number = dates.year.to_numpy() * 12 + dates.month.to_numpy() - 1
    first = int(number[0])
    table = np.full((int(number[-1]) - first + 1, 28), np.nan)
    days = dates.day.to_numpy()
    inside = days <= 28
    table[number[inside] - first, days[inside] - 1] = np.round(values[inside], 1)
    known = (~np.isnan(table)).sum(axis=1)
    seen: dict[bytes, list[int]] = {}
    for row in np.flatnonzero(known >= _FEWEST_VALUES):
        if np.unique(table[row][~np.isnan(table[row])]).size >= _FEWEST_DIFFERENT:
            seen.setdefault((table[row] + 0.0).tobytes(), []).append(int(row))
    repeated = [row for rows in seen.values() if len(rows) > 1 for row in rows]
    return np.asarray(np.isin(number - first, repeated) & ~np.isnan(values))


def equal_days(tmin: NDArray[np.floating], tmax: NDArray[np.floating], dates: pd.DatetimeIndex) -> NDArray[np.bool_]:
    """Days with tmin equal to tmax in months that have ten or more of them.

    Parameters
    ----------
    tmin, tmax : numpy.ndarray, shape (day,)
        [°C]
    dates : pandas.DatetimeIndex, length day

    Returns
    -------
    numpy.ndarray of bool, shape (day,)
    """
    equal = np.abs(tmin - tmax) < 1e-6
    number = dates.year.to_numpy() * 12 + dates.month.to_numpy() - 1
    number = number - number[0]
    return np.asarray(equal & (np.bincount(number, weights=equal)[number] >= EQUAL_DAYS))
