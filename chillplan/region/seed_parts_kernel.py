"""The steps of the seed counts that look at one place at a time: the search for the latest day of each phase."""

from __future__ import annotations

import numpy as np

from chillplan.physics.lanes import loop, part
from chillplan.region.seed_rows_kernel import (
    GAIN,
    NO_LIMIT,
    PEAK,
    PEAK_AT,
    RISE,
    TROUGH,
    find_alike,
    set_alike,
    set_free,
)

NOT_AT_ALL = -1
"""Stands for the sowing day where no day would do."""


@part
def last_with(total, i, low, high, most):
    """Last position between `low` and `high` whose total is at most `most`; totals rise, and that at `low` is."""
    reach = 2
    while high - reach > low and total[high - reach, i] > most:
        high -= reach
        reach *= 2
    low = max(low, high - reach)
    while low < high:
        middle = (low + high + 1) // 2
        if total[middle, i] <= most:
            low = middle
        else:
            high = middle - 1
    return low


@loop
def go_back(total, hot, loses, i, ready, need):
    """Turn the days on which a phase must be over into the latest days on which it may begin, in place.

    `ready[q]` is the first day after the phase, -1 where no day does; a phase that needs nothing takes no day.
    Neither the days nor the needs fall back from one quantile to the next, so the search never turns round.
    """
    at = ready[0]
    for q in range(ready.size):
        end, wanted = ready[q], need[q]
        if end < 0:
            break
        at = min(at, end)
        if wanted <= 0:
            continue
        begin = np.int64(hot[end, i]) + 1 if loses else 0
        top = total[end, i]
        if top - total[begin, i] >= wanted:
            at = last_with(total, i, begin, at, top - wanted)
        else:
            most, at = top, NOT_AT_ALL
            if begin > 0:
                for j in range(end - 1, -1, -1):
                    if most - total[j, i] >= wanted:
                        at = j
                        break
                    most = max(most, total[j, i])
        ready[q] = at
        if at < 0:
            for rest in range(q, ready.size):
                ready[rest] = NOT_AT_ALL
            break


@part
def sprouting_of_lane(totals, hots, thermal_need, end, i, ready):
    """Latest day of each quantile on which the warmth to emerge must begin to be up by the day before `end`."""
    ready[:] = end
    go_back(totals[-1], hots[0], False, i, ready, thermal_need)


@loop
def before_phases(totals, hots, response, order, needs, i, ready):
    """Latest sowing day of each quantile from the latest day on which its phases must be over, in place."""
    for n in range(order.size - 1, -1, -1):
        k = order[n]
        go_back(totals[k], hots[k], response[k, 5] > np.float32(0.0), i, ready, needs[n])


@loop
def later_phases(totals, hots, response, order, needs, i, ready):
    """As `before_phases`, but for the first phase: latest day of each quantile on which that must be over."""
    for n in range(order.size - 1, 0, -1):
        k = order[n]
        go_back(totals[k], hots[k], response[k, 5] > np.float32(0.0), i, ready, needs[n])


@loop
def latest_starts(totals, hots, response, order, needs, thermal_need, end, i, ready):
    """Latest sowing day of each quantile that is up by the day before `end`."""
    sprouting_of_lane(totals, hots, thermal_need, end, i, ready)
    before_phases(totals, hots, response, order, needs, i, ready)


@part
def count_from(ready, start):
    """Quantiles that may be sown as late as `start`."""
    count = 0
    for q in range(ready.size):
        count += 1 if ready[q] >= start else 0
    return count


@loop
def done_after(total, hot_loss, start, end, wanted, i):
    """First day after a phase begun on `start` is over, `end` where it is not over before."""
    progress = 0
    for d in range(start, end):
        if progress >= wanted:
            return d
        progress = (
            max(progress + total[d + 1, i] - total[d, i], 0) if hot_loss else progress + total[d + 1, i] - total[d, i]
        )
    return end


@loop
def set_limits(ready, need, total, peaks, most, last, limits, back):
    """How low the total must still come, and from which day at the latest, for a first phase to be over in time.

    `ready` has the shape (quantile, lane); `most` and `last` are rows of `limits`, shape (quantile, 4 * lane); `back`,
    shape (3, lane), is overwritten. A phase is over by `ready` if from some day since its beginning the total gains
    enough until then. Up to the peak before `ready` that means: it still comes as low as the peak less the need. After
    that peak nothing is gained that would do, but where the rise says otherwise; and where the total comes that low
    again between that peak and the highest of the season, its trough says nothing: in both cases the days are looked at
    one by one.
    """
    free = 0
    while free < need.size and need[free] <= 0:
        set_free(limits, free, most, last, ready)
        free += 1
    if free == need.size:
        return
    highest, until, apart = back[0], back[1], back[2]
    find_alike(peaks, ready, free, need[free], need[need.size - 1], highest, until, apart)
    for q in range(free, need.size):
        set_alike(limits, q, most, last, highest, need[q], until)
    for i in range(ready.shape[1]):
        if apart[i] == 1:
            set_lane(ready, need, free, total, peaks, i, most, last, limits)


@loop
def set_lane(ready, need, free, total, peaks, i, most, last, limits):
    """Limits of a lane whose quantiles, from `free` on, do not all look back to the same peak."""
    at, top, top_at = np.int32(NOT_AT_ALL), np.int32(0), np.int32(NOT_AT_ALL)
    for q in range(free, need.size):
        end, wanted = ready[q, i], need[q]
        limits[q, most + i], limits[q, last + i] = NO_LIMIT, np.int32(NOT_AT_ALL)
        if end < 0 or peaks[end, GAIN + i] < wanted:
            continue
        peak_at, lowest = peaks[end, PEAK_AT + i], peaks[end, PEAK + i] - wanted
        if peaks[end, RISE + i] < wanted and peaks[peak_at, TROUGH + i] > lowest:
            limits[q, most + i], limits[q, last + i] = lowest, peak_at
            continue
        # Day by day from the end, or on from where the quantile before was found: not where the highest total since
        # then lies after the end.
        if at < 0 or at > end or top_at > end:
            at, top, top_at = end, total[end, i], end
        while at >= 0 and top - total[at, i] < wanted:
            if total[at, i] > top:
                top, top_at = total[at, i], at
            at -= np.int32(1)
        limits[q, last + i] = at


@loop
def limits_of(sprouting, totals, hots, response, order, needs, peaks, most, last, ready, column, back, limits):
    """Limits from the latest days of sprouting, through all phases.

    `sprouting` and `ready` have the shape (quantile, lane), `column` (quantile,); all but the first are overwritten.
    """
    if order.size == 0:
        for q in range(sprouting.shape[0]):
            for i in range(sprouting.shape[1]):
                limits[q, most + i], limits[q, last + i] = NO_LIMIT, sprouting[q, i]
        return
    if order.size == 1:
        set_limits(sprouting, needs[0], totals[order[0]], peaks, most, last, limits, back)
        return
    for i in range(sprouting.shape[1]):
        for q in range(column.size):
            column[q] = sprouting[q, i]
        later_phases(totals, hots, response, order, needs, i, column)
        for q in range(column.size):
            ready[q, i] = column[q]
    set_limits(ready, needs[0], totals[order[0]], peaks, most, last, limits, back)
