"""Fits the few site parameters that one season of a cheap logger can settle.

A ridge: every parameter is drawn towards the value that changes nothing, by the spread of it between stations, the more
so the less the record says, so that a short or poor record leaves the model as it is. The days of a record are not
independent; they count as if every fortieth were. What was tried beside it and bought nothing on other years is told in
``examples/seed_zone_model/README.md``: among it a factor on the snow, for one winter's snow says little about the next.
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
    "shift": 1.1,
    "sun": 0.2,
    "exchange": 0.3,
    "evaporation": 0.35,
    "season": 0.7,
    "turn": 0.4,
}
"""How far a site may differ: standard deviations between stations, of the logarithm where the parameter is a factor.

Of 76 stations fitted to all their years (``calibrated.py spread``: 1.4, 0.3, 0.4, 0.7, 0.7, 0.4); a year tells shift,
sun and evaporation apart poorly, so these are held more tightly. Half and twice as wide serve other years worse.
"""

DAYS_AS_ONE = 40.0
"""Days that say as much as one with an error of 1 °C and independent of the others; 20 to 60 do as well. [day]"""

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
        Those of `PRIOR`, for the `calibration` of the seed zone; without soil values they are such as change nothing.

    References
    ----------
    Gauss and Newton's method with a ridge (Hoerl and Kennard 1970).
    """
    names, places = list(PRIOR), tmin.shape[1]
    moved = np.zeros((places, len(names)))
    steps = np.vstack([np.zeros(len(names)), STEP * np.eye(len(names))])
    columns = {name: _column(value) for name, value in site.items()}
    day = np.asarray(day_of_year)
    known = np.isfinite(soil)
    known[:start] = False
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
            moved[place] -= _step(zone.temperature[use, place], soil[use, place], moved[place])
    return _parameters(names, moved)


def _step(model: FloatArray, soil: FloatArray, moved: FloatArray) -> FloatArray:
    """How far the fit goes in a round, at most one prior standard deviation; `model` has the shape (day, trial)."""
    slopes = (model[:, 1:] - model[:, :1]) / STEP
    weighted = slopes.T / DAYS_AS_ONE
    normal = weighted @ slopes + np.eye(moved.size)
    pull = weighted @ (model[:, 0] - soil) + moved
    return np.asarray(np.clip(np.linalg.solve(normal, pull), -1.0, 1.0))


def _column(value: Any) -> Any:
    return value[:, None] if isinstance(value, np.ndarray) and value.ndim == 1 else value


def _parameters(names: list[str], moved: FloatArray) -> dict[str, FloatArray]:
    """From prior standard deviations to parameters: factors are exponentials, the others differences."""
    return {
        name: np.exp(moved[..., at] * PRIOR[name]) if CALIBRATION[name] else moved[..., at] * PRIOR[name]
        for at, name in enumerate(names)
    }
