"""First sowing date on which the ground has cooled, from the middle of all winters day by day."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import numpy as np
from numpy.typing import NDArray

from chillplan.physics.lanes import LANES, STAMP, kernel

__all__ = ["cool_block", "sorting_pairs"]

RUN = 7
L = LANES


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


def _cool_block(stamp: int) -> Callable[..., Any]:
    @kernel
    def run(code, pairs, every, last_day, limit, cool_from):
        """Position of the first cool sowing date of each lane, unchanged where there is none.

        Parameters
        ----------
        code : int16, shape (season, day, lane)
        pairs : int32, shape (comparison, 2); from `sorting_pairs`
        every : days between sowing dates; last_day : last day to look at
        limit : temperature that counts as cool, in parts of a degree
        cool_from : int32, shape (lane,), written
        """
        assert stamp
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

    return run


cool_block = _cool_block(STAMP)
"""Finds the first cool sowing date of each lane of a block; see the inner function."""
