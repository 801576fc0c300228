"""Fits the few site parameters that one season of a cheap logger can settle.

A ridge: every parameter is drawn towards the value that changes nothing, the more so the less the record says, so that
a short or poor record leaves the model as it is. The days of a record are not independent; they count as if every
thirtieth were (chosen by the error on other years, 5 to 120 tried).
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

import numpy as np
from numpy.typing import ArrayLike, NDArray

from chillplan.physics.seed_zone import CALIBRATION, seed_zone

__all__ = ["PRIOR", "calibrate"]

FloatArray = NDArray[np.floating]

PRIOR: Mapping[str, float] = {
    "shift": 2.0,
    "sun": 0.25,
    "exchange": 0.5,
    "snow": 0.3,
    "evaporation": 0.6,
    "season": 0.5,
    "turn": 0.4,
}
"""How far a site may differ: standard deviations between stations, of the logarithm where the parameter is a factor.

That of the snow is 0.7 between stations, but one winter's snow says little about the next: with 0.3 other years come
out better.
"""

NOISE = 1.2
"""Error of a day that no site parameter explains. [°C]"""

DAYS_AS_ONE = 40.0
"""Days that say as much as one independent day. [day]"""

FROZEN_BELOW = 1.5
"""Temperature of the ground, by model or thermometer, below which a day counts as frozen. [°C]"""

FROZEN_WEIGHT = 0.3
"""What a frozen day counts beside another. [-]"""

STEP = 0.1
"""Step of the numerical derivatives, in prior standard deviations. [-]"""

ROUNDS = 5


def calibrate(
    tmin: FloatArray,
    tmax: FloatArray,
    soil: FloatArray,
    *,
    day_of_year: ArrayLike,
    latitude: ArrayLike,
    precipitation: FloatArray | None = None,
    snow_depth: FloatArray | None = None,
    start: int = 0,
    **site: Any,
) -> dict[str, FloatArray]:
    """Fit the site parameters of one or many places.

    Parameters
    ----------
    tmin, tmax : numpy.ndarray, shape (day, place)
        Air temperature; the soil must have had time to forget the first days. [°C]
    soil : numpy.ndarray, shape (day, place)
        Thermometer; NaN on days not to be used. [°C]
    day_of_year : array_like, shape (day,) or (day, place)
        [day]
    latitude : array_like, shape (place,)
        [degrees]
    precipitation, snow_depth : numpy.ndarray, shape (day, place), optional
        [mm]
    start : int
        Days before are spin-up and not used. [day]
    **site
        Further arguments of :func:`chillplan.physics.seed_zone.seed_zone`; those that differ by place have shape
        (place,).

    Returns
    -------
    dict of str to numpy.ndarray, shape (place,)
        Parameters for the `calibration` of the seed zone; a place without soil values keeps those that change nothing.

    References
    ----------
    Gauss and Newton's method with a ridge (Hoerl and Kennard 1970); priors from stations fitted one by one.
    """
    names, places = list(PRIOR), tmin.shape[1]
    moved = np.zeros((places, len(names)))
    steps = np.vstack([np.zeros(len(names)), STEP * np.eye(len(names))])
    columns = {name: _column(value) for name, value in site.items()}
    day = np.asarray(day_of_year)
    known = np.isfinite(soil)
    known[:start] = False
    weight = 1 / (NOISE**2 * DAYS_AS_ONE)
    for _ in range(ROUNDS):
        tried = moved[:, None, :] + steps
        shape = (len(tmin), places, len(steps))
        zone = seed_zone(
            np.broadcast_to(tmin[:, :, None], shape),
            np.broadcast_to(tmax[:, :, None], shape),
            day_of_year=day if day.ndim == 1 else day[:, :, None],
            latitude=_column(latitude),
            precipitation=None if precipitation is None else np.broadcast_to(precipitation[:, :, None], shape),
            snow_depth=None if snow_depth is None else np.broadcast_to(snow_depth[:, :, None], shape),
            calibration=_parameters(names, tried),
            **columns,
        )
        for place in range(places):
            use = known[:, place] & np.isfinite(zone.temperature[:, place]).all(axis=1)
            model = zone.temperature[use, place]
            slopes = (model[:, 1:] - model[:, :1]) / STEP
            frozen = np.minimum(model[:, 0], soil[use, place]) < FROZEN_BELOW
            weighted = slopes.T * (weight * np.where(frozen, FROZEN_WEIGHT, 1.0))
            normal = weighted @ slopes + np.eye(len(names))
            pull = weighted @ (model[:, 0] - soil[use, place]) + moved[place]
            moved[place] -= np.clip(np.linalg.solve(normal, pull), -1.0, 1.0)
    return _parameters(names, moved)


def _column(value: Any) -> Any:
    return value[:, None] if isinstance(value, np.ndarray) and value.ndim == 1 else value


def _parameters(names: list[str], moved: FloatArray) -> dict[str, FloatArray]:
    """From prior standard deviations to parameters: factors are exponentials, the others differences."""
    return {
        name: np.exp(moved[..., at] * PRIOR[name]) if CALIBRATION[name] else moved[..., at] * PRIOR[name]
        for at, name in enumerate(names)
    }
