"""The checks and the bridge of a record, for many places side by side: every place as `plan` would read it."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from chillplan.variables import VARIABLES
from chillplan.weather.check import EXCHANGED, ROUNDING, STREAK_DAYS, faults_in, may_stand_still
from chillplan.weather.fill import bridged

__all__ = ["clean_places", "each_day"]

FloatArray = NDArray[np.float32]
NAMES = ("tmin", "tmax", "precipitation")
_TOGETHER = 256  # places cleaned at once, so that what is made on the way stays small


def each_day(days: NDArray[np.int64]) -> NDArray[np.int64]:
    """Every day from the first to the last, in order; shape (day,)."""
    return np.arange(days.min(), days.max() + 1)


def clean_places(days: NDArray[np.int64], series: Sequence[FloatArray], kept: NDArray[np.bool_]) -> list[FloatArray]:
    """Put days in order, remove what cannot be right, bridge short gaps.

    Parameters
    ----------
    days : numpy.ndarray of int, shape (time,)
        Ordinals of the dates, in any order, none twice. [day]
    series : sequence of numpy.ndarray, shape (time, place)
        tmin, tmax [°C] and, where it is known, precipitation [mm]; left as they are.
    kept : numpy.ndarray of bool, shape (place,)
        Places to look at; the others only have their days put in order.

    Returns
    -------
    list of numpy.ndarray, shape (day, place)
        For `each_day`; a place whose record `plan` would refuse is NaN throughout.
    """
    result = [_on_each_day(days, values) for values in series]
    suspects = np.flatnonzero(_suspect(result) & kept)
    if suspects.size:
        result = [values.copy() if values is own else values for values, own in zip(result, series, strict=True)]
    for begin in range(0, suspects.size, _TOGETHER):
        where = suspects[begin : begin + _TOGETHER]
        for values, clean in zip(result, _cleaned([values[:, where] for values in result]), strict=True):
            values[:, where] = clean
    return result


def _on_each_day(days: NDArray[np.int64], values: FloatArray) -> FloatArray:
    every = each_day(days)
    if np.array_equal(every, days):
        return values
    result = np.full((every.size, *values.shape[1:]), np.nan, np.float32)
    result[days - every[0]] = values
    return result


def _suspect(series: Sequence[FloatArray]) -> NDArray[np.bool_]:
    """Places in which a check could find something, seen at a glance; shape (place,)."""
    found = np.asarray((series[0] - series[1]).max(axis=0) > ROUNDING)
    for name, values in zip(NAMES, series, strict=False):
        # The extremes are NaN where a day is missing, and then neither comparison holds.
        found |= ~((values.min(axis=0) >= VARIABLES[name].low) & (values.max(axis=0) <= VARIABLES[name].high))
    for values in series[:2]:
        found |= may_stand_still(values, STREAK_DAYS)
    return found


def _cleaned(series: list[FloatArray]) -> list[FloatArray]:
    values = dict(zip(NAMES, series, strict=False))
    both = ~np.isnan(values["tmin"]) & ~np.isnan(values["tmax"])
    crossed = (both & (values["tmin"] - values["tmax"] > ROUNDING)).sum(axis=0)
    refused = crossed > EXCHANGED * both.sum(axis=0)
    faults_in(values)
    for name in ("tmin", "tmax"):
        refused |= np.isnan(values[name]).all(axis=0)
        values[name] = bridged(values[name])[0]
    for each in values.values():
        each[:, refused] = np.nan
    return list(values.values())
