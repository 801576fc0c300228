"""How sure a number from a few dozen winters is."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy.special import betaincinv

from chillplan.errors import InputError

__all__ = ["jeffreys_interval", "jeffreys_intervals", "percentiles"]

FloatArray = NDArray[np.floating]


def jeffreys_interval(good: int, winters: int, level: float = 0.95) -> tuple[float, float]:
    """Range in which the true share of good winters lies.

    Parameters
    ----------
    good, winters : int
        Winters that were good, and all.
    level : float
        Probability that the interval covers. [-]

    Returns
    -------
    tuple of float
        Lower end (0 where no winter was good) and upper end (1 where all were). [-]

    Raises
    ------
    InputError
        If not ``0 <= good <= winters`` or there are no winters.

    References
    ----------
    Brown, Cai and DasGupta (2001), Statistical Science 16:101-133.
    """
    if winters < 1 or not 0 <= good <= winters:
        raise InputError(f"{good} good of {winters} winters is impossible: give 0 to n good of at least one winter")
    tail = (1.0 - level) / 2.0
    first, second = good + 0.5, winters - good + 0.5
    low = 0.0 if good == 0 else float(betaincinv(first, second, tail))
    high = 1.0 if good == winters else float(betaincinv(first, second, 1.0 - tail))
    return low, high


def jeffreys_intervals(good: ArrayLike, winters: ArrayLike, level: float = 0.95) -> tuple[FloatArray, FloatArray]:
    """`jeffreys_interval` of many places, each pair of counts worked out once.

    Parameters
    ----------
    good, winters : array_like of int, shape (...,)
        Winters that were good, and all.
    level : float
        [-]

    Returns
    -------
    tuple of numpy.ndarray, shape (...,)
        Lower and upper ends. [-]
    """
    both = np.stack(np.broadcast_arrays(good, winters)).astype(int)
    kinds, which = np.unique(both.reshape(2, -1), axis=1, return_inverse=True)
    ends = np.array([jeffreys_interval(int(some), int(every), level) for some, every in kinds.T]).reshape(-1, 2)
    low, high = ends[which.reshape(-1)].T
    return low.reshape(both.shape[1:]), high.reshape(both.shape[1:])


def percentiles(values: ArrayLike, shares: tuple[float, ...] = (0.1, 0.5, 0.9)) -> FloatArray:
    """Percentiles of a mixed sample: numbers, and dates that do not exist as ``-inf`` or ``inf``.

    Parameters
    ----------
    values : array_like, shape (season, ...)
        NaN is left out.
    shares : tuple of float
        [-]

    Returns
    -------
    numpy.ndarray, shape (share, ...)
        Weibull plotting positions, straight line between ranks; infinite where the percentile falls among seasons
        without the date, NaN where there are no values.
    """
    sample = np.sort(np.asarray(values, dtype=float), axis=0)
    count = (~np.isnan(sample)).sum(axis=0)
    wanted = np.asarray(shares).reshape((-1,) + (1,) * count.ndim)
    if sample.shape[0] == 0:
        return np.full((len(shares), *count.shape), np.nan)
    rank = np.clip(wanted * (count + 1) - 1.0, 0.0, np.maximum(count - 1.0, 0.0))
    below, above = np.floor(rank).astype(int), np.ceil(rank).astype(int)
    part = rank - below
    low, high = np.take_along_axis(sample, below, axis=0), np.take_along_axis(sample, above, axis=0)
    with np.errstate(invalid="ignore"):
        blend = low + part * (high - low)
    nearest = np.where(part < 0.5, low, high)
    return np.asarray(np.where(np.isfinite(low) & np.isfinite(high), blend, nearest))
