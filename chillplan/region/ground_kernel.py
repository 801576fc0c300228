"""Seed zone, snow, moisture, frost and chill of a block of places, every season in one pass over its days.

The day step is that of :mod:`chillplan.physics.day`; nothing of it is written again here. Of each day only a code of
the seed zone is kept (temperature in 1/128 °C and whether it is moist); everything else is counted on the way.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Any, NamedTuple

import numpy as np

from chillplan.physics.compiled import compiled_day_steps, compiled_rain
from chillplan.physics.day import Above, Place, State, Surface, Weather
from chillplan.physics.lanes import LANES, STAMP, kernel, loop, part
from chillplan.physics.seed_zone import MOIST_FROM
from chillplan.region.seed_rows_kernel import share_of
from chillplan.region.sums_kernel import fetch_ahead
from chillplan.seasons.cut import SPIN_UP
from chillplan.seasons.summary import TEMPERATURE_GRAIN

__all__ = ["COUNTS", "NO_DAY", "RUN", "WORK", "Marks", "ground_block"]

NO_DAY = 9999
"""A date that does not exist in the season."""

STATES, OUTCOMES = len(State._fields), 4
HANDED = 13
"""Rows that one part of the day hands to the next."""

L = LANES
HANDED_AT = STATES * L
OUT_AT = HANDED_AT + HANDED * L
WORK = OUT_AT + OUTCOMES * L
"""Size of the room in which a block is worked out."""
steps = compiled_day_steps()
rain_step = compiled_rain()
above_step, surface_step, below_step = steps.above, steps.surface, steps.below
GRAIN = np.float32(TEMPERATURE_GRAIN)
MOIST = np.float32(MOIST_FROM)
RUN = 7
"""Length of the running mean of the soil-warming date. [day]"""

AHEAD = 4
"""Days by which weather is fetched from memory before it is needed. [day]"""


class Marks(NamedTuple):
    """What the days are counted by; handed to the kernel side by side in memory.

    Attributes
    ----------
    zero_low, per_low, zero_high, per_high : float
        Response of the cold phase.
    grain : float
        Parts of a day.
    killing : float
        Minimum that ends a season's growth. [°C]
    frost, hard_frost : float
        Minima of the air whose first and last days are kept. [°C]
    workable, workable_snow : float
        Least temperature and deepest snow of ground that can be sown. [°C, mm]
    warm, warmer : float
        Sums of seven days, in parts of a degree, whose first days are kept.
    """

    zero_low: float
    per_low: float
    zero_high: float
    per_high: float
    grain: float
    killing: float
    frost: float
    hard_frost: float
    workable: float
    workable_snow: float
    warm: float
    warmer: float


class Counts(NamedTuple):
    """Rows of the counts of a season; from `limits` on follows the last day at or below each seedling limit."""

    chill_days: int
    chill: int
    cold_days: int
    coldest: int
    running: int
    warm: int
    warmer: int
    first_killing: int
    first_frost: int
    first_hard_frost: int
    last_frost: int
    last_hard_frost: int
    limits: int


COUNTS = Counts(*range(len(Counts._fields)))
# Rows as numbers: the compiler knows where each begins.
CHILL_LOW, CHILL_HIGH, COLD = 0, int(10.0 * TEMPERATURE_GRAIN), int(5.0 * TEMPERATURE_GRAIN)
CHILL_DAYS, CHILL, COLD_DAYS = COUNTS.chill_days * L, COUNTS.chill * L, COUNTS.cold_days * L
COLDEST, RUNNING, WARM, WARMER = COUNTS.coldest * L, COUNTS.running * L, COUNTS.warm * L, COUNTS.warmer * L
KILLING, FIRST, FIRST_HARD = COUNTS.first_killing * L, COUNTS.first_frost * L, COUNTS.first_hard_frost * L
LAST, LAST_HARD, LIMITS = COUNTS.last_frost * L, COUNTS.last_hard_frost * L, COUNTS.limits * L
NO_HEAT = np.float32(np.inf)
NEVER, UNREACHED = np.int32(NO_DAY), np.float32(1 << 24)


@loop
def bridge(low, high, rain, air, tmin, tmax, water, rows, s, j0, fill_low, fill_high):
    """Weather of a season with its gaps filled; the minimum of the air is NaN where one was filled."""
    for d in range(rows.shape[1]):
        t = rows[s, d]
        there, t = t >= 0, max(t, 0)
        a, b, c = tmin[t, j0 : j0 + L], tmax[t, j0 : j0 + L], water[t, j0 : j0 + L]
        for i in range(L):
            low[d, i] = a[i] if (a[i] == a[i]) & there else fill_low[d, i]
            high[d, i] = b[i] if (b[i] == b[i]) & there else fill_high[d, i]
            rain[d, i] = c[i] if there else np.float32(0.0)
            air[d, i] = a[i] if (a[i] == a[i]) & (b[i] == b[i]) & there else np.float32(np.nan)


@loop
def guess_rain(guess, tmin, tmax, t, j0, warming, cloudiest, coefficients):
    """Precipitation of a day of which none is recorded."""
    c = coefficients[0]
    low, high = tmin[t, j0 : j0 + L], tmax[t, j0 : j0 + L]
    for i in range(L):
        guess[0, i] = rain_step(low[i] + warming, high[i] + warming, cloudiest[i], c)


@part
def place_at(pl, i):
    """Constants of a lane."""
    return Place(
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
    )


@loop
def walk_above(st, tmin, tmax, water, t, j0, wet_t, wet_j, warming, level, facing, y, pl, handed, coefficients):
    """Air, light and snow; rows handed on: as `Above`, without the snow's own state."""
    c = coefficients[0]
    low, high, rain = tmin[t, j0 : j0 + L], tmax[t, j0 : j0 + L], water[wet_t, wet_j : wet_j + L]
    for i in range(L):
        fallen = rain[i] if rain[i] == rain[i] else c.zero
        day = above_step(
            st[4 * L + i],
            st[5 * L + i],
            Weather(low[i] + warming, high[i] + warming, fallen, level[y, i], facing[y, i]),
            place_at(pl, i),
            c,
        )
        st[4 * L + i] = day.snow_water
        st[5 * L + i] = day.snow_depth
        handed[i] = day.mean
        handed[L + i] = day.middle
        handed[2 * L + i] = day.range_root
        handed[3 * L + i] = day.clear
        handed[4 * L + i] = day.clearness
        handed[5 * L + i] = day.night
        handed[6 * L + i] = day.liquid
        handed[7 * L + i] = day.snow_cover
        handed[8 * L + i] = day.snow_resistance


@loop
def walk_surface(st, facing, y, pl, handed, out, coefficients):
    """Water and the temperature at the surface; rows handed on: as `Surface`, without the states of snow and water."""
    c = coefficients[0]
    for i in range(L):
        air = Above(
            handed[i],
            handed[L + i],
            handed[2 * L + i],
            handed[3 * L + i],
            handed[4 * L + i],
            handed[5 * L + i],
            st[4 * L + i],
            st[5 * L + i],
            handed[6 * L + i],
            handed[7 * L + i],
            handed[8 * L + i],
        )
        top = surface_step(st[i], st[6 * L + i], st[7 * L + i], air, facing[y, i], place_at(pl, i), c)
        st[4 * L + i] = top.snow_water
        st[5 * L + i] = top.snow_depth
        st[6 * L + i] = top.seed_water
        st[7 * L + i] = top.root_water
        handed[9 * L + i] = top.wet
        handed[10 * L + i] = top.surface
        handed[11 * L + i] = top.above
        handed[12 * L + i] = top.resistance
        out[L + i] = top.seed_water * c.per_seed


@loop
def walk_below(st, pl, handed, out, coefficients):
    """Heat in the ground, and what seed and seedling meet."""
    c = coefficients[0]
    for i in range(L):
        top = Surface(
            st[4 * L + i],
            st[5 * L + i],
            st[6 * L + i],
            st[7 * L + i],
            handed[9 * L + i],
            handed[10 * L + i],
            handed[11 * L + i],
            handed[12 * L + i],
        )
        ground = below_step(
            st[i],
            st[L + i],
            st[2 * L + i],
            st[3 * L + i],
            handed[7 * L + i],
            handed[5 * L + i],
            top,
            place_at(pl, i),
            c,
        )
        st[i] = ground.upper
        st[L + i] = ground.middle
        st[2 * L + i] = ground.lower
        st[3 * L + i] = ground.deep
        out[i] = ground.temperature
        out[3 * L + i] = ground.ground_minimum


@loop
def end_run(counts, code, s, left):
    """Take the day that leaves the run out of its sum."""
    for i in range(L):
        counts[s, RUNNING + i] -= np.int32(code[s, left, i] >> np.int16(1))


@loop
def count_day(out, tmin, t, j0, warming, code, counts, s, sd, marks, dry, limit):
    """Code of the day; days and parts of chill; cold days; warming; frosts in the air and at the seedling."""
    m = marks[0]
    day, full = np.int32(sd), sd >= RUN - 1
    warm = np.int32(m.warm if full else UNREACHED)
    warmer = np.int32(m.warmer if full else UNREACHED)
    low = tmin[t, j0 : j0 + L]
    for i in range(L):
        q = np.int32(np.rint(out[i] * GRAIN))
        moist = np.int32(1) if (out[L + i] >= MOIST) | dry else np.int32(0)
        today = q * np.int32(2) + moist
        code[s, sd, i] = np.int16(today)
        inside = np.int32(1) if (q >= CHILL_LOW) & (q <= CHILL_HIGH) else np.int32(0)
        counts[s, CHILL_DAYS + i] += inside * moist
        counts[s, CHILL + i] += share_of(today, m.zero_low, m.per_low, m.zero_high, m.per_high, NO_HEAT, m.grain)
        counts[s, COLD_DAYS + i] += np.int32(1) if q <= COLD else np.int32(0)
        # Seven days' sum, its least, and the first day at each threshold since.
        run = counts[s, RUNNING + i] + q
        counts[s, RUNNING + i] = run
        colder = full & (run < counts[s, COLDEST + i])
        counts[s, COLDEST + i] = run if colder else counts[s, COLDEST + i]
        first = NEVER if colder else counts[s, WARM + i]
        second = NEVER if colder else counts[s, WARMER + i]
        counts[s, WARM + i] = day if (run >= warm) & (first == NEVER) else first
        counts[s, WARMER + i] = day if (run >= warmer) & (second == NEVER) else second
        air = low[i] + warming
        frost, hard = air <= m.frost, air <= m.hard_frost
        counts[s, LAST + i] = day if frost else counts[s, LAST + i]
        counts[s, LAST_HARD + i] = day if hard else counts[s, LAST_HARD + i]
        counts[s, FIRST + i] = day if frost & (counts[s, FIRST + i] == NEVER) else counts[s, FIRST + i]
        counts[s, FIRST_HARD + i] = day if hard & (counts[s, FIRST_HARD + i] == NEVER) else counts[s, FIRST_HARD + i]
        killing = (out[3 * L + i] <= m.killing) & (counts[s, KILLING + i] == NEVER)
        counts[s, KILLING + i] = day if killing else counts[s, KILLING + i]
        counts[s, LIMITS + i] = day if out[3 * L + i] <= limit else counts[s, LIMITS + i]


@loop
def last_frost(out, counts, s, row, limit, day):
    """Last day on which a seedling meets its limit."""
    for i in range(L):
        counts[s, row + i] = day if out[3 * L + i] <= limit else counts[s, row + i]


@loop
def count_workable(st, code, s, sd, opened, which, marks):
    """Count a season in which ground can be worked on a sowing date."""
    m = marks[0]
    for i in range(L):
        thawed = np.float32(np.int32(code[s, sd, i]) >> np.int32(1)) >= m.workable * GRAIN
        opened[which, i] += np.int32(1) if thawed & (st[5 * L + i] <= m.workable_snow) else np.int32(0)


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
        coefficients,
        warming,
        fill_low,
        fill_high,
        has_gaps,
        dry,
        cloudiest,
        marks,
        limits,
        every,
        work,
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
        coefficients : record of float32, shape (1,)
        warming : float32; added to all temperatures
        fill_low, fill_high : float32, shape (spin-up day + day, lane); what missing days take where `has_gaps`
        dry : no precipitation is recorded; cloudiest : float32, shape (lane,), from `cloudiest_rain`
        marks : record of float32, shape (1,), as `Marks`; limits : float32, at least one
        every : days between sowing dates
        work : float32, shape (WORK,), overwritten
        code : int16, shape (season, day, lane), written
        counts : int32, shape (season, row * lane), written; rows as in `Counts`
        opened : int32, shape (start, lane), added to
        """
        assert stamp
        st, handed, out = work[:HANDED_AT], work[HANDED_AT:OUT_AT], work[OUT_AT:WORK]
        low, high, rain, air = tmin, tmax, water, tmin
        guess = np.empty((1, L), np.float32)
        if has_gaps:
            low, high = np.empty((row.shape[1], L), np.float32), np.empty((row.shape[1], L), np.float32)
            rain, air = np.empty((row.shape[1], L), np.float32), np.empty((row.shape[1], L), np.float32)
        for s in range(row.shape[0]):
            counts[s, :COLDEST] = 0
            counts[s, COLDEST:RUNNING] = 1 << 30
            counts[s, RUNNING:WARM] = 0
            counts[s, WARM:LAST] = NO_DAY
            counts[s, LAST:] = -1
            for i in range(STATES * L):
                st[i] = start[s, i]
            if has_gaps:
                bridge(low, high, rain, air, tmin, tmax, water, row, s, j0, fill_low, fill_high)
            for d in range(row.shape[1]):
                y = day_of_year[s, d] - 1
                t, j = (d, 0) if has_gaps else (row[s, d], j0)
                if d + AHEAD < row.shape[1] and not has_gaps:
                    soon = row[s, d + AHEAD]
                    fetch_ahead(tmin, soon, j0)
                    fetch_ahead(tmax, soon, j0)
                    fetch_ahead(water, soon, j0)
                if dry:
                    guess_rain(guess, low, high, t, j, warming, cloudiest, coefficients)
                    walk_above(st, low, high, guess, t, j, 0, 0, warming, level, facing, y, pl, handed, coefficients)
                else:
                    walk_above(st, low, high, rain, t, j, t, j, warming, level, facing, y, pl, handed, coefficients)
                walk_surface(st, facing, y, pl, handed, out, coefficients)
                walk_below(st, pl, handed, out, coefficients)
                if d >= SPIN_UP:
                    sd = d - SPIN_UP
                    if sd >= RUN:
                        end_run(counts, code, s, sd - RUN)
                    count_day(out, air, t, j, warming, code, counts, s, sd, marks, dry, limits[0])
                    # The first limit is counted with the rest of the day: a tenth faster than all of them here.
                    for k in range(1, limits.size):
                        last_frost(out, counts, s, LIMITS + k * L, limits[k], np.int32(sd))
                    if sd % every == 0 and sd // every < opened.shape[0]:
                        count_workable(st, code, s, sd, opened, sd // every, marks)

    return run


ground_block = _ground_block(STAMP)
"""Walks all seasons of a block; see the inner function."""
