"""When a seed has had enough: seeds of a lot walked through the days of every winter, compiled.

Progress towards an amount grows with the days that count and falls, never below nothing, with those that undo it. The
seeds are sorted from the least to the most demanding, so that one walk serves all seeds that set out on the same day;
sowing dates with no day that counts between them share it too. Sums are whole numbers and therefore exact.
"""

from __future__ import annotations

from typing import NamedTuple

import numba
import numpy as np
from numpy.typing import ArrayLike, NDArray

__all__ = ["NEVER", "Steps", "complete", "steps_of", "whole_parts"]

IntArray = NDArray[np.int32]

NEVER = 1_000_000
"""A day index that no season reaches."""

SLACK = 1e-9
"""What a sum may lack through rounding. [day or °C d]"""


class Steps(NamedTuple):
    """Daily progress towards a phase, or towards emergence.

    Attributes
    ----------
    step : numpy.ndarray of int32, shape (season, day)
        Below zero where a day undoes progress. [parts of a day or of a degree day]
    first : numpy.ndarray of int32, shape (season, day + 1)
        The first day from each one on with a step above zero; the number of days where there is none. [day]
    grain : float
        Parts of a day, or of a degree day.
    """

    step: IntArray
    first: IntArray
    grain: float


def steps_of(step: ArrayLike, grain: float) -> Steps:
    """Prepare the daily progress of many seasons.

    Parameters
    ----------
    step : array_like, shape (day, season)
        Whole parts; NaN (a day that does not exist) is none. [day or °C d]
    grain : float
        Parts of a day, or of a degree day, in which it is counted.
    """
    parts = np.rint(np.nan_to_num(np.asarray(step, dtype=float)) * grain).astype(np.int32)
    days, seasons = parts.shape
    gains = np.where(parts > 0, np.arange(days, dtype=np.int32)[:, None], np.int32(days))
    none = np.full((1, seasons), days, np.int32)
    first = np.minimum.accumulate(np.concatenate([gains, none])[::-1], axis=0)[::-1]
    return Steps(np.ascontiguousarray(parts.T), np.ascontiguousarray(first.T), grain)


def whole_parts(amount: ArrayLike, grain: float) -> IntArray:
    """Fewest whole parts that reach an amount."""
    return np.asarray(np.ceil((np.asarray(amount) - SLACK) * grain), dtype=np.int32)


def complete(steps: Steps, ready: IntArray, amount: ArrayLike) -> IntArray:
    """Day on which each seed has an amount.

    Parameters
    ----------
    steps : Steps
    ready : numpy.ndarray of int32, shape (seed, start, season)
        First day that counts; `NEVER` stays `NEVER`. [day]
    amount : array_like, shape (seed,)
        What each seed needs; zero or less is reached on the day before the first. [day or °C d]

    Returns
    -------
    numpy.ndarray of int32, shape (seed, start, season)
        `NEVER` where it is not reached.
    """
    done = np.empty(ready.shape, np.int32)
    ready = np.ascontiguousarray(ready)  # one kind of memory, so that one kernel is enough
    _walk(steps.step, steps.first, ready, whole_parts(amount, steps.grain), done)
    return done


@numba.njit(nogil=True, cache=True)
def _walk(step, first, ready, need, done):
    """Write the day on which each seed has what it needs; arguments as in `complete`."""
    seeds, starts, seasons = ready.shape
    days = step.shape[1]
    known_from, known = np.empty(seeds, np.int64), np.empty(seeds, np.int64)
    for season in range(seasons):
        known_from[:] = -1
        for start in range(starts):
            begun, had, day, progress = -1, -1, 0, 0
            for seed in range(seeds):
                if ready[seed, start, season] >= days:
                    done[seed, start, season] = NEVER
                    continue
                if need[seed] <= 0:
                    done[seed, start, season] = ready[seed, start, season] - 1
                    continue
                begin = first[season, ready[seed, start, season]]
                if begin != known_from[seed]:
                    if begin != begun or need[seed] < had:
                        begun, day, progress = begin, begin, 0
                    had = need[seed]
                    while progress < had and day < days:
                        progress = max(progress + step[season, day], 0)
                        day += 1
                    known_from[seed], known[seed] = begin, day - 1 if progress >= had else NEVER
                done[seed, start, season] = known[seed]
