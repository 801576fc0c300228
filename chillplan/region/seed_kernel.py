"""Counts of seeds up in time, for a block of places, mostly without walking a seed through its days.

`chillplan.seeds.simulate` asks, for every quantile of a lot and every sowing date, on which day the seed is up. Here
the question is turned round: on which latest day could this quantile have been sown to be up by a given day? Both ways
give the same answer, because later sowing never comes up earlier, and more demanding seed never first. A seed is up in
time when it is up by the deadline but not before the last killing frost, so two such days a quantile are enough,
whatever the number of sowing dates. All sums are whole numbers and therefore exact.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import numpy as np

from chillplan.physics.lanes import LANES, SEED_LANES, STAMP, kernel, part
from chillplan.region.seed_parts_kernel import count_from, done_after, latest_starts, limits_of
from chillplan.region.seed_rows_kernel import (
    BY_DEADLINE,
    BY_FROST,
    PEAK_ROWS,
    UNTIL_DEADLINE,
    UNTIL_FROST,
    add_shares,
    add_winter,
    can_gain,
    count_dates,
    count_dates_without_frost,
    fill_peaks,
    fill_season,
    first_sprouting,
    latest_sprouting,
    room,
)
from chillplan.seasons.cut import DAYS, MIDWINTER

__all__ = ["fates_block", "second_block", "single_block"]

L = SEED_LANES


def _fates_block(stamp: int) -> Callable[..., Any]:
    @kernel
    def run(
        code,
        response,
        order,
        needs,
        owed,
        thermal_need,
        base,
        grains,
        deadline,
        killing,
        every,
        planting,
        is_good,
        ups,
        good,
        total,
        good_in,
        total_in,
    ):
        """Counts of a block.

        Parameters
        ----------
        code : int16, shape (season, day, lane)
        response : float32, shape (kind of phase, 6); order : int32, shape (phase,); which kind each phase is
        needs, owed : int32, shape (phase, quantile); parts of a day needed, and still needed after treatment indoors
        thermal_need : int32, shape (quantile,)
        base : float32; grains : float32, shape (2,); parts of a day and of a degree day
        deadline : int32, shape (lane,); killing : int32, shape (season, lane), -1 where there is no such frost
        every : days between sowing dates; planting : first planting date
        is_good : int16, shape (quantile + 1,)
        ups : int8, shape (season, date, lane), written: seeds up in time
        good, total : int32, shape (date, lane); good_in, total_in : the same from `planting` on; all added to
        """
        assert stamp
        kinds, quantiles = response.shape[0], thermal_need.size
        totals = room((kinds + 1) * (DAYS + 1), L).reshape(kinds + 1, DAYS + 1, L)
        totals[:, 0] = 0
        hots = np.full((max(kinds, 1), DAYS + 1, L), -1, np.int16)
        peaks, running = room(DAYS + 1, PEAK_ROWS), room(1, PEAK_ROWS)[0]
        sprouting, ready = room(2 * quantiles, L).reshape(2, quantiles, L), room(quantiles, L)
        whole, rest = room(quantiles, 4 * L), room(quantiles, 4 * L)
        ends, limits, up, back = room(2, L), room(1, L)[0], room(1, L)[0], room(3, L)
        column = np.empty(quantiles, np.int64)
        fewest = np.int32(np.argmax(is_good)) if is_good.max() > 0 else np.int32(quantiles + 1)
        wants_hot = order.size > 1
        for s in range(code.shape[0]):
            for at in range(0, LANES, L):
                fill_season(totals, hots, running, 0, code, s, at, response, base, grains, wants_hot)
                fill_peaks(peaks, running, totals[order[0]] if order.size > 0 else totals[kinds])
                for i in range(L):
                    ends[0, i], ends[1, i] = deadline[at + i] + 1, max(killing[s, at + i], 0)
                for e in range(2):
                    first_sprouting(totals[kinds], thermal_need[0], ends[e], limits, sprouting[e, 0])
                # Mostly not even the least demanding seed is through the winter's cold so long before the last frost
                # that it could be up by then: of seed treated indoors only the later dates are then asked for.
                spared = order.size == 1 and needs[0, 0] > 0 and not can_gain(peaks, sprouting[1, 0], needs[0, 0])
                early = np.int32(planting) if spared else np.int32(0)
                latest_sprouting(totals[kinds], thermal_need, ends[0], limits, sprouting[0], np.int32(0))
                latest_sprouting(totals[kinds], thermal_need, ends[1], limits, sprouting[1], early)
                for e, most, last in ((0, BY_DEADLINE, UNTIL_DEADLINE), (1, BY_FROST, UNTIL_FROST)):
                    of = sprouting[e]
                    if e == 0 or not spared:
                        limits_of(
                            of, totals, hots, response, order, needs, peaks, most, last, ready, column, back, whole
                        )
                    limits_of(of, totals, hots, response, order, owed, peaks, most, last, ready, column, back, rest)
                for p in range(good.shape[0]):
                    if spared:
                        count_dates_without_frost(up, peaks, whole, p * every)
                    else:
                        count_dates(up, peaks, whole, p * every)
                    add_winter(good[p], total[p], at, up, fewest)
                    for i in range(L):
                        ups[s, p, at + i] = up[i]
                for p in range(good_in.shape[0]):
                    count_dates(up, peaks, rest, planting + p * every)
                    add_winter(good_in[p], total_in[p], at, up, fewest)

    return run


@part
def within_reach(good, wanted, at, least):
    """Whether any date of a lane that is asked for has so many good winters by now."""
    for p in range(good.shape[0]):
        for i in range(at, at + L):
            if wanted[i] and good[p, i] >= least:
                return True
    return False


def _second_block(stamp: int) -> Callable[..., Any]:
    @kernel
    def run(
        code,
        following,
        wanted,
        response,
        order,
        needs,
        thermal_need,
        base,
        grains,
        deadline,
        killing,
        every,
        is_good,
        fewest,
        ups,
        good,
        first_total,
        second_total,
    ):
        """Counts of a block; arguments as in `fates_block`.

        Parameters
        ----------
        following : int64, shape (season,); the season after each, -1 where it is not usable
        wanted : bool, shape (lane,); lanes to count
        is_good : int16, shape (quantile + 1, quantile + 1); by seeds up in the first and in the second spring
        fewest : good winters that a date must have to be of use; where none can reach so many any more, the others are
            not counted
        ups : int8, shape (season, date, lane); seeds up in time in the first spring
        good, first_total, second_total : int32, shape (date, lane); added to
        """
        assert stamp
        kinds, quantiles = response.shape[0], thermal_need.size
        totals = room((kinds + 1) * (2 * DAYS + 1), L).reshape(kinds + 1, 2 * DAYS + 1, L)
        totals[:, 0] = 0
        hots = np.full((max(kinds, 1), 2 * DAYS + 1, L), -1, np.int16)
        peaks, running = room(2 * DAYS + 1, PEAK_ROWS), room(1, PEAK_ROWS)[0]
        sprouting, ready = room(2 * quantiles, L).reshape(2, quantiles, L), room(quantiles, L)
        whole, column = room(quantiles, 4 * L), np.empty(quantiles, np.int64)
        ends, limits, up, back = room(2, L), room(1, L)[0], room(1, L)[0], room(3, L)
        wants_hot = order.size > 1
        for at in range(0, LANES, L):
            remaining = (following >= 0).sum()
            for s in range(code.shape[0]):
                f = following[s]
                if f < 0:
                    continue
                if not within_reach(good, wanted, at, fewest - remaining):
                    break
                remaining -= 1
                fill_season(totals, hots, running, 0, code, s, at, response, base, grains, wants_hot)
                fill_season(totals, hots, running, DAYS, code, f, at, response, base, grains, wants_hot)
                fill_peaks(peaks, running, totals[order[0]] if order.size > 0 else totals[kinds])
                for i in range(L):
                    ends[0, i] = deadline[at + i] + DAYS + 1
                    ends[1, i] = killing[f, at + i] + DAYS if killing[f, at + i] >= 0 else DAYS
                for e in range(2):
                    first_sprouting(totals[kinds], thermal_need[0], ends[e], limits, sprouting[e, 0])
                    latest_sprouting(totals[kinds], thermal_need, ends[e], limits, sprouting[e], np.int32(0))
                for e, most, last in ((0, BY_DEADLINE, UNTIL_DEADLINE), (1, BY_FROST, UNTIL_FROST)):
                    of = sprouting[e]
                    limits_of(of, totals, hots, response, order, needs, peaks, most, last, ready, column, back, whole)
                for p in range(good.shape[0]):
                    count_dates(up, peaks, whole, p * every)
                    for i in range(L):
                        once = ups[s, p, at + i]
                        good[p, at + i] += is_good[once, up[i]]
                        first_total[p, at + i] += once
                        second_total[p, at + i] += up[i]

    return run


def _single_block(stamp: int) -> Callable[..., Any]:
    @kernel
    def run(
        code,
        wanted,
        response,
        order,
        needs,
        owed,
        demanding,
        thermal_need,
        base,
        grains,
        deadline,
        killing,
        sown,
        planted,
        lift,
        lost,
        gathered,
        risen,
        up,
    ):
        """Season by season; arguments as in `fates_block`.

        Parameters
        ----------
        demanding : int32, shape (phase,); need of the seed that needs most of nine in ten
        sown, planted, lift : int32, shape (lane,); autumn sowing, planting after treatment, lifting [day]
        lost : int32, shape (lane, 4); quantiles killed by frost, too late, dormant, sprouted in autumn; added to
        gathered : int32, shape (season, lane); parts of a day of the last phase before lifting, -1 where not begun
        risen : int16, shape (season, lane); quantiles of the autumn sowing that are up before lifting
        up : int16, shape (season, lane); quantiles up in time after treatment indoors
        """
        assert stamp
        kinds, quantiles = response.shape[0], thermal_need.size
        totals = room((kinds + 1) * (DAYS + 1), L).reshape(kinds + 1, DAYS + 1, L)
        totals[:, 0] = 0
        hots = np.full((max(kinds, 1), DAYS + 1, L), -1, np.int16)
        last = order[order.size - 1]
        plain = response[last].copy()
        plain[5] = np.float32(0.0)
        chill, running = room(DAYS + 1, L), room(1, PEAK_ROWS)[0]
        chill[0] = 0
        ready = np.empty(quantiles, np.int64)
        for s in range(code.shape[0]):
            for at in range(0, LANES, L):
                fill_season(totals, hots, running, 0, code, s, at, response, base, grains, True)
                add_shares(chill, running, 0, code, s, at, plain, grains[0])
                for i in range(L):
                    place = at + i
                    if not wanted[place]:
                        continue
                    frost = max(killing[s, place], 0)
                    after = deadline[place] + 1
                    ends = (0, min(frost, MIDWINTER), frost, after, DAYS, max(after, frost))
                    count = np.zeros(6, np.int64)
                    for n in range(6):
                        latest_starts(totals, hots, response, order, needs, thermal_need, ends[n], i, ready)
                        count[n] = count_from(ready, sown[place])
                    lost[place, 0] += count[2] - count[1]
                    lost[place, 1] += count[4] - count[5]
                    lost[place, 2] += quantiles - count[4] + count[0]
                    lost[place, 3] += count[1] - count[0]
                    begin = sown[place]
                    for n in range(order.size - 1):
                        k = order[n]
                        begin = done_after(totals[k], response[k, 5] > np.float32(0.0), begin, DAYS, demanding[n], i)
                    gathered[s, place] = chill[lift[place], i] - chill[begin, i] if begin < lift[place] else -1
                    latest_starts(totals, hots, response, order, needs, thermal_need, lift[place], i, ready)
                    risen[s, place] = count_from(ready, sown[place])
                    latest_starts(totals, hots, response, order, owed, thermal_need, after, i, ready)
                    by_deadline = count_from(ready, planted[place])
                    latest_starts(totals, hots, response, order, owed, thermal_need, frost, i, ready)
                    up[s, place] = max(by_deadline - count_from(ready, planted[place]), 0)

    return run


fates_block = _fates_block(STAMP)
"""Good winters and seeds up in time for every sowing date; see the inner function."""

second_block = _second_block(STAMP)
"""The same over two winters, for seed left in place; see the inner function."""

single_block = _single_block(STAMP)
"""What one autumn date and one planting date give, season by season; see the inner function."""
