"""The steps of the seed counts that look at one place at a time: the search for the latest day of each phase."""

from __future__ import annotations

from typing import Any, NamedTuple

import numpy as np

from chillplan.physics.lanes import loop, part
from chillplan.region.seed_rows_kernel import (
    GAIN,
    NO_LIMIT,
    PEAK,
    PEAK_AT,
    RISE,
    TROUGH,
    UNTIL,
    find_alike,
    set_alike,
    set_free,
)


class Phases(NamedTuple):
    """What a search through the phases of a recipe reads, and no more: it is handed over for every place and season."""

    totals: Any  # as in `Sums`
    hots: Any
    response: Any  # as in `chillplan.region.places.Needs`
    order: Any


@part
def phases_of(sums, needs):
    """What a search reads of the running totals and of a recipe."""
    return Phases(sums.totals, sums.hots, needs.response, needs.order)


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


@loop
def before_phases(phases, amounts, first, i, ready):
    """From the days on which all phases must be over to the latest on which phase `first` may begin, in place."""
    for n in range(phases.order.size - 1, first - 1, -1):
        k = phases.order[n]
        loses = phases.response[k, 5] > np.float32(0.0)
        go_back(phases.totals[k], phases.hots[k], loses, i, ready, amounts[n])


@loop
def latest_starts(phases, amounts, thermal, end, i, ready):
    """Latest sowing day of each quantile that is up by the day before `end`.

    `amounts`, shape (phase, quantile), and `thermal`, shape (quantile,), are what these quantiles need.
    """
    ready[:] = end
    go_back(phases.totals[-1], phases.hots[0], False, i, ready, thermal)
    before_phases(phases, amounts, 0, i, ready)


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
def set_limits(ready, need, total, peaks, most, limits, rows):
    """How low the total must still come, and from which day at the latest, for a first phase to be over in time.

    `ready` has the shape (quantile, lane); `most` is a row of `limits`, shape (quantile, 4 * lane); `rows`, shape
    (3 or more, lane), is overwritten. A phase is over by `ready` if from some day since its beginning the total gains
    enough until then. Up to the peak before `ready` that means: it still comes as low as the peak less the need. After
    that peak nothing is gained that would do, but where the rise says otherwise; and where the total comes that low
    again between that peak and the highest of the season, its trough says nothing: in both cases the days are looked at
    one by one.
    """
    free = 0
    while free < need.size and need[free] <= 0:
        set_free(limits, free, most, ready)
        free += 1
    if free == need.size:
        return
    highest, until, apart = rows[0], rows[1], rows[2]
    find_alike(peaks, ready, free, need[free], need[need.size - 1], highest, until, apart)
    for q in range(free, need.size):
        set_alike(limits, q, most, highest, need[q], until)
    for i in range(ready.shape[1]):
        if apart[i] == 1:
            set_lane(ready, need, free, total, peaks, i, most, limits)


@loop
def set_lane(ready, need, free, total, peaks, i, most, limits):
    """Limits of a lane whose quantiles, from `free` on, do not all look back to the same peak."""
    last = most + UNTIL
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
def limits_of(search, e, sums, needs, amounts, most, limits):
    """Limits from the latest days of sprouting, through all phases.

    `e` is 0 by the deadline and 1 by the frost, `most` the row of `limits` for it; `amounts`, shape (phase, quantile),
    is what each phase needs.
    """
    sprouting, order, phases = search.sprouting[e], needs.order, phases_of(sums, needs)
    if order.size == 0:
        for q in range(sprouting.shape[0]):
            set_free(limits, q, most, sprouting)
        return
    ready = sprouting
    if order.size > 1:
        ready, column = search.ready, search.column
        for i in range(sprouting.shape[1]):
            for q in range(column.size):
                column[q] = sprouting[q, i]
            before_phases(phases, amounts, 1, i, column)
            for q in range(column.size):
                ready[q, i] = column[q]
    set_limits(ready, amounts[0], sums.totals[order[0]], sums.peaks, most, limits, search.rows)
