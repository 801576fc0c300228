"""Fills short gaps by a straight line, flagged; nothing else is invented."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from chillplan.errors import InputError
from chillplan.weather.history import History
from chillplan.weather.record import counted

__all__ = ["LONGEST_GAP", "bridged", "fill_short_gaps", "gap_lengths", "known_days"]

LONGEST_GAP = 5


def fill_short_gaps(history: History, longest: int = LONGEST_GAP) -> History:
    """Bridge gaps of tmin and tmax of at most ``longest`` days.

    Parameters
    ----------
    history : History
    longest : int
        Longest gap bridged; 0 bridges none. [day]

    Returns
    -------
    History
        Bridged days are flagged ``interpolated``; longer gaps stay NaN.

    Raises
    ------
    InputError
        If `longest` is not between 0 and 5.
    """
    if not 0 <= longest <= LONGEST_GAP:
        raise InputError(f"a gap of {longest} days is too long for a straight line: give 0 to {LONGEST_GAP}")
    daily = history.daily.copy()
    count = 0
    for name in ("tmin", "tmax"):
        values = daily[name].to_numpy(dtype=float)
        filled, bridge = bridged(values, longest)
        if bridge.any():
            daily[name] = filled
            daily.loc[bridge, f"{name}_flag"] = "interpolated"
            count += int(bridge.sum())
    if not count:
        return history
    return replace(history, daily=daily).noted(
        f"{counted(count, 'value')} in gaps of at most {longest} days interpolated."
    )


def bridged(values: np.ndarray, longest: int = LONGEST_GAP) -> tuple[np.ndarray, np.ndarray]:
    """Draw a straight line over short gaps, in single precision, so that records and grids agree to the bit.

    Parameters
    ----------
    values : numpy.ndarray, shape (day, ...)
    longest : int
        Longest gap bridged. [day]

    Returns
    -------
    numpy.ndarray, numpy.ndarray of bool, shape (day, ...)
        Values, and where they were drawn.
    """
    before, after = known_days(values)
    bridge = np.isnan(values) & (before >= 0) & (after < len(values)) & (after - before - 1 <= longest)
    at = np.nonzero(bridge)
    first, last = ((found[at], *at[1:]) for found in (before, after))
    low, high = values[first].astype(float), values[last].astype(float)
    filled = values.copy()
    filled[at] = (low + (high - low) * ((at[0] - first[0]) / (last[0] - first[0]))).astype(np.float32)
    return filled, bridge


def known_days(values: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Index of the nearest known day up to each day and from each day on; -1 and the number of days where none is."""
    missing = np.isnan(values)
    days = np.arange(len(values)).reshape(-1, *[1] * (values.ndim - 1))
    before = np.maximum.accumulate(np.where(missing, -1, days), axis=0)
    after = np.minimum.accumulate(np.where(missing, len(values), days)[::-1], axis=0)[::-1]
    return before, after


def gap_lengths(values: np.ndarray) -> np.ndarray:
    """Length of the gap each missing day lies in.

    Parameters
    ----------
    values : numpy.ndarray, shape (day,)

    Returns
    -------
    numpy.ndarray of int, shape (day,)
        0 where there is a value; days before the first and after the last value count as 0 too. [day]
    """
    before, after = known_days(values)
    inside = np.isnan(values) & (before >= 0) & (after < values.size)
    return np.where(inside, after - before - 1, 0)
