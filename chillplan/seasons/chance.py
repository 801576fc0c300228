"""How sure a number from a few dozen winters is, and frost dates as a mixed distribution.

Winters with frost have a date, winters without have none. Dates are day indices in the season as
`chillplan.seasons.dates` gives them: ``-inf`` in a season without frost for the last frost of spring, ``inf`` for the
first frost of autumn. So a quantile may be infinite: "in that share of winters there is no frost", which is an answer.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy.special import betaincinv, ndtr, ndtri

from chillplan.errors import InputError

__all__ = ["FrostDates", "frost_dates", "jeffreys_interval", "jeffreys_intervals", "percentiles", "plotting_positions"]

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


# Sums of many dates below this do not tell their spread.
_FEWEST_DATES = 5


@dataclass(frozen=True)
class FrostDates:
    """Distribution of one frost date over the winters."""

    with_frost: int  # winters with frost
    winters: int  # winters with an answer
    dates: FloatArray  # ordered [day]; shape (with_frost,)
    last: bool  # whether these are last frosts of spring (else first frosts of autumn)
    # of the dates; NaN where fewer than 5 [day]
    mean: float
    spread: float

    @property
    def chance_of_frost(self) -> float:
        """Share of winters with any frost at this threshold, 0 to 1."""
        return self.with_frost / self.winters if self.winters else float("nan")

    def quantile(self, share: float, normal: bool = False) -> float:
        """Date not exceeded in a share of winters.

        Parameters
        ----------
        share : float
            Between 0 and 1. A late date of last frost, exceeded in one winter of ten, is the quantile 0.9.
        normal : bool
            Take the dates of winters with frost as normal (Thom and Shaw 1958) instead of as they are.

        Returns
        -------
        float
            Day index; ``-inf`` or ``inf`` where that share of winters has no frost; NaN without winters. [day]

        References
        ----------
        Thom and Shaw (1958), Monthly Weather Review 86:131-136. As they are: Weibull plotting positions i/(n + 1).
        """
        if not 0.0 < share < 1.0:
            raise InputError(f"share {share:g} is not between 0 and 1: give for example 0.9")
        if self.winters == 0:
            return float("nan")
        without = 1.0 - self.chance_of_frost
        none = -np.inf if self.last else np.inf
        within = (share - without) / self.chance_of_frost if self.last and self.with_frost else share
        within = share / self.chance_of_frost if not self.last and self.with_frost else within
        if self.with_frost == 0 or not 0.0 < within < 1.0:
            return none
        if normal:
            return float(self.mean + self.spread * ndtri(within))
        return float(np.interp(within, plotting_positions(self.with_frost), self.dates))

    def chance_after(self, day: float, normal: bool = False) -> float:
        """Share of winters with this frost after a day (for last frosts: the risk of planting on that day).

        Parameters
        ----------
        day : float
            Day index. [day]
        normal : bool
            As in `quantile`.
        """
        if self.with_frost == 0:
            return 0.0 if self.winters else float("nan")
        after = 1.0 - ndtr((day - self.mean) / self.spread) if normal else (self.dates > day).mean()
        return float(after) * self.chance_of_frost


def frost_dates(days: ArrayLike, last: bool) -> FrostDates:
    """Distribution of the frost dates of single seasons.

    Parameters
    ----------
    days : array_like, shape (season,)
        Day index; infinite where a season has no frost; NaN is left out. [day]
    last : bool
        Whether these are last frosts of spring.
    """
    values = np.asarray(days, dtype=float)
    values = values[~np.isnan(values)]
    dates = np.sort(values[np.isfinite(values)])
    enough = dates.size >= _FEWEST_DATES
    return FrostDates(
        with_frost=int(dates.size),
        winters=int(values.size),
        dates=dates,
        last=last,
        mean=float(dates.mean()) if enough else float("nan"),
        spread=float(dates.std(ddof=1)) if enough else float("nan"),
    )


def plotting_positions(count: int) -> FloatArray:
    """Share of winters up to each ordered value: Weibull, i/(n + 1)."""
    return np.asarray(np.arange(1, count + 1) / (count + 1.0))
