"""What the days of a season give the seeds of a block of places: running totals of each phase and of warmth.

A running total has the shape (day + 1, lane), as `chillplan.seeds.search` reads it. What runs on from day to day is
kept in a row of its own, `run`: read from the row before in the same array, a whole loop over days would have to be
done place by place.
"""

from __future__ import annotations

import numpy as np

from chillplan.physics.compiled import compiled
from chillplan.physics.lanes import LANES, loop, part
from chillplan.seasons import chill
from chillplan.seasons.chill import DAY_GRAIN
from chillplan.seasons.cut import DAYS
from chillplan.seasons.response import REVERSAL_LOSS
from chillplan.seasons.summary import TEMPERATURE_GRAIN
from chillplan.seeds.search import Sums

GRAIN = np.float32(TEMPERATURE_GRAIN)
share_of_day = compiled(chill.share_of_day)
L = LANES
LOST = np.int32(np.rint(REVERSAL_LOSS * DAY_GRAIN))
"""Parts of a day lost on a day above the reversal temperature."""


@part
def room(rows, columns):
    """Empty int32 rows that begin where cache lines do; `columns` is a multiple of 16."""
    values = np.empty(rows * columns + 16, np.int32)
    begin = (-values.ctypes.data % 64) // 4
    return values[begin : begin + rows * columns].reshape(rows, columns)


@part
def sums_room(needs, days):
    """Room for the running totals of so many days; those before the first day are 0."""
    kinds = needs.response.shape[0]
    totals = room((kinds + 1) * (days + 1), L).reshape(kinds + 1, days + 1, L)
    totals[:, 0] = 0
    return Sums(totals, np.full(totals.shape, -1, np.int16), needs.order)


@part
def warmth_of(code, base, grain):
    """Parts of a degree day above a base temperature, none on a dry day."""
    kept = np.float32(code >> np.int32(1)) / GRAIN
    above = kept - base if kept > base else np.float32(0.0)
    return np.int32(np.rint(above * grain)) * (code & np.int32(1))


@part
def share_of(code, zero_low, per_low, zero_high, per_high, reversal, grain):
    """Parts of a day that count, none on a dry day, less what a warm day undoes."""
    kept = np.float32(code >> np.int32(1)) / GRAIN
    share = share_of_day(kept, zero_low, per_low, zero_high, per_high, np.float32(0.0), np.float32(1.0))
    gain = np.int32(np.rint(share * grain)) * (code & np.int32(1))
    return gain - (LOST if kept > reversal else np.int32(0))


@loop
def add_warmth(total, run, offset, code, s, base, grain):
    """Running total of a season's warmth above a base temperature on moist days, from day `offset` on."""
    for i in range(L):
        run[i] = total[offset, i]
    for d in range(DAYS):
        today, after = code[s, d], total[offset + d + 1]
        for i in range(L):
            run[i] += warmth_of(np.int32(today[i]), base, grain)
            after[i] = run[i]


@loop
def add_shares(total, run, offset, code, s, response, grain):
    """Running total of a season's days that count, moist ones, less what each day that is too warm undoes."""
    zero_low, per_low, zero_high, per_high, reversal = response[0], response[1], response[2], response[3], response[4]
    for i in range(L):
        run[i] = total[offset, i]
    for d in range(DAYS):
        today, after = code[s, d], total[offset + d + 1]
        for i in range(L):
            run[i] += share_of(np.int32(today[i]), zero_low, per_low, zero_high, per_high, reversal, grain)
            after[i] = run[i]


@loop
def find_undone(undone, total, run, offset):
    """Last day of a season, or before, on which a running total fell."""
    for i in range(L):
        run[i] = undone[offset, i]
    for d in range(offset, offset + DAYS):
        before, today, after, day = total[d], total[d + 1], undone[d + 1], np.int32(d)
        for i in range(L):
            run[i] = day if today[i] < before[i] else run[i]
            after[i] = np.int16(run[i])


@loop
def fill_season(sums, run, offset, code, s, needs):
    """Running totals of one season, from day `offset` on; `needs` is a `chillplan.region.places.Needs`."""
    totals, response = sums.totals, needs.response
    kinds = response.shape[0]
    for k in range(kinds):
        add_shares(totals[k], run, offset, code, s, response[k], needs.grains[0])
        if response[k, 4] < np.float32(np.inf):
            find_undone(sums.undone[k], totals[k], run, offset)
    add_warmth(totals[kinds], run, offset, code, s, needs.base, needs.grains[1])
