"""Winter chill from the daily mean temperature of the seed zone."""

from __future__ import annotations

from typing import Any

import numpy as np
from numpy.typing import ArrayLike, NDArray

from chillplan.physics.lanes import choose, lesser
from chillplan.seasons.response import USUAL, Corners

__all__ = [
    "DAY_GRAIN",
    "chill_days",
    "cold_days",
    "counted_share",
    "effective_chill",
    "share_of_day",
    "sides_of",
    "trapezoid",
]

FloatArray = NDArray[np.floating]

CHILL_RANGE = (0.0, 10.0)
COLD_LIMIT = 5.0
DAY_GRAIN = 65536.0
"""Parts of a day in which chill is counted: sums are then exact, in any order and in either precision. [1/day]"""


def trapezoid(
    temperature: ArrayLike, zero_low: float, full_low: float, full_high: float, zero_high: float
) -> FloatArray:
    """Share of a day that counts at a temperature.

    Parameters
    ----------
    temperature : array_like
        NaN counts nothing. [°C]
    zero_low, full_low, full_high, zero_high : float
        Nothing at or below the first, all from the second to the third, nothing at or above the fourth. [°C]

    Returns
    -------
    numpy.ndarray, shape of `temperature`
        0 to 1. [-]

    References
    ----------
    The shape is an assumption of ours that brackets published optima of moist chilling.
    """
    values = np.asarray(temperature)
    sides = sides_of(zero_low, full_low, full_high, zero_high)
    return np.asarray(share_of_day(values, *sides, 0.0, 1.0))


def sides_of(zero_low: float, full_low: float, full_high: float, zero_high: float) -> tuple[float, float, float, float]:
    """The sides of a trapezoid as `share_of_day` takes them: foot and slope of either. [°C, 1/°C]"""
    return zero_low, 1.0 / (full_low - zero_low), zero_high, 1.0 / (zero_high - full_high)


def share_of_day(
    temperature: Any, zero_low: Any, per_low: Any, zero_high: Any, per_high: Any, nothing: Any, whole: Any
) -> Any:
    """Share of a day that counts, of arrays and, compiled, of single numbers; 0 and 1 are given in their precision."""
    share = lesser(lesser((temperature - zero_low) * per_low, (zero_high - temperature) * per_high), whole)
    return choose(share > nothing, share, nothing)


def counted_share(
    temperature: ArrayLike, zero_low: float, full_low: float, full_high: float, zero_high: float
) -> FloatArray:
    """Share of a day as it is summed up: `trapezoid` in whole parts of `DAY_GRAIN`."""
    share = trapezoid(temperature, zero_low, full_low, full_high, zero_high)
    return np.asarray(np.rint(share * DAY_GRAIN) / DAY_GRAIN)


def chill_days(temperature: ArrayLike, moist: ArrayLike) -> FloatArray:
    """Days between 0 and 10 °C with a moist seed zone.

    Parameters
    ----------
    temperature : array_like, shape (day, ...)
        Daily mean of the seed zone. [°C]
    moist : array_like of bool, shape (day, ...)

    Returns
    -------
    numpy.ndarray, shape (...,)
        [day]

    References
    ----------
    Moist chilling works at about 0 to 10 °C: Stokes (1965), from memory; a range that Baskin and Baskin (1998)
    also give, read in a secondary source.
    """
    values = np.asarray(temperature)
    inside = (values >= CHILL_RANGE[0]) & (values <= CHILL_RANGE[1]) & np.asarray(moist, dtype=bool)
    return np.asarray(inside.sum(axis=0), dtype=float)


def effective_chill(
    temperature: ArrayLike,
    moist: ArrayLike,
    corners: Corners = USUAL,
) -> FloatArray:
    """Sum over days of the share of a day that counts as chill.

    Parameters
    ----------
    temperature : array_like, shape (day, ...)
        Daily mean of the seed zone. [°C]
    moist : array_like of bool, shape (day, ...)
    corners : tuple of float
        The trapezoid; the default is an assumption of ours. [°C]

    Returns
    -------
    numpy.ndarray, shape (...,)
        [day]
    """
    share = counted_share(temperature, *corners)
    return np.asarray((share * np.asarray(moist, dtype=bool)).sum(axis=0, dtype=float))


def cold_days(temperature: ArrayLike, limit: float = COLD_LIMIT) -> FloatArray:
    """Days at or below a temperature, frozen days included.

    Parameters
    ----------
    temperature : array_like, shape (day, ...)
        Daily mean of the seed zone; NaN days are not counted. [°C]
    limit : float
        [°C]

    Returns
    -------
    numpy.ndarray, shape (...,)
        [day]
    """
    return np.asarray((np.asarray(temperature) <= limit).sum(axis=0), dtype=float)
