"""Seed zone, snow, moisture, frost and chill of a block of places, every season in one pass over its days.

The day step is that of :mod:`chillplan.physics.day`; nothing of it is written again here. Of each day only a code of
the seed zone is kept (temperature in 1/128 °C and whether it is moist); everything else is counted on the way.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Any, NamedTuple

import numpy as np

from chillplan.physics.compiled import compiled_day_step, compiled_demand
from chillplan.physics.day import Place, State, Weather
from chillplan.physics.seed_zone import MOIST_FROM
from chillplan.region.lanes import LANES, STAMP, kernel, loop, part
from chillplan.seasons.cut import SPIN_UP
from chillplan.seasons.summary import TEMPERATURE_GRAIN

__all__ = ["COUNTS", "NO_DAY", "ground_block", "sums_block"]

NO_DAY = 9999
"""A date that does not exist in the season."""

STATES, WEATHERS, PLACES, OUTCOMES = len(State._fields), len(Weather._fields), len(Place._fields), 4
L = LANES
day_step = compiled_day_step()
demand_of = compiled_demand()
GRAIN = np.float32(TEMPERATURE_GRAIN)
MOIST = np.float32(MOIST_FROM)
RUN = 7
"""Length of the running mean of the soil-warming date. [day]"""


class Counts(NamedTuple):
    """Rows of the counts of a season; from `fixed` on follow warm dates, frosts in the air, frosts at the seedling."""

    chill_days: int
    chill: int
    cold_days: int
    coldest: int
    running: int
    first_killing: int
    fixed: int


COUNTS = Counts(chill_days=0, chill=1, cold_days=2, coldest=3, running=4, first_killing=5, fixed=6)
CHILL_LOW, CHILL_HIGH, COLD = 0, int(10.0 * TEMPERATURE_GRAIN), int(5.0 * TEMPERATURE_GRAIN)


@part
def take_row(low, high, rain, tmin, tmax, water, t, j0, fill_low, fill_high, d, has_gaps):
    """One day's temperatures of the block, gaps filled, and its precipitation as it is."""
    if t >= 0:
        a, b, w = tmin[t, j0 : j0 + L], tmax[t, j0 : j0 + L], water[t, j0 : j0 + L]
        for i in range(L):
            low[i] = a[i]
            high[i] = b[i]
            rain[i] = w[i]
    else:
        low[:] = np.float32(np.nan)
        high[:] = np.float32(np.nan)
        rain[:] = np.float32(np.nan)
    if has_gaps:
        for i in range(L):
            low[i] = low[i] if low[i] == low[i] else fill_low[d, i]
            high[i] = high[i] if high[i] == high[i] else fill_high[d, i]


@part
def take_weather(wx, air, tmin, tmax, water, t, j0, warming, fill_low, fill_high, d, has_gaps):
    """One day's weather of the block, gaps filled; `air` is the observed minimum, NaN where it was filled."""
    if t >= 0:
        low, high, rain = tmin[t, j0 : j0 + L], tmax[t, j0 : j0 + L], water[t, j0 : j0 + L]
        for i in range(L):
            wx[i] = low[i]
            wx[L + i] = high[i]
        for i in range(L):
            wx[2 * L + i] = rain[i] if rain[i] == rain[i] else np.float32(0.0)
    else:
        for i in range(L):
            wx[i] = np.float32(np.nan)
            wx[L + i] = np.float32(np.nan)
            wx[2 * L + i] = np.float32(0.0)
    if has_gaps:
        for i in range(L):
            seen = (wx[i] == wx[i]) & (wx[L + i] == wx[L + i])
            air[i] = wx[i] if seen else np.float32(np.nan)
            wx[i] = wx[i] if wx[i] == wx[i] else fill_low[d, i]
            wx[L + i] = wx[L + i] if wx[L + i] == wx[L + i] else fill_high[d, i]
            air[i] = air[i] + warming
    else:
        for i in range(L):
            air[i] = wx[i] + warming
    for i in range(L):
        wx[i] = wx[i] + warming
        wx[L + i] = wx[L + i] + warming


@loop
def walk_day(st, wx, pl, out, c):
    for i in range(L):
        after, today = day_step(
            State(
                st[i],
                st[L + i],
                st[2 * L + i],
                st[3 * L + i],
                st[4 * L + i],
                st[5 * L + i],
                st[6 * L + i],
                st[7 * L + i],
            ),
            Weather(wx[i], wx[L + i], wx[2 * L + i], wx[3 * L + i], wx[4 * L + i]),
            Place(
                pl[i],
                pl[L + i],
                pl[2 * L + i],
                pl[3 * L + i],
                pl[4 * L + i],
                pl[5 * L + i],
                pl[6 * L + i],
                pl[7 * L + i],
                pl[8 * L + i],
                pl[9 * L + i],
                pl[10 * L + i],
            ),
            c,
        )
        st[i] = after.upper
        st[L + i] = after.middle
        st[2 * L + i] = after.lower
        st[3 * L + i] = after.deep
        st[4 * L + i] = after.snow_water
        st[5 * L + i] = after.snow_depth
        st[6 * L + i] = after.seed_water
        st[7 * L + i] = after.root_water
        out[i] = today.temperature
        out[L + i] = today.moisture
        out[2 * L + i] = today.snow_depth
        out[3 * L + i] = today.ground_minimum


@loop
def count_chill(out, code, days, chill, cold, corners, dry):
    """Code of the day, days and parts of chill, cold days."""
    zero_low, per_low, zero_high, per_high, grain = corners[0], corners[1], corners[2], corners[3], corners[4]
    for i in range(L):
        q = np.int32(np.rint(out[i] * GRAIN))
        moist = np.int32(1) if (out[L + i] >= MOIST) | dry else np.int32(0)
        code[i] = np.int16(q * np.int32(2) + moist)
        kept = np.float32(q) / GRAIN
        rising, falling = (kept - zero_low) * per_low, (zero_high - kept) * per_high
        share = rising if rising < falling else falling
        share = share if share < np.float32(1.0) else np.float32(1.0)
        share = share if share > np.float32(0.0) else np.float32(0.0)
        inside = np.int32(1) if (q >= CHILL_LOW) & (q <= CHILL_HIGH) else np.int32(0)
        days[i] += inside * moist
        chill[i] += np.int32(np.rint(share * grain)) * moist
        cold[i] += np.int32(1) if q <= COLD else np.int32(0)


@loop
def add_run(run_sum, code, before, old):
    """Move the running sum of the seed zone one day on; `old` is 0 while the run is not yet full."""
    for i in range(L):
        run_sum[i] += np.int32(code[i] >> np.int16(1)) - old * np.int32(before[i] >> np.int16(1))


@loop
def first_warm(found, run_sum, coldest, limit, day):
    """First day at a threshold since the coldest."""
    for i in range(L):
        since = np.int32(NO_DAY) if run_sum[i] < coldest[i] else found[i]
        found[i] = day if (run_sum[i] >= limit) & (since == np.int32(NO_DAY)) else since


@loop
def keep_least(least, values):
    """The smaller of two rows, kept in the first."""
    for i in range(L):
        least[i] = values[i] if values[i] < least[i] else least[i]


@loop
def first_and_last_frost(first, last, minimum, limit, day):
    """First and last day at or below a threshold."""
    for i in range(L):
        frost = minimum[i] <= limit
        last[i] = day if frost else last[i]
        first[i] = day if frost & (first[i] == np.int32(NO_DAY)) else first[i]


@loop
def last_frost(last, minimum, limit, day):
    """Last day at or below a threshold."""
    for i in range(L):
        last[i] = day if minimum[i] <= limit else last[i]


@loop
def first_frost(first, minimum, limit, day):
    """First day at or below a threshold."""
    for i in range(L):
        first[i] = day if (minimum[i] <= limit) & (first[i] == np.int32(NO_DAY)) else first[i]


@part
def count_warming(code, before, n, sd, warm):
    """Running mean of the seed zone, its coldest, and the first day at each threshold since."""
    add_run(n[COUNTS.running], code, before, np.int32(1 if sd >= RUN else 0))
    if sd >= RUN - 1:
        for k in range(warm.size):
            first_warm(n[COUNTS.fixed + k], n[COUNTS.running], n[COUNTS.coldest], warm[k], np.int32(sd))
        keep_least(n[COUNTS.coldest], n[COUNTS.running])


@part
def count_frost(air, minimum, n, sd, frosts, limits, killing, frost_at, limit_at):
    """First and last day at or below each threshold, in the air and at the seedling."""
    day = np.int32(sd)
    for k in range(frosts.size):
        first_and_last_frost(n[frost_at + 2 * k], n[frost_at + 2 * k + 1], air, frosts[k], day)
    for k in range(limits.size):
        last_frost(n[limit_at + k], minimum, limits[k], day)
    first_frost(n[COUNTS.first_killing], minimum, killing, day)


def _ground_block(stamp: int) -> Callable[..., Any]:
    @kernel
    def run(
        tmin,
        tmax,
        water,
        j0,
        row,
        day_of_year,
        level,
        facing,
        pl,
        start,
        c,
        warming,
        fill_low,
        fill_high,
        has_gaps,
        dry,
        corners,
        warm,
        frosts,
        limits,
        killing,
        workable,
        workable_snow,
        every,
        code,
        counts,
        opened,
    ):
        """All seasons of a block.

        Parameters
        ----------
        tmin, tmax, water : float32, shape (time, place)
        j0 : first place of the block
        row : int32, shape (season, spin-up day + day); position on the time axis, -1 where there is none
        day_of_year : int32, same shape
        level, facing : float32, shape (366, lane)
        pl : float32, shape (place constant * lane,)
        start : float32, shape (season, state * lane)
        code : int16, shape (season, day, lane), written
        counts : int32, shape (season, row, lane), written; rows as in `Counts`
        opened : int32, shape (start, lane), added to
        """
        assert stamp
        st, wx = np.empty(STATES * L, np.float32), np.empty(WEATHERS * L, np.float32)
        out, air = np.empty(OUTCOMES * L, np.float32), np.empty(L, np.float32)
        frost_at = COUNTS.fixed + warm.size
        limit_at = frost_at + 2 * frosts.size
        for s in range(row.shape[0]):
            n = counts[s]
            n[:] = 0
            n[COUNTS.coldest] = 1 << 30
            n[COUNTS.first_killing : limit_at] = NO_DAY
            for k in range(frosts.size):
                n[frost_at + 2 * k + 1] = -1
            n[limit_at:] = -1
            st[:] = start[s]
            for d in range(row.shape[1]):
                y = day_of_year[s, d] - 1
                take_weather(wx, air, tmin, tmax, water, row[s, d], j0, warming, fill_low, fill_high, d, has_gaps)
                sky, ground = level[y], facing[y]
                for i in range(L):
                    wx[3 * L + i] = sky[i]
                    wx[4 * L + i] = ground[i]
                walk_day(st, wx, pl, out, c)
                if d >= SPIN_UP:
                    sd = d - SPIN_UP
                    count_chill(out, code[s, sd], n[0], n[1], n[2], corners, dry)
                    count_warming(code[s, sd], code[s, max(sd - RUN, 0)], n, sd, warm)
                    count_frost(air, out[3 * L :], n, sd, frosts, limits, killing, frost_at, limit_at)
                    if sd % every == 0 and sd // every < opened.shape[0]:
                        now = opened[sd // every]
                        today = code[s, sd]
                        for i in range(L):
                            free = (np.int32(today[i] >> 1) >= workable) & (out[2 * L + i] <= workable_snow)
                            now[i] += np.int32(1) if free else np.int32(0)

    return run


def _sums_block(stamp: int) -> Callable[..., Any]:
    @kernel
    def run(
        tmin, tmax, water, j0, row, day_of_year, level, c, warming, fill_low, fill_high, has_gaps, first, sums, firsts
    ):
        """Sums of a block.

        Parameters
        ----------
        first : days whose mean starts the upper layers
        sums : float64, shape (season, 4 * lane), written: mean temperature, demand, precipitation, days with
            precipitation; NaN in the first where a temperature is missing anywhere, spin-up included
        firsts : float32, shape (season, 2 * lane), written: mean tmin and tmax of the first days
        """
        assert stamp
        low, high, rain = np.empty(L, np.float32), np.empty(L, np.float32), np.empty(L, np.float32)
        check = np.empty(L, np.float32)
        for s in range(row.shape[0]):
            total, begin = sums[s], firsts[s]
            total[:] = 0.0
            begin[:] = np.float32(0.0)
            check[:] = np.float32(0.0)
            for d in range(row.shape[1]):
                t, y = row[s, d], day_of_year[s, d] - 1
                take_row(low, high, rain, tmin, tmax, water, t, j0, fill_low, fill_high, d, has_gaps)
                for i in range(L):
                    low[i] += warming
                    high[i] += warming
                    check[i] += low[i] + high[i]
                if d < first:
                    for i in range(L):
                        begin[i] += low[i]
                        begin[L + i] += high[i]
                if d >= SPIN_UP:
                    sky = level[y]
                    for i in range(L):
                        spread = high[i] - low[i]
                        spread = spread if spread > np.float32(0.0) else np.float32(0.0)
                        mean = (low[i] + high[i]) / np.float32(2.0)
                        total[i] += np.float64(mean)
                        total[L + i] += np.float64(demand_of(mean, np.sqrt(spread), sky[i], c))
                    for i in range(L):
                        there = rain[i] == rain[i]
                        total[2 * L + i] += np.float64(rain[i] if there else np.float32(0.0))
                        total[3 * L + i] += 1.0 if there else 0.0
            for i in range(L):
                begin[i] /= np.float32(first)
                begin[L + i] /= np.float32(first)
                total[i] = total[i] if check[i] == check[i] else np.nan

    return run


ground_block = _ground_block(STAMP)
"""Walks all seasons of a block; see the inner function."""

sums_block = _sums_block(STAMP)
"""Sums over the days of each season that the climate and the starting state are made of; see the inner function."""
