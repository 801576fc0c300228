"""What the model has to know of a climate before it starts: warmth, aridity, and rain where none is recorded."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import ArrayLike, NDArray

from chillplan.physics.coefficients import Coefficients, coefficients_of
from chillplan.physics.lanes import greater, lesser
from chillplan.physics.parameters import WITHOUT_PRECIPITATION, Parameters

__all__ = [
    "ROOT_SHARE",
    "Climate",
    "climate_of",
    "cloudiest_rain",
    "filled_precipitation",
    "guessed_precipitation",
    "rain_step",
]

FloatArray = NDArray[np.floating]

MOST_HUMID = 1.2
"""Aridity above which a climate counts as humid; the fit has seen no use in more. [-]"""

ROOT_SHARE = 0.85
"""Content of the root zone at the start, over aridity: slope of a line through 38 stations on 3 April. [-]"""

HIGHEST = 3000.0
"""Elevation up to which guessed rain follows it; higher stations were not in the fit. [m]"""

LEAST_GUESS = 1.0
"""Sum of guesses from which they are scaled; less says that no cloudy day is known. [mm]"""

YEAR = 365


@dataclass(frozen=True)
class Climate:
    """Long-term means of a place."""

    mean_temperature: FloatArray  # of the air [°C]
    aridity: FloatArray  # precipitation over evaporation demand, at most :data:`MOST_HUMID`: 0 is a rainless desert [-]


def climate_of(
    tmin: FloatArray,
    tmax: FloatArray,
    precipitation: FloatArray,
    extraterrestrial: FloatArray,
    latitude: ArrayLike,
    mean_temperature: ArrayLike | None,
    aridity: ArrayLike | None,
    c: Coefficients,
) -> Climate:
    """Means over whole years of the days given, and over all columns that share one latitude.

    Parameters
    ----------
    tmin, tmax, precipitation : numpy.ndarray, shape (day, ...)
        No NaN. [°C, °C, mm]
    extraterrestrial : numpy.ndarray, broadcast against them
        [MJ m-2 d-1]
    latitude : array_like
        A scalar says that all columns are one place. [degrees]
    mean_temperature, aridity : array_like or None
        Known values, which are kept. [°C, -]
    c : Coefficients

    Returns
    -------
    Climate

    References
    ----------
    Demand: Hargreaves and Samani 1985, FAO-56 eq. 52.
    """
    together = None if np.ndim(latitude) == 0 else 0
    years = max(len(tmin) // YEAR, 1) * YEAR
    low, high, water = tmin[-years:], tmax[-years:], precipitation[-years:]
    mean = (low + high) / 2
    if mean_temperature is None:
        mean_temperature = mean.mean(axis=together, dtype=float)
    if aridity is None:
        sky = np.broadcast_to(extraterrestrial, tmin.shape)[-years:]
        demand = c.demand * np.maximum(mean + c.demand_shift, 0.0) * np.sqrt(np.maximum(high - low, 0.0)) * sky
        total = np.maximum(demand.sum(axis=together, dtype=float), 1.0)
        aridity = water.sum(axis=together, dtype=float) / total
    return Climate(
        np.asarray(mean_temperature, dtype=float), np.clip(np.asarray(aridity, dtype=float), 0.0, MOST_HUMID)
    )


def guessed_precipitation(tmin: ArrayLike, tmax: ArrayLike, elevation: ArrayLike, p: Parameters) -> FloatArray:
    """Expected precipitation of days from their temperature range alone: cloudy days have a small one.

    A stand-in where no precipitation is recorded: right on average, never on the day.

    Parameters
    ----------
    tmin, tmax : array_like, shape (day, ...)
        [°C]
    elevation : array_like
        Counted from sea level to 3000 m. [m]
    p : Parameters

    Returns
    -------
    numpy.ndarray
        [mm d-1]

    References
    ----------
    Fitted to the temperature of the ground, not to gauges; no published source.
    """
    low, high = np.asarray(tmin), np.asarray(tmax)
    return np.asarray(rain_step(low, high, cloudiest_rain(elevation, p, low.dtype), coefficients_of(p)))


def filled_precipitation(tmin: ArrayLike, tmax: ArrayLike, precipitation: ArrayLike) -> FloatArray:
    """A record of precipitation with its missing days guessed from the daily range.

    Guesses are scaled so that, over the known days of the place, they add up to what was measured.

    Parameters
    ----------
    tmin, tmax : array_like, shape (day, ...)
        Where one is missing the guess is the mean of the known days. [°C]
    precipitation : array_like, shape (day, ...)
        NaN where missing; some day of each column must be known. [mm]

    Returns
    -------
    numpy.ndarray, shape of `precipitation`
        Known days as they are. [mm]
    """
    water = np.asarray(precipitation)
    guess = guessed_precipitation(tmin, tmax, 0.0, WITHOUT_PRECIPITATION).astype(float)
    known = np.isfinite(water)
    both = known & np.isfinite(guess)
    measured = np.where(both, water, 0.0).sum(axis=0, dtype=float)
    scale = measured / np.maximum(np.where(both, guess, 0.0).sum(axis=0), LEAST_GUESS)
    mean = np.where(known, water, 0.0).sum(axis=0, dtype=float) / np.maximum(known.sum(axis=0), 1)
    filling = np.where(np.isfinite(guess), guess * scale, mean)
    return np.asarray(np.where(known, water, filling), dtype=water.dtype)


def cloudiest_rain(elevation: ArrayLike, p: Parameters, kind: np.dtype | type) -> FloatArray:
    """Guessed precipitation of a mild day whose temperature does not vary at all.

    Parameters
    ----------
    elevation : array_like
        [m]
    p : Parameters
    kind : numpy float type

    Returns
    -------
    numpy.ndarray
        [mm d-1]
    """
    height = np.clip(np.asarray(elevation, dtype=float), 0.0, HIGHEST) / 1000
    return np.asarray(p.rain_scale * (1 + p.rain_height * height), dtype=kind)


def rain_step(tmin: Any, tmax: Any, cloudiest: Any, c: Any) -> Any:
    """Guessed precipitation of one day; see :func:`guessed_precipitation`.

    Parameters
    ----------
    tmin, tmax : array_like
        [°C]
    cloudiest : array_like
        From :func:`cloudiest_rain`. [mm d-1]
    c : Coefficients

    Returns
    -------
    array_like
        [mm d-1]
    """
    cloudy = greater(c.one - greater(tmax - tmin, c.zero) * c.per_rain_range, c.zero)
    square = cloudy * cloudy
    warm = lesser(greater(c.one + c.rain_warm * (c.half * (tmin + tmax) - c.rain_mild), c.rain_least), c.rain_most)
    return cloudiest * (square * square) * warm
