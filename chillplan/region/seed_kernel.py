"""Counts of seeds up in time, for a block of places, without walking any seed through its days.

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

from chillplan.region.lanes import LANES, STAMP, kernel
from chillplan.region.seed_parts_kernel import (
    add_counts,
    add_season,
    before_phases,
    count_from,
    count_quantiles,
    done_after,
    fill_peaks,
    fill_totals,
    later_phases,
    latest_sprouting,
    latest_starts,
    set_limits,
)
from chillplan.seasons.cut import DAYS, MIDWINTER

__all__ = ["fates_block", "second_block", "single_block"]

L = LANES


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
        good, total : int16, shape (lane, date); good_in, total_in : the same from `planting` on; all added to
        """
        assert stamp
        kinds, quantiles = response.shape[0], thermal_need.size
        totals = np.zeros((kinds + 1, DAYS + 1, L), np.int32)
        hots = np.full((max(kinds, 1), DAYS + 1, L), -1, np.int16)
        up_sprouts, frost_sprouts = np.empty(quantiles, np.int64), np.empty(quantiles, np.int64)
        up_by, frosted_by = np.empty(quantiles, np.int64), np.empty(quantiles, np.int64)
        drop, up, lowest = np.empty(good.shape[1], np.int32), np.empty(L, np.int32), np.empty(L, np.int32)
        dates, phases = good.shape[1], order.size
        peak, peak_at = np.empty((DAYS + 1, L), np.int32), np.empty((DAYS + 1, L), np.int32)
        rise, trough = np.empty((DAYS + 1, L), np.int32), np.empty((DAYS + 1, L), np.int32)
        most, last = np.empty((2, quantiles, L), np.int32), np.empty((2, quantiles, L), np.int32)
        by_date = np.zeros((2, dates, L), np.int32)
        fewest = np.int32(np.argmax(is_good)) if is_good.max() > 0 else np.int32(quantiles + 1)
        for s in range(code.shape[0]):
            for k in range(kinds):
                fill_totals(code[s], totals[k], hots[k], 0, response[k], False, base, grains[0])
            fill_totals(code[s], totals[kinds], hots[0], 0, response[0], True, base, grains[1])
            first = totals[order[0]] if phases > 0 else totals[kinds]
            fill_peaks(first, peak, peak_at, rise, trough, lowest)
            for i in range(L):
                after, frost = deadline[i] + 1, max(killing[s, i], 0)
                latest_sprouting(totals, hots, thermal_need, after, i, up_sprouts)
                latest_sprouting(totals, hots, thermal_need, frost, i, frost_sprouts)
                up_by[:], frosted_by[:] = up_sprouts, frost_sprouts
                later_phases(totals, hots, response, order, needs, i, up_by)
                later_phases(totals, hots, response, order, needs, i, frosted_by)
                need = needs[0] if phases > 0 else np.zeros(quantiles, np.int32)
                set_limits(up_by, need, first, peak, peak_at, rise, trough, i, most[0], last[0])
                set_limits(frosted_by, need, first, peak, peak_at, rise, trough, i, most[1], last[1])
                up_by[:], frosted_by[:] = up_sprouts, frost_sprouts
                before_phases(totals, hots, response, order, owed, i, up_by)
                before_phases(totals, hots, response, order, owed, i, frosted_by)
                add_season(
                    up_by, frosted_by, planting, every, is_good, good_in[i], total_in[i], drop[: good_in.shape[1]]
                )
            for p in range(dates):
                up[:] = 0
                count_quantiles(up, trough[p * every], most[0], last[0], np.int32(p * every), np.int32(1))
                count_quantiles(up, trough[p * every], most[1], last[1], np.int32(p * every), np.int32(-1))
                add_counts(up, fewest, by_date[0, p], by_date[1, p])
        for i in range(L):
            for p in range(dates):
                good[i, p] += by_date[0, p, i]
                total[i, p] += by_date[1, p, i]

    return run


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
        first_total, second_total : int16, shape (lane, date)
        """
        assert stamp
        kinds, quantiles = response.shape[0], thermal_need.size
        totals = np.zeros((kinds + 1, 2 * DAYS + 1, L), np.int32)
        hots = np.full((max(kinds, 1), 2 * DAYS + 1, L), -1, np.int16)
        days = np.empty((4, quantiles), np.int64)
        for s in range(code.shape[0]):
            f = following[s]
            if f < 0:
                continue
            for half, season in enumerate((s, f)):
                for k in range(kinds):
                    fill_totals(code[season], totals[k], hots[k], half * DAYS, response[k], False, base, grains[0])
                fill_totals(code[season], totals[kinds], hots[0], half * DAYS, response[0], True, base, grains[1])
            for i in range(L):
                if not wanted[i]:
                    continue
                again = killing[f, i] + DAYS if killing[f, i] >= 0 else DAYS
                ends = (deadline[i] + 1, max(killing[s, i], 0), deadline[i] + DAYS + 1, again)
                for n in range(4):
                    latest_starts(totals, hots, response, order, needs, thermal_need, ends[n], i, days[n])
                for p in range(good.shape[1]):
                    start = p * every
                    once = max(count_from(days[0], start) - count_from(days[1], start), 0)
                    later = max(count_from(days[2], start) - count_from(days[3], start), 0)
                    good[i, p] += is_good[once, later]
                    first_total[i, p] += once
                    second_total[i, p] += later

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
        totals = np.zeros((kinds + 1, DAYS + 1, L), np.int32)
        hots = np.full((max(kinds, 1), DAYS + 1, L), -1, np.int16)
        last = order[order.size - 1]
        plain = response[last].copy()
        plain[5] = np.float32(0.0)
        chill = np.zeros((DAYS + 1, L), np.int32)
        ready = np.empty(quantiles, np.int64)
        for s in range(code.shape[0]):
            for k in range(kinds):
                fill_totals(code[s], totals[k], hots[k], 0, response[k], False, base, grains[0])
            fill_totals(code[s], totals[kinds], hots[0], 0, response[0], True, base, grains[1])
            fill_totals(code[s], chill, hots[0], 0, plain, False, base, grains[0])
            for i in range(L):
                if not wanted[i]:
                    continue
                frost = max(killing[s, i], 0)
                ends = (0, min(frost, MIDWINTER), frost, deadline[i] + 1, DAYS, max(deadline[i] + 1, frost))
                count = np.zeros(6, np.int64)
                for n in range(6):
                    latest_starts(totals, hots, response, order, needs, thermal_need, ends[n], i, ready)
                    count[n] = count_from(ready, sown[i])
                lost[i, 0] += count[2] - count[1]
                lost[i, 1] += count[4] - count[5]
                lost[i, 2] += quantiles - count[4] + count[0]
                lost[i, 3] += count[1] - count[0]
                begin = sown[i]
                for n in range(order.size - 1):
                    k = order[n]
                    begin = done_after(totals[k], response[k, 5] > np.float32(0.0), begin, DAYS, demanding[n], i)
                gathered[s, i] = chill[lift[i], i] - chill[begin, i] if begin < lift[i] else -1
                latest_starts(totals, hots, response, order, needs, thermal_need, lift[i], i, ready)
                risen[s, i] = count_from(ready, sown[i])
                latest_starts(totals, hots, response, order, owed, thermal_need, deadline[i] + 1, i, ready)
                by_deadline = count_from(ready, planted[i])
                latest_starts(totals, hots, response, order, owed, thermal_need, frost, i, ready)
                up[s, i] = max(by_deadline - count_from(ready, planted[i]), 0)

    return run


fates_block = _fates_block(STAMP)
"""Good winters and seeds up in time for every sowing date; see the inner function."""

second_block = _second_block(STAMP)
"""The same over two winters, for seed left in place; see the inner function."""

single_block = _single_block(STAMP)
"""What one autumn date and one planting date give, season by season; see the inner function."""
