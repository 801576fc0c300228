"""Sums over the days of each season, that climate, starting state and cool ground of a block of places are made of.

The days of a block lie far apart on a grid, too far for the processor to foresee the next, so it is asked to fetch them
from memory before they are needed; that changes no result.
"""

from __future__ import annotations

from typing import Any, NamedTuple

import numpy as np
from llvmlite import ir
from numba.core import cgutils, types
from numba.extending import intrinsic
from numpy.typing import NDArray

from chillplan.physics.compiled import compiled_demand, compiled_rain
from chillplan.physics.lanes import LANES, kernel, loop, part
from chillplan.seasons.cut import SPIN_UP

__all__ = ["Given", "cool_block", "fetch_ahead", "sorting_pairs", "sums_block"]

L = LANES
demand_of, rain_step = compiled_demand(), compiled_rain()


class Given(NamedTuple):
    """What a block is worked out from."""

    tmin: Any  # tmin, tmax and precipitation are float32, shape (time, place); NaN is missing
    tmax: Any
    water: Any  # not looked at where `dry`
    first: Any  # place at which the block begins
    row: Any  # position on the time axis, -1 where there is none; int32, shape (season, spin-up day + day)
    day_of_year: Any  # int32, same shape
    level: Any  # radiation above the atmosphere on level ground; float32, shape (366, lane)
    facing: Any  # on the slope; the same
    coefficients: Any  # record of float32, shape (1,)
    warming: Any  # float32; added to all temperatures
    fill_low: Any  # what missing days take where `has_gaps`; float32, shape (spin-up day + day, lane)
    fill_high: Any
    has_gaps: Any
    dry: Any  # no precipitation is recorded
    cloudiest: Any  # float32, shape (lane,), from `cloudiest_rain`


@loop
def take_day(today, tmin, tmax, water, t, j0, warming):
    """One day's temperatures and precipitation."""
    low, high, rain = tmin[t, j0 : j0 + L], tmax[t, j0 : j0 + L], water[t, j0 : j0 + L]
    for i in range(L):
        today[i] = low[i] + warming
        today[L + i] = high[i] + warming
        today[2 * L + i] = rain[i]


@loop
def bridge(today, fill_low, fill_high, d, there, warming):
    """Fill the gaps of a day."""
    for i in range(L):
        today[i] = today[i] if (today[i] == today[i]) & there else fill_low[d, i] + warming
        today[L + i] = today[L + i] if (today[L + i] == today[L + i]) & there else fill_high[d, i] + warming
        today[2 * L + i] = today[2 * L + i] if there else np.float32(np.nan)


@loop
def guess_rain(today, cloudiest, coefficients):
    """Precipitation of a day of which none is recorded."""
    c = coefficients[0]
    for i in range(L):
        today[2 * L + i] = rain_step(today[i], today[L + i], cloudiest[i], c)


@loop
def add_first(firsts, s, today):
    """Add a day's extremes to those that start the upper layers."""
    for i in range(2 * L):
        firsts[s, i] += today[i]


@loop
def look_for_gaps(check, today):
    """Make `check` NaN for good where a temperature is missing."""
    for i in range(L):
        check[i] += today[i] + today[L + i]


@loop
def add_day(total, check, today, level, y, coefficients):
    """Add a day's mean temperature, evaporation demand, precipitation, and whether there is any record of that."""
    c = coefficients[0]
    for i in range(L):
        low, high, rain = today[i], today[L + i], today[2 * L + i]
        check[i] += low + high
        spread = high - low
        spread = spread if spread > c.zero else c.zero
        mean = (low + high) / np.float32(2.0)
        known = not np.isnan(rain)
        total[i] += np.float64(mean)
        total[L + i] += np.float64(demand_of(mean, np.sqrt(spread), level[y, i], c))
        total[2 * L + i] += np.float64(rain if known else c.zero)
        total[3 * L + i] += np.float64(c.one if known else c.zero)


@kernel
def sums_block(given, first, sums, firsts):
    """Sum up each season of a block.

    Parameters
    ----------
    given : Given
    first : days whose mean starts the upper layers
    sums : float64, shape (season, 4 * lane), written: mean temperature, demand, precipitation, days with
        precipitation; NaN in the first where a temperature is missing anywhere, spin-up included
    firsts : float32, shape (season, 2 * lane), written: mean tmin and tmax of the first days
    """
    today, check, total = np.empty(3 * L, np.float32), np.empty(L, np.float32), np.empty(4 * L)
    tmin, tmax, water, row, warming = given.tmin, given.tmax, given.water, given.row, given.warming
    firsts[:] = np.float32(0.0)
    for s in range(row.shape[0]):
        total[:] = 0.0
        check[:] = np.float32(0.0)
        for d in range(row.shape[1]):
            t = row[s, d]
            take_day(today, tmin, tmax, water, max(t, 0), given.first, warming)
            if given.has_gaps:
                bridge(today, given.fill_low, given.fill_high, d, t >= 0, warming)
            elif t < 0:
                check[:] = np.float32(np.nan)
            if given.dry:
                guess_rain(today, given.cloudiest, given.coefficients)
            if d < first:
                add_first(firsts, s, today)
            if d < SPIN_UP:
                look_for_gaps(check, today)
            else:
                add_day(total, check, today, given.level, given.day_of_year[s, d] - 1, given.coefficients)
        for i in range(L):
            total[i] = total[i] if check[i] == check[i] else np.nan
        for i in range(4 * L):
            sums[s, i] = total[i]
    firsts /= np.float32(first)


RUN = 7


def sorting_pairs(count: int) -> NDArray[np.int32]:
    """Comparisons that sort any `count` values, the same whatever the values, so that all lanes sort in step.

    References
    ----------
    Knuth, The Art of Computer Programming, vol. 3, algorithm 5.2.2M (Batcher's merge exchange).
    """
    pairs: list[tuple[int, int]] = []
    top = 1 << max((count - 1).bit_length() - 1, 0)
    p = top if count > 1 else 0
    while p > 0:
        q, r, d = top, 0, p
        while True:
            pairs += [(i, i + d) for i in range(count - d) if i & p == r]
            if q == p:
                break
            d, q, r = q - p, q // 2, p
        p //= 2
    return np.array(pairs, dtype=np.int32).reshape(-1, 2)


@kernel
def cool_block(code, pairs, every, last_day, limit, cool_from):
    """Position of the first cool sowing date of each lane, unchanged where there is none.

    Parameters
    ----------
    code : int16, shape (season, day, lane)
    pairs : int32, shape (comparison, 2); from `sorting_pairs`
    every : days between sowing dates; last_day : last day to look at
    limit : temperature that counts as cool, in parts of a degree
    cool_from : int32, shape (lane,), written
    """
    seasons = code.shape[0]
    low, high = (seasons - 1) // 2, seasons // 2
    values = np.empty((seasons, L), np.int16)
    middle = np.zeros((RUN, L), np.int32)
    run_sum = np.zeros(L, np.int32)
    waiting = L
    for d in range(last_day + 1):
        for s in range(seasons):
            seen, kept = code[s, d], values[s]
            for i in range(L):
                kept[i] = seen[i] >> np.int16(1)
        for n in range(pairs.shape[0]):
            a, b = values[pairs[n, 0]], values[pairs[n, 1]]
            for i in range(L):
                x, y = a[i], b[i]
                a[i] = x if x < y else y
                b[i] = y if x < y else x
        old, first, second = middle[d % RUN], values[low], values[high]
        for i in range(L):
            both = np.int32(first[i]) + np.int32(second[i])
            run_sum[i] += both - old[i]
            old[i] = both
        if d >= RUN - 1 and d % every == 0:
            for i in range(L):
                if cool_from[i] < 0 and run_sum[i] <= 2 * RUN * limit:
                    cool_from[i] = d // every
                    waiting -= 1
            if waiting == 0:
                return


LINE = 64  # bytes of a cache line


@intrinsic
def _fetch_line(typing_context: Any, array: Any, row: Any, column: Any) -> Any:
    """Fetch the line that holds an element of a two-dimensional array; no element has to be there."""

    def write(context: Any, builder: Any, signature: Any, arguments: Any) -> Any:
        values = context.make_array(signature.args[0])(context, builder, arguments[0])
        steps = cgutils.unpack_tuple(builder, values.strides, 2)
        offset = builder.add(builder.mul(arguments[1], steps[0]), builder.mul(arguments[2], steps[1]))
        address = builder.add(builder.ptrtoint(values.data, offset.type), offset)
        pointer = builder.inttoptr(address, cgutils.voidptr_t)
        number = ir.IntType(32)
        kind = ir.FunctionType(ir.VoidType(), [pointer.type, number, number, number])
        fetch = cgutils.get_or_insert_function(builder.module, kind, "llvm.prefetch.p0")
        to_read, keep, data = number(0), number(3), number(1)
        builder.call(fetch, [pointer, to_read, keep, data])
        return context.get_dummy_value()

    return types.void(array, types.intp, types.intp), write


@part
def fetch_ahead(values, row, first):
    """Fetch the lanes from `first` on of a row of float32."""
    for line in range(0, LANES, LINE // 4):
        _fetch_line(values, row, first + line)  # type: ignore[call-arg]
