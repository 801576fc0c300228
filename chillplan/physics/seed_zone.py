"""Temperature, moisture, snow and frost where the seed lies, from daily air temperatures."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import ArrayLike, NDArray

from chillplan.errors import InputError, quoted
from chillplan.physics.climate import ROOT_SHARE, Climate, climate_of, filled_precipitation, guessed_precipitation
from chillplan.physics.coefficients import coefficients_of
from chillplan.physics.compiled import walk_days
from chillplan.physics.day import Place, State, Weather
from chillplan.physics.daylight import extraterrestrial_radiation, slope_radiation_ratio
from chillplan.physics.parameters import WITH_PRECIPITATION, WITHOUT_PRECIPITATION, Parameters, cover_named

__all__ = ["CALIBRATION", "MOIST_FROM", "SeedZone", "place_of", "seed_zone", "starting_state"]

FloatArray = NDArray[np.floating]
BoolArray = NDArray[np.bool_]

MOIST_FROM = 0.1
"""Relative content of the seed zone from which a seed counts as moist. [-]"""

NODE_DEPTH = 0.05
"""Depth that the upper layer's temperature stands for, by the fit. [m]"""

FIRST_DAYS = 30
"""Days whose mean air temperature starts the upper layers. [day]"""

CALIBRATION: Mapping[str, float] = {
    "shift": 0.0,
    "sun": 1.0,
    "exchange": 1.0,
    "snow": 1.0,
    "evaporation": 1.0,
    "season": 0.0,
    "turn": 0.0,
}
"""Site parameters that a logger can settle, with the value that changes nothing.

shift [°C] warms the surface; sun, exchange, snow and evaporation [-] multiply the sun's warming, the resistance of the
grass, the resistance of the snow and the evaporation demand; season and turn [°C] add a yearly wave, largest at
midsummer and at the autumn equinox.
"""


@dataclass(frozen=True)
class SeedZone:
    """What surrounds the seed, day by day; every array has the shape of the temperatures given.

    Attributes
    ----------
    temperature : numpy.ndarray
        Daily mean at sowing depth; NaN on days without tmin or tmax. [°C]
    moist : numpy.ndarray of bool
        Wet enough for stratification and germination: `moisture` of at least :data:`MOIST_FROM`; always
        true where no precipitation is given, since guessed rain cannot say on which days.
    moisture : numpy.ndarray
        Relative content of the seed zone, 0 dry to 1 full; from guessed rain where no precipitation is given. [-]
    snow_depth : numpy.ndarray
        Given, or else modelled. [mm]
    ground_minimum : numpy.ndarray
        Minimum for a seedling: that of the screen in the open, milder under trees and under snow. [°C]
    """

    temperature: FloatArray
    moist: BoolArray
    moisture: FloatArray
    snow_depth: FloatArray
    ground_minimum: FloatArray


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
    calibration: Mapping[str, Any] | None = None,
    aridity: ArrayLike | None = None,
    shade: ArrayLike = 0.0,
) -> SeedZone:
    """Estimate the seed zone from daily air temperatures.

    The model is run through all days given; let about 120 days go before those of interest.

    Parameters
    ----------
    tmin, tmax : array_like, shape (day, ...)
        Air temperature. On a NaN day the last known temperatures are held (before the first known day, those of the
        first), so that later days go on from a sensible state, and the day itself is reported as NaN. [°C]
    day_of_year : array_like, shape (day,) or (day, ...)
        1 on 1 January. [day]
    latitude : array_like
        A scalar says that all columns are one place: climate means are then taken over all of them. [degrees]
    precipitation : array_like, shape (day, ...), optional
        Missing days are guessed (:func:`chillplan.physics.climate.filled_precipitation`); without any, rain is guessed
        from the daily range and other parameters are used. [mm]
    snow_depth : array_like, shape (day, ...), optional
        Where finite it replaces the modelled depth. [mm]
    elevation : array_like
        Used where no precipitation is given: mountains are guessed wetter. [m]
    slope, aspect : array_like
        Aspect clockwise from north. [degrees, degrees]
    cover : str
        See :mod:`chillplan.physics.parameters`.
    depth_cm : float
        0.5 to 20; checked on thermometers at 5 and 10. [cm]
    mean_annual_temperature : array_like, optional
        Of the air; else the mean of the days given. [°C]
    calibration : mapping of str to float or array, optional
        Site parameters, see :data:`CALIBRATION`; unknown names are refused.
    aridity : array_like, optional
        Precipitation over evaporation demand, long-term; else from the days given. [-]
    shade : array_like
        Share of the direct sun kept off by trees, walls or hills. [-]

    Returns
    -------
    SeedZone

    Raises
    ------
    InputError
        If the cover or a name of the calibration is unknown.
    """
    low, high, missing = _bridged(tmin, tmax)
    parameters = WITHOUT_PRECIPITATION if precipitation is None else WITH_PRECIPITATION
    c = coefficients_of(parameters)
    kind = low.dtype
    level, facing = _radiation(low, day_of_year, latitude, slope, aspect, shade)
    if precipitation is None:
        water = guessed_precipitation(low, high, elevation, parameters)
    else:
        water = np.asarray(precipitation, dtype=kind)
        if np.isnan(water).any():
            water = filled_precipitation(low, high, water)
    climate = climate_of(low, high, water, level, latitude, mean_annual_temperature, aridity, c)
    place = place_of(parameters, climate.aridity, cover, depth_cm, calibration, kind)
    state = starting_state(low[:FIRST_DAYS], high[:FIRST_DAYS], climate, parameters, kind)
    seen = None if snow_depth is None else np.asarray(snow_depth, dtype=kind)
    temperature, moisture, depth, minimum = walk_days(state, Weather(low, high, water, level, facing), place, c, seen)
    temperature = temperature + _seasonal(day_of_year, latitude, low.ndim, calibration).astype(kind)
    temperature[missing], minimum[missing] = np.nan, np.nan
    depth = depth if seen is None else np.where(np.isfinite(seen), seen, depth)
    moist = np.ones(low.shape, dtype=bool) if precipitation is None else moisture >= MOIST_FROM
    return SeedZone(temperature, moist, moisture, depth, minimum)


def place_of(
    p: Parameters,
    aridity: ArrayLike,
    cover: str,
    depth_cm: float,
    calibration: Mapping[str, Any] | None,
    kind: np.dtype | type = np.float64,
) -> Place:
    """Constants of the site for :func:`chillplan.physics.day.day_step`.

    Parameters
    ----------
    p : Parameters
    aridity : array_like
        Precipitation over evaporation demand. [-]
    cover : str
        See :mod:`chillplan.physics.parameters`.
    depth_cm : float
        [cm]
    calibration : mapping of str to float or None
        See :data:`CALIBRATION`.
    kind : numpy float type

    Returns
    -------
    Place
    """
    ground, site = cover_named(cover), _calibrated(calibration)
    rainless = 1 - np.asarray(aridity, dtype=float)
    depth = depth_cm / 100
    sun = ground.sun * np.asarray(site["sun"])
    values = (
        p.surface_shift + p.shift_arid * rainless + site["shift"],
        sun * p.sun_wet,
        sun * (p.sun_dry + p.sun_arid * rainless - p.sun_wet),
        ground.sky,
        ground.insulation,
        ground.exchange * np.asarray(site["exchange"]),
        site["snow"],
        ground.evaporation * np.asarray(site["evaporation"]),
        ground.arriving,
        max(NODE_DEPTH - depth, 0.0),
        max(depth - NODE_DEPTH, 0.0) * 2 / (p.upper + p.middle),
    )
    return Place(*(np.asarray(value, dtype=kind) for value in values))


def starting_state(
    tmin: FloatArray, tmax: FloatArray, climate: Climate, p: Parameters, kind: np.dtype | type = np.float64
) -> State:
    """A sensible state before the first day: no snow, no ice, the root zone as wet as the climate.

    Parameters
    ----------
    tmin, tmax : numpy.ndarray, shape (day, ...)
        The first days. [°C]
    climate : Climate
    p : Parameters
    kind : numpy float type

    Returns
    -------
    State
    """
    now = (np.mean(tmin, axis=0) + np.mean(tmax, axis=0)) / 2
    year = climate.mean_temperature
    capacity = p.capacity + p.capacity_wet / 2
    wet = np.clip(ROOT_SHARE * np.asarray(climate.aridity), 0.05, 1.0)
    none = np.zeros_like(now)
    values = (
        np.maximum(now, 0.5) * capacity,
        np.maximum(0.7 * now + 0.3 * year, 0.5) * capacity,
        np.maximum(year, 1.0) * capacity,
        year + p.deep_shift + 1.0,
        none,
        none,
        none + p.seed_capacity / 2,
        wet * p.root_capacity,
    )
    return State(*((none + value).astype(kind) for value in values))


def _calibrated(calibration: Mapping[str, Any] | None) -> dict[str, Any]:
    unknown = sorted(set(calibration or {}) - set(CALIBRATION))
    if unknown:
        known = ", ".join(CALIBRATION)
        raise InputError([f"calibration {quoted(name)} is not known: use {known}" for name in unknown])
    return {**CALIBRATION, **(calibration or {})}


def _bridged(tmin: ArrayLike, tmax: ArrayLike) -> tuple[FloatArray, FloatArray, BoolArray]:
    kind = np.result_type(np.asarray(tmin).dtype, np.asarray(tmax).dtype, np.float32)
    low, high = (np.asarray(x, dtype=kind) for x in (tmin, tmax))
    missing = np.isnan(low) | np.isnan(high)
    if not missing.any():
        return low, high, missing
    days = np.arange(len(low)).reshape((-1,) + (1,) * (low.ndim - 1))
    latest = np.maximum.accumulate(np.where(missing, -1, days), axis=0)
    first = np.where(missing.all(axis=0), 0, np.argmin(missing, axis=0))
    source = np.where(latest < 0, first, latest)
    held = [np.take_along_axis(x, source, axis=0) for x in (low, high)]
    return np.nan_to_num(held[0]), np.nan_to_num(held[1]), missing


def _radiation(
    like: FloatArray,
    day_of_year: ArrayLike,
    latitude: ArrayLike,
    slope: ArrayLike,
    aspect: ArrayLike,
    shade: ArrayLike,
) -> tuple[FloatArray, FloatArray]:
    """Radiation above the atmosphere on level ground and on the slope, computed once a calendar day."""
    days = np.arange(1, 367).reshape((-1,) + (1,) * (like.ndim - 1))
    level = extraterrestrial_radiation(latitude, days)
    facing = level * slope_radiation_ratio(latitude, days, slope, aspect, shade=shade)
    which = np.clip(np.asarray(day_of_year, dtype=int), 1, 366) - 1
    if which.ndim == 1:
        return level[which].astype(like.dtype), facing[which].astype(like.dtype)
    shape = np.broadcast_shapes(which.shape, like.shape)
    index = np.broadcast_to(which, shape)
    return tuple(  # type: ignore[return-value]
        np.take_along_axis(np.broadcast_to(table, (366, *shape[1:])), index, axis=0).astype(like.dtype)
        for table in (level, facing)
    )


def _seasonal(
    day_of_year: ArrayLike, latitude: ArrayLike, dimensions: int, calibration: Mapping[str, Any] | None
) -> FloatArray:
    site = _calibrated(calibration)
    day = np.asarray(day_of_year, dtype=float)
    day = day.reshape(day.shape + (1,) * (dimensions - day.ndim))
    turn = 2 * np.pi / 365.25 * (day - 172) + np.where(np.asarray(latitude, dtype=float) < 0, np.pi, 0.0)
    return np.asarray(site["season"] * np.cos(turn) + site["turn"] * np.sin(turn))
