"""Counts of seeds up in time, for a block of places, found without walking a seed through its days.

Seed is up in time when it is up by the deadline but not before the last killing frost, so two latest days of sowing a
quantile (`chillplan.seeds.search`) are enough, whatever the number of sowing dates.
"""

from __future__ import annotations

from typing import Any, NamedTuple

import numpy as np

from chillplan.physics.lanes import LANES, kernel, loop, part
from chillplan.region.seed_days_kernel import add_shares, fill_season, room, sums_room
from chillplan.seasons.cut import DAYS
from chillplan.seeds.search import before_phases, count_from, latest_sprouting, latest_starts

__all__ = ["Asked", "Ends", "Fared", "Fates", "date_block", "fates_block", "second_block", "single_block"]

L = LANES


class Ends(NamedTuple):
    """Days by which seedlings of a block must be there."""

    deadline: Any  # last day on which one is in time; int32, shape (lane,)
    killing: Any  # last killing frost, -1 where there is none; int32, shape (season, lane)


class Fates(NamedTuple):
    """What `fates_block` counts: the first is written, the others are added to."""

    ups: Any  # seeds up in time; int8, shape (season, date, lane)
    good: Any  # good winters; int32, shape (date, lane)
    total: Any  # seeds up in time; the same
    good_in: Any  # the same from the first planting date on, of seed treated indoors
    total_in: Any


class Asked(NamedTuple):
    """What `single_block` looks at; shape (lane,) but where said."""

    wanted: Any  # bool
    sown: Any  # day of the autumn sowing; int32
    planted: Any  # day of planting after treatment
    lift: Any  # day of lifting
    fates: Any  # days that tell the fates (`chillplan.seeds.simulate.days_of_fates`); shape (day, season, lane)


class Fared(NamedTuple):
    """What `single_block` tells, season by season."""

    before: (
        Any  # quantiles of the autumn sowing up before the days that tell the fates; int32, shape (day, lane), added to
    )
    gathered: Any  # parts of a day of the last phase before lifting, -1 where not begun; int32, shape (season, lane)
    risen: Any  # quantiles of the autumn sowing that are up before lifting; int16, shape (season, lane)
    up: Any  # quantiles up in time after treatment indoors; int16, shape (season, lane)


@loop
def tally(ready, begin, every, sign, counts):
    """Add the quantiles that may be sown on each of the dates from `begin` on."""
    last = counts.size - 1
    for q in range(ready.size):
        late = ready[q] - begin
        if late < 0:
            break
        counts[min(late // every, last)] += sign


@loop
def count_dates(sums, amounts, sprouting, i, dates, ready, counts):
    """Quantiles up in time for each date; `sprouting` is by the last killing frost and by the deadline."""
    begin, every = dates
    counts[:] = 0
    for e in range(2):
        ready[:] = sprouting[e]
        before_phases(sums, amounts, i, ready)
        tally(ready, begin, every, 2 * e - 1, counts)
    for p in range(counts.size - 2, -1, -1):
        counts[p] += counts[p + 1]
    for p in range(counts.size):
        counts[p] = max(counts[p], 0)


@kernel
def fates_block(code, needs, ends, every, planting, found):
    """Good winters and seeds up in time of a block, for every sowing date.

    Parameters
    ----------
    code : int16, shape (season, day, lane)
    needs : `chillplan.region.places.Needs`
    ends : Ends
    every : days between sowing dates; planting : first planting date
    found : Fates
    """
    quantiles, sums, run = needs.thermal.size, sums_room(needs, DAYS), room(1, L)[0]
    sprouting, ready = np.empty((2, quantiles), np.int64), np.empty(quantiles, np.int64)
    up, up_in = np.empty(found.good.shape[0], np.int64), np.empty(found.good_in.shape[0], np.int64)
    for s in range(code.shape[0]):
        fill_season(sums, run, 0, code, s, needs)
        for i in range(L):
            latest_sprouting(sums, needs.thermal, max(ends.killing[s, i], 0), i, sprouting[0])
            latest_sprouting(sums, needs.thermal, ends.deadline[i] + 1, i, sprouting[1])
            count_dates(sums, needs.needs, sprouting, i, (0, every), ready, up)
            for p in range(up.size):
                found.ups[s, p, i] = up[p]
                found.good[p, i] += needs.once[up[p]]
                found.total[p, i] += up[p]
            count_dates(sums, needs.owed, sprouting, i, (planting, every), ready, up_in)
            for p in range(up_in.size):
                found.good_in[p, i] += needs.once[up_in[p]]
                found.total_in[p, i] += up_in[p]


@part
def within_reach(good, wanted, least):
    """Whether any date of a lane that is asked for has so many good winters by now."""
    for p in range(good.shape[0]):
        for i in range(L):
            if wanted[i] and good[p, i] >= least:
                return True
    return False


@kernel
def second_block(code, following, wanted, needs, ends, every, fewest, found):
    """The same over two winters, for seed left in place; arguments as in `fates_block`.

    Parameters
    ----------
    following : int64, shape (season,); the season after each, -1 where it is not usable
    wanted : bool, shape (lane,); lanes to count
    fewest : good winters that a date must have to be of use; where none can reach so many any more, the others are
        not counted
    found : Fates
        `ups` are the seeds up in time in the first spring, shape (season, date, lane); added to are `good`, and
        `total` and `total_in`, seeds up in the first and in the second spring, int32, shape (date, lane)
    """
    quantiles, sums, run = needs.thermal.size, sums_room(needs, 2 * DAYS), room(1, L)[0]
    sprouting, ready = np.empty((2, quantiles), np.int64), np.empty(quantiles, np.int64)
    up = np.empty(found.good.shape[0], np.int64)
    remaining = (following >= 0).sum()
    for s in range(code.shape[0]):
        f = following[s]
        if f < 0:
            continue
        if not within_reach(found.good, wanted, fewest - remaining):
            break
        remaining -= 1
        fill_season(sums, run, 0, code, s, needs)
        fill_season(sums, run, DAYS, code, f, needs)
        for i in range(L):
            if not wanted[i]:
                continue
            latest_sprouting(sums, needs.thermal, max(ends.killing[f, i], 0) + DAYS, i, sprouting[0])
            latest_sprouting(sums, needs.thermal, ends.deadline[i] + DAYS + 1, i, sprouting[1])
            count_dates(sums, needs.needs, sprouting, i, (0, every), ready, up)
            for p in range(up.size):
                once = found.ups[s, p, i]
                found.good[p, i] += needs.twice[once, up[p]]
                found.total[p, i] += once
                found.total_in[p, i] += up[p]


@kernel
def date_block(code, shift, wanted, treated, needs, ends, start, good):
    """Count good winters of one date, with the seed zone warmer or colder by an error of its model.

    Parameters
    ----------
    code, needs, ends : as in `fates_block`
    shift : int16; added to `code`
    wanted, treated : bool, shape (lane,); lanes to count, and those whose seed was treated indoors before
    start : int32, shape (lane,); the day of sowing or planting
    good : int16, shape (lane,); added to
    """
    if needs.once.max() <= 0:
        return
    sums, run, ready = sums_room(needs, DAYS), room(1, L)[0], np.empty(needs.thermal.size, np.int64)
    moved, fewest = np.empty((1, DAYS, LANES), np.int16), np.int64(np.argmax(needs.once))
    for s in range(code.shape[0]):
        moved[0] = code[s] + shift
        fill_season(sums, run, 0, moved, 0, needs)
        for i in range(L):
            if wanted[i]:
                amounts = needs.owed if treated[i] else needs.needs
                by = max(ends.killing[s, i], 0), ends.deadline[i] + 1
                good[i] += 1 if is_good(sums, amounts, needs.thermal, by, start[i], fewest, i, ready) else 0


@part
def is_up(sums, amounts, thermal, q, end, start, i, ready):
    """Whether a quantile of a sowing is up before a day."""
    one = slice(q, q + 1)
    latest_starts(sums, amounts[:, one], thermal[one], end, i, ready[one])
    return ready[q] >= start


@loop
def is_good(sums, amounts, thermal, by, start, fewest, i, ready):
    """Whether at least so many quantiles of a sowing are up in time: less demanding seed is up before all others."""
    frost, after = by
    lost = 0
    if frost > start and is_up(sums, amounts, thermal, 0, frost, start, i, ready):
        latest_starts(sums, amounts, thermal, frost, i, ready)
        lost = count_from(ready, start)
    q = lost + fewest - 1
    return fewest == 0 or (q < ready.size and is_up(sums, amounts, thermal, q, after, start, i, ready))


@loop
def up_in_time(sums, amounts, thermal, by, start, i, ready):
    """Quantiles of a sowing that are up by the deadline, but not by the last killing frost."""
    frost, after = by
    lost = 0
    if frost > start:
        latest_starts(sums, amounts, thermal, frost, i, ready)
        lost = count_from(ready, start)
    latest_starts(sums, amounts, thermal, after, i, ready)
    return max(count_from(ready, start) - lost, 0)


@loop
def done_after(total, start, end, wanted, i):
    """First day after a phase begun on `start` is over, `end` where it is not over before."""
    progress = 0
    for d in range(start, end):
        if progress >= wanted:
            return d
        progress = max(progress + total[d + 1, i] - total[d, i], 0)
    return end


@loop
def last_phase(sums, needs, begin, i):
    """Day on which the most demanding of nine seeds in ten begins its last phase."""
    for n in range(needs.order.size - 1):
        begin = done_after(sums.totals[needs.order[n]], begin, DAYS, needs.demanding[n], i)
    return begin


@kernel
def single_block(code, needs, ends, asked, found):
    """What one autumn and one planting date give, season by season.

    The first three arguments are as in `fates_block`, then `Asked` and `Fared`.
    """
    sums, run = sums_room(needs, DAYS), room(1, L)[0]
    plain = needs.response[needs.order[needs.order.size - 1]].copy()
    plain[4] = np.float32(np.inf)
    chill = room(DAYS + 1, L)
    chill[0] = 0
    ready = np.empty(needs.thermal.size, np.int64)
    for s in range(code.shape[0]):
        fill_season(sums, run, 0, code, s, needs)
        add_shares(chill, run, 0, code, s, plain, needs.grains[0])
        for i in range(L):
            if not asked.wanted[i]:
                continue
            sown, lift, by = asked.sown[i], asked.lift[i], (max(ends.killing[s, i], 0), ends.deadline[i] + 1)
            for e in range(asked.fates.shape[0]):
                latest_starts(sums, needs.needs, needs.thermal, asked.fates[e, s, i], i, ready)
                found.before[e, i] += count_from(ready, sown)
            begin = last_phase(sums, needs, sown, i)
            found.gathered[s, i] = chill[lift, i] - chill[begin, i] if begin < lift else -1
            latest_starts(sums, needs.needs, needs.thermal, lift, i, ready)
            found.risen[s, i] = count_from(ready, sown)
            found.up[s, i] = up_in_time(sums, needs.owed, needs.thermal, by, asked.planted[i], i, ready)
