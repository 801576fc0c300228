"""Sun geometry and radiation from the calendar and the latitude.

Everything here depends on the place and the day of the year only, so it is computed once, outside the loop over days.
Polar day and polar night are answers, not errors.

Equation numbers are those of FAO Irrigation and Drainage Paper 56 (Allen, Pereira, Raes and Smith 1998).
"""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

SOLAR_CONSTANT = 0.0820
"""Solar constant, FAO-56 eq. 21. [MJ m-2 min-1]"""

GROUND_ALBEDO = 0.2
"""Albedo of the ground in front of a slope; common practice. [-]"""

_HOUR_ANGLES = 48
"""Steps of the numerical integration over the day for a slope."""

FloatArray = NDArray[np.floating]


def inverse_distance(day_of_year: ArrayLike) -> FloatArray:
    """Inverse relative distance between earth and sun (FAO-56 eq. 23).

    Parameters
    ----------
    day_of_year : array_like
        Day of the year, 1 on 1 January. [day]

    Returns
    -------
    numpy.ndarray, shape of `day_of_year`
        [-]
    """
    day = np.asarray(day_of_year, dtype=float)
    return np.asarray(1 + 0.033 * np.cos(2 * np.pi / 365 * day))


def declination(day_of_year: ArrayLike) -> FloatArray:
    """Declination of the sun (FAO-56 eq. 24).

    Parameters
    ----------
    day_of_year : array_like
        Day of the year, 1 on 1 January. [day]

    Returns
    -------
    numpy.ndarray, shape of `day_of_year`
        [radian]
    """
    day = np.asarray(day_of_year, dtype=float)
    return np.asarray(0.409 * np.sin(2 * np.pi / 365 * day - 1.39))


def sunset_hour_angle(latitude: ArrayLike, day_of_year: ArrayLike) -> FloatArray:
    """Hour angle of sunset (FAO-56 eq. 25): 0 in the polar night, pi in the polar day.

    Parameters
    ----------
    latitude : array_like
        North positive; broadcasts against `day_of_year`. [degree]
    day_of_year : array_like
        Day of the year, 1 on 1 January. [day]

    Returns
    -------
    numpy.ndarray
        [radian]
    """
    phi = np.radians(np.asarray(latitude, dtype=float))
    cosine = -np.tan(phi) * np.tan(declination(day_of_year))
    return np.asarray(np.arccos(np.clip(cosine, -1.0, 1.0)))


def extraterrestrial_radiation(latitude: ArrayLike, day_of_year: ArrayLike) -> FloatArray:
    """Radiation on a level plane above the atmosphere, whole day (FAO-56 eq. 21).

    Parameters
    ----------
    latitude, day_of_year : array_like
        As in :func:`sunset_hour_angle`. [degree, day]

    Returns
    -------
    numpy.ndarray
        Never negative; 0 in the polar night. [MJ m-2 d-1]
    """
    phi = np.radians(np.asarray(latitude, dtype=float))
    delta = declination(day_of_year)
    sunset = sunset_hour_angle(latitude, day_of_year)
    height = sunset * np.sin(phi) * np.sin(delta) + np.cos(phi) * np.cos(delta) * np.sin(sunset)
    total = 24 * 60 / np.pi * SOLAR_CONSTANT * inverse_distance(day_of_year) * height
    return np.asarray(np.maximum(total, 0.0))


def beam_ratio(latitude: ArrayLike, day_of_year: ArrayLike, slope: ArrayLike, aspect: ArrayLike) -> FloatArray:
    """Direct radiation on a slope as a share of that on level ground, whole day.

    The cosine of incidence (Liu and Jordan 1960) is summed over the hour angle from sunrise to sunset; hours with the
    sun behind the slope count as none.

    Parameters
    ----------
    latitude, day_of_year : array_like
        As in :func:`sunset_hour_angle`. [degree, day]
    slope : array_like
        0 level, 90 vertical. [degree]
    aspect : array_like
        Direction the slope faces, clockwise from north: 90 east, 180 south. [degree]

    Returns
    -------
    numpy.ndarray
        1 for level ground and in the polar night; at most 10, which only a sun at the horizon would pass. [-]
    """
    phi, tilt, facing = (np.radians(np.asarray(x, dtype=float)) for x in (latitude, slope, aspect))
    delta = declination(day_of_year)
    sunset = sunset_hour_angle(latitude, day_of_year)
    level = np.zeros(np.broadcast_shapes(phi.shape, delta.shape, tilt.shape, facing.shape))
    tilted = level.copy()
    for step in range(_HOUR_ANGLES):
        hour = sunset * ((2 * step + 1) / _HOUR_ANGLES - 1)
        up = np.sin(phi) * np.sin(delta) + np.cos(phi) * np.cos(delta) * np.cos(hour)
        north = np.cos(phi) * np.sin(delta) - np.sin(phi) * np.cos(delta) * np.cos(hour)
        east = -np.cos(delta) * np.sin(hour)
        incidence = up * np.cos(tilt) + np.sin(tilt) * (north * np.cos(facing) + east * np.sin(facing))
        level += np.maximum(up, 0.0)
        tilted += np.where(up > 0, np.maximum(incidence, 0.0), 0.0)
    ratio = np.where(level > 1e-9, tilted / np.maximum(level, 1e-9), 1.0)
    return np.asarray(np.minimum(ratio, 10.0))


def slope_radiation_ratio(
    latitude: ArrayLike,
    day_of_year: ArrayLike,
    slope: ArrayLike,
    aspect: ArrayLike,
    diffuse_share: float = 0.4,
    shade: ArrayLike = 0.0,
) -> FloatArray:
    """Total radiation on a slope as a share of that on open level ground, whole day.

    Direct part by :func:`beam_ratio`; the sky is taken as equally bright everywhere and the ground in front reflects
    :data:`GROUND_ALBEDO` (Liu and Jordan 1960).

    Parameters
    ----------
    latitude, day_of_year, slope, aspect : array_like
        As in :func:`beam_ratio`. [degree, day, degree, degree]
    diffuse_share : float
        Share of the level radiation that is diffuse; 0.4 is a mean sky (assumed). [-]
    shade : array_like
        Share of the direct radiation that trees, walls or hills keep off. [-]

    Returns
    -------
    numpy.ndarray
        1 on open level ground. [-]
    """
    tilt = np.radians(np.asarray(slope, dtype=float))
    direct = (
        (1 - diffuse_share) * beam_ratio(latitude, day_of_year, slope, aspect) * (1 - np.asarray(shade, dtype=float))
    )
    sky = diffuse_share * (1 + np.cos(tilt)) / 2
    reflected = GROUND_ALBEDO * (1 - np.cos(tilt)) / 2
    return np.asarray(direct + sky + reflected)
