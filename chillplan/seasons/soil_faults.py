"""Faults of a soil thermometer's record: wrong unit, stuck, spikes; and its gaps, bridged to follow the ground through.

Faults are found and named, never repaired in secret: the score counts every value that is possible at all, so that it
cannot be made to look better by leaving days out; calibration uses the good values only.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

__all__ = ["SoilFaults", "find_soil_faults", "followed_through"]

FloatArray = NDArray[np.floating]
BoolArray = NDArray[np.bool_]

SPIKE = 8.0
"""A day that differs from both neighbours by more, in the same direction, is a spike (common practice). [°C]"""

STUCK_DAYS = 20
"""Equal values in a row that count as stuck (the longest allowed by Durre et al. 2010 for air). [day]"""

STUCK_DAYS_NEAR_ZERO = 120
"""The same between -1 and 2 °C, where snow and ice hold the ground still for weeks (common practice). [day]"""

NEAR_ZERO = (-1.0, 2.0)

BOUNDS = (-50.0, 70.0)
"""Soil outside is impossible. [°C]"""

CLEARLY_BETTER = 0.5
"""A conversion is believed if it brings the error below this share of what it was. [-]"""


@dataclass(frozen=True)
class SoilFaults:
    """What is wrong with a soil record."""

    # values that are a soil temperature at all; values without any fault; shape (day,)
    possible: BoolArray
    good: BoolArray
    unit: str | None  # ``fahrenheit`` or ``kelvin`` where the values make sense only so; then none are good
    notes: tuple[str, ...]  # one sentence a fault


def find_soil_faults(soil: ArrayLike, model: ArrayLike) -> SoilFaults:
    """Look for the usual faults of a soil thermometer.

    Parameters
    ----------
    soil : array_like, shape (day,)
        Daily mean as recorded; NaN where missing. [°C]
    model : array_like, shape (day,)
        Modelled soil, which tells the unit. [°C]

    Returns
    -------
    SoilFaults
    """
    values, expected = np.asarray(soil, dtype=float), np.asarray(model, dtype=float)
    known = np.isfinite(values)
    unit = _other_unit(values, expected)
    if unit is not None:
        note = f"soil temperatures fit the model only as degrees {unit}: convert them to °C, or say so in the header"
        none = np.zeros(values.shape, dtype=bool)
        return SoilFaults(none, none, unit, (note,))
    outside = known & ((values < BOUNDS[0]) | (values > BOUNDS[1]))
    spikes = _spikes(np.where(outside, np.nan, values))
    stuck = _stuck(values)
    notes = [
        f"{int(where.sum())} soil value{'s' if where.sum() > 1 else ''} {what}; not used to calibrate"
        for where, what in (
            (outside, f"outside {BOUNDS[0]:g} to {BOUNDS[1]:g} °C"),
            (spikes, f"more than {SPIKE:g} °C away from both neighbouring days"),
            (stuck, f"in runs of {STUCK_DAYS} or more equal days (a stuck sensor)"),
        )
        if where.any()
    ]
    possible = known & ~outside
    return SoilFaults(possible, possible & ~spikes & ~stuck, None, tuple(notes))


def _other_unit(values: FloatArray, expected: FloatArray) -> str | None:
    both = np.isfinite(values) & np.isfinite(expected)
    if both.sum() < STUCK_DAYS:
        return None
    as_read = _error(values[both], expected[both])
    others = {"fahrenheit": (values[both] - 32) / 1.8, "kelvin": values[both] - 273.15}
    unit, error = min(((name, _error(other, expected[both])) for name, other in others.items()), key=lambda x: x[1])
    return unit if error < CLEARLY_BETTER * as_read else None


def _error(values: FloatArray, expected: FloatArray) -> float:
    return float(np.median(np.abs(values - expected)))


def _spikes(values: FloatArray) -> BoolArray:
    before, after = values[1:-1] - values[:-2], values[1:-1] - values[2:]
    spikes = np.zeros(values.shape, dtype=bool)
    spikes[1:-1] = (np.minimum(np.abs(before), np.abs(after)) > SPIKE) & (before * after > 0)
    return spikes


def _stuck(values: FloatArray) -> BoolArray:
    same = np.concatenate([[False], np.diff(values) == 0, [False]])
    edges = np.flatnonzero(np.diff(same.astype(int)))
    stuck = np.zeros(values.shape, dtype=bool)
    for first, last in zip(edges[::2], edges[1::2], strict=True):
        run = last - first + 1
        near_zero = NEAR_ZERO[0] <= values[first] <= NEAR_ZERO[1]
        if run >= (STUCK_DAYS_NEAR_ZERO if near_zero else STUCK_DAYS):
            stuck[first : last + 1] = True
    return stuck


WAVES = 3
"""Yearly waves of the usual course. [-]"""

FEWEST = 300
"""Days from which a usual course can be told; with fewer, gaps take a straight line. [day]"""


def followed_through(values: ArrayLike, day_of_year: ArrayLike) -> FloatArray:
    """A series without gaps: the usual course of the year plus the straight line between the departures around a gap.

    Parameters
    ----------
    values : array_like, shape (day,)
        NaN where missing; at least one value. [any unit]
    day_of_year : array_like, shape (day,)
        [day]

    Returns
    -------
    numpy.ndarray, shape (day,)
        Known values as they are. [same unit]
    """
    series = np.asarray(values, dtype=float)
    known = np.isfinite(series)
    if known.all():
        return series
    usual = np.zeros(series.size)
    if known.sum() >= FEWEST:
        angle = 2 * np.pi * np.asarray(day_of_year, dtype=float) / 365.25
        columns = [np.ones(series.size)]
        for wave in range(1, WAVES + 1):
            columns += [np.sin(wave * angle), np.cos(wave * angle)]
        design = np.column_stack(columns)
        usual = design @ np.linalg.lstsq(design[known], series[known], rcond=None)[0]
    days = np.arange(series.size)
    return np.where(known, series, usual + np.interp(days, days[known], (series - usual)[known]))
