"""Fills short gaps by a straight line, flagged; nothing else is invented."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from chillplan.errors import InputError
from chillplan.weather.history import History
from chillplan.weather.record import counted

__all__ = ["LONGEST_GAP", "bridged", "fill_short_gaps", "gap_lengths"]

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
    flat = values.reshape(len(values), -1)
    day, place = np.nonzero(np.isnan(flat))
    order = np.lexsort((day, place))
    day, place = day[order], place[order]
    begins = np.flatnonzero(np.diff(day, prepend=-2) + np.diff(place, prepend=0) * len(values) != 1)
    lengths = np.diff(begins, append=day.size)
    before, after = np.repeat(day[begins] - 1, lengths), np.repeat(day[begins] + lengths, lengths)
    short = (before >= 0) & (after < len(values)) & (after - before - 1 <= longest)
    place, day, before, after = place[short], day[short], before[short], after[short]
    low, high = flat[before, place].astype(float), flat[after, place].astype(float)
    filled, bridge = flat.copy(), np.zeros(flat.shape, dtype=bool)
    filled[day, place] = (low + (high - low) * ((day - before) / (after - before))).astype(np.float32)
    bridge[day, place] = True
    return filled.reshape(values.shape), bridge.reshape(values.shape)


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
    missing, days = np.isnan(values), np.arange(values.size)
    before = np.maximum.accumulate(np.where(missing, -1, days))
    after = np.minimum.accumulate(np.where(missing, values.size, days)[::-1])[::-1]
    inside = missing & (before >= 0) & (after < values.size)
    return np.where(inside, after - before - 1, 0)
