"""Quality checks of a daily record that only report: which value on which day looks wrong, and by which rule.

The rules are those of GHCN-Daily for single stations, in its order; a value found by one rule is set aside before the
next. Removing is left to the reader's own decision.

References
----------
Durre, Menne, Gleason, Houston and Vose (2010), J. Appl. Meteorol. Climatol. 49:1615-1633. Robust mean and spread:
Lanzante (1996), Int. J. Climatol. 16:1197-1226.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from chillplan.errors import counted
from chillplan.variables import VARIABLES
from chillplan.weather.check import streaks
from chillplan.weather.history import History

__all__ = ["CHECKS", "Finding", "equal_days", "quality_findings", "quality_notes", "repeated_months", "shift_notes"]

FloatArray = NDArray[np.floating]
BoolArray = NDArray[np.bool_]

STREAK_DAYS = 20
GAP = 10.0  # [°C]
OUTLIER_SPREADS = 6.0
OUTLIER_WINDOW = 15  # [day]
OUTLIER_FEWEST = 100  # values
SPIKE = 25.0  # [°C]
LAGGED_RANGE = 40.0  # [°C]
SHIFT_DAYS = 60  # shorter stretches that fit better a day off come by chance [day]
SHIFT_GAIN, SHIFT_LIKENESS = 0.4, 0.7
"""Correlation of the daily changes that moving must add, and that it must reach. [-]

Our choice: between 19 pairs of real records within 200 km, taken to be right, no stretch reached both.
"""
_OFF = (("earlier", 1), ("later", -1))
_ROUNDING = 0.06  # [°C]
_BIWEIGHT = 7.5
_NAMED = 5

# Name of each check and what it says of a day, in the order they are made.
CHECKS = {
    "zeros": "tmin and tmax both exactly 0 °C or both exactly 0 °F",
    "repeated month": "a month that equals another month value by value",
    "tmin equals tmax": "tmin equals tmax on ten or more days of a month",
    "bounds": "beyond the world records",
    "streak": "the same value on twenty or more days running",
    "gap": "ten degrees or more away from every other value of that month",
    "outlier": "six or more standard deviations from what is usual within a week of the date",
    "order": "tmin above tmax",
    "spike": "25 degrees or more from both neighbouring days",
    "lagged range": "tmax 40 degrees above every tmin, or tmin 40 below every tmax, of three days",
    "beyond the other": "tmin above every tmax, or tmax below every tmin, of that month in the record",
}


@dataclass(frozen=True)
class Finding:
    """Days of one variable that one check finds."""

    check: str  # key of `CHECKS`
    variable: str  # ``tmin`` or ``tmax``
    dates: pd.DatetimeIndex
    values: FloatArray  # what the record says on these days [°C]


def quality_findings(daily: pd.DataFrame) -> list[Finding]:
    """Check a record.

    Parameters
    ----------
    daily : pandas.DataFrame
        Index of consecutive dates, columns ``tmin`` and ``tmax`` [°C]; nothing in it is changed.

    Returns
    -------
    list of Finding
        One for each check and variable that finds something, in the order of `CHECKS`.
    """
    dates = pd.DatetimeIndex(daily.index)
    values = {name: daily[name].to_numpy(dtype=float).copy() for name in ("tmin", "tmax")}
    rules: dict[str, Callable[[], dict[str, BoolArray]]] = {
        "zeros": lambda: _zeros(values),
        "repeated month": lambda: {name: repeated_months(values[name], dates) for name in values},
        "tmin equals tmax": lambda: dict.fromkeys(values, equal_days(values["tmin"], values["tmax"], dates)),
        "bounds": lambda: {name: _bounds(values[name], name) for name in values},
        "streak": lambda: {name: streaks(values[name], STREAK_DAYS) for name in values},
        "gap": lambda: {name: _gap(values[name], dates.month.to_numpy()) for name in values},
        "outlier": lambda: {name: _outlier(values[name], dates.day_of_year.to_numpy()) for name in values},
        "order": lambda: dict.fromkeys(values, values["tmin"] - values["tmax"] > _ROUNDING),
        "spike": lambda: {name: _spike(values[name]) for name in values},
        "lagged range": lambda: _lagged_range(values),
        "beyond the other": lambda: _beyond(values, dates.month.to_numpy()),
    }
    found = []
    for check in CHECKS:
        for name, hit in rules[check]().items():
            if hit.any():
                found.append(Finding(check, name, dates[np.flatnonzero(hit)], daily[name].to_numpy(dtype=float)[hit]))
                values[name][hit] = np.nan
    return found


def quality_notes(daily: pd.DataFrame) -> list[str]:
    """One sentence where days look wrong, none where all look right."""
    days = sorted({day for finding in quality_findings(daily) for day in finding.dates})
    if not days:
        return []
    what = counted(len(days), "day") + (" looks" if len(days) == 1 else " look")
    named = ", ".join(f"{day:%Y-%m-%d}" for day in days[:_NAMED]) + (" …" if len(days) > _NAMED else "")
    return [f"{what} wrong ({named}); nothing was changed: see `chillplan weather check`."]


def shift_notes(history: History, neighbours: Sequence[History]) -> list[str]:
    """Stretches of days that fit a neighbouring record clearly better when dated a day earlier or later.

    Each day's change of temperature is held against the neighbour's on the same day and on the days beside it. Which of
    the two records is a day off cannot be told from two, nor from one alone whether it is off at all.

    Parameters
    ----------
    history : History
    neighbours : sequence of History
        Nearest first; the first that tells something of a variable is asked.

    Returns
    -------
    list of str
        A sentence for each variable with such a stretch, with its first and last day, right to about a week.
    """
    dates = pd.DatetimeIndex(history.daily.index)
    notes = []
    for name in ("tmin", "tmax"):
        own = _changes(history, name, dates)
        for neighbour in neighbours:
            other = _changes(neighbour, name, dates)
            found = [(word, stretch) for word, step in _OFF if (stretch := _shifted(own, other, step)) is not None]
            notes += [
                f"{name} from {dates[first]:%Y-%m-%d} to {dates[last]:%Y-%m-%d} fits {neighbour.provenance.station} "
                f"clearly better when dated a day {word}: one of the two is a day off there; nothing was changed."
                for word, (first, last) in found
            ]
            if found or np.isfinite(own * other).sum() >= SHIFT_DAYS:
                break
    return notes


def _changes(history: History, name: str, dates: pd.DatetimeIndex) -> FloatArray:
    """Change from the day before of what was observed, in standard deviations."""
    observed = history.daily[name].where(history.daily[f"{name}_flag"] == "").reindex(dates)
    changes = observed.to_numpy(dtype=float, copy=True)
    changes[1:] = np.diff(changes)
    changes[0] = np.nan
    return np.asarray(changes / np.nanstd(changes)) if np.isfinite(changes).any() else changes


def _shifted(own: FloatArray, other: FloatArray, step: int) -> tuple[int, int] | None:
    """First and last day of the stretch in which the record fits best, against as it is, when moved by a step."""
    moved = own * np.roll(other, step)
    gain = moved - own * other
    known = np.isfinite(gain)
    total = np.concatenate([[0.0], np.cumsum(np.where(known, gain, 0.0))])
    last = int(np.argmax(total - np.minimum.accumulate(total))) - 1
    first = int(np.argmin(total[: last + 2]))
    inside = np.flatnonzero(known[first : last + 1]) + first
    if inside.size < SHIFT_DAYS or gain[inside].mean() < SHIFT_GAIN or moved[inside].mean() < SHIFT_LIKENESS:
        return None
    return int(inside[0]), int(inside[-1])


def _zeros(values: dict[str, FloatArray]) -> dict[str, BoolArray]:
    hit = np.zeros(values["tmin"].shape, dtype=bool)
    for zero in (0.0, -17.8, -17.78):
        hit |= (np.abs(values["tmin"] - zero) < 1e-6) & (np.abs(values["tmax"] - zero) < 1e-6)
    return dict.fromkeys(values, hit)


def _bounds(values: FloatArray, name: str) -> BoolArray:
    return np.asarray((values < VARIABLES[name].low) | (values > VARIABLES[name].high))


def _gap(values: FloatArray, months: NDArray[np.integer]) -> BoolArray:
    """Values of a calendar month beyond a step of 10 °C in the ordered values, seen from the median."""
    hit = np.zeros(values.shape, dtype=bool)
    for month in range(1, 13):
        at = np.flatnonzero((months == month) & ~np.isnan(values))
        if at.size < 2:
            continue
        order = at[np.argsort(values[at], kind="stable")]
        steps = np.diff(values[order])
        middle = (order.size - 1) // 2
        above = np.flatnonzero(steps[middle:] >= GAP)
        below = np.flatnonzero(steps[:middle] >= GAP)
        if above.size:
            hit[order[middle + above[0] + 1 :]] = True
        if below.size:
            hit[order[: below[-1] + 1]] = True
    return hit


def _outlier(values: FloatArray, day_of_year: NDArray[np.integer]) -> BoolArray:
    """Six robust spreads from the robust mean of all values within seven days of the calendar day."""
    half = OUTLIER_WINDOW // 2
    mean, spread = np.full(367, np.nan), np.full(367, np.nan)
    by_day = [values[day_of_year == day] for day in range(367)]
    for day in range(1, 367):
        window = np.concatenate([by_day[(day + step - 1) % 366 + 1] for step in range(-half, half + 1)])
        window = window[~np.isnan(window)]
        if window.size >= OUTLIER_FEWEST:
            mean[day], spread[day] = _biweight(window)
    with np.errstate(invalid="ignore"):
        return np.asarray(np.abs(values - mean[day_of_year]) >= OUTLIER_SPREADS * spread[day_of_year])


def _biweight(values: FloatArray) -> tuple[float, float]:
    """Biweight mean and standard deviation (Lanzante 1996)."""
    middle = np.median(values)
    distance = np.median(np.abs(values - middle))
    if distance == 0.0:
        return float(middle), float("nan")
    u = np.clip((values - middle) / (_BIWEIGHT * distance), -1.0, 1.0)
    weight = (1.0 - u**2) ** 2
    mean = middle + ((values - middle) * weight).sum() / weight.sum()
    top = np.sqrt(values.size * ((values - middle) ** 2 * (1.0 - u**2) ** 4).sum())
    return float(mean), float(top / abs(((1.0 - u**2) * (1.0 - 5.0 * u**2)).sum()))


def _spike(values: FloatArray) -> BoolArray:
    hit = np.zeros(values.shape, dtype=bool)
    before, after = values[1:-1] - values[:-2], values[1:-1] - values[2:]
    hit[1:-1] = (np.minimum(before, after) >= SPIKE) | (np.maximum(before, after) <= -SPIKE)
    return hit


def _lagged_range(values: dict[str, FloatArray]) -> dict[str, BoolArray]:
    warmest, coldest = _of_three(values["tmin"], np.fmax), _of_three(values["tmax"], np.fmin)
    with np.errstate(invalid="ignore"):
        return {
            "tmax": values["tmax"] >= warmest + LAGGED_RANGE,
            "tmin": values["tmin"] <= coldest - LAGGED_RANGE,
        }


def _of_three(values: FloatArray, better: np.ufunc) -> FloatArray:
    padded = np.concatenate(([np.nan], values, [np.nan]))
    return np.asarray(better(better(padded[:-2], padded[1:-1]), padded[2:]))


def _beyond(values: dict[str, FloatArray], months: NDArray[np.integer]) -> dict[str, BoolArray]:
    highest, lowest = np.full(13, np.nan), np.full(13, np.nan)
    for month in range(1, 13):
        tmax, tmin = values["tmax"][months == month], values["tmin"][months == month]
        if not np.isnan(tmax).all() and not np.isnan(tmin).all():
            highest[month], lowest[month] = np.nanmax(tmax), np.nanmin(tmin)
    with np.errstate(invalid="ignore"):
        return {"tmin": values["tmin"] > highest[months], "tmax": values["tmax"] < lowest[months]}


EQUAL_DAYS = 10
_FEWEST_VALUES = 20  # of a month, so that chance does not make two months equal
_FEWEST_DIFFERENT = 4  # a month of a few values only is no copy


def repeated_months(values: NDArray[np.floating], dates: pd.DatetimeIndex) -> NDArray[np.bool_]:
    """Months that equal another month of the record value by value; which is the copy cannot be told.

    Parameters
    ----------
    values : numpy.ndarray, shape (day,)
        NaN must stand on the same days of the month in both. [°C]
    dates : pandas.DatetimeIndex, length day

    Returns
    -------
    numpy.ndarray of bool, shape (day,)
        Copied whole years are found month by month.
    """
    number = dates.year.to_numpy() * 12 + dates.month.to_numpy() - 1
    first = int(number[0])
    table = np.full((int(number[-1]) - first + 1, 28), np.nan)
    days = dates.day.to_numpy()
    inside = days <= 28
    table[number[inside] - first, days[inside] - 1] = np.round(values[inside], 1)
    known = (~np.isnan(table)).sum(axis=1)
    seen: dict[bytes, list[int]] = {}
    for row in np.flatnonzero(known >= _FEWEST_VALUES):
        if np.unique(table[row][~np.isnan(table[row])]).size >= _FEWEST_DIFFERENT:
            seen.setdefault((table[row] + 0.0).tobytes(), []).append(int(row))
    repeated = [row for rows in seen.values() if len(rows) > 1 for row in rows]
    return np.asarray(np.isin(number - first, repeated) & ~np.isnan(values))


def equal_days(tmin: NDArray[np.floating], tmax: NDArray[np.floating], dates: pd.DatetimeIndex) -> NDArray[np.bool_]:
    """Days with tmin equal to tmax in months that have ten or more of them.

    Parameters
    ----------
    tmin, tmax : numpy.ndarray, shape (day,)
        [°C]
    dates : pandas.DatetimeIndex, length day

    Returns
    -------
    numpy.ndarray of bool, shape (day,)
    """
    equal = np.abs(tmin - tmax) < 1e-6
    number = dates.year.to_numpy() * 12 + dates.month.to_numpy() - 1
    number = number - number[0]
    return np.asarray(equal & (np.bincount(number, weights=equal)[number] >= EQUAL_DAYS))
