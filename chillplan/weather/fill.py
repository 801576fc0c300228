"""Fills short gaps by a straight line, flagged; nothing else is invented."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from chillplan.errors import InputError
from chillplan.weather.history import History
from chillplan.weather.record import counted

__all__ = ["LONGEST_GAP", "fill_short_gaps", "gap_lengths"]

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
        lengths = gap_lengths(values)
        bridge = (lengths > 0) & (lengths <= longest)
        if bridge.any():
            known = np.flatnonzero(~np.isnan(values))
            filled = values.copy()
            filled[bridge] = np.interp(np.flatnonzero(bridge), known, values[known])
            daily[name] = filled
            daily.loc[bridge, f"{name}_flag"] = "interpolated"
            count += int(bridge.sum())
    if not count:
        return history
    return replace(history, daily=daily).noted(
        f"{counted(count, 'value')} in gaps of at most {longest} days interpolated."
    )


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
    missing = np.isnan(values)
    result = np.zeros(values.shape, dtype=int)
    known = np.flatnonzero(~missing)
    if known.size == 0:
        return result
    before = np.maximum.accumulate(np.where(missing, -1, np.arange(values.size)))
    after = np.minimum.accumulate(np.where(missing, values.size, np.arange(values.size))[::-1])[::-1]
    inside = missing & (before >= 0) & (after < values.size)
    result[inside] = (after - before - 1)[inside]
    return result
