"""A published soil-temperature model, kept as the yardstick that the seed-zone model is measured against."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

__all__ = ["daily_rate", "kaetterer_andren", "surface_temperature"]

FloatArray = NDArray[np.floating]

FROST_FACTOR = 0.20
"""Share of air frost that reaches the surface; stands in for snow and freezing. [-]"""

RATE = 0.24
"""Share of the difference taken up in a day at the surface of bare soil. [d-1]"""

RATE_DEPTH = 0.017
"""Fall of the rate with depth. [cm-1]"""

RATE_CANOPY = 0.15
"""Fall of the rate with green area. [m2 m-2]"""


def surface_temperature(air: ArrayLike, leaf_area: float) -> FloatArray:
    """Surface temperature from daily mean air temperature.

    Parameters
    ----------
    air : array_like
        [°C]
    leaf_area : float
        Leaf area index. [m2 m-2]

    Returns
    -------
    numpy.ndarray
        [°C]

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
        Leaf area index; green area index is leaf area index over 0.8. [m2 m-2]

    Returns
    -------
    float
        [d-1]

    References
    ----------
    Kätterer and Andrén (2009), Acta Agric. Scand. B 59:77-86.
    """
    return float(RATE * np.exp(-RATE_DEPTH * depth_cm) * np.exp(-RATE_CANOPY * leaf_area / 0.8))


def kaetterer_andren(air: ArrayLike, start: ArrayLike, depth_cm: float = 5.0, leaf_area: float = 1.0) -> FloatArray:
    """Soil temperature by the published model, each day's air counted on the same day.

    Parameters
    ----------
    air : array_like, shape (day, ...)
        Daily mean; NaN leaves the soil as it was. [°C]
    start : array_like
        Soil temperature before the first day. [°C]
    depth_cm, leaf_area : float
        [cm, m2 m-2]

    Returns
    -------
    numpy.ndarray, shape (day, ...)
        [°C]

    References
    ----------
    Kätterer and Andrén (2009), Acta Agric. Scand. B 59:77-86.
    """
    surface, rate = surface_temperature(air, leaf_area), daily_rate(depth_cm, leaf_area)
    soil = np.empty(surface.shape)
    state = np.asarray(start, dtype=float)
    for day, today in enumerate(surface):
        state = state + np.where(np.isnan(today), 0.0, (today - state) * rate)
        soil[day] = state
    return soil
