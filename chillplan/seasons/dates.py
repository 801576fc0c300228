"""Frost dates and soil-warming dates as day indices in the season.

A date that does not exist is an answer: ``-inf`` means before any date (no frost in spring, soil never below
the threshold), ``inf`` after any date (no frost in autumn, threshold never reached).
"""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

from chillplan.errors import InputError

__all__ = ["first_frost", "last_frost", "running_mean", "soil_warming_day"]

FloatArray = NDArray[np.floating]


def first_frost(minimum: ArrayLike, threshold: float = 0.0) -> FloatArray:
    """First day of the season with a minimum at or below a threshold.

    Parameters
    ----------
    minimum : array_like, shape (day, ...)
        Daily minimum from the season's first day; NaN is no frost. [°C]
    threshold : float
        [°C]

    Returns
    -------
    numpy.ndarray, shape (...,)
        Day index; ``inf`` in a season without frost. [day]
    """
    frost = np.asarray(minimum) <= threshold
    return np.where(frost.any(axis=0), frost.argmax(axis=0), np.inf)


def last_frost(minimum: ArrayLike, threshold: float = 0.0) -> FloatArray:
    """Last day of the season with a minimum at or below a threshold.

    Parameters as of `first_frost`; ``-inf`` in a season without frost. [day]
    """
    frost = np.asarray(minimum) <= threshold
    last = frost.shape[0] - 1 - frost[::-1].argmax(axis=0)
    return np.where(frost.any(axis=0), last, -np.inf)


def running_mean(values: ArrayLike, run: int, missing_allowed: int = 2) -> FloatArray:
    """Mean of each day and the days before it.

    Parameters
    ----------
    values : array_like, shape (day, ...)
        NaN days are left out.
    run : int
        Length. [day]
    missing_allowed : int
        Days of a run that may be missing; with more, the mean is NaN.

    Returns
    -------
    numpy.ndarray, shape (day, ...)
        NaN for the first ``run - 1`` days.
    """
    array = np.asarray(values, dtype=float)
    there = ~np.isnan(array)
    padding = np.zeros((1, *array.shape[1:]))
    total = np.concatenate([padding, np.cumsum(np.where(there, array, 0.0), axis=0)])
    count = np.concatenate([padding, np.cumsum(there, axis=0)])
    result = np.full(array.shape, np.nan)
    if array.shape[0] >= run:
        days = count[run:] - count[:-run]
        enough = days >= max(run - missing_allowed, 1)
        result[run - 1 :] = np.where(enough, (total[run:] - total[:-run]) / np.maximum(days, 1), np.nan)
    return result


def soil_warming_day(seed_zone_temperature: ArrayLike, threshold: float = 10.0, run: int = 7) -> FloatArray:
    """First day after the coldest of winter on which the running mean of the seed zone reaches a threshold.

    Parameters
    ----------
    seed_zone_temperature : array_like, shape (day, ...)
        Daily mean from the season's first day; NaN days are left out of the mean. [°C]
    threshold : float
        [°C]
    run : int
        Length of the running mean; at most two days of it may be missing. [day]

    Returns
    -------
    numpy.ndarray, shape (...,)
        Day index; ``-inf`` where the coldest mean is not below the threshold, ``inf`` where it is never reached. [day]

    Raises
    ------
    InputError
        If `run` is not between 1 and 31.

    References
    ----------
    10 °C as the mark for spring sowing: Forest Nursery Manual (1984), chapter 5, abstract.
    """
    if not 1 <= run <= 31:
        raise InputError(f"run {run} is outside 1 to 31 days: give the length of the running mean")
    mean = running_mean(seed_zone_temperature, run)
    coldest = np.argmin(np.where(np.isnan(mean), np.inf, mean), axis=0)
    days = np.arange(mean.shape[0]).reshape((-1,) + (1,) * (mean.ndim - 1))
    reached = (mean >= threshold) & (days >= coldest)
    day = np.where(reached.any(axis=0), reached.argmax(axis=0), np.inf)
    return np.where(reached.any(axis=0) & (day == coldest), -np.inf, day)
