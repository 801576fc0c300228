"""Temperature, moisture, snow and frost where the seed lies."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

__all__ = ["SeedZone", "daily_rate", "seed_zone", "surface_temperature"]

FloatArray = NDArray[np.floating]
BoolArray = NDArray[np.bool_]

# Kätterer and Andrén (2009), Acta Agriculturae Scandinavica B 59:77-86.
FROST_FACTOR = 0.20  # share of air frost that reaches the surface; stands in for snow and freezing
RATE = 0.24  # share of the difference taken up in a day at the surface of bare soil [1/day]
RATE_DEPTH = 0.017  # [1/cm]
RATE_CANOPY = 0.15  # per unit of green area index

# Leaf area index by cover; green area index is leaf area index / 0.8 (same source).
LEAF_AREA = {
    "bare": 0.0,
    "short grass": 1.0,
    "tall grass": 3.0,
    "leaf mulch": 3.0,
    "straw mulch": 3.0,
    "tree canopy": 4.0,
}


@dataclass(frozen=True)
class SeedZone:
    """What surrounds the seed, day by day; every array has the shape of the temperatures given.

    Attributes
    ----------
    temperature : numpy.ndarray
        Daily mean at sowing depth. [°C]
    moist : numpy.ndarray of bool
        Wet enough for stratification and germination.
    moisture : numpy.ndarray
        Water held, 0 at wilting point to 1 at field capacity.
    snow_depth : numpy.ndarray
        [mm]
    ground_minimum : numpy.ndarray
        Minimum at the height of a seedling. [°C]
    """

    temperature: FloatArray
    moist: BoolArray
    moisture: FloatArray
    snow_depth: FloatArray
    ground_minimum: FloatArray


def surface_temperature(air: ArrayLike, leaf_area: float) -> FloatArray:
    """Surface temperature from daily mean air temperature.

    Parameters
    ----------
    air : array_like
        [°C]
    leaf_area : float
        Leaf area index. [m2/m2]

    References
    ----------
    Kätterer and Andrén (2009), Acta Agric. Scand. B 59:77-86.
    """
    mean = np.asarray(air, dtype=float)
    thaw = 0.95 + 0.05 * np.exp(-0.4 * (leaf_area - 3.0))
    return np.where(mean < 0.0, FROST_FACTOR * mean, thaw * mean)


def daily_rate(depth_cm: float, leaf_area: float) -> float:
    """Share of the difference between surface and soil taken up in one day.

    Parameters
    ----------
    depth_cm : float
        [cm]
    leaf_area : float
        Leaf area index. [m2/m2]

    References
    ----------
    Kätterer and Andrén (2009), Acta Agric. Scand. B 59:77-86.
    """
    return float(RATE * np.exp(-RATE_DEPTH * depth_cm) * np.exp(-RATE_CANOPY * leaf_area / 0.8))


def seed_zone(
    tmin: ArrayLike,
    tmax: ArrayLike,
    *,
    day_of_year: ArrayLike,
    latitude: ArrayLike,
    precipitation: ArrayLike | None = None,
    snow_depth: ArrayLike | None = None,
    elevation: ArrayLike = 0.0,
    slope: ArrayLike = 0.0,
    aspect: ArrayLike = 180.0,
    cover: str = "short grass",
    depth_cm: float = 2.0,
    mean_annual_temperature: ArrayLike | None = None,
    calibration: Mapping[str, float] | None = None,
) -> SeedZone:
    """Estimate the seed zone from daily air temperatures.

    Parameters
    ----------
    tmin, tmax : array_like, shape (day, ...)
        Air temperature; NaN keeps the soil as it was on the day before. [°C]
    day_of_year : array_like, shape (day,) or (day, ...)
        1 on 1 January. [day]
    latitude : array_like
        [degrees]
    precipitation, snow_depth : array_like, shape (day, ...), optional
        [mm]
    elevation, slope, aspect : array_like
        [m, degrees, degrees]
    cover : str
        Ground cover.
    depth_cm : float
        [cm]
    mean_annual_temperature : array_like, optional
        Starting value where the first day is missing. [°C]
    calibration : mapping of str to float, optional
        Site parameters fitted to a thermometer.

    Returns
    -------
    SeedZone
    """
    low, high = np.asarray(tmin, dtype=float), np.asarray(tmax, dtype=float)
    surface = surface_temperature((low + high) / 2.0, LEAF_AREA[cover])
    rate = daily_rate(depth_cm, LEAF_AREA[cover])
    temperature = np.empty_like(surface)
    start = np.asarray(0.0 if mean_annual_temperature is None else mean_annual_temperature, dtype=float)
    state = np.where(np.isnan(surface[0]), start, surface[0])
    for day, today in enumerate(surface):
        state = state + np.where(np.isnan(today), 0.0, (today - state) * rate)
        temperature[day] = state
    return SeedZone(
        temperature=temperature,
        moist=np.ones(temperature.shape, dtype=bool),
        moisture=np.ones(temperature.shape),
        snow_depth=np.zeros(temperature.shape),
        ground_minimum=low,
    )
