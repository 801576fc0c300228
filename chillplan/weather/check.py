"""First quality checks of a record: impossible values, exchanged columns, values that stand still.

A value that fails is set to missing and flagged ``removed``; every removal is named in the notes of the provenance.
An observed snow depth is left out where what new snow adds to it does not fit the water that fell. The
finer checks are in `chillplan.weather.quality`, which only reports.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from chillplan.errors import InputError, counted, quoted
from chillplan.variables import VARIABLES
from chillplan.weather.fill import bridged, uncrossed
from chillplan.weather.history import History

__all__ = [
    "EXCHANGED",
    "ROUNDING",
    "Fault",
    "FreshSnow",
    "clean_places",
    "each_day",
    "faults_in",
    "first_checks",
    "fresh_snow",
    "may_stand_still",
    "snow_fault",
    "streaks",
]

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


FREEZING = 0.0  # tmax up to which what falls is taken as snow that does not melt [°C]
LEAST_WATER = 2.0  # water of a snowfall worth measuring [mm]
FEWEST_FALLS = 10  # snowfalls that a judgement needs; our choice
USUAL_BULK = 10.0
"""Depth of new snow over its water. [-]

New snow of four winters at six places had 72 to 103 kg m-3 on average, single falls 10 to 257 (Judson and Doesken 2000,
Bull. Amer. Meteor. Soc. 81:1577-1587, abstract read): 10 to 14 mm a mm of water, less when read later.
"""
LEAST_BULK, MOST_BULK = 2.0, 40.0
"""Mean depth over water, beyond which a record is not believed: more than twice what the densest, and less than half of
what the lightest of those places allows for wind, settling and a gauge that catches too little (our choice). [-]"""
BARE_SHARE = 0.25  # share of heavy snowfalls after which no snow lies that is not believed; our choice [-]
HEAVY = 5.0  # water of a snowfall that cannot go unseen [mm]
UNITS = (10.0, 25.4)  # tenths for whole units, inches for millimetres [-]


@dataclass(frozen=True)
class FreshSnow:
    """Snowfalls of a record on freezing days."""

    # all of at least 2 mm of water, and those of at least 5
    falls: int
    heavy: int
    bulk: float  # depth gained over water, all falls together; NaN without a fall [-]
    bare: int  # heavy falls after which the depth is 0 on that day and the next


def fresh_snow(daily: pd.DataFrame) -> FreshSnow:
    """Depth of snow gained on freezing days, beside the water that fell.

    Parameters
    ----------
    daily : pandas.DataFrame
        Consecutive dates; ``tmax`` [°C], ``precipitation`` and ``snow_depth`` [mm].

    Returns
    -------
    FreshSnow
    """
    depth = daily["snow_depth"].to_numpy(dtype=float)
    water = daily["precipitation"].to_numpy(dtype=float)
    before, after = np.full(depth.size, np.nan), np.full(depth.size, np.nan)
    before[1:], after[:-1] = depth[:-1], depth[1:]
    # Read in the morning, the depth shows most of a day's snow on the next.
    then = np.maximum(depth, after)
    frozen = daily["tmax"].to_numpy(dtype=float) <= FREEZING
    fell = frozen & (water >= LEAST_WATER) & np.isfinite(then - before)
    heavy = fell & (water >= HEAVY)
    gained = np.maximum(then - before, 0.0)[fell].sum()
    bulk = float(gained / water[fell].sum()) if fell.any() else float("nan")
    return FreshSnow(int(fell.sum()), int(heavy.sum()), bulk, int((then[heavy] == 0.0).sum()))


def snow_fault(daily: pd.DataFrame) -> str | None:
    """What is wrong with an observed snow depth, in a sentence; None where it may be right or nothing can be said.

    Parameters
    ----------
    daily : pandas.DataFrame
        As for `fresh_snow`; a record without depth or precipitation cannot be judged.
    """
    if not {"snow_depth", "precipitation"} <= set(daily):
        return None
    found = fresh_snow(daily)
    if found.falls < FEWEST_FALLS:
        return None
    if not LEAST_BULK <= found.bulk <= MOST_BULK:
        return f"{_misfit(found.bulk)}, so it is not used (name the column with its unit, such as snow_depth_cm)."
    if found.heavy >= FEWEST_FALLS and found.bare > BARE_SHARE * found.heavy:
        return (
            f"Observed snow depth is 0 after {found.bare} of {found.heavy} heavy snowfalls in frost: missing values "
            "seem to stand as 0, so it is not used (leave them blank)."
        )
    return None


def _misfit(bulk: float) -> str:
    words = f"Observed snow depth gains {bulk:.1f} mm a mm of water in frost where about {USUAL_BULK:.0f} are usual"
    if not bulk:
        return f"{words}: it does not follow the snowfall"
    off = max(bulk / USUAL_BULK, USUAL_BULK / bulk)
    factor = min(UNITS, key=lambda unit: abs(np.log(off / unit)))
    return f"{words}: it looks {factor:g} times too {'small' if bulk < USUAL_BULK else 'large'}"


FloatArray = NDArray[np.float32]
_READ = ("tmin", "tmax", "precipitation")
_PLACES_AT_ONCE = 256  # places cleaned at once, so that what is made on the way stays small


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
    for begin in range(0, suspects.size, _PLACES_AT_ONCE):
        where = suspects[begin : begin + _PLACES_AT_ONCE]
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
    found = np.asarray((series[0] - series[1]).max(axis=0) > 0.0)
    for name, values in zip(_READ, series, strict=False):
        # The extremes are NaN where a day is missing, and then neither comparison holds.
        found |= ~((values.min(axis=0) >= VARIABLES[name].low) & (values.max(axis=0) <= VARIABLES[name].high))
    for values in series[:2]:
        found |= may_stand_still(values, STREAK_DAYS)
    return found


def _cleaned(series: list[FloatArray]) -> list[FloatArray]:
    values = dict(zip(_READ, series, strict=False))
    both = ~np.isnan(values["tmin"]) & ~np.isnan(values["tmax"])
    crossed = (both & (values["tmin"] - values["tmax"] > ROUNDING)).sum(axis=0)
    refused = crossed > EXCHANGED * both.sum(axis=0)
    faults_in(values)
    for name in ("tmin", "tmax"):
        refused |= np.isnan(values[name]).all(axis=0)
        values[name] = bridged(values[name])[0]
    values["tmin"], values["tmax"] = uncrossed(values["tmin"], values["tmax"])
    for each in values.values():
        each[:, refused] = np.nan
    return list(values.values())
