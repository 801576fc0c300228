"""The steps of the seed counts that run over many places at once: running totals, peaks, and counting by sowing date.

A running total has the shape (day + 1, lane). Rows of other arrays that belong to one day lie side by side in one row,
so that the compiler sees they never overlap. What runs on from day to day is kept in a row of its own, `run`: read
from the row before in the same array, a whole loop over days would have to be done place by place.
"""

from __future__ import annotations

from typing import Any, NamedTuple

import numpy as np

from chillplan.physics.compiled import compiled
from chillplan.physics.lanes import SEED_LANES, loop, part
from chillplan.seasons import chill
from chillplan.seasons.chill import DAY_GRAIN
from chillplan.seasons.cut import DAYS
from chillplan.seasons.response import REVERSAL_LOSS
from chillplan.seasons.summary import TEMPERATURE_GRAIN

GRAIN = np.float32(TEMPERATURE_GRAIN)
share_of_day = compiled(chill.share_of_day)
L = SEED_LANES
LOST = np.int32(np.rint(REVERSAL_LOSS * DAY_GRAIN))
"""Parts of a day lost on a day above the reversal temperature."""

PEAK, PEAK_AT, RISE, TROUGH, GAIN = 0, L, 2 * L, 3 * L, 4 * L
"""Rows of a day of the peaks: highest total so far, its last day, the most gained again since, the lowest total from
this day to the highest of all, and the most gained from any day so far to a later one."""

PEAK_ROWS = 6 * L
"""Length of a row of peaks, and of the row in which they are run on."""

LOWEST = 5 * L

BY_DEADLINE, BY_FROST, UNTIL = 0, 2 * L, L
"""Rows of a quantile of the limits: highest total at sowing to be up by the deadline and by frost; `UNTIL` behind each,
the last day of sowing."""

NO_LIMIT = np.int32(1 << 30)


class Ends(NamedTuple):
    """Days by which seedlings of a block must be there."""

    deadline: Any  # last day on which one is in time; int32, shape (lane,)
    killing: Any  # last killing frost, -1 where there is none; int32, shape (season, lane)


class Sums(NamedTuple):
    """Running totals of a season, or of two on end, and what is read off them; room that is used again and again."""

    totals: Any  # of every kind of phase, and last of the warmth to emerge; int32, shape (kind + 1, day + 1, lane)
    hots: Any  # last day above the reversal temperature, -1 where there is none; int16, shape (kind, day + 1, lane)
    peaks: Any  # of the first phase; int32, shape (day + 1, PEAK_ROWS)
    run: Any  # what runs on from day to day; int32, shape (PEAK_ROWS,)


class Search(NamedTuple):
    """Room of the search for the latest day of sowing."""

    by: Any  # day after the deadline, and day of the last killing frost; int32, shape (2, lane)
    sprouting: Any  # latest day on which the warmth to emerge must begin, for both; int32, shape (2, quantile, lane)
    ready: Any  # int32, shape (quantile, lane)
    column: Any  # int64, shape (quantile,)
    rows: Any  # int32, shape (4, lane)


@part
def room(rows, columns):
    """Empty int32 rows that begin where cache lines do; `columns` is a multiple of 16."""
    values = np.empty(rows * columns + 16, np.int32)
    begin = (-values.ctypes.data % 64) // 4
    return values[begin : begin + rows * columns].reshape(rows, columns)


@part
def sums_room(kinds, days):
    """Room for the running totals of so many days; those before the first day are 0."""
    totals = room((kinds + 1) * (days + 1), L).reshape(kinds + 1, days + 1, L)
    totals[:, 0] = 0
    hots = np.full((max(kinds, 1), days + 1, L), -1, np.int16)
    return Sums(totals, hots, room(days + 1, PEAK_ROWS), room(1, PEAK_ROWS)[0])


@part
def search_room(quantiles):
    """Room to search for so many quantiles of a lot."""
    sprouting = room(2 * quantiles, L).reshape(2, quantiles, L)
    return Search(room(2, L), sprouting, room(quantiles, L), np.empty(quantiles, np.int64), room(4, L))


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


@part
def reversal_of(response):
    """Temperature above which a phase loses days, infinite where it loses none."""
    return response[4] if response[5] > np.float32(0.0) else np.float32(np.inf)


@loop
def add_warmth(total, run, offset, code, s, at, base, grain):
    """Running total of a season's warmth above a base temperature on moist days, from day `offset` on."""
    for i in range(L):
        run[i] = total[offset, i]
    for d in range(DAYS):
        today, after = code[s, d, at : at + L], total[offset + d + 1]
        for i in range(L):
            run[i] += warmth_of(np.int32(today[i]), base, grain)
            after[i] = run[i]


@loop
def add_shares(total, run, offset, code, s, at, response, grain):
    """Running total of a season's days that count, moist ones, less a day for each that is too hot."""
    zero_low, per_low, zero_high, per_high = response[0], response[1], response[2], response[3]
    reversal = reversal_of(response)
    for i in range(L):
        run[i] = total[offset, i]
    for d in range(DAYS):
        today, after = code[s, d, at : at + L], total[offset + d + 1]
        for i in range(L):
            run[i] += share_of(np.int32(today[i]), zero_low, per_low, zero_high, per_high, reversal, grain)
            after[i] = run[i]


@loop
def find_hot_days(hot, run, offset, code, s, at, response):
    """Last day above the reversal temperature before each, -1 where there is none."""
    reversal = reversal_of(response)
    for i in range(L):
        run[i] = hot[offset, i]
    for d in range(DAYS):
        today, after, day = code[s, d, at : at + L], hot[offset + d + 1], np.int32(offset + d)
        for i in range(L):
            kept = np.float32(np.int32(today[i]) >> np.int32(1)) / GRAIN
            run[i] = day if kept > reversal else run[i]
            after[i] = np.int16(run[i])


@loop
def fill_season(sums, offset, code, s, at, needs, wants_hot):
    """Running totals of one season, from day `offset` on; `needs` is a `chillplan.region.places.Needs`."""
    totals, hots, run, response = sums.totals, sums.hots, sums.run, needs.response
    kinds = response.shape[0]
    for k in range(kinds):
        add_shares(totals[k], run, offset, code, s, at, response[k], needs.grains[0])
        if wants_hot:
            find_hot_days(hots[k], run, offset, code, s, at, response[k])
    add_warmth(totals[kinds], run, offset, code, s, at, needs.base, needs.grains[1])


@loop
def fill_peaks(peaks, run, total):
    """Peaks and troughs of a running total; rows as in `PEAK` and those after it."""
    start = total[0]
    for i in range(L):
        run[PEAK + i] = start[i]
        run[PEAK_AT + i] = np.int32(0)
        run[RISE + i] = np.int32(0)
        run[TROUGH + i] = start[i]  # going forward, the lowest since the peak
        run[GAIN + i] = np.int32(0)
        run[LOWEST + i] = start[i]
    for d in range(total.shape[0]):
        now, today, day = peaks[d], total[d], np.int32(d)
        for i in range(L):
            value, low, rise = today[i], run[TROUGH + i], run[RISE + i]
            higher = value >= run[PEAK + i]
            low = value if higher | (value < low) else low
            rise = value - low if value - low > rise else rise
            rise = np.int32(0) if higher else rise
            peak, peak_at = run[PEAK + i], run[PEAK_AT + i]
            peak, peak_at = value if higher else peak, day if higher else peak_at
            lowest = value if value < run[LOWEST + i] else run[LOWEST + i]
            gain = value - lowest if value - lowest > run[GAIN + i] else run[GAIN + i]
            now[PEAK + i], now[PEAK_AT + i], now[RISE + i], now[GAIN + i] = peak, peak_at, rise, gain
            run[GAIN + i], run[LOWEST + i] = gain, lowest
            run[PEAK + i], run[PEAK_AT + i], run[RISE + i], run[TROUGH + i] = peak, peak_at, rise, low
    end = total[total.shape[0] - 1]
    for i in range(L):
        run[TROUGH + i] = end[i]
    for back in range(total.shape[0]):
        d = total.shape[0] - 1 - back
        now, today, day = peaks[d], total[d], np.int32(d)
        for i in range(L):
            lower = (today[i] < run[TROUGH + i]) | (day >= run[PEAK_AT + i])
            low = today[i] if lower else run[TROUGH + i]
            now[TROUGH + i] = low
            run[TROUGH + i] = low


@part
def one_if(condition):
    """1 or 0."""
    return np.int32(1) if condition else np.int32(0)


@loop
def count_low(found, total, limits, low, high):
    """Count the days from `low` to `high` whose total is at most the lane's limit, four days at a time."""
    fours = max(high + 1 - low, 0) // 4
    for n in range(fours):
        d = low + 4 * n
        a, b, c, e = total[d], total[d + 1], total[d + 2], total[d + 3]
        for i in range(L):
            limit = limits[i]
            found[i] += one_if(a[i] <= limit) + one_if(b[i] <= limit) + one_if(c[i] <= limit) + one_if(e[i] <= limit)
    for d in range(low + 4 * fours, high + 1):
        today = total[d]
        for i in range(L):
            found[i] += one_if(today[i] <= limits[i])


@part
def least_and_most(values):
    """Smallest and largest of a row."""
    least, most = values[0], values[0]
    for i in range(L):
        least, most = min(least, values[i]), max(most, values[i])
    return least, most


@loop
def first_sprouting(total, need, end, limits, row):
    """Latest days for the least demanding quantile, written into `row`."""
    if need <= 0:
        for i in range(L):
            row[i] = end[i]
    else:
        search(total, need, end, limits, row, np.int32(0), least_and_most(end)[1])


@loop
def latest_sprouting(total, needs, end, limits, ready, low):
    """Latest day of each quantile on which the warmth to emerge must begin to be up by the day before `end`.

    Written into `ready`, shape (quantile, lane), -1 where no day would do; days before `low` are given as the day
    before it. The row of the first quantile is there already (`first_sprouting`). Warmth only rises, so that a day is
    told by how many totals are low enough, and what the first and the last quantile find bounds the others' days.
    """
    last = needs.size - 1
    high = max(least_and_most(ready[0])[1], low)
    for n in range(last):
        q = last if n == 0 else n
        row, need = ready[q], needs[q]
        if need <= 0:
            for i in range(L):
                row[i] = end[i]
            continue
        search(total, need, end, limits, row, low, high)
        if n == 0:
            low = max(least_and_most(row)[0], low)


@loop
def search(total, need, end, limits, row, low, high):
    """Latest day of each lane from which a total gains `need` until `end`; the day before `low` where it is earlier."""
    for i in range(L):
        limits[i] = total[end[i], i] - need
    row[:] = low - np.int32(1)
    count_low(row, total, limits, low, high)


@loop
def can_gain(peaks, day, need):
    """Whether any lane gains `need` before its day."""
    found = False
    for i in range(L):
        found |= (day[i] >= 0) & (peaks[max(day[i], 0), GAIN + i] >= need)
    return found


@loop
def find_alike(peaks, ready, first, least, greatest, highest, until, apart):
    """Lanes whose quantiles from `first` on all look back to the same peak.

    Written: `highest`, that peak; `until`, its day, -1 where there is none or nothing is gained in time; `apart`, 1
    where the quantiles have to be looked at one by one. Nothing here is decided by a jump, so that the processor can
    fetch the peaks of many lanes at the same time.
    """
    last = ready.shape[0] - 1
    for i in range(L):
        there = ready[first, i] >= 0
        late, early = max(ready[first, i], 0), max(ready[last, i], 0)
        gains = there & (peaks[late, GAIN + i] >= least)
        peak, peak_at = peaks[late, PEAK + i], peaks[late, PEAK_AT + i]
        alike = (ready[last, i] >= peak_at) & (peaks[early, GAIN + i] >= greatest) & (peaks[late, RISE + i] < least)
        alike = alike & (peaks[peak_at, TROUGH + i] > peak - least)
        highest[i] = peak
        until[i] = peak_at if gains & alike else -1
        apart[i] = 1 if gains & (not alike) else 0


@loop
def set_alike(limits, q, most, highest, wanted, until):
    """Limits of a quantile that needs `wanted` before the same peak as all others."""
    totals, days = limits[q, most : most + L], limits[q, most + UNTIL : most + UNTIL + L]
    for i in range(L):
        totals[i] = highest[i] - wanted
        days[i] = until[i]


@loop
def set_free(limits, q, most, ready):
    """Limits of a quantile that needs nothing: its latest day alone."""
    totals, days = limits[q, most : most + L], limits[q, most + UNTIL : most + UNTIL + L]
    for i in range(L):
        totals[i] = NO_LIMIT
        days[i] = ready[q, i]


@part
def may(limits, q, most, i, lowest, day):
    """1 where a quantile may be sown on a day."""
    return one_if((lowest <= limits[q, most + i]) & (day <= limits[q, most + UNTIL + i]))


@loop
def count_dates(up, peaks, limits, start):
    """Quantiles that are up by the deadline, less those up by the frost, of seed sown on a day."""
    day, quantiles = np.int32(start), limits.shape[0]
    for i in range(L):
        up[i] = np.int32(0)
    for q in range(0, quantiles - quantiles % 2, 2):
        for i in range(L):
            lowest = peaks[start, TROUGH + i]
            first = may(limits, q, BY_DEADLINE, i, lowest, day)
            second = may(limits, q + 1, BY_DEADLINE, i, lowest, day)
            killed = may(limits, q, BY_FROST, i, lowest, day)
            killed_too = may(limits, q + 1, BY_FROST, i, lowest, day)
            up[i] += first + second - killed - killed_too
    for q in range(quantiles - quantiles % 2, quantiles):
        for i in range(L):
            lowest = peaks[start, TROUGH + i]
            up[i] += may(limits, q, BY_DEADLINE, i, lowest, day)
            up[i] -= may(limits, q, BY_FROST, i, lowest, day)
    for i in range(L):
        up[i] = up[i] if up[i] > np.int32(0) else np.int32(0)


@loop
def count_dates_without_frost(up, peaks, limits, start):
    """The same where nothing is up by the frost."""
    day, quantiles = np.int32(start), limits.shape[0]
    for i in range(L):
        up[i] = np.int32(0)
    for q in range(0, quantiles - quantiles % 4, 4):
        for i in range(L):
            lowest = peaks[start, TROUGH + i]
            first = may(limits, q, BY_DEADLINE, i, lowest, day)
            second = may(limits, q + 1, BY_DEADLINE, i, lowest, day)
            third = may(limits, q + 2, BY_DEADLINE, i, lowest, day)
            fourth = may(limits, q + 3, BY_DEADLINE, i, lowest, day)
            up[i] += first + second + third + fourth
    for q in range(quantiles - quantiles % 4, quantiles):
        for i in range(L):
            up[i] += may(limits, q, BY_DEADLINE, i, peaks[start, TROUGH + i], day)


@loop
def add_winter(good, total, at, up, fewest):
    """Add a winter's seeds up in time to the counts of a date."""
    all_good, all_up = good[at : at + L], total[at : at + L]
    for i in range(L):
        all_good[i] += np.int32(1) if up[i] >= fewest else np.int32(0)
        all_up[i] += up[i]
