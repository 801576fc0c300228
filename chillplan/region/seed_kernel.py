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

from chillplan.region.lanes import LANES, STAMP, kernel, loop, part
from chillplan.seasons.cut import DAYS, MIDWINTER
from chillplan.seasons.summary import TEMPERATURE_GRAIN

__all__ = ["NOT_AT_ALL", "fates_block", "second_block", "single_block"]

NOT_AT_ALL = -1
"""Stands for the sowing day where no day would do."""

GRAIN = np.float32(TEMPERATURE_GRAIN)
L = LANES
WHOLE_DAY = 65536  # parts of a day lost in the heat


@loop
def add_warmth(after, now, code, base, grain):
    """Running total of warmth above a base temperature on moist days."""
    for i in range(L):
        q = np.int32(code[i])
        kept = np.float32(q >> np.int32(1)) / GRAIN
        above = kept - base if kept > base else np.float32(0.0)
        after[i] = now[i] + np.int32(np.rint(above * grain)) * (q & np.int32(1))


@loop
def add_share(after, now, code, zero_low, per_low, zero_high, per_high, grain):
    """Running total of the share of a day that counts, on moist days."""
    for i in range(L):
        q = np.int32(code[i])
        kept = np.float32(q >> np.int32(1)) / GRAIN
        rising, falling = (kept - zero_low) * per_low, (zero_high - kept) * per_high
        share = rising if rising < falling else falling
        share = share if share < np.float32(1.0) else np.float32(1.0)
        share = share if share > np.float32(0.0) else np.float32(0.0)
        after[i] = now[i] + np.int32(np.rint(share * grain)) * (q & np.int32(1))


@loop
def lose_heat(after, ahead, last, code, reversal, day):
    """Take a day off where it is too hot, and remember the last such day."""
    for i in range(L):
        heat = np.float32(np.int32(code[i]) >> np.int32(1)) / GRAIN > reversal
        after[i] -= np.int32(WHOLE_DAY) if heat else np.int32(0)
        ahead[i] = day if heat else last[i]


@part
def fill_totals(code, total, hot, offset, response, thermal, base, grain):
    """Running totals of one season's gain from position `offset` on.

    `response` is (zero low, per low, zero high, per high, reversal, loses); `thermal` counts warmth above `base`.
    `hot[day]` is the last day above the reversal temperature before `day`, -1 where there is none.
    """
    zero_low, per_low, zero_high, per_high = response[0], response[1], response[2], response[3]
    loses = response[5] > np.float32(0.0)
    for d in range(DAYS):
        today, now, after = code[d], total[offset + d], total[offset + d + 1]
        if thermal:
            add_warmth(after, now, today, base, grain)
        else:
            add_share(after, now, today, zero_low, per_low, zero_high, per_high, grain)
            if loses:
                lose_heat(after, hot[offset + d + 1], hot[offset + d], today, response[4], np.int16(offset + d))


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


@part
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
def latest_sprouting(totals, hots, thermal_need, end, i, ready):
    """Latest day of each quantile on which the warmth to emerge must begin to be up by the day before `end`."""
    ready[:] = end
    go_back(totals[-1], hots[0], False, i, ready, thermal_need)


@part
def before_phases(totals, hots, response, order, needs, i, ready):
    """Latest sowing day of each quantile from the latest day on which its phases must be over, in place."""
    for n in range(order.size - 1, -1, -1):
        k = order[n]
        go_back(totals[k], hots[k], response[k, 5] > np.float32(0.0), i, ready, needs[n])


@part
def latest_starts(totals, hots, response, order, needs, thermal_need, end, i, ready):
    """Latest sowing day of each quantile that is up by the day before `end`."""
    latest_sprouting(totals, hots, thermal_need, end, i, ready)
    before_phases(totals, hots, response, order, needs, i, ready)


@part
def count_from(ready, start):
    """Quantiles that may be sown as late as `start`."""
    count = 0
    for q in range(ready.size):
        count += 1 if ready[q] >= start else 0
    return count


@part
def add_season(by_deadline, by_frost, first, every, is_good, good, total, drop):
    """Add one season's seeds up in time to the counts of each date."""
    dates = good.size
    drop[:] = 0
    for q in range(by_deadline.size):
        if by_deadline[q] >= first:
            drop[min((by_deadline[q] - first) // every, dates - 1)] += 1
        if by_frost[q] >= first:
            drop[min((by_frost[q] - first) // every, dates - 1)] -= 1
    up = 0
    for p in range(dates - 1, -1, -1):
        up += drop[p]
        seen = max(up, 0)
        good[p] += is_good[seen]
        total[p] += seen


@part
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
        drop = np.empty(good.shape[1], np.int32)
        for s in range(code.shape[0]):
            for k in range(kinds):
                fill_totals(code[s], totals[k], hots[k], 0, response[k], False, base, grains[0])
            fill_totals(code[s], totals[kinds], hots[0], 0, response[0], True, base, grains[1])
            for i in range(L):
                after, frost = deadline[i] + 1, max(killing[s, i], 0)
                latest_sprouting(totals, hots, thermal_need, after, i, up_sprouts)
                latest_sprouting(totals, hots, thermal_need, frost, i, frost_sprouts)
                up_by[:], frosted_by[:] = up_sprouts, frost_sprouts
                before_phases(totals, hots, response, order, needs, i, up_by)
                before_phases(totals, hots, response, order, needs, i, frosted_by)
                add_season(up_by, frosted_by, 0, every, is_good, good[i], total[i], drop)
                up_by[:], frosted_by[:] = up_sprouts, frost_sprouts
                before_phases(totals, hots, response, order, owed, i, up_by)
                before_phases(totals, hots, response, order, owed, i, frosted_by)
                add_season(
                    up_by, frosted_by, planting, every, is_good, good_in[i], total_in[i], drop[: good_in.shape[1]]
                )

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
        up,
    ):
        """Season by season; arguments as in `fates_block`.

        Parameters
        ----------
        demanding : int32, shape (phase,); need of the seed that needs most of nine in ten
        sown, planted, lift : int32, shape (lane,); autumn sowing, planting after treatment, lifting [day]
        lost : int32, shape (lane, 4); quantiles killed by frost, too late, dormant, sprouted in autumn; added to
        gathered : int32, shape (season, lane); parts of a day of the last phase before lifting, -1 where not begun
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
