"""Counts of seeds up in time, for a block of places, mostly without walking a seed through its days.

`chillplan.seeds.simulate` asks, for every quantile of a lot and every sowing date, on which day the seed is up. Here
the question is turned round: on which latest day could this quantile have been sown to be up by a given day? Both ways
give the same answer, because later sowing never comes up earlier, and more demanding seed never first. A seed is up in
time when it is up by the deadline but not before the last killing frost, so two such days a quantile are enough,
whatever the number of sowing dates. All sums are whole numbers and therefore exact.
"""

from __future__ import annotations

from typing import Any, NamedTuple

import numpy as np

from chillplan.physics.lanes import LANES, SEED_LANES, kernel, loop, part
from chillplan.region.seed_parts_kernel import count_from, done_after, latest_starts, limits_of, phases_of
from chillplan.region.seed_rows_kernel import (
    BY_DEADLINE,
    BY_FROST,
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
    search_room,
    sums_room,
)
from chillplan.seasons.cut import DAYS, MIDWINTER

__all__ = ["Asked", "Fared", "Fates", "fates_block", "second_block", "single_block"]

L = SEED_LANES


class Fates(NamedTuple):
    """What `fates_block` counts: the first is written, the others are added to."""

    ups: Any  # seeds up in time; int8, shape (season, date, lane)
    good: Any  # good winters; int32, shape (date, lane)
    total: Any  # seeds up in time; the same
    good_in: Any  # the same from the first planting date on, of seed treated indoors
    total_in: Any


class Asked(NamedTuple):
    """What `single_block` looks at; shape (lane,)."""

    wanted: Any  # bool
    sown: Any  # day of the autumn sowing; int32
    planted: Any  # day of planting after treatment
    lift: Any  # day of lifting


class Fared(NamedTuple):
    """What `single_block` tells, season by season."""

    lost: Any  # quantiles killed by frost, too late, dormant, sprouted in autumn; int32, shape (lane, 4), added to
    gathered: Any  # parts of a day of the last phase before lifting, -1 where not begun; int32, shape (season, lane)
    risen: Any  # quantiles of the autumn sowing that are up before lifting; int16, shape (season, lane)
    up: Any  # quantiles up in time after treatment indoors; int16, shape (season, lane)


@part
def begin_search(sums, needs, search):
    """Peaks of the first phase, and the latest days of the least demanding quantile to begin sprouting."""
    warmth = needs.response.shape[0]
    fill_peaks(sums.peaks, sums.run, sums.totals[needs.order[0] if needs.order.size > 0 else warmth])
    for e in range(2):
        first_sprouting(sums.totals[warmth], needs.thermal[0], search.by[e], search.rows[3], search.sprouting[e, 0])


@part
def end_search(sums, needs, search, e, low):
    """The latest days of all other quantiles to begin sprouting; those before `low` are not told apart."""
    warmth = sums.totals[needs.response.shape[0]]
    latest_sprouting(warmth, needs.thermal, search.by[e], search.rows[3], search.sprouting[e], low)


@part
def none_by_frost(sums, search, least):
    """Whether not even seed that needs `least` is through the winter's cold in time to be up by the last frost."""
    return least > 0 and not can_gain(sums.peaks, search.sprouting[1, 0], least)


@kernel
def fates_block(code, needs, ends, every, planting, found):
    """Good winters and seeds up in time of a block, for every sowing date.

    Parameters
    ----------
    code : int16, shape (season, day, lane)
    needs : `chillplan.region.places.Needs`
    ends : `chillplan.region.seed_rows_kernel.Ends`
    every : days between sowing dates; planting : first planting date
    found : Fates
    """
    quantiles, phases = needs.thermal.size, needs.order.size
    sums, search = sums_room(needs.response.shape[0], DAYS), search_room(quantiles)
    whole, rest, up = room(quantiles, 4 * L), room(quantiles, 4 * L), room(1, L)[0]
    fewest = np.int32(np.argmax(needs.once)) if needs.once.max() > 0 else np.int32(quantiles + 1)
    for s in range(code.shape[0]):
        for at in range(0, LANES, L):
            fill_season(sums, 0, code, s, at, needs, phases > 1)
            for i in range(L):
                search.by[0, i], search.by[1, i] = ends.deadline[at + i] + 1, max(ends.killing[s, at + i], 0)
            begin_search(sums, needs, search)
            # Of seed treated indoors only the later dates are then asked for.
            spared = phases == 1 and none_by_frost(sums, search, needs.needs[0, 0])
            end_search(sums, needs, search, 0, np.int32(0))
            end_search(sums, needs, search, 1, np.int32(planting) if spared else np.int32(0))
            for e, most in ((0, BY_DEADLINE), (1, BY_FROST)):
                if e == 0 or not spared:
                    limits_of(search, e, sums, needs, needs.needs, most, whole)
                limits_of(search, e, sums, needs, needs.owed, most, rest)
            for p in range(found.good.shape[0]):
                if spared:
                    count_dates_without_frost(up, sums.peaks, whole, p * every)
                else:
                    count_dates(up, sums.peaks, whole, p * every)
                add_winter(found.good[p], found.total[p], at, up, fewest)
                for i in range(L):
                    found.ups[s, p, at + i] = up[i]
            for p in range(found.good_in.shape[0]):
                count_dates(up, sums.peaks, rest, planting + p * every)
                add_winter(found.good_in[p], found.total_in[p], at, up, fewest)


@part
def within_reach(good, wanted, at, least):
    """Whether any date of a lane that is asked for has so many good winters by now."""
    for p in range(good.shape[0]):
        for i in range(at, at + L):
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
    sums, search = sums_room(needs.response.shape[0], 2 * DAYS), search_room(needs.thermal.size)
    whole, up = room(needs.thermal.size, 4 * L), room(1, L)[0]
    wants_hot = needs.order.size > 1
    for at in range(0, LANES, L):
        remaining = (following >= 0).sum()
        for s in range(code.shape[0]):
            f = following[s]
            if f < 0:
                continue
            if not within_reach(found.good, wanted, at, fewest - remaining):
                break
            remaining -= 1
            fill_season(sums, 0, code, s, at, needs, wants_hot)
            fill_season(sums, DAYS, code, f, at, needs, wants_hot)
            for i in range(L):
                search.by[0, i] = ends.deadline[at + i] + DAYS + 1
                search.by[1, i] = max(ends.killing[f, at + i], 0) + DAYS
            begin_search(sums, needs, search)
            for e, most in ((0, BY_DEADLINE), (1, BY_FROST)):
                end_search(sums, needs, search, e, np.int32(0))
                limits_of(search, e, sums, needs, needs.needs, most, whole)
            for p in range(found.good.shape[0]):
                count_dates(up, sums.peaks, whole, p * every)
                for i in range(L):
                    once = found.ups[s, p, at + i]
                    found.good[p, at + i] += needs.twice[once, up[i]]
                    found.total[p, at + i] += once
                    found.total_in[p, at + i] += up[i]


@loop
def lose(lost, phases, amounts, thermal, by, sown, i, ready):
    """Add up what becomes of the seeds of a lane and season that are left where they were sown.

    `amounts` and `thermal` are what the lot needs, `by` the last killing frost and the day after the deadline.
    """
    frost, after = by
    ends = (0, min(frost, MIDWINTER), frost, after, DAYS, max(after, frost))
    count = np.zeros(6, np.int64)
    for n in range(6):
        latest_starts(phases, amounts, thermal, ends[n], i, ready)
        count[n] = count_from(ready, sown)
    lost[0] += count[2] - count[1]
    lost[1] += count[4] - count[5]
    lost[2] += ready.size - count[4] + count[0]
    lost[3] += count[1] - count[0]


@loop
def last_phase(sums, needs, begin, i):
    """Day on which the most demanding of nine seeds in ten begins its last phase."""
    for n in range(needs.order.size - 1):
        k = needs.order[n]
        loses = needs.response[k, 5] > np.float32(0.0)
        begin = done_after(sums.totals[k], loses, begin, DAYS, needs.demanding[n], i)
    return begin


@kernel
def single_block(code, needs, ends, asked, found):
    """What one autumn and one planting date give, season by season.

    The first three arguments are as in `fates_block`, then `Asked` and `Fared`.
    """
    sums = sums_room(needs.response.shape[0], DAYS)
    phases = phases_of(sums, needs)
    plain = needs.response[needs.order[needs.order.size - 1]].copy()
    plain[5] = np.float32(0.0)
    chill = room(DAYS + 1, L)
    chill[0] = 0
    ready = np.empty(needs.thermal.size, np.int64)
    for s in range(code.shape[0]):
        for at in range(0, LANES, L):
            fill_season(sums, 0, code, s, at, needs, True)
            add_shares(chill, sums.run, 0, code, s, at, plain, needs.grains[0])
            for i in range(L):
                place = at + i
                if not asked.wanted[place]:
                    continue
                sown, planted, lift = asked.sown[place], asked.planted[place], asked.lift[place]
                frost, after = max(ends.killing[s, place], 0), ends.deadline[place] + 1
                lose(found.lost[place], phases, needs.needs, needs.thermal, (frost, after), sown, i, ready)
                begin = last_phase(sums, needs, sown, i)
                found.gathered[s, place] = chill[lift, i] - chill[begin, i] if begin < lift else -1
                latest_starts(phases, needs.needs, needs.thermal, lift, i, ready)
                found.risen[s, place] = count_from(ready, sown)
                latest_starts(phases, needs.owed, needs.thermal, after, i, ready)
                by_deadline = count_from(ready, planted)
                latest_starts(phases, needs.owed, needs.thermal, frost, i, ready)
                found.up[s, place] = max(by_deadline - count_from(ready, planted), 0)
