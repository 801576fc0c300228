"""Bridges the gaps of a daily series so that the ground can be followed through them."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

__all__ = ["bridged"]

FloatArray = NDArray[np.floating]

WAVES = 3
"""Yearly waves of the usual course. [-]"""

FEWEST = 300
"""Days from which a usual course can be told; with fewer, gaps take a straight line. [day]"""


def bridged(values: ArrayLike, day_of_year: ArrayLike) -> FloatArray:
    """A series without gaps: the usual course of the year plus the straight line between the departures around a gap.

    Parameters
    ----------
    values : array_like, shape (day,)
        NaN where missing; at least one value. [any unit]
    day_of_year : array_like, shape (day,)
        [day]

    Returns
    -------
    numpy.ndarray, shape (day,)
        Known values as they are. [same unit]
    """
    series = np.asarray(values, dtype=float)
    known = np.isfinite(series)
    if known.all():
        return series
    usual = np.zeros(series.size)
    if known.sum() >= FEWEST:
        angle = 2 * np.pi * np.asarray(day_of_year, dtype=float) / 365.25
        columns = [np.ones(series.size)]
        for wave in range(1, WAVES + 1):
            columns += [np.sin(wave * angle), np.cos(wave * angle)]
        design = np.column_stack(columns)
        usual = design @ np.linalg.lstsq(design[known], series[known], rcond=None)[0]
    days = np.arange(series.size)
    return np.where(known, series, usual + np.interp(days, days[known], (series - usual)[known]))
