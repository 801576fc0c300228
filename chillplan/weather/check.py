"""First quality checks of a record: impossible values, exchanged columns, values that stand still.

A value that fails is set to missing and flagged ``removed``; every removal is named in the notes of the provenance.
The finer checks are in `chillplan.weather.quality`, which only reports.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pandas as pd

from chillplan.errors import InputError, quoted
from chillplan.variables import VARIABLES
from chillplan.weather.history import History
from chillplan.weather.record import counted

__all__ = ["first_checks", "streaks"]

# Twenty equal values in a row: streak check of GHCN-Daily (Durre et al. 2010).
STREAK_DAYS = 20
# tmin above tmax by less than this is rounding. [°C]
_ROUNDING = 0.06
_EXCHANGED, _DOUBTFUL = 0.5, 0.02
_SHOWN = 3


def first_checks(history: History) -> History:
    """Check the values of a history and remove those that cannot be right.

    Parameters
    ----------
    history : History

    Returns
    -------
    History
        Values that failed are NaN and flagged ``removed``; the notes say how many and when.

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
    notes += _outside_bounds(daily)
    above = (daily["tmin"] - daily["tmax"] > _ROUNDING).to_numpy()
    notes += _remove(daily, {"tmin": above, "tmax": above}, "day", "with tmin above tmax")
    for name in ("tmin", "tmax"):
        still = streaks(daily[name].to_numpy(), STREAK_DAYS)
        notes += _remove(daily, {name: still}, "day", f"of {name} in runs of {STREAK_DAYS} or more equal values")
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
    above = both["tmin"] - both["tmax"] > _ROUNDING
    share = float(above.mean())
    if share <= _DOUBTFUL:
        return
    at = int(above.to_numpy().argmax())
    day = pd.DatetimeIndex(both.index)[at]
    values = f"tmin {both['tmin'].iloc[at]:.1f} and tmax {both['tmax'].iloc[at]:.1f} on {day:%Y-%m-%d}"
    if share > _EXCHANGED:
        raise InputError(f"{values}: the columns tmin and tmax are exchanged; rename them")
    raise InputError(f"{values}: tmin is above tmax on {share:.0%} of the days; check the columns")


def _outside_bounds(daily: pd.DataFrame) -> list[str]:
    """Remove values beyond the plausible range of each variable."""
    notes = []
    for name in [str(column) for column in daily if not str(column).endswith("_flag")]:
        variable = VARIABLES.get(name) or VARIABLES.get(name.rsplit("_", 1)[0])
        if variable is None:
            continue
        outside = ((daily[name] < variable.low) | (daily[name] > variable.high)).to_numpy()
        label = name.replace("_", " ")
        notes += _remove(
            daily, {name: outside}, "value", f"of {label} outside {variable.low:g} to {variable.high:g} {variable.unit}"
        )
    return notes


def _remove(daily: pd.DataFrame, where: dict[str, np.ndarray], noun: str, what: str) -> list[str]:
    """Set values to NaN in place, flag them, and say so."""
    hit = np.logical_or.reduce(list(where.values()))
    if not hit.any():
        return []
    for name, mask in where.items():
        daily[name] = daily[name].mask(mask)
        if f"{name}_flag" in daily:
            daily[f"{name}_flag"] = daily[f"{name}_flag"].mask(mask, "removed")
    days = [f"{day:%Y-%m-%d}" for day in daily.index[hit][:_SHOWN]]
    more = f" and {int(hit.sum()) - len(days)} more" if hit.sum() > len(days) else ""
    return [f"{counted(int(hit.sum()), noun)} {what} removed: {', '.join(days)}{more}."]


def streaks(values: np.ndarray, days: int) -> np.ndarray:
    """Where a value stands still: runs of equal values, missing days passed over.

    Parameters
    ----------
    values : numpy.ndarray, shape (day,)
        NaN is passed over and neither counts nor breaks a run.
    days : int
        Shortest run to report. [day]

    Returns
    -------
    numpy.ndarray of bool, shape (day,)
    """
    result = np.zeros(values.shape, dtype=bool)
    known = np.flatnonzero(~np.isnan(values))
    if known.size == 0:
        return result
    present = values[known]
    starts = np.concatenate(([0], np.flatnonzero(np.diff(present) != 0) + 1))
    lengths = np.diff(np.concatenate((starts, [present.size])))
    result[known[np.repeat(lengths >= days, lengths)]] = True
    return result
