"""Good winters of one sowing date a place, with the seed zone warmer or colder by an error of its model."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import numpy as np

from chillplan.region.lanes import LANES, STAMP, kernel, loop, part
from chillplan.region.seed_parts_kernel import add_share, add_warmth, count_from, latest_starts, lose_heat
from chillplan.seasons.cut import DAYS

__all__ = ["chance_block"]

L = LANES


@loop
def move_day(moved, code, shift):
    """A day's temperatures moved by a shift."""
    for i in range(L):
        moved[i] = code[i] + shift


@part
def fill_between(code, total, hot, begin, end, response, grain):
    """Running totals of a response's gain between two days; those of the days before stay 0."""
    zero_low, per_low, zero_high, per_high = response[0], response[1], response[2], response[3]
    loses = response[5] > np.float32(0.0)
    for d in range(begin, end):
        add_share(total[d + 1], total[d], code[d], zero_low, per_low, zero_high, per_high, grain)
        if loses:
            lose_heat(total[d + 1], hot[d + 1], hot[d], code[d], response[4], np.int16(d))


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
        kinds, quantiles = response.shape[0], thermal_need.size
        totals = np.zeros((kinds + 1, DAYS + 1, L), np.int32)
        hots = np.full((max(kinds, 1), DAYS + 1, L), -1, np.int16)
        moved, ready = np.empty((DAYS, L), np.int16), np.empty(quantiles, np.int64)
        fewest = np.int64(np.argmax(is_good)) if is_good.max() > 0 else np.int64(quantiles + 1)
        begin, end = np.int64(DAYS), np.int64(0)
        for i in range(L):
            if wanted[i]:
                begin, end = min(begin, start[i]), max(end, deadline[i] + 1)
        for s in range(code.shape[0]):
            # What lies before the first sowing or after the last deadline decides nothing.
            for i in range(L):
                if wanted[i]:
                    end = max(end, killing[s, i])
            for d in range(begin, end):
                move_day(moved[d], code[s, d], shift)
                add_warmth(totals[kinds, d + 1], totals[kinds, d], moved[d], base, grains[1])
            for k in range(kinds):
                fill_between(moved, totals[k], hots[k], begin, end, response[k], grains[0])
            for i in range(L):
                if not wanted[i]:
                    continue
                need = owed if treated[i] else needs
                frost, after = max(killing[s, i], 0), deadline[i] + 1
                # Less demanding seed is never later, so one quantile tells; mostly none is up before the last frost.
                lost = 0
                if frost > start[i]:
                    latest_starts(totals, hots, response, order, need[:, :1], thermal_need[:1], frost, i, ready[:1])
                    if ready[0] >= start[i]:
                        latest_starts(totals, hots, response, order, need, thermal_need, frost, i, ready)
                        lost = count_from(ready, start[i])
                q = lost + fewest - 1
                if q < quantiles:
                    one = slice(q, q + 1)
                    latest_starts(totals, hots, response, order, need[:, one], thermal_need[one], after, i, ready[:1])
                    good[i] += 1 if ready[0] >= start[i] else 0

    return run


chance_block = _chance_block(STAMP)
"""Good winters of one date; see the inner function."""
