"""Time axes of grids: dates in any order become day numbers, or are refused clearly."""

from __future__ import annotations

from calendar import isleap
from datetime import date
from typing import Any

import numpy as np
import xarray as xr
from numpy.typing import NDArray

from chillplan.errors import InputError, quoted

__all__ = ["NO_DAY", "day_numbers"]

TAKEN_AS_DATES = {"standard", "gregorian", "proleptic_gregorian", "noleap", "365_day", "all_leap", "366_day"}
NO_DAY = 0  # ordinal of a date that does not exist
EPOCH = date(1970, 1, 1).toordinal()


def day_numbers(time: xr.DataArray, where: str) -> NDArray[np.int64]:
    """Proleptic Gregorian ordinal of every step of a time axis.

    Parameters
    ----------
    time : xarray.DataArray, shape (time,)
        Decoded times. A calendar without leap days is taken as it is: 29 February is then a missing day. One of 366
        days has some 29 February that does not exist: it is ``NO_DAY``. One of 360 days is spread over the real year.
    where : str
        File or store, for messages.

    Raises
    ------
    InputError
        If the calendar has days that do not exist, the steps are not daily, or a day comes twice.
    """
    if time.dtype.kind == "M":
        days = time.values.astype("datetime64[D]").astype(np.int64) + EPOCH
    elif time.dtype == object and hasattr(time.values.flat[0], "calendar"):
        days = _of_calendar(time, where)
    else:
        raise InputError(
            f"the time axis of {quoted(where)} holds no dates: give it units such as 'days since 1990-01-01' and "
            "a calendar"
        )
    order = np.sort(days[days != NO_DAY])
    steps = np.diff(order)
    if (steps == 0).any():
        again = date.fromordinal(int(order[1:][steps == 0][0]))
        raise InputError(
            f"{again} comes more than once on the time axis of {quoted(where)}: give one value a day "
            "(daily minimum and maximum, not hours), and no overlapping files"
        )
    if steps.size and np.median(steps) > 1:
        raise InputError(
            f"the time axis of {quoted(where)} has a step of {int(np.median(steps))} days: daily values are needed"
        )
    return days


def _of_calendar(time: xr.DataArray, where: str) -> NDArray[np.int64]:
    calendar = str(time.values.flat[0].calendar)
    if calendar == "360_day":
        return np.array([_spread(each) for each in time.values], dtype=np.int64)
    if calendar not in TAKEN_AS_DATES:
        raise InputError(
            f"calendar {quoted(calendar)} of {quoted(where)} has days that do not exist: convert it to real dates "
            "first, with xarray: data.convert_calendar('standard', align_on='year')"
        )
    return np.array([_dated(each) for each in time.values], dtype=np.int64)


def _dated(each: Any) -> int:
    if (each.month, each.day) == (2, 29) and not isleap(each.year):
        return NO_DAY
    return date(each.year, each.month, each.day).toordinal()


def _spread(each: Any) -> int:
    """Date of a day of a year of 360 days, as far through the real year; five days a year stay missing."""
    length = 366 if isleap(each.year) else 365
    return date(each.year, 1, 1).toordinal() - 1 + round(int(each.dayofyr) * length / 360)
