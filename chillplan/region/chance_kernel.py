"""Good winters of one sowing date a place, with the seed zone warmer or colder by an error of its model.

Where one date is asked for, seed is quicker walked through its days than searched for; two quantiles mostly tell. Only
where frost takes some, and for seed with several phases, is the whole lot looked at.
"""

from __future__ import annotations

from typing import Any, NamedTuple

import numpy as np

from chillplan.physics.lanes import LANES, SEED_LANES, kernel, loop
from chillplan.region.seed_parts_kernel import count_from, latest_starts, phases_of
from chillplan.region.seed_rows_kernel import fill_season, reversal_of, room, share_of, sums_room, warmth_of
from chillplan.seasons.cut import DAYS

__all__ = ["chance_block"]

L = LANES

TOTAL, WARMTH = 0, L
"""Rows of the walk: running totals of the phase and of the warmth."""

PAIR = 2 * L
LOWEST, RELEASED, UP = PAIR, 2 * PAIR, 3 * PAIR
"""The same twice, for two seeds: lowest total since sowing, warmth on the day the phase was over, day of coming up."""

WALK = 4 * PAIR
NOT_YET = np.int32(1 << 30)


class Pair(NamedTuple):
    """Two seeds of each lane."""

    needs: Any  # parts of a day that the one phase, if there is one, needs; int32, shape (2 * lane,)
    thermal: Any  # parts of a degree day; int32, shape (2,)


@loop
def move_season(moved, code, s, shift):
    """A season's temperatures moved by a shift."""
    for d in range(DAYS):
        for i in range(L):
            moved[0, d, i] = code[s, d, i] + shift


@loop
def walk_seeds(walk, code, s, span, shift, needs, start, pair):
    """Walk two seeds of each lane, with one phase at most, from sowing to the day they are up.

    `span` are the first and the last day to walk, `start`, shape (lane,), the days of sowing; `walk` is written, rows
    as in `WALK`.
    """
    response, base, day_grain, warmth_grain = needs.response[0], needs.base, needs.grains[0], needs.grains[1]
    zero_low, per_low, zero_high, per_high = response[0], response[1], response[2], response[3]
    reversal, wanted = reversal_of(response), pair.needs
    first, second = pair.thermal[0], pair.thermal[1]
    walk[:LOWEST] = np.int32(0)
    walk[LOWEST:] = NOT_YET
    for d in range(span[0], span[1] + 1):
        today, day = code[s, min(d, DAYS - 1)], np.int32(d)
        for i in range(L):
            total, warmth, sown = walk[TOTAL + i], walk[WARMTH + i], day >= start[i]
            low_a, low_b = walk[LOWEST + i], walk[LOWEST + L + i]
            low_a = total if sown & (total < low_a) else low_a
            low_b = total if sown & (total < low_b) else low_b
            free_a, free_b = walk[RELEASED + i], walk[RELEASED + L + i]
            free_a = warmth if sown & (free_a == NOT_YET) & (total - low_a >= wanted[i]) else free_a
            free_b = warmth if sown & (free_b == NOT_YET) & (total - low_b >= wanted[L + i]) else free_b
            up_a, up_b = walk[UP + i], walk[UP + L + i]
            up_a = day if (up_a == NOT_YET) & (warmth - free_a >= first) else up_a
            up_b = day if (up_b == NOT_YET) & (warmth - free_b >= second) else up_b
            walk[LOWEST + i], walk[LOWEST + L + i] = low_a, low_b
            walk[RELEASED + i], walk[RELEASED + L + i] = free_a, free_b
            walk[UP + i], walk[UP + L + i] = up_a, up_b
            q = np.int32(np.int16(today[i] + shift))
            walk[TOTAL + i] = total + share_of(q, zero_low, per_low, zero_high, per_high, reversal, day_grain)
            walk[WARMTH + i] = warmth + warmth_of(q, base, warmth_grain)


@loop
def is_good_winter(phases, amounts, thermal, by, start, fewest, i, ready):
    """Whether enough of a lot are up in time, all its quantiles looked at.

    `amounts` and `thermal` are what the lot needs, `by` the last killing frost and the day after the deadline.
    """
    frost, after = by
    lost = 0
    if frost > start:
        latest_starts(phases, amounts, thermal, frost, i, ready)
        lost = count_from(ready, start)
    q = lost + fewest - 1
    if q >= ready.size:
        return False
    one = slice(q, q + 1)
    latest_starts(phases, amounts[:, one], thermal[one], after, i, ready[:1])
    return ready[0] >= start


@loop
def pair_of(treated, needs, last):
    """What the least demanding quantile and that at `last` need."""
    wanted = room(1, PAIR)[0]
    wanted[:] = np.int32(0)
    if needs.order.size == 1:
        for i in range(L):
            need = needs.owed if treated[i] else needs.needs
            wanted[i], wanted[L + i] = need[0, 0], need[0, last]
    return Pair(wanted, np.array([needs.thermal[0], needs.thermal[last]]))


@loop
def tell_by_two(walk, sure, good, wanted, ends, s, start):
    """Count a winter where two seeds tell, and mark the lanes where they do."""
    for i in range(L):
        # Less demanding seed is never later: where its first is not up by the last frost, none is.
        frost = max(ends.killing[s, i], 0)
        sure[i] = frost <= start[i] or walk[UP + i] > frost or not wanted[i]
        if wanted[i] and sure[i]:
            good[i] += 1 if walk[UP + L + i] <= ends.deadline[i] + 1 else 0


@loop
def span_of(wanted, start, ends, s):
    """First and last day that must be walked in a season."""
    begin, latest = np.int64(DAYS), np.int64(0)
    for i in range(L):
        if wanted[i]:
            begin, latest = min(begin, start[i]), max(latest, ends.deadline[i] + 1, ends.killing[s, i])
    return begin, latest


@kernel
def chance_block(code, shift, wanted, treated, needs, ends, start, good):
    """Count good winters of one date; arguments as in `chillplan.region.seed_kernel.fates_block`.

    Parameters
    ----------
    shift : int16; added to `code`
    wanted, treated : bool, shape (lane,); lanes to count, and those whose seed was treated indoors before
    start : int32, shape (lane,); the day of sowing or planting
    good : int16, shape (lane,); added to
    """
    if needs.once.max() <= 0:
        return
    fewest = np.int64(np.argmax(needs.once))
    if fewest == 0:
        good += wanted * code.shape[0]
        return
    sums, lanes = sums_room(needs.response.shape[0], DAYS), SEED_LANES
    phases, thermal = phases_of(sums, needs), needs.thermal
    moved, walk = np.empty((1, DAYS, L), np.int16), room(1, WALK)[0]
    ready, sure = np.empty(needs.thermal.size, np.int64), np.empty(L, np.bool_)
    pair = pair_of(treated, needs, fewest - 1)
    for s in range(code.shape[0]):
        sure[:] = ~wanted
        if needs.order.size <= 1:
            walk_seeds(walk, code, s, span_of(wanted, start, ends, s), shift, needs, start, pair)
            tell_by_two(walk, sure, good, wanted, ends, s, start)
        if sure.all():
            continue
        move_season(moved, code, s, shift)
        for at in range(0, L, lanes):
            fill_season(sums, 0, moved, 0, at, needs, True)
            for i in range(lanes):
                n = at + i
                if not sure[n]:
                    by = max(ends.killing[s, n], 0), ends.deadline[n] + 1
                    amounts = needs.owed if treated[n] else needs.needs
                    if is_good_winter(phases, amounts, thermal, by, start[n], fewest, i, ready):
                        good[n] += 1
