"""First quality checks of a record: impossible values, exchanged columns, values that stand still.

A value that fails is set to missing and flagged ``removed``; every removal is named in the notes of the provenance.
The finer checks are in `chillplan.weather.quality`, which only reports.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
import pandas as pd

from chillplan.errors import InputError, quoted
from chillplan.variables import VARIABLES
from chillplan.weather.history import History
from chillplan.weather.record import counted
from chillplan.weather.snow_depth import snow_fault

__all__ = ["EXCHANGED", "ROUNDING", "Fault", "faults_in", "first_checks", "may_stand_still", "streaks"]

# Twenty equal values in a row: streak check of GHCN-Daily (Durre et al. 2010).
STREAK_DAYS = 20
# tmin above tmax by less than this is rounding. [°C]
ROUNDING = 0.06
# Above the first share of days with tmin above tmax the columns are exchanged, above the second nothing can be trusted.
_ALWAYS, EXCHANGED = 0.5, 0.02
_SHOWN = 3
_STEP = 4  # [day]
_TEMPERATURES = ("tmin", "tmax")


@dataclass(frozen=True)
class Fault:
    """Values that one check removed: of which variables, where, and what they are, in words."""

    names: tuple[str, ...]
    where: np.ndarray
    noun: str
    what: str


def first_checks(history: History) -> History:
    """Check the values of a history and remove those that cannot be right.

    Parameters
    ----------
    history : History

    Returns
    -------
    History
        Values that failed are NaN and flagged ``removed``; the notes say how many and when. A snow depth that does
        not fit the snowfall is left out whole.

    Raises
    ------
    InputError
        If tmin and tmax are exchanged, or tmin is above tmax on more than 2 % of the days.
    """
    daily = history.daily.copy()
    _refuse_exchanged(daily, history)
    notes = []
    failed = int((daily[["tmin_flag", "tmax_flag"]] == "removed").to_numpy().sum())
    if failed:
        notes.append(f"{counted(failed, 'temperature')} that the source itself marks as failed left out.")
    names = [str(column) for column in daily if not str(column).endswith("_flag")]
    values = {name: daily[name].to_numpy(dtype=float).copy() for name in names}
    for fault in faults_in(values):
        notes.append(_told(fault, pd.DatetimeIndex(daily.index)))
        for name in fault.names:
            if name in _TEMPERATURES:
                daily[f"{name}_flag"] = daily[f"{name}_flag"].mask(fault.where, "removed")
    daily[names] = pd.DataFrame(values, index=daily.index)
    misfit = snow_fault(daily)
    if misfit is not None:
        notes.append(misfit)
        daily = daily.drop(columns="snow_depth")
    for name in ("tmin", "tmax"):
        if daily[name].isna().all():
            why = next((note for note in notes if f" of {name} " in note), notes[-1]).rstrip(".")
            raise InputError(
                f"no {name} of {quoted(history.provenance.station)} can be right ({why}): give another record"
            )
    return replace(history, daily=daily).noted(*notes)


def _refuse_exchanged(daily: pd.DataFrame, history: History) -> None:
    both = daily[["tmin", "tmax"]].dropna()
    if both.empty:
        raise InputError(
            f"{quoted(history.provenance.station)} has no day with both tmin and tmax: give another record"
        )
    above = both["tmin"] - both["tmax"] > ROUNDING
    share = float(above.mean())
    if share <= EXCHANGED:
        return
    at = int(above.to_numpy().argmax())
    day = pd.DatetimeIndex(both.index)[at]
    values = f"tmin {both['tmin'].iloc[at]:.1f} and tmax {both['tmax'].iloc[at]:.1f} on {day:%Y-%m-%d}"
    if share > _ALWAYS:
        raise InputError(f"{values}: the columns tmin and tmax are exchanged; rename them")
    raise InputError(f"{values}: tmin is above tmax on {share:.0%} of the days; check the columns")


def faults_in(values: dict[str, np.ndarray]) -> list[Fault]:
    """Remove what cannot be right, in place: the one list of checks, for a record and for every place of a grid.

    Parameters
    ----------
    values : dict of str to numpy.ndarray, shape (day, ...)
        ``tmin``, ``tmax`` and others by their names in a history, every day in order. [house units]

    Returns
    -------
    list of Fault
        What was set to NaN, in the order of the checks.
    """
    found = []

    def remove(names: tuple[str, ...], where: np.ndarray, noun: str, what: str) -> None:
        if where.any():
            found.append(Fault(names, where, noun, what))
            for name in names:
                values[name][where] = np.nan

    for name, each in values.items():
        variable = VARIABLES.get(name) or VARIABLES.get(name.rsplit("_", 1)[0])
        if variable is not None:
            span = f"outside {variable.low:g} to {variable.high:g} {variable.unit}"
            outside = (each < variable.low) | (each > variable.high)
            remove((name,), outside, "value", f"of {name.replace('_', ' ')} {span}")
    remove(_TEMPERATURES, values["tmin"] - values["tmax"] > ROUNDING, "day", "with tmin above tmax")
    for name in _TEMPERATURES:
        still = streaks(values[name], STREAK_DAYS)
        remove((name,), still, "day", f"of {name} in runs of {STREAK_DAYS} or more equal values")
    return found


def _told(fault: Fault, days: pd.DatetimeIndex) -> str:
    hit = [f"{day:%Y-%m-%d}" for day in days[fault.where]]
    more = f" and {len(hit) - _SHOWN} more" if len(hit) > _SHOWN else ""
    return f"{counted(len(hit), fault.noun)} {fault.what} removed: {', '.join(hit[:_SHOWN])}{more}."


def streaks(values: np.ndarray, days: int) -> np.ndarray:
    """Where a value stands still: runs of equal values, missing days passed over.

    Parameters
    ----------
    values : numpy.ndarray, shape (day, ...)
        NaN is passed over and neither counts nor breaks a run.
    days : int
        Shortest run to report. [day]

    Returns
    -------
    numpy.ndarray of bool, shape (day, ...)
    """
    result = np.zeros(values.shape, dtype=bool)
    if values.ndim > 1:
        for place in zip(*np.nonzero(may_stand_still(values, days)), strict=True):
            result[(slice(None), *place)] = streaks(values[(slice(None), *place)], days)
        return result
    known = np.flatnonzero(~np.isnan(values))
    if known.size == 0:
        return result
    present = values[known]
    starts = np.concatenate(([0], np.flatnonzero(np.diff(present) != 0) + 1))
    lengths = np.diff(np.concatenate((starts, [present.size])))
    result[known[np.repeat(lengths >= days, lengths)]] = True
    return result


def may_stand_still(values: np.ndarray, days: int) -> np.ndarray:
    """Places where so many days could be equal, seen on every fourth day; shape (...,).

    Parameters
    ----------
    values : numpy.ndarray, shape (day, ...)
        NaN is taken for equal to anything: a run may pass over it.
    days : int
        [day]
    """
    seen = values[::_STEP]
    same = ~(np.abs(seen[1:] - seen[:-1]) > 0.0)
    running = days // _STEP - 1
    if len(same) < running:
        return np.zeros(values.shape[1:], dtype=bool)
    parts = [same[at : len(same) - running + 1 + at] for at in range(running)]
    return np.asarray(np.logical_and.reduce(parts).any(axis=0))
