"""On which latest day could seed have been sown to be up by a given day? One compiled search for a site and a map.

`chillplan.seeds.passage` walks seed forward to the day it is up. Here the question is turned round, and both give the
same answer, because later sowing never comes up earlier, and more demanding seed never first. What becomes of a lot
needs only a few such days, whatever the number of sowing dates. All sums are whole numbers and therefore exact.

Running totals have the shape (day + 1, column): a column is a winter of a site, or a place of a map in one winter.
"""

from __future__ import annotations

from typing import Any, NamedTuple

import numpy as np

from chillplan.physics.lanes import kernel, loop, part

__all__ = ["Sums", "count_by", "count_from", "latest_starts"]

NOT_AT_ALL = -1
"""Stands for the sowing day where no day would do."""


class Sums(NamedTuple):
    """What a search reads: running totals of some winters or places, and which of them each phase counts by."""

    totals: Any  # of every kind of phase, and last of the warmth to emerge; int32, shape (kind + 1, day + 1, column)
    undone: Any  # last day that undid progress before each, -1 where there was none; int16, the same shape
    order: Any  # kind of each phase; int32, shape (phase,)


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
def go_back(total, undone, i, need, ready):
    """Turn the days on which a phase must be over into the latest days on which it may begin, in place.

    `ready[q]` is the first day after the phase, -1 where no day does; a phase that needs nothing takes no day.
    Neither the days nor the needs fall back from one quantile to the next, so the search never turns round. Since the
    last day that undid progress the total only rises; before it, days are looked at one by one.
    """
    at = ready[0]
    for q in range(ready.size):
        end, wanted = ready[q], need[q]
        if end < 0:
            break
        at = min(at, end)
        if wanted <= 0:
            continue
        begin, top = np.int64(undone[end, i]) + 1, total[end, i]
        if top - total[begin, i] >= wanted:
            at = last_with(total, i, begin, at, top - wanted)
        else:
            most, at = top, NOT_AT_ALL
            for j in range(begin - 1, -1, -1):
                if most - total[j, i] >= wanted:
                    at = j
                    break
                most = max(most, total[j, i])
        ready[q] = at
        if at < 0:
            ready[q:] = NOT_AT_ALL
            break


@loop
def before_phases(sums, amounts, i, ready):
    """From the days on which all phases must be over to the latest on which the first may begin, in place."""
    for n in range(sums.order.size - 1, -1, -1):
        k = sums.order[n]
        go_back(sums.totals[k], sums.undone[k], i, amounts[n], ready)


@loop
def latest_sprouting(sums, thermal, end, i, ready):
    """Latest day on which each quantile must be through its phases to be up by the day before `end`."""
    ready[:] = end
    go_back(sums.totals[-1], sums.undone[-1], i, thermal, ready)


@loop
def latest_starts(sums, amounts, thermal, end, i, ready):
    """Latest sowing day of each quantile that is up by the day before `end`.

    `amounts`, shape (phase, quantile), and `thermal`, shape (quantile,), are what these quantiles need.
    """
    latest_sprouting(sums, thermal, end, i, ready)
    before_phases(sums, amounts, i, ready)


@part
def count_from(ready, start):
    """Quantiles that may be sown as late as `start`; the least demanding may be sown latest."""
    count = ready.size
    while count > 0 and ready[count - 1] < start:
        count -= 1
    return count


@kernel
def count_by(sums, amounts, thermal, starts, ends, counts):
    """Count the quantiles that are up before some days, for every sowing date.

    Parameters
    ----------
    sums : Sums
    amounts : int32, shape (phase, quantile); thermal : int32, shape (quantile,)
    starts : int32, shape (start,)
    ends : int32, shape (end, column)
    counts : int16, shape (end, start, column); written
    """
    ready = np.empty(thermal.size, np.int64)
    for e in range(ends.shape[0]):
        for i in range(ends.shape[1]):
            latest_starts(sums, amounts, thermal, ends[e, i], i, ready)
            for s in range(starts.size):
                counts[e, s, i] = count_from(ready, starts[s])
