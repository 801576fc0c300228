"""Sums over the days of each season that the climate and the starting state of a block of places are made of."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import numpy as np

from chillplan.physics.compiled import compiled_demand, compiled_rain
from chillplan.physics.lanes import LANES, STAMP, kernel, loop
from chillplan.seasons.cut import SPIN_UP

__all__ = ["sums_block"]

L = LANES
demand_of, rain_step = compiled_demand(), compiled_rain()


@loop
def take_day(wx, tmin, tmax, water, t, j0, warming):
    """One day's temperatures and precipitation."""
    low, high, rain = tmin[t, j0 : j0 + L], tmax[t, j0 : j0 + L], water[t, j0 : j0 + L]
    for i in range(L):
        wx[i] = low[i] + warming
        wx[L + i] = high[i] + warming
        wx[2 * L + i] = rain[i]


@loop
def bridge(wx, fill_low, fill_high, d, there, warming):
    """Fill the gaps of a day."""
    for i in range(L):
        wx[i] = wx[i] if (wx[i] == wx[i]) & there else fill_low[d, i] + warming
        wx[L + i] = wx[L + i] if (wx[L + i] == wx[L + i]) & there else fill_high[d, i] + warming
        wx[2 * L + i] = wx[2 * L + i] if there else np.float32(np.nan)


@loop
def guess_rain(wx, cloudiest, coefficients):
    """Precipitation of a day of which none is recorded."""
    c = coefficients[0]
    for i in range(L):
        wx[2 * L + i] = rain_step(wx[i], wx[L + i], cloudiest[i], c)


@loop
def add_first(firsts, s, wx):
    """Add a day's extremes to those that start the upper layers."""
    for i in range(2 * L):
        firsts[s, i] += wx[i]


@loop
def look_for_gaps(check, wx):
    """Make `check` NaN for good where a temperature is missing."""
    for i in range(L):
        check[i] += wx[i] + wx[L + i]


@loop
def add_day(total, check, wx, level, y, coefficients):
    """Add a day's mean temperature, evaporation demand, precipitation, and whether there is any record of that."""
    c = coefficients[0]
    for i in range(L):
        low, high, rain = wx[i], wx[L + i], wx[2 * L + i]
        check[i] += low + high
        spread = high - low
        spread = spread if spread > c.zero else c.zero
        mean = (low + high) / np.float32(2.0)
        known = not np.isnan(rain)
        total[i] += np.float64(mean)
        total[L + i] += np.float64(demand_of(mean, np.sqrt(spread), level[y, i], c))
        total[2 * L + i] += np.float64(rain if known else c.zero)
        total[3 * L + i] += np.float64(c.one if known else c.zero)


def _sums_block(stamp: int) -> Callable[..., Any]:
    @kernel
    def run(
        tmin,
        tmax,
        water,
        j0,
        row,
        day_of_year,
        level,
        coefficients,
        warming,
        fill_low,
        fill_high,
        has_gaps,
        dry,
        cloudiest,
        first,
        sums,
        firsts,
    ):
        """Sums of a block; arguments as in `chillplan.region.ground_kernel.ground_block`.

        Parameters
        ----------
        first : days whose mean starts the upper layers
        sums : float64, shape (season, 4 * lane), written: mean temperature, demand, precipitation, days with
            precipitation; NaN in the first where a temperature is missing anywhere, spin-up included
        firsts : float32, shape (season, 2 * lane), written: mean tmin and tmax of the first days
        """
        assert stamp
        wx, check, total = np.empty(3 * L, np.float32), np.empty(L, np.float32), np.empty(4 * L)
        firsts[:] = np.float32(0.0)
        for s in range(row.shape[0]):
            total[:] = 0.0
            check[:] = np.float32(0.0)
            for d in range(row.shape[1]):
                t = row[s, d]
                take_day(wx, tmin, tmax, water, max(t, 0), j0, warming)
                if has_gaps:
                    bridge(wx, fill_low, fill_high, d, t >= 0, warming)
                elif t < 0:
                    check[:] = np.float32(np.nan)
                if dry:
                    guess_rain(wx, cloudiest, coefficients)
                if d < first:
                    add_first(firsts, s, wx)
                if d < SPIN_UP:
                    look_for_gaps(check, wx)
                else:
                    add_day(total, check, wx, level, day_of_year[s, d] - 1, coefficients)
            for i in range(L):
                total[i] = total[i] if check[i] == check[i] else np.nan
            for i in range(4 * L):
                sums[s, i] = total[i]
        firsts /= np.float32(first)

    return run


sums_block = _sums_block(STAMP)
"""Sums up each season of a block; see the inner function."""
