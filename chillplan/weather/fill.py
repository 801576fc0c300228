"""Fills gaps: short ones by a straight line, longer ones from neighbouring stations; and says how well that does.

What is filled is flagged; nothing else is invented. A neighbour's values are taken after removing the seasonal
difference.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from chillplan.errors import InputError, counted
from chillplan.weather.history import History
from chillplan.weather.nearness import distance_km

__all__ = [
    "LONGEST_GAP",
    "WITHIN_KM",
    "HeldOut",
    "bridged",
    "fill_from_neighbours",
    "fill_short_gaps",
    "gap_lengths",
    "held_out_error",
    "neighbours_of",
    "uncrossed",
]

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


def uncrossed(low: np.ndarray, high: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Lowest and highest of each day, both at their mean where they cross once gaps are bridged or the place is moved.

    Parameters
    ----------
    low, high : numpy.ndarray, shape (day, ...)
        [°C]
    """
    crossed = low > high
    mean = ((low.astype(float) + high) / 2.0).astype(low.dtype)
    return np.where(crossed, mean, low), np.where(crossed, mean, high)


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


FloatArray = NDArray[np.floating]

_FEWEST_COMMON = 180  # days on which two stations are compared
_LARGEST_ERROR = 4.0  # a neighbour that differs more than this tells too little [°C]
_YEAR = 365.25


@dataclass(frozen=True)
class HeldOut:
    """How well real days that were blanked are restored."""

    days: int  # values blanked and restored
    # root mean square and mean of restored less real [°C]
    error: float
    bias: float


def fill_from_neighbours(history: History, neighbours: Sequence[History], at_most: float = 0.10) -> History:
    """Fill the gaps of a record.

    Parameters
    ----------
    history : History
        The record to fill.
    neighbours : sequence of History
        Each shares at least 180 days with the record; those that agree best are used first.
    at_most : float
        Largest share of a calendar year's days that may be filled; a year that lacks more stays as it is. [-]

    Returns
    -------
    History
        Filled days are flagged ``filled``; the notes count them and name the neighbours.

    Raises
    ------
    InputError
        If `at_most` is not between 0 and 0.5.
    """
    if not 0.0 <= at_most <= 0.5:
        raise InputError(f"a share of {at_most:g} filled days is too much to call it a record: give 0 to 0.5")
    daily = history.daily.copy()
    used: dict[str, int] = {}
    for name in ("tmin", "tmax"):
        values = daily[name].to_numpy(dtype=float).copy()
        flags = daily[f"{name}_flag"].to_numpy(dtype=object).copy()
        open_days = np.isnan(values) & _in_fillable_years(values, pd.DatetimeIndex(daily.index), at_most)
        for neighbour, estimate in _estimates(history, neighbours, name):
            hit = open_days & ~np.isnan(estimate)
            if hit.any():
                values[hit] = np.round(estimate[hit], 1)
                flags[hit] = "filled"
                open_days &= ~hit
                used[neighbour] = used.get(neighbour, 0) + int(hit.sum())
        daily[name], daily[f"{name}_flag"] = values, flags
    if not used:
        return history
    shown = ", ".join(f"{station} ({count})" for station, count in used.items())
    return replace(history, daily=daily).noted(
        f"{counted(sum(used.values()), 'value')} filled from neighbours: {shown}."
    )


def _in_fillable_years(values: FloatArray, dates: pd.DatetimeIndex, at_most: float) -> NDArray[np.bool_]:
    years = dates.year.to_numpy() - dates.year[0]
    missing = np.bincount(years, weights=np.isnan(values))
    return np.asarray((missing <= at_most * _YEAR)[years])


def _estimates(history: History, neighbours: Sequence[History], name: str) -> list[tuple[str, FloatArray]]:
    """What each neighbour says of the record's days, best first; NaN where it is silent."""
    dates = pd.DatetimeIndex(history.daily.index)
    own = history.daily[name].where(history.daily[f"{name}_flag"] == "").to_numpy(dtype=float)
    terms = _terms(dates)
    found = []
    for neighbour in neighbours:
        observed = neighbour.daily[name].where(neighbour.daily[f"{name}_flag"] == "")
        other = observed.reindex(dates).to_numpy(dtype=float)
        common = ~np.isnan(own) & ~np.isnan(other)
        if common.sum() < _FEWEST_COMMON:
            continue
        difference = own[common] - other[common]
        coefficients = np.linalg.lstsq(terms[common], difference, rcond=None)[0]
        error = float(np.sqrt(np.mean((difference - terms[common] @ coefficients) ** 2)))
        if error <= _LARGEST_ERROR:
            found.append((error, neighbour.provenance.station, other + terms @ coefficients))
    found.sort(key=lambda entry: entry[0])
    return [(station, estimate) for _, station, estimate in found]


def _terms(dates: pd.DatetimeIndex) -> FloatArray:
    """Mean and two yearly waves: the seasonal difference of two stations."""
    angle = 2.0 * np.pi * dates.day_of_year.to_numpy() / _YEAR
    return np.stack([np.ones(len(dates)), np.cos(angle), np.sin(angle), np.cos(2 * angle), np.sin(2 * angle)], axis=1)


def held_out_error(
    history: History, neighbours: Sequence[History] = (), share: float = 0.10, seed: int = 0
) -> dict[str, HeldOut]:
    """Blank real days, restore them, and compare.

    Parameters
    ----------
    history : History
    neighbours : sequence of History
        None: gaps of at most 5 days are blanked and bridged by a straight line. Else gaps of 1 to 30 days are
        blanked and filled from the neighbours, whose seasonal difference is fitted without the blanked days.
    share : float
        Share of the observed days that is blanked. [-]
    seed : int
        Of the random choice of days.

    Returns
    -------
    dict of str to HeldOut
        For ``tmin`` and ``tmax``; NaN errors where nothing could be restored.
    """
    random = np.random.default_rng(seed)
    both = ((history.daily["tmin_flag"] == "") & (history.daily["tmax_flag"] == "")).to_numpy()
    known = both & history.daily[["tmin", "tmax"]].notna().all(axis=1).to_numpy()
    blank = _gaps(known, share, 30 if neighbours else LONGEST_GAP, random)
    daily = history.daily.copy()
    for name in ("tmin", "tmax"):
        daily[name] = daily[name].mask(blank)
    holed = replace(history, daily=daily)
    restored = fill_from_neighbours(holed, neighbours, at_most=0.5) if neighbours else fill_short_gaps(holed)
    result = {}
    for name in ("tmin", "tmax"):
        gap = (restored.daily[name] - history.daily[name]).to_numpy(dtype=float)[blank]
        gap = gap[~np.isnan(gap)]
        some = gap.size > 0
        error = float(np.sqrt(np.mean(gap**2))) if some else float("nan")
        result[name] = HeldOut(int(gap.size), error, float(gap.mean()) if some else float("nan"))
    return result


def _gaps(known: NDArray[np.bool_], share: float, longest: int, random: np.random.Generator) -> NDArray[np.bool_]:
    """Random gaps of 1 to ``longest`` days among the known days, apart from each other, until the share is reached."""
    blank = np.zeros(known.shape, dtype=bool)
    wanted = share * known.sum()
    for _ in range(known.size):
        if blank.sum() >= wanted:
            break
        length = int(random.integers(1, longest + 1))
        start = int(random.integers(1, max(known.size - length - 1, 2)))
        around = slice(start - 1, start + length + 1)
        if known[around].all() and not blank[around].any():
            blank[start : start + length] = True
    return blank & (gap_lengths(np.where(known & ~blank, 1.0, np.nan)) <= longest)


WITHIN_KM = 100.0


def neighbours_of(history: History, others: Sequence[History], within_km: float = WITHIN_KM) -> list[History]:
    """Records of other stations near one.

    Parameters
    ----------
    history : History
    others : sequence of History
        May hold the record itself.
    within_km : float
        [km]

    Returns
    -------
    list of History
        Nearest first; records without coordinates are no neighbours.
    """
    origin = history.provenance
    if origin.latitude is None or origin.longitude is None:
        return []
    placed = [
        other
        for other in others
        if other is not history
        and other.provenance.station != origin.station
        and other.provenance.latitude is not None
        and other.provenance.longitude is not None
    ]
    far = distance_km(
        origin.latitude,
        origin.longitude,
        [other.provenance.latitude or 0.0 for other in placed],
        [other.provenance.longitude or 0.0 for other in placed],
    )
    return [placed[at] for at in np.argsort(far, kind="stable") if far[at] <= within_km]
