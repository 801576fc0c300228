"""Good winters of one sowing date a place, with the seed zone warmer or colder by an error of its model.

Where one date is asked for, seed is quicker walked through its days than searched for; two quantiles mostly tell. Only
where frost takes some, and for seed with several phases, is the whole lot looked at.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import numpy as np

from chillplan.physics.lanes import LANES, SEED_LANES, STAMP, kernel, loop
from chillplan.region.seed_parts_kernel import count_from, latest_starts
from chillplan.region.seed_rows_kernel import PEAK_ROWS, fill_season, reversal_of, room, share_of, warmth_of
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


@loop
def move_season(moved, code, s, shift):
    """A season's temperatures moved by a shift."""
    for d in range(DAYS):
        for i in range(L):
            moved[0, d, i] = code[s, d, i] + shift


@loop
def walk_seeds(walk, code, s, begin, end, shift, response, base, grains, start, needs, thermal):
    """Walk two seeds of each lane, with one phase at most, from sowing to the day they are up.

    `start` has the shape (lane,), `needs` (2 * lane,), `thermal` (2,); `walk` is written, rows as in `WALK`.
    """
    zero_low, per_low, zero_high, per_high = response[0], response[1], response[2], response[3]
    reversal, day_grain, warmth_grain = reversal_of(response), grains[0], grains[1]
    first, second = thermal[0], thermal[1]
    walk[:LOWEST] = np.int32(0)
    walk[LOWEST:] = NOT_YET
    for d in range(begin, end + 1):
        today, day = code[s, min(d, DAYS - 1)], np.int32(d)
        for i in range(L):
            total, warmth, sown = walk[TOTAL + i], walk[WARMTH + i], day >= start[i]
            low_a, low_b = walk[LOWEST + i], walk[LOWEST + L + i]
            low_a = total if sown & (total < low_a) else low_a
            low_b = total if sown & (total < low_b) else low_b
            free_a, free_b = walk[RELEASED + i], walk[RELEASED + L + i]
            free_a = warmth if sown & (free_a == NOT_YET) & (total - low_a >= needs[i]) else free_a
            free_b = warmth if sown & (free_b == NOT_YET) & (total - low_b >= needs[L + i]) else free_b
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
def is_good_winter(totals, hots, response, order, need, thermal_need, frost, after, start, fewest, i, ready):
    """Whether enough of a lot are up in time, all its quantiles looked at."""
    lost = 0
    if frost > start:
        latest_starts(totals, hots, response, order, need, thermal_need, frost, i, ready)
        lost = count_from(ready, start)
    q = lost + fewest - 1
    if q >= ready.size:
        return False
    one = slice(q, q + 1)
    latest_starts(totals, hots, response, order, need[:, one], thermal_need[one], after, i, ready[:1])
    return ready[0] >= start


@loop
def needs_of_pair(pair, treated, order, needs, owed, last):
    """What the least demanding quantile and that at `last` need of the one phase, if there is one."""
    pair[:] = np.int32(0)
    if order.size == 1:
        for i in range(L):
            need = owed if treated[i] else needs
            pair[i], pair[L + i] = need[0, 0], need[0, last]


@loop
def tell_by_two(walk, sure, good, wanted, killing, s, deadline, start):
    """Count a winter where two seeds tell, and mark the lanes where they do."""
    for i in range(L):
        # Less demanding seed is never later: where its first is not up by the last frost, none is.
        frost = max(killing[s, i], 0)
        sure[i] = frost <= start[i] or walk[UP + i] > frost or not wanted[i]
        if wanted[i] and sure[i]:
            good[i] += 1 if walk[UP + L + i] <= deadline[i] + 1 else 0


def _chance_block(stamp: int) -> Callable[..., Any]:
    @kernel
    def run(
        code,
        shift,
        wanted,
        treated,
        response,
        order,
        needs,
        owed,
        thermal_need,
        base,
        grains,
        deadline,
        killing,
        start,
        is_good,
        good,
    ):
        """Count good winters; arguments as in `chillplan.region.seed_kernel.fates_block`.

        Parameters
        ----------
        shift : int16; added to `code`
        wanted, treated : bool, shape (lane,); lanes to count, and those whose seed was treated indoors before
        start : int32, shape (lane,); the day of sowing or planting
        good : int16, shape (lane,); added to
        """
        assert stamp
        if is_good.max() <= 0:
            return
        kinds, quantiles, lanes = response.shape[0], thermal_need.size, SEED_LANES
        fewest = np.int64(np.argmax(is_good))
        if fewest == 0:
            good += wanted * code.shape[0]
            return
        last = fewest - 1
        totals = room((kinds + 1) * (DAYS + 1), lanes).reshape(kinds + 1, DAYS + 1, lanes)
        totals[:, 0] = 0
        hots = np.full((max(kinds, 1), DAYS + 1, lanes), -1, np.int16)
        moved, running = np.empty((1, DAYS, L), np.int16), room(1, PEAK_ROWS)[0]
        walk, pair, ready = room(1, WALK)[0], room(1, PAIR)[0], np.empty(quantiles, np.int64)
        thermal, sure = np.array([thermal_need[0], thermal_need[last]]), np.empty(L, np.bool_)
        needs_of_pair(pair, treated, order, needs, owed, last)
        begin, latest = np.int64(DAYS), np.int64(0)
        for i in range(L):
            if wanted[i]:
                begin, latest = min(begin, start[i]), max(latest, deadline[i] + 1)
        for s in range(code.shape[0]):
            for i in range(L):
                sure[i] = not wanted[i]
            if order.size <= 1:
                for i in range(L):
                    latest = max(latest, killing[s, i]) if wanted[i] else latest
                walk_seeds(walk, code, s, begin, latest, shift, response[0], base, grains, start, pair, thermal)
                tell_by_two(walk, sure, good, wanted, killing, s, deadline, start)
            if sure.all():
                continue
            move_season(moved, code, s, shift)
            for at in range(0, L, lanes):
                fill_season(totals, hots, running, 0, moved, 0, at, response, base, grains, True)
                for i in range(lanes):
                    n = at + i
                    if not sure[n]:
                        frost, after = max(killing[s, n], 0), deadline[n] + 1
                        need = owed if treated[n] else needs
                        counts = is_good_winter(
                            totals, hots, response, order, need, thermal_need, frost, after, start[n], fewest, i, ready
                        )
                        good[n] += 1 if counts else 0

    return run


chance_block = _chance_block(STAMP)
"""Good winters of one date; see the inner function."""
