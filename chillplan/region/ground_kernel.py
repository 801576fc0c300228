"""Seed zone, snow, moisture, frost and chill of a block of places, every season in one pass over its days.

The day step is that of :mod:`chillplan.physics.day`; nothing of it is written again here. Of each day only a code of
the seed zone is kept (temperature in 1/128 °C and whether it is moist); everything else is counted on the way.
"""

from __future__ import annotations

from typing import Any, NamedTuple

import numpy as np

from chillplan.physics.compiled import compiled_day_steps, compiled_rain
from chillplan.physics.day import Above, Place, State, Surface, Weather
from chillplan.physics.lanes import LANES, kernel, loop, part
from chillplan.physics.seed_zone import MOIST_FROM
from chillplan.physics.soil import Layers
from chillplan.region.seed_days_kernel import share_of
from chillplan.region.sums_kernel import fetch_ahead
from chillplan.seasons.cut import SPIN_UP
from chillplan.seasons.summary import TEMPERATURE_GRAIN

__all__ = ["COUNTS", "NO_DAY", "RUN", "WORK", "Found", "Marks", "ground_block"]

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
    """What the days are counted by; handed to the kernel side by side in memory."""

    # response of the cold phase
    zero_low: float
    per_low: float
    zero_high: float
    per_high: float
    grain: float  # parts of a day
    killing: float  # minimum that ends a season's growth [°C]
    # minima of the air whose first and last days are kept [°C]
    frost: float
    hard_frost: float
    # least temperature and deepest snow of ground that can be sown [°C, mm]
    workable: float
    workable_snow: float
    # sums of seven days, in parts of a degree, whose first days are kept
    warm: float
    warmer: float
    warming: float  # added to all temperatures [°C]
    dry: float  # 1 where no precipitation is recorded, else 0
    limit: float  # first of the seedling limits [°C]


class Found(NamedTuple):
    """What is kept of the days of a block."""

    code: Any  # temperature in 1/128 °C doubled, plus 1 where moist; int16, shape (season, day, lane), written
    counts: Any  # int32, shape (season, row * lane), written; rows as in `Counts`
    opened: Any  # seasons in which ground can be worked; int32, shape (start, lane), added to


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
def begin_season(counts, state, start):
    """Counts of a season before its first day, and the state it starts from."""
    counts[:COLDEST] = 0
    counts[COLDEST:RUNNING] = 1 << 30
    counts[RUNNING:WARM] = 0
    counts[WARM:LAST] = NO_DAY
    counts[LAST:] = -1
    for i in range(STATES * L):
        state[i] = start[i]


@loop
def bridge(filled, given, s):
    """Weather of a season with its gaps filled, and the minimum of the air, NaN where one was filled."""
    low, high, rain, air = filled
    tmin, tmax, water, first, row = given.tmin, given.tmax, given.water, given.first, given.row
    fill_low, fill_high = given.fill_low, given.fill_high
    for d in range(row.shape[1]):
        t = row[s, d]
        there, t = t >= 0, max(t, 0)
        a, b, c = tmin[t, first : first + L], tmax[t, first : first + L], water[t, first : first + L]
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
def place_at(site, i):
    """Constants of a lane."""
    return Place(
        site[i],
        site[L + i],
        site[2 * L + i],
        site[3 * L + i],
        site[4 * L + i],
        site[5 * L + i],
        site[6 * L + i],
        site[7 * L + i],
        site[8 * L + i],
        site[9 * L + i],
        site[10 * L + i],
    )


@loop
def walk_above(state, weather, at, warming, light, site, handed, coefficients):
    """Air, light and snow; rows handed on: as `Above`, without the snow's own state.

    `weather` are tmin, tmax and precipitation, `light` the radiation on level ground and on the slope; `at` the day and
    first place at which the temperatures stand there, the same of the precipitation, and the day of the year.
    """
    c = coefficients[0]
    (tmin, tmax, water), (level, facing), (t, j0, wet_t, wet_j, y) = weather, light, at
    low, high, rain = tmin[t, j0 : j0 + L], tmax[t, j0 : j0 + L], water[wet_t, wet_j : wet_j + L]
    for i in range(L):
        fallen = rain[i] if rain[i] == rain[i] else c.zero
        day = above_step(
            state[4 * L + i],
            state[5 * L + i],
            Weather(low[i] + warming, high[i] + warming, fallen, level[y, i], facing[y, i]),
            place_at(site, i),
            c,
        )
        state[4 * L + i] = day.snow_water
        state[5 * L + i] = day.snow_depth
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
def walk_surface(state, facing, y, site, handed, out, coefficients):
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
            state[4 * L + i],
            state[5 * L + i],
            handed[6 * L + i],
            handed[7 * L + i],
            handed[8 * L + i],
        )
        top = surface_step(state[i], state[6 * L + i], state[7 * L + i], air, facing[y, i], place_at(site, i), c)
        state[4 * L + i] = top.snow_water
        state[5 * L + i] = top.snow_depth
        state[6 * L + i] = top.seed_water
        state[7 * L + i] = top.root_water
        handed[9 * L + i] = top.wet
        handed[10 * L + i] = top.surface
        handed[11 * L + i] = top.above
        handed[12 * L + i] = top.resistance
        out[L + i] = top.seed_water * c.per_seed


@loop
def walk_below(state, site, handed, out, coefficients):
    """Heat in the ground, and what seed and seedling meet."""
    c = coefficients[0]
    for i in range(L):
        top = Surface(
            state[4 * L + i],
            state[5 * L + i],
            state[6 * L + i],
            state[7 * L + i],
            handed[9 * L + i],
            handed[10 * L + i],
            handed[11 * L + i],
            handed[12 * L + i],
        )
        layers = Layers(state[i], state[L + i], state[2 * L + i], state[3 * L + i])
        ground = below_step(layers, handed[7 * L + i], handed[5 * L + i], top, place_at(site, i), c)
        state[i] = ground.layers.upper
        state[L + i] = ground.layers.middle
        state[2 * L + i] = ground.layers.lower
        state[3 * L + i] = ground.layers.deep
        out[i] = ground.temperature
        out[3 * L + i] = ground.ground_minimum


@loop
def end_run(counts, code, s, left):
    """Take the day that leaves the run out of its sum."""
    for i in range(L):
        counts[s, RUNNING + i] -= np.int32(code[s, left, i] >> np.int16(1))


@loop
def count_day(out, tmin, at, code, counts, s, sd, marks):
    """Code of the day; days and parts of chill; cold days; warming; frosts in the air and at the seedling."""
    m, (t, j0) = marks[0], at
    warming, dry, limit = m.warming, m.dry > np.float32(0.0), m.limit
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
def count_workable(state, code, s, sd, opened, which, marks):
    """Count a season in which ground can be worked on a sowing date."""
    m = marks[0]
    for i in range(L):
        thawed = np.float32(np.int32(code[s, sd, i]) >> np.int32(1)) >= m.workable * GRAIN
        opened[which, i] += np.int32(1) if thawed & (state[5 * L + i] <= m.workable_snow) else np.int32(0)


@kernel
def ground_block(given, site, start, marks, limits, every, work, found):
    """Walk all seasons of a block.

    Parameters
    ----------
    given : `chillplan.region.sums_kernel.Given`
    site : float32, shape (place constant * lane,)
    start : float32, shape (season, state * lane)
    marks : record of float32, shape (1,), as `Marks`; limits : float32, at least one
    every : days between sowing dates
    work : float32, shape (WORK,), overwritten
    found : Found
    """
    state, handed, out = work[:HANDED_AT], work[HANDED_AT:OUT_AT], work[OUT_AT:WORK]
    low, high, rain, air = given.tmin, given.tmax, given.water, given.tmin
    row, gaps, guess = given.row, given.has_gaps, np.empty((1, L), np.float32)
    level, facing, coefficients, warming = given.level, given.facing, given.coefficients, given.warming
    if gaps:
        low, high = np.empty((row.shape[1], L), np.float32), np.empty((row.shape[1], L), np.float32)
        rain, air = np.empty((row.shape[1], L), np.float32), np.empty((row.shape[1], L), np.float32)
    recorded, guessed, light = (low, high, rain), (low, high, guess), (level, facing)
    code, counts, opened = found
    for s in range(row.shape[0]):
        begin_season(counts[s], state, start[s])
        if gaps:
            bridge((low, high, rain, air), given, s)
        for d in range(row.shape[1]):
            t, j = (d, 0) if gaps else (row[s, d], given.first)
            y = given.day_of_year[s, d] - 1
            if d + AHEAD < row.shape[1] and not gaps:
                soon = row[s, d + AHEAD]
                fetch_ahead(low, soon, j)
                fetch_ahead(high, soon, j)
                fetch_ahead(rain, soon, j)
            if given.dry:
                guess_rain(guess, low, high, t, j, warming, given.cloudiest, coefficients)
                walk_above(state, guessed, (t, j, 0, 0, y), warming, light, site, handed, coefficients)
            else:
                walk_above(state, recorded, (t, j, t, j, y), warming, light, site, handed, coefficients)
            walk_surface(state, facing, y, site, handed, out, coefficients)
            walk_below(state, site, handed, out, coefficients)
            if d >= SPIN_UP:
                sd = d - SPIN_UP
                if sd >= RUN:
                    end_run(counts, code, s, sd - RUN)
                count_day(out, air, (t, j), code, counts, s, sd, marks)
                # The first limit is counted with the rest of the day: a tenth faster than all of them here.
                for k in range(1, limits.size):
                    last_frost(out, counts, s, LIMITS + k * L, limits[k], np.int32(sd))
                if sd % every == 0 and sd // every < opened.shape[0]:
                    count_workable(state, code, s, sd, opened, sd // every, marks)
